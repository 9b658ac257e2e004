"""Faults of a whole group of rows: a recorder, a scale, a member, a station's day or book."""

from datetime import date, timedelta

import numpy as np

from pipeline.samples.lots import HULLED_EVERY
from pipeline.samples.money import SECOND_LIST_WEEK
from pipeline.samples.season import MOST_LINE_KG, PER_GREEN
from pipeline.trial.honest import FIRST_DAY, WEEKS, Row
from pipeline.trial.life import cards_are_sums
from pipeline.trial.planting import Fault, NoRowLeft, Place, Planting
from pipeline.trial.plants.weights import capacity, interval, set_gross

KIND = "weighings"
MADE_UP = (60, 90, 140, 220, 350)
DRIFT, DRIFT_DAYS = 0.02, 30
OVER = 1.3


def follow_copies(p: Planting, lines: list[Row]) -> None:
    """Let members' copies of receipts say what the receipts say now."""
    for receipt in {row["_receipt"] for row in lines}:
        rows = [(place[0], p.row(place)) for place in p.receipt_rows(receipt)]
        net = sum(row["net_kg"] for kind, row in rows if kind == KIND)
        for kind, row in rows:
            if kind == "deliveries" and row["written_from"] == "receipt_copy":
                row["kg"] = net


def follow_cards(p: Planting, lines: list[Row], before: dict[int, int]) -> None:
    """Let the cards of what was taken in say what receipts say now; `before`: what they said."""
    cards = [row for row in p.season.rows["lots"] if row["step"] == "receiving"]
    of_day: dict[tuple[str, str, date], Row] = {}
    for card in cards:
        days = 1 if card["form"] == "fresh_cherry" else HULLED_EVERY * 7
        for n in range(days):
            day = card["day"] - timedelta(days=n if days == 1 else n + 1)
            of_day[card["station"], card["form"], day] = card
    for row in lines:
        card = of_day.get((row["_at"], row["form"], row["day"]))
        if card:
            card["kg_out"] += row["net_kg"] - before.get(row["_id"], 0)


def _summed(p: Planting, rows: list[Row], at: str, before: dict[int, int]) -> None:
    """Let copies, and cards that are sums, follow what a recorder wrote."""
    follow_copies(p, rows)
    if cards_are_sums(p.season.places, at):
        follow_cards(p, rows, before)


def nets(rows: list[Row]) -> dict[int, int]:
    """Return the net weights of some weighings, by their place."""
    return {row["_id"]: row["net_kg"] for row in rows}


def _fresh_station(p: Planting, fine: bool) -> str:
    """Draw a station none of whose rows has a fault yet; `fine`: with a scale of 0.1 kg."""
    used = {p.row(place)["_at"] for place in p.taken if place[0] == KIND}
    left = [
        place.code
        for place in p.season.places
        if place.code not in used and (place.interval_hg == 1 or not fine)
    ]
    if not left:
        raise NoRowLeft(KIND)
    return str(p.one_of(left))


