"""Rows for every rule: one that passes, one that fails and, where it compares, one at the limit.

Each case is one row of a sheet: its changed cells, the rule that it is about, and every flag that
it must get. All cases of a kind stand in one sheet, and all sheets in one book.
"""

from dataclasses import dataclass, field

from tests.take.small import ASHA, SETTINGS, number

PASSES, FAILS, LIMIT = "passes", "fails", "limit"

STRANGER = number(7777)
MISTYPED = ASHA[:-1] + str((int(ASHA[-1]) + 1) % 10)
OWED, OVERPAID = number(1004), number(1005)
TREES_OK, TREES_HIGH, LAND_OK, LAND_HIGH = (number(n) for n in (1006, 1007, 1008, 1009))
OTHERS = (OWED, OVERPAID, TREES_OK, TREES_HIGH, LAND_OK, LAND_HIGH)

# Rules that ask whether something is there or the same: there is no value just inside or outside.
NO_LIMIT = frozenset(
    {
        "unreadable-cell",
        "missing-cell",
        "missing-column",
        "unknown-station",
        "unknown-scale",
        "scale-of-another-station",
        "unknown-member",
        "unknown-plot",
        "member-number-check",
        "listed-twice",
        "receipt-line-twice",
        "payment-twice",
        "key-used-twice",
        "gone-from-later-version",
        "moisture-missing",
        "record-row-empty",
    }
)


def _scale(code: str, interval: str, verified: str) -> str:
    return (
        f'\n[[scale]]\ncode = "{code}"\nstation = "KES"\ncapacity_kg = "150"\n'
        f'interval_kg = "{interval}"\nclass = "III"\n'
        + (f"verified = {verified}\n" if verified else "")
    )


# Beside the scales of every small book: a fine one, two near a year old, one never verified.
CHECK_SETTINGS = SETTINGS + "".join(
    _scale(code, interval, verified)
    for code, interval, verified in (
        ("KES-FINE", "0.05", "2026-02-10"),
        ("KES-YEAR", "0.1", "2025-05-04"),
        ("KES-OVER", "0.1", "2025-05-03"),
        ("KES-NEVER", "0.1", ""),
    )
)


@dataclass(frozen=True)
class Case:
    """One row: which rule it is about and in what part, its cells, and the flags it must get."""

    rule: str
    part: str
    cells: dict[str, str] = field(default_factory=dict)
    flags: frozenset[str] = frozenset()


def passes(rule: str, *beside: str, **cells: str) -> Case:
    return Case(rule, PASSES, cells, frozenset(beside))


def fails(rule: str, *beside: str, **cells: str) -> Case:
    return Case(rule, FAILS, cells, frozenset({rule, *beside}))


def limit(rule: str, *flags: str, **cells: str) -> Case:
    """A row right at the limit or the least step beyond; `flags`: all that it must get."""
    return Case(rule, LIMIT, cells, frozenset(flags))


# Whether a cell can be read or is there at all is asked of every kind in the same way.
def _cells_of(unreadable: dict[str, str], missing: dict[str, str]) -> list[Case]:
    return [
        passes("unreadable-cell"),
        fails("unreadable-cell", **unreadable),
        passes("missing-cell"),
        fails("missing-cell", **missing),
    ]


def days(**more: str) -> list[Case]:
    """The season's days, and the day on which the sheets came in: 2026-06-30."""
    return [
        passes("outside-season", day="2026-05-04", **more),
        limit("outside-season", day="2026-03-30", **more),
        limit("outside-season", "outside-season", day="2026-03-29", **more),
        fails("outside-season", day="2025-05-04", **more),
        fails("outside-season", "in-the-future", day="2026-10-05", **more),
        passes("in-the-future", day="2026-06-29", **more),
        limit("in-the-future", day="2026-06-30", **more),
        limit("in-the-future", "in-the-future", day="2026-07-01", **more),
        # The season's last day is in it, though it is still to come.
        fails("in-the-future", day="2026-10-04", **more),
    ]


