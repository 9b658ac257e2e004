"""The coffee balance of the group report: a table a station and species, one column a form."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.season.coffee_sheets import LINES
from reports.facts import Row
from reports.labels import COFFEE, mark, word
from reports.sections import part, table
from reports.statement_parts import Voice

FORMS = ("fresh_cherry", "dry_cherry", "parchment", "green")
SAID = {
    "brought_on": mark("Opening stock brought on to the book"),
    "bought": mark("Taken in at the scale"),
    "returned": mark("Given back to members"),
    "moved": mark("From or to other stations"),
    "processed": mark("Came from or became another form"),
    "water": mark("Dried off"),
    "parts": mark("Pulp, skin and hulls"),
    "sorted": mark("Floaters and rejects"),
    "handling": mark("Lost in handling"),
    "sold": mark("Sold"),
    "loss": mark("Lost, not explained"),
    "gain": mark("Gained, not explained"),
    "uncarded": mark("Sold, and made without a lot's card"),
}


def coffee_balance(v: Voice, sheets: Sequence[Row]) -> list[Row]:
    """Return tables of kilograms as weighed: what lay there, came, went and lies there now.

    `sheets`: rows of `whole_season`. Lines on which nothing happened are left out; each column
    adds up from the first line to the last.
    """
    made: list[Row] = []
    for station, species in dict.fromkeys((row["station"], row["species"]) for row in sheets):
        mine = {r["form"]: r for r in sheets if (r["station"], r["species"]) == (station, species)}
        forms = [form for form in FORMS if form in mine]
        lines = [("opening_kg", v.say("Lay there at the start"))]
        lines += [
            (f"{line}_kg", v.say(SAID[line]))
            for line in LINES
            if any(mine[form][f"{line}_kg"] for form in forms)
        ]
        shown = table(
            [v.say("Kilograms as weighed"), *(v.say(word(COFFEE, form)) for form in forms)],
            [[said, *(v.figures.kg(mine[form][name]) for form in forms)] for name, said in lines],
        )
        shown["sum"] = [
            v.say("Lies there at the end"),
            *(v.figures.kg(mine[form]["closing_kg"]) for form in forms),
        ]
        title = f"{v.station(station)}, {v.say(word(COFFEE, species))}"
        made.append(part(title=title, table=shown))
    return made
