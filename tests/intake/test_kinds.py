"""The declarations of the kinds of sheet, and what is made from them."""

import re
import tomllib
from collections import defaultdict
from importlib import resources

import polars as pl
import pytest

from pipeline.intake.cells import type_rows
from pipeline.intake.kinds import (
    LANGUAGES,
    ORDER,
    Column,
    Kind,
    choice_words,
    choices,
    heading_unit,
    kinds,
    normal_heading,
    normal_word,
    template_words,
)
from pipeline.intake.listing import kind_dict, kinds_markdown
from pipeline.intake.read import read_cells
from pipeline.intake.recognise import kind_of, match_headings
from pipeline.intake.stored import DECIMALS, SQL_TYPES, sql_type
from pipeline.intake.template import examples, headings, template_csv

TEXT_TYPES = {"text", "code", "choice", "phone", "account", "geometry"}
KINDS = [pytest.param(kind, id=name) for name, kind in kinds().items()]
COLUMNS = [
    pytest.param(kind, column, id=f"{kind.name}-{column.name}")
    for kind in kinds().values()
    for column in kind.columns
]


@pytest.mark.parametrize(("kind", "column"), COLUMNS)
def test_a_column_says_all_that_is_made_from_it(kind: Kind, column: Column) -> None:
    assert re.fullmatch(r"[a-z][a-z0-9_]*", column.name)
    assert column.type in {*DECIMALS, *SQL_TYPES, *TEXT_TYPES}
    assert (column.type == "choice") == bool(column.choices)
    assert column.about.endswith(".") and column.example.strip()
    assert column.title == column.spellings["en"][0]
    for language in LANGUAGES:
        assert column.spellings[language], language
        assert all(normal_heading(spelling) for spelling in column.spellings[language])
        # The heading of a blank sheet must be found again.
        assert normal_heading(column.heading(language)) in map(normal_heading, column.headings)
    if column.type in {"kg", "percent", "metres", "hectares", "price", "days", "money", "degrees"}:
        assert column.unit, f"{kind.name}.{column.name} measures something"


@pytest.mark.parametrize("kind", KINDS)
def test_no_spelling_stands_for_two_columns_of_a_kind(kind: Kind) -> None:
    meant: dict[str, set[str]] = defaultdict(set)
    for column in kind.columns:
        for spelling in column.headings:
            meant[normal_heading(spelling)].add(column.name)
    assert {spelling: names for spelling, names in meant.items() if len(names) > 1} == {}


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_names_its_own_columns_and_speaks_every_language(kind: Kind) -> None:
    names = [column.name for column in kind.columns]
    assert len(names) == len(set(names))
    assert all(kind.column(name).required for name in kind.key)
    assert set(kind.slot) <= {*names, "week"}
    assert kind.day in {"", "day"} and (not kind.day or kind.column("day").required)
    assert kind.later_sheet in {"adds", "replaces"}
    assert set(kind.titles) == set(kind.abouts) == set(LANGUAGES)


def test_every_declaration_is_a_kind_and_nothing_is_declared_in_vain() -> None:
    folder = resources.files("pipeline.intake").joinpath("kinds")
    files = {entry.name for entry in folder.iterdir() if entry.name.endswith(".toml")}
    assert files == {f"{name}.toml" for name in (*ORDER, "common", "choices", "words")}
    named = {column.choices for kind in kinds().values() for column in kind.columns} - {""}
    text = folder.joinpath("choices.toml").read_text("utf-8")
    assert set(re.findall(r"^\[(\w+)\]", text, re.M)) == named
    used = set(
        re.findall(
            r'^like = "(\w+)"',
            "".join(folder.joinpath(f"{name}.toml").read_text("utf-8") for name in ORDER),
            re.M,
        )
    )
    assert (
        set(re.findall(r"^\[(\w+)\]", folder.joinpath("common.toml").read_text("utf-8"), re.M))
        == used
    )


