"""The faults of the bad week: which slips are planted in which sheets."""

import polars as pl

from pipeline.samples.bad_sheets import corrected_sheet, recount, whole_sheets
from pipeline.samples.draws import Draws
from pipeline.samples.faults import FIRST_ROW, BadWeek, Row, kg, printed, swapped


def bad_week(
    *,
    seed: int,
    honest: dict[str, pl.DataFrame],
    earlier: dict[str, pl.DataFrame],
    plots: pl.DataFrame,
    weighed: pl.DataFrame,
    kept_records: set[str],
    week: str,
    earlier_week: str,
) -> BadWeek:
    """Plant the faults in the sheets of an honest week.

    Args:
        seed: the season's seed.
        honest: the week's sheets as text, by file name.
        earlier: the sheets of an earlier week, one of which comes again, corrected.
        plots: the plots sheet as text, from which a recount is made.
        weighed: the season's weighings.
        kept_records: numbers of the members who write deliveries down themselves.
        week: name of the week, as 2026-W40.
        earlier_week: name of the earlier week.
    """
    bad = BadWeek(
        draws=Draws(seed, "faults"),
        week=week,
        kept_records=kept_records,
        sheets={name: sheet.to_dicts() for name, sheet in honest.items()},
    )
    _weights(bad)
    _codes_and_days(bad)
    _moisture(bad)
    _members_records(bad, weighed)
    _payments(bad)
    recount(bad, plots, weighed)
    whole_sheets(bad)
    corrected_sheet(bad, earlier, earlier_week)
    return bad


def _weights(bad: BadWeek) -> None:
    kes, ard, mun, par = (f"weighings_{s}_{bad.week}.csv" for s in ("KES", "ARD", "MUN", "PAR"))
    bad.plant(
        kes,
        "Tare kg",
        "tare-not-below-gross",
        "sent_back",
        "tare {after} for {before}: more than the gross weight",
        lambda row: {"Tare kg": printed(kg(row["Gross kg"]) + 76)},
    )
    bad.plant(
        par,
        "Net kg",
        "net-not-gross-less-tare",
        "held",
        "net {after} for {before}: the tare was not taken off",
        lambda row: {"Net kg": row["Gross kg"]},
    )
    bad.plant(
        ard,
        "Gross kg",
        "off-scale-interval",
        "held",
        "gross {after} for {before}: the scale shows steps of 0.2 kg",
        lambda row: {
            "Gross kg": printed(kg(row["Gross kg"]) + 1),
            "Net kg": printed(kg(row["Net kg"]) + 1),
        },
    )
    bad.plant(
        mun,
        "Gross kg",
        "below-smallest-load",
        "noted",
        "gross {after}: below 2.0 kg, twenty intervals of the scale",
        lambda row: {"Bags": "1", "Gross kg": "1.4", "Tare kg": "0.2", "Net kg": "1.2"},
    )
    bad.plant(
        mun,
        "Gross kg",
        "above-scale-capacity",
        "held",
        "gross {after} for {before}: the decimal point was lost, the scale ends at 150 kg",
        lambda row: {
            "Gross kg": printed(kg(row["Gross kg"]) * 10),
            "Net kg": printed(kg(row["Gross kg"]) * 10 - kg(row["Tare kg"])),
        },
        lambda row: kg(row["Gross kg"]) > 300,
    )
    bad.plant(
        par,
        "Gross kg",
        "unreadable-cell",
        "sent_back",
        "gross {after} for {before}: not a number",
        lambda row: {"Gross kg": "12.5.3"},
    )