def _made_up(p: Planting, name: str) -> None:
    """Write down guesses near the truth, in the digits that come to one person's mind.

    Made-up figures have uneven last digits and seldom repeat one: from memory of published
    studies of digits that people invent; that three digits come two and a half times as often, and
    that guesses lie 5 % off, are guesses of ours. The rows follow each other; before and after them
    the recorder reads the scale.
    """
    at = _fresh_station(p, fine=True)
    first = p.whole(2, WEEKS - 14)
    rows = p.rows(KIND, lambda row: row["_at"] == at and row["_week"] >= first)
    mine = [row for row in rows if row["recorder"] == rows[0]["recorder"]]
    mine = mine[: p.one_of(list(MADE_UP))]
    liked = p.draws.uniform(10).argsort()[:3]
    weights = [2.5 if digit in liked else 1.0 for digit in range(10)]
    if len(mine) < MADE_UP[0]:
        raise NoRowLeft(KIND)
    before = nets(mine)
    digits = p.draws.pick(weights, len(mine))
    guess = np.exp(0.05 * p.draws.bell(len(mine)))
    last = -1
    for row, digit, by in zip(mine, digits.tolist(), guess.tolist(), strict=True):
        digit = digit if digit != last else (digit + 3) % 10
        last = digit
        gross = max(row["tare_kg"] + 25, round(row["gross_kg"] * by) // 10 * 10 + digit)
        set_gross(row, min(gross, capacity(p, row) - 10 + digit))
    _summed(p, mine, at, before)
    p.note(name, KIND, *mine, group=True, also=_first_of(p, mine))


def _same_weight(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: 300 < row["net_kg"] < 700 and 5 < row["_week"] < WEEKS - 2)
    mine = p.rows(
        KIND,
        lambda other: (
            other["_at"] == row["_at"]
            and other["recorder"] == row["recorder"]
            and 0 <= other["_week"] - row["_week"] <= 2
        ),
    )
    # Every other line of some days: 12 to 20 of them.
    mine = mine[::2][: p.whole(12, 20)]
    before = nets(mine)
    net, tare = row["net_kg"], row["tare_kg"]
    for line in mine:
        line |= {"tare_kg": tare, "gross_kg": net + tare, "net_kg": net}
    _summed(p, mine, row["_at"], before)
    p.note(name, KIND, *mine, group=True, also=_first_of(p, mine))


def _drift(p: Planting, name: str) -> None:
    """Let a scale drift by 2 % over a month and stay there, up or down."""
    at = _fresh_station(p, fine=False)
    start = FIRST_DAY + timedelta(weeks=p.whole(8, 13))
    sign = p.one_of([-1, 1])
    rows = p.rows(KIND, lambda row: row["_at"] == at and row["day"] >= start)
    before = nets(rows)
    for row in rows:
        part = min(1.0, (row["day"] - start).days / DRIFT_DAYS)
        _read_off(p, row, 1 + sign * DRIFT * part)
    _summed(p, rows, at, before)
    p.note(name, KIND, *rows, group=True, also=_home_records(p, rows))


def _short(p: Planting, name: str) -> None:
    """Weigh 4 % short at one station the whole season; its lots show what was there."""
    at = _fresh_station(p, fine=False)
    rows = p.rows(KIND, lambda row: row["_at"] == at)
    before = nets(rows)
    for row in rows:
        _read_off(p, row, 0.96)
    _summed(p, rows, at, before)
    lots = p.station_lots(at)
    p.note(name, KIND, *rows, group=True, also=[*_home_records(p, rows), *lots])


def _read_off(p: Planting, row: Row, factor: float) -> None:
    step = interval(p, row)
    gross = step * round(row["gross_kg"] * factor / step)
    set_gross(row, min(gross, capacity(p, row)))


def _home_records(p: Planting, rows: list[Row]) -> list[Place]:
    """Return the members' own records of some weighings."""
    return [
        place
        for receipt in sorted({row["_receipt"] for row in rows})
        for place in p.receipt_rows(receipt)
        if place[0] == "deliveries"
    ]


def _first_of(p: Planting, rows: list[Row]) -> list[Place]:
    """Return the recorder's first weighing of the season, where rules speak of the recorder."""
    own = [
        row
        for row in p.season.rows[KIND]
        if (row["_at"], row["recorder"]) == (rows[0]["_at"], rows[0]["recorder"])
    ]
    first = min(own, key=lambda row: (row["_week"], row["_id"]))
    return [(KIND, first["_id"])]


def _elsewhere(p: Planting, name: str) -> None:
    """Let a member deliver 1.3 times what the best honest trees of the zone bore.

    The share of that is laid on each of the member's lines: what does not fit on the scale comes
    as further lines of the receipt.
    """
    best = _best_by_zone(p)
    members = [row["member_no"] for row in p.season.rows["members"]]
    for _ in range(60):
        member = p.one_of(members)
        lines = [p.row(place) for place in p.member_rows(KIND, member)]
        trees = _bearing(p, member)
        free = not any((KIND, row["_id"]) in p.taken for row in lines)
        if not lines or not free or trees < 60:
            continue
        wanted = OVER * best[_zone(p, lines[0])] * trees
        factor = wanted / _green(lines)
        heaviest = max(row["net_kg"] for row in lines) * factor
        if factor < 1.2 or heaviest > 30 * MOST_LINE_KG:
            continue
        _bring(p, name, member, lines, factor)
        return
    raise NoRowLeft("members")


def _bring(p: Planting, name: str, member: int, lines: list[Row], factor: float) -> None:
    grown: list[Row] = []
    before = nets(lines)
    for row in lines:
        step = interval(p, row)
        parts = -(-int(row["net_kg"] * factor) // int(10 * MOST_LINE_KG))
        net = step * round(row["net_kg"] * factor / parts / step)
        bags = 1 + (net > 660)
        row |= {"gross_kg": net + row["tare_kg"], "net_kg": net, "bags": bags}
        # Further lines are numbered after all that the receipt has.
        more = [p.append(KIND, row, line=100 * row["line"] + part) for part in range(1, parts)]
        grown += [row, *more]
    homes = {place: p.row(place) for place in _home_records(p, lines)}
    for record in homes.values():
        if record["written_from"] == "own_notebook":
            record["kg"] = 5 * round(record["kg"] * factor / 5)
    follow_copies(p, grown)
    # The coffee is there, whoever weighs it.
    follow_cards(p, grown, before)
    also = [*homes, *p.member_rows("plots", member), *p.member_rows("members", member)]
    p.note(name, KIND, *grown, group=True, also=also)


def _zone(p: Planting, row: Row) -> str:
    zone = next(place.zone for place in p.season.places if place.code == row["_at"])
    return f"{zone} {row['species']}"


def _green(lines: list[Row]) -> float:
    forms = ("fresh_cherry", "parchment", "dry_cherry")
    per_green = dict(zip(forms, PER_GREEN.tolist(), strict=True))
    return sum(row["net_kg"] / 10 / per_green[row["form"]] for row in lines)


def _bearing(p: Planting, member: int) -> int:
    plots = [p.row(place) for place in p.member_rows("plots", member)]
    return sum(row["trees_bearing"] for row in plots if not row.get("_old"))


def _best_by_zone(p: Planting) -> dict[str, float]:
    """Return the most green a bearing tree, in kg, of honest members by zone and species."""
    best: dict[str, float] = {}
    for row in p.season.rows["members"]:
        lines = [p.row(place) for place in p.member_rows(KIND, row["member_no"])]
        trees = _bearing(p, row["member_no"])
        if lines and trees >= 60 and not any((KIND, line["_id"]) in p.taken for line in lines):
            zone = _zone(p, lines[0])
            best[zone] = max(best.get(zone, 0.0), _green(lines) / trees)
    return best


def _one_moisture(p: Planting, name: str) -> None:
    """Copy one reading down a station's day of dry coffee: six rows or more.

    Days of one recorder are one habit, and one finding: each planting is of another's.
    """
    have = {
        (row["_at"], row["recorder"])
        for fault in p.planted
        if fault.kind == name
        for row in map(p.row, fault.rows)
    }
    rows = p.rows(
        KIND,
        lambda row: row["moisture_pct"] is not None and (row["_at"], row["recorder"]) not in have,
    )
    days: dict[tuple[str, date], list[Row]] = {}
    for row in rows:
        days.setdefault((row["_at"], row["day"]), []).append(row)
    full = [of_day for of_day in days.values() if len(of_day) >= 6]
    if not full:
        raise NoRowLeft(KIND)
    mine: list[Row] = p.one_of(full)
    for row in mine:
        row["moisture_pct"] = mine[0]["moisture_pct"]
    p.note(name, KIND, *mine, group=True)


def _at_new_price(p: Planting, name: str) -> None:
    """Write a station's receipts of the last old-price week as weighed on the new price's day."""
    at = str(p.one_of([place.code for place in p.season.places]))
    mine = p.rows(KIND, lambda row: row["_at"] == at and row["_week"] == SECOND_LIST_WEEK - 1)
    if len(mine) < 12:
        raise NoRowLeft(KIND)
    for row in mine:
        row |= {"day": FIRST_DAY + timedelta(weeks=SECOND_LIST_WEEK), "_week": SECOND_LIST_WEEK}
    p.note(name, KIND, *mine, group=True, also=_home_records(p, mine))


FAULTS = (
    Fault(kind="coffee from elsewhere, 30 % over", of="elsewhere", plant=_elsewhere, a_season=2),
    Fault(kind="scale drifts by 2 % in a month", of="drift", plant=_drift, a_season=1),
    Fault(kind="weighed 4 % short all season", of="short weighing", plant=_short, a_season=1),
    Fault(kind="made-up weights, 60 rows or more", of="made-up", plant=_made_up, a_season=1),
    Fault(kind="the same weight again and again", of="made-up", plant=_same_weight, a_season=2),
    Fault(
        kind="a week's receipts at the new price", of="receipts", plant=_at_new_price, a_season=1
    ),
    Fault(kind="one moisture all day", of="moisture", plant=_one_moisture, a_season=2),
)
