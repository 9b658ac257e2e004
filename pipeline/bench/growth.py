"""How the work grows with a season: its first take and a week, beside a season of a tenth.

Without what one would otherwise reach for, which holds a season of ten million deliveries in more
memory than most machines have.
"""

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pipeline.bench.spent import in_new_process
from pipeline.bench.whole import Took, drawn, first_take, floor, take_week


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """What one season took: its first take, DuckDB's own reading of it, and a week; seconds."""

    members: int
    first: Took
    floor_s: float
    week_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """What a season took, and one of a tenth of its members and deliveries."""

    large: Size
    small: Size

    def figures(self) -> dict[str, object]:
        """Return the figures by name; the first ones are those of the larger season."""
        large, small = self.large, self.small
        return {
            "growth_10x": round(large.first.seconds / small.first.seconds, 1),
            "first_take_s": round(large.first.seconds, 1),
            "first_take_over_floor": round(large.first.seconds / large.floor_s, 2),
            "week_s": round(large.week_s, 2),
            "peak_mib": round(large.first.peak_mib),
            "bytes_per_delivery": round(large.first.file_bytes / large.first.deliveries),
            "members": large.members,
            "weighings": large.first.deliveries,
            "rows": large.first.rows,
            "parts_s": {part: round(took, 1) for part, took in large.first.parts.items()},
            "tenth_first_take_s": round(small.first.seconds, 2),
            "tenth_over_floor": round(small.first.seconds / small.floor_s, 2),
            "tenth_week_s": round(small.week_s, 2),
        }


def measure_growth(members: int, deliveries: int, *, told: Callable[[str], None]) -> Growth:
    """Draw a season and one of a tenth, and take both; `told` is called before each part."""
    small = _take(members // 10, deliveries // 10, told)
    return Growth(small=small, large=_take(members, deliveries, told))


def _take(members: int, deliveries: int, told: Callable[[str], None]) -> Size:
    with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as name:
        folder, book = Path(name) / "drawn", Path(name) / "book"
        told(f"drawing a season of {members:,} members, {deliveries:,} receipts")
        week = in_new_process(drawn, folder, members, deliveries)
        told("first take")
        first = in_new_process(first_take, folder, book)
        told("DuckDB's own reading, the floor")
        floor_s = in_new_process(floor, folder, Path(name))
        told("a week more")
        week_s = in_new_process(take_week, book, week, week[0].parent.parent)
        return Size(members=members, first=first, floor_s=floor_s, week_s=week_s)
