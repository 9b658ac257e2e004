"""Areas of plots by their boundaries, against geographiclib's geodesic polygons (Karney 2013)."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from geographiclib.geodesic import Geodesic

Ring = list[tuple[float, float]]

PLOTS = [(36.8, -1.2, 0.002), (-90.1, 14.5, 0.004), (38.0, 9.0, 0.0007), (30.0, 0.0, 0.01)]


def around(lon: float, lat: float, size: float) -> Ring:
    """Four corners, none of its sides along a parallel or a meridian."""
    corners = ((0.0, 0.0), (1.0, 0.1), (1.1, 1.0), (-0.2, 0.8))
    return [(lon + size * east, lat + size * north) for east, north in corners]


def geodesic_ha(ring: Ring) -> float:
    polygon = Geodesic.WGS84.Polygon()
    for lon, lat in ring:
        polygon.AddPoint(lat, lon)
    return abs(polygon.Compute()[2]) / 10_000


def text(ring: Ring) -> str:
    return "(" + ", ".join(f"{lon!r} {lat!r}" for lon, lat in [*ring, ring[0]]) + ")"


@pytest.mark.parametrize(("lon", "lat", "size"), PLOTS)
def test_a_polygon_of_wkt(ask: Callable[..., Any], lon: float, lat: float, size: float) -> None:
    ring = around(lon, lat, size)
    got = float(ask("select boundary_ha($shape)", shape=f"POLYGON ({text(ring)})"))
    assert got == pytest.approx(geodesic_ha(ring), abs=0.00006)


@pytest.mark.parametrize(("lon", "lat", "size"), PLOTS)
def test_two_polygons_and_a_hole_of_geojson(
    ask: Callable[..., Any], lon: float, lat: float, size: float
) -> None:
    one, hole = around(lon, lat, size), around(lon + size / 4, lat + size / 4, size / 3)
    two = around(lon + 3 * size, lat, size / 2)
    rings = [[one, hole], [two]]
    shape = {
        "type": "MultiPolygon",
        "coordinates": [
            [[[*corner, 1650.5] for corner in [*ring, ring[0]]] for ring in polygon]
            for polygon in rings
        ],
    }
    expected = geodesic_ha(one) - geodesic_ha(hole) + geodesic_ha(two)
    got = float(ask("select boundary_ha($shape)", shape=json.dumps(shape)))
    assert got == pytest.approx(expected, abs=0.00006)
    wkt = f"MULTIPOLYGON (({text(one)}, {text(hole)}), ({text(two)}))"
    assert float(ask("select boundary_ha($shape)", shape=wkt)) == got


def test_the_way_round_does_not_matter(ask: Callable[..., Any]) -> None:
    ring = around(36.8, -1.2, 0.002)
    there = ask("select boundary_ha($shape)", shape=f"POLYGON ({text(ring)})")
    back = ask("select boundary_ha($shape)", shape=f"POLYGON ({text(ring[::-1])})")
    assert there == back > 4


@pytest.mark.parametrize(
    "shape",
    ["POINT (36 1)", "MULTIPOINT ((36 1), (37 2))", "POLYGON EMPTY", "POLYGON ((a b, c d))", None],
)
def test_what_encloses_nothing_has_no_area(ask: Callable[..., Any], shape: str | None) -> None:
    assert ask("select boundary_ha($shape)", shape=shape) is None
