"""Tells where one figure comes from, in a season file that is open.

A figure that is made of others needs no sheet: what reads sheets and compares groups loads late.
"""

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any

import duckdb

from pipeline.errors import FigureError
from pipeline.explain.figure import Figure
from pipeline.explain.figures import find, names
from pipeline.explain.words import Speech
from pipeline.intake.found import Cells
from pipeline.intake.kinds import kinds
from pipeline.intake.units import measured
from pipeline.money import money_text
from pipeline.season.tables import dicts
from pipeline.settings import Settings
from pipeline.yields.said import MARGIN_HELD

# Gives a kept sheet's cells by its hash and part, or None where it cannot be read now.
ReadSheet = Callable[[str, str], Cells | None]
SELDOM = ("premium", "second", "other")


@cache
def explain_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("pipeline.explain").joinpath(f"sql/{name}.sql").read_text("utf-8")


def code_parts(code: str) -> tuple[str, str, str]:
    """Return season, member or group, and name of a figure's code; FigureError where it is none."""
    season, slash, rest = code.strip().strip("/").partition("/")
    if not slash:
        raise FigureError(
            f"{code!r} is no code of a figure. A code is season/member/name or season/group/name, "
            "such as 2026/10427/balance: statements and reports print it beside each figure."
        )
    who, _, name = rest.partition("/")
    return season, who, name


def explain_in(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    read: ReadSheet,
    code: str,
    *,
    most: int | None = None,
    language: str = "en",
) -> dict[str, Any]:
    """Return the same as `why.explain_figure`, from a season file that is open with its macros.

    `read` gives a kept sheet's cells by hash and part, or None where it cannot be read now. `most`:
    rows beyond this number are left out and counted in `more`. Figures of the group are told in
    English alone.
    """
    season, who, name = code_parts(code)
    compared: Sequence[str] = ()
    if who == "group":
        from pipeline.explain.groups import GROUPED, explain_group

        compared = GROUPED
        grouped = explain_group(con, settings, season, name)
        if grouped is not None:
            return grouped
    found = find(name, group=who == "group")
    if found is None:
        listed = ", ".join([*names(group=who == "group"), *compared])
        raise FigureError(
            f"There is no figure {code!r}. A code is season/member/name or season/group/name; "
            f"the names are: {listed}."
        )
    figure, stars = found
    speech = Speech(language=language, settings=settings)
    return _Explained(con, speech, read, season, who).figure(figure, name, stars, most)


def named(name: str, who: str) -> Figure:
    """Return the figure of a name that there is, of a member or the group."""
    found = find(name, group=who == "group")
    assert found is not None
    return found[0]


