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
from pathlib import Path
from typing import Any

import fontpkg_noto_sans
import vl_convert

from reports.facts import Row

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
    vl_convert.register_font_directory(str(Path(fontpkg_noto_sans.ROOT) / "files"))


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


def reach(rows: Sequence[Row]) -> Decimal | None:
    """Where the scale of a spread ends, so that one far value does not flatten every box.

    Three box widths beyond the farthest box; None where no line goes further.
    """
    end = max(row["upper"] + 3 * (row["upper"] - row["lower"]) for row in rows)
    return end if any(row["high"] > end for row in rows) and end > 0 else None


def spreads(
    rows: Sequence[Row], *, x_title: str, alt: str, band: tuple[float, float] | None = None
) -> str:
    """A box a row over an optional shaded band.

    Rows hold `name`, `low`, `lower`, `middle`, `upper`, `high`: line from lowest to highest, box
    over the middle half, tick at the median.
    """
    keys = ("low", "lower", "middle", "upper", "high")
    values = [{"name": r["name"], **{key: float(r[key]) for key in keys}} for r in rows]
    names = [row["name"] for row in rows]
    end = reach(rows)
    if end is not None:
        # Cut here, not by a clip in the drawing, whose id would differ from one run to the next.
        values = [value | {"high": min(value["high"], float(end))} for value in values]
    where = {"field": "name", "type": "nominal", "sort": names, "title": None}
    scale: Spec = {"zero": band is None, "nice": True}
    if end is not None:
        scale |= {"domainMax": float(end), "nice": False}

    def bar(start: str, end: str, mark: Spec) -> Spec:
        x = {
            "field": start,
            "type": "quantitative",
            "title": x_title,
            "scale": scale,
            "axis": {"tickCount": 8},
        }
        return {"mark": mark, "encoding": {"y": where, "x": x, "x2": {"field": end}}}

    median = {"type": "tick", "color": "black", "thickness": 3, "size": 18}
    at = {"field": "middle", "type": "quantitative"}
    layers: list[Spec] = [
        bar("low", "high", {"type": "rule", "color": "black"}),
        bar("lower", "upper", {"type": "bar", "fill": "#ccc", "stroke": "black", "size": 14}),
        {"mark": median, "encoding": {"y": where, "x": at}},
    ]
    if band:
        shade: Spec = {"mark": {"type": "rect", "color": "#eee"}, "data": {"values": [{}]},
                 "encoding": {"x": {"datum": band[0]}, "x2": {"datum": band[1]}}}  # fmt: skip
        layers.insert(0, shade)
    return _drawn(
        {
            "description": alt,
            "width": _WIDTH,
            "height": {"step": 26},
            "data": {"values": values},
            "layer": layers,
        }
    )
