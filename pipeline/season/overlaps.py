"""Which plots' boundaries lie over each other, by area on the ellipsoid."""

from typing import TYPE_CHECKING, Any

import duckdb
import numpy as np

from pipeline.season.tables import season_sql

if TYPE_CHECKING:
    import numpy.typing as npt

# WGS 84: half the longer axis in metres, and the square of the eccentricity.
HALF_AXIS_M, ECCENTRICITY_2 = 6_378_137.0, 0.00669437999014
HECTARE_M2 = 10_000.0
LEAST_M2 = 1.0


def note_overlaps(con: duckdb.DuckDBPyConnection) -> None:
    """Fill `plot_overlaps` from the latest counted boundary of each plot.

    A boundary that crosses itself counts as the pieces that it makes; a point encloses nothing.
    """
    plots = con.sql(season_sql("boundaries")).fetchall()
    if len(plots) < 2:
        return
    found = overlapping_pairs([boundary for *_, boundary in plots])
    rows: dict[int, list[tuple[float, float, int]]] = {}
    for one, other, overlap, smaller in found:
        rows.setdefault(max(one, other), []).append((overlap, smaller, min(one, other)))
    if not rows:
        return
    con.executemany(
        "insert into plot_overlaps values (?, ?, ?, ?, ?, ?, ?)",
        [
            [*plots[later][:2], *plots[other][2:4], round(overlap, 4), round(smaller, 4), len(over)]
            for later, over in sorted(rows.items())
            for overlap, smaller, other in [max(over)]
        ],
    )


def overlapping_pairs(boundaries: list[str]) -> list[tuple[int, int, float, float]]:
    """Return the pairs that overlap: two positions, hectares of overlap and of the smaller."""
    shapely = _shapely()
    shapes: Any = np.array([_shape(text) for text in boundaries], dtype=object)
    valid = np.array([shape is not None for shape in shapes])
    places = np.flatnonzero(valid)
    flat: Any = shapely.make_valid(shapely.transform(shapes[valid], _equal_area))
    tree = shapely.STRtree(flat)
    one, other = tree.query(flat, predicate="intersects")
    once = one < other
    one, other = one[once], other[once]
    overlap = shapely.area(shapely.intersection(flat[one], flat[other]))
    areas = shapely.area(flat)
    smaller = np.minimum(areas[one], areas[other])
    return [
        (int(places[a]), int(places[b]), float(over) / HECTARE_M2, float(least) / HECTARE_M2)
        for a, b, over, least in zip(one, other, overlap, smaller, strict=True)
        if over >= LEAST_M2
    ]


def _shapely() -> Any:
    """Return the library, imported where boundaries are at hand: most commands need none of it."""
    import shapely

    return shapely


def _shape(text: str) -> Any:
    """Return a boundary as a shape, or None where it cannot be read or is no area."""
    shapely = _shapely()
    read = shapely.from_geojson if text.lstrip().startswith("{") else shapely.from_wkt
    shape: Any = read(text, on_invalid="ignore")
    is_area = shape is not None and shape.geom_type in ("Polygon", "MultiPolygon")
    return shape if is_area else None


def _equal_area(positions: "npt.NDArray[np.float64]") -> "npt.NDArray[np.float64]":
    """Return positions in degrees as metres on the equal-area cylinder of the ellipsoid.

    Source: Snyder, Map Projections - a Working Manual (USGS 1395, 1987), from memory: with q of
    the latitude, areas are true; the published checks hold them against geographiclib.
    """
    e = np.sqrt(ECCENTRICITY_2)
    sine = np.sin(np.radians(positions[:, 1]))
    q = (1 - ECCENTRICITY_2) * (sine / (1 - ECCENTRICITY_2 * sine**2) + np.arctanh(e * sine) / e)
    return np.column_stack([HALF_AXIS_M * np.radians(positions[:, 0]), HALF_AXIS_M * q / 2])
