"""Rules that hold a member's trees and costs beside those of the same zone, by robust scores."""

from checks.rule import AMOUNT, NOTE, SEASON, Band, Rule

SCORES = "Modified z-score, Iglewicz and Hoaglin 1993, from memory"
YIELD = (
    "gbe_kg",
    "trees_bearing_all",
    "gbe_per_tree_kg",
    "middle_per_tree_kg",
    "peers",
    "species",
    "zone",
)

RULES = (
    Rule(
        code="yield-far-above-peers",
        on=("plots",),
        severity=NOTE,
        stage=SEASON,
        col="trees_bearing",
        query="yields_beside_peers",
        # Above what any tree has borne there is a flag already.
        where="(score > peers_score or gbe_per_tree_kg > peers_times * middle_per_tree_kg) "
        "and gbe_per_tree_kg > yield_per_tree_usual and gbe_per_tree_kg <= yield_per_tree_high",
        facts=(*YIELD, "score", "yield_per_tree_usual"),
        limits=(
            "peers_score",
            "peers_times",
            "peers_least",
            "yield_per_tree_usual",
            "yield_per_tree_high",
        ),
        say="{gbe_kg} kg green from {trees_bearing_all} bearing trees is {gbe_per_tree_kg} kg a "
        "tree; the middle of {peers} members with {species} in zone {zone} is "
        "{middle_per_tree_kg} kg (score {score}), and more than {yield_per_tree_usual} kg is "
        "seldom.",
        do="First count the trees again; this is for the manager and the trainer only.",
        source=SCORES,
        sure=0.5,
        judged=("species", "trees_bearing_all"),
        band=Band(measure="gbe_per_tree_kg", words="yield a tree", pct=AMOUNT),
    ),
    Rule(
        code="yield-far-below-peers",
        on=("plots",),
        severity=NOTE,
        stage=SEASON,
        col="trees_bearing",
        query="yields_beside_peers",
        # Before the season is over many have yet to deliver.
        where="score < -peers_score and season_over and not stumped",
        facts=(*YIELD, "score"),
        limits=("peers_score", "peers_least"),
        say="{gbe_kg} kg green from {trees_bearing_all} bearing trees is {gbe_per_tree_kg} kg a "
        "tree; the middle of {peers} members with {species} in zone {zone} is "
        "{middle_per_tree_kg} kg (score {score}).",
        do="For the trainer: visit, count the trees again, and look what ails them.",
        source=SCORES,
        sure=0.3,
        judged=("species", "trees_bearing_all"),
        band=Band(measure="-score", words="score below the middle", pct=AMOUNT),
    ),
    Rule(
        code="cost-far-from-peers",
        on=("farm_record",),
        severity=NOTE,
        stage=SEASON,
        col="cost",
        query="farm_beside_peers",
        where="cost_far and abs(cost_score) > peers_score",
        facts=("cost_minor", "activity", "middle_minor", "cost_peers"),
        limits=("peers_score", "peers_least", "cost_times"),
        say="{cost_minor} for {activity}; the middle of {cost_peers} members in the zone is "
        "{middle_minor}.",
        do="Ask the member; a point may be lost, or one row holds a whole season's cost.",
        source=SCORES,
        sure=0.4,
        judged=("cost_minor", "activity"),
    ),
    Rule(
        code="labour-far-from-peers",
        on=("farm_record",),
        severity=NOTE,
        stage=SEASON,
        col="family_days",
        query="farm_beside_peers",
        # Above what fits into a day there is a flag already; where most rows are alike, no score.
        where="days_far and coalesce(days_score > peers_score, true) "
        "and family_days <= labour_days_high",
        facts=("family_days", "activity", "middle_days", "days_peers"),
        limits=("peers_score", "peers_least", "labour_times"),
        say="{family_days} days of family work in one row of {activity}; the middle of "
        "{days_peers} members in the zone is {middle_days}.",
        do="Ask the member whether several weeks stand in one row, or a point is lost.",
        source=SCORES,
        sure=0.3,
        judged=("family_days", "activity"),
    ),
    Rule(
        code="labour-over-day",
        on=("farm_record",),
        severity=NOTE,
        stage=SEASON,
        col="family_days",
        query="labour_of_days",
        # A row that is over the limit for itself has its own flag.
        where="worked_days > labour_days_high and most_days <= labour_days_high",
        facts=("day", "rows_of_day", "worked_days", "labour_days_high"),
        limits=("labour_days_high",),
        say="The {rows_of_day} rows of {day} add up to {worked_days} days of work; over "
        "{labour_days_high} do not fit into a day.",
        do="Ask the member whether several weeks stand under one day, or a row stands twice.",
        sure=0.4,
    ),
    Rule(
        code="picked-before-waiting-over",
        on=("farm_record",),
        severity=NOTE,
        col="day",
        query="picked_too_soon",
        where="true",
        facts=("day", "plot_no", "sprayed_day", "sprayed_with", "days_to_wait"),
        say="Plot {plot_no} was picked on {day}; it was sprayed on {sprayed_day} with "
        "{sprayed_with}, and the label's waiting time is {days_to_wait} days.",
        do="Keep that coffee apart and ask a licensed adviser before it is used; the label and "
        "the law hold. Look at both days first: one may be mistyped.",
        sure=0.7,
    ),
)
