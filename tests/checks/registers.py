"""Rows for the rules on members, plots and prices."""

from tests.checks.cases import (
    FAILS,
    LAND_HIGH,
    LAND_OK,
    LEFT,
    LIMIT,
    MISTYPED,
    STRANGER,
    TREES_HIGH,
    TREES_OK,
    Case,
    cells_of,
    fails,
    limit,
    passes,
)
from tests.take.small import number


def square(degrees: str, west: float = 36) -> str:
    """A square from the equator on, as WKT; elsewhere for each plot, so that none overlap."""
    east = west + float(degrees)
    return f"POLYGON (({west} 0, {east} 0, {east} {degrees}, {west} {degrees}, {west} 0))"


def overlapping(west: int, share: float) -> str:
    """A square of 0.3386 ha, of which this share lies over that of `west`."""
    return square("0.0005245", west + (1 - share) * 0.0005245)


# 0.2720 ha on the ellipsoid; a quarter more is 0.3400 ha.
ROUND, ROUND_ELSEWHERE = square("0.0004701", 37), square("0.0004701", 38)

MEMBERS = [
    *cells_of({"joined": "last spring"}, {"village": ""}),
    passes("unknown-station", station="ARD"),
    fails("unknown-station", station="KEZ"),
    passes("member-number-check"),
    fails("member-number-check", member_no=MISTYPED),
    passes("listed-twice", member_no=number(1900)),
    fails("listed-twice", member_no=number(1900)),
    passes("in-the-future"),
    limit("in-the-future", joined="2026-06-30"),
    limit("in-the-future", "in-the-future", joined="2026-07-01"),
    fails("in-the-future", consent_on="2027-02-16"),
    # Whom payments are made to after leaving.
    passes("wrong-order", member_no=LEFT, left_on="2026-05-08"),
    # Who leaves may say so beforehand.
    passes("in-the-future", left_on="2026-09-30"),
    passes("impossible-value", shares="5"),
    limit("impossible-value", shares="0"),
    limit("impossible-value", "impossible-value", shares="-1"),
    fails("impossible-value", shares="-5"),
    passes("wrong-order", joined="2019-02-11", left_on="2026-05-04"),
    limit("wrong-order", joined="2026-05-04", left_on="2026-05-04"),
    limit("wrong-order", "wrong-order", joined="2026-05-05", left_on="2026-05-04"),
    fails("wrong-order", joined="2019-02-11", left_on="2009-02-11"),
]

PLOTS = [
    *cells_of({"trees": "many"}, {"area_ha": ""}),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("listed-twice", plot_no="twice"),
    fails("listed-twice", plot_no="twice"),
    passes("planted-in-future", planted_year="2000"),
    limit("planted-in-future", planted_year="2026", trees_bearing="0"),
    limit("planted-in-future", "planted-in-future", planted_year="2027", trees_bearing="0"),
    limit("planted-in-future", planted_year="1900"),
    fails("planted-in-future", planted_year="1899"),
    passes("impossible-value"),
    limit("impossible-value", trees="0", trees_bearing="0"),
    fails("impossible-value", "bearing-over-trees", trees="-1", trees_bearing="0"),
    fails("impossible-value", trees_bearing="-1"),
    limit(
        "impossible-value",
        "impossible-value",
        trees="0",
        trees_bearing="0",
        area_ha="0",
    ),
    fails("impossible-value", row_spacing_m="0"),
    fails("impossible-value", tree_spacing_m="-2"),
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
    passes("boundary-missing"),
    limit("boundary-missing", "density-off-species", area_ha="4", row_spacing_m=""),
    fails("boundary-missing", "density-off-species", area_ha="4.0001", row_spacing_m=""),
    passes("area-off-boundary", boundary=square("0.0005245")),
    limit("area-off-boundary", boundary=ROUND, area_ha="0.34"),
    limit("area-off-boundary", "area-off-boundary", boundary=ROUND_ELSEWHERE, area_ha="0.3401"),
    fails("area-off-boundary", boundary=square("0.005", 39), area_ha="0.34"),
    # Four decimals of a hectare: 0.0338 of 0.3386 ha is 9.98 %, 0.0339 is 10.01 %.
    passes("plots-overlap", boundary=square("0.0005245", 41)),
    limit("plots-overlap", boundary=overlapping(41, 0.0998)),
    passes("plots-overlap", boundary=square("0.0005245", 42)),
    limit("plots-overlap", "plots-overlap", boundary=overlapping(42, 0.1002)),
    passes("plots-overlap", boundary=square("0.0005245", 43)),
    fails("plots-overlap", boundary=overlapping(43, 0.5)),
    # A point encloses nothing to compare with.
    passes("area-off-boundary", boundary="POINT (36.1 -1.2)"),
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
    passes("in-the-future"),
    limit("in-the-future", counted_on="2026-06-30"),
    limit("in-the-future", "in-the-future", counted_on="2026-07-01"),
    # A year is compared with the year in which the sheet came in.
    limit("in-the-future", pruned_year="2026"),
    fails("in-the-future", pruned_year="2027"),
    fails("in-the-future", stumped_year="2031"),
    fails("impossible-value", gaps="-1"),
    limit("impossible-value", latitude="-90", longitude="180"),
    limit("impossible-value", "impossible-value", latitude="-90.000001", longitude="36"),
    limit("impossible-value", "impossible-value", latitude="1", longitude="180.000001"),
    fails("impossible-value", latitude="123", longitude="36"),
    fails("impossible-value", stumped_year="23"),
]

