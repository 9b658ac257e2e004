"""The farm records: what members did, spent and used, week by week."""

import numpy as np
import polars as pl

from pipeline.samples.draws import Draws
from pipeline.samples.people import Members, days_from
from pipeline.samples.season import FIRST_DAY

# Activity, weight outside and inside the main harvest, what was used, its unit, most of it, and
# the dearest it comes in cents. What is sprayed has no quantity: that is the label's business.
WORK: tuple[tuple[str, float, float, str, str, int, int], ...] = (
    ("weeding", 5, 1, "", "", 0, 0),
    ("pruning", 3, 0.5, "", "", 0, 0),
    ("mulching", 2, 0.3, "dry grass", "bundles", 30, 900),
    ("manuring", 2, 0.5, "compost", "basins", 40, 1200),
    ("spraying", 0.6, 0.3, "copper spray, as labelled", "", 0, 1400),
    ("picking", 2, 8, "", "", 0, 0),
    ("processing", 0.5, 1.5, "", "", 0, 0),
    ("drying", 0.5, 2, "drying mat", "pieces", 3, 1500),
    ("transport", 0.5, 2, "", "", 0, 600),
    ("tools", 0.6, 0.3, "pruning saw", "pieces", 1, 1100),
    ("planting", 0.6, 0, "seedlings", "pieces", 60, 1800),
    ("other", 0.5, 0.3, "", "", 0, 400),
)

# What the invented label of what was sprayed says. Nobody wrote the plot beside it: with one, what
# is picked there within the waiting days would be a finding.
_SPRAYED = pl.col("activity") == "spraying"
_LABEL = {
    "product": pl.when(_SPRAYED).then(pl.lit("copper wash")),
    "waiting_days": pl.when(_SPRAYED).then(14),
    "plot_no": pl.when(~_SPRAYED).then(pl.col("plot_no")),
}


def farm_record(seed: int, register: Members, weeks: int) -> pl.DataFrame:
    """Draw the rows of the four members in ten who keep a record: none to two a week each.

    A row holds at most three family days and two hired days, so a week's two rows stay within
    six; hired work costs 2.80 to 4.00 a day.
    """
    draws = Draws(seed, "farm")
    people = np.flatnonzero(draws.hit(0.4, len(register.number)))
    slots = len(people) * weeks * 2
    slot = np.arange(slots)
    slot = slot[draws.uniform(slots) < np.where(slot % 2 == 0, 0.5, 0.12)]
    count = len(slot)
    who, week = people[slot // 2 // weeks], slot // 2 % weeks
    busy = (week >= 0.4 * weeks) & (week < 0.85 * weeks)
    work = np.where(
        busy,
        draws.pick([row[2] for row in WORK], count),
        draws.pick([row[1] for row in WORK], count),
    )
    family = 5 * draws.whole(1, 6, count)
    hired = np.where(draws.hit(0.25, count), 5 * draws.whole(1, 4, count), 0)
    most = np.array([row[5] for row in WORK])[work]
    used = np.ceil(most * (0.2 + 0.8 * draws.uniform(count))).astype(np.int64)
    dearest = np.array([row[6] for row in WORK])[work]
    bought = dearest * (0.3 + 0.7 * draws.uniform(count)) * draws.hit(0.8, count)
    cost = 5 * np.round((bought + hired * draws.whole(28, 40, count)) / 5).astype(np.int64)
    frame = pl.DataFrame(
        {
            "week": week,
            "member_no": register.number[who],
            "day": days_from(FIRST_DAY, 7 * week + draws.whole(0, 5, count)),
            "plot_no": pl.Series(draws.hit(0.4, count).astype(np.int64)).replace(0, None),
            "activity": pl.Series([row[0] for row in WORK]).gather(work),
            "family_days": family,
            "hired_days": pl.Series(hired).replace(0, None),
            "item": pl.Series([row[3] or None for row in WORK]).gather(work),
            "quantity": pl.Series(used).replace(0, None),
            "unit": pl.Series([row[4] or None for row in WORK]).gather(work),
            "cost": pl.Series(cost).replace(0, None),
        }
    ).with_columns(recorder=pl.lit("Selu Lissam"), **_LABEL)
    return frame.sort("week", "day", "member_no", maintain_order=True)
