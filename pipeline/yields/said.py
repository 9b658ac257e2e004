"""Reasons and headings in plain words, for the command line and the desk's pages."""

HELD = {
    "no-plots": "no plot of this coffee is in the register",
    "none-bearing": "no bearing trees are counted",
    "too-young": "the trees are younger than the first crop",
    "no-coffee": "no coffee is counted yet",
}
MARGIN_HELD = {
    "nothing-recorded": "nothing is recorded: a line a week would show here what a kilogram cost "
    "and what a day of work earned",
    "no-cost": "no cost is recorded, only work",
    "one-entry": "only one entry is recorded",
    "cost-doubtful": "a cost is many times the usual one and waits for a decision",
}
GROUPS = {
    "village": "Village",
    "station": "Station",
    "species": "Coffee",
    "certificate": "Certificate",
    "size_class": "Land, ha",
}
PRACTICES = {
    "pruning": "wood renewed",
    "stems": "2 or 3 stems",
    "mulch": "mulch",
    "manure": "manure",
    "ripe_picking": "ripe only",
    "drying": "dried to the band",
    "storage_off_floor": "off the floor",
    "soil_test": "soil tested",
    "shade": "shade",
    "erosion_bands": "erosion bands",
}
TOPICS = {
    "pruning": "pruning and stems",
    "mulching": "mulch, bands against erosion",
    "soil": "manure and soil tests",
    "picking": "picking ripe",
    "drying": "drying and measuring moisture",
    "storage": "storage off the floor",
}
WARNING = (
    "Members who do a thing differ from others in more than that: a difference is no proof that "
    "doing it brings it."
)
CAUTION = (
    "Eight crops in ten should lie in their range; an estimate is no promise and no ground for a "
    "loan. What goes on the land is for a soil test, the label and the extension worker to say."
)


def group(name: str | None) -> str:
    """A group's name as printed; the small ones together have none."""
    return "others together" if name is None else name or "not known"
