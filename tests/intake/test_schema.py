"""The exported schemas, judged by the reference implementation of the standard."""

import json
from pathlib import Path
from typing import Any

import pytest
from frictionless import Package, Resource, Schema

from pipeline.intake.kinds import LANGUAGES, Kind, kinds
from pipeline.intake.schema import data_package, table_schema
from pipeline.intake.template import examples, template_csv

KINDS = [pytest.param(kind, id=name) for name, kind in kinds().items()]


@pytest.mark.parametrize("language", ["", *LANGUAGES])
@pytest.mark.parametrize("kind", KINDS)
def test_a_table_schema_keeps_the_standard(kind: Kind, language: str) -> None:
    described = table_schema(kind, language)
    assert list(Schema.metadata_validate(described)) == []
    schema = Schema.from_descriptor(json.loads(json.dumps(described)))
    assert len(schema.fields) == len(kind.columns)
    assert set(schema.primary_key) <= set(schema.field_names)
    needed = [field.name for field in schema.fields if field.required]
    assert len(needed) == sum(column.required for column in kind.columns)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_filled_template_is_valid_by_its_schema(
    kind: Kind, language: str, tmp_path: Path
) -> None:
    report = _report(kind, language, [dict(examples(kind, language))], tmp_path)
    assert report.valid, report.flatten(["fieldName", "note"])


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_without_its_needed_cells_is_not_valid(kind: Kind, tmp_path: Path) -> None:
    needed = next(column for column in kind.columns if column.required)
    row = {**examples(kind), needed.name: ""}
    assert not _report(kind, "en", [row], tmp_path).valid


def test_a_word_outside_the_list_is_not_valid(tmp_path: Path) -> None:
    kind = kinds()["deliveries"]
    row = {**examples(kind), "form": "berries"}
    assert not _report(kind, "en", [row], tmp_path).valid


@pytest.mark.parametrize(
    ("ph", "valid"), [("0", True), ("14", True), ("14.001", False), ("-1", False)]
)
def test_a_figure_that_its_column_cannot_hold_is_not_valid(
    ph: str, valid: bool, tmp_path: Path
) -> None:
    kind = kinds()["visits"]
    assert _report(kind, "en", [{**examples(kind), "soil_ph": ph}], tmp_path).valid == valid


def _report(kind: Kind, language: str, rows: list[dict[str, str]], folder: Path) -> Any:
    path = folder / "sheet.csv"
    path.write_bytes(template_csv(kind, language, rows))
    schema = Schema.from_descriptor(table_schema(kind, language))
    return Resource(
        name="sheet", path=path.name, basepath=str(folder), schema=schema, encoding="utf-8-sig"
    ).validate()


@pytest.mark.parametrize("language", ["", *LANGUAGES])
def test_the_data_package_keeps_the_standard(language: str) -> None:
    described = data_package(language)
    assert list(Package.metadata_validate(described)) == []
    package = Package.from_descriptor(described)
    assert len(package.resources) == len(kinds())


def test_examples_of_stored_rows_are_among_their_own_words() -> None:
    for kind in kinds().values():
        for field in table_schema(kind)["fields"]:
            words = field.get("constraints", {}).get("enum")
            assert words is None or field["example"] in words
