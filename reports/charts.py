"""Charts of the group report, in black and white, drawn from figures worked out in SQL.

Drawn by Vega-Lite through vl-convert from plain specifications: well-kept axes and layouts, the
same bytes each time, about 0.09 s a chart after 0.6 s for the first. Three light Python chart
packages were held against it: none draws a box from ready quartiles over a shaded band. Positions
in a drawing may be floats; the figures themselves stand in the table under each chart.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from functools import cache
from typing import Any

import vl_convert

from reports.facts import Row
from reports.render import font_folders

Spec = dict[str, Any]
_WIDTH = 480
_CONFIG: Spec = {
    "font": "Noto Sans",
    "background": "white",
    "view": {"stroke": None},
    "axis": {
        "labelFontSize": 11,
        "titleFontSize": 11,
        "titleFontWeight": "normal",
        "labelColor": "black",
        "titleColor": "black",
        "domainColor": "black",
        "tickColor": "black",
        "gridColor": "#ddd",
        "labelLimit": 170,
        "labelFlush": False,
    },
    "header": {"labelFontSize": 11, "labelColor": "black", "title": None, "labelAnchor": "start"},
}


@cache
def _with_fonts() -> None:
    # Words are measured with the font they are printed in, not with whatever the machine has.
    for folder in font_folders():
        vl_convert.register_font_directory(folder)


def _drawn(spec: Spec) -> str:
    _with_fonts()
    return vl_convert.vegalite_to_svg({**spec, "config": _CONFIG}, vl_version="v6.4")


def weeks_by_station(rows: Sequence[Row], *, x_title: str, y_title: str, alt: str) -> str:
    """Bars of kg a week, a strip for each station; rows hold `week`, `station`, `kg`."""
    values = [{"w": row["week"], "s": row["station"], "kg": float(row["kg"])} for row in rows]
    stations = list(dict.fromkeys(row["station"] for row in rows))
    return _drawn(
        {
            "description": alt,
            "data": {"values": values},
            "facet": {"row": {"field": "s", "sort": stations, "header": {"labelAngle": 0,
                      "labelOrient": "top"}}},
            "spacing": 8,
            "spec": {
                "width": _WIDTH,
                "height": 44,
                "mark": {"type": "bar", "color": "#444"},
                "encoding": {
                    "x": {"field": "w", "type": "ordinal", "title": x_title,
                          "axis": {"labelAngle": 0, "labelOverlap": "greedy"}},
                    "y": {"field": "kg", "type": "quantitative", "title": y_title,
                          "axis": {"tickCount": 2}},
                },
            },
        }
    )  # fmt: skip


def reach(rows: Sequence[Row], least: Decimal = Decimal(0)) -> Decimal | None:
    """Where the scale of a spread ends, so that one far value does not flatten every box.

    Three box widths beyond the farthest box, and `least` at least; None where no line goes further.
    """
    end = max(least, *(row["upper"] + 3 * (row["upper"] - row["lower"]) for row in rows))
    return end if any(row["high"] > end for row in rows) and end > 0 else None


def spreads(
    rows: Sequence[Row], *, x_title: str, alt: str, band: tuple[Decimal, Decimal] | None = None
) -> str:
    """A box a row over an optional shaded band.

    Rows hold `name`, `low`, `lower`, `middle`, `upper`, `high`: line from lowest to highest, box
    over the middle half, tick at the median.
    """
    end = reach(rows, band[1]) if band else reach(rows)
    scale: Spec = {"zero": band is None, "nice": end is None}
    if end is not None:
        scale["domainMax"] = float(end)
    x: Spec = {"type": "quantitative", "title": x_title, "scale": scale, "axis": {"tickCount": 8}}
    shade: list[Spec] = [_band(*band)] if band else []
    return _drawn(
        {
            "description": alt,
            "width": _WIDTH,
            "height": {"step": 26},
            "data": {"values": [_spread(row, end) for row in rows]},
            "layer": shade + _boxes(x, [row["name"] for row in rows]),
        }
    )


def _spread(row: Row, end: Decimal | None) -> Spec:
    """A row's positions, its line cut where the scale ends."""
    # Not cut by a clip in the drawing: its id would differ from one run to the next.
    high = row["high"] if end is None else min(row["high"], end)
    at = {"low": row["low"], "lower": row["lower"], "middle": row["middle"], "upper": row["upper"]}
    return {"name": row["name"], "high": float(high), **{key: float(at[key]) for key in at}}


def _boxes(x: Spec, names: list[str]) -> list[Spec]:
    """The three layers of a spread: line, box, tick."""
    y: Spec = {"field": "name", "type": "nominal", "sort": names, "title": None}

    def layer(mark: Spec, start: str, end: str = "") -> Spec:
        to = {"x2": {"field": end}} if end else {}
        return {"mark": mark, "encoding": {"y": y, "x": {**x, "field": start}, **to}}

    return [
        layer({"type": "rule", "color": "black"}, "low", "high"),
        layer({"type": "bar", "fill": "#ccc", "stroke": "black", "size": 14}, "lower", "upper"),
        layer({"type": "tick", "color": "black", "thickness": 3, "size": 18}, "middle"),
    ]


def _band(low: Decimal, high: Decimal) -> Spec:
    """A pale field between two values of the scale."""
    ends = {"x": {"datum": float(low)}, "x2": {"datum": float(high)}}
    return {
        "mark": {"type": "rect", "color": "#eee"},
        "data": {"values": [{"band": 1}]},
        "encoding": ends,
    }


def ticks(rows: Sequence[Row], *, x_title: str, alt: str, band: tuple[Decimal, Decimal]) -> str:
    """A tick for each value, a row a name, over a shaded band; rows hold `name` and `at`."""
    names = list(dict.fromkeys(row["name"] for row in rows))
    values = [{"name": row["name"], "at": float(row["at"])} for row in rows]
    x: Spec = {"field": "at", "type": "quantitative", "title": x_title,
               "scale": {"zero": False}, "axis": {"tickCount": 8}}  # fmt: skip
    y: Spec = {"field": "name", "type": "nominal", "sort": names, "title": None}
    mark: Spec = {"type": "tick", "color": "black", "thickness": 1.2, "size": 16, "opacity": 0.6}
    return _drawn(
        {
            "description": alt,
            "width": _WIDTH,
            "height": {"step": 26},
            "data": {"values": values},
            "layer": [_band(*band), {"mark": mark, "encoding": {"x": x, "y": y}}],
        }
    )
