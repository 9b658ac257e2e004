"""Rules on many weighings together: how a recorder reads and how a scale stands over weeks.

They look at a whole season, so they only note; each says its finding once, at the first row.
"""

from checks.rule import NOTE, SEASON, Rule

PATIENCE = "Look at a few of the receipts together with the recorder, and be there on a busy day."

RULES = (
    Rule(
        code="last-digits-rounded",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="gross_kg",
        query="last_digits",
        where="rounds",
        facts=("recorder", "scale", "readings", "from_day", "to_day", "share_pct"),
        limits=("digits_rows", "digits_rounded"),
        say="Of {readings} readings of scale {scale} by {recorder}, {from_day} to {to_day}, "
        "{share_pct} % end in 0 or 5 of the scale's steps; 20 % would be expected.",
        do="Ask the recorder to write what the scale shows, all digits of it.",
        source="Whipple's index, UN scale; chi-square distribution",
        sure=0.4,
    ),
    Rule(
        code="last-digits-uneven",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="gross_kg",
        query="last_digits",
        where="uneven and not rounds",
        facts=(
            "recorder",
            "scale",
            "readings",
            "from_day",
            "to_day",
            "digit_counts",
            "chi_square",
            "critical",
        ),
        limits=("digits_rows",),
        say="{readings} readings of scale {scale} by {recorder}, {from_day} to {to_day}: the last "
        "digits 0 to 9 come {digit_counts} times. A scale gives all about equally often "
        "(chi-square {chi_square}; by chance up to {critical}).",
        do=PATIENCE,
        source="Pearson's chi-square, corrected for the number of looks (Bonferroni)",
        sure=0.6,
    ),
    Rule(
        code="weights-unlike-scale",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="gross_kg",
        query="weights_unlike_scale",
        where="unlike",
        facts=(
            "recorder",
            "scale",
            "from_day",
            "to_day",
            "readings",
            "digit_counts",
            "repeats",
            "repeats_usual",
            "pairs_off",
            "pairs",
        ),
        limits=("digits_rows",),
        say="{readings} readings of scale {scale} by {recorder}, {from_day} to {to_day}, are "
        "together unlike a scale's: last digits 0 to 9 come {digit_counts} times, a last digit "
        "follows itself {repeats} times ({repeats_usual} are usual), and {pairs_off} of {pairs} "
        "members' own records lie far off.",
        do=PATIENCE,
        source="Chi-square of digits, binomial tails of repeats and records, by Fisher's method "
        "and corrected for the number of looks (Bonferroni); that made-up numbers seldom repeat "
        "a digit: published studies, from memory",
        sure=0.6,
    ),
    Rule(
        code="same-weight-again",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="net_kg",
        query="same_weights",
        where="true",
        facts=("recorder", "form", "net_kg", "times", "weighings", "from_day", "to_day"),
        limits=("same_weight_rows", "same_weight_share", "sack_share", "digits_rows"),
        say="{recorder} wrote {net_kg} kg net {times} times in {weighings} weighings of {form}, "
        "{from_day} to {to_day}; other recorders hardly ever do.",
        do="Ask whether bags are filled to this weight. If not: " + PATIENCE.lower(),
        sure=0.5,
    ),
    Rule(
        code="moisture-copied",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="moisture_pct",
        query="moisture_copied",
        where="true",
        facts=("recorder", "form", "days", "times", "first_pct", "first_copied"),
        limits=("moisture_copied_rows",),
        say="On {days} days all readings of {form} by {recorder} are the same ({times} readings, "
        "first {first_pct} % on {first_copied}); on other days they vary.",
        do="Ask for each delivery to be measured; one reading is no evidence for the next.",
        sure=0.5,
    ),
    Rule(
        code="moisture-always-same",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="moisture_pct",
        query="moisture_always_same",
        where="true",
        facts=("recorder", "form", "moisture_pct", "times", "readings", "days", "others_pct"),
        limits=("moisture_same_rows", "moisture_same_share"),
        say="{recorder} read {moisture_pct} % in {times} of {readings} readings of {form} on "
        "{days} days; the others read it in {others_pct} of a hundred.",
        do="Look whether the meter works, and ask for each delivery to be measured.",
        sure=0.5,
    ),
    Rule(
        code="tare-odd",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="tare_kg",
        query="odd_tares",
        where="true",
        facts=("tare_kg", "bags", "per_bag_kg", "usual_kg", "tare_per_bag_high"),
        limits=("tare_per_bag_high",),
        say="Tare {tare_kg} kg for {bags} bags is {per_bag_kg} kg a bag; bags weigh up to "
        "{tare_per_bag_high} kg, and here {usual_kg} kg is usual.",
        do="Weigh the empty bags; the member is owed what was taken off too much.",
        sure=0.6,
    ),
    Rule(
        code="scale-drifted",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="scale",
        query="scales_drifted",
        where="true",
        facts=(
            "scale",
            "from_day",
            "to_day",
            "late_pairs",
            "early_pairs",
            "late_pct",
            "early_pct",
            "shift_pct",
        ),
        limits=("drift_pairs", "scale_drift", "drift_score"),
        say="Beside members' own records scale {scale} showed {late_pct} % from {from_day} to "
        "{to_day} ({late_pairs} deliveries) and {early_pct} % before ({early_pairs}): it moved by "
        "{shift_pct} %.",
        do="Put a test weight on the scale today, and have it adjusted if it is off.",
        source="Difference of medians over its standard error by way of the MAD",
        sure=0.7,
    ),
    Rule(
        code="station-gained",
        on=("weighings",),
        severity=NOTE,
        stage=SEASON,
        col="net_kg",
        query="stations_gained",
        where="true",
        facts=("station", "gain_kg", "bought_kg", "station_gain"),
        limits=("station_gain",),
        say="Station {station} has {gain_kg} kg more than the {bought_kg} kg bought there can have "
        "given; {station_gain} % would be no question.",
        do="Put a test weight on the scale, and look whether weights are rounded down.",
        sure=0.6,
    ),
)