PRICES = [
    *cells_of({"price_per_kg": "0,62"}, {"list_no": ""}),
    passes("listed-twice", grade="TWICE"),
    fails("listed-twice", grade="TWICE"),
    passes("impossible-value", grade="P1"),
    limit("impossible-value", grade="P2", price_per_kg="0.0001"),
    limit("impossible-value", "impossible-value", grade="P3", price_per_kg="0"),
    fails("impossible-value", grade="P4", price_per_kg="-1"),
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
    passes("unknown-station", grade="S1", station="ARD"),
    fails("unknown-station", grade="S2", station="KEZ"),
    limit("impossible-value", grade="P5", moisture_up_to="100"),
    fails("impossible-value", grade="P6", moisture_up_to="101"),
    passes("wrong-order", grade="W1", until_day="2026-06-28"),
    limit("wrong-order", grade="W2", until_day="2026-03-30"),
    fails("wrong-order", grade="W3", until_day="2026-03-29"),
    fails("wrong-order", grade="W4", moisture_above="13", moisture_up_to="12"),
    # Bands of moisture: the second row of each list is the one that is looked at.
    *(
        case
        for grade, above, flags in (
            ("B1", "12", ()),
            ("B2", "11.99", ("price-bands-overlap",)),
            ("B3", "12.01", ("price-bands-gap",)),
            ("B4", "9", ("price-bands-overlap",)),
            ("B5", "13", ("price-bands-gap",)),
        )
        for part in (LIMIT if grade < "B4" else FAILS,)
        for rule in (flags or ("price-bands-overlap", "price-bands-gap"))
        for case in (
            passes(rule, grade=f"{grade}{rule[-3:]}", moisture_up_to="12"),
            Case(
                rule,
                part,
                {"grade": f"{grade}{rule[-3:]}", "moisture_above": above},
                frozenset(flags),
            ),
        )
    ),
    # The list before it ends: the next one begins the day after, or leaves a day without a price.
    *(
        case
        for grade, until, case_of in (
            ("D1", "2026-05-03", lambda c: limit("price-days-gap", **c)),
            ("D2", "2026-05-02", lambda c: limit("price-days-gap", "price-days-gap", **c)),
            ("D3", "2026-04-02", lambda c: fails("price-days-gap", **c)),
        )
        for case in (
            passes("price-days-gap", grade=grade, until_day=until),
            case_of({"grade": grade, "from_day": "2026-05-04"}),
        )
    ),
    # What weighings of grade M are paid by: only up to 13 % moisture.
    passes("price-bands-gap", grade="M", moisture_up_to="13"),
]
