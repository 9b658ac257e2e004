"""Trees per hectare and per acre, against printed spacing tables and exact units of length."""

from collections.abc import Callable
from decimal import Decimal
from math import sqrt
from typing import Any

import pytest

# International yard and pound, 1959: both exact by definition.
FOOT_M = Decimal("0.3048")
ACRE_HA = Decimal("0.40468564224")

RECTANGULAR = "select trees_per_ha($row, $tree, 'rectangular')"
TRIANGULAR = "select trees_per_ha($row, $tree, 'triangular')"


@pytest.mark.parametrize(
    ("row_m", "tree_m", "trees"),
    [
        # Spacing tables of crop handbooks: 10 000 / (row x tree), recomputed.
        ("3", "3", "1111.1"),
        ("2.5", "2.5", "1600.0"),
        ("2", "2", "2500.0"),
        ("2", "1.5", "3333.3"),
        ("2.5", "1", "4000.0"),
        ("2", "1", "5000.0"),
    ],
)
def test_trees_per_hectare(ask: Callable[..., Any], row_m: str, tree_m: str, trees: str) -> None:
    assert ask(RECTANGULAR, row=Decimal(row_m), tree=Decimal(tree_m)) == Decimal(trees)


@pytest.mark.parametrize(
    ("row_ft", "tree_ft", "trees"),
    [
        # 43 560 square feet an acre, divided by the feet: arithmetic. 680.625 prints as 680.6.
        (8, 8, "680.6"),
        (6, 10, "726.0"),
        (10, 10, "435.6"),
    ],
)
def test_trees_per_acre(ask: Callable[..., Any], row_ft: int, tree_ft: int, trees: str) -> None:
    per_ha = ask(RECTANGULAR, row=row_ft * FOOT_M, tree=tree_ft * FOOT_M)
    assert round(per_ha * ACRE_HA, 1) == Decimal(trees)


def test_rules_of_thumb_an_acre(ask: Callable[..., Any]) -> None:
    # Common practice, no source: arabica 8 x 8 ft "680 an acre" is right to the tree below;
    # robusta 10 x 10 ft "450 an acre" is not: it is 435.6.
    arabica = ask(RECTANGULAR, row=8 * FOOT_M, tree=8 * FOOT_M) * ACRE_HA
    robusta = ask(RECTANGULAR, row=10 * FOOT_M, tree=10 * FOOT_M) * ACRE_HA
    assert abs(arabica - 680) < 1
    assert Decimal(450) - robusta > 14


def test_triangular_is_denser_by_two_over_root_three(ask: Callable[..., Any]) -> None:
    # IASRI e-course, hexagonal system: x 1.1547; 2 m sides = 2886.8 a hectare, recomputed.
    two_m = ask(TRIANGULAR, row=Decimal(2), tree=Decimal(2))
    assert two_m == Decimal("2886.8")
    assert float(two_m) == pytest.approx(2500 * 2 / sqrt(3), abs=0.05)


def test_triangular_by_the_distance_between_its_rows(ask: Callable[..., Any]) -> None:
    # The rows of a 2 m triangle are 1.732 m apart, and 10 000 / (1.732 x 2) is the same number.
    rows_apart = ask(TRIANGULAR, row=Decimal("1.732"), tree=Decimal(2))
    assert rows_apart == Decimal("2886.8")
    assert ask(RECTANGULAR, row=Decimal("1.732"), tree=Decimal(2)) == Decimal("2886.8")


@pytest.mark.parametrize(
    ("row_m", "tree_m", "layout"),
    [("3", "2", "triangular"), ("2", "2", "staggered"), ("0", "2", "rectangular"),
     ("2", "1001", "rectangular")],
)  # fmt: skip
def test_layout_is_never_guessed(
    ask: Callable[..., Any], row_m: str, tree_m: str, layout: str
) -> None:
    query = "select trees_per_ha($row, $tree, $layout)"
    assert ask(query, row=Decimal(row_m), tree=Decimal(tree_m), layout=layout) is None


def test_yield_per_tree_at_the_record(ask: Callable[..., Any]) -> None:
    # Pereira et al., Agronomy Journal 2021 (read): best cultivar 6.6 t green a hectare at 3333
    # trees; x 6 kg fresh cherry per kg green (ITC The Coffee Guide, in a secondary text) = 11.9 kg
    # fresh cherry, about 2 kg green a tree: derived.
    trees = ask(RECTANGULAR, row=Decimal(2), tree=Decimal("1.5"))
    green = ask("select gbe_kg($kg, 'fresh_cherry', 6)", kg=Decimal("11.9"))
    assert round(green, 1) == Decimal("2.0")
    assert round(6600 * 6 / trees, 1) == Decimal("11.9")
    assert abs(green * trees - 6600) < 30


def test_yield_of_an_ordinary_tree(ask: Callable[..., Any]) -> None:
    # Crop texts (secondary): world average 0.7 t green a hectare at about 1300 trees: 0.54 kg.
    # 3 m x 2.5 m is such a spacing: 1333.3 trees.
    trees = ask(RECTANGULAR, row=Decimal(3), tree=Decimal("2.5"))
    assert trees == Decimal("1333.3")
    assert abs(700 / trees - Decimal("0.54")) < Decimal("0.02")
