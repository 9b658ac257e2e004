"""Rules on the farm record: can this have been done and spent?"""

from checks.rule import NOTE, SEND_BACK, Rule

RULES = (
    Rule(
        code="record-below-nought",
        on=("farm_record",),
        severity=SEND_BACK,
        col="cost",
        where="cost_minor < 0 or family_days < 0 or hired_days < 0 or quantity < 0",
        facts=("cost_minor", "family_days", "hired_days", "quantity"),
        say="A cost, a number of days or a quantity is below nought.",
        do="Correct it from the member's book.",
        sure=1,
    ),
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
)
