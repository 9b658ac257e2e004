"""Small drawings inside a page: ink on paper, positions worked out here and nowhere else."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from markupsafe import Markup, escape

WIDTH, HEIGHT, EDGE = 320, 88, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One weighing: its day, its kilograms, whether it is the one in question, and counted."""

    on: date
    amount: Decimal
    here: bool
    counted: bool


def past_chart(points: Sequence[Point]) -> Markup:
    """Return a stem a weighing by day; the one in question is thick, those not counted hollow."""
    if not points:
        return Markup("")
    first, last = min(p.on for p in points), max(p.on for p in points)
    days = max(1, (last - first).days)
    most = max(p.amount for p in points) or Decimal(1)
    floor = HEIGHT - 16
    drawn: list[str] = []
    for point in points:
        x = EDGE + (WIDTH - 2 * EDGE) * (point.on - first).days / days
        y = floor - float(point.amount / most) * (floor - EDGE)
        sort = "here" if point.here else "counted" if point.counted else "other"
        drawn.append(
            f'<path class="{sort}" d="M{x:.1f} {floor}V{y:.1f}"/>'
            f'<circle class="{sort}" cx="{x:.1f}" cy="{y:.1f}" r="{4 if point.here else 2.2}"/>'
        )
    told = f"{len(points)} weighings from {first} to {last}, the largest {most:f} kg"
    return Markup(
        f'<svg class="past" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(told)}">'
        f'<path class="axis" d="M0 {floor}H{WIDTH}"/>{"".join(drawn)}'
        f'<text x="{EDGE}" y="{HEIGHT - 3}">{first}</text>'
        f'<text x="{WIDTH - EDGE}" y="{HEIGHT - 3}" text-anchor="end">{last}</text></svg>'
    )


def bars(amounts: Sequence[tuple[str, Decimal]], what: str) -> Markup:
    """Return a bar an amount, its label under the first and the last."""
    if not amounts:
        return Markup("")
    most = max(amount for _, amount in amounts) or Decimal(1)
    floor, step = HEIGHT - 16, (WIDTH - 2 * EDGE) / len(amounts)
    drawn = "".join(
        f'<rect x="{EDGE + at * step:.1f}" y="{floor - float(amount / most) * (floor - EDGE):.1f}" '
        f'width="{max(1.0, step - 2):.1f}" height="{float(amount / most) * (floor - EDGE):.1f}"/>'
        for at, (_, amount) in enumerate(amounts)
    )
    told = f"{what}: {amounts[0][0]} to {amounts[-1][0]}, the most {most:f}"
    return Markup(
        f'<svg class="bars" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(told)}">'
        f'<path class="axis" d="M0 {floor}H{WIDTH}"/>{drawn}'
        f'<text x="{EDGE}" y="{HEIGHT - 3}">{escape(amounts[0][0])}</text>'
        f'<text x="{WIDTH - EDGE}" y="{HEIGHT - 3}" text-anchor="end">'
        f"{escape(amounts[-1][0])}</text></svg>"
    )