def _codes_and_days(bad: BadWeek) -> None:
    kes, ard, mun, par = (f"weighings_{s}_{bad.week}.csv" for s in ("KES", "ARD", "MUN", "PAR"))
    year = f"{bad.week[:4]}-"
    slips = (
        (par, "Member", "unknown-member", "held", "number {after} for {before}", swapped),
        (kes, "Date", "outside-season", "sent_back", "{after}: the year before", "2025-"),
        (mun, "Date", "in-the-future", "sent_back", "{after}: year 2062 for 2026", "2062-"),
        (kes, "Station", "unknown-station", "sent_back", "station {after} for {before}", "KEZ"),
        (kes, "Scale", "unknown-scale", "sent_back", "scale {after} is not declared", "KES-9"),
        (ard, "Grade", "no-price", "held", "grade {after} for {before}: no price is set", "3"),
        (kes, "Form", "missing-cell", "sent_back", "form left empty", None),
    )
    for file, column, rule, outcome, wrong, value in slips:

        def change(row: Row, column: str = column, value: object = value) -> Row:
            if value is swapped:
                return {column: swapped(row[column])}
            if column == "Date":
                return {column: (row[column] or "").replace(year, str(value))}
            return {column: None if value is None else str(value)}

        bad.plant(file, column, rule, outcome, wrong, change)
    place = bad.free_row(par, lambda row: True)
    bad.append(
        par,
        dict(bad.sheets[par][place]),
        "Receipt",
        "receipt-line-twice",
        "sent_back",
        f"the same receipt line as row {place + FIRST_ROW}",
    )


def _moisture(bad: BadWeek) -> None:
    ard = f"weighings_ARD_{bad.week}.csv"
    parchment = next(
        name
        for name, rows in bad.sheets.items()
        if name.startswith("weighings")
        and any(r["Form"] == "parchment" and r["Member"] not in bad.kept_records for r in rows)
    )
    slips = (
        (parchment, "parchment", "moisture-impossible", "sent_back", "41.0", "a slip for 11.4"),
        (ard, "dry cherry", "moisture-impossible", "sent_back", "118", "the point was lost"),
        (ard, "dry cherry", "moisture-unsafe", "noted", "15.4", "too damp to store"),
        (ard, "dry cherry", "moisture-missing", "noted", None, "a dry form without a reading"),
    )
    for file, form, rule, outcome, value, wrong in slips:

        def change(row: Row, value: str | None = value) -> Row:
            return {"Moisture %": value}

        def suits(row: Row, form: str = form) -> bool:
            return row["Form"] == form

        text = f"moisture {value}: {wrong}" if value else f"moisture left empty: {wrong}"
        bad.plant(file, "Moisture %", rule, outcome, text, change, suits)


def _members_records(bad: BadWeek, weighed: pl.DataFrame) -> None:
    file = f"deliveries_KES_{bad.week}.csv"
    scale = dict[tuple[str, str], int]()
    for member, day, net in weighed.select(
        pl.col("member_no").cast(pl.String), pl.col("day").cast(pl.String), "net_kg"
    ).iter_rows():
        scale[member, day] = scale.get((member, day), 0) + net

    def change(row: Row) -> Row:
        shown = scale[row["Member"] or "", row["Date"] or ""]
        return {"Kg": printed(5 * round(shown * 12 / 50))}

    bad.plant(
        file,
        "Kg",
        "record-differs",
        "noted",
        "{after} kg for {before} in the member's own notebook: a fifth above the scale",
        change,
        lambda row: row["Written from"] == "own notebook",
    )


def _payments(bad: BadWeek) -> None:
    file = f"payments_{bad.week}.csv"
    bad.plant(
        file,
        "Amount",
        "impossible-value",
        "sent_back",
        "amount {after} for {before}",
        lambda row: {"Amount": f"-{row['Amount']}"},
    )
    bad.plant(
        file,
        "Member",
        "unknown-member",
        "held",
        "number {after} for {before}",
        lambda row: {"Member": swapped(row["Member"])},
    )
    place = bad.free_row(file, lambda row: True)
    bad.append(
        file,
        dict(bad.sheets[file][place]),
        "Payment",
        "payment-twice",
        "sent_back",
        f"the same payment as row {place + FIRST_ROW}",
    )