MEMBERS = [
    *_cells_of({"joined": "last spring"}, {"village": ""}),
    passes("unknown-station", station="ARD"),
    fails("unknown-station", station="KEZ"),
    passes("member-number-check"),
    fails("member-number-check", member_no=MISTYPED),
    passes("listed-twice", member_no=number(1900)),
    fails("listed-twice", member_no=number(1900)),
]

PLOTS = [
    *_cells_of({"trees": "many"}, {"area_ha": ""}),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("listed-twice", plot_no="twice"),
    fails("listed-twice", plot_no="twice"),
    passes("planted-in-future", planted_year="2000"),
    limit("planted-in-future", planted_year="2026", trees_bearing="0"),
    limit("planted-in-future", "planted-in-future", planted_year="2027", trees_bearing="0"),
    limit("planted-in-future", planted_year="1900"),
    fails("planted-in-future", planted_year="1899"),
    passes("plot-number-not-positive"),
    limit("plot-number-not-positive", trees="0", trees_bearing="0"),
    fails("plot-number-not-positive", "bearing-over-trees", trees="-1", trees_bearing="0"),
    fails("plot-number-not-positive", trees_bearing="-1"),
    limit(
        "plot-number-not-positive",
        "plot-number-not-positive",
        trees="0",
        trees_bearing="0",
        area_ha="0",
    ),
    fails("plot-number-not-positive", row_spacing_m="0"),
    fails("plot-number-not-positive", tree_spacing_m="-2"),
    passes("bearing-over-trees"),
    limit("bearing-over-trees", trees="640", trees_bearing="640"),
    fails("bearing-over-trees", trees="640", trees_bearing="641"),
    # 2.5 m by 2.0 m is 2000 trees a hectare, 680 on 0.34 ha, and a tenth more is 748.
    passes("trees-over-land", trees="680"),
    limit("trees-over-land", trees="748"),
    limit("trees-over-land", "trees-over-land", trees="749"),
    fails("trees-over-land", trees="1400"),
    passes("trees-over-land", trees="1400", row_spacing_m="", tree_spacing_m="", layout=""),
    passes("density-off-species", trees="2000", area_ha="1", trees_bearing="0"),
    *(
        limit(
            "density-off-species",
            *flags,
            species=species,
            trees=trees,
            trees_bearing="0",
            area_ha="1",
            row_spacing_m="",
            tree_spacing_m="",
        )
        for species, trees, flags in (
            ("arabica", "650", ()),
            ("arabica", "649", ("density-off-species",)),
            ("arabica", "5000", ()),
            ("arabica", "5001", ("density-off-species",)),
            ("robusta", "550", ()),
            ("robusta", "549", ("density-off-species",)),
            ("robusta", "2800", ()),
        )
    ),
    fails(
        "density-off-species",
        species="robusta",
        trees="2801",
        trees_bearing="0",
        area_ha="1",
        row_spacing_m="",
        tree_spacing_m="",
    ),
    passes("bearing-before-time", planted_year="2020"),
    limit("bearing-before-time", planted_year="2024"),
    limit("bearing-before-time", "bearing-before-time", planted_year="2025"),
    fails("bearing-before-time", planted_year="2025", trees_bearing="1"),
    passes("bearing-before-time", planted_year="2025", trees_bearing="0"),
    passes("yield-above-ceiling"),
    # 40.000 kg green from 10 bearing trees is 4 kg a tree; 40.080 kg is more.
    *(
        Case(
            "yield-above-ceiling",
            part,
            {"member_no": no, "trees": "1000", "trees_bearing": "10", "area_ha": "0.5"},
            frozenset(flags),
        )
        for no, part, flags in (
            (TREES_OK, LIMIT, ()),
            (TREES_HIGH, FAILS, ("yield-above-ceiling",)),
        )
    ),
    # 66.000 kg green from 0.01 ha is 6600 kg a hectare; 66.080 kg is more.
    *(
        Case(
            "yield-above-ceiling",
            part,
            {"member_no": no, "trees": "20", "trees_bearing": "20", "area_ha": "0.01"},
            frozenset(flags),
        )
        for no, part, flags in (
            (LAND_OK, LIMIT, ()),
            (LAND_HIGH, FAILS, ("yield-above-ceiling",)),
        )
    ),
]

