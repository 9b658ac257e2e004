"""What kinds declare of their figures: bounds, order, and what is past."""

from decimal import Decimal

from pipeline.intake.kinds import kinds
from pipeline.intake.stored import DECIMALS


def test_bounds_are_of_figures_and_hold_the_example() -> None:
    for kind in kinds().values():
        for column in kind.columns:
            bounds = [Decimal(edge) for edge in (column.least, column.above, column.most) if edge]
            if not bounds:
                continue
            assert column.type in {*DECIMALS, "integer", "money"}, (kind.name, column.name)
            # One lower bound says what another below it would; money is stored in minor units.
            assert not (column.least and column.above) and not (column.above and column.most)
            assert column.type != "money" or bounds == [0], (kind.name, column.name)
            example = Decimal(column.example)
            assert not column.least or example >= Decimal(column.least)
            assert not column.above or example > Decimal(column.above)
            assert not column.most or example <= Decimal(column.most)


def test_what_a_column_never_exceeds_is_of_its_type() -> None:
    for kind in kinds().values():
        for column in kind.columns:
            assert not column.past or column.type in ("date", "integer")
            if column.not_above:
                assert kind.column(column.not_above).type == column.type
