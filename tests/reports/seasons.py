"""Small seasons in a DuckDB of their own, with the season file's own tables."""

from __future__ import annotations

import datetime as dt
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import duckdb
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from checks.limits import write_limits
from pipeline.book.macros import load_macros
from pipeline.season.filled import hold_all
from pipeline.season.schema import create_tables
from pipeline.season.tables import connect, season_sql
from reports.facts import CoopFacts, Deduction

HARD_NAMES = {
    "1001": "Ŋala Ɓoro",
    "1002": '#read("x")',
    "1003": "<script>alert(1)</script>",
    "1004": "=cmd",
    "1005": "*a* $b$",
    "1006": "Aletheia" * 15,
    "1007": "Nothing Delivered",
    "1008": "Sixty Deliveries",
}
FACTORS = {"fresh_cherry": Decimal("0.1667"), "parchment": Decimal("0.8")}
PRICES = {"fresh_cherry": Decimal("0.6200"), "parchment": Decimal("3.0500")}
FIRST = dt.date(2026, 3, 30)
# A key for tests: the same bytes each time, and no secret.
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))

FACTS = CoopFacts(
    name="Velunda Ridge Coffee Growers' Cooperative",
    place="Velunda Ridge",
    currency="USD",
    decimals=2,
    languages=("en",),
    questions_days=30,
    questions_to={
        "": "the office at Kessim, Tuesday and Friday mornings",
        "sw": "ofisi ya Kessim, asubuhi ya Jumanne na Ijumaa",
    },
    season="2026",
    first_day=FIRST,
    last_day=dt.date(2026, 10, 4),
    deductions=(
        Deduction(
            code="levy",
            name="Cooperative levy",
            authority="General meeting of 14 February 2026, resolution 3",
        ),
        Deduction(
            code="transport",
            name="Transport to the drying station",
            authority="General meeting of 14 February 2026, resolution 5",
        ),
    ),
    stations={"KES": "Kessim", "MUN": "Munta Hill"},
)


def rounded(value: Decimal, places: str) -> Decimal:
    return value.quantize(Decimal(places), ROUND_HALF_UP)


