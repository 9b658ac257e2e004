"""Rules on the stores: does coffee keep where it lies?"""

from checks.rule import NOTE, Rule

RULES = (
    Rule(
        code="store-air-damp",
        on=("store_checks",),
        severity=NOTE,
        col="humidity_pct",
        where="humidity_pct > store_humidity_high and humidity_pct <= 100",
        facts=("humidity_pct", "store_humidity_high"),
        limits=("store_humidity_high",),
        say="The air in the store holds {humidity_pct} % humidity; coffee keeps up to "
        "{store_humidity_high} %.",
        do="Air the store while it is drier outside, look for a leak, and measure the coffee.",
        sure=0.4,
    ),
    Rule(
        code="store-too-warm",
        on=("store_checks",),
        severity=NOTE,
        col="temperature_c",
        where="temperature_c > store_temperature_high and temperature_c <= 60",
        facts=("temperature_c", "store_temperature_high"),
        limits=("store_temperature_high",),
        say="It is {temperature_c} °C in the store; coffee keeps up to "
        "{store_temperature_high} °C.",
        do="Air the store in the cool hours and shade its roof and walls.",
        sure=0.3,
    ),
    Rule(
        code="pallet-too-low",
        on=("store_checks",),
        severity=NOTE,
        col="pallet_cm",
        where="pallet_cm >= 0 and pallet_cm < pallet_low",
        facts=("pallet_cm", "pallet_low"),
        limits=("pallet_low",),
        say="The stack stands {pallet_cm} cm over the floor; damp rises below {pallet_low} cm.",
        do="Put the bags on higher pallets; lift them together, or fewer at a time.",
        sure=0.4,
    ),
    Rule(
        code="stack-near-wall",
        on=("store_checks",),
        severity=NOTE,
        col="wall_cm",
        where="wall_cm >= 0 and wall_cm < wall_low",
        facts=("wall_cm", "wall_low"),
        limits=("wall_low",),
        say="The stack stands {wall_cm} cm from the wall; it needs {wall_low} cm to stay dry and "
        "to be looked at from all sides.",
        do="Move the stack from the wall; lift the bags together, or fewer at a time.",
        sure=0.4,
    ),
)
