"""Faults of weights and moisture, in one row each."""

from collections.abc import Callable

from pipeline.trial.honest import Row
from pipeline.trial.planting import Fault, NoRowLeft, Planting
from pipeline.trial.slips import KG_A_POUND, LOOKALIKE

KIND = "weighings"
MOST_IN_A_BAG = 80


def interval(p: Planting, row: Row) -> int:
    """Return the steps of the row's scale, in 0.1 kg."""
    return next(place.interval_hg for place in p.season.places if place.code == row["_at"])


def capacity(p: Planting, row: Row) -> int:
    """Return what the row's scale can weigh, in steps of 0.1 kg."""
    return next(10 * place.capacity_kg for place in p.season.places if place.code == row["_at"])


def set_gross(row: Row, gross: int) -> None:
    """Write another gross weight, and the net that follows from it."""
    row["gross_kg"], row["net_kg"] = gross, gross - row["tare_kg"]


def _net_is_gross(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["tare_kg"] >= 5)
    row["net_kg"] = row["gross_kg"]
    p.note(name, KIND, row, money=True)


def _net_miscopied(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["net_kg"] > 300 and row["net_kg"] % 100 // 10 < 9)
    row["net_kg"] += 10 * p.whole(1, 9 - row["net_kg"] % 100 // 10)
    p.note(name, KIND, row, money=True)


def _tare_above_gross(p: Planting, name: str) -> None:
    row = p.free(KIND)
    row["tare_kg"] = row["gross_kg"] + 10 * p.whole(1, 12)
    p.note(name, KIND, row, money=True)


def _off_interval(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: interval(p, row) == 2)
    set_gross(row, row["gross_kg"] + 1)
    p.note(name, KIND, row, money=True)


def _above_capacity(p: Planting, name: str) -> None:
    row = p.free(KIND)
    set_gross(row, capacity(p, row) + 10 * p.whole(1, 90))
    p.note(name, KIND, row, money=True)


def _changed(
    p: Planting,
    name: str,
    new: Callable[[Row], int],
    suits: Callable[[Row], bool] = lambda row: True,
) -> None:
    """Plant a slip of the gross weight that the scale could have shown; net follows from it."""
    for _ in range(40):
        row = p.free(KIND, suits)
        gross = new(row)
        gross -= gross % interval(p, row)
        seen = capacity(p, row) >= gross > row["tare_kg"] + 20
        if seen and abs(gross - row["gross_kg"]) >= 20:
            set_gross(row, gross)
            _note(p, name, row)
            return
    raise NoRowLeft(KIND)


def _note(p: Planting, name: str, row: Row) -> None:
    """Note a slip in a weighing; what the member wrote down of the receipt may tell of it too."""
    records = [place for place in p.receipt_rows(row["_receipt"]) if place[0] == "deliveries"]
    carded = any(
        card["station"] == row["station"]
        and card["day"] == row["day"]
        and card["form"] == "fresh_cherry"
        for card in p.season.rows["lots"]
        if card["step"] == "receiving"
    )
    # What one bag cannot hold shows as well.
    full = row["net_kg"] > 10 * MOST_IN_A_BAG * row["bags"]
    p.note(name, KIND, row, also=records, money=True, traced=bool(records) or carded or full)


def _point_lost(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["gross_kg"] * 10 > capacity(p, row))
    set_gross(row, row["gross_kg"] * 10)
    p.note(name, KIND, row, money=True)


def _point_gained(p: Planting, name: str) -> None:
    _changed(p, name, lambda row: row["gross_kg"] // 10)


def _pounds(p: Planting, name: str) -> None:
    _changed(p, name, lambda row: round(row["gross_kg"] / KG_A_POUND))


def _swapped(p: Planting, name: str) -> None:
    def swap(row: Row) -> int:
        # 61.2 becomes 16.2: whole kilograms, since a swapped last digit is within the scale's error
        digits = str(row["gross_kg"])
        at = p.whole(0, max(0, len(digits) - 3))
        return int(digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :])

    _changed(p, name, swap)


def _replaced(p: Planting, name: str) -> None:
    def replace(row: Row) -> int:
        place = 10 ** p.whole(1, 2)
        digit = row["gross_kg"] // place % 10
        return row["gross_kg"] + (int(LOOKALIKE[digit]) - digit) * place

    _changed(p, name, replace)


def _dry(row: Row) -> bool:
    return row["form"] != "fresh_cherry"


def _moisture(
    value: int | None, twist: Callable[[int], int] | None = None
) -> Callable[[Planting, str], None]:
    def plant(p: Planting, name: str) -> None:
        row = p.free(KIND, _dry)
        row["moisture_pct"] = twist(row["moisture_pct"]) if twist else value
        p.note(name, KIND, row, money=True)

    return plant


def _ten_times(p: Planting, name: str) -> None:
    _changed(p, name, lambda row: row["gross_kg"] * 10)


def _fresh_weight(p: Planting, name: str) -> None:
    """Write down for dried cherry what it weighed fresh, about three times as much."""
    _changed(p, name, lambda row: row["gross_kg"] * 3, lambda row: row["form"] == "dry_cherry")


def _tins(p: Planting, name: str) -> None:
    """Write down how many tins of 15 kg of fresh cherry were poured, to half a tin."""

    def tins(row: Row) -> int:
        return row["tare_kg"] + 5 * max(5, round(row["net_kg"] / 75))

    _changed(p, name, tins, lambda row: row["form"] == "fresh_cherry" and row["net_kg"] > 375)


def _as_parchment(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["form"] == "fresh_cherry")
    row["form"] = "parchment"
    _note(p, name, row)


def _with_a_reading(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["form"] == "fresh_cherry")
    row |= {"form": "parchment", "moisture_pct": p.whole(112, 126)}
    _note(p, name, row)


def _odd_tare(p: Planting, name: str) -> None:
    """Take off the tare of a bag as heavy as no bag is."""
    row = p.free(KIND, lambda row: row["net_kg"] > 300)
    row["tare_kg"] = 10 * p.whole(8, 14)
    set_gross(row, row["gross_kg"])
    p.note(name, KIND, row, money=True)


def _last_years(p: Planting, name: str) -> None:
    """Bring dry coffee in the season's first week, before any can have dried."""
    row = p.free(KIND, lambda row: row["_week"] == 0 and row["species"] == "arabica")
    row |= {"form": "parchment", "moisture_pct": p.whole(112, 126)}
    p.note(name, KIND, row, money=True)


# Why some slips of a weight stay unseen.
FITS = (
    "Where the weight fits the member's other deliveries, the member keeps no record and no lot's "
    "card of that day tells what came in, nothing in these data tells it from a true one."
)
READING = "With a reading made up, only the weight against the member's past can tell."
FAULTS = (
    Fault(kind="net is the gross weight", of="arithmetic", plant=_net_is_gross),
    Fault(kind="net miscopied by kilograms", of="arithmetic", plant=_net_miscopied),
    Fault(kind="tare above gross", of="arithmetic", plant=_tare_above_gross),
    Fault(kind="gross between the scale's steps", of="physics", plant=_off_interval),
    Fault(kind="gross above the scale's capacity", of="physics", plant=_above_capacity),
    Fault(kind="point lost: ten times, above capacity", of="physics", plant=_point_lost),
    Fault(kind="moisture 41 for 11.4", of="physics", plant=_moisture(410)),
    Fault(kind="moisture point lost", of="physics", plant=_moisture(None, lambda m: m * 10)),
    Fault(kind="point a place too far left: a tenth", of="slip", plant=_point_gained, cannot=FITS),
    Fault(kind="ten times, within the scale's reach", of="slip", plant=_ten_times, cannot=FITS),
    Fault(kind="fresh weight for dried cherry", of="slip", plant=_fresh_weight, cannot=FITS),
    Fault(kind="tins for kilograms", of="slip", plant=_tins, cannot=FITS),
    Fault(kind="pounds for kilograms", of="slip", plant=_pounds, cannot=FITS),
    Fault(kind="digits swapped, net follows", of="slip", plant=_swapped, cannot=FITS),
    Fault(kind="digit misread, net follows", of="slip", plant=_replaced, cannot=FITS),
    Fault(kind="fresh cherry entered as parchment", of="slip", plant=_as_parchment),
    Fault(kind="the same with a reading made up", of="slip", plant=_with_a_reading, cannot=READING),
    Fault(kind="tare of eight kilograms or more", of="slip", plant=_odd_tare),
    Fault(kind="dry coffee before any can be dry", of="elsewhere", plant=_last_years),
    Fault(kind="moisture missing", of="moisture", plant=_moisture(None)),
    Fault(kind="moisture too damp to store", of="moisture", plant=_moisture(158)),
)
