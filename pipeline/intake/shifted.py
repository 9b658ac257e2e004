"""Rows whose cells stand one column beside their headings: one reason for the run, not one a
cell.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import numpy.typing as npt
import polars as pl

from pipeline.intake.cells import TypedRows
from pipeline.intake.kinds import Kind
from pipeline.intake.reasons import reason
from pipeline.intake.whole_rows import WholeRow, with_one_reason

# A row with as many cells not read may be shifted, and a run of such rows with as many in all.
CELLS_NOT_READ = 2
RUN_NOT_READ = 4
# Of the run's rows, as many in ten must be without fault once shifted back.
MENDED_IN_TEN = 9
TRIED_ROWS = 10
WORDS = {
    1: "one column to the right of their headings",
    -1: "one column to the left of their headings",
}

Retype = Callable[[pl.DataFrame], TypedRows]
Flags = npt.NDArray[np.bool_]


def mark_shifted(
    kind: Kind,
    text: pl.DataFrame,
    typed: TypedRows,
    orders: Mapping[int, Sequence[str]],
    retype: Retype,
) -> TypedRows:
    """Give each row of a shifted run one reason in place of those of its cells.

    `text`: the cells as typed; `orders`: by sheet_no, the columns from left to right as the sheet
    has them; `retype`: types rows of one sheet the way this sheet is read.
    """
    runs = _runs(text, typed)
    if not runs.height:
        return typed
    usual = tuple(column.name for column in kind.columns)
    by_order: dict[tuple[str, ...], list[int]] = {}
    for sheet_no in runs["sheet_no"].unique().sort():
        by_order.setdefault(tuple(orders.get(sheet_no, usual)), []).append(sheet_no)
    found: list[WholeRow] = []
    for order, sheets in by_order.items():
        own = runs.filter(pl.col("sheet_no").is_in(sheets))
        by_run = own.partition_by("run", as_dict=True)
        for run, (place, steps) in _shifts(own, order, typed, retype).items():
            rows = by_run[(run,)]
            title = kind.column(order[place]).title
            why = reason("shifted", str(rows["row_no"][0]), WORDS[steps], title)
            found += [
                WholeRow(sheet_no, row_no, why, None, frozenset(order[place:]))
                for sheet_no, row_no in rows["sheet_no", "row_no"].rows()
            ]
    return with_one_reason(kind, typed, found)


def _runs(text: pl.DataFrame, typed: TypedRows) -> pl.DataFrame:
    """Return the rows in runs with enough cells not read, each with its `run`."""
    nothing = text.clear().with_columns(pl.lit(0, pl.UInt32).alias("run"))
    per_row = (
        typed.unreadable.filter(~pl.col("col").is_in(["beyond", ""]))
        .group_by("sheet_no", "row_no")
        .len("unread")
        .filter(pl.col("unread") >= CELLS_NOT_READ)
    )
    if not per_row.height:
        return nothing
    marked = (
        text.filter(pl.col("sheet_no").is_in(per_row["sheet_no"].unique().implode()))
        .sort("sheet_no", "row_no")
        .join(per_row, on=["sheet_no", "row_no"], how="left", maintain_order="left")
    )
    is_bad = pl.col("unread").is_not_null()
    numbered = marked.with_columns(pl.struct("sheet_no", is_bad.alias("bad")).rle_id().alias("run"))
    enough = pl.col("unread").sum().over("run") >= RUN_NOT_READ
    return numbered.filter(is_bad & enough).drop("unread")


def _shifts(
    runs: pl.DataFrame, order: Sequence[str], typed: TypedRows, retype: Retype
) -> dict[int, tuple[int, int]]:
    """Return by run the place from which its cells are shifted, and by how much.

    Where several places would do, the last: what fewest cells moved explains. The first rows of a
    run speak for it. All of them are typed once a direction with every cell moved; what a shift
    from some place on mends is then what is read unmoved before it and moved behind it.
    """
    sample = runs.filter(pl.int_range(pl.len()).over("run") < TRIED_ROWS)
    # Rows of a run stand together: each begins where the one before it ends.
    sizes = sample.group_by("run", maintain_order=True).len()
    heights = sizes["len"].to_numpy().astype(np.int64)
    begins = np.cumsum(heights) - heights
    unmoved = _unread(sample, order, typed.unreadable)
    best: dict[int, tuple[int, int, int]] = {}
    for steps in WORDS:
        whole = _moved(sample, order, steps)
        moved = _unread(sample, order, retype(whole.drop("run")).unreadable)
        mended = _mended(unmoved, moved, left_out=steps < 0)
        if steps < 0:
            # A last cell that is filled would be pushed out to where no heading is.
            filled = pl.any_horizontal(pl.col(order[-1], "beyond").is_not_null())
            mended &= ~sample.select(filled).to_series().to_numpy()[:, None]
        counts = np.add.reduceat(mended, begins, axis=0, dtype=np.int64)
        places = len(order) - 1 - np.argmax(counts[:, ::-1], axis=1)
        for run, height, place, of_run in zip(
            sizes["run"], heights, places.tolist(), counts.tolist(), strict=True
        ):
            count = of_run[place]
            if count * 10 >= height * MENDED_IN_TEN and count >= best.get(run, (1,))[0]:
                best[run] = count, place, steps
    return {run: (place, steps) for run, (_, place, steps) in sorted(best.items())}


def _moved(rows: pl.DataFrame, order: Sequence[str], steps: int) -> pl.DataFrame:
    """Return rows with every cell moved back by a step."""
    names = [*order, "beyond"] if steps > 0 else ["", *order]
    sources = names[1:] if steps > 0 else names[:-1]
    cells = [pl.col(source) if source else pl.lit(None, pl.String) for source in sources]
    return rows.with_columns(
        *(cell.alias(name) for cell, name in zip(cells, order, strict=True)),
        pl.lit(None, pl.String).alias("beyond"),
    )


def _unread(rows: pl.DataFrame, order: Sequence[str], unreadable: pl.DataFrame) -> Flags:
    """Return by row and place whether the cell there was not read."""
    found = np.zeros((rows.height, len(order)), dtype=np.bool_)
    places = pl.DataFrame({"col": list(order), "place": range(len(order))})
    numbered = rows.select("sheet_no", "row_no").with_row_index("at")
    hits = unreadable.join(numbered, on=["sheet_no", "row_no"]).join(places, on="col")
    found[hits["at"].to_numpy(), hits["place"].to_numpy()] = True
    return found


def _mended(unmoved: Flags, moved: Flags, *, left_out: bool) -> Flags:
    """Return by row and place whether all cells are read once those from there on are moved.

    `left_out`: the cell at the very place is the one that was left out, and is missing still.
    """
    before = np.cumsum(unmoved, axis=1) - unmoved
    behind = np.cumsum(moved[:, ::-1], axis=1)[:, ::-1]
    behind = behind - moved if left_out else behind
    return (before == 0) & (behind == 0)
