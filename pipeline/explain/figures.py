"""Every figure that a statement or report prints: what it is and which rows it is made from."""

from pipeline.explain.farm_figures import FARM_FIGURES
from pipeline.explain.figure import Figure

MONEY_FIGURES = (
    Figure(
        name="delivered/*/*",
        title="Coffee delivered, net",
        unit="kg",
        formula="the sum of the net weights that the station's scale showed",
        value="delivered",
        query="rows_delivered",
    ),
    Figure(
        name="gbe",
        title="Coffee delivered as green bean equivalent",
        unit="kg",
        formula="the sum over all deliveries of net weight by the factor of its form",
        value="gbe",
        query="rows_gbe",
    ),
    Figure(
        name="opening",
        title="Owed to the member from before",
        unit="money",
        formula="the sum of the opening balances owed to the member",
        value="opening",
        query="rows_opening",
    ),
    Figure(
        name="loan",
        title="Owed by the member on loans and inputs, apart from coffee money",
        unit="money",
        formula="what was owed before, and the issue notes with their charges, less what was "
        "repaid; the oldest note is repaid first",
        value="loan",
        query="rows_loan",
    ),
    Figure(
        name="shares",
        title="Shares paid up, apart from coffee money",
        unit="money",
        formula="what was paid up before, contributions from coffee and in cash, less what was "
        "paid back",
        value="shares",
        query="rows_shares",
    ),
    Figure(
        name="untaken",
        title="Deductions that could not be taken yet",
        unit="money",
        formula="what the deductions ask, less what could be taken of the coffee delivered; it is "
        "taken from later coffee",
        value="untaken",
        query="rows_untaken",
    ),
    Figure(
        name="premium",
        title="All premiums, less discounts",
        unit="money",
        formula="the sum of the premiums, less the discounts, each rounded once",
        value="premium",
        query="rows_premium",
    ),
    Figure(
        name="premium/*",
        title="Premium or discount",
        unit="money",
        formula="the sum over all deliveries that it is for, each rounded once",
        value="premium_one",
        query="rows_premium",
    ),
    Figure(
        name="second",
        title="Second payment",
        unit="money",
        formula="the sum of the member's shares in the pools that the assembly voted on",
        value="second",
        query="rows_second",
    ),
    Figure(
        name="second/*",
        title="Second payment of one pool",
        unit="money",
        formula="the member's kilograms in the pool times the voted rate, rounded once; or the "
        "fixed sum shared by kilograms, the last coins to the largest remainders",
        value="second_one",
        query="rows_second",
    ),
    Figure(
        name="other",
        title="Corrections, balances moved, unclaimed money",
        unit="money",
        formula="the sum of the office's entries, those against the member taken off",
        value="other",
        query="rows_other",
    ),
    Figure(
        name="entry/*",
        title="Entry of the office",
        unit="money",
        formula="the amount of the entry, less where it is against the member",
        value="other_one",
        query="rows_other",
    ),
    Figure(
        name="value",
        title="Value of coffee delivered",
        unit="money",
        formula="the sum over all deliveries of net weight times the price of that day, "
        "each rounded once to the smallest coin",
        value="value",
        query="rows_value",
    ),
    Figure(
        name="deducted",
        title="All deductions",
        unit="money",
        formula="the sum of the deductions",
        value="deducted",
        query="rows_deducted",
    ),
    Figure(
        name="deducted/*",
        title="Deduction",
        unit="money",
        formula="the sum over all deliveries of the deduction, each rounded once",
        value="deducted_one",
        query="rows_deducted",
    ),
    Figure(
        name="paid",
        title="Paid so far",
        unit="money",
        formula="the sum of the payments",
        value="paid",
        query="rows_paid",
    ),
    Figure(
        name="balance",
        title="Balance owed to the member",
        unit="money",
        formula="what was owed from before, the value of coffee, premiums, second payment and the "
        "office's entries, less deductions, less what was paid",
        value="balance",
        parts=(
            ("+", "opening"),
            ("+", "value"),
            ("+", "premium"),
            ("+", "second"),
            ("+", "other"),
            ("-", "deducted"),
            ("-", "paid"),
        ),
    ),
    Figure(
        name="waiting",
        title="Coffee that waits and is not counted yet",
        unit="kg",
        formula="the sum of the net weights of rows that are held or were sent back",
        value="waiting",
        query="rows_waiting",
    ),
)

_GROUP = (
    ("opening", "Owed to members from before", "money"),
    ("gbe", "Coffee delivered as green bean equivalent", "kg"),
    ("value", "Value of coffee delivered", "money"),
    ("premium", "Premiums less discounts", "money"),
    ("second", "Second payment", "money"),
    ("other", "Corrections, balances moved, unclaimed money", "money"),
    ("loan", "Owed by members on loans, apart from coffee money", "money"),
    ("shares", "Shares paid up, apart from coffee money", "money"),
    ("untaken", "Deductions that could not be taken yet", "money"),
    ("deducted", "All deductions", "money"),
    ("paid", "Paid to members", "money"),
    ("balance", "Balance owed to members", "money"),
)
GROUP_FIGURES = (
    *(
        Figure(
            name=name,
            title=title,
            unit=unit,
            formula="the sum over all members of this figure on their statements",
            value=f"group_{name}",
            query=f"members_{name}",
            group=True,
        )
        for name, title, unit in _GROUP
    ),
    Figure(
        name="deducted/*",
        title="Deduction",
        unit="money",
        formula="the sum over all members of this deduction",
        value="group_deducted_one",
        query="members_deducted_one",
        group=True,
    ),
    Figure(
        name="in/*/*/*",
        title="Income from coffee of one form and grade",
        unit="money",
        formula="the sum over its deliveries of net weight times the price of that day",
        value="group_in",
        query="rows_group_in",
        group=True,
    ),
    Figure(
        name="out/*",
        title="Recorded costs under one heading",
        unit="money",
        formula="the sum of the costs that count, as members wrote them down, told them on visits "
        "or signed for them on issue notes; those that wait for a decision are left out",
        value="group_out",
        query="rows_group_out",
        group=True,
    ),
)


MEMBER_FIGURES = (*MONEY_FIGURES, *FARM_FIGURES)


def find(name: str, *, group: bool) -> tuple[Figure, tuple[str, ...]] | None:
    """Return the figure that a code names and what stands for its stars, or None."""
    asked = name.split("/")
    for figure in GROUP_FIGURES if group else MEMBER_FIGURES:
        pattern = figure.name.split("/")
        if len(pattern) == len(asked) and all(
            p in ("*", a) for p, a in zip(pattern, asked, strict=True)
        ):
            stars = tuple(a for p, a in zip(pattern, asked, strict=True) if p == "*")
            return figure, stars
    return None


def names(*, group: bool) -> list[str]:
    """Return the codes there are, for an error that lists them."""
    return [figure.name for figure in (GROUP_FIGURES if group else MEMBER_FIGURES)]
