"""Rows for the rules on lots, sales and counts; a lot's first line, its opening stock, feeds it."""

from tests.checks.cases import FAILS, LIMIT, PASSES, Case, fails, limit, passes

# What makes the declared example of a kind stand alone: stock that was there, sold in small parts.
ALONE = {
    "lots": {"step": "opening stock", "kg_in": "", "from_lots": "", "begun_at": "", "ended_at": ""},
    "sales": {"lot_no": "STOCK", "net_kg": "1.0"},
    "store_checks": {"counted_kg": ""},
}

EMPTY = dict.fromkeys(
    ("kg_in", "kg_out", "begun_at", "ended_on", "ended_at", "moisture_pct", "from_lots"), ""
)


def line(lot_no: str, no: str, step: str, **cells: str) -> dict[str, str]:
    """One line of a card with nothing on it but what is given."""
    return EMPTY | {"lot_no": lot_no, "line": no, "step": step, "form": "parchment"} | cells


def opened(rule: str, lot_no: str, kg: str = "100", **cells: str) -> Case:
    return passes(rule, **line(lot_no, "1", "opening stock", kg_out=kg, **cells))


def after(rule: str, part: str, lot_no: str, step: str, *flags: str, **cells: str) -> list[Case]:
    """A lot of 100 kg and the second line of its card, which the case is about."""
    opening = {"form": cells.pop("was", "parchment")}
    case = Case(rule, part, line(lot_no, "2", step, **cells), frozenset(flags))
    return [opened(rule, lot_no, **opening), case]


def _rows() -> list[Case]:
    """The rules that look at a line and the line above it."""
    rested = {"kg_in": "100"}
    begun = {"begun_at": "08:00"}
    return [
        *after("lot-grew", PASSES, "G1", "resting", kg_out="99.8", **rested),
        *after("lot-grew", LIMIT, "G2", "resting", kg_out="100", **rested),
        *after("lot-grew", LIMIT, "G3", "resting", "lot-grew", kg_out="100.001", **rested),
        *after("lot-grew", FAILS, "G4", "resting", "lot-grew", kg_out="140", **rested),
        *after("lot-form-goes-back", PASSES, "B1", "hulling", form="green", kg_out="80", **rested),
        *after("lot-form-goes-back", LIMIT, "B2", "resting", kg_out="100", **rested),
        *after("lot-form-goes-back", FAILS, "B3", "resting", "lot-form-goes-back", was="green"),
        *after("lot-step-before-last", PASSES, "O1", "resting", day="2026-05-06"),
        *after("lot-step-before-last", LIMIT, "O2", "resting", day="2026-05-04"),
        *after(
            "lot-step-before-last", FAILS, "O3", "resting", "lot-step-before-last", day="2026-05-03"
        ),
        *(
            case
            for lot_no, part, at, flags in (
                ("P1", PASSES, "11:00", ()),
                ("P2", LIMIT, "18:00", ()),
                # Hours are told to the tenth.
                ("P3", LIMIT, "18:06", ("pulped-late",)),
                ("P4", FAILS, "23:00", ("pulped-late",)),
            )
            for case in (
                opened("pulped-late", lot_no, form="fresh cherry"),
                passes(
                    "pulped-late",
                    **line(lot_no, "2", "receiving", form="fresh cherry", begun_at="06:00"),
                ),
                Case(
                    "pulped-late",
                    part,
                    line(lot_no, "3", "pulping", begun_at=at, kg_in="100", kg_out="50"),
                    frozenset(flags),
                ),
            )
        ),
        *(
            case
            for lot_no, part, on, at, flags in (
                ("F1", PASSES, "2026-05-05", "02:00", ()),
                ("F2", LIMIT, "2026-05-04", "14:00", ()),
                ("F3", LIMIT, "2026-05-04", "13:54", ("fermented-outside",)),
                ("F4", LIMIT, "2026-05-07", "08:00", ()),
                ("F5", LIMIT, "2026-05-07", "08:06", ("fermented-outside",)),
                ("F6", FAILS, "2026-05-10", "08:00", ("fermented-outside",)),
            )
            for case in after(
                "fermented-outside", part, lot_no, "fermenting", *flags,
                ended_on=on, ended_at=at, **begun,
            )
        ),
    ]  # fmt: skip


