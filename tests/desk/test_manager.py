"""The manager's work in a browser: by mouse, by keys, on a narrow screen, without script."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from pipeline.approve import approval
from pipeline.book.decisions import standing_decisions
from tests.desk.conftest import PEOPLE, Desk, Opened
from tests.take.small import ask

pytestmark = pytest.mark.browser


def sound(page: Page) -> None:
    """No fault that axe finds, nothing wider than the screen, and a page of at most 60 kB."""
    found = Axe().run(page).response["violations"]
    assert not [(one["id"], one["nodes"][0]["html"][:200]) for one in found], page.url
    fits(page)


def fits(page: Page) -> None:
    """Nothing is wider than the screen, and the page is of at most 60 kB."""
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0, f"{page.url} is {wide} px wider than the screen"
    assert len(page.content().encode()) <= 60_000, page.url


def decided(desk: Desk) -> list[tuple[str, str]]:
    return [(one["rule"], one["action"]) for _, one in standing_decisions(desk.book.journal())]


STAFF_PAGES = ("/queue", "/decisions", "/sheets", "/awaited", "/season", "/issue", "/codes")
MONEY_PAGES = ("/sign", "/second", "/pay")
MORE_PAGES = ("/questions", "/villages", "/village/Lower%20Tarrin", "/log", "/type", "/password")


def test_every_page_is_sound(desk: Desk, opened: Opened) -> None:
    page = opened("manager", "/queue")
    flag = page.locator("ol.cards h2 a").first.get_attribute("href")
    sheet = max(desk.office.desk.sight().generations["2026"].sheets)
    paths = [f"/sheet/{sheet}?rows=all", f"/sheet/{sheet}/changes", "/type/weighings", "/no-such"]
    for path in (*STAFF_PAGES, *MONEY_PAGES, *MORE_PAGES, *paths, str(flag)):
        _sound_at_both(page, desk.url + path)
    page = opened("", "/sign-in")
    for path in ("/sign-in", "/my/code", "/m/ABCD"):
        _sound_at_both(page, desk.url + path)


def _sound_at_both(page: Page, url: str) -> None:
    """Look at a page on a screen, then on a phone; what axe looks at is the same on both."""
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto(url)
    fits(page)
    page.set_viewport_size({"width": 360, "height": 800})
    sound(page)


def test_a_flag_is_decided_with_one_key_and_shows_at_once(desk: Desk, opened: Opened) -> None:
    page = opened("manager", "/queue?rule=net-not-gross-less-tare&station=")
    page.locator("ol.cards h2 a").first.click()
    # All the evidence on one page: cell, neighbours, past, peers, limit and source.
    expect(page.locator("td.doubt")).to_have_text("61.2")
    expect(page.locator("table.sheet tbody tr")).to_have_count(6)
    expect(page.locator("svg.past")).to_be_visible()
    expect(page.get_by_text("counted rows of KES")).not_to_be_visible()
    expect(page.get_by_text("The rule and its limits")).to_be_visible()
    page.keyboard.press("c")
    expect(page.locator("#because")).to_be_focused()
    page.keyboard.type("the receipt says so")
    page.keyboard.press("Enter")
    page.keyboard.press("c")
    page.wait_for_url("**done=*")
    assert ("net-not-gross-less-tare", "count") in decided(desk)
    page.goto(desk.url + "/queue")
    assert page.locator("ol.cards li", has_text="Net not gross").count() == 0
    page.goto(desk.url + "/decisions")
    expect(page.locator("ol.cards li").first).to_contain_text("the receipt says so")
    # And taken back, by keyboard alone.
    page.locator("summary").first.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("another receipt")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Taken back")
    page.goto(desk.url + "/queue")
    assert page.locator("ol.cards li", has_text="Net not gross").count() == 1
    assert decided(desk) == []


def test_many_alike_are_decided_together_without_script(desk: Desk, opened: Opened) -> None:
    page = opened("manager", "/queue?rule=off-scale-interval&station=", width=360, script=False)
    page.locator("ol.cards h2 a").first.click()
    page.get_by_role("link", name="3 rows are doubtful alike").click()
    expect(page.locator("input[name=flag]")).to_have_count(3)
    page.locator("input[name=flag]").first.uncheck()
    page.get_by_label("Reason, or the question").fill("the scale was off all day")
    page.get_by_role("button", name="Leave all out").click()
    expect(page.get_by_role("status")).to_contain_text("Decided: 2")
    assert decided(desk) == [("off-scale-interval", "leave-out")] * 2
    # The one that was left is asked of its station, and awaited.
    page.goto(desk.url + "/queue?rule=off-scale-interval&station=")
    page.locator("ol.cards h2 a").first.click()
    page.get_by_label("Reason, or the question").fill("What does the receipt say?")
    page.get_by_role("button", name="Ask the station").click()
    expect(page.locator("ol.cards")).to_contain_text("What does the receipt say?")
    desk.office.work.settle()
    states = ask(desk.book, "select state from weighings where receipt_no in (4, 5, 6) order by 1")
    assert [state for (state,) in states] == ["held", "left_out", "left_out"]


def test_a_refusal_is_a_sentence_with_the_way_back(desk: Desk, opened: Opened) -> None:
    page = opened("manager", "/queue?rule=unreadable-cell&station=")
    page.locator("ol.cards h2 a").first.click()
    assert page.get_by_role("button", name="Count as it is").count() == 0
    page.get_by_label("Reason, or the question").fill("a slip")
    page.get_by_label("Right value").fill("sixty")
    page.get_by_role("button", name="Amend").click()
    expect(page.get_by_role("alert")).to_contain_text("Write it in digits")
    page.get_by_role("link", name="Back").click()
    expect(page.get_by_label("Right value")).to_be_visible()
    page.goto(desk.url + "/flag/0000-0000")
    expect(page.get_by_role("alert")).to_contain_text("There is no flag")


def test_statements_are_issued_behind_a_confirmation_and_opened_by_the_member(
    desk: Desk, opened: Opened
) -> None:
    page = opened("manager", "/issue")
    expect(page.locator("form")).to_contain_text(["Issue 3 statements over"])
    # Figures that changed since the page was drawn are not issued unseen.
    page.evaluate("document.querySelector('[name=amount]').value = '1.00 USD'")
    page.get_by_label("Issue 3 statements").check()
    page.get_by_role("button", name="Issue the statements").click()
    expect(page.get_by_role("alert")).to_contain_text("figures changed since you looked")
    page.goto(desk.url + "/issue")
    # The same approval as by command: the service may issue once the season is over.
    page.get_by_label("Approve 3 statements").check()
    page.get_by_role("button", name="Approve the statements").click()
    expect(page.locator("main")).to_contain_text(f"Approved by {PEOPLE['manager']} on")
    assert approval(desk.book.journal(), "2026") is not None
    sound(page)
    page.get_by_label("Issue 3 statements").check()
    page.get_by_role("button", name="Issue the statements").click()
    expect(page.get_by_role("status")).to_contain_text(
        "3 statements, 3 drawn anew", timeout=180_000
    )
    page.goto(desk.url + "/issued/gate")
    assert "Checks" in page.content()
    # A code, made by the office, opens the statement on a phone.
    page.goto(desk.url + "/codes?find=asha")
    page.get_by_role("button", name="Make a code for Asha Doreme").click()
    expect(page.locator(".slip svg")).to_be_visible()
    link = page.locator("p.mono").inner_text()
    phone = opened("", link.removeprefix(desk.url), width=360)
    phone.get_by_role("button", name="Open my statement").click()
    expect(phone.get_by_text("Asha Doreme", exact=True)).to_be_visible()
    sound(phone)
    assert "Bemi" not in phone.content()
    phone.locator("a.c", has_text="/value").first.click()
    expect(phone.locator("main")).to_contain_text("weighings_KES_2026-W19.csv, row 2")
    sound(phone)
    expect(phone.locator("main")).to_contain_text("says USD 180.00. The book says the same today.")
    phone.get_by_label("Your question").fill("My paper says 61 kg.")
    phone.get_by_role("button", name="Send the question").click()
    phone.locator("summary").click()
    expect(phone.locator("details")).to_contain_text("My paper says 61 kg.")
    expect(phone.locator("details")).to_contain_text("Answer by ")
    # Any other line can be asked about as well: here a delivery that waits.
    waits = phone.locator("li", has_text="Receipt K01/2")
    waits.get_by_role("link", name="Ask about this").click()
    expect(phone.locator(".say")).to_contain_text("2026-10019-1: Receipt K01/2, 4 May 2026")
    expect(phone.locator("main")).to_contain_text("It is answered by ")
    sound(phone)
    phone.get_by_label("Your question").fill("When does it count?")
    phone.get_by_role("button", name="Send the question").click()
    phone.locator("summary").click()
    expect(phone.locator("details")).to_contain_text("Gross 61.2 less tare 1.2 is not net")
    page.goto(desk.url + "/questions")
    expect(page.locator("ol.cards")).to_contain_text("2026-10019-1: Receipt K01/2")
    page.get_by_label("Answer, as the member").first.fill("The receipt says 60.")
    page.get_by_role("button", name="Answer question").first.click()
    phone.reload()
    phone.locator("summary").click()
    expect(phone.locator("details")).to_contain_text(f"The receipt says 60. {PEOPLE['manager']}")
    phone.get_by_role("button", name="Close").click()
    phone.goto(desk.url + "/my")
    assert "Asha" not in phone.content() and phone.url.endswith("/sign-in")
