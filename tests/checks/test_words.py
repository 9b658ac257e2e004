"""Every rule and reason speaks every language, with the same places to fill in."""

import ast
import shutil
from importlib import resources
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

from checks.rule import Rule
from checks.rules import BY_CODE, RULES, fingerprint
from checks.words import rule_words, sentences
from pipeline.intake.dates import ORDER_WORDS
from pipeline.intake.found import Doubtful
from pipeline.intake.headings import language_of
from pipeline.intake.kinds import LANGUAGES, kinds
from pipeline.intake.limits import NAMES
from pipeline.intake.numbers import MARK_WORDS
from pipeline.intake.reasons import REASONS, Reasons, detailed, reason
from pipeline.intake.shifted import WORDS
from pipeline.intake.told import (
    note_said,
    note_sentence,
    problem_said,
    refusal_sentence,
    stored_problem,
)
from pipeline.intake.units import HINTS
from pipeline.intake.words import said_detail, word_table
from pipeline.season import schema
from pipeline.season.flags import explain

# Which argument of a call is a code, and the catalogue that has its words.
CALLS = {
    "Note": ("notes", 0),
    "NotRead": ("refusals", 0),
    "Doubtful": ("refusals", 1),
    "refusal_sentence": ("refusals", 0),
    "over": ("refusals", 0),
}
PREFIX = {"over": "over-"}
OTHERS = tuple(language for language in LANGUAGES if language != "en")


def places(sentence: str) -> list[str]:
    """The names in braces, each once: a language may need one twice."""
    return sorted({name for _, name, _, _ in Formatter().parse(sentence) if name is not None})


@pytest.mark.parametrize("language", OTHERS)
def test_rules_are_said_in_every_language(language: str) -> None:
    table = rule_words(language)
    assert set(table) == set(BY_CODE)
    for code, words in table.items():
        assert set(words) == {"say", "do"}, code
        for said, english in (
            (words["say"], BY_CODE[code].say),
            (words["do"], BY_CODE[code].do),
        ):
            assert places(said) == places(english), code
            # A place alone is the same everywhere; any other sentence is not left in English.
            assert said != english or english == "{remedy}", code


@pytest.mark.parametrize("language", OTHERS)
def test_notes_on_a_sheet_are_said_in_every_language(language: str) -> None:
    table, english = word_table(f"notes.{language}"), word_table("notes")
    assert set(table) == set(english)
    for code, said in table.items():
        assert places(said) == places(english[code]), code
        assert said != english[code], code
    for words in (*MARK_WORDS.values(), *ORDER_WORDS.values()):
        assert said_detail(words, language) != words
        assert said_detail(words, language) in note_sentence("dates-by-book", [words], language)


def test_what_a_sheet_says_itself_stays_in_a_note() -> None:
    assert note_sentence("decimal-by-scale", ["comma"], "fr").startswith(
        "Les décimales sont lues après une virgule"
    )
    # A heading that is a word of ours as well.
    assert "« comma »" in note_sentence("written-dates", ["comma"], "fr")
    assert note_sentence("dates-open", ["2"]).endswith("dates sent back: 2.")


@pytest.mark.parametrize("language", OTHERS)
def test_refusals_of_a_sheet_are_said_in_every_language(language: str) -> None:
    table, english = word_table(f"refusals.{language}"), word_table("refusals")
    assert set(table) == set(english)
    for code, said in table.items():
        assert places(said) == places(english[code]), code
        assert said != english[code], code


def test_every_code_that_reading_gives_has_its_words_and_no_other_has() -> None:
    """The codes in the reader's own source are those of the catalogues."""
    given: dict[str, set[str]] = {"notes": set(), "refusals": set()}
    constants: set[str] = set()
    package = resources.files("pipeline")
    for path in [
        *Path(str(package.joinpath("intake"))).glob("*.py"),
        Path(str(package)) / "taken.py",
    ]:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                constants.add(node.value)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                table, place = CALLS.get(node.func.id, ("", 0))
                code = node.args[place] if table and len(node.args) > place else None
                if isinstance(code, ast.Constant):
                    given[table].add(
                        f"{PREFIX.get(node.func.id, '')}{code.value}".replace("_", "-")
                    )
    assert len(given["notes"]) > 20 and len(given["refusals"]) > 20
    for table, codes in given.items():
        assert codes <= set(word_table(table)), table
        known = codes | constants | {f"over-{name.replace('_', '-')}" for name in NAMES}
        assert set(word_table(table)) <= known, table


