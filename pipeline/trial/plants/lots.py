"""Faults of handling: lots' cards and sales."""

from datetime import timedelta

from pipeline.trial.honest import Row
from pipeline.trial.planting import Fault, Planting

KIND = "lots"


def _grew(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["step"] in ("drying", "hulling"))
    row["kg_out"] = row["kg_in"] * 11 // 10
    p.note(name, KIND, row)


def _from_nothing(p: Planting, name: str) -> None:
    """Hull a lot of a coffee that the station never took in."""
    row = p.free(KIND, lambda row: row["step"] == "hulling" and row["_week"] < 20)
    other = "robusta" if row["species"] == "arabica" else "arabica"
    number = f"{row['_lot'][0]}-X{row['_id']}"
    fields = {"lot_no": number, "species": other, "line": 1, "from_lots": None}
    new = p.append(KIND, row, **fields, _lot=number)
    p.note(name, KIND, new)


def _oversold(p: Planting, name: str) -> None:
    row = p.free("sales")
    row |= {"net_kg": row["net_kg"] * 3, "amount": row["amount"] * 3, "bags": row["bags"] * 3}
    p.note(name, "sales", row)


def _too_fast(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["step"] == "drying")
    row["ended_on"] = row["day"] + timedelta(days=p.whole(1, 4))
    p.note(name, KIND, row)


def _fermented(p: Planting, name: str) -> None:
    """Write a fermenting step of four days between pulping and washing."""
    row = p.free(KIND, lambda row: row["step"] == "pulping" and row["_week"] < 24)
    steps = [
        other
        for place in p.station_lots(row["_of"])
        if place[0] == KIND and (other := p.row(place))["_lot"] == row["_lot"]
    ]
    for step in steps:
        if step["line"] > row["line"]:
            step["line"] += 1
            step["day"] += timedelta(days=4)
    ended = row["day"] + timedelta(days=4)
    times = {"begun_at": "18:00", "ended_on": ended, "ended_at": "20:00"}
    new = p.append(KIND, row, line=row["line"] + 1, step="fermenting", **times)
    p.note(name, KIND, new)


def _pulped_late(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["step"] == "pulping")
    row["begun_at"] = f"{p.whole(21, 23)}:30"
    p.note(name, KIND, row)


def _back(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["step"] == "drying")
    row["form"] = "fresh_cherry"
    p.note(name, KIND, row)


def _lost(p: Planting, name: str) -> None:
    """Let a fifth of what is hulled be gone."""
    row = p.free(KIND, lambda row: row["step"] == "hulling")
    row["kg_out"] = row["kg_out"] * 4 // 5
    p.note(name, KIND, row)


def _sale_of_no_lot(p: Planting, name: str) -> None:
    row: Row = p.free("sales")
    row["lot_no"] = f"{row['_lot']}9"
    p.note(name, "sales", row)


FAULTS = (
    Fault(kind="lot that grew", of="physics", plant=_grew, a_season=2),
    Fault(kind="lot from nothing", of="physics", plant=_from_nothing, a_season=2),
    Fault(kind="sold more than lay there", of="physics", plant=_oversold, a_season=2),
    Fault(kind="dried too fast", of="physics", plant=_too_fast, a_season=2),
    Fault(kind="fermented for four days", of="handling", plant=_fermented, a_season=2),
    Fault(kind="pulped late", of="handling", plant=_pulped_late, a_season=2),
    Fault(kind="parchment back to cherry", of="physics", plant=_back, a_season=2),
    Fault(kind="a fifth lost in hulling", of="handling", plant=_lost, a_season=2),
    Fault(kind="sale of a lot without a card", of="handling", plant=_sale_of_no_lot, a_season=2),
)
