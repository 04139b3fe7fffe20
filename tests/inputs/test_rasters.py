"""Terrain and ground cover: gaps, codes, windows, other systems of coordinates."""

from __future__ import annotations

import sqlite3
import warnings
from contextlib import closing
from typing import TYPE_CHECKING

import numpy as np
import pytest
import rasterio
from hypothesis import given, settings
from hypothesis import strategies as st
from rasterio.transform import from_origin

from routescreen.inputs import windows
from tests.inputs.site import CRS, SOUTH, WEST, area, at, line

if TYPE_CHECKING:
    from routescreen.project import RasterGrid
    from tests.inputs.site import Site

COVER = 40  # cropland in the ESA WorldCover list


def value_at(grid: RasterGrid, x_m: float, y_m: float) -> float:
    """The pixel that a place lies in, by its distance from the corridor's south-west corner."""
    x, y = at(x_m, y_m)
    row = int((grid.north_m - y) // grid.pixel_height_m)
    column = int((x - grid.west_m) // grid.pixel_width_m)
    return float(grid.values[row, column])


def cover(site: Site, value: int = COVER, dtype: str = "uint8") -> np.ndarray:
    return np.full(site.slope().shape, value, dtype=dtype)


def test_window_is_the_corridor_with_its_margin_and_no_more(site: Site) -> None:
    site.raster("terrain.tif", site.slope(around_m=3000.0), west=-3000.0, north=3200.0)
    grid = site.read().terrain
    assert grid is not None
    assert grid.values.shape == (60, 140)
    assert (grid.west_m, grid.north_m) == at(-200, 400)
    assert grid.values.dtype == np.float64
    # The terrain is a hundredth of the distance from the corridor's western end.
    assert value_at(grid, 505, 105) == pytest.approx(5.05)


def test_no_terrain(site: Site) -> None:
    (site.folder / "terrain.tif").unlink()
    problem = site.problem()
    assert (problem.problem, "--flat" in problem.remedy) == ("There is no terrain.", True)


def test_flat_ground_by_wish(site: Site) -> None:
    (site.folder / "terrain.tif").unlink()
    assert site.read(is_flat=True).terrain is None
    assert site.warning("Flat ground", is_flat=True)


def test_flat_ground_and_a_terrain_at_once(site: Site) -> None:
    """One of them was meant; to go on with either would be a guess."""
    problem = site.problem(is_flat=True, terrain=site.folder / "terrain.tif")
    assert (problem.problem, problem.remedy) == (
        "Flat ground and a terrain are asked for at once.",
        "Leave out --flat or --terrain.",
    )


def test_terrain_that_ends_short_of_the_corridor(site: Site) -> None:
    # 100 columns of 10 m from x = -300: the raster ends at x = 700, and 30 % of the corridor is bare.
    site.raster("terrain.tif", site.slope()[:, :100])
    problem = site.problem()
    assert problem.value == "30.0 %"
    assert "x 400700 to 401000 m, y 5900000 to 5900200 m" in problem.problem


def test_terrain_elsewhere(site: Site) -> None:
    site.raster("terrain.tif", site.slope(), west=50_000.0)
    assert site.problem().value == "100.0 %"


def test_hole_in_the_terrain(site: Site) -> None:
    values = site.slope()
    # Rows 30 to 39 are y = 100 to 200; columns 40 to 49 are x = 100 to 200: a twentieth of the corridor.
    values[30:40, 40:50] = -9999.0
    site.raster("terrain.tif", values, nodata=-9999.0)
    problem = site.problem()
    assert problem.value == "5.0 %"
    assert "x 400100 to 400200 m, y 5900100 to 5900200 m" in problem.problem


@pytest.mark.parametrize("value", [-9999.0, 3.4e38, np.inf], ids=["undeclared-nodata", "float-max", "inf"])
def test_absurd_elevations(site: Site, value: float) -> None:
    values = site.slope()
    values[35, 45] = value
    site.raster("terrain.tif", values)
    problem = site.problem()
    assert "absurd in 1 pixel of" in problem.problem
    assert "nodata" in problem.remedy


def test_nan_in_the_terrain_is_a_hole(site: Site) -> None:
    values = site.slope()
    values[35, 45] = np.nan
    site.raster("terrain.tif", values, nodata=np.nan)
    assert "no data" in site.problem().problem


def test_terrain_cut_to_the_corridor_reaches_one_pixel_further(site: Site) -> None:
    values = site.slope()
    outside = np.ones_like(values, dtype=bool)
    outside[30:50, 30:130] = False
    values[outside] = -9999.0
    site.raster("terrain.tif", values, nodata=-9999.0)
    grid = site.read().terrain
    assert grid is not None
    # The mean of the three neighbours in the corridor: 5.95, 6.05 and 6.15.
    assert value_at(grid, 605, 205) == pytest.approx(6.05)
    assert np.isnan(value_at(grid, 605, 245))


def test_terrain_in_centimetres_by_scale_and_offset(site: Site) -> None:
    values = np.full(site.slope().shape, 1234, dtype="int16")
    path = site.raster("terrain.tif", values)
    with rasterio.open(path, "r+") as dataset:
        dataset.scales, dataset.offsets = (0.01,), (100.0,)
    grid = site.read().terrain
    assert grid is not None
    assert value_at(grid, 500, 100) == pytest.approx(112.34)


def test_terrain_in_feet(site: Site) -> None:
    path = site.raster("terrain.tif", site.slope())
    with rasterio.open(path, "r+") as dataset:
        dataset.units = ("ft",)
    assert site.problem().problem == "The elevations are not in metres."


@pytest.mark.parametrize("layer_crs", ["EPSG:4326", "EPSG:25832"])
def test_terrain_in_another_crs_is_resampled_and_it_is_said(site: Site, layer_crs: str) -> None:
    from pyproj import Transformer

    # A plane in the other CRS: its value is known at every place of the corridor.
    transformer = Transformer.from_crs(CRS, layer_crs, always_xy=True)
    west, south, east, north = transformer.transform_bounds(*at(-400, -400), *at(1400, 600))
    n = 200
    step_x, step_y = (east - west) / n, (north - south) / n
    plane = np.broadcast_to(np.arange(n) + 0.5, (n, n)).astype("float32")
    with rasterio.open(
        site.folder / "terrain.tif", "w", driver="GTiff", width=n, height=n, count=1, dtype="float32",
        crs=layer_crs, transform=rasterio.Affine(step_x, 0, west, 0, -step_y, north),
    ) as dataset:  # fmt: skip
        dataset.write(plane, 1)
    result = site.read()
    grid = result.terrain
    assert grid is not None
    for x_m, y_m in [(5.0, 5.0), (500.0, 100.0), (995.0, 195.0)]:
        x, y = at(x_m, y_m)
        row, column = (
            int((grid.north_m - y) // grid.pixel_height_m),
            int((x - grid.west_m) // grid.pixel_width_m),
        )
        middle = (
            grid.west_m + (column + 0.5) * grid.pixel_width_m,
            grid.north_m - (row + 0.5) * grid.pixel_height_m,
        )
        own_x, _ = transformer.transform(*middle)
        # An eighth of a pixel: the warp's own approximation of the transformation.
        assert grid.values[row, column] == pytest.approx((own_x - west) / step_x, abs=0.13)
    assert any("terrain is resampled" in text for text in result.warnings)


@pytest.mark.parametrize(("pixel_m", "is_said"), [(10.0, False), (20.0, False), (50.0, True)])
def test_a_terrain_much_coarser_than_the_frame_is_said(site: Site, pixel_m: float, is_said: bool) -> None:
    # The frame's cells are 10 m long; twice that is still as fine as many terrain models are.
    site.raster("terrain.tif", site.slope(pixel_m=pixel_m), pixel_m=pixel_m)
    told = [text for text in site.read().warnings if "The terrain has pixels" in text]
    assert ["pixels of 50 m, and the frame cells of 10 m" in text for text in told] == [True] * is_said


def test_raster_without_crs(site: Site) -> None:
    site.raster("terrain.tif", site.slope(), crs=None)
    assert "no coordinate reference system" in site.problem().problem


def test_file_that_is_no_raster(site: Site) -> None:
    (site.folder / "terrain.tif").write_text("no raster")
    problem = site.problem()
    assert (problem.file, "can't be read" in problem.problem) == (str(site.folder / "terrain.tif"), True)


def test_truncated_raster(site: Site) -> None:
    path = site.raster("terrain.tif", site.slope(), compress="deflate")
    path.write_bytes(path.read_bytes()[:1500])
    assert "can't be read" in site.problem().problem


def test_no_ground_cover_is_said(site: Site) -> None:
    assert site.read().ground_cover is None
    assert site.warning("no ground cover")


def test_codes_become_classes(site: Site) -> None:
    # ESA WorldCover: 10 tree cover, 40 cropland, 80 water.
    values = cover(site)
    values[:, :50], values[:, 100:] = 10, 80
    site.raster("ground_cover.tif", values)
    grid = site.read().ground_cover
    assert grid is not None
    assert grid.values.dtype == np.int16
    names = site.assumptions.cover_names
    classes = [names[int(value_at(grid, x, 100))] for x in (100, 500, 900)]
    assert classes == ["forest", "cropland", "water"]


def test_other_code_list(site: Site) -> None:
    # CORINE Land Cover: 211 non-irrigated arable land.
    site.raster("ground_cover.tif", cover(site, 211))
    grid = site.read(cover_codes="clc").ground_cover
    assert grid is not None
    assert site.assumptions.cover_names[int(value_at(grid, 500, 100))] == "cropland"


def test_code_list_that_does_not_exist(site: Site) -> None:
    site.raster("ground_cover.tif", cover(site))
    problem = site.problem(cover_codes="lucas")
    assert (problem.column, problem.value) == ("cover_codes", "lucas")


def test_all_unknown_codes_are_listed_at_once(site: Site) -> None:
    values = cover(site)
    values[35, 45:47], values[36, 45], values[0, 0] = 7, 13, 99
    site.raster("ground_cover.tif", values)
    # The pixel with the code 99 lies outside the corridor.
    assert site.problem().value == "7 (2 pixels), 13 (1 pixel)"


def test_ground_cover_that_ends_short_of_the_corridor(site: Site) -> None:
    site.raster("ground_cover.tif", cover(site)[:, :120])
    assert site.problem().value == "10.0 %"


def test_ground_cover_without_data_is_unknown_and_its_share_is_said(site: Site) -> None:
    values = cover(site)
    values[30:50, 30:80] = 0
    site.raster("ground_cover.tif", values, nodata=0)
    assert "50.0 % of the corridor A" in site.warning("no data")
    grid = site.read().ground_cover
    assert grid is not None
    assert site.assumptions.cover_names[int(value_at(grid, 100, 100))] == "unknown"


def put_table(site: Site, table: str, values: np.ndarray, **options: str) -> None:
    with rasterio.open(
        site.gpkg, "w", driver="GPKG", dtype=values.dtype, RASTER_TABLE=table, APPEND_SUBDATASET="YES",
        width=values.shape[1], height=values.shape[0], count=1, crs=CRS,
        transform=from_origin(WEST - 300.0, SOUTH + 500.0, 10.0, 10.0), **options,
    ) as dataset:  # fmt: skip
        dataset.write(values, 1)


@pytest.mark.parametrize("is_wal", [False, True], ids=["plain", "write-ahead-mode"])
def test_raster_tables_in_the_geopackage(site: Site, is_wal: bool) -> None:
    (site.folder / "terrain.tif").unlink()
    put_table(site, "terrain", site.slope())
    put_table(site, "ground_cover", cover(site), TILE_FORMAT="PNG")
    if is_wal:
        with closing(sqlite3.connect(site.gpkg)) as connection:
            connection.execute("PRAGMA journal_mode = WAL").fetchall()
    result = site.read()
    assert result.terrain is not None
    assert result.ground_cover is not None
    assert value_at(result.terrain, 505, 105) == pytest.approx(5.05)
    assert site.assumptions.cover_names[int(value_at(result.ground_cover, 505, 105))] == "cropland"
    assert sorted(path.name for path in site.folder.iterdir()) == ["corridor.gpkg"]


def test_lossy_table_is_found_out_by_its_codes(site: Site) -> None:
    rng = np.random.default_rng(3)
    values = rng.choice(np.array([10, 20, 30, 40, 80], dtype="uint8"), size=(400, 400))
    site.layer("corridor", [area(0, -2000, 1000, 200)], corridor_id=["A"])
    site.raster("terrain.tif", np.zeros((400, 400), dtype="float32"))
    put_table(site, "ground_cover", values, TILE_FORMAT="JPEG")
    problem = site.problem()
    assert "codes that the code list does not know" in problem.problem
    assert "PNG tiles" in problem.remedy
    assert ".tif" in problem.remedy


def test_named_rasters_win(site: Site) -> None:
    site.raster("other.tif", site.slope() + 50.0)
    grid = site.read(terrain=site.folder / "other.tif").terrain
    assert grid is not None
    assert value_at(grid, 505, 105) == pytest.approx(55.05)


def test_too_fine_a_raster_is_read_coarser_and_it_is_said(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The window has 60 x 140 = 8 400 pixels: twice as coarse in both directions, 2 100 remain.
    monkeypatch.setattr(windows, "MOST_PIXELS", 3_000)
    result = site.read()
    assert result.terrain is not None
    assert result.terrain.pixel_width_m == pytest.approx(20.0)
    assert value_at(result.terrain, 510, 110) == pytest.approx(5.1, abs=0.11)
    assert any("finer than can be held" in text for text in result.warnings)


def test_raster_with_rows_from_south_to_north(site: Site) -> None:
    values = site.slope()
    x, y = at(-300, -300)
    site.raster("terrain.tif", values, transform=rasterio.Affine(10.0, 0.0, x, 0.0, 10.0, y))
    grid = site.read().terrain
    assert grid is not None
    assert value_at(grid, 505, 105) == pytest.approx(5.05, abs=0.06)


@settings(max_examples=25, deadline=None)
@given(
    west=st.floats(-400.0, 900.0),
    south=st.floats(-400.0, 500.0),
    width=st.floats(1.0, 400.0),
    height=st.floats(1.0, 300.0),
)
def test_window_agrees_with_the_whole_raster(
    tmp_path_factory: pytest.TempPathFactory, west: float, south: float, width: float, height: float
) -> None:
    whole = np.arange(80 * 160, dtype="float32").reshape(80, 160)
    path = tmp_path_factory.mktemp("raster") / "whole.tif"
    profile = {"driver": "GTiff", "width": 160, "height": 80, "count": 1, "dtype": "float32", "crs": CRS}
    with rasterio.open(path, "w", transform=from_origin(WEST, SOUTH, 10.0, 10.0), **profile) as dataset:
        dataset.write(whole, 1)
    bounds = (WEST + west, SOUTH - south - height, WEST + west + width, SOUTH - south)
    with warnings.catch_warnings(), rasterio.open(path) as dataset:
        part = windows._read_aligned(dataset, bounds)
    assert part.transform.c <= bounds[0]
    assert part.transform.f >= bounds[3]
    assert part.transform.c + 10.0 * part.values.shape[1] >= bounds[2]
    assert part.transform.f - 10.0 * part.values.shape[0] <= bounds[1]
    for i, j in np.ndindex(part.values.shape):
        column = round((part.transform.c - WEST) / 10.0) + j
        row = round((SOUTH - part.transform.f) / 10.0) + i
        is_on = 0 <= row < 80 and 0 <= column < 160
        assert part.is_covered[i, j] == is_on
        assert not is_on or part.values[i, j] == whole[row, column]


def test_fixed_alignment_needs_terrain_along_the_line_only(site: Site) -> None:
    site.layer("corridor", [line((0, 100), (1000, 100))], corridor_id=["A"])
    values = site.slope()
    values[:37] = values[43:] = -9999.0
    site.raster("terrain.tif", values, nodata=-9999.0)
    assert site.read().terrain is not None