class _Explained:
    """One season file, opened to explain figures of one member or the group."""

    def __init__(
        self,
        con: duckdb.DuckDBPyConnection,
        speech: Speech,
        read: ReadSheet,
        season: str,
        who: str,
    ) -> None:
        self.con = con
        self.speech = speech
        self.settings = speech.settings
        self.read_sheet = read
        self.season = season
        self.who = who
        self.sheets: dict[int, tuple[str, str, Cells | None]] = {}
        self.decided: dict[tuple[str, int, int], list[dict[str, Any]]] = {}
        # Figures are asked for as themselves, as parts, and as what they lack.
        self.found: dict[tuple[str, tuple[str, ...]], list[dict[str, Any]]] = {}

    def figure(
        self, figure: Figure, name: str, stars: tuple[str, ...], most: int | None
    ) -> dict[str, Any]:
        value = self._value(figure, stars)
        if value is None:
            raise FigureError(
                f"There is no {self.season}/{self.who}/{name}: {self._why_none(figure, stars)}."
            )
        # What most members have none of is a part only where there is some.
        parts = [
            self._part(sign, part)
            for sign, part in figure.parts
            if part not in SELDOM or self._value(named(part, self.who), ())
        ]
        found = self._query(figure.query, stars) if figure.query else []
        lines = list(self._rows(figure, stars, found[:most]))
        return {
            "figure": f"{self.season}/{self.who}/{name}",
            "title": self.speech.title(figure),
            "value": self._text(value, figure.unit),
            "plain": self._plain(value, figure.unit),
            "unit": self.speech.unit(figure.unit),
            "is": self.speech.said("is"),
            "formula": self.speech.formula(figure),
            "parts": parts,
            "rows": lines,
            "prices": self._prices(lines),
            "more": len(found) - len(lines),
        }

    def _params(self, text: str, stars: tuple[str, ...]) -> dict[str, Any]:
        every = {
            "member": self.who,
            "one": stars[0] if stars else None,
            "two": stars[1] if len(stars) > 1 else None,
            "three": stars[2] if len(stars) > 2 else None,
        }
        return {key: value for key, value in every.items() if f"${key}" in text}

    def _query(self, name: str, stars: tuple[str, ...]) -> list[dict[str, Any]]:
        if (name, stars) not in self.found:
            text = explain_sql(name)
            self.found[name, stars] = dicts(self.con, text, self._params(text, stars))
        return self.found[name, stars]

    def _value(self, figure: Figure, stars: tuple[str, ...]) -> Any:
        query, _, column = figure.value.partition(".")
        found = self._query(f"value_{query}", stars)
        return found[0][column or "value"] if found else None

    def _why_none(self, figure: Figure, stars: tuple[str, ...]) -> str:
        query, _, column = figure.value.partition(".")
        found = self._query(f"value_{query}", stars) if column else []
        if found and found[0]["held"]:
            return MARGIN_HELD[found[0]["held"]]
        return "nothing was counted or written down for it, or no member has that number"

    def _part(self, sign: str, name: str) -> dict[str, Any]:
        figure = named(name, self.who)
        return {
            "sign": sign,
            "figure": f"{self.season}/{self.who}/{name}",
            "title": self.speech.title(figure),
            "value": self._text(self._value(figure, ()), figure.unit),
        }

    def _text(self, value: Any, unit: str) -> str:
        plain = self._plain(value, unit)
        return self.speech.amount(plain) if plain else self.speech.said("none")

    def _plain(self, value: Any, unit: str) -> str:
        """Return a value with a point before its decimals; "" for none."""
        if value is None or isinstance(value, str):
            return value or ""
        if unit == "money":
            return money_text(int(value), self.settings.decimals)
        return f"{Decimal(value):,f}"

    def _rows(
        self, figure: Figure, stars: tuple[str, ...], found: list[dict[str, Any]]
    ) -> Iterator[dict[str, Any]]:
        if found and "sheet_no" in found[0]:
            self._meet({row["sheet_no"] for row in found})
        for row in found:
            amount = self._text(row["amount"], figure.rows_unit)
            if "sheet_no" not in row:
                own = "/".join((figure.name.split("/")[0], *stars))
                yield {"figure": f"{self.season}/{row['member_no']}/{own}", "amount": amount}
                continue
            sheet, heading, cell = self._cell(
                row["kind"], row["sheet_no"], row["row_no"], row["col"]
            )
            yield {
                "sheet": sheet,
                "row": row["row_no"],
                "column": heading,
                "cell": cell,
                "amount": amount,
                "says": self.speech.row(row["says"]),
                "price_at": (row.get("price_sheet_no"), row.get("price_row_no")),
                "decisions": (
                    found := self.decided.get((row["kind"], row["sheet_no"], row["row_no"]), [])
                ),
                "decided": [self.speech.decision(one) for one in found],
            }

    def _cell(self, kind_name: str, sheet_no: int, row_no: int, col: str) -> tuple[str, str, str]:
        """Return sheet, heading and the cell's text as it was written."""
        if sheet_no not in self.sheets:
            self._meet({sheet_no})
        name, sha256, cells = self.sheets[sheet_no]
        column = kinds()[kind_name].column(col)
        if cells is None:
            return name, column.title, self.speech.said("unreadable", sha256[:12])
        from pipeline.intake.recognise import match_headings

        places = match_headings(kinds()[kind_name], cells.headings)
        if col not in places:
            return name, column.title, self.speech.said("no_column")
        # Rows stand in the order of their numbers.
        at = cells.frame["row_no"].search_sorted(row_no)
        here = at < cells.frame.height and cells.frame["row_no"][at] == row_no
        text = cells.frame[f"c{places[col]}"][at] if here else None
        return name, cells.headings[places[col]], text or ""

    def _meet(self, numbers: set[int]) -> None:
        """Look up sheets and the decisions on their rows, all in one go."""
        new = sorted(numbers - set(self.sheets))
        for no, name, sha256, part in self.con.execute(
            "select sheet_no, name, sha256, part from sheets where list_contains(?, sheet_no)",
            [new],
        ).fetchall():
            self.sheets[no] = (name, sha256, self.read_sheet(sha256, part))
        found = self.con.execute(
            "select kind, sheet_no, row_no, action, col, old_value, new_value, because, "
            "decided_by, decided_at, reads, unit, worth from decisions "
            "where list_contains(?, sheet_no) order by decision_n",
            [new],
        ).fetchall()
        keys = (
            *("action", "column", "old_value", "new_value", "because", "by", "at"),
            *("reads", "unit", "worth"),
        )
        for kind, sheet_no, row_no, *said in found:
            one: dict[str, Any] = dict(zip(keys, said, strict=True))
            if one["action"] == "amend":
                column = kinds()[kind].column(one["column"])
                one["own_unit"] = measured(column)[1]
                if column.type == "money" and (one["old_value"] or "").lstrip("-").isdecimal():
                    one["old_value"] = money_text(int(one["old_value"]), self.settings.decimals)
            self.decided.setdefault((kind, sheet_no, row_no), []).append(one)

    def _prices(self, lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Return each price that the rows name, once, with its own cell."""
        found: dict[tuple[int, int], dict[str, Any]] = {}
        for line in lines:
            place = line.pop("price_at", None)
            if not place or place[0] is None or place in found:
                continue
            sheet, heading, cell = self._cell("prices", place[0], place[1], "price_per_kg")
            found[place] = {"sheet": sheet, "row": place[1], "column": heading, "cell": cell}
        return list(found.values())
