"""The demo's files: made by their script, small, in the input contract's shape, and staged as told."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import rasterio
import shapely
from shapely import ops

from routescreen.schema.inputs import INPUTS_BY_NAME

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo_data"
LINE = ROOT / "tests" / "data" / "line_corridor"
FOLDERS = [pytest.param(DEMO, id="demo"), pytest.param(LINE, id="line corridor")]
# Machines differ in the last bit of a sine; the files hold whole centimetres.
CENTIMETRE_M = 0.0101
# European Space Agency, WorldCover product user manual: the classes of the map. [memory]
WORLD_COVER = {10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100}


def _layers(folder: Path) -> dict[str, gpd.GeoDataFrame]:
    source = folder / "corridor.gpkg"
    return {str(name): gpd.read_file(source, layer=name) for name in pyogrio.list_layers(source)[:, 0]}


@pytest.fixture(scope="module")
def demo() -> dict[str, gpd.GeoDataFrame]:
    return _layers(DEMO)


@pytest.fixture(scope="module")
def remade(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Both folders, made anew by the script."""
    target = tmp_path_factory.mktemp("remade")
    script = str(DEMO / "make_demo.py")
    env = {name: value for name, value in os.environ.items() if name not in {"PROJ_DATA", "GDAL_DATA"}}
    for flag, folder in (("--out", DEMO.name), ("--line", LINE.name)):
        subprocess.run([sys.executable, script, flag, str(target / folder)], check=True, env=env)
    return target


@pytest.mark.parametrize("folder", FOLDERS)
def test_script_remakes_the_layers(folder: Path, remade: Path) -> None:
    kept, made = _layers(folder), _layers(remade / folder.name)
    assert list(kept) == list(made)
    for name, table in kept.items():
        columns = table.columns.drop("geometry")
        assert table[columns].equals(made[name][columns]), name
        same = shapely.equals_exact(table.geometry.array, made[name].geometry.array, tolerance=CENTIMETRE_M)
        assert same.all(), name


@pytest.mark.parametrize("folder", FOLDERS)
def test_script_remakes_the_rasters(folder: Path, remade: Path) -> None:
    for name, tolerance in (("terrain", CENTIMETRE_M), ("ground_cover", 0.0)):
        with (
            rasterio.open(folder / f"{name}.tif") as kept,
            rasterio.open(remade / folder.name / f"{name}.tif") as made,
        ):
            assert kept.transform == made.transform
            np.testing.assert_allclose(kept.read(1), made.read(1), rtol=0.0, atol=tolerance)


def test_files_stay_under_four_megabytes() -> None:
    files = [DEMO / name for name in ("corridor.gpkg", "ground_cover.tif", "terrain.tif")]
    assert sum(file.stat().st_size for file in files) < 4_000_000


@pytest.mark.parametrize("folder", FOLDERS)
def test_layers_follow_the_input_contract(folder: Path) -> None:
    for name, table in _layers(folder).items():
        declared = INPUTS_BY_NAME[name]
        assert set(table.geom_type) <= set(declared.geometry), name
        assert table.is_valid.all(), name
        assert table.crs.to_epsg() == 25832, name
        known = {column.name: column for column in declared.columns}
        assert set(table.columns) - {"geometry"} <= set(known), name
        for column in known.values():
            if column.allowed and column.name in table:
                assert set(table[column.name].dropna()) <= set(column.allowed), (name, column.name)


@pytest.mark.parametrize("folder", FOLDERS)
def test_rasters_cover_the_corridor_and_250_m_more(folder: Path) -> None:
    corridor = _layers(folder)["corridor"].geometry.iloc[0]
    for name in ("terrain", "ground_cover"):
        with rasterio.open(folder / f"{name}.tif") as raster:
            assert shapely.box(*raster.bounds).covers(corridor.buffer(250.0)), name
            assert raster.crs.to_epsg() == 25832
            values = raster.read(1)
        assert np.isfinite(values).all()
        assert not (values == raster.nodata).any(), name
    assert set(np.unique(values)) <= WORLD_COVER


def test_feature_ids_are_unique(demo: dict[str, gpd.GeoDataFrame]) -> None:
    assert demo["crossings"]["feature_id"].is_unique
    assert demo["parcels"]["parcel_id"].is_unique


def test_corridor_is_twelve_kilometres_by_four_hundred_metres(demo: dict[str, gpd.GeoDataFrame]) -> None:
    axis = demo["axis"].geometry.iloc[0]
    assert axis.length == pytest.approx(12_000.0, abs=1.0)
    # The outline runs on for 30 m past each end of the axis.
    assert demo["corridor"].area.iloc[0] == pytest.approx(12_060.0 * 400.0, rel=1e-3)
    ends = shapely.points([axis.coords[0], axis.coords[-1]])
    assert (shapely.distance(demo["terminals"].geometry.array, ends) < 0.01).all()
    assert demo["corridor"].geometry.iloc[0].contains(shapely.MultiPoint(ends))


