"""The bad week's recount of plots, its unreadable sheets, and a sheet that comes again."""

import polars as pl

from pipeline.samples.faults import FIRST_ROW, BadWeek, Row, kg, printed
from pipeline.samples.photo import sheet_photo

COUNTED = "2026-09-29"


def recount(bad: BadWeek, plots: pl.DataFrame, weighed: pl.DataFrame) -> None:
    """Recount some plots: eight honestly, the others with a slip each."""
    file = f"plots_{bad.week}.csv"
    sole = plots.filter(pl.len().over("Member") == 1)
    tonnes = (
        weighed.filter(pl.col("form") == "fresh_cherry")
        .group_by("member_no")
        .agg(pl.col("net_kg").sum())
    )
    heaviest = (
        tonnes.with_columns(pl.col("member_no").cast(pl.String))
        .join(sole, left_on="member_no", right_on="Member")
        .sort("net_kg", "member_no", descending=True)["member_no"][0]
    )
    rest = sole.filter((pl.col("Member") != heaviest) & pl.col("Stumped").is_null())
    arabica, robusta = (rest.filter(pl.col("Species") == s) for s in ("arabica", "robusta"))
    counted = pl.concat(
        [arabica.head(9), robusta.head(2), sole.filter(pl.col("Member") == heaviest)]
    ).with_columns(pl.lit(COUNTED).alias("Counted on"))
    bad.sheets[file] = counted.to_dicts()
    bad.plant(
        file,
        "Trees",
        "yield-above-ceiling",
        "noted",
        "{after} trees for {before}, on 0.02 ha: far too few for what the member delivered",
        lambda row: _spaced(row, "2.5", "2.0", "0.02", "40", "40"),
        lambda row: row["Member"] == heaviest,
    )
    bad.plant(
        file,
        "Trees",
        "trees-over-land",
        "held",
        "{after} trees on 0.20 ha at 2.5 x 2.5 m, which holds 320",
        lambda row: _spaced(row, "2.5", "2.5", "0.20", "1400", "1350"),
        lambda row: row["Species"] == "arabica",
    )
    bad.plant(
        file,
        "Planted",
        "planted-in-future",
        "sent_back",
        "planted in {after} for {before}",
        lambda row: {"Planted": "2091"},
        lambda row: row["Species"] == "arabica",
    )
    bad.plant(
        file,
        "Trees",
        "density-off-species",
        "noted",
        "{after} robusta trees on 0.20 ha: 4 300 a hectare, about three times the usual",
        lambda row: _spaced(row, "1.5", "1.5", "0.20", "860", "850"),
        lambda row: row["Species"] == "robusta",
    )


def _spaced(row: Row, apart: str, within: str, area: str, trees: str, bearing: str) -> Row:
    return {
        "Row spacing m": apart,
        "Tree spacing m": within,
        "Layout": "rectangular",
        "Area ha": area,
        "Trees": trees,
        "Bearing": bearing,
    }


def whole_sheets(bad: BadWeek) -> None:
    """Add sheets that cannot be read as they are: no column, no known kind, no rows, a picture."""
    lacking = f"deliveries_MUN_{bad.week}.csv"
    for row in bad.sheets[lacking]:
        del row["Kg"]
    bad.note(lacking, None, "Kg", "", "sent_back", "the column of the weights is missing")
    unknown = f"attendance_{bad.week}.csv"
    bad.sheets[unknown] = [
        {"Meeting": "Pruning day", "Hall": "Kessim store", "Present": person, "Signed": "yes"}
        for person in ("Asha Doreme", "Oŋa Velu", "Felé Tarlé")
    ]
    bad.note(unknown, None, "", "", "sent_back", "no kind of sheet has these headings")
    empty = f"farm_record_PAR_{bad.week}.csv"
    bad.other[empty] = b""
    bad.note(empty, None, "", "", "sent_back", "an empty file")
    bad.other["photo_of_sheet.png"] = sheet_photo()
    bad.note("photo_of_sheet.png", None, "", "", "to_be_typed", "a photograph of a paper sheet")


def corrected_sheet(bad: BadWeek, earlier: dict[str, pl.DataFrame], week: str) -> None:
    """Add a later version of a sheet: one weight corrected, one line new, one line gone."""
    original = f"weighings_ARD_{week}.csv"
    file = f"weighings_ARD_{week}_corrected.csv"
    rows: list[Row] = earlier[original].to_dicts()
    path = f"season/{week}/{original}"
    silent = [p for p, row in enumerate(rows) if row["Member"] not in bad.kept_records]
    # The last lines of their receipts, so that one more line can follow.
    ends = [p for p in silent if p + 1 == len(rows) or rows[p + 1]["Line"] == "1"]
    changed, gone, before_new = silent[0], silent[len(silent) // 2], ends[-1]
    if len({changed, gone, before_new}) < 3:
        raise ValueError(f"{original}: too few rows to correct. Draw more members.")
    added = dict(rows[before_new])
    added["Line"] = str(int(added["Line"] or "") + 1)
    row = rows[changed]
    before = row["Gross kg"]
    row["Gross kg"], row["Net kg"] = (printed(kg(row[c]) + 20) for c in ("Gross kg", "Net kg"))
    text = f"a weight was corrected in the later version: {row['Gross kg']} for {before}"
    bad.note(path, changed + FIRST_ROW, "Gross kg", "", "replaced", text)
    text = "missing from the later version: stays counted until somebody decides"
    bad.note(path, gone + FIRST_ROW, "", "", "counted", text)
    bad.sheets[file] = [*(row for place, row in enumerate(rows) if place != gone), added]
    text = f"a later version of {original}: this weight takes the place of {before}"
    bad.note(file, changed + FIRST_ROW, "Gross kg", "", "counted", text)
    new = len(bad.sheets[file]) - 1 + FIRST_ROW
    bad.note(file, new, "", "", "counted", "a line that the first version had left out")
