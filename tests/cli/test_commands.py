"""The commands as a shell sees them: help, JSON, exit codes, and a sentence for every bad call."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from pipeline.book.book import Book
from pipeline.cli.main import COMMANDS
from pipeline.taken import STATES
from pipeline.upkeep import rebuild
from tests.take.small import SETTINGS, ask, made, sheet

Run = Callable[..., Result]
ROOT = Path(__file__).parents[2]
HEAVY = ("polars", "duckdb", "great_expectations", "prefect", "typst", "pandas")


def shell(*words: object) -> "subprocess.CompletedProcess[str]":
    """Run the command line as a process of its own."""
    code = "from pipeline.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code, *map(str, words)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself_with_an_example(run: Run, command: str) -> None:
    for asked in ("--help", "-h"):
        told = run(command, asked)
        assert told.exit_code == 0
        lines = [line.strip() for line in told.stdout.splitlines()]
        example = next(line for line in lines if line.startswith("Example"))
        assert f"weighbook {command}" in example
        assert not told.stderr


def test_help_lists_every_command_in_the_order_of_the_work(run: Run) -> None:
    told = run("--help")
    assert told.exit_code == 0
    listed = [
        line.split()[0] for line in told.stdout.partition("Commands:")[2].splitlines() if line
    ]
    assert listed == list(COMMANDS)


@pytest.mark.parametrize("words", [["--help"], ["take", "--help"], ["no-such-command"]])
def test_help_imports_nothing_heavy(words: list[str]) -> None:
    code = (
        "import sys\n"
        "from pipeline.cli import main\n"
        f"sys.argv = ['weighbook', *{words!r}]\n"
        "try:\n    main()\n"
        "finally:\n"
        f"    print('HEAVY', sorted(set(sys.modules) & set({HEAVY!r})))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert "HEAVY []" in done.stdout
    assert done.returncode == (2 if words == ["no-such-command"] else 0)


def test_take_in_json_says_what_became_of_every_row(
    run: Run, book: Book, sheets: dict[str, Path], tmp_path: Path
) -> None:
    new = sheet(tmp_path, "w_2026-W20.csv", "weighings", [{"receipt_no": "9", "day": "2026-05-11"}])
    done = run("take", book.path, new, sheets["w_2026-W19.csv"], "--day", "2026-06-30", "--json")
    first, second = json.loads(done.stdout)
    keys = {"sheet", "kind", "status", "version", "arrived", *STATES}
    for line in (first, second):
        assert set(line) == keys | {"language", "message", "question", "answers", "notes"}
        assert (line["question"], line["answers"], line["notes"]) == ("", [], [])
        assert line["arrived"] == sum(line[state] for state in STATES)
    assert (first["sheet"], first["kind"], first["counted"]) == ("w_2026-W20.csv", "weighings", 1)
    assert (second["status"], second["arrived"]) == ("known", 5)


def test_take_ends_by_what_became_of_the_sheets(run: Run, book: Book, tmp_path: Path) -> None:
    sound = sheet(tmp_path, "a_2026-W20.csv", "payments", [{"payment_no": "A"}])
    sent_back = sheet(tmp_path, "b_2026-W21.csv", "payments", [{"payment_no": "B", "amount": "x"}])
    unread = tmp_path / "photo.png"
    unread.write_bytes(b"\x89PNG" + bytes(20))
    assert run("take", book.path, sound, "--day", "2026-06-30").exit_code == 0
    done = run("take", book.path, sent_back, "--day", "2026-06-30")
    assert done.exit_code == 20
    assert "To correct:" in done.stdout
    done = run("take", book.path, unread, sent_back, "--day", "2026-06-30")
    assert done.exit_code == 21
    assert "photo.png: This is a picture or a scanned paper (PNG)." in done.stdout
    assert run("take", book.path, tmp_path / "gone.csv", "--json").exit_code == 21


def test_a_week_on_the_command_line(run: Run, tmp_path: Path, sheets: dict[str, Path]) -> None:
    (tmp_path / "book.toml").write_text(SETTINGS, encoding="utf-8")
    path = tmp_path / "book"
    assert run("new", path, "--settings", tmp_path / "book.toml").exit_code == 0
    done = run("take", path, *sheets.values(), "--day", "2026-06-30", "--by", "clerk")
    assert done.exit_code == 20
    assert [line for line in done.stdout.splitlines() if line.startswith("7 sheets")]

    listed = run("flags", path, "--rule", "net-not-gross-less-tare")
    number = listed.stdout.split()[0]
    assert 'w_2026-W19.csv, row 3, column "Net kg", value "61.2"' in listed.stdout
    (flag,) = json.loads(run("flags", path, "--rule", "net-not-gross-less-tare", "--json").stdout)
    assert (flag["number"], flag["severity"], flag["row"]) == (number, "hold", 3)
    shown = run("flags", path, number).stdout
    assert "Net kg" in shown and ">61.2<" in shown
    assert "Asha" in shown and "this row" in shown
    assert f"weighbook decide {path} {number} count|amend|leave-out" in shown
    found = json.loads(run("flags", path, number, "--json").stdout)["evidence"]
    (here,) = [line for line in found["around"] if line["here"]]
    assert here["row_no"] == 3
    assert found["headings"][here["marked"]] == "Net kg"
    assert [one["net_kg"] for one in found["past"]["weighings"] if one["here"]] == ["61.200"]
    assert found["past"]["name"].startswith("Asha")

    amend = ["decide", path, number, "amend", "--value", "60.0", "--because", "so the receipt"]
    done = run(*amend, "--by", "manager", "--json")
    assert (done.exit_code, json.loads(done.stdout)) == (
        0,
        {"flag": number, "action": "amend", "state": "counted", "changed": True},
    )
    assert ask(Book(path), "select net_kg, state from weighings where receipt_no = 2") == [
        (60, "counted")
    ]
    assert ask(Book(path), "select decided_by, because from decisions") == [
        ("manager", "so the receipt")
    ]
    assert run("rebuild", path).exit_code == 0
    proof = run("verify", path, "--json")
    assert (proof.exit_code, json.loads(proof.stdout)["ok"]) == (0, True)


def test_a_decision_in_a_large_season_loads_no_library_for_frames(run: Run, book: Book) -> None:
    """To load them takes as long as to work the decision in."""
    (one, *_) = json.loads(
        run("flags", book.path, "--rule", "net-not-gross-less-tare", "--json").stdout
    )
    words = ["decide", str(book.path), one["number"], "count", "--because", "so the receipt"]
    code = (
        "import sys\n"
        "from pipeline.cli import main\n"
        "from pipeline.season import refresh\n"
        "refresh.LARGE = 0\n"
        f"sys.argv = ['weighbook', *{words!r}]\n"
        "try:\n    main()\n"
        "finally:\n"
        "    print('FRAMES', sorted({'polars', 'numpy', 'pyarrow'} & set(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "is now counted" in done.stdout
    assert "FRAMES []" in done.stdout
    assert "notes on the season follow" in done.stderr


def test_verify_says_what_is_broken_and_ends_with_5(run: Run, book: Book) -> None:
    proof = run("verify", book.path, "--quick")
    assert proof.exit_code == 0
    assert proof.stdout.endswith("Every promise holds.\n")
    kept = next((book.path / "sheets").iterdir())
    kept.write_bytes(kept.read_bytes() + b"\n")
    proof = run("verify", book.path, "--quick")
    assert proof.exit_code == 5
    assert "BROKEN  sheets kept" in proof.stdout and kept.name[:12] in proof.stdout
    proof = run("verify", book.path, "--quick", "--json")
    assert (proof.exit_code, json.loads(proof.stdout)["ok"]) == (5, False)


def test_rules_are_listed_as_the_documentation_has_them(run: Run) -> None:
    from checks.listing import rule_list
    from checks.rules import RULES

    assert run("rules", "--markdown").stdout == rule_list()
    assert [rule["code"] for rule in json.loads(run("rules", "--json").stdout)] == [
        rule.code for rule in RULES
    ]


NOT_A_BOOK = "no-book"
BAD_CALLS: list[tuple[list[str], int, str]] = [
    (["take", NOT_A_BOOK, "x.csv"], 3, "There is no book in"),
    (["flags", NOT_A_BOOK], 3, "There is no book in"),
    (["verify", NOT_A_BOOK], 3, "There is no book in"),
    (["rebuild", NOT_A_BOOK], 3, "There is no book in"),
    (["why", NOT_A_BOOK, "2026/1/value"], 3, "There is no book in"),
    (["issue", NOT_A_BOOK, "--season", "2026"], 3, "There is no book in"),
    (["decide", NOT_A_BOOK, "1", "count", "--because", "why"], 3, "There is no book in"),
    (["new", "BOOK"], 3, "is there already and not empty"),
    (["why", "BOOK", "1999/10019/value"], 4, "There is no season '1999'"),
    (["why", "BOOK", ""], 9, "'' is no code of a figure. A code is season/member/name"),
    (["why", "BOOK", "Z7Q2"], 9, "reports print it beside each figure"),
    (["why", "BOOK", "2026/10019/wealth"], 9, "There is no figure"),
    (["why", "BOOK", "2026/99999/value"], 9, "There is no 2026/99999/value"),
    (["why", "BOOK", "2026/group/margin"], 9, "There is no figure"),
    (["why", "BOOK", "2026/10019/yield/robusta"], 9, "There is no 2026/10019/yield/robusta"),
    (["why", "BOOK", "2026/10019/delivered/' or 1=1 --/x"], 9, "There is no"),
    (["why", "BOOK", "2026"], 9, "'2026' is no code of a figure"),
    (["why", "BOOK", "2026/group"], 9, "There is no figure"),
    (
        ["messages", "BOOK", "--day", "2031-05-04"],
        3,
        "2031-05-04 lies in no season of book.toml (2026:",
    ),
    (["messages", "BOOK", "--month", "2025-12"], 3, "Ask for a time in one of them."),
    (["people", "add", "BOOK", "Uma Roth", "--role", "king"], 4, "a list of: clerk"),
    (["people", "add", "BOOK", "Uma Roth", "--role", "clerk", "--station", "X"], 4, "'X'"),
    (["money", "bank", "BOOK", "--season", "1999"], 4, "There is no season '1999'"),
    (["flags", "BOOK", "--rule", "of-no-kind"], 2, "there is no rule 'of-no-kind'. All: weighbook"),
    (
        ["decide", "BOOK", "count", "--rule", "of-no-kind", "--because", "why"],
        2,
        "there is no rule",
    ),
    (
        [
            "decide",
            "BOOK",
            "count",
            "--rule",
            "off-scale-interval",
            "--station",
            "XXX",
            "--because",
            "why",
        ],
        *(4, "There is no station 'XXX' in book.toml. It declares: KES"),
    ),
    (["coffee", "BOOK", "--station", "XXX", "--week", "2026-W24"], 4, "There is no station 'XXX'"),
    (["weights", "BOOK", "--station", "XXX"], 4, "There is no station 'XXX'"),
    (["matches", "BOOK", "--station", "XXX"], 4, "There is no station 'XXX'"),
    (["day", "BOOK", "XXX", "2026-05-18"], 4, "There is no station 'XXX'"),
    (
        ["ask", "BOOK", "1", "--question", " "],
        6,
        "A question needs a text. Give it in words with --question.",
    ),
    (["genuine", "gone.pdf", "--book", "BOOK"], 9, "There is no file gone.pdf. Look at the name"),
    (["people", "lock", "BOOK", "Nobody"], 12, "See: weighbook people list BOOK"),
    (["ask", "BOOK", "1", "--question", "?", "--by", " "], 6, "Say whose it is with --by."),
    (["issue", "BOOK", "--season", "1999"], 4, "There is no season '1999'"),
    (["issue", "BOOK", "--season", "2026", "--member", "99999"], 9, "No member has the number"),
    (["decide", "BOOK", "ZZZZ", "count", "--because", "why"], 6, "There is no flag ZZZZ"),
    (["decide", "BOOK", "1", "count", "--because", "  "], 6, "A decision needs a reason"),
    (["decide", "BOOK", "1", "count"], 2, "Missing option '--because'"),
    (["decide", "BOOK", "1", "forget", "--because", "why"], 2, "'forget' is not one of"),
    (["template", "weighings", "--out", "/nowhere/w.xlsx"], 3, "the disk refused: No such file"),
    (["take", "BOOK"], 2, "Missing argument 'SHEETS...'"),
    (["take", "BOOK", "x.csv", "--day", "soon"], 2, "'soon' does not match"),
    (["fly"], 2, "No such command 'fly'"),
    (["flags"], 2, "Missing argument 'BOOK'"),
]


@pytest.mark.parametrize(
    ("words", "code", "says"),
    BAD_CALLS,
    ids=lambda v: " ".join(v)[:60] if isinstance(v, list) else "",
)
def test_a_bad_call_ends_in_a_sentence_and_its_own_code(
    run: Run, filled: Book, tmp_path: Path, words: list[str], code: int, says: str
) -> None:
    places = {"BOOK": filled.path, NOT_A_BOOK: tmp_path / NOT_A_BOOK}
    before = (filled.path / "journal.jsonl").read_bytes()
    done = run(*(places.get(word, word) for word in words))
    assert done.exit_code == code, done.stderr
    assert says in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr + done.stdout
    assert not (tmp_path / NOT_A_BOOK).exists()
    assert (filled.path / "journal.jsonl").read_bytes() == before


@pytest.mark.parametrize(
    ("setting", "says"),
    [
        ("[[station", "book.toml cannot be read"),
        (SETTINGS.replace('currency = "USD"', 'currency = "XYZZY"'), "[cooperative], currency"),
        (SETTINGS.replace("2026-10-04", "2026-01-04"), "ends after its first day"),
        (SETTINGS.replace('station = "ARD"', 'station = "NOWHERE"'), "'NOWHERE' is not declared"),
        (SETTINGS.replace('percent = "3"', 'percent = "three"'), "percent = 'three'"),
        (
            SETTINGS + '\n[[limit]]\nname = "moist"\nvalue = "1"\nbecause = "so"\n',
            "There is no limit called 'moist'",
        ),
    ],
)
def test_settings_that_cannot_be_used_end_with_4(
    run: Run, book: Book, tmp_path: Path, setting: str, says: str
) -> None:
    book.settings_path.write_text(setting, encoding="utf-8")
    before = (book.path / "journal.jsonl").read_bytes()
    new = sheet(tmp_path, "p_2026-W20.csv", "payments", [{"payment_no": "P-20"}])
    done = run("take", book.path, new)
    assert done.exit_code == 4, done.stderr
    assert says in done.stderr
    assert (book.path / "journal.jsonl").read_bytes() == before


def test_a_book_without_a_sheet_says_that_there_is_nothing_to_issue(
    run: Run, tmp_path: Path
) -> None:
    path = made(tmp_path / "new").path
    rebuild(Book(path))
    for words in (["issue", path], ["export", path, "--to", tmp_path / "out"]):
        done = run(*words, "--season", "2026")
        assert (done.exit_code, "No sheet of season 2026 has come in yet." in done.stderr) == (3, 1)


def test_the_process_itself_ends_with_the_code_and_one_line(filled: Book) -> None:
    done = shell("why", filled.path, "2026/10019/wealth")
    assert done.returncode == 9
    assert done.stdout == ""
    assert done.stderr.startswith("weighbook: There is no figure '2026/10019/wealth'.")
    assert len(done.stderr.splitlines()) == 1


def test_export_writes_a_workbook_and_a_package_and_mixes_with_nothing(run, filled, tmp_path):
    done = run("export", filled.path, "--season", "2026", "--to", tmp_path / "out")
    assert done.exit_code == 0, done.stderr
    assert "tables, each as CSV and Parquet" in done.stdout
    assert {"season.xlsx", "datapackage.json", "data"} == {
        path.name for path in (tmp_path / "out").iterdir()
    }
    again = run("export", filled.path, "--season", "2026", "--to", tmp_path / "out")
    assert again.exit_code != 0 and "is not empty" in again.stderr
    unknown = run("export", filled.path, "--season", "1999", "--to", tmp_path / "other")
    assert unknown.exit_code != 0 and not (tmp_path / "other").exists()


def test_a_very_long_heading_is_cut_where_it_is_shown(run: Run, book: Book, tmp_path: Path) -> None:
    path = tmp_path / "long.csv"
    path.write_text("T" * 300_000 + "\n1\n", encoding="utf-8")
    done = run("take", book.path, path)
    said = done.stdout + done.stderr
    assert "T" * 60 + "…" in said and len(said) < 2_000