def test_axis_is_gentle(demo: dict[str, gpd.GeoDataFrame]) -> None:
    """The radius through three points 100 m apart stays ten times above the half-width."""
    axis = demo["axis"].geometry.iloc[0]
    at = shapely.get_coordinates(axis.interpolate(np.arange(0.0, 11_901.0, 100.0)))
    heading = np.unwrap(np.arctan2(np.diff(at[:, 1]), np.diff(at[:, 0])))
    assert (100.0 / np.abs(np.diff(heading)).max()) > 10.0 * 200.0


NEEDED = {
    **dict.fromkeys(("motorway", "railway", "main_road", "canal", "lake", "wetland", "wind_turbine"), 1),
    **dict.fromkeys(("gas_pipeline", "water_main", "sewer", "power_cable", "telecom"), 1),
    **dict.fromkeys(("forest", "protected_area"), 1),
    **dict.fromkeys(("river", "dyke", "stream"), 2),
    **dict.fromkeys(("road", "track", "ditch", "hedge"), 3),
    "building": 20,
}


@pytest.mark.parametrize(("kind", "least"), NEEDED.items(), ids=NEEDED)
def test_each_kind_stands_in_the_corridor(demo: dict[str, gpd.GeoDataFrame], kind: str, least: int) -> None:
    crossings = demo["crossings"]
    inside = crossings[crossings.intersects(demo["corridor"].geometry.iloc[0])]
    assert (inside["kind"] == kind).sum() >= least


@pytest.mark.parametrize(
    ("chainage_m", "offset_m", "level_m"),
    [
        pytest.param(3412.0, 52.0, 8.9, id="marsh at the canal's agreed shaft"),
        pytest.param(5685.0, -20.0, 7.2, id="rise in the fen"),
        pytest.param(5900.0, 0.0, 7.6, id="between the dykes"),
        pytest.param(3300.0, 50.0, None, id="west of the canal"),
        pytest.param(6090.0, -50.0, None, id="polder behind the dyke"),
    ],
)
def test_floods_reach_what_is_told(
    demo: dict[str, gpd.GeoDataFrame], chainage_m: float, offset_m: float, level_m: float | None
) -> None:
    axis = demo["axis"].geometry.iloc[0]
    here, ahead = (np.array(axis.interpolate(at).coords[0]) for at in (chainage_m, chainage_m + 1.0))
    right = np.array([(ahead - here)[1], -(ahead - here)[0]])
    zones = demo["flood_zones"]
    met = zones[zones.contains(shapely.Point(here + offset_m * right))]
    assert met["level_m"].tolist() == ([] if level_m is None else [level_m])


def test_buried_services_have_a_depth(demo: dict[str, gpd.GeoDataFrame]) -> None:
    services = ["gas_pipeline", "pipeline", "water_main", "sewer", "power_cable", "telecom"]
    buried = demo["crossings"][demo["crossings"]["kind"].isin(services)]
    assert (buried["depth_m"] > 0.5).all()


# They end inside the corridor on purpose; every other line runs from side to side.
ENDS_INSIDE = {
    "Horst causeway",
    "Ostermund lane",
    "Krahenhus lane",
    "Ostkoppe field hedge",
    "Foot field hedge",
    "Hohelunt field hedge",
}


def test_lines_cross_the_corridor_wholly(demo: dict[str, gpd.GeoDataFrame]) -> None:
    corridor = demo["corridor"].geometry.iloc[0]
    lines = demo["crossings"][demo["crossings"].geom_type == "LineString"]
    parted = [
        len(ops.split(corridor, line).geoms) if corridor.intersects(line) else 1 for line in lines.geometry
    ]
    whole = set(lines["name"][np.array(parted) >= 2])
    assert set(lines["name"]) - whole == ENDS_INSIDE


def test_ground_is_wet_on_the_left_and_rocky_on_the_right(demo: dict[str, gpd.GeoDataFrame]) -> None:
    axis = demo["axis"].geometry.iloc[0]
    for chainage in (7300.0, 7900.0, 8400.0):
        here, ahead = axis.interpolate(chainage), axis.interpolate(chainage + 10.0)
        right = np.array([ahead.y - here.y, here.x - ahead.x]) / 10.0
        soils = [
            demo["ground"][demo["ground"].contains(shapely.Point(np.array([here.x, here.y]) + t * right))]
            for t in (-150.0, 0.0, 150.0)
        ]
        assert [len(soil) for soil in soils] == [1, 1, 1]
        left, middle, rocky = (soil.iloc[0] for soil in soils)
        assert left["groundwater_depth_m"] <= 0.5 < 2.0 < middle["groundwater_depth_m"]
        assert rocky["rock_depth_m"] < 1.0
        assert np.isnan(middle["rock_depth_m"])


