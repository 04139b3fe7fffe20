"""Areas by class of ground cover: by hand, beyond the raster, and against pixel by pixel on random shapes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.audit.cover_areas import class_areas_m2
from routescreen.audit.ground import true_ground
from routescreen.project import RasterGrid
from tests.audit.place import place

A = load_assumptions()
N = len(A.cover)
UNKNOWN = list(A.cover).index(A.default_cover)


def ground(values: np.ndarray):
    grid = RasterGrid(
        values.astype("int16"), west_m=0.0, north_m=100.0, pixel_width_m=10.0, pixel_height_m=5.0
    )
    return true_ground(replace(place(), ground_cover=grid), A)


CHECKS = np.indices((20, 10)).sum(axis=0) % 2  # classes 0 and 1 like a chessboard


def test_two_pixels_and_a_half_by_hand() -> None:
    """x 5 to 30, y 95 to 100 of the first row: half of a 0, a 1 and a 0."""
    found = class_areas_m2(ground(CHECKS), shapely.box(5.0, 95.0, 30.0, 100.0), N)
    assert found[0] == pytest.approx(25.0 + 50.0)
    assert found[1] == pytest.approx(50.0)
    assert found.sum() == pytest.approx(125.0)


def test_outside_and_without_value_it_is_unknown() -> None:
    values = CHECKS.copy()
    values[0, 0] = -1
    found = class_areas_m2(ground(values), shapely.box(-20.0, 95.0, 10.0, 100.0), N)
    assert found[UNKNOWN] == pytest.approx(150.0)
    assert found.sum() == pytest.approx(150.0)


def test_without_ground_cover_all_is_unknown() -> None:
    bare = true_ground(replace(place(), ground_cover=None), A)
    assert class_areas_m2(bare, shapely.box(0.0, 0.0, 7.0, 3.0), N)[UNKNOWN] == 21.0
    assert not class_areas_m2(bare, shapely.Polygon(), N).any()


@given(seed=st.integers(0, 10_000), few=st.sampled_from([1, 7, 4096]))
@settings(max_examples=60, deadline=None)
def test_pixel_by_pixel(seed: int, few: int) -> None:
    """However often it is halved, each pixel counts with its part of the shape, once."""
    import routescreen.audit.cover_areas as cover_areas

    rng = np.random.default_rng(seed)
    values = rng.integers(-1, 4, (20, 10))
    corners = rng.uniform((-20.0, -10.0), (120.0, 110.0), (7, 2))
    area = shapely.union(
        shapely.buffer(shapely.LineString(corners[:4]), float(rng.uniform(0.5, 8.0))),
        shapely.convex_hull(shapely.MultiPoint(corners[4:])),
    )
    usual, cover_areas.FEW_PIXELS = cover_areas.FEW_PIXELS, few
    try:
        found = class_areas_m2(ground(values), area, N)
    finally:
        cover_areas.FEW_PIXELS = usual
    expected = np.zeros(N)
    for row in range(20):
        for column in range(10):
            pixel = shapely.box(10.0 * column, 95.0 - 5.0 * row, 10.0 * column + 10.0, 100.0 - 5.0 * row)
            value = int(values[row, column])
            expected[value if value >= 0 else UNKNOWN] += shapely.intersection(area, pixel).area
    expected[UNKNOWN] += shapely.difference(area, shapely.box(0.0, 0.0, 100.0, 100.0)).area
    np.testing.assert_allclose(found, expected, atol=1e-6)