@pytest.mark.parametrize(
    "name", sorted({c.choices for k in kinds().values() for c in k.columns} - {""})
)
def test_a_word_of_a_list_stands_for_one_value(name: str) -> None:
    stored = set(choices(name).values())
    meant: dict[str, set[str]] = defaultdict(set)
    for language in LANGUAGES:
        words = choice_words(name, language)
        assert set(words) == stored
        assert len(set(map(normal_word, words.values()))) == len(stored)
        for value, word in words.items():
            meant[normal_word(word)].add(value)
            assert choices(name)[normal_word(word)] == value
    assert {word: values for word, values in meant.items() if len(values) > 1} == {}


def test_no_spelling_of_a_choice_is_given_to_two_values() -> None:
    # From the file itself: the table of spellings could hide that a later one took an earlier one.
    text = resources.files("pipeline.intake").joinpath("kinds/choices.toml").read_text("utf-8")
    for name, values in tomllib.loads(text).items():
        meant: dict[str, set[str]] = defaultdict(set)
        for stored, languages in values.items():
            assert set(languages) == set(LANGUAGES), (name, stored)
            for spelling in (stored, *(s for spoken in languages.values() for s in spoken)):
                meant[normal_word(spelling)].add(stored)
        assert {s: v for s, v in meant.items() if len(v) > 1} == {}, name


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_every_example_is_read_as_its_type(kind: Kind, language: str) -> None:
    text = pl.DataFrame(
        [{"sheet_no": 1, "row_no": 2, **examples(kind, language), "beyond": None}],
        schema_overrides={"beyond": pl.String},
    )
    typed = type_rows(kind, text, money_decimals=2)
    assert typed.unreadable.rows() == []
    assert typed.rows.null_count().row(0) == (0,) * typed.rows.width


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_kinds_own_headings_are_recognised(kind: Kind, language: str) -> None:
    cells = read_cells(template_csv(kind, language, [examples(kind, language)]))
    assert kind_of(cells).name == kind.name
    places = match_headings(kind, cells.headings)
    assert list(places) == [column.name for column in kind.columns]
    assert list(places.values()) == list(range(len(kind.columns)))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_needed_columns_alone_or_one_short_are_recognised(kind: Kind, language: str) -> None:
    needed = [column for column in kind.columns if column.required]
    for left_out in [None, *needed]:
        kept = [column for column in needed if column is not left_out]
        if left_out is not None and len(kept) < 4:
            continue
        head = ",".join(column.heading(language) for column in kept)
        cells = read_cells(f"{head}\n{','.join(c.example_in(language) for c in kept)}\n".encode())
        assert kind_of(cells).name == kind.name, left_out


def test_headings_are_compared_without_case_accents_signs_and_units() -> None:
    same = (
        "Peso líquido",
        " PESO LIQUIDO: ",
        "peso_líquido (kg)",
        "Peso\u200b Líquido, kg",
        "Peso líquido [lb]",
    )
    assert {normal_heading(text) for text in same} == {"peso liquido"}
    assert normal_heading("Nº de socio") == normal_heading("N.º de socio") == "no de socio"
    assert normal_heading("Weight (gross)") == "weight gross"
    assert normal_heading("Kg") == "kg" and normal_heading("%") == "%"


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Peso neto (lb)", "lb"),
        ("Net kg", "kg"),
        ("Moisture %", "%"),
        ("Humidité(%)", "%"),
        ("Superficie (m²)", "m2"),
        ("Área, ha", "ha"),
        ("Montant (FCFA)", "FCFA"),
        ("Price (USD/kg)", "USD/kg"),
        ("Amount ($)", "$"),
        ("Quantity (debes)", "debes"),
        ("Weight (gross)", ""),
        ("Receipt (book)", ""),
        ("Member", ""),
        ("Kg", ""),
        ("", ""),
    ],
)
def test_the_unit_at_a_headings_end_is_told(heading: str, unit: str) -> None:
    assert heading_unit(heading) == unit


