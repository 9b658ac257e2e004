"""The gate: great-expectations over small summary frames before anything is issued or paid.

Importing great-expectations costs seconds, so nothing but an issue or a nightly check imports this.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from importlib import resources
from typing import Any, cast

import duckdb

from checks.rules import RULES

# Set before the import, which reads it: no figure of a book leaves the machine.
os.environ["GX_ANALYTICS_ENABLED"] = "false"
import great_expectations as gx

# What may be wrong before documents wait, in percent; [gate] in book.toml sets its own.
ALLOWED_PERCENT = {
    "sent_back": Decimal(20),  # of a station's rows in a week
    "send_back_rule": Decimal(5),  # of a kind's rows flagged by one rule
    "hold_rule": Decimal(5),
    "note_rule": Decimal(25),
}


class GateBroken(RuntimeError):
    """The tool that checks failed itself, which says nothing about the data."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One result: what was looked at, what was seen and what is allowed.

    `stops`: "all" where nothing may be issued, "batch" where one station's week waits, "" where it
    is only shown. `station` and `week` name the batch.
    """

    name: str
    looked_at: str
    observed: str
    allowed: str
    ok: bool
    stops: str = ""
    station: str = ""
    week: str = ""


def run_gate(con: duckdb.DuckDBPyConnection, own_percent: Mapping[str, Decimal]) -> list[Check]:
    """Judge a season file and return every result; GateBroken where the tool itself failed."""
    allowed = {**ALLOWED_PERCENT, **own_percent}
    context: Any = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = {"globally": False}
    source = context.data_sources.add_pandas("season")
    return [
        *_conservation(source, con),
        *_batches(source, con, int(allowed["sent_back"])),
        *_rules(source, con, allowed),
    ]


def _sql(name: str) -> str:
    return resources.files("checks").joinpath(f"sql/{name}.sql").read_text("utf-8")


def _failing(
    source: Any, name: str, frame: Any, expectations: list[Any], ids: list[str]
) -> set[tuple[Any, ...]]:
    """Validate a frame and return the ids of the rows that fail any expectation."""
    definition = source.add_dataframe_asset(name).add_batch_definition_whole_dataframe(name)
    batch = definition.get_batch(batch_parameters={"dataframe": frame})
    failing: set[tuple[Any, ...]] = set()
    for expectation in expectations:
        result = batch.validate(
            expectation,
            result_format={"result_format": "COMPLETE", "unexpected_index_column_names": ids},
        )
        info: dict[str, Any] = result.exception_info or {}
        # An exception inside is reported as success=False: a broken tool is not bad data.
        if info.get("raised_exception") or any(
            cast(dict[str, Any], part).get("raised_exception")
            for part in info.values()
            if isinstance(part, dict)
        ):
            raise GateBroken(f"The check {name} could not be run: {info}")
        if not result.success:
            found = result.result.get("unexpected_index_list")
            if found is None:
                raise GateBroken(f"The check {name} failed as a whole: {result.result}")
            failing |= {tuple(entry[column] for column in ids) for entry in found}
    return failing


def _at_most(observed: str, allowed: str) -> Any:
    return gx.expectations.ExpectColumnPairValuesAToBeGreaterThanB(  # pyright: ignore
        column_A=allowed, column_B=observed, or_equal=True
    )


def _conservation(source: Any, con: duckdb.DuckDBPyConnection) -> list[Check]:
    frame: Any = con.sql(_sql("gate_conservation")).df()
    same = gx.expectations.ExpectColumnPairValuesToBeEqual(  # pyright: ignore
        column_A="one_side", column_B="other_side"
    )
    failing = _failing(source, "conservation", frame, [same], ["law"])
    return [
        Check(
            name="It adds up",
            looked_at=row.law,
            observed=f"{row.one_side:,} and {row.other_side:,}",
            allowed="the same",
            ok=(row.law,) not in failing,
            stops="all",
        )
        for row in frame.itertuples()
    ]


def _batches(source: Any, con: duckdb.DuckDBPyConnection, percent: int) -> list[Check]:
    frame: Any = con.sql(_sql("gate_batches"), params={"sent_back_percent": percent}).df()
    ids = ["kind", "station", "week"]
    few = _failing(source, "sent back", frame, [_at_most("sent_back", "sent_back_allowed")], ids)
    frame["volume_allowed"] = frame["usual_rows"] * 5 + 50
    usual = _failing(source, "volume", frame, [_at_most("arrived", "volume_allowed")], ids)
    checks: list[Check] = []
    for kind, batches in frame.groupby("kind", sort=True):
        worst = batches.loc[(batches["sent_back"] - batches["sent_back_allowed"]).idxmax()]
        checks.append(
            Check(
                name="Rows sent back in a week",
                looked_at=f"{_words(kind)}, {len(batches)} sheets and weeks",
                observed=f"most {worst.sent_back} of {worst.arrived}, {worst.station} {worst.week}",
                allowed=f"at most {percent} % or 3",
                ok=not any(place[0] == kind for place in few),
            )
        )
    for row in frame.itertuples():
        place = (row.kind, row.station, row.week)
        if place not in few and place not in usual:
            continue
        sent_back = place in few
        checks.append(
            Check(
                name="Rows sent back in a week" if sent_back else "Rows against the weeks before",
                looked_at=f"{_words(row.kind)} {row.station or 'all stations'} {row.week}",
                observed=f"{row.sent_back} of {row.arrived}" if sent_back else f"{row.arrived}",
                allowed=f"at most {row.sent_back_allowed if sent_back else row.volume_allowed}",
                ok=False,
                # Members' own records are evidence; only weights and money hold a statement back.
                stops="batch" if sent_back and row.kind in ("weighings", "payments") else "",
                station=row.station,
                week=row.week,
            )
        )
    return checks


def _words(kind: str) -> str:
    return kind.replace("_", " ")


def _rules(
    source: Any, con: duckdb.DuckDBPyConnection, allowed: Mapping[str, Decimal]
) -> list[Check]:
    con.execute("create or replace temp table gate_rule (position int, rule text, severity text)")
    con.executemany(
        "insert into gate_rule values (?, ?, ?)",
        [[n, rule.code, rule.severity] for n, rule in enumerate(RULES)],
    )
    frame: Any = con.sql(_sql("gate_rules")).df()
    counts = {
        kind: con.sql(f"select count(*) from rows_{kind}").fetchall()[0][0]
        for kind in {kind for rule in RULES for kind in rule.on}
    }
    frame["looked_at"] = [sum(counts[kind] for kind in rule.on) for rule in RULES]
    # A handful of rows may always be doubtful, so that a small book is not judged by shares.
    frame["flagged_allowed"] = [
        max(5, int(looked * allowed.get(rule.code, allowed[f"{rule.severity}_rule"]) // 100))
        for rule, looked in zip(RULES, frame["looked_at"], strict=True)
    ]
    every = gx.expectations.ExpectTableRowCountToEqual(value=len(RULES))  # pyright: ignore
    share = _at_most("flagged", "flagged_allowed")
    failing = _failing(source, "rules", frame, [every, share], ["rule"])
    return [
        Check(
            name="Rows flagged by a rule",
            looked_at=f"{row.rule} on {row.looked_at:,} rows",
            observed=f"{row.flagged:,}",
            allowed=f"at most {row.flagged_allowed:,}",
            ok=(row.rule,) not in failing,
        )
        for row in frame.itertuples()
    ]
