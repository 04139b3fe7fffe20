"""The level of open water over the cells of a frame, by hand."""

import numpy as np
import pytest
import shapely

from routescreen.project import RasterGrid
from tests.corridor.cases import across, burnt_case, crossing, flat, straight
from tests.corridor.test_burn_ground import pond


def columns_with_water(burnt):
    """Columns of the middle row over which water stands."""
    return np.flatnonzero(np.isfinite(burnt.water_level_m[:, 10])).tolist()


@pytest.mark.parametrize(("is_bed", "level_m"), [(False, 50.0), (True, 50.7)], ids=["level", "bed"])
def test_a_stream_narrower_than_a_cell_stands_over_each_cell_that_it_touches(is_bed, level_m):
    """Banks at 206 and 210: the cell about 210, and that about 200, whose corner is 7.07 m off."""
    row = crossing("stream", across(208.0), water_depth_m=0.7)
    _, _, burnt = burnt_case(straight(row, terrain=flat(50.0), terrain_is_bed=is_bed))
    assert columns_with_water(burnt) == [20, 21]
    assert burnt.water_level_m[20:22, 10] == pytest.approx(level_m)


def test_the_level_is_that_of_the_terrain_at_the_water_and_not_at_the_node():
    """Terrain rises by 0.1 m a metre along x; bank at 206, outlines a few mm wider: 0.6 m above 200."""
    x_m = -200.0 + 10.0 * (np.arange(80) + 0.5)
    slope = RasterGrid(np.tile(50.0 + 0.1 * x_m, (60, 1)), -200.0, 300.0, 10.0, 10.0)
    _, _, burnt = burnt_case(straight(crossing("stream", across(208.0)), terrain=slope))
    assert burnt.water_level_m[20, 10] == pytest.approx(50.0 + 20.6, abs=0.001)
    assert burnt.water_level_m[21, 10] == pytest.approx(50.0 + 21.0, abs=0.001)


def test_water_of_the_ground_cover_alone_counts():
    _, _, burnt = burnt_case(straight(ground_cover=pond(), terrain=flat(50.0)))
    assert columns_with_water(burnt) == [20, 21, 22]


def test_what_has_no_bed_holds_no_water():
    rows = [crossing("road", across(100.0)), crossing("wetland", shapely.box(200, -150, 300, 150))]
    _, _, burnt = burnt_case(straight(*rows, terrain=flat(50.0)))
    assert columns_with_water(burnt) == []