class Maker:
    """Writes rows the way the season's steps do, from a short plan of the members."""

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        self.con = con
        self.row = 1
        self.receipt = 0
        create_tables(con)
        hold_all(con)
        write_limits(con, (), {})
        for position, one in enumerate(FACTS.deductions, start=1):
            self.insert(
                "deductions", position=position, deduction=one.code, name=one.name,
                authority=one.authority, takes="", keep_percent=0,
            )  # fmt: skip
        con.execute("insert into season_days values ('2026', ?, ?)", [FIRST, dt.date(2026, 10, 4)])
        for no, (kind, name) in enumerate(
            [
                ("members", "register-2026.csv"),
                ("weighings", "kessim-week-14.csv"),
                ("payments", "payments-2026.csv"),
                ("farm_record", "farm-records-april.csv"),
                ("plots", "trees-2026.csv"),
                ("opening_balances", "opening-2026.csv"),
            ],
            start=1,
        ):
            self.insert(
                "sheets", sheet_no=no, sha256=str(no) * 64, name=name, kind=kind, version=1,
                taken_day=FIRST, arrived=0,
            )  # fmt: skip

    def insert(self, table: str, **values: object) -> None:
        names, marks = ", ".join(values), ", ".join("?" * len(values))
        self.con.execute(f"insert into {table} ({names}) values ({marks})", list(values.values()))

    def next_row(self) -> int:
        self.row += 1
        return self.row

    def member(self, no: str, name: str, village: str, station: str = "KES") -> None:
        self.insert(
            "filled_members", member_no=no, name=name, village=village, station=station,
            joined=dt.date(2019, 2, 11), language="en", sheet_no=1, row_no=self.next_row(),
        )  # fmt: skip

    def weighing(
        self, no: str, day: dt.date, form: str, net: str, *, moisture: str | None = None,
        state: str = "counted", station: str = "KES",
    ) -> int:  # fmt: skip
        row = self.next_row()
        self.receipt += 1
        kg = Decimal(net)
        self.insert(
            "filled_weighings", station=station, day=day, receipt_book="K03",
            receipt_no=self.receipt, line=1, member_no=no, species="arabica", form=form, grade="1",
            bags=2, gross_kg=kg + Decimal("1.2"), tare_kg=Decimal("1.2"), net_kg=kg,
            moisture_pct=moisture, scale=f"{station}-1", recorder="Ibo Marren",
            sheet_no=2, row_no=row,
        )  # fmt: skip
        if state == "counted":
            self._value(no, day, form, kg, row)
        else:
            self.insert("exceptions", kind="weighings", sheet_no=2, row_no=row, state=state)
        return row

    def _value(self, no: str, day: dt.date, form: str, kg: Decimal, row: int) -> None:
        minor = int(rounded(kg * PRICES[form] * 100, "1"))
        gbe = rounded(kg * FACTORS[form], "0.001")
        self.con.execute(
            "insert into valued values (2, ?, ?, 6, 2, ?, ?, ?, false)",
            [row, PRICES[form], kg, minor, gbe],
        )
        taken = [int(rounded(Decimal(minor) * 3 / 100, "1"))]
        taken.append(int(rounded(kg * 2, "1")) if form == "fresh_cherry" else 0)
        self.insert(
            "settlements", member_no=no, day=day, sheet_no=2, row_no=row, value_minor=minor,
            deducted_minor=taken,
        )  # fmt: skip

    def movement(self, *values: object) -> None:
        self.con.execute("insert into movements values (?, ?, ?, ?, ?, ?, ?, ?, ?)", values)

    def pay(self, no: str, day: dt.date, minor: int) -> None:
        row = self.next_row()
        self.insert(
            "filled_payments", payment_no=f"P-{row:04}", day=day, member_no=no, amount_minor=minor,
            method="cash", paid_by="Lio Tessan", sheet_no=3, row_no=row,
        )  # fmt: skip

    def balance(self, no: str, day: dt.date, of: str, minor: int, document: str | None) -> None:
        self.insert(
            "filled_opening_balances", member_no=no, day=day, balance_of=of, amount_minor=minor,
            document=document, sheet_no=6, row_no=self.next_row(),
        )  # fmt: skip
        what, *between = {
            "owed_by_member": ("credit", "loan", "opening"),
            "shares": ("shares", "opening", "shares"),
        }[of]
        at = ("opening_balances", 6, self.row)
        self.movement(day, what, *between, no, minor, *at)

    def work(self, no: str, day: dt.date, activity: str, cost_minor: int | None) -> None:
        self.insert(
            "filled_farm_record", member_no=no, day=day, plot_no="1", activity=activity,
            family_days=2, hired_days=0, cost_minor=cost_minor, recorder="Ibo Marren",
            sheet_no=4, row_no=self.next_row(),
        )  # fmt: skip

    def trees(self, no: str, bearing: int) -> None:
        self.insert(
            "filled_plots", member_no=no, plot_no="1", species="arabica", planted_year=2014,
            trees=bearing + 20, trees_bearing=bearing, area_ha=Decimal("0.34"),
            counted_on=dt.date(2026, 3, 16), sheet_no=5, row_no=self.next_row(),
        )  # fmt: skip

    def flag(self, row: int, rule: str, facts: str, *, severity: str = "hold") -> str:
        code = f"F{row:05}-{rule}"
        self.insert(
            "flags", flag=code, rule=rule, severity=severity, kind="weighings", sheet_no=2,
            row_no=row, row_key=str(row), col="net_kg", value="612", facts=facts, value_hash="h",
            kg_at_stake=612, minor_at_stake=37944,
        )  # fmt: skip
        return code

    def decide(self, row: int, flag: str, action: str, because: str) -> None:
        self.insert(
            "decisions", decision_n=7, flag=flag, rule="weight-far-from-usual", kind="weighings",
            sheet_no=2, row_no=row, row_key=str(row), col="net_kg", value_hash="h", action=action,
            because=because, decided_by="Sefa Orrin", decided_at="2026-05-11T08:30:00Z",
        )  # fmt: skip
        self.con.execute(
            "update flags set decision = ?, decision_n = 7 where flag = ?", [action, flag]
        )

    def finish(self) -> None:
        """Fills the worked-out tables from the rows, as the season's steps do."""
        self.con.execute((Path(__file__).parent / "season_totals.sql").read_text())
        load_macros(self.con)
        self.con.execute(season_sql("costs_apart"))
        self.con.execute(season_sql("member_margin"), {"decimals": 2})


