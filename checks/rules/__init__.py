"""The rule table: every rule, in the order in which the documentation lists them."""

from checks.rule import Rule
from checks.rules import (
    beside,
    farm,
    habits,
    lots,
    money,
    papers,
    peers,
    plots,
    receipts,
    reference,
    slips,
    stores,
    weights,
)

RULES: tuple[Rule, ...] = (
    *reference.RULES,
    *weights.RULES,
    *slips.RULES,
    *beside.RULES,
    *habits.RULES,
    *receipts.RULES,
    *lots.RULES,
    *plots.RULES,
    *farm.RULES,
    *peers.RULES,
    *stores.RULES,
    *money.RULES,
    *papers.RULES,
)
BY_CODE: dict[str, Rule] = {rule.code: rule for rule in RULES}
