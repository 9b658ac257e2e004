"""Rules on plots and yield: can trees stand and bear like this?"""

from checks.rule import HOLD, NOTE, SEASON, SEND_BACK, Rule

RULES = (
    Rule(
        code="planted-in-future",
        on=("plots",),
        severity=SEND_BACK,
        col="planted_year",
        where="planted_year > year(taken_day) or planted_year < planted_low",
        facts=("planted_year", "planted_low"),
        limits=("planted_low",),
        say="The planting year {planted_year} is in the future or before {planted_low}.",
        do="Correct the year.",
        sure=1,
    ),
    Rule(
        code="plot-number-not-positive",
        on=("plots",),
        severity=SEND_BACK,
        col="trees",
        where="trees < 0 or trees_bearing < 0 or area_ha <= 0 or row_spacing_m <= 0 "
        "or tree_spacing_m <= 0",
        facts=("trees", "trees_bearing", "area_ha"),
        say="Trees, area or spacing is nought or below: {trees} trees, {trees_bearing} bearing, "
        "{area_ha} ha.",
        do="Correct the figure from the count.",
        sure=1,
    ),
    Rule(
        code="bearing-over-trees",
        on=("plots",),
        severity=HOLD,
        col="trees_bearing",
        where="trees_bearing > trees",
        facts=("trees_bearing", "trees"),
        say="{trees_bearing} trees bear, and only {trees} stand there.",
        do="Compare with the count and amend the one or the other.",
        sure=1,
    ),
    Rule(
        code="trees-over-land",
        on=("plots",),
        severity=HOLD,
        col="trees",
        where="trees > room_for_trees * trees_over_land",
        facts=(
            "trees",
            "area_ha",
            "row_spacing_m",
            "tree_spacing_m",
            "layout",
            "room_for_trees",
            "trees_over_land",
        ),
        limits=("trees_over_land",),
        say="{trees} trees do not fit on {area_ha} ha at {row_spacing_m} by {tree_spacing_m} m "
        "({layout}): there is room for about {room_for_trees}.",
        do="Count the trees again, pace the spacing, and look at the area.",
        source="10 000 m2 over the spacing; triangular times 2/sqrt(3): IASRI e-course",
        sure=0.9,
    ),
    Rule(
        code="density-off-species",
        on=("plots",),
        severity=NOTE,
        col="area_ha",
        where="trees > 0 and area_ha > 0 and (trees < density_low * area_ha "
        "or trees > density_high * area_ha)",
        facts=("trees", "area_ha", "species", "density_low", "density_high"),
        limits=("density_low", "density_high"),
        say="{trees} trees on {area_ha} ha is outside {density_low} to {density_high} trees a "
        "hectare, what is usual for {species}.",
        do="Measure the area and count again at the next visit.",
        sure=0.5,
    ),
    Rule(
        code="bearing-before-time",
        on=("plots",),
        severity=NOTE,
        col="trees_bearing",
        where="trees_bearing > 0 and year(counted_on) - planted_year < 2",
        facts=("trees_bearing", "planted_year", "counted_on"),
        say="{trees_bearing} trees planted in {planted_year} are said to bear on {counted_on}.",
        do="Trees bear first in their third or fourth year: look at the planting year.",
        source="Trade texts: first crop in year 3 to 4",
        sure=0.5,
    ),
    Rule(
        code="yield-above-ceiling",
        on=("plots",),
        severity=NOTE,
        col="trees_bearing",
        query="yields_above_ceiling",
        where="true",
        facts=(
            "gbe_kg",
            "trees_bearing_all",
            "gbe_per_tree_kg",
            "gbe_per_ha_kg",
            "yield_per_tree_high",
            "yield_per_ha_high",
        ),
        limits=("yield_per_tree_high", "yield_per_ha_high"),
        say="{gbe_kg} kg green from {trees_bearing_all} bearing trees is {gbe_per_tree_kg} kg a "
        "tree and {gbe_per_ha_kg} kg a hectare; no trial has borne more than "
        "{yield_per_tree_high} kg a tree or {yield_per_ha_high} kg a hectare.",
        do="First count the trees again; then look at the receipts.",
        sure=0.8,
        stage=SEASON,
    ),
)