def test_a_refusal_is_said_with_the_names_of_the_language() -> None:
    error = Doubtful("kind", "doubtful-kind", "weighings / lots", "--as weighings", answers=("x",))
    assert str(error) == refusal_sentence(error.code, error.details, "en")
    french = refusal_sentence(error.code, error.details, "fr")
    assert " / ".join(kinds()[name].titles["fr"] for name in ("weighings", "lots")) in french
    twice = refusal_sentence("doubtful-heading", ["3", "a", "5", "b", "weighings.gross_kg"], "sw")
    assert kinds()["weighings"].column("gross_kg").spellings["sw"][0] in twice
    lacking = stored_problem({"code": "missing-column", "details": ["net_kg", "Net", "form", ""]})
    column = kinds()["weighings"].column("net_kg")
    said = problem_said(lacking, "weighings", "pt")
    assert f"{column.spellings['pt'][0]} (é «Net»?), " in said and said.endswith("de novo.")
    assert problem_said({"code": "picture", "details": ["PNG"]}, None, "es").endswith("digitar.")
    assert problem_said(None, None, "es") == ""


def test_what_an_older_version_stored_as_a_sentence_stays_as_it_is() -> None:
    assert problem_said("empty: The file is empty: send it.", None, "fr") == (
        "The file is empty: send it."
    )
    assert stored_problem("empty: The file is empty.") == "empty: The file is empty."
    old = {"code": "totals-row", "row_no": 4, "sentence": "Row 4 is a totals row."}
    assert note_said(old, "fr") == "Row 4 is a totals row."


@pytest.mark.parametrize("language", OTHERS)
def test_reasons_are_said_in_every_language(language: str) -> None:
    table, english = word_table(f"reasons.{language}"), word_table("reasons")
    assert set(table) == set(english)
    for code, words in table.items():
        assert set(words) == {"what", "remedy"}, code
        for part, said in words.items():
            assert places(said) == places(english[code][part]), code
            assert said != english[code][part], code


def test_words_around_the_sentences_are_there_in_every_language() -> None:
    table = word_table("said")
    assert set(table) == set(LANGUAGES) == set(word_table("correction"))
    assert {language: set(table["en"]) for language in LANGUAGES} == {
        language: set(words) for language, words in table.items()
    }
    # What the reader stores in English is found again among the words.
    assert {*WORDS.values(), *HINTS.values(), *MARK_WORDS.values(), *ORDER_WORDS.values()} <= set(
        table["en"].values()
    )
    # Excel allows 31 letters in a worksheet's name.
    assert all(0 < len(words["corrections"]) <= 31 for words in table.values())


