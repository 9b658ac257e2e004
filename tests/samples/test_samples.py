import tomllib
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path

import polars as pl
import pytest
from stdnum import damm

from pipeline.samples.__main__ import main

COMMITTED = Path(__file__).parents[2] / "sample_inputs"
BOOK_TABLES = ("cooperative", "season", "station", "scale", "deduction")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("made")
    main([str(out), "--members", "240", "--weeks", "26", "--seed", "7"])
    return out


@pytest.fixture(scope="module")
def weighings() -> pl.DataFrame:
    return read(COMMITTED / "season", "weighings_*.csv")


def read(folder: Path, pattern: str) -> pl.DataFrame:
    paths = sorted(folder.rglob(pattern))
    return pl.concat(pl.read_csv(path, infer_schema=False) for path in paths)


def contents(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def decimals(frame: pl.DataFrame, column: str) -> Iterator[Decimal]:
    return (Decimal(text) for text in frame[column])


def test_the_committed_sheets_are_what_the_command_makes(made: Path) -> None:
    fresh, kept = contents(made), contents(COMMITTED)
    settings = [tomllib.loads(files.pop("book.toml").decode()) for files in (fresh, kept)]
    assert fresh.keys() == kept.keys()
    assert [name for name in fresh if fresh[name] != kept[name]] == []
    # The committed book.toml may say more than a made one, and nothing else.
    assert [settings[0][name] for name in BOOK_TABLES] == [
        settings[1][name] for name in BOOK_TABLES
    ]


def test_the_seed_decides_the_bytes(tmp_path: Path) -> None:
    for name, seed in (("first", "3"), ("again", "3"), ("other", "4")):
        small = ["--members", "60", "--weeks", "8", "--stations", "6", "--seed", seed]
        main([str(tmp_path / name), *small])
    first, again, other = (contents(tmp_path / name) for name in ("first", "again", "other"))
    assert first == again
    assert first["season/register/members.csv"] != other["season/register/members.csv"]


def test_a_book_toml_that_is_there_is_kept(tmp_path: Path) -> None:
    (tmp_path / "book.toml").write_text("# ours\n", encoding="utf-8")
    main([str(tmp_path)])
    assert (tmp_path / "book.toml").read_text(encoding="utf-8") == "# ours\n"


def test_other_stations_get_settings_of_their_own(tmp_path: Path) -> None:
    main([str(tmp_path), "--members", "60", "--weeks", "8", "--stations", "6"])
    settings = tomllib.loads((tmp_path / "book.toml").read_text(encoding="utf-8"))
    used = read(tmp_path / "season", "weighings_*.csv")
    assert set(used["Station"]) <= {station["code"] for station in settings["station"]}
    assert set(used["Scale"]) <= {scale["code"] for scale in settings["scale"]}
    assert len(settings["station"]) == len(settings["scale"]) == 6
    assert not (tmp_path / "bad_week").exists()


def test_the_season_is_as_large_as_promised(weighings: pl.DataFrame) -> None:
    register = read(COMMITTED / "season" / "register", "members.csv")
    assert register["Member"].n_unique() == register.height >= 200
    assert register["Village"].n_unique() == 8
    assert set(weighings["Station"]) == {"KES", "ARD", "MUN", "PAR"}
    weeks = {date.fromisoformat(day).isocalendar()[:2] for day in weighings["Date"]}
    assert weeks == {(2026, week) for week in range(14, 40)}
    assert len(list((COMMITTED / "season").rglob("weighings_*.csv"))) == 4 * 26


def test_every_member_number_ends_in_its_check_digit() -> None:
    numbers = read(COMMITTED / "season" / "register", "members.csv")["Member"]
    assert [number for number in numbers if not damm.is_valid(number)] == []


def test_a_receipt_line_occurs_once_and_books_have_no_gaps(weighings: pl.DataFrame) -> None:
    line = ("Station", "Book", "Receipt", "Line")
    assert weighings.select(pl.struct(line).is_duplicated().any()).item() is False
    receipts = weighings.with_columns(pl.col("Receipt").cast(pl.Int64))
    for _, station in receipts.group_by("Station"):
        by_number = station.unique("Receipt").sort("Receipt")
        numbers = by_number["Receipt"].to_list()
        assert numbers == list(range(1, len(numbers) + 1))
        assert by_number["Date"].is_sorted()
        books = [int(book[1:]) for book in by_number["Book"]]
        assert books == [(number - 1) // 50 + 1 for number in numbers]


def test_net_is_gross_less_tare(weighings: pl.DataFrame) -> None:
    columns = [decimals(weighings, name) for name in ("Gross kg", "Tare kg", "Net kg")]
    wrong = [row for row in zip(*columns, strict=True) if row[0] - row[1] != row[2]]
    assert wrong == []


def test_weights_are_readings_of_the_declared_scale(weighings: pl.DataFrame) -> None:
    settings = tomllib.loads((COMMITTED / "book.toml").read_text(encoding="utf-8"))
    scales = {scale["code"]: scale for scale in settings["scale"]}
    for (code,), rows in weighings.group_by("Scale"):
        interval = Decimal(scales[code]["interval_kg"])
        capacity = Decimal(scales[code]["capacity_kg"])
        assert all(kg % interval == 0 for c in ("Gross kg", "Tare kg") for kg in decimals(rows, c))
        assert all(20 * interval <= kg <= capacity for kg in decimals(rows, "Gross kg"))
        assert all(kg >= 20 * interval for kg in decimals(rows, "Net kg"))


def test_nobody_is_paid_more_than_is_owed(weighings: pl.DataFrame) -> None:
    # Worked out a second way, in decimals and row by row, from the sheets alone.
    prices = read(COMMITTED / "season" / "register", "prices*.csv").sort("From")
    listed = {tuple(row[:4]): Decimal(row[4]) for row in prices.iter_rows()}
    second = max(key[0] for key in listed)
    cent, owed, paid = Decimal("0.01"), dict[str, Decimal](), dict[str, Decimal]()
    events = [("2", row["Date"], row) for row in weighings.iter_rows(named=True)]
    pay = read(COMMITTED / "season", "payments_*.csv")
    events += [("1", row["Date"], row) for row in pay.iter_rows(named=True)]
    for kind, day, row in sorted(events, key=lambda event: (event[1], event[0])):
        member = row["Member"]
        if kind == "1":
            paid[member] = paid.get(member, Decimal(0)) + Decimal(row["Amount"])
            assert paid[member] <= owed[member], row
            continue
        start = second if day >= second else min(key[0] for key in listed)
        net = Decimal(row["Net kg"])
        value = net * listed[start, row["Species"], row["Form"], row["Grade"]]
        value = value.quantize(cent, "ROUND_HALF_UP")
        held = (value * 3 / 100).quantize(cent, "ROUND_HALF_UP")
        if row["Form"] == "fresh cherry":
            held += (net * 2 / 100).quantize(cent, "ROUND_HALF_UP")
        owed[member] = owed.get(member, Decimal(0)) + value - held
    assert len(paid) > 200
    assert pay["Payment"].n_unique() == pay.height


def test_trees_stand_on_their_land_and_bear_what_trees_can(weighings: pl.DataFrame) -> None:
    kg_per_green = pl.col("Form").replace_strict(
        {"fresh cherry": 6.0, "parchment": 1.25, "dry cherry": 2.0}
    )
    green = weighings.group_by("Member").agg(
        (pl.col("Net kg").cast(pl.Float64) / kg_per_green).sum().alias("green")
    )
    plots = read(COMMITTED / "season" / "register", "plots.csv").with_columns(
        pl.col("Trees", "Bearing", "Area ha", "Row spacing m", "Tree spacing m").cast(pl.Float64)
    )
    place = pl.col("Row spacing m") * pl.col("Tree spacing m")
    place = pl.when(pl.col("Layout") == "triangular").then(place * 3**0.5 / 2).otherwise(place)
    assert plots.filter(pl.col("Trees") * place > pl.col("Area ha") * 10_000).is_empty()
    assert plots.filter(pl.col("Bearing") > pl.col("Trees")).is_empty()
    members = plots.group_by("Member").agg(pl.col("Bearing", "Area ha").sum())
    yields = members.join(green, on="Member", validate="1:1")
    assert yields.height == members.height
    assert yields.filter(pl.col("green") > 1.6 * pl.col("Bearing")).is_empty()
    assert yields.filter(pl.col("green") > 4_000 * pl.col("Area ha")).is_empty()


def test_copies_say_what_the_receipt_says(weighings: pl.DataFrame) -> None:
    receipt = ("Station", "Book", "Receipt")
    scale = weighings.group_by(receipt).agg(pl.col("Net kg").cast(pl.Decimal(14, 3)).sum())
    records = read(COMMITTED / "season", "deliveries_*.csv").join(scale, on=receipt)
    differ = (pl.col("Kg").cast(pl.Decimal(14, 3)) - pl.col("Net kg")).abs()
    copies = records.filter(pl.col("Written from") == "receipt copy")
    own = records.filter(pl.col("Written from") == "own notebook")
    assert copies.height > 100
    assert copies.filter(differ != 0).is_empty()
    assert own.filter(differ != 0).height > 100
    assert own.filter(differ.cast(pl.Float64) > 0.1 * pl.col("Net kg").cast(pl.Float64)).is_empty()


def test_each_planted_fault_is_where_the_list_says() -> None:
    expected = pl.read_csv(COMMITTED / "bad_week_expected.csv", infer_schema=False)
    assert expected["rule"].drop_nulls().n_unique() >= 12
    readme = (COMMITTED / "README.md").read_text(encoding="utf-8")
    for fault in expected.iter_rows(named=True):
        path = COMMITTED / fault["file"]
        row = fault["row"] or "whole sheet"
        assert f"| `{fault['file']}` | {row} | {fault['column'] or ''} |" in readme
        assert path.is_file()
        if fault["row"] is None:
            continue
        sheet = pl.read_csv(path, infer_schema=False)
        assert 2 <= int(fault["row"]) <= sheet.height + 1
        assert fault["column"] is None or fault["column"] in sheet.columns


def test_no_row_holds_two_planted_faults() -> None:
    expected = pl.read_csv(COMMITTED / "bad_week_expected.csv", infer_schema=False)
    rows = expected.filter(pl.col("row").is_not_null())
    assert rows.select(pl.struct("file", "row").is_duplicated().any()).item() is False


def test_the_photograph_is_a_picture_of_the_stated_size() -> None:
    content = (COMMITTED / "bad_week" / "photo_of_sheet.png").read_bytes()
    assert content.startswith(b"\x89PNG\r\n\x1a\n")
    assert len(content) < 10_000
