// Helps where it can; every page works without it.
"use strict";

// One key decides, once the reason is typed and the field is left.
const decide = document.querySelector("form.decide");
if (decide) {
  const typing = (e) => /^(INPUT|TEXTAREA|SELECT)$/.test(e.target.tagName);
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (typing(event)) {
      if (event.key === "Escape" || (event.key === "Enter" && event.target.name === "because")) {
        event.preventDefault();
        event.target.blur();
      }
      return;
    }
    const button = document.querySelector(`[data-key="${CSS.escape(event.key)}"]`);
    if (!button) return;
    event.preventDefault();
    const reason = decide.elements.because;
    if (button.tagName !== "A" && !reason.value.trim()) reason.focus();
    else if (button.value === "amend" && !decide.elements.value.value.trim()) decide.elements.value.focus();
    else button.click();
  });
}

// Sheets dropped on the form are chosen.
const drop = document.querySelector("form.drop");
if (drop) {
  const over = (on) => (event) => { event.preventDefault(); drop.classList.toggle("over", on); };
  drop.addEventListener("dragover", over(true));
  drop.addEventListener("dragleave", over(false));
  drop.addEventListener("drop", (event) => {
    over(false)(event);
    drop.querySelector("input[type=file]").files = event.dataTransfer.files;
    drop.requestSubmit();
  });
}

// A paper sheet: sums while typing, kept in the browser until it is sent.
const paper = document.querySelector("form.paper");
if (paper) {
  const key = `paper:${paper.dataset.keep}`, told = document.getElementById("kept");
  const words = JSON.parse(paper.dataset.words), filled = (text, value) => text.replace("{0}", value);
  const rows = document.getElementById("rows"), more = document.getElementById("more");
  const say = (text) => { told.textContent = text; told.hidden = !text; };
  const cells = (name) => [...paper.querySelectorAll(`[name="c-${name}"]`)];
  // Whole thousandths, so that no sum is off by a binary fraction.
  const thousandths = (text) => {
    const found = /^(\d{1,9})(?:\.(\d{1,3}))?$/.exec(text.trim());
    return found ? BigInt(found[1]) * 1000n + BigInt((found[2] || "").padEnd(3, "0")) : null;
  };
  const shown = (n) => `${n / 1000n}.${String(n % 1000n).padStart(3, "0")}`.replace(/\.?0+$/, "");
  const add = () => {
    const typed = [...rows.rows].filter((row) => [...row.querySelectorAll("input")].some((i) => i.value.trim()));
    paper.querySelector("[data-count]").textContent = filled(words.js_typed, typed.length);
    for (const out of paper.querySelectorAll("[data-sum]")) {
      const found = cells(out.dataset.sum).map((i) => i.value).filter((v) => v.trim()).map(thousandths);
      out.textContent = found.includes(null) ? words.js_no_number : filled(words.js_typed, shown(found.reduce((a, b) => a + b, 0n)));
    }
  };
  const another = () => {
    const row = rows.rows[rows.rows.length - 1].cloneNode(true);
    const number = rows.rows.length + 1;
    row.querySelector("th").textContent = number;
    for (const input of row.querySelectorAll("input")) {
      input.value = "";
      input.setAttribute("aria-label", input.getAttribute("aria-label").replace(/\d+$/, number));
    }
    rows.append(row);
    return row;
  };
  const keep = () => {
    const held = [...paper.elements].filter((e) => e.name && !["hidden", "file", "checkbox"].includes(e.type)).map((e) => [e.name, e.value]);
    try { localStorage.setItem(key, JSON.stringify(held)); } catch { say(words.js_keeps_nothing); }
  };
  const bring = () => {
    const held = JSON.parse(localStorage.getItem(key) || "[]");
    if (!held.some(([, value]) => value) || document.querySelector("[role=alert]")) return;
    const many = {};
    for (const [name, value] of held) (many[name] ||= []).push(value);
    const height = Math.max(0, ...Object.entries(many).filter(([n]) => n.startsWith("c-")).map(([, v]) => v.length));
    while (rows.rows.length < height) another();
    for (const [name, values] of Object.entries(many)) {
      [...paper.querySelectorAll(`[name="${CSS.escape(name)}"]`)].forEach((e, at) => { if (values[at] !== undefined) e.value = values[at]; });
    }
    say(words.js_brought_back);
  };
  bring();
  add();
  more.hidden = false;
  more.addEventListener("click", () => another().querySelector("input").focus());
  // By keyboard: Enter leads to the next row, Escape past the rows to the paper's own count.
  rows.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== "Escape") return;
    event.preventDefault();
    if (event.key === "Escape") paper.elements.count.focus();
    else (event.target.closest("tr").nextElementSibling || another()).querySelector("input").focus();
  });
  paper.addEventListener("input", () => { add(); keep(); });
  // The photograph is too large for what keeps the text: a database of the browser keeps it.
  const photo = document.getElementById("photo");
  const photos = (mode, ask) => new Promise((done, failed) => {
    const open = indexedDB.open("papers", 1);
    open.onupgradeneeded = () => open.result.createObjectStore("photos");
    open.onerror = () => failed(open.error);
    open.onsuccess = () => {
      const asked = ask(open.result.transaction("photos", mode).objectStore("photos"));
      asked.onsuccess = () => { open.result.close(); done(asked.result); };
      asked.onerror = () => { open.result.close(); failed(asked.error); };
    };
  });
  const show = () => {
    const image = document.getElementById("paper"), file = photo.files[0];
    image.hidden = !file;
    if (file) image.src = URL.createObjectURL(file);
  };
  const forget = async () => {
    localStorage.removeItem(key);
    await photos("readwrite", (kept) => kept.delete(key)).catch(() => {});
  };
  photo.addEventListener("change", async () => {
    show();
    const file = photo.files[0];
    await photos("readwrite", (kept) => (file ? kept.put(file, key) : kept.delete(key)))
      .catch(() => say(words.js_keeps_no_photo));
  });
  photos("readonly", (kept) => kept.get(key)).then((file) => {
    if (!file || photo.files.length) return;
    const chosen = new DataTransfer();
    chosen.items.add(file);
    photo.files = chosen.files;
    show();
    say(words.js_brought_photo);
  }).catch(() => {});
  const send = async () => {
    say(words.js_sending);
    try {
      const answer = await fetch(paper.action, { method: "POST", body: new FormData(paper) });
      if (answer.redirected && answer.url.includes("/sent/")) await forget();
      if (answer.redirected) location.assign(answer.url);
      else {
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        const wrong = page.querySelector("[role=alert]");
        say(wrong ? wrong.innerText.trim() : words.js_not_sent);
        if (wrong && paper.elements.count.value && !paper.elements["as-it-is"]) {
          const asked = page.querySelector('[name="as-it-is"]');
          if (asked) paper.querySelector(".totals").after(document.adoptNode(asked.closest("p")));
        }
        told.scrollIntoView();
      }
    } catch {
      say(words.js_line_down);
      addEventListener("online", send, { once: true });
    }
  };
  paper.addEventListener("submit", (event) => { event.preventDefault(); keep(); send(); });
}
