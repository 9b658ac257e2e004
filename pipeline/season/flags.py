"""The flags of a season as people read them: where, what, why, and what to do."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import duckdb

from checks.rule import Rule
from checks.rules import BY_CODE
from checks.words import sentences
from pipeline.intake.kinds import Column, choice_words, kinds
from pipeline.intake.reasons import Reasons, detailed
from pipeline.intake.stored import DECIMALS
from pipeline.intake.words import said, said_detail
from pipeline.money import money_text
from pipeline.season.tables import dicts, season_sql

if TYPE_CHECKING:
    from pipeline.season.near import NearMatches

# Facts that hold stored words of a list of choices, one or more after each other.
CHOICES = {
    "form": "form",
    "earlier_form": "form",
    "other_forms": "form",
    "species": "species",
    "layout": "layout",
    "activity": "activity",
    "step": "lot_step",
    "steps": "lot_step",
    "brought_by": "brought_by",
}
SEVERITY_WORDS = {"send_back": "sent back", "hold": "held", "note": "noted"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """One flag: its full number, the place it points at, the sentence, and what is at stake.

    `money_at_stake` in whole minor units, `kg_at_stake` in kg; None where the row has none.
    `decision` is "" while it is open. `near`: what an unknown value may have been meant to be.
    `measure`: how bad a finding is that grows with the season, and a decision made now `holds_to`.
    """

    flag: str
    rule: str
    severity: str
    kind: str
    sheet: str
    sheet_no: int
    sha256: str
    row: int
    row_key: str
    col: str
    heading: str
    value: str | None
    value_hash: str
    say: str
    do: str
    station: str
    week: str
    kg_at_stake: Decimal | None
    money_at_stake: int | None
    decision: str
    decided_by: str
    because: str
    sure: float
    near: tuple[str, ...] = ()
    measure: Decimal | None = None
    holds_to: Decimal | None = None

    @property
    def short(self) -> str:
        """The number as it is printed and typed: 7F3A-09C1."""
        return f"{self.flag[:4]}-{self.flag[4:8]}".upper()

    @property
    def place(self) -> str:
        """Where it is, in one phrase: sheet, row, column and value."""
        at = f"{self.sheet}, row {self.row}"
        if not self.heading:
            return at
        shown = "" if self.value is None else f', value "{self.value}"'
        return f'{at}, column "{self.heading}"{shown}'

    @property
    def rank(self) -> tuple[float, float, str]:
        """Order in the queue: money at stake times how sure the rule is, the most first."""
        return (-(self.money_at_stake or 0) * self.sure, -self.sure, self.flag)


def flags_begun(con: duckdb.DuckDBPyConnection, begins: Sequence[str]) -> list[dict[str, Any]]:
    """Return those flags whose numbers begin with one of these, as rows of `all_flags.sql`."""
    return dicts(con, season_sql("all_flags"), {"begins": begins})


def flag_of(
    row: Mapping[str, Any],
    money_decimals: int,
    language: str = "en",
    *,
    near: "NearMatches | None" = None,
    written: str | None = None,
) -> Flag:
    """Return one row of `all_flags.sql` as people read it; its sentences in a language.

    `near`: tells what an unknown value may have been meant to be. `written`: the text of its cell
    as its sheet wrote it; without it the value is shown as it is stored.
    """
    rule = BY_CODE[row["rule"]]
    facts: dict[str, Any] = json.loads(row["facts"])
    headings: dict[str, str] = json.loads(row["headings"] or "{}")
    col = row["col"]
    column = _column(row["kind"], col)
    if column and written:
        shown = column.shown(written)
        # Codes are stored in capitals; a person's name among them is told as it was written.
        told = {col: shown} if column.type == "code" and col in facts else {}
    else:
        shown, told = _shown(row["value"], column, money_decimals, "reason" in facts), {}
    say, do = explain(rule, row["kind"], col, facts | told, money_decimals, language)
    return Flag(
        flag=row["flag"],
        rule=rule.code,
        severity=row["severity"],
        kind=row["kind"],
        sheet=row["sheet"],
        sheet_no=row["sheet_no"],
        sha256=row["sha256"],
        row=row["row_no"],
        row_key=row["row_key"],
        col=col,
        heading=headings.get(col, column.spellings[language][0] if column else ""),
        value=shown,
        value_hash=row["value_hash"],
        say=say,
        do=do,
        station=row["station"] or "",
        week=row["week"] or "",
        kg_at_stake=row["kg_at_stake"],
        money_at_stake=row["minor_at_stake"],
        decision=row["decision"] or "",
        decided_by=row["decided_by"] or "",
        because=row["because"] or "",
        sure=rule.sure,
        near=tuple(near.of(rule.code, row["value"], facts)) if near else (),
        measure=row["measure"],
        holds_to=row["holds_to"],
    )


def _shown(
    value: str | None, column: Column | None, money_decimals: int, unread: bool
) -> str | None:
    """Return a cell's value without the noughts that its stored type adds: 448.000 is 448.

    A cell that could not be read stands as it was written.
    """
    if value is None or column is None:
        return value
    if unread:
        return column.shown(value)
    if column.type == "money" and value.lstrip("-").isdigit():
        return money_text(int(value), money_decimals)
    if column.type in DECIMALS:
        return _words(column.name, value, money_decimals, "en")
    return column.shown(value)


def explain(
    rule: Rule,
    kind: str,
    col: str,
    facts: Mapping[str, Any],
    money_decimals: int,
    language: str = "en",
) -> tuple[str, str]:
    """Return what a flag says and what to do about it, with the row's own values filled in.

    KeyError where the language lacks the rule, the reason or a word.
    """
    values = {name: _words(name, value, money_decimals, language) for name, value in facts.items()}
    column = _column(kind, col)
    values["title"] = column.spellings[language][0] if column else ""
    if "reason" in facts:
        values["what"], values["remedy"] = _reason(facts["reason"], kind, column, language)
    if "least" in facts:
        values["possible"] = _possible(facts, language)
    if "other_col" in facts:
        other = _column(kind, facts["other_col"])
        values["other_title"] = other.spellings[language][0] if other else ""
    if column and column.type == "money" and "value" in facts:
        values["value"] = money_text(int(facts["value"]), money_decimals)
    say, do = sentences(rule, language)
    return say.format_map(values), do.format_map(values)


def _possible(facts: Mapping[str, Any], language: str) -> str:
    """Return in words what a column can hold: "0 to 100", "0 or more", "more than 0"."""
    least, above, most = (facts[name] for name in ("least", "above", "most"))
    if least is not None and most is not None:
        return said("between", language).format(least, most)
    name = "least" if least is not None else "above" if above is not None else "most"
    return said(name, language).format(facts[name])


def explain_row(row: Mapping[str, Any], money_decimals: int, language: str = "en") -> str:
    """Return the sentence of one row of the table `flags`, for a statement: no next step in it."""
    facts = json.loads(row["facts"])
    return explain(BY_CODE[row["rule"]], row["kind"], row["col"], facts, money_decimals, language)[
        0
    ]


def _column(kind: str, col: str) -> Column | None:
    return next((column for column in kinds()[kind].columns if column.name == col), None)


def _reason(stored: str, kind: str, column: Column | None, language: str) -> tuple[str, str]:
    # That a column is missing has its own rule, which says all.
    if stored == "no-such-column":
        return "", ""
    return Reasons(language)[detailed(stored, kinds()[kind], column, language)]


def _words(name: str, value: Any, money_decimals: int, language: str) -> str:
    """Return a fact as it stands in a sentence; numbers keep a point before their decimals."""
    if value is None:
        return said("empty", language)
    text = str(value)
    if name.endswith("_minor"):
        return money_text(int(text), money_decimals)
    if name in CHOICES:
        spoken = choice_words(CHOICES[name], language)
        return ", ".join(spoken.get(word, word.replace("_", " ")) for word in text.split(", "))
    if name == "verified":
        return said_detail(text, language)
    whole, point, rest = text.partition(".")
    if point and rest.isdigit() and whole.lstrip("-").isdigit():
        return f"{whole}.{rest}".rstrip("0").rstrip(".")
    return text
