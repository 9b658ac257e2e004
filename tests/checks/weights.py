"""Rows for the rules on weighings and the members' own records of them."""

from tests.checks.cases import (
    LAND_HIGH,
    LAND_OK,
    OVERPAID,
    OWED,
    STRANGER,
    TREES_HIGH,
    TREES_OK,
    cells_of,
    days,
    fails,
    limit,
    passes,
)


def on_receipt(number: int) -> dict[str, str]:
    """The receipt of one of the weighings that the members' own records are held against."""
    return {"receipt_book": "K09", "receipt_no": str(number), "day": "2026-05-06"}


WEIGHINGS = [
    *cells_of({"gross_kg": "12.5.3"}, {"form": ""}),
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
    passes("impossible-value"),
    limit("impossible-value", tare_kg="0", net_kg="61.2"),
    limit("impossible-value", "impossible-value", tare_kg="-0.1", net_kg="61.3"),
    fails("impossible-value", "net-not-gross-less-tare", net_kg="0"),
    fails("impossible-value", gross_kg="0", tare_kg="-1", net_kg="1"),
    passes("impossible-value", ripe_pct="92"),
    limit("impossible-value", ripe_pct="100", rejects_kg="0", floaters_kg="0", tare_per_bag_kg="0"),
    limit("impossible-value", "impossible-value", ripe_pct="100.01"),
    fails("impossible-value", rejects_kg="-0.5"),
    fails("impossible-value", floaters_kg="-0.5"),
    fails("impossible-value", tare_per_bag_kg="-0.5"),
    fails("impossible-value", bags="-1"),
    fails("impossible-value", measures="-1"),
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
    # Of the low station's dry cherry nothing is dry before the third day: see CHECK_SETTINGS.
    *(
        case("dry-before-harvest", *flags, station="ARD", scale="ARD-1", form="dry cherry", day=day)
        for case, day, flags in (
            (passes, "2026-05-04", ("no-price",)),
            (limit, "2026-04-02", ("no-price",)),
            (limit, "2026-04-01", ("no-price", "dry-before-harvest")),
            (fails, "2026-03-30", ("no-price",)),
        )
    ),
    passes("price-needs-moisture", grade="M"),
    fails("price-needs-moisture", "moisture-missing", grade="M", moisture_pct=""),
    limit("no-price", grade="M", moisture_pct="13"),
    limit("no-price", "no-price", grade="M", moisture_pct="13.01"),
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
    *cells_of({"kg": "sixty"}, {"written_from": ""}),
    *days(),
    passes("unknown-station"),
    fails("unknown-station", station="KEZ"),
    passes("unknown-member"),
    fails("unknown-member", member_no=STRANGER),
    passes("impossible-value"),
    limit("impossible-value", day="2026-04-01", kg="0.001"),
    limit("impossible-value", "impossible-value", day="2026-04-01", kg="0"),
    fails("impossible-value", day="2026-04-01", kg="-60"),
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
