"""Rules on weights and moisture: can a scale and a meter have shown this?"""

from checks.rule import HOLD, NOTE, SEND_BACK, Rule

SCALES = "OIML R 76-1; UK SI 1995/1907; Directive 2014/31/EU Annex I"

RULES = (
    Rule(
        code="tare-not-below-gross",
        on=("weighings",),
        severity=SEND_BACK,
        col="tare_kg",
        where="tare_kg >= gross_kg",
        facts=("tare_kg", "gross_kg"),
        say="Tare {tare_kg} kg is not less than gross {gross_kg} kg.",
        do="Weigh the empty bags again, or correct the tare.",
        sure=1,
    ),
    Rule(
        code="net-not-gross-less-tare",
        on=("weighings",),
        severity=HOLD,
        col="net_kg",
        # What the scale's class allows is worked out for the few that differ at all.
        where="tare_kg < gross_kg and gross_kg <> tare_kg + net_kg "
        "and abs(gross_kg - tare_kg - net_kg) > allowed_error_kg",
        facts=("gross_kg", "tare_kg", "net_kg", "allowed_error_kg"),
        say="Gross {gross_kg} less tare {tare_kg} is not net {net_kg} kg; "
        "the scale's class allows {allowed_error_kg} kg.",
        do="Look at the receipt and amend the one that was copied wrongly.",
        source=SCALES,
        sure=0.97,
    ),
    Rule(
        code="off-scale-interval",
        on=("weighings",),
        severity=HOLD,
        col="gross_kg",
        # A scale's steps in kg say nothing about a weight in another unit.
        where="not is_multiple(gross_kg, interval_kg) and not gross_converted",
        facts=("gross_kg", "interval_kg", "scale"),
        say="Scale {scale} shows steps of {interval_kg} kg; {gross_kg} kg is none of them.",
        do="Look at the receipt; a digit may be mistyped or the scale may be another.",
        source=SCALES,
        sure=0.7,
    ),
    Rule(
        code="below-smallest-load",
        on=("weighings",),
        severity=NOTE,
        col="gross_kg",
        where="gross_kg > 0 and gross_kg < smallest_kg",
        facts=("gross_kg", "smallest_kg", "scale"),
        say="{gross_kg} kg is below {smallest_kg} kg, the smallest load for scale {scale}.",
        do="Weigh small lots on a scale with a finer interval.",
        source=SCALES,
        sure=0.3,
    ),
    Rule(
        code="above-scale-capacity",
        on=("weighings",),
        severity=HOLD,
        col="gross_kg",
        where="gross_kg > capacity_kg",
        facts=("gross_kg", "capacity_kg", "scale"),
        say="{gross_kg} kg is more than scale {scale} can weigh, {capacity_kg} kg.",
        do="Look at the receipt; the decimal point may be lost.",
        source=SCALES,
        sure=0.98,
    ),
    Rule(
        code="scale-not-verified",
        on=("weighings",),
        severity=NOTE,
        col="scale",
        query="scales_not_verified",
        where="true",
        facts=("scale", "verified", "verified_days", "rows_weighed"),
        limits=("verified_days",),
        say="Scale {scale} was last verified {verified}; {rows_weighed} weighings are more than "
        "{verified_days} days later.",
        do="Have the scale verified as national law says.",
        sure=0.3,
    ),
    Rule(
        code="moisture-impossible",
        on=("weighings", "store_checks", "sales"),
        severity=SEND_BACK,
        col="moisture_pct",
        where="moisture_pct < moisture_possible_low or moisture_pct > moisture_possible_high",
        facts=("moisture_pct", "form", "moisture_possible_low", "moisture_possible_high"),
        limits=("moisture_possible_low", "moisture_possible_high"),
        say="Moisture {moisture_pct} % cannot be {form}: it holds {moisture_possible_low} to "
        "{moisture_possible_high} %.",
        do="Look for a slip, such as 41 for 11.4, or measure again.",
        sure=0.98,
    ),
    Rule(
        code="moisture-unsafe",
        on=("weighings", "store_checks", "sales"),
        severity=NOTE,
        col="moisture_pct",
        where="(moisture_pct > moisture_safe_high or moisture_pct < moisture_safe_low) "
        "and moisture_pct between moisture_possible_low and moisture_possible_high",
        facts=("moisture_pct", "form", "moisture_safe_low", "moisture_safe_high"),
        limits=("moisture_safe_low", "moisture_safe_high"),
        say="Moisture {moisture_pct} % is outside {moisture_safe_low} to {moisture_safe_high} %, "
        "what {form} keeps well at.",
        do="Dry it further before it is stored, or store it apart; damp coffee moulds.",
        sure=0.4,
    ),
    Rule(
        code="moisture-missing",
        on=("weighings",),
        severity=NOTE,
        col="moisture_pct",
        where="moisture_pct is null and moisture_safe_high is not null and not moisture_unread",
        facts=("form",),
        say="There is no moisture reading for this {form}.",
        do="Measure each dry delivery before it is poured together.",
        sure=0.3,
    ),
    Rule(
        code="dry-before-harvest",
        on=("weighings",),
        severity=NOTE,
        col="day",
        where="form <> 'fresh_cherry' and day >= first_day "
        "and day < first_day + cast(dry_first_days as integer)",
        facts=("day", "form", "first_day", "dry_first_days"),
        limits=("dry_first_days",),
        say="This {form} came on {day}; of the season from {first_day} none is dry before "
        "{dry_first_days} days.",
        do="Ask whether it is last year's coffee: it is bought, stored and sold apart.",
        sure=0.5,
    ),
    Rule(
        code="record-differs",
        on=("deliveries",),
        severity=NOTE,
        col="kg",
        where="abs(kg - receipt_kg) * 100 > record_differs * receipt_kg "
        "and written_from = 'own_notebook'",
        facts=("kg", "receipt_kg", "record_differs"),
        limits=("record_differs",),
        say="The member wrote {kg} kg; the station's receipt says {receipt_kg} kg, "
        "more than {record_differs} % apart.",
        do="Ask both; look at the receipt and the scale. The station's weight is what is paid.",
        sure=0.5,
    ),
    Rule(
        code="receipt-copy-differs",
        on=("deliveries",),
        severity=NOTE,
        col="kg",
        where="kg <> receipt_kg and receipt_is = 'same' and written_from = 'receipt_copy'",
        facts=("kg", "receipt_kg", "receipt_book", "receipt_no"),
        say="Copied from receipt {receipt_book} {receipt_no}: {kg} kg; the station's sheet has "
        "{receipt_kg} kg for it.",
        do="Lay the member's receipt beside the station's copy: one of the two was copied wrongly.",
        sure=0.6,
    ),
    Rule(
        code="receipt-not-weighed",
        on=("deliveries",),
        severity=NOTE,
        col="receipt_no",
        where="receipt_unknown",
        facts=("receipt_book", "receipt_no", "station", "kg"),
        say="The member wrote {kg} kg on receipt {receipt_book} {receipt_no}; station {station} "
        "has sent in no weighing of it, though weighings of that day or later.",
        do="Look for the receipt in the station's book: a line may be missing, or the number is "
        "wrong.",
        sure=0.6,
    ),
)