def _stretch_m(
    demo: dict[str, gpd.GeoDataFrame], shape: shapely.Geometry, offset_m: float
) -> tuple[float, float]:
    """First and last chainage of a shape on the line parallel to the axis at an offset [m]."""
    axis = demo["axis"].geometry.iloc[0]
    beside = shapely.offset_curve(axis, -offset_m)
    met = shapely.get_coordinates(shapely.intersection(beside, shape))
    chainage = shapely.line_locate_point(axis, shapely.points(met))
    return float(chainage.min()), float(chainage.max())


@pytest.mark.parametrize("offset_m", [-180.0, -120.0, 90.0, 180.0])
def test_fen_and_sarve_are_longer_than_a_drive(demo: dict[str, gpd.GeoDataFrame], offset_m: float) -> None:
    """Between the last shaft before the fen and the first behind the east dyke lie more than 1 000 m.

    Clearances of a shaft's edge: wetland 10 m, dyke 30 m from its foot at 12 m. [practice]
    """
    table = demo["crossings"].set_index("name").geometry
    fen_from, _fen_to = _stretch_m(demo, table["Kranich fen"], offset_m)
    _dyke_from, dyke_to = _stretch_m(demo, table["Sarve east dyke"].buffer(12.0), offset_m)
    assert (dyke_to + 30.0) - (fen_from - 10.0) > 1_050.0


def test_rise_in_the_fen_holds_a_shaft_but_no_trench(demo: dict[str, gpd.GeoDataFrame]) -> None:
    """Two shafts with 50 m between their middles do not fit, not even two of 5 m; one of 8 x 21 m does.

    A shaft's edge keeps 10 m from a wetland. [practice]
    """
    fen = demo["crossings"].set_index("name").geometry["Kranich fen"]
    rises = [shapely.Polygon(ring) for ring in fen.interiors]
    assert len(rises) == 1
    room = rises[0].buffer(-10.0)
    axis = demo["axis"].geometry.iloc[0]
    along = shapely.line_locate_point(axis, shapely.points(shapely.get_coordinates(room)))
    assert along.max() - along.min() < 5.0 / 2.0 + 50.0 + 5.0 / 2.0
    assert room.contains(rises[0].centroid.buffer(12.0))


def test_the_agreed_shaft_stands_clear_of_the_canal(demo: dict[str, gpd.GeoDataFrame]) -> None:
    pins = demo["pins"].set_index("role").geometry
    canal = demo["crossings"].set_index("name").geometry["Sarve ship canal"]
    # 20 m of clearance and half a shaft of 8 m. [practice]
    assert 24.0 <= pins["shaft"].distance(canal) < 60.0


def test_the_refused_shaft_would_shorten_the_drive(demo: dict[str, gpd.GeoDataFrame]) -> None:
    """The pin lies on the dry tongue, ahead of the fen's edge everywhere else."""
    pin = demo["pins"].set_index("role").geometry["no_shaft"]
    fen = demo["crossings"].set_index("name").geometry["Kranich fen"]
    assert not fen.intersects(pin)
    edges = [_stretch_m(demo, fen, offset_m)[0] for offset_m in (-150.0, -100.0, 60.0, 150.0)]
    at = demo["axis"].geometry.iloc[0].project(pin)
    assert at - max(edges) > 40.0


def test_the_bend_of_the_lumme_leaves_room_for_a_narrow_strip(demo: dict[str, gpd.GeoDataFrame]) -> None:
    """Between bend and houses fit 20 m to the water, 30 m of strip and 10 m to a house, but no 55 m strip."""
    crossings = demo["crossings"]
    lumme = crossings.set_index("name").geometry["Lumme"].intersection(demo["corridor"].geometry.iloc[0])
    houses = shapely.union_all(crossings[crossings["name"] == "Krahenhus house"].geometry.array)
    gap_m = shapely.distance(lumme, houses)
    assert 20.0 + 30.0 + 10.0 <= gap_m < 20.0 + 55.0 + 10.0


def test_line_corridor_is_one_line_with_four_crossings() -> None:
    layers = _layers(LINE)
    line = layers["corridor"].geometry.iloc[0]
    assert line.geom_type == "LineString"
    assert line.length == pytest.approx(1_500.0, abs=0.1)
    assert list(layers["crossings"]["kind"]) == ["ditch", "railway", "track", "river"]
    assert layers["crossings"].crosses(line).all()
