"""A week of honest sheets in which known faults are planted, one a row."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import polars as pl

from pipeline.samples.draws import Draws

Row = dict[str, str | None]
FIRST_ROW = 2  # As a spreadsheet shows it: the headings are row 1.


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One planted fault; `row` and `rule` are empty where a whole sheet is at fault."""

    file: str
    row: int | None
    column: str
    rule: str
    outcome: str
    wrong: str


@dataclass(slots=True, kw_only=True)
class BadWeek:
    """The week's sheets as rows of text, the faults planted so far, and the rows they took."""

    draws: Draws
    week: str
    kept_records: set[str]
    sheets: dict[str, list[Row]]
    other: dict[str, bytes] = field(default_factory=dict[str, bytes])
    faults: list[Fault] = field(default_factory=list[Fault])
    taken: set[tuple[str, int]] = field(default_factory=set[tuple[str, int]])

    def free_row(self, file: str, suits: Callable[[Row], bool]) -> int:
        """Take a row that suits and has no fault yet; a member who keeps no record is preferred.

        Where a member's own record stands against the scale, a slip in the weight would also
        make the two differ: then one row would show two faults.
        """
        rows = self.sheets[file]
        free = [
            place
            for place, row in enumerate(rows)
            if (file, place) not in self.taken and suits(row)
        ]
        if file.startswith("weighings"):
            free = [place for place in free if rows[place]["Member"] not in self.kept_records]
        if not free:
            raise ValueError(
                f"{file}: no row is left to plant a fault in. Draw more members or another seed."
            )
        place = free[int(self.draws.whole(0, len(free) - 1, 1)[0])]
        self.taken.add((file, place))
        return place

    def plant(
        self,
        file: str,
        column: str,
        rule: str,
        outcome: str,
        wrong: str,
        change: Callable[[Row], Row],
        suits: Callable[[Row], bool] = lambda row: True,
    ) -> None:
        """Change a free row that suits; `wrong` may name {before} and {after} of the cell."""
        place = self.free_row(file, suits)
        row = self.sheets[file][place]
        before = row[column]
        row.update(change(dict(row)))
        text = wrong.format(before=before, after=row[column])
        self.note(file, place + FIRST_ROW, column, rule, outcome, text)

    def append(self, file: str, row: Row, column: str, rule: str, outcome: str, wrong: str) -> None:
        """Add a row below the others, and note it as a fault."""
        self.sheets[file].append(row)
        place = len(self.sheets[file]) - 1
        self.taken.add((file, place))
        self.note(file, place + FIRST_ROW, column, rule, outcome, wrong)

    def note(
        self, file: str, row: int | None, column: str, rule: str, outcome: str, wrong: str
    ) -> None:
        """Add an entry to the list of faults; a file without a folder lies in the bad week."""
        path = file if "/" in file else f"bad_week/{file}"
        self.faults.append(
            Fault(file=path, row=row, column=column, rule=rule, outcome=outcome, wrong=wrong)
        )


def kg(text: str | None) -> int:
    """Return a printed weight in steps of 0.1 kg: "61.2" -> 612."""
    return int((text or "").replace(".", ""))


def printed(hectograms: int) -> str:
    """Return steps of 0.1 kg as printed: 612 -> "61.2"."""
    return f"{hectograms // 10}.{hectograms % 10}"


def swapped(number: str | None) -> str:
    """Return a number with two neighbouring digits swapped, which the check digit catches."""
    digits = list(number or "")
    place = next(p for p in range(1, len(digits) - 1) if digits[p] != digits[p + 1])
    digits[place], digits[place + 1] = digits[place + 1], digits[place]
    return "".join(digits)


def write(out: Path, bad: BadWeek) -> None:
    """Write the bad week, the list of what it must get, and the README that shows both."""
    folder = out / "bad_week"
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in bad.sheets.items():
        pl.DataFrame(rows, infer_schema_length=None).write_csv(folder / name)
    for name, content in bad.other.items():
        (folder / name).write_bytes(content)
    ordered = sorted(bad.faults, key=lambda fault: (fault.file, fault.row or 0))
    columns = ("file", "row", "column", "rule", "outcome")
    expected = pl.DataFrame(
        [{name: getattr(fault, name) for name in columns} for fault in ordered],
        schema={name: pl.Int64 if name == "row" else pl.String for name in columns},
    )
    # An empty text is written as an empty cell, not as two quotes.
    expected.with_columns(pl.col(pl.String).replace("", None)).write_csv(
        out / "bad_week_expected.csv"
    )
    table = [
        f"| `{fault.file}` | {fault.row or 'whole sheet'} | {fault.column} | {fault.wrong} "
        f"| {fault.rule and f'`{fault.rule}`'} | {fault.outcome.replace('_', ' ')} |"
        for fault in ordered
    ]
    template = (Path(__file__).parent / "sample_readme.md").read_text(encoding="utf-8")
    text = template.replace("{faults}", "\n".join(table)).replace("{week}", bad.week)
    (out / "README.md").write_text(text, encoding="utf-8", newline="\n")