def _dried() -> list[Case]:
    """From the fourth of May: parchment dries in 6 to 14 days, cherry in 12 to 28."""
    fast, slow = "dried-too-fast", "dried-too-slow"
    cherry = {"form": "dry cherry", "was": "fresh cherry"}
    return [
        case
        for lot_no, rule, part, on, flags, more in (
            ("D01", fast, PASSES, "2026-05-13", (), {}),
            ("D02", fast, LIMIT, "2026-05-10", (), {}),
            ("D03", fast, LIMIT, "2026-05-09", (fast,), {}),
            ("D04", fast, LIMIT, "2026-05-16", (), cherry),
            ("D05", fast, LIMIT, "2026-05-15", (fast,), cherry),
            # What is not dry yet did not dry too fast.
            ("D06", fast, LIMIT, "2026-05-06", (fast,), {"moisture_pct": "13.5"}),
            ("D07", fast, LIMIT, "2026-05-06", (), {"moisture_pct": "13.51"}),
            ("D08", fast, FAILS, "2026-05-05", (fast,), {}),
            ("D09", slow, PASSES, "2026-05-13", (), {}),
            ("D10", slow, LIMIT, "2026-05-18", (), {}),
            ("D11", slow, LIMIT, "2026-05-19", (slow,), {}),
            ("D12", slow, LIMIT, "2026-06-01", (), cherry),
            ("D13", slow, LIMIT, "2026-06-02", (slow,), cherry),
            ("D14", slow, FAILS, "2026-06-20", (slow,), {}),
        )
        for case in after(rule, part, lot_no, "drying", *flags, ended_on=on, **more)
    ]


def _followed() -> list[Case]:
    """What is found when the coffee of these cards is followed."""
    mixed = {"kg_in": "50", "kg_out": "50"}
    nothing, gone, unknown = "lot-from-nothing", "lot-all-gone", "lot-source-unknown"
    return [
        passes("lot-in-a-loop", **line("L3", "1", "mixing", from_lots="L4", **mixed)),
        opened("lot-in-a-loop", "L4"),
        fails("lot-in-a-loop", **line("L1", "1", "mixing", from_lots="L2", **mixed)),
        fails("lot-in-a-loop", **line("L2", "1", "mixing", from_lots="L1", **mixed)),
        fails("lot-in-a-loop", **line("L5", "1", "mixing", from_lots="L5", **mixed)),
        opened("lot-without-weight", "W1"),
        passes("lot-without-weight", **line("W2", "1", "mixing", from_lots="W1", **mixed)),
        fails("lot-without-weight", **line("W3", "1", "hulling", form="green", kg_out="40")),
        opened(nothing, "N1", day="2026-05-05"),
        passes(nothing, **line("N2", "1", "mixing", from_lots="N1", day="2026-05-06", **mixed)),
        limit(nothing, **line("N3", "1", "mixing", from_lots="N1", day="2026-05-05", **mixed)),
        limit(
            nothing, nothing,
            **line("N4", "1", "mixing", from_lots="N1", day="2026-05-04", **mixed),
        ),
        # Nobody brought dried cherry of robusta.
        fails(
            nothing,
            **line("N5", "1", "hulling", species="robusta", form="dry cherry", **mixed),
        ),
        opened(unknown, "S1"),
        passes(unknown, **line("S2", "1", "mixing", from_lots="S1", kg_in="20", kg_out="20")),
        fails(unknown, **line("S3", "1", "mixing", from_lots="S1, NONE", kg_in="20", kg_out="20")),
        # Half a per cent left behind is handling, and then the lot is empty; a gram more is there.
        *(
            case
            for lot_no, part, taken, left, flags in (
                ("A1", PASSES, "60", "40", ()),
                ("A2", LIMIT, "99.499", "0.501", ()),
                ("A3", LIMIT, "99.5", "0.5", (gone,)),
                ("A4", FAILS, "100", "10", (gone,)),
            )
            for case in (
                opened(gone, lot_no),
                passes(
                    gone,
                    **line(
                        f"{lot_no}B", "1", "mixing",
                        from_lots=lot_no, day="2026-05-05", kg_in=taken, kg_out=taken,
                    ),
                ),
                Case(
                    gone,
                    part,
                    line(lot_no, "2", "resting", day="2026-05-06", kg_in=left, kg_out=left),
                    frozenset(flags),
                ),
            )
        ),
    ]  # fmt: skip


