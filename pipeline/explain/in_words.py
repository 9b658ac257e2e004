"""An explanation as lines of text."""

from collections.abc import Iterator, Mapping
from typing import Any

SHOWN_ROWS = 40


def in_words(explained: Mapping[str, Any]) -> Iterator[str]:
    """Return an explanation as lines of text."""
    yield f"{explained['title']}: {explained['value']} {explained['unit']}"
    yield f"  {explained.get('is', 'is')} {explained['formula']}."
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
        for decision in line["decided"]:
            yield f"                    {decision}"
    if len(lines) > SHOWN_ROWS:
        yield f"    ... and {len(lines) - SHOWN_ROWS} more; --json shows all."
    for price in explained["prices"]:
        yield (
            f'  price: {price["sheet"]}, row {price["row"]}, column "{price["column"]}", '
            f'cell "{price["cell"]}"'
        )
