"""Rows for the rules of kinds whose sound row is their declared example."""

from tests.checks.cases import Case, fails, limit, passes

# What a value that is tried for another rule brings with it: by kind, column and value.
BESIDE: dict[tuple[str, str, str], tuple[str, ...]] = {
    ("store_checks", "pallet_cm", "0"): ("pallet-too-low",),
    ("store_checks", "wall_cm", "0"): ("stack-near-wall",),
    ("store_checks", "humidity_pct", "100"): ("store-air-damp",),
    ("store_checks", "temperature_c", "60"): ("store-too-warm",),
    ("visits", "soil_ph", "0"): ("soil-ph-unusual",),
    ("visits", "soil_ph", "14"): ("soil-ph-unusual",),
    ("visits", "looked_at", "0"): ("wrong-order",),
    ("visits", "looked_at", "-1"): ("wrong-order",),
    ("receipt_books", "last_no", "101"): ("receipt-outside-book",),
    ("receipt_books", "last_no", "100"): ("receipt-outside-book",),
    ("receipt_books", "last_no", "0"): ("receipt-outside-book", "wrong-order"),
    ("receipt_books", "last_no", "-1"): ("receipt-outside-book", "wrong-order"),
    ("receipt_books", "issued_on", "2026-06-30"): ("wrong-order",),
    ("receipt_books", "issued_on", "2026-07-01"): ("wrong-order",),
    ("bank_lines", "money_in", "-0.01"): ("bank-line-one-side",),
    ("bank_lines", "money_out", "0"): ("bank-line-one-side",),
}

PAPERS: dict[str, list[Case]] = {
    "store_checks": [
        passes("store-air-damp"),
        limit("store-air-damp", humidity_pct="65"),
        limit("store-air-damp", "store-air-damp", humidity_pct="65.01"),
        fails("store-air-damp", humidity_pct="80"),
        passes("store-too-warm"),
        limit("store-too-warm", temperature_c="25"),
        limit("store-too-warm", "store-too-warm", temperature_c="25.001"),
        fails("store-too-warm", temperature_c="31"),
        passes("pallet-too-low", pallet_cm=""),
        limit("pallet-too-low", pallet_cm="15"),
        limit("pallet-too-low", "pallet-too-low", pallet_cm="14.999"),
        fails("pallet-too-low", pallet_cm="5"),
        passes("stack-near-wall"),
        limit("stack-near-wall", wall_cm="30"),
        limit("stack-near-wall", "stack-near-wall", wall_cm="29.999"),
        fails("stack-near-wall", wall_cm="10"),
        passes("moisture-impossible"),
        limit("moisture-impossible", "moisture-unsafe", moisture_pct="30"),
        fails("moisture-impossible", moisture_pct="30.01"),
        # Where the form is not told, only what no coffee can hold.
        limit("moisture-impossible", form="", moisture_pct="100"),
        fails("moisture-impossible", form="", moisture_pct="100.01"),
        passes("moisture-unsafe"),
        limit("moisture-unsafe", moisture_pct="13.5"),
        fails("moisture-unsafe", moisture_pct="13.51"),
    ],
    "sales": [
        passes("moisture-impossible"),
        fails("moisture-impossible", moisture_pct="118"),
        passes("moisture-unsafe"),
        limit("moisture-unsafe", form="green", lot_no="GREEN", moisture_pct="12.5"),
        fails("moisture-unsafe", form="green", lot_no="GREEN", moisture_pct="12.51"),
    ],
    "visits": [
        passes("soil-ph-unusual"),
        limit("soil-ph-unusual", soil_ph="3.5"),
        limit("soil-ph-unusual", "soil-ph-unusual", soil_ph="3.499"),
        limit("soil-ph-unusual", soil_ph="8.5"),
        fails("soil-ph-unusual", soil_ph="8.501"),
    ],
    "receipt_books": [
        passes("receipt-outside-book"),
        passes("receipt-outside-book", void_nos="", spoiled_nos=""),
        limit("receipt-outside-book", void_nos="101-103, 150"),
        limit("receipt-outside-book", "receipt-outside-book", void_nos="100-103"),
        limit("receipt-outside-book", "receipt-outside-book", spoiled_nos="151", void_nos=""),
        fails("receipt-outside-book", void_nos="112", spoiled_nos="1400"),
        # More digits than any number of a receipt has.
        fails("receipt-outside-book", void_nos="112" * 9),
    ],
    "credit": [
        passes("credit-not-signed"),
        passes("credit-not-signed", signed=""),
        fails("credit-not-signed", signed="no"),
    ],
    "bank_lines": [
        passes("bank-line-one-side"),
        limit("bank-line-one-side", money_in="0.01", money_out="0.00"),
        limit("bank-line-one-side", "bank-line-one-side", money_in="0.01", money_out="0.01"),
        fails("bank-line-one-side", money_in="", money_out=""),
    ],
    "questions": [
        passes("answer-without-day"),
        passes("answer-without-day", answer="", answered_on=""),
        fails("answer-without-day", answer=""),
        fails("answer-without-day", answered_on=""),
    ],
}