def _worked_out() -> list[Case]:
    """100 kg of parchment hulled: 72 to 88 kg of green, half a kilogram for handling, one asked."""
    loss, gain = "lot-loss-unexplained", "lot-gain-unexplained"
    return [
        case
        for lot_no, rule, part, out, flags in (
            ("U1", loss, PASSES, "80", ()),
            ("U2", loss, LIMIT, "70.5", ()),
            ("U3", loss, LIMIT, "70.499", (loss,)),
            ("U4", loss, FAILS, "60", (loss,)),
            ("U5", gain, PASSES, "88", ()),
            ("U6", gain, LIMIT, "89", ()),
            ("U7", gain, LIMIT, "89.001", (gain,)),
            ("U8", gain, FAILS, "97", (gain,)),
        )
        for case in after(
            rule, part, lot_no, "hulling", *flags, form="green", kg_in="100", kg_out=out
        )
    ]


# Lots that sales and counts are about: stock, and one that was washed and dried by the fifteenth.
WASHED = [
    opened("dried-too-slow", "WASHED", form="fresh cherry"),
    passes("dried-too-slow", **line("WASHED", "2", "pulping", kg_in="100", kg_out="50")),
    passes(
        "dried-too-slow",
        **line(
            "WASHED", "3", "drying",
            day="2026-05-05", ended_on="2026-05-15", kg_in="50", kg_out="25",
        ),
    ),
]  # fmt: skip
STOCK = [
    opened("lot-all-gone", "STOCK", "10000", day="2026-03-30"),
    opened("lot-all-gone", "GREEN", form="green"),
    *(opened("lot-all-gone", f"STOCK{n}") for n in range(1, 9)),
]

SALES = [
    passes("sold-more-than-stock", lot_no="STOCK1", net_kg="60"),
    limit("sold-more-than-stock", lot_no="STOCK2", net_kg="100"),
    limit("sold-more-than-stock", "sold-more-than-stock", lot_no="STOCK3", net_kg="100.001"),
    fails("sold-more-than-stock", lot_no="STOCK1", net_kg="60"),
    passes("sold-before-dried", lot_no="WASHED", day="2026-05-16"),
    limit("sold-before-dried", lot_no="WASHED", day="2026-05-15"),
    limit("sold-before-dried", "sold-before-dried", lot_no="WASHED", day="2026-05-14"),
    fails("sold-before-dried", lot_no="WASHED", day="2026-05-05"),
]

STORE_CHECKS = [
    passes("counted-what-was-not-there", lot_no="STOCK4", counted_kg="100"),
    limit("counted-what-was-not-there", lot_no="EMPTY", counted_kg="0"),
    limit(
        "counted-what-was-not-there",
        "counted-what-was-not-there",
        lot_no="EMPTY1",
        counted_kg="0.001",
    ),
    fails("counted-what-was-not-there", lot_no="EMPTY2", counted_kg="250"),
    passes("count-differs", lot_no="STOCK4", counted_kg="100", day="2026-05-12"),
    limit("count-differs", lot_no="STOCK5", counted_kg="99"),
    limit("count-differs", "count-differs", lot_no="STOCK6", counted_kg="98.999"),
    limit("count-differs", lot_no="STOCK7", counted_kg="101"),
    limit("count-differs", "count-differs", lot_no="STOCK8", counted_kg="101.001"),
    fails("count-differs", lot_no="STOCK4", counted_kg="50", day="2026-05-13"),
    *(
        Case(
            "damper-than-before",
            part,
            {"stack": stack, "day": day, "moisture_pct": read},
            frozenset(flags),
        )
        for stack, part, day, read, flags in (
            ("DAMP", PASSES, "2026-05-04", "10.5", ()),
            ("DAMP", LIMIT, "2026-05-05", "11.49", ()),
            ("DAMP", LIMIT, "2026-05-06", "11.5", ("damper-than-before",)),
            ("DAMP", FAILS, "2026-05-07", "13.4", ("damper-than-before",)),
        )
    ),
]

LOT_CASES = {
    "lots": [*_rows(), *_dried(), *_followed(), *_worked_out(), *WASHED, *STOCK],
    "sales": SALES,
    "store_checks": STORE_CHECKS,
}
