"""Loading the formulas: where they work, and what they say to a missing figure."""

from pathlib import Path

import duckdb
import pytest

from pipeline.book.macros import keep_macros, load_macros


def test_macros_work_on_a_file_opened_read_only(tmp_path: Path) -> None:
    file = tmp_path / "season.duckdb"
    with duckdb.connect(str(file)) as writer:
        writer.execute("create table weighed as select 75::decimal(14, 3) as kg")
    before = file.read_bytes()
    with duckdb.connect(str(file), read_only=True) as reader:
        load_macros(reader)
        load_macros(reader)
        row = reader.execute("select gbe_kg(kg, 'parchment', 6)::varchar from weighed").fetchone()
    assert row == ("60.000",)
    assert file.read_bytes() == before


def test_those_that_a_file_holds_are_not_loaded_again_unless_they_are_others(
    tmp_path: Path,
) -> None:
    loaded = "select count(*) from duckdb_functions() where function_name = 'grams' and {}"
    of_file, of_connection = (
        loaded.format(f"{'not ' if of_file else ''}database_name = 'temp'") for of_file in (1, 0)
    )
    file = tmp_path / "season.duckdb"
    with duckdb.connect(str(file)) as writer:
        keep_macros(writer)
    with duckdb.connect(str(file), read_only=True) as reader:
        load_macros(reader)
        assert reader.execute("select grams(1)").fetchone() == (1000,)
        assert reader.execute(of_file).fetchone() == (1,)
        assert reader.execute(of_connection).fetchone() == (0,)
    with duckdb.connect(str(file)) as writer:
        # As an older version would have left it.
        writer.execute("create or replace macro grams(kg) as 0")
        writer.execute("create or replace macro macros_hash() as 'of before'")
    with duckdb.connect(str(file), read_only=True) as reader:
        load_macros(reader)
        assert reader.execute("select grams(1)").fetchone() == (1000,)


def test_a_cursor_loads_them_for_itself() -> None:
    with duckdb.connect(":memory:") as con:
        load_macros(con)
        cursor = con.cursor()
        with pytest.raises(duckdb.CatalogException, match="grams"):
            cursor.execute("select grams(1)")
        load_macros(cursor)
        assert cursor.execute("select grams(1)").fetchone() == (1000,)


@pytest.mark.parametrize(
    "call",
    [
        "div_half_away(null, 2::bigint)", "div_half_away(2::bigint, null)",
        "grams(null)", "kg_from_grams(null)",
        "value_minor(null, 1, 2)", "value_minor(1, null, 2)",
        "percent_minor(null, 1)", "percent_minor(1, null)", "per_kg_minor(null, 1, 2)",
        "kg_at_moisture(null, 12, 11)", "kg_at_moisture(1, null, 11)",
        "kg_at_moisture(1, 12, null)",
        "gbe_kg(null, 'green', 6)", "gbe_kg(1, null, 6)", "gbe_kg(1, 'fresh_cherry', null)",
        "trees_per_ha(null, 2, 'rectangular')", "trees_per_ha(2, 2, null)",
        "class_iii_mpe_kg(null, 0.1)", "class_iii_mpe_kg(1, null)", "mpe_kg(1, 0.1, null)",
        "in_service_error_kg(null, 0.1)", "smallest_load_kg(null)", "smallest_load_kg(0.1, null)",
        "is_multiple(null, 0.1)", "is_multiple(1, null)", "is_multiple(1, 0)",
        "is_lawful_interval(null)", "chi_square_uniform(null)", "share_0_5_whipple(null, 1)",
        "modified_z(null, 1, 1)", "modified_z(1, 1, 0)", "modified_z_list(null)",
    ],
)  # fmt: skip
def test_a_missing_figure_gives_none(call: str) -> None:
    with duckdb.connect(":memory:") as con:
        load_macros(con)
        assert con.execute(f"select {call}").fetchone() == (None,)


def test_missing_decimals_are_an_error() -> None:
    with duckdb.connect(":memory:") as con:
        load_macros(con)
        with pytest.raises(duckdb.Error, match="currency decimals"):
            con.execute("select value_minor(1, 1, null)")