PRICES = [
    *_cells_of({"price_per_kg": "0,62"}, {"list_no": ""}),
    passes("listed-twice", grade="TWICE"),
    fails("listed-twice", grade="TWICE"),
    passes("price-not-positive", grade="P1"),
    limit("price-not-positive", grade="P2", price_per_kg="0.0001"),
    limit("price-not-positive", "price-not-positive", grade="P3", price_per_kg="0"),
    fails("price-not-positive", grade="P4", price_per_kg="-1"),
    # Three prices of one coffee: the middle one is 1.00, and three times away is not too far.
    *(
        case
        for grade, price, case_of in (
            ("F1", "2.0000", lambda c: passes("price-far-from-others", **c)),
            ("F2", "3.0000", lambda c: limit("price-far-from-others", **c)),
            (
                "F3",
                "3.0001",
                lambda c: limit("price-far-from-others", "price-far-from-others", **c),
            ),
            ("F4", "0.3334", lambda c: limit("price-far-from-others", **c)),
            ("F5", "0.3333", lambda c: fails("price-far-from-others", **c)),
        )
        for case in (
            passes("price-far-from-others", grade=grade, from_day="2026-03-30"),
            passes("price-far-from-others", grade=grade, from_day="2026-04-30"),
            case_of({"grade": grade, "from_day": "2026-05-30", "price_per_kg": price}),
        )
    ),
    # What the weighings are paid by: parchment from the season's first day, the others from May.
    passes("price-far-from-others", form="fresh cherry", price_per_kg="0.6000"),
    passes("price-far-from-others", grade="2", from_day="2026-05-04", price_per_kg="0.9000"),
]


def on_receipt(number: int) -> dict[str, str]:
    """The receipt of one of the weighings that the members' own records are held against."""
    return {"receipt_book": "K09", "receipt_no": str(number), "day": "2026-05-06"}


