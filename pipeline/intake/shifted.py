"""Rows whose cells stand one column beside their headings: one reason for the run, not one a cell."""

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
TRIED_ROWS = 40
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

    `text`: the cells as typed; `orders`: by sheet_no, the columns from left to right as the sheet has
    them; `retype`: types rows of one sheet the way this sheet is read.
    """
    per_row = (
        typed.unreadable.filter(pl.col("col") != "beyond").group_by("sheet_no", "row_no").len()
    )
    bad = per_row.filter(pl.col("len") >= CELLS_NOT_READ)
    many = bad.group_by("sheet_no").len().filter(pl.col("len") >= SHORTEST_RUN)["sheet_no"]
    found: list[tuple[int, int, str]] = []
    for sheet_no in many.sort():
        sheet = text.filter(pl.col("sheet_no") == sheet_no).sort("row_no")
        rows = bad.filter(pl.col("sheet_no") == sheet_no).select("row_no")
        for run in _runs(sheet, rows):
            shift = _shift_of(run, orders.get(sheet_no) or [c.name for c in kind.columns], retype)
            if shift is not None:
                column, steps = shift
                why = reason(
                    "shifted", str(run["row_no"][0]), WORDS[steps], kind.column(column).title
                )
                found += [(sheet_no, row_no, why) for row_no in run["row_no"]]
    return _with_one_reason(kind, typed, found) if found else typed


def _runs(sheet: pl.DataFrame, bad: pl.DataFrame) -> list[pl.DataFrame]:
    """Return the runs of neighbouring rows that are all among the bad ones."""
    marked = sheet.with_columns(
        pl.col("row_no").is_in(bad["row_no"].implode()).alias("bad")
    ).with_columns(pl.col("bad").rle_id().alias("run"))
    runs = marked.filter("bad").partition_by("run", maintain_order=True)
    return [run.drop("bad", "run") for run in runs if run.height >= SHORTEST_RUN]


def _shift_of(run: pl.DataFrame, order: Sequence[str], retype: Retype) -> tuple[str, int] | None:
    """Return the column from which the run's cells are shifted, and by how much; None if by none.

    Where several columns would do, the last: what fewest cells moved explains.
    """
    sample = run.head(TRIED_ROWS)
    best: tuple[int, str, int] | None = None
    for steps in WORDS:
        for start, name in enumerate(order):
            unread = retype(_shifted_back(sample, order, start, steps)).unreadable
            mended = sample.height - unread["row_no"].n_unique()
            if mended * 10 >= sample.height * MENDED_IN_TEN and (best is None or mended >= best[0]):
                best = mended, name, steps
    return best and (best[1], best[2])


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