def make_small_season() -> duckdb.DuckDBPyConnection:
    """Eight members with hard names in Lower Tarrin, four in High Parrow (too few to compare)."""
    con = connect(":memory:", read_only=False)
    make = Maker(con)
    for position, (no, name) in enumerate(HARD_NAMES.items()):
        make.member(no, name, "Lower Tarrin", "KES" if position % 2 else "MUN")
        make.trees(no, 300 + 40 * position)
        count = {"1007": 0, "1008": 60}.get(no, 4 + position)
        for n in range(count):
            dry = n % 4 == 3
            day = FIRST + dt.timedelta(days=2 * n)
            make.weighing(
                no, day, "parchment" if dry else "fresh_cherry", f"{40 + position * 7 + n}.4",
                moisture=f"{11 + (n % 8) * 0.3:.1f}" if dry else None,
                station="KES" if position % 2 else "MUN",
            )  # fmt: skip
        if count:
            make.pay(no, dt.date(2026, 5, 8), 3550 + position)
    for position in range(4):
        no = f"20{position:02}"
        make.member(no, f"Dela Morrin {position}", "High Parrow")
        make.trees(no, 500)
        make.weighing(no, FIRST, "fresh_cherry", f"{80 + position}.2")
    for week in range(5):
        make.work("1001", FIRST + dt.timedelta(days=7 * week), "weeding", 1250)
    make.work("1002", FIRST, "spraying", 900)
    make.balance("1001", FIRST, "owed_by_member", 4075, "closing list #read(2025)")
    make.balance("1003", FIRST, "owed_by_member", 18025, None)
    make.balance("1003", FIRST, "shares", 2500, None)
    held = make.weighing("1001", dt.date(2026, 5, 4), "fresh_cherry", "612.0", state="held")
    make.flag(held, "weight-far-from-usual", '{"usual_kg": "61.0"}')
    back = make.weighing("1001", dt.date(2026, 5, 6), "fresh_cherry", "58.0", state="sent_back")
    make.flag(back, "unreadable", '{"reason": "not-a-number"}', severity="send_back")
    seen = make.weighing("1001", dt.date(2026, 5, 8), "fresh_cherry", "59.6")
    flag = make.flag(seen, "weight-far-from-usual", '{"usual_kg": "44.0"}')
    make.decide(seen, flag, "count", "the receipt copy shows the same weight")
    make.finish()
    return con


def make_group_season(villages: int = 5, households: int = 9) -> duckdb.DuckDBPyConnection:
    """Five villages of nine and one of two, at two stations, over ten weeks."""
    con = connect(":memory:", read_only=False)
    make = Maker(con)
    names = ["Lower Tarrin", "High Parrow", "Sella Ford", "Old Munta", "Brae End", "Ketten"]
    number = 3000
    for v, village in enumerate(names[: villages + 1]):
        station = "MUN" if v % 2 else "KES"
        for h in range(households if v < villages else 2):
            number += 1
            no = str(number)
            make.member(no, f"Member {no}", village, station)
            make.trees(no, 240 + 37 * (h + v))
            for n in range(4 + (h * 3 + v) % 9):
                dry = (n + h) % 5 == 4
                day = FIRST + dt.timedelta(days=7 * ((n * 3 + h) % 10) + h % 5)
                kg = f"{30 + (h * 17 + n * 11 + v * 5) % 60}.{(h + n) % 10}"
                moisture = f"{10.4 + v * 0.3 + ((n * 7 + h) % 9) * 0.25:.1f}" if dry else None
                form = "parchment" if dry else "fresh_cherry"
                make.weighing(no, day, form, kg, moisture=moisture, station=station)
            if h % 3 == 0:
                make.pay(no, dt.date(2026, 5, 8), 2000 + 10 * h)
                for week in range(3 + v):
                    make.work(no, FIRST + dt.timedelta(days=7 * week), "weeding", 400 + 15 * h)
    row = make.weighing("3001", FIRST, "fresh_cherry", "612.0", state="held")
    make.flag(row, "weight-far-from-usual", '{"usual_kg": "61.0"}')
    make.finish()
    return con


def explain(flag: dict[str, object], language: str) -> str:
    return f"Flag {flag['rule']} on {flag['value']}."


GATE = [
    {"name": "Weight in is weight out", "looked_at": "all stations", "observed": "0.000 kg",
     "allowed": "0.000 kg", "ok": True, "detail": ""},
    {"name": "Share flagged <b>", "looked_at": "Kessim, week 18", "observed": "6.2 %",
     "allowed": "5.0 %", "ok": False, "detail": "Look at the moisture meter first."},
]  # fmt: skip
