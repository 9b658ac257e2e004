"""An explanation as lines of text, and a decision as a sentence."""

from collections.abc import Iterator, Mapping
from typing import Any

SHOWN_ROWS = 40


def in_words(explained: Mapping[str, Any]) -> Iterator[str]:
    """Return an explanation as lines of text."""
    yield f"{explained['title']}: {explained['value']} {explained['unit']}"
    yield f"  is {explained['formula']}."
    for part in explained["parts"]:
        at = f"  ({part['figure']})" if part["figure"] else ""
        yield f"  {part['sign']} {part['value']:>14}  {part['title']}{at}"
    lines = explained["rows"]
    for line in lines[:SHOWN_ROWS]:
        if "figure" in line:
            yield f"    {line['amount']:>14}  {line['figure']}"
            continue
        yield (
            f"    {line['amount']:>14}  {line['sheet']}, row {line['row']}, "
            f'column "{line["column"]}", cell "{line["cell"]}": {line["says"]}'
        )
        for decision in line["decisions"]:
            yield f"                    {decision_words(decision)}"
    if len(lines) > SHOWN_ROWS:
        yield f"    ... and {len(lines) - SHOWN_ROWS} more; --json shows all."
    for price in explained["prices"]:
        yield (
            f'  price: {price["sheet"]}, row {price["row"]}, column "{price["column"]}", '
            f'cell "{price["cell"]}"'
        )


def decision_words(decision: Mapping[str, Any]) -> str:
    """Return one decision as a sentence."""
    if decision["action"] == "amend":
        what = f'amended from "{decision["old_value"] or ""}" to "{decision["new_value"]}"'
        if decision["unit"]:
            own = decision["own_unit"]
            what += (
                f", which is {decision['reads']} {own} "
                f"(1 {decision['unit']} = {decision['worth']} {own})"
            )
    else:
        what = {"count": "counted as it is", "leave-out": "left out"}[decision["action"]]
    return f"{what} by {decision['by']} on {decision['at'][:10]}: {decision['because']}"