def test_a_language_without_its_word_is_an_error_and_never_english() -> None:
    rule = Rule(
        code="new-rule", on=("weighings",), severity="note", col="", where="", say="x", do="y"
    )
    assert sentences(rule, "en") == ("x", "y")
    with pytest.raises(KeyError):
        sentences(rule, "fr")
    with pytest.raises(KeyError):
        Reasons("fr")["new-reason"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_rule_fills_its_sentences_in_every_language(language: str) -> None:
    for rule in RULES:
        facts: dict[str, Any] = {name: f"<{name}>" for name in rule.facts if name != "reason"}
        facts |= {name: "123" for name in facts if name.endswith("_minor")}
        if "reason" in rule.facts:
            facts["reason"] = "not-a-number"
        say, do = explain(rule, rule.on[0], rule.col, facts, 2, language)
        assert say and do and "{" not in say + do, rule.code


def test_names_inside_sentences_are_in_the_language_and_numbers_keep_a_point() -> None:
    facts = {
        "moisture_pct": "41.50", "form": "dry_cherry", "moisture_possible_low": "8.00",
        "moisture_possible_high": None,
    }  # fmt: skip
    said = explain(BY_CODE["moisture-impossible"], "weighings", "moisture_pct", facts, 2, "fr")[0]
    assert "41.5 %" in said and "cerise sèche" in said and "(vide)" in said
    facts = dict.fromkeys(BY_CODE["lot-loss-unexplained"].facts, "1.000")
    facts["steps"] = "pulping, fermenting, washing"
    said = explain(BY_CODE["lot-loss-unexplained"], "lots", "kg_out", facts, 2, "es")[0]
    assert said.startswith("despulpado, fermentado, lavado: faltan 1 kg ")
    facts = {"earlier_form": "green", "form": "parchment"}
    said = explain(BY_CODE["lot-form-goes-back"], "lots", "form", facts, 2, "pt")[0]
    assert "«café verde»" in said and "«pergaminho»" in said
    missing = explain(
        BY_CODE["missing-column"], "weighings", "gross_kg", {"reason": "no-such-column"}, 2, "sw"
    )
    assert '"Uzito wa jumla"' in missing[0]


@pytest.mark.parametrize(
    ("stored", "col", "said"),
    [
        (reason("near-choice", "dry cherry / parchment"), "form", "cerise sèche / parche ?"),
        (
            reason("shifted", "7", WORDS[1], "Gross kg"),
            "",
            "sous « Poids brut » et toutes les suivantes se trouvent une colonne à droite de leurs "
            "en-têtes, à partir de la ligne 7",
        ),
        (reason("measure-not-declared", "debe", "KES, dry cherry, 2026-05-04"), "net_kg",
         "« debe », dont le poids n'est pas déclaré pour KES, cerise sèche, 2026-05-04"),
        (reason("unknown-unit", "or", "kg", HINTS["weight"]), "net_kg", "kg, g, lb, quintal ou t"),
        (reason("unit-does-not-fit", "one column"), "net_kg", "« one column »"),
    ],
)  # fmt: skip
def test_what_the_reader_put_into_a_reason_is_translated(stored: str, col: str, said: str) -> None:
    kind = kinds()["weighings"]
    column = kind.column(col) if col else None
    what, remedy = Reasons("fr")[detailed(stored, kind, column, "fr")]
    assert said in f"{what} {remedy}"
    assert detailed(stored, kind, column, "en") == stored
    assert REASONS[stored] == Reasons("en")[stored]


def test_a_stored_word_that_no_table_has_stays() -> None:
    assert said_detail("2026-02-10", "fr") == "2026-02-10"
    assert said_detail("never", "fr") == "jamais"


@pytest.mark.parametrize(
    ("headings", "offered", "language"),
    [
        (["Poids brut", "Poids net", "Gross kg"], ("en",), "fr"),
        (["Uzito wa jumla", "Uzito halisi"], ("en", "fr"), "sw"),
        # "Date" is English and French, "Station" too.
        (["Date", "Station"], ("fr", "en"), "fr"),
        (["Date", "Station"], ("sw", "fr"), "fr"),
        (["Date", "Station"], ("sw",), "en"),
        (["Peso bruto", "Tara"], ("en",), "es"),
        (["?", ""], ("sw", "en"), "sw"),
        (["?", ""], ("xx",), "en"),
        # A unit in brackets is no part of the heading.
        (["Poids brut (kg)", "Poids net [kg]", "Net kg"], ("en",), "fr"),
    ],
)
def test_the_language_of_a_sheet_is_that_of_most_headings(
    headings: list[str], offered: tuple[str, ...], language: str
) -> None:
    assert language_of("weighings", headings, offered) == language


def test_translations_change_no_hash(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def hashed(folder: Path) -> str:
        with monkeypatch.context() as patch:
            patch.setattr(schema, "rules_hash", lambda: "")
            patch.setattr(schema.resources, "files", lambda package: folder)
            return schema.makings_hash.__wrapped__()

    for package, name in (
        ("pipeline.intake", "kinds"), ("pipeline.intake", "words"),
        ("pipeline.season", "sql"),
    ):  # fmt: skip
        shutil.copytree(str(resources.files(package).joinpath(name)), tmp_path / name)
    for package, modules in schema.MADE_IN_CODE.items():
        for module in modules:
            shutil.copy(str(resources.files(package).joinpath(f"{module}.py")), tmp_path)
    before = hashed(tmp_path)
    spoken = [
        f"{table}.{lang}.toml" for table in ("reasons", "notes", "refusals") for lang in OTHERS
    ]
    for name in (*spoken, "said.toml"):
        (tmp_path / "words" / name).write_text("# other words\n", "utf-8")
    assert hashed(tmp_path) == before
    units = tmp_path / "words" / "units.toml"
    units.write_text(units.read_text("utf-8") + "\n# other\n", "utf-8")
    other = hashed(tmp_path)
    assert other != before
    (tmp_path / "walk.py").write_text("# follows coffee otherwise\n", "utf-8")
    assert hashed(tmp_path) != other


def test_the_hash_of_the_rules_reads_no_translation(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    shutil.copytree(str(resources.files("checks")), tmp_path / "checks")
    monkeypatch.setattr(fingerprint.resources, "files", lambda package: tmp_path / "checks")
    before = fingerprint.rules_hash.__wrapped__()
    (tmp_path / "checks" / "words" / "fr.toml").write_text("# other words\n", "utf-8")
    assert fingerprint.rules_hash.__wrapped__() == before
    (tmp_path / "checks" / "limits.toml").write_text("# other limits\n", "utf-8")
    assert fingerprint.rules_hash.__wrapped__() != before