def test_what_identifies_a_person_is_marked_and_masked() -> None:
    personal = {
        (kind.name, column.name)
        for kind in kinds().values()
        for column in kind.columns
        if column.type == "phone" or column.name in {"name", "heirs"}
    }
    assert personal and all(kinds()[kind].column(name).personal for kind, name in personal)
    phone = kinds()["members"].column("phone")
    assert phone.shown("+999 700 000 041") == "***041"
    assert kinds()["members"].column("name").shown("Asha Doreme") == "Asha Doreme"


def test_no_column_is_about_health_or_children() -> None:
    forbidden = re.compile(r"\b(health|pregnan|child|birth|disab|illness|hiv)", re.I)
    for kind in kinds().values():
        for column in kind.columns:
            assert not any(forbidden.search(heading) for heading in column.headings)


@pytest.mark.parametrize("text", ["7:30", "07:30", "23:59", "07:30:00"])
def test_a_time_of_day_is_read(text: str) -> None:
    assert _begun(text) == ([f"{text.zfill(5)[:5]}:00"], [])


@pytest.mark.parametrize("text", ["24:00", "730", "07:60", "noon", "13:30 pm"])
def test_what_is_no_time_of_day_is_sent_back(text: str) -> None:
    assert _begun(text) == ([None], ["not-a-time"])


@pytest.mark.parametrize(
    ("text", "meant"),
    [("7.30", "07:30"), ("07:30 pm", "19:30"), ("8h30", "08:30"), ("7 p.m.", "19:00"),
     ("12 am", "00:00"), ("12:15 pm", "12:15")],
)  # fmt: skip
def test_a_time_written_in_another_way_is_sent_back_with_what_it_may_be(
    text: str, meant: str
) -> None:
    assert _begun(text) == ([None], [f"near-time|{meant}"])


def _begun(text: str) -> tuple[list[str | None], list[str]]:
    return _typed("lots", "begun_at", text)


@pytest.mark.parametrize(
    ("text", "reasons"),
    [
        ("POLYGON ((36.1 1.2, 36.102 1.2, 36.102 1.202, 36.1 1.2))", []),
        (
            '{"type": "Polygon", "coordinates": [[[36.1, 1], [36.2, 1], [36.1, 1.3], [36.1, 1]]]}',
            [],
        ),
        ("POINT(36.1 1.2)", []),
        ("36.1 1.2", ["not-a-shape"]),
        ("POLYGON ((36.1 1.2, ", ["not-a-shape"]),
    ],
)
def test_a_boundary_has_the_outside_of_a_shape(text: str, reasons: list[str]) -> None:
    assert _typed("plots", "boundary", text)[1] == reasons


def _typed(kind: str, column: str, text: str) -> tuple[list[str | None], list[str]]:
    row = {**examples(kinds()[kind]), column: text}
    frame = pl.DataFrame(
        [{"sheet_no": 1, "row_no": 2, **row, "beyond": None}],
        schema_overrides={"beyond": pl.String},
    )
    typed = type_rows(kinds()[kind], frame, money_decimals=2)
    return typed.rows[column].cast(pl.String).str.head(8).to_list(), typed.unreadable[
        "reason"
    ].to_list()


def test_new_types_are_stored_as_such() -> None:
    assert sql_type(kinds()["lots"].column("begun_at")) == "TIME"
    assert sql_type(kinds()["plots"].column("latitude")) == "DECIMAL(9, 6)"


def test_the_document_of_the_kinds_is_current() -> None:
    kept = resources.files("pipeline.intake").joinpath("kinds/README.md").read_text("utf-8")
    assert kept == kinds_markdown(), "weighbook kinds --markdown > pipeline/intake/kinds/README.md"


def test_the_list_for_programs_holds_every_column() -> None:
    for kind in kinds().values():
        listed = kind_dict(kind)
        assert [c["name"] for c in listed["columns"]] == [c.name for c in kind.columns]
        assert all(c["headings"]["sw"] for c in listed["columns"])


def test_templates_speak_the_same_words_in_every_language() -> None:
    assert len({frozenset(template_words(language)) for language in LANGUAGES}) == 1
    for kind in kinds().values():
        for language in LANGUAGES:
            assert len(set(headings(kind, language))) == len(kind.columns)
