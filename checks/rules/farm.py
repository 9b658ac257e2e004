"""Rules on farm records and visits: can this have been done, spent and found?"""

from checks.rule import NOTE, Rule

RULES = (
    Rule(
        code="unknown-plot",
        on=("farm_record",),
        severity=NOTE,
        col="plot_no",
        where="plot_no is not null and member_name is not null and not plot_known",
        facts=("plot_no", "member_no"),
        say="Member {member_no} has no plot {plot_no} in the plots sheet.",
        do="Correct the plot's number, or send in the plot's row.",
        sure=0.3,
    ),
    Rule(
        code="labour-over-ceiling",
        on=("farm_record",),
        severity=NOTE,
        col="hired_days",
        where="coalesce(family_days, 0) + coalesce(hired_days, 0) > labour_days_high",
        facts=("family_days", "hired_days", "labour_days_high"),
        limits=("labour_days_high",),
        say="Family {family_days} and hired {hired_days} days in one row is over "
        "{labour_days_high} days.",
        do="Ask the member whether a point is lost or several weeks stand in one row.",
        sure=0.5,
    ),
    Rule(
        code="labour-not-sum",
        on=("farm_record",),
        severity=NOTE,
        col="total_days",
        where="total_days <> coalesce(family_days, 0) + coalesce(hired_days, 0)",
        facts=("family_days", "hired_days", "total_days"),
        say="Family {family_days} and hired {hired_days} days do not add up to {total_days} days.",
        do="Ask the member which of the three is right, and correct the others.",
        sure=0.9,
    ),
    Rule(
        code="record-row-empty",
        on=("farm_record",),
        severity=NOTE,
        col="activity",
        where="cost_minor is null and family_days is null and hired_days is null "
        "and quantity is null",
        facts=("activity",),
        say="{activity} is written down without days, quantity or cost.",
        do="Ask the member how long it took and what it cost.",
        sure=0.2,
    ),
    Rule(
        code="spraying-without-label",
        on=("farm_record",),
        severity=NOTE,
        col="product",
        where="activity = 'spraying' and (product is null or waiting_days is null)",
        facts=("product", "waiting_days"),
        say="Spraying is written down without what the label says: product {product}, days to "
        "wait before picking {waiting_days}.",
        do="Copy both from the label. How a product is used is for the label, the law and a "
        "licensed adviser to say; nothing is picked before the days are over.",
        sure=0.4,
    ),
    Rule(
        code="soil-ph-unusual",
        on=("visits",),
        severity=NOTE,
        col="soil_ph",
        where="soil_ph between 0 and 14 and (soil_ph < soil_ph_low or soil_ph > soil_ph_high)",
        facts=("soil_ph", "soil_ph_low", "soil_ph_high"),
        limits=("soil_ph_low", "soil_ph_high"),
        say="A soil pH of {soil_ph} is outside {soil_ph_low} to {soil_ph_high}, where soils lie.",
        do="Look for a slip, such as 54 for 5.4, or have the soil tested again.",
        sure=0.5,
    ),
)
