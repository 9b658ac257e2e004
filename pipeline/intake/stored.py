"""In which types the columns of a kind are stored."""

from pipeline.intake.kinds import Column

# type -> (digits in all, of these after the point); money takes the currency's decimals.
DECIMALS = {
    "kg": (14, 3),
    "percent": (5, 2),
    "metres": (8, 2),
    "hectares": (14, 4),
    "price": (14, 4),
    "days": (6, 1),
    "quantity": (14, 3),
    "degrees": (9, 6),
}
SQL_TYPES = {"date": "DATE", "time": "TIME", "integer": "BIGINT", "money": "BIGINT"}


def sql_type(column: Column) -> str:
    """Return the DuckDB type in which a column is stored."""
    if column.type in DECIMALS:
        return "DECIMAL({}, {})".format(*DECIMALS[column.type])
    return SQL_TYPES.get(column.type, "VARCHAR")