WEIGHINGS = [
    *_cells_of({"gross_kg": "12.5.3"}, {"form": ""}),
    *days(),
    passes("unknown-station"),
    fails("unknown-station", station="KEZ"),
    passes("unknown-scale"),
    fails("unknown-scale", scale="KES-9"),
    passes("scale-of-another-station", station="ARD", scale="ARD-1"),
    fails("scale-of-another-station", station="KES", scale="ARD-1"),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("receipt-line-twice", receipt_no="900"),
    passes("receipt-line-twice", receipt_no="900", line="2"),
    fails("receipt-line-twice", receipt_no="900"),
    passes("tare-not-below-gross"),
    limit("tare-not-below-gross", tare_kg="61.1", net_kg="0.1"),
    limit("tare-not-below-gross", "tare-not-below-gross", tare_kg="61.2"),
    fails("tare-not-below-gross", tare_kg="70"),
    passes("weight-not-positive"),
    limit("weight-not-positive", tare_kg="0", net_kg="61.2"),
    limit("weight-not-positive", "weight-not-positive", tare_kg="-0.1", net_kg="61.3"),
    fails("weight-not-positive", "net-not-gross-less-tare", net_kg="0"),
    fails("weight-not-positive", gross_kg="0", tare_kg="-1", net_kg="1"),
    passes("net-not-gross-less-tare"),
    # Steps of 0.1 kg, class III in use: 0.1 kg up to 50 kg net, 0.2 kg above.
    limit("net-not-gross-less-tare", gross_kg="51.2", net_kg="49.9"),
    limit("net-not-gross-less-tare", "net-not-gross-less-tare", gross_kg="51.2", net_kg="49.899"),
    limit("net-not-gross-less-tare", "net-not-gross-less-tare", gross_kg="51.4", net_kg="50.0"),
    limit("net-not-gross-less-tare", gross_kg="51.5", net_kg="50.1"),
    fails("net-not-gross-less-tare", net_kg="61.2"),
    passes("off-scale-interval"),
    limit("off-scale-interval", gross_kg="61.25", tare_kg="1.25", scale="KES-FINE"),
    limit("off-scale-interval", "off-scale-interval", gross_kg="61.201", tare_kg="1.201"),
    fails("off-scale-interval", gross_kg="61.25", tare_kg="1.25"),
    passes("below-smallest-load"),
    limit("below-smallest-load", gross_kg="2.0", tare_kg="0.1", net_kg="1.9"),
    limit(
        "below-smallest-load", "below-smallest-load", gross_kg="1.9", tare_kg="0.1", net_kg="1.8"
    ),
    fails("below-smallest-load", gross_kg="1", tare_kg="0.1", net_kg="0.9"),
    passes("above-scale-capacity"),
    limit("above-scale-capacity", gross_kg="150", net_kg="148.8"),
    limit("above-scale-capacity", "above-scale-capacity", gross_kg="150.1", net_kg="148.9"),
    fails("above-scale-capacity", gross_kg="612", net_kg="610.8"),
    passes("scale-not-verified"),
    limit("scale-not-verified", scale="KES-YEAR"),
    limit("scale-not-verified", "scale-not-verified", scale="KES-OVER"),
    # Said once for a scale, at its first weighing.
    passes("scale-not-verified", scale="KES-OVER"),
    fails("scale-not-verified", scale="KES-NEVER"),
    passes("moisture-impossible"),
    limit("moisture-impossible", "moisture-unsafe", moisture_pct="5"),
    limit("moisture-impossible", "moisture-impossible", moisture_pct="4.99"),
    limit("moisture-impossible", "moisture-unsafe", moisture_pct="30"),
    limit("moisture-impossible", "moisture-impossible", moisture_pct="30.01"),
    limit("moisture-impossible", form="fresh cherry", moisture_pct="45"),
    limit("moisture-impossible", "moisture-impossible", form="fresh cherry", moisture_pct="44.99"),
    fails("moisture-impossible", moisture_pct="118"),
    passes("moisture-unsafe"),
    limit("moisture-unsafe", moisture_pct="8"),
    limit("moisture-unsafe", "moisture-unsafe", moisture_pct="7.99"),
    limit("moisture-unsafe", moisture_pct="13.5"),
    limit("moisture-unsafe", "moisture-unsafe", moisture_pct="13.51"),
    fails("moisture-unsafe", moisture_pct="15.4"),
    passes("moisture-missing", form="fresh cherry", moisture_pct=""),
    fails("moisture-missing", moisture_pct=""),
    passes("moisture-missing", "unreadable-cell", moisture_pct="dry"),
    passes("no-price"),
    limit("no-price", grade="2", day="2026-05-04"),
    limit("no-price", "no-price", grade="2", day="2026-05-03"),
    fails("no-price", grade="9"),
    # What the members' own records are held against: 60.0 kg each.
    *(passes("receipt-line-twice", **on_receipt(n)) for n in range(1, 11)),
    # Coffee for the members whose payments and trees are looked at.
    *(passes("tare-not-below-gross", member_no=no) for no in (OWED, OVERPAID)),
    *(
        passes("tare-not-below-gross", member_no=no, gross_kg=gross, net_kg=net)
        for no, gross, net in (
            (TREES_OK, "51.2", "50.0"),
            (TREES_HIGH, "51.3", "50.1"),
            (LAND_OK, "83.7", "82.5"),
            (LAND_HIGH, "83.8", "82.6"),
        )
    ),
]


