"""Every rule on rows that must pass, must fail and stand at its limit, through a real book."""

from collections import defaultdict
from pathlib import Path

import pytest

from checks.rule import Rule
from checks.rules import BY_CODE, RULES
from pipeline.book.book import Book
from pipeline.intake.corrected import correction_headings, sheet_label
from pipeline.season.flag_frame import flags
from pipeline.season.generations import must_have
from pipeline.season.tables import connect
from tests.checks.cases import (
    CHECK_SETTINGS,
    FAILS,
    LIMIT,
    NO_LIMIT,
    OTHERS,
    PASSES,
    Case,
)
from tests.checks.declared import ALL_CASES, ALL_LEFT_OUT, DECLARED, LISTED, sound_row, two
from tests.checks.many import OF_MANY
from tests.take.small import ASHA, SOUND, ask, made, number, posted, sheet, taken

# Kinds whose rows a later version of their sheet may no longer have: one that stays, one that goes.
SECOND = {"recorder": "Second"}
VERSIONED = {
    "weighings": (SECOND | {"receipt_no": "6001"}, SECOND | {"receipt_no": "6002"}),
    "deliveries": (SECOND | {"kg": "60.1"}, SECOND | {"kg": "60.2"}),
    "farm_record": (SECOND | {"cost": "1.00"}, SECOND | {"cost": "2.00"}),
    "payments": tuple({"payment_no": no, "reference": no} for no in ("S-1", "S-2")),
} | {name: two(kind, 20) for name, kind in DECLARED.items() if kind.later_sheet == "replaces"}

# A row that is no other's, for the sheets without a column.
THIRD = {
    "members": {"member_no": number(3000)},
    "plots": {"plot_no": "third"},
    "prices": {"grade": "THIRD"},
    "weighings": {"receipt_no": "5000", "recorder": "Third"},
    "deliveries": {"recorder": "Third"},
    "farm_record": {"recorder": "Third"},
    "payments": {"payment_no": "THIRD"},
} | {name: sound_row(kind, 139, 21) for name, kind in DECLARED.items()}


def _row(kind: str, n: int, case: Case) -> dict[str, str]:
    """A case's cells, with a key of its own where it says none; `n` is its row in the sheet."""
    cells = dict(case.cells)
    if kind == "members":
        cells.setdefault("member_no", number(2000 + n))
    elif kind == "plots":
        cells.setdefault("plot_no", str(n))
    elif kind == "prices" and not {"grade", "form", "from_day"} & set(cells):
        cells["grade"] = f"OWN{n}"
    elif kind == "weighings":
        cells.setdefault("receipt_no", str(n))
    elif kind == "payments":
        cells.setdefault("payment_no", f"P-{n}")
        # Payments of one member on one day are told apart by their references.
        cells.setdefault("reference", f"R-{n}")
    return cells


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """All cases of all kinds, and the sheets without a column and with a later version."""
    folder = tmp_path_factory.mktemp("cases")
    known = [{"member_no": n} for n in (ASHA, *OTHERS, *LISTED)]
    paths = [sheet(folder, "known.csv", "members", known)]
    for kind, cases in ALL_CASES.items():
        cells = [_row(kind, n, case) for n, case in enumerate(cases, start=2)]
        if kind == "prices":
            cells.append({})  # what the parchment of the weighings is paid by
        paths.append(sheet(folder, f"{kind}.csv", kind, cells))
        lacking = f"lacking_{kind}_2026-W21.csv"
        paths.append(sheet(folder, lacking, kind, [THIRD[kind]], without=[ALL_LEFT_OUT[kind]]))
    for kind, (stays, goes) in VERSIONED.items():
        paths.append(sheet(folder, f"{kind}_2026-W20.csv", kind, [stays, goes]))
        paths.append(sheet(folder, f"later_{kind}_2026-W20.csv", kind, [stays]))
    known_plot = {"member_no": ASHA, "plot_no": SOUND["farm_record"]["plot_no"]}
    paths.append(sheet(folder, "known_plots.csv", "plots", [known_plot]))
    book = made(folder / "book", CHECK_SETTINGS)
    for path in paths:
        posted(book, path)
    taken(book, *paths)
    numbers = dict(ask(book, "select name, sheet_no from sheets"))
    taken(book, *(_correction(folder, kind, numbers[f"{kind}.csv"]) for kind in ALL_CASES))
    return book


def _correction(folder: Path, kind: str, sheet_no: int) -> Path:
    """A correction sheet of one row, for a row that its sheet does not have."""
    path = sheet(folder, f"correction_{kind}_2026-W21.csv", kind, [THIRD[kind]])
    added = (",".join(correction_headings("en")), f"{sheet_label('week.csv', sheet_no)},9999,,")
    lines = zip(path.read_text("utf-8").splitlines(), added, strict=True)
    path.write_text("".join(f"{line},{more}\n" for line, more in lines), "utf-8")
    return path


