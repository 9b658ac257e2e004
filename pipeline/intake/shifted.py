"""Rows whose cells stand one column beside their headings: one reason for the run, not one a
cell.
"""

from collections.abc import Callable, Mapping, Sequence

import polars as pl

from pipeline.intake.cells import TypedRows
from pipeline.intake.kinds import Kind
from pipeline.intake.reasons import reason

# A run of this many rows, each with as many cells not read, is looked at.
SHORTEST_RUN = 3
CELLS_NOT_READ = 2
# Of the run's rows, as many in ten must be without fault once shifted back.
MENDED_IN_TEN = 9
TRIED_ROWS = 10
WORDS = {
    1: "one column to the right of their headings",
    -1: "one column to the left of their headings",
}

Retype = Callable[[pl.DataFrame], TypedRows]


def mark_shifted(
    kind: Kind,
    text: pl.DataFrame,
    typed: TypedRows,
    orders: Mapping[int, Sequence[str]],
    retype: Retype,
) -> TypedRows:
    """Give each row of a shifted run one reason in place of those of its cells.

    `text`: the cells as typed; `orders`: by sheet_no, the columns from left to right as the sheet
    has
    them; `retype`: types rows of one sheet the way this sheet is read.
    """
    per_row = (
        typed.unreadable.filter(pl.col("col") != "beyond").group_by("sheet_no", "row_no").len()
    )
    bad = per_row.filter(pl.col("len") >= CELLS_NOT_READ).select("sheet_no", "row_no")
    many = bad.group_by("sheet_no").len().filter(pl.col("len") >= SHORTEST_RUN)["sheet_no"]
    if not many.len():
        return typed
    runs = _runs(text.filter(pl.col("sheet_no").is_in(many.implode())), bad)
    usual = tuple(column.name for column in kind.columns)
    by_order: dict[tuple[str, ...], list[int]] = {}
    for sheet_no in many:
        by_order.setdefault(tuple(orders.get(sheet_no, usual)), []).append(sheet_no)
    found: list[tuple[int, int, str]] = []
    for order, sheets in by_order.items():
        own = runs.filter(pl.col("sheet_no").is_in(sheets))
        for run, (column, steps) in _shifts(own, order, retype).items():
            rows = own.filter(pl.col("run") == run)
            first = str(rows["row_no"][0])
            why = reason("shifted", first, WORDS[steps], kind.column(column).title)
            found += [
                (sheet_no, row_no, why) for sheet_no, row_no in rows["sheet_no", "row_no"].rows()
            ]
    return _with_one_reason(kind, typed, found) if found else typed


def _runs(text: pl.DataFrame, bad: pl.DataFrame) -> pl.DataFrame:
    """Return the rows that are in long enough runs of bad ones of one sheet, each with its
    `run`.
    """
    marked = text.sort("sheet_no", "row_no").join(
        bad.with_columns(pl.lit(True).alias("bad")),
        on=["sheet_no", "row_no"],
        how="left",
        maintain_order="left",
    )
    numbered = marked.with_columns(pl.struct("sheet_no", "bad").rle_id().alias("run"))
    return numbered.filter(
        pl.col("bad").is_not_null() & (pl.len().over("run") >= SHORTEST_RUN)
    ).drop("bad")


def _shifts(runs: pl.DataFrame, order: Sequence[str], retype: Retype) -> dict[int, tuple[str, int]]:
    """Return by run the column from which its cells are shifted, and by how much.

    Where several columns would do, the last: what fewest cells moved explains. The first rows of a
    run speak for it, and all runs are tried at once.
    """
    sample = runs.filter(pl.int_range(pl.len()).over("run") < TRIED_ROWS)
    sizes = dict(sample.group_by("run").len().rows())
    best: dict[int, tuple[int, str, int]] = {}
    place = sample.select("sheet_no", "row_no", "run")
    for steps in WORDS:
        for start, name in enumerate(order):
            moved = _shifted_back(sample.drop("run"), order, start, steps)
            unread = retype(moved).unreadable
            if steps < 0:
                # The cell that was left out is missing still.
                unread = unread.filter(pl.col("col") != name)
            unread = unread.select("sheet_no", "row_no").unique()
            mended = place.join(unread, on=["sheet_no", "row_no"], how="anti").group_by("run").len()
            for run, count in mended.iter_rows():
                enough = count * 10 >= sizes[run] * MENDED_IN_TEN
                if enough and count >= best.get(run, (0,))[0]:
                    best[run] = count, name, steps
    return {run: (name, steps) for run, (_, name, steps) in sorted(best.items())}


def _shifted_back(run: pl.DataFrame, order: Sequence[str], start: int, steps: int) -> pl.DataFrame:
    """Return the run with its cells from column `start` on moved back under their headings."""
    last = len(order) - 1
    moved: dict[str, pl.Expr] = {}
    for place in range(start, len(order)):
        source = place + steps
        if source < start:
            # To the left means that this column's own cell is the one that was left out.
            moved[order[place]] = pl.lit(None, pl.String)
        else:
            moved[order[place]] = pl.col(order[source]) if source <= last else pl.col("beyond")
    if steps > 0:
        moved["beyond"] = pl.lit(None, pl.String)
    return run.with_columns(**moved)


def _with_one_reason(kind: Kind, typed: TypedRows, found: list[tuple[int, int, str]]) -> TypedRows:
    # No column is named: mending one cell must not make the row count with all its others wrong.
    schema = {"sheet_no": pl.Int32, "row_no": pl.Int32, "reason": pl.String}
    rows = pl.DataFrame(found, schema=schema, orient="row")
    one = rows.select(
        pl.lit(kind.name).alias("kind"),
        "sheet_no",
        "row_no",
        pl.lit("").alias("col"),
        pl.lit(None, pl.String).alias("value"),
        "reason",
    )
    others = typed.unreadable.join(rows, on=["sheet_no", "row_no"], how="anti")
    return TypedRows(typed.rows, pl.concat([others, one]), typed.forms)