DELIVERIES = [
    *_cells_of({"kg": "sixty"}, {"written_from": ""}),
    *days(),
    passes("unknown-station"),
    fails("unknown-station", station="KEZ"),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("record-not-positive"),
    limit("record-not-positive", day="2026-04-01", kg="0.001"),
    limit("record-not-positive", "record-not-positive", day="2026-04-01", kg="0"),
    fails("record-not-positive", day="2026-04-01", kg="-60"),
    passes("record-differs", kg="60.0", **on_receipt(1)),
    limit("record-differs", kg="69.0", **on_receipt(2)),
    limit("record-differs", "record-differs", kg="69.001", **on_receipt(3)),
    limit("record-differs", kg="51.0", **on_receipt(4)),
    limit("record-differs", "record-differs", kg="50.999", **on_receipt(5)),
    fails("record-differs", kg="75", **on_receipt(6)),
    passes("record-differs", kg="75", written_from="memory", **on_receipt(7)),
    passes("receipt-copy-differs", kg="60.0", written_from="receipt copy", **on_receipt(8)),
    limit(
        "receipt-copy-differs",
        "receipt-copy-differs",
        kg="60.001",
        written_from="receipt copy",
        **on_receipt(9),
    ),
    fails("receipt-copy-differs", kg="75", written_from="receipt copy", **on_receipt(10)),
    passes("receipt-not-weighed", receipt_book="K09"),
    # The station's last weighing that counts is of 2026-06-30.
    limit("receipt-not-weighed", "receipt-not-weighed", **on_receipt(777) | {"day": "2026-06-30"}),
    limit("receipt-not-weighed", "in-the-future", **on_receipt(777) | {"day": "2026-07-01"}),
    fails("receipt-not-weighed", **on_receipt(777)),
]

FARM_RECORD = [
    *_cells_of({"cost": "twelve"}, {"activity": ""}),
    *days(),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("unknown-plot"),
    passes("unknown-plot", plot_no=""),
    fails("unknown-plot", plot_no="99"),
    passes("record-below-nought"),
    limit("record-below-nought", cost="0"),
    limit("record-below-nought", "record-below-nought", cost="-0.01"),
    fails("record-below-nought", family_days="-1"),
    fails("record-below-nought", hired_days="-0.5"),
    fails("record-below-nought", quantity="-10"),
    passes("labour-over-ceiling", family_days="20", hired_days="10"),
    limit("labour-over-ceiling", family_days="20", hired_days="20"),
    limit("labour-over-ceiling", "labour-over-ceiling", family_days="20", hired_days="20.1"),
    fails("labour-over-ceiling", family_days="", hired_days="200"),
    passes("record-row-empty", family_days="", cost="", quantity="10"),
    fails("record-row-empty", family_days="", cost=""),
]

# 60 kg at 1.00 is 60.00, less 3 % is 58.20.
PAYMENTS = [
    *_cells_of({"amount": "10.005"}, {"method": ""}),
    passes("outside-season"),
    limit("outside-season", day="2026-03-30"),
    limit("outside-season", "outside-season", day="2026-03-29"),
    fails("outside-season", day="2025-05-08"),
    passes("in-the-future"),
    limit("in-the-future", day="2026-06-30"),
    fails("in-the-future", day="2026-07-01"),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("payment-twice", payment_no="TWICE"),
    fails("payment-twice", payment_no="TWICE"),
    passes("payment-not-positive"),
    limit("payment-not-positive", amount="0.01"),
    limit("payment-not-positive", "payment-not-positive", amount="0"),
    fails("payment-not-positive", amount="-10.00"),
    passes("paid-more-than-owed"),
    # On the day of the coffee itself, for the whole of it.
    limit("paid-more-than-owed", member_no=OWED, day="2026-05-04", amount="58.20"),
    passes("paid-more-than-owed", member_no=OVERPAID, amount="58.00"),
    fails("paid-more-than-owed", member_no=OVERPAID, amount="0.21"),
]

CASES: dict[str, list[Case]] = {
    "members": MEMBERS,
    "plots": PLOTS,
    "prices": PRICES,
    "weighings": WEIGHINGS,
    "deliveries": DELIVERIES,
    "farm_record": FARM_RECORD,
    "payments": PAYMENTS,
}

# One required column of each kind, left out of a sheet of its own.
LEFT_OUT = {
    "members": "village",
    "plots": "area_ha",
    "prices": "list_no",
    "weighings": "scale",
    "deliveries": "kg",
    "farm_record": "activity",
    "payments": "method",
}