@pytest.fixture(scope="module")
def found(book: Book) -> dict[tuple[str, int], set[str]]:
    """The rules that flagged each row, by sheet and row."""
    flags: dict[tuple[str, int], set[str]] = defaultdict(set)
    for name, row, rule in ask(
        book, "select s.name, f.row_no, f.rule from flags f join sheets s using (sheet_no)"
    ):
        # Rows that are alike but for one cell are no honest season: see tests/checks/many.py.
        if rule not in OF_MANY:
            flags[name, row].add(rule)
    return flags


@pytest.mark.parametrize("kind", ALL_CASES)
def test_each_row_gets_its_flags_and_no_other(
    kind: str, found: dict[tuple[str, int], set[str]]
) -> None:
    wrong = [
        f"row {row}, about {case.rule} ({case.part}): {case.cells}: "
        f"must have {sorted(case.flags)}, has {sorted(found.get((f'{kind}.csv', row), set()))}"
        for row, case in enumerate(ALL_CASES[kind], start=2)
        if found.get((f"{kind}.csv", row), set()) != case.flags
    ]
    assert not wrong, "\n".join(wrong)


STATE_OF = {"send_back": "sent_back", "hold": "held", "note": "counted"}


@pytest.mark.parametrize("kind", ALL_CASES)
def test_each_row_is_in_the_state_of_its_strongest_flag(kind: str, book: Book) -> None:
    states = dict(
        ask(
            book,
            f"select r.row_no, r.state from {kind} r join sheets s using (sheet_no) "
            "where s.name = ?",
            f"{kind}.csv",
        )
    )
    for row, case in enumerate(ALL_CASES[kind], start=2):
        severities = {BY_CODE[rule].severity for rule in case.flags}
        strongest = next((s for s in STATE_OF if s in severities), "note")
        assert states[row] == STATE_OF[strongest], (row, case)


@pytest.mark.parametrize("kind", ALL_LEFT_OUT)
def test_a_missing_column_is_said_once_and_sends_every_row_back(
    kind: str, book: Book, found: dict[tuple[str, int], set[str]]
) -> None:
    name = f"lacking_{kind}_2026-W21.csv"
    assert found[name, 1] == {"missing-column"}
    assert (name, 2) not in found
    assert ask(book, "select sent_back, arrived from sheet_states where name = ?", name) == [(1, 1)]
    assert (f"{kind}.csv", 1) not in found


@pytest.mark.parametrize("kind", VERSIONED)
def test_a_row_gone_from_a_later_version_is_noted_and_counts(
    kind: str, book: Book, found: dict[tuple[str, int], set[str]]
) -> None:
    name = f"{kind}_2026-W20.csv"
    assert found[name, 3] == {"gone-from-later-version"}
    assert (name, 2) not in found
    states = ask(
        book,
        f"select r.state from {kind} r join sheets s using (sheet_no) where s.name = ? "
        "order by r.row_no",
        name,
    )
    assert states == [("replaced",), ("counted",)]


@pytest.mark.parametrize("kind", ALL_CASES)
def test_a_correction_of_nothing_goes_back(
    kind: str, book: Book, found: dict[tuple[str, int], set[str]]
) -> None:
    name = f"correction_{kind}_2026-W21.csv"
    assert "corrects-nothing" in found[name, 2]
    states = ask(book, "select kind, sent_back, arrived from sheet_states where name = ?", name)
    assert states == [(kind, 1, 1)]


# Rules that are about a whole sheet or two versions have tests of their own above.
OF_SHEETS = {
    "missing-column": set(ALL_LEFT_OUT),
    "gone-from-later-version": set(VERSIONED),
    "corrects-nothing": set(ALL_CASES),
}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_every_rule_has_a_row_that_passes_and_one_that_fails_in_every_kind(rule: Rule) -> None:
    if rule.code in OF_SHEETS:
        assert set(rule.on) == OF_SHEETS[rule.code]
        return
    if rule.code in OF_MANY:
        folder = Path(__file__).parent
        texts = [path.read_text("utf-8") for path in folder.glob("test_*.py")]
        assert any(rule.code in text for text in texts)
        return
    parts: dict[str, set[str]] = {
        kind: {case.part for case in ALL_CASES[kind] if case.rule == rule.code} for kind in rule.on
    }
    assert all({PASSES, FAILS} <= kind_parts for kind_parts in parts.values()), parts
    if rule.code not in NO_LIMIT:
        assert any(LIMIT in kind_parts for kind_parts in parts.values()), parts
    assert not (rule.limits and rule.code in NO_LIMIT)


def test_cases_name_rules_that_exist() -> None:
    named = {case.rule for cases in ALL_CASES.values() for case in cases}
    named |= {flag for cases in ALL_CASES.values() for case in cases for flag in case.flags}
    assert named | NO_LIMIT | set(OF_SHEETS) | OF_MANY == set(BY_CODE)
    assert not named & OF_MANY


def test_every_flag_has_a_sentence_with_its_own_values(book: Book) -> None:
    with connect(str(must_have(book, "2026"))) as con:
        everything = flags(con, 2)
    assert {flag.rule for flag in everything} | OF_MANY == set(BY_CODE)
    for flag in everything:
        for words in (flag.say, flag.do):
            assert words[-1] in ".?" and "{" not in words and "None" not in words, flag
