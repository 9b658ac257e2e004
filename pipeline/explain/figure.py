"""What a figure is that can be followed home."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One kind of figure.

    `name`: its code after season and member, with `*` for what varies. `query`: the SQL in
    `explain/sql/` that gives its rows, each with `amount` in `rows_in`; they add up to it where
    `adds_up`. `parts`: other figures it is made of, with their sign. `unit`: "kg", "money" or a
    unit as text, where "money" stands for the currency. `value`: the query that gives it, and the
    column where that is not `value`.
    """

    name: str
    title: str
    unit: str
    formula: str
    value: str
    query: str = ""
    parts: tuple[tuple[str, str], ...] = ()
    adds_up: bool = True
    rows_in: str = ""
    group: bool = False

    @property
    def rows_unit(self) -> str:
        """What its rows' amounts are counted in."""
        return self.rows_in or (self.unit if self.adds_up else "count")
