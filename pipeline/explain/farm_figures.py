"""The figures of a statement that are about trees, costs and what was left: how each is made."""

from pipeline.explain.figure import Figure

_WORTH = (("+", "value"), ("+", "premium"), ("+", "second"))

FARM_FIGURES = (
    Figure(
        name="yield/*",
        title="Yield per bearing tree, green bean equivalent",
        unit="kg a tree",
        formula="green bean equivalent of the species, by the bearing trees of the latest count",
        value="yield",
        query="rows_yield",
        adds_up=False,
    ),
    Figure(
        name="expected/*",
        title="What is expected of such blocks",
        unit="kg a tree",
        formula="the band of each block by its age, wood and density, weighed by its bearing trees",
        value="expected",
        query="rows_expected",
        adds_up=False,
    ),
    Figure(
        name="before/*",
        title="Yield per bearing tree in earlier seasons",
        unit="kg a tree",
        formula="green bean equivalent by bearing trees of each earlier season with counted trees, "
        "and the average of these seasons",
        value="before",
        query="rows_before",
        adds_up=False,
        rows_in="kg",
    ),
    Figure(
        name="earned",
        title="Value of coffee with premiums and second payment",
        unit="money",
        formula="value of coffee, premiums less discounts, and second payment",
        value="margin.value_minor",
        parts=_WORTH,
    ),
    Figure(
        name="cost",
        title="Costs that are known, without tools",
        unit="money",
        formula="the sum of the costs in the farm record, of those told on visits for work that "
        "the record does not hold, and of inputs on credit given for this season, unless the "
        "record holds the same item; family work is no cost",
        value="margin.variable_minor",
        query="rows_cost",
    ),
    Figure(
        name="margin",
        title="Gross margin: value of coffee less the costs that are known",
        unit="money",
        formula="value of coffee, premiums and second payment, less the costs that are known; what "
        "was not written down is not in it",
        value="margin.margin_minor",
        parts=(*_WORTH, ("-", "cost")),
    ),
    Figure(
        name="tools",
        title="A year's part of the tools",
        unit="money",
        formula="what was spent on tools, by the years that they last, rounded once",
        value="margin.fixed_minor",
        query="rows_tools",
        adds_up=False,
        rows_in="money",
    ),
    Figure(
        name="left",
        title="Left after a year's part of the tools",
        unit="money",
        formula="gross margin less a year's part of the tools",
        value="margin.after_fixed_minor",
        parts=(("+", "margin"), ("-", "tools")),
    ),
    Figure(
        name="cost_per_kg",
        title="Cost of a kilogram of green coffee",
        unit="money a kg",
        formula="the costs that are known and a year's part of the tools, by the kilograms green "
        "bean equivalent delivered, rounded once",
        value="margin.cost_per_kg",
        parts=(("+", "cost"), ("+", "tools"), ("/", "gbe")),
    ),
    Figure(
        name="price_per_kg",
        title="Fetched by a kilogram of green coffee",
        unit="money a kg",
        formula="value of coffee with premiums and second payment, by the kilograms green bean "
        "equivalent delivered, rounded once",
        value="margin.price_per_kg",
        parts=(("+", "earned"), ("/", "gbe")),
    ),
    Figure(
        name="break_even_price",
        title="Price of a kilogram of green coffee that just meets the costs",
        unit="money a kg",
        formula="the costs that are known without tools, by the kilograms green bean equivalent "
        "delivered, rounded once",
        value="margin.break_even_price",
        parts=(("+", "cost"), ("/", "gbe")),
    ),
    Figure(
        name="break_even_kg",
        title="Kilograms of green coffee that just meet the costs",
        unit="kg",
        formula="the costs that are known without tools, times the kilograms green bean equivalent "
        "delivered, by what these fetched, rounded once",
        value="margin.break_even_kg",
        parts=(("+", "cost"), ("x", "gbe"), ("/", "earned")),
    ),
    Figure(
        name="family_days",
        title="Days of family work",
        unit="days",
        formula="the sum of the days in the farm record, and of those told on visits for work that "
        "the record does not hold",
        value="margin.family_days",
        query="rows_family_days",
    ),
    Figure(
        name="family_day",
        title="Earned by a day of family work",
        unit="money",
        formula="gross margin by the days of family work, rounded once",
        value="margin.per_family_day_minor",
        parts=(("+", "margin"), ("/", "family_days")),
    ),
    Figure(
        name="cash/*",
        title="Cash of a month: paid to the member, less spent",
        unit="money",
        formula="payments of the month, less costs that were paid in it as far as they were "
        "written down or told; inputs on credit are not in it, coffee repays them",
        value="cash",
        query="rows_cash",
    ),
)
