"""Adds every account of a season's ledger up and compares it with what statements print."""

from typing import Any

import duckdb

from pipeline.season.tables import dicts, rows, season_sql


def money_balances(con: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    """Return whether the money balances, what is off, and each account's balance in minor units.

    Credits are positive. All accounts together come to nought, since each movement debits one
    account and credits another.
    """
    faults = [
        f"{row['where_found']}, {row['what']}: {row['one']} against {row['other']}"
        for row in dicts(con, season_sql("money_not_conserved"))
    ]
    faults += [
        f"costs of farm records: {one} against {other}"
        for one, other in rows(con, season_sql("costs_not_conserved"))
    ]
    beyond = rows(con, season_sql("more_taken_than_brought"))
    if beyond:
        faults.append(f"More is taken of {len(beyond)} weighings than they brought.")
    accounts = {
        str(account): int(amount) for account, amount in rows(con, season_sql("account_balances"))
    }
    if sum(accounts.values()):
        faults.append(f"The accounts together come to {sum(accounts.values())}, not to nought.")
    (owed,) = rows(
        con, "select cast(coalesce(sum(balance_minor), 0) as bigint) from member_season"
    )[0]
    outside = accounts.get("member", 0) - owed
    if outside:
        faults.append(f"Members' accounts hold {outside} that no member of the register is owed.")
    return {"ok": not faults, "accounts": accounts, "owed_minor": owed, "faults": faults}
