"""Overlaps of boundaries, against geographiclib's geodesic polygons (Karney 2013)."""

import json
from pathlib import Path
from time import perf_counter

import pytest
from geographiclib.geodesic import Geodesic

from pipeline.season.overlaps import overlapping_pairs as overlaps
from tests.take.small import ASHA, BEMI, ask, made, registers, sheet, taken

Corner = tuple[float, float]


def square(lon: float, lat: float, east: float, north: float) -> list[Corner]:
    return [(lon, lat), (lon + east, lat), (lon + east, lat + north), (lon, lat + north)]


def wkt(corners: list[Corner]) -> str:
    return "POLYGON ((" + ", ".join(f"{x!r} {y!r}" for x, y in [*corners, corners[0]]) + "))"


def geojson(corners: list[Corner]) -> str:
    return json.dumps({"type": "Polygon", "coordinates": [[*corners, corners[0]]]})


def geodesic_ha(corners: list[Corner]) -> float:
    polygon = Geodesic.WGS84.Polygon()
    for lon, lat in corners:
        polygon.AddPoint(lat, lon)
    return abs(polygon.Compute()[2]) / 10_000


@pytest.mark.parametrize("lat", [-1.2, 6.0, 15.0, 22.5])
def test_the_area_of_an_overlap(lat: float) -> None:
    one, two = square(37.0, lat, 0.002, 0.002), square(37.0015, lat, 0.002, 0.001)
    ((a, b, over, smaller),) = overlaps([wkt(one), geojson(two)])
    assert (a, b) == (0, 1)
    assert over == pytest.approx(geodesic_ha(square(37.0015, lat, 0.0005, 0.001)), rel=1e-4)
    assert smaller == pytest.approx(geodesic_ha(two), rel=1e-4)


def test_neighbours_points_and_what_cannot_be_read_do_not_overlap() -> None:
    one, beside = square(37.0, 6.0, 0.002, 0.002), square(37.002, 6.0, 0.002, 0.002)
    assert overlaps([wkt(one), wkt(beside), "POINT (37.001 6.001)", "POLYGON ((37"]) == []


def test_a_boundary_that_crosses_itself_counts_as_its_pieces() -> None:
    bow = [(37.0, 6.0), (37.002, 6.002), (37.002, 6.0), (37.0, 6.002)]
    ((_, _, over, smaller),) = overlaps([wkt(bow), wkt(square(37.0, 6.0, 0.002, 0.002))])
    assert over == pytest.approx(geodesic_ha(square(37.0, 6.0, 0.002, 0.002)) / 2, rel=1e-4)
    assert over == pytest.approx(smaller)


def test_many_plots_are_not_held_against_each_other_one_by_one() -> None:
    # Rows of plots beside each other, every tenth shifted over its neighbour.
    plots = [
        wkt(square(36 + n % 400 * 0.002 + (n % 10 == 0) * 0.0004, n // 400 * 0.002, 0.002, 0.002))
        for n in range(20_000)
    ]
    begun = perf_counter()
    found = overlaps(plots)
    assert len(found) == 2_000
    assert perf_counter() - begun < 20  # about one; a look at all pairs takes many minutes


@pytest.mark.parametrize(("east", "flagged"), [(0.0020, 0), (0.00181, 0), (0.00179, 1), (0.0, 1)])
def test_plots_that_overlap_by_a_tenth(tmp_path: Path, east: float, flagged: int) -> None:
    book = made(tmp_path / "book")
    shapes = [
        {"member_no": ASHA, "plot_no": "7", "boundary": wkt(square(36.1, 1.2, 0.002, 0.002))},
        {
            "member_no": BEMI,
            "plot_no": "8",
            "boundary": wkt(square(36.1 + east, 1.2, 0.002, 0.002)),
        },
    ]
    plots = [row | {"area_ha": "4.92", "trees": "900", "trees_bearing": "800"} for row in shapes]
    taken(book, *registers(tmp_path), sheet(tmp_path, "walked.csv", "plots", plots))
    flags = ask(
        book,
        "select row_no, facts ->> 'other_member_no', facts ->> 'other_plot_no' from flags "
        "where rule = 'plots-overlap'",
    )
    assert flags == [(3, ASHA, "7")] * flagged
