"""Small invented corridors as read input, from a seed: for the laws, the bill's proof and benchmarks.

Everything is made up: place, ground and features. A corridor is 0.4 to 1.2 km long and 100 to 300 m wide,
on a bent axis anywhere in a projected grid and at any bearing. It has hilly terrain, patches of every
ground cover, polygons of soil, groundwater and rock, and features of all kinds of the assumptions:
lines at any angle, slivers, areas, features that end inside the corridor or lie over each other,
with values of their own now and then; pins, buildings beside the route, roads for access. Some are fixed
alignments. Most have a plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS
from shapely import LineString, Point, Polygon

from routescreen.assumptions import load_assumptions
from routescreen.project import CorridorInput, RasterGrid
from routescreen.schema.inputs import INPUTS_BY_NAME

if TYPE_CHECKING:
    from numpy.typing import NDArray

CRS_METRES = CRS.from_epsg(25832)
SPACING_M = 5.0  # of the axis' points
MARGIN_M = 140.0  # of the rasters round the corridor
PIXEL_M = 10.0
FIXED_LINE_SHARE = 0.12
AREA_KINDS = (
    "lake",
    "protected_area",
    "water_protection_area",
    "forest",
    "wetland",
    "archaeological_site",
    "graveyard",
    "landfill",
    "contaminated_ground",
)
NO_WAY_KINDS = ("building", "graveyard", "landfill", "wind_turbine")  # neither cut nor driven under
SERVICE_KINDS = ("gas_pipeline", "pipeline", "water_main", "sewer", "power_cable", "telecom")
WATER_KINDS = ("river", "stream", "ditch", "canal", "lake")
BASE_KINDS = ("dyke", "sea_dyke", "railway")

Row = dict[str, object]
Layer = list[tuple[Row, shapely.Geometry]]


@dataclass(frozen=True, slots=True)
class Line:
    """A bent line that places are measured along and across from.

    `xy_m` (n, 2) points every few metres, `heading_rad` (n,) direction at each, `chainage_m` (n,).
    """

    xy_m: NDArray[np.float64]
    heading_rad: NDArray[np.float64]
    chainage_m: NDArray[np.float64]

    @property
    def length_m(self) -> float:
        """Length along the line [m]."""
        return float(self.chainage_m[-1])

    def at(self, s_m: NDArray[np.float64], t_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return points at distances along and across (right positive); straight on beyond the ends."""
        inside = np.clip(s_m, 0.0, self.length_m)
        heading = np.interp(inside, self.chainage_m, self.heading_rad)
        x = np.interp(inside, self.chainage_m, self.xy_m[:, 0]) + (s_m - inside) * np.cos(heading)
        y = np.interp(inside, self.chainage_m, self.xy_m[:, 1]) + (s_m - inside) * np.sin(heading)
        return np.stack([x + t_m * np.sin(heading), y - t_m * np.cos(heading)], axis=-1)

    def at_one(self, s_m: float, t_m: float) -> tuple[float, float]:
        """Return one point."""
        x, y = self.at(np.array([s_m]), np.array([t_m]))[0]
        return float(x), float(y)


def random_corridor(seed: int) -> CorridorInput:
    """Make the invented corridor of a seed.

    Parameters
    ----------
    seed : int

    Returns
    -------
    CorridorInput
        Some of them have no plan.
    """
    rng = np.random.default_rng([seed, 2025])
    line = _bent_line(rng)
    is_fixed = rng.random() < FIXED_LINE_SHARE
    half_m = float(rng.uniform(50.0, 150.0))
    outline = _outline(rng, line, half_m)
    return CorridorInput(
        corridor_id=f"invented-{seed}",
        crs=CRS_METRES,
        outline=None if is_fixed else outline,
        fixed_line=LineString(line.xy_m[:: int(rng.integers(4, 12))]) if is_fixed else None,
        axis=None if is_fixed or rng.random() < 0.25 else LineString(line.xy_m[::4]),
        start=None if is_fixed else Point(line.at_one(2.0, 0.0)),
        end=None if is_fixed else Point(line.at_one(line.length_m - 2.0, 0.0)),
        crossings=as_layer("crossings", _features(rng, line, half_m, seed, is_fixed=is_fixed)),
        ground=as_layer("ground", _ground(rng, line, half_m)),
        access=as_layer("access", _access(rng, line, half_m)),
        parcels=as_layer("parcels", []),
        investigations=as_layer("investigations", []),
        pins=as_layer("pins", [] if is_fixed else _pins(rng, line, half_m)),
        terrain=_terrain(rng, line, half_m),
        ground_cover=_cover(rng, line, half_m),
        terrain_is_bed=bool(rng.random() < 0.15),
    )


def as_layer(name: str, features: Layer) -> gpd.GeoDataFrame:
    """Return features as an input layer with all its columns, missing values None or NaN."""
    columns: dict[str, object] = {}
    for column in INPUTS_BY_NAME[name].columns:
        is_number = column.type == "real"
        values = [row.get(column.name, math.nan if is_number else None) for row, _ in features]
        columns[column.name] = np.array(values, dtype=float if is_number else object)
    shapes = gpd.GeoSeries([geometry for _, geometry in features], crs=CRS_METRES)
    return gpd.GeoDataFrame(columns, geometry=shapes, crs=CRS_METRES)


def _bent_line(rng: np.random.Generator) -> Line:
    """Lay the axis: gently bent, of any length and bearing, somewhere in the grid."""
    n = int(rng.integers(80, 241))
    bend = np.cumsum(rng.normal(0.0, 1.0, n))
    bend = np.convolve(bend, np.ones(40) / 40.0, mode="same")
    turn = (bend - bend[0]) / max(1e-9, float(np.ptp(bend))) * rng.uniform(0.0, 0.9)
    heading = rng.uniform(-math.pi, math.pi) + turn
    step = SPACING_M * np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    origin = np.array([rng.uniform(3.2e5, 6.8e5), rng.uniform(5.3e6, 6.0e6)])
    xy = origin + np.concatenate([[[0.0, 0.0]], np.cumsum(step[:-1], axis=0)])
    return Line(xy, heading, SPACING_M * np.arange(n, dtype=np.float64))


def _outline(rng: np.random.Generator, line: Line, half_m: float) -> Polygon:
    """Return the corridor: a band of wavering width along the line."""
    s = np.linspace(0.0, line.length_m, max(8, int(line.length_m / 40.0)))
    left = half_m * (1.0 - 0.25 * rng.random(len(s)))
    right = half_m * (1.0 - 0.25 * rng.random(len(s)))
    ring = np.concatenate([line.at(s, -left), line.at(s[::-1], right[::-1])])
    return Polygon(ring)


def _extent(line: Line, half_m: float) -> tuple[float, float, int, int]:
    """Return west and north edge and the pixels of a raster round the corridor."""
    low = line.xy_m.min(axis=0) - half_m - MARGIN_M
    high = line.xy_m.max(axis=0) + half_m + MARGIN_M
    west, north = math.floor(low[0] / PIXEL_M) * PIXEL_M, math.ceil(high[1] / PIXEL_M) * PIXEL_M
    return west, north, int((north - low[1]) / PIXEL_M) + 1, int((high[0] - west) / PIXEL_M) + 1


def _terrain(rng: np.random.Generator, line: Line, half_m: float) -> RasterGrid | None:
    """Return hills of several wavelengths; now and then no terrain at all (flat ground)."""
    if rng.random() < 0.05:
        return None
    west, north, n_rows, n_columns = _extent(line, half_m)
    row, column = np.meshgrid(np.arange(n_rows), np.arange(n_columns), indexing="ij")
    x, y = (column + 0.5) * PIXEL_M, -(row + 0.5) * PIXEL_M
    level = np.full(x.shape, rng.uniform(-5.0, 300.0))
    for wavelength_m in (900.0, 400.0, 180.0, 70.0):
        bearing, phase = rng.uniform(0.0, 2.0 * math.pi, 2)
        height_m = wavelength_m * rng.uniform(0.0, 0.008)
        along = x * math.cos(bearing) + y * math.sin(bearing)
        level += height_m * np.sin(2.0 * math.pi * along / wavelength_m + phase)
    level += rng.normal(0.0, 0.04, level.shape)
    return RasterGrid(level, west, north, PIXEL_M, PIXEL_M)


def _cover(rng: np.random.Generator, line: Line, half_m: float) -> RasterGrid | None:
    """Return patches of every class: each pixel takes that of the nearest of some scattered points."""
    if rng.random() < 0.05:
        return None
    names = list(load_assumptions().cover)
    west, north, n_rows, n_columns = _extent(line, half_m)
    row, column = np.meshgrid(np.arange(n_rows), np.arange(n_columns), indexing="ij")
    n_patches = max(6, int(row.size / rng.uniform(60.0, 250.0)))
    middle = rng.random((n_patches, 2)) * [n_rows, n_columns]
    is_open = [name in ("cropland", "grassland") for name in names]
    weight = np.where(is_open, 6.0, [0.5 if name in ("water", "wetland", "peat") else 1.0 for name in names])
    patch_class = rng.choice(len(names), n_patches, p=weight / weight.sum())
    away = [np.hypot(row - r, column - c) for r, c in middle]
    values = patch_class[np.argmin(np.array(away), axis=0)].astype(np.int16)
    values[rng.random(values.shape) < 0.004] = -1  # no data
    return RasterGrid(values, west, north, PIXEL_M, PIXEL_M)


def _blob(rng: np.random.Generator, line: Line, s_m: float, t_m: float, radius_m: float) -> Polygon:
    """Return an area of uneven edge about a place."""
    angle = np.linspace(0.0, 2.0 * math.pi, 14, endpoint=False)
    reach = radius_m * rng.uniform(0.6, 1.0, len(angle))
    stretch = rng.uniform(0.6, 1.6)
    return Polygon(line.at(s_m + stretch * reach * np.cos(angle), t_m + reach * np.sin(angle)))


def _ground(rng: np.random.Generator, line: Line, half_m: float) -> Layer:
    """Return polygons of soil, water and rock that lie over each other; some say only one thing."""
    soils = list(load_assumptions().soil)
    found: Layer = []
    for _ in range(int(rng.integers(0, 6))):
        row: Row = {}
        if rng.random() < 0.7:
            row["soil"] = str(rng.choice(soils))
        if rng.random() < 0.7:
            row["groundwater_depth_m"] = float(rng.uniform(0.3, 12.0))
        if rng.random() < 0.35:
            row["rock_depth_m"] = float(rng.uniform(1.5, 9.0))
            row["rock_soil"] = str(rng.choice(["rock_weak", "rock_hard"])) if rng.random() < 0.6 else None
        at = float(rng.uniform(0.0, line.length_m)), float(rng.uniform(-half_m, half_m))
        found.append((row, _blob(rng, line, *at, float(rng.uniform(60.0, 300.0)))))
    return found


def _access(rng: np.random.Generator, line: Line, half_m: float) -> Layer:
    """Return a road that carries plant beside the corridor, now and then."""
    if rng.random() < 0.5:
        return []
    s = np.linspace(-50.0, line.length_m + 50.0, 8)
    t = rng.choice([-1.0, 1.0]) * half_m * rng.uniform(0.4, 1.6) + rng.normal(0.0, 8.0, len(s))
    return [({}, LineString(line.at(s, t)))]


def _pins(rng: np.random.Generator, line: Line, half_m: float) -> Layer:
    """Return a place to pass, a place free of shafts, or nothing."""
    found: Layer = []
    if rng.random() < 0.15:
        at = line.at_one(float(rng.uniform(0.3, 0.7)) * line.length_m, float(rng.uniform(-0.3, 0.3)) * half_m)
        found.append(({"role": "via", "radius_m": 40.0}, Point(at)))
    if rng.random() < 0.25:
        at = line.at_one(float(rng.uniform(0.1, 0.9)) * line.length_m, float(rng.uniform(-0.8, 0.8)) * half_m)
        found.append(({"role": "no_shaft", "radius_m": float(rng.uniform(10.0, 60.0))}, Point(at)))
    return found


def _features(rng: np.random.Generator, line: Line, half_m: float, seed: int, *, is_fixed: bool) -> Layer:
    """Return features; the kinds go round with the seed so that every one comes up often."""
    kinds = list(load_assumptions().treatments)
    n = int(rng.integers(3, 4 + int(line.length_m / 130.0)))
    found: Layer = []
    for k in range(n):
        kind = kinds[(5 * seed + 7 * k) % len(kinds)] if k < 3 else str(rng.choice(kinds))
        s = float(rng.uniform(0.12, 0.88)) * line.length_m
        geometry = _shape(rng, line, half_m, kind, s, is_fixed=is_fixed)
        found.append((_own_values(rng, kind), geometry))
        if rng.random() < 0.12:  # the same thing drawn again a little aside: split, double or touching
            dx, dy = rng.normal(0.0, 3.0, 2)
            again = shapely.transform(geometry, lambda xy, d=(dx, dy): xy + d)
            found.append((_own_values(rng, kind), again))
    found += _houses(rng, line, half_m)
    for number, (row, _) in enumerate(found):
        row["feature_id"] = f"f{number}"
    return found


def _shape(
    rng: np.random.Generator, line: Line, half_m: float, kind: str, s_m: float, *, is_fixed: bool
) -> shapely.Geometry:
    """Draw one feature of a kind about a place along the line."""
    if kind in NO_WAY_KINDS:
        t = float(rng.choice([-1.0, 1.0]) * half_m * rng.uniform(0.75, 1.1))
        if kind == "wind_turbine":
            return Point(line.at_one(s_m, t))
        return _blob(rng, line, s_m, t, float(rng.uniform(4.0, 14.0)))
    if kind in AREA_KINDS or rng.random() < 0.06:
        t = float(rng.uniform(-1.0, 1.0) * half_m)
        return _blob(rng, line, s_m, t, float(rng.uniform(0.1, 0.7)) * half_m)
    return _across(rng, line, half_m, s_m, is_fixed=is_fixed)


def _across(
    rng: np.random.Generator, line: Line, half_m: float, s_m: float, *, is_fixed: bool
) -> shapely.Geometry:
    """Draw a line across the corridor at any angle, whole or ending inside, or a sliver of an area."""
    angle = math.radians(float(rng.uniform(68.0, 112.0) if is_fixed else rng.normal(90.0, 22.0)))
    angle = min(max(angle, math.radians(15.0)), math.radians(165.0))
    reach = 1.3 * half_m + 20.0
    t = np.array([-reach, float(rng.uniform(-0.4, 0.4)) * reach, reach])
    if rng.random() < 0.15:
        t = t[:2] if rng.random() < 0.5 else t[1:]
    s = s_m + t / math.tan(angle) + rng.normal(0.0, 2.0, len(t)) * (rng.random() < 0.6)
    if rng.random() < 0.08:
        wide = float(rng.choice([0.02, 0.4, 3.0]))
        return Polygon(np.concatenate([line.at(s, t), line.at(s[::-1] + wide, t[::-1])]))
    return LineString(line.at(s, t))


def _own_values(rng: np.random.Generator, kind: str) -> Row:
    """Return the columns of one feature; about a third state some value of their own."""
    row: Row = {"kind": kind}
    if rng.random() < 0.65:
        return row
    choices: dict[str, object] = {
        "min_cover_m": float(rng.uniform(1.0, 5.0)),
        "min_angle_deg": float(rng.uniform(0.0, 75.0)),
        "half_width_m": float(rng.uniform(0.0, 12.0)),
    }
    if kind not in NO_WAY_KINDS:
        choices["treatment"] = str(rng.choice(["open_cut", "trenchless"]))
    if kind not in SERVICE_KINDS:
        choices["shaft_allowed"] = str(rng.choice(["yes", "no", "consent"]))
    if kind in SERVICE_KINDS:
        choices |= {"depth_m": float(rng.uniform(0.6, 4.0)), "diameter_m": float(rng.uniform(0.05, 1.5))}
    if kind in WATER_KINDS:
        choices |= {"water_depth_m": float(rng.uniform(0.2, 3.0)), "scour_m": float(rng.uniform(0.0, 1.0))}
    for name in rng.choice(list(choices), size=int(rng.integers(1, 4)), replace=False):
        row[str(name)] = choices[str(name)]
    return row


def _houses(rng: np.random.Generator, line: Line, half_m: float) -> Layer:
    """Return a row of buildings on both sides of the route, where the working strip has to narrow."""
    if rng.random() < 0.7:
        return []
    s0, found = float(rng.uniform(0.2, 0.8)) * line.length_m, []
    gap_m = float(rng.uniform(26.0, 48.0))
    for k in range(int(rng.integers(2, 6))):
        s = s0 + 22.0 * k
        for side in (-1.0, 1.0):
            t = side * min(gap_m, half_m)
            corners = np.array([(s, t), (s + 12.0, t), (s + 12.0, t + 9.0 * side), (s, t + 9.0 * side)])
            found.append(({"kind": "building"}, Polygon(line.at(corners[:, 0], corners[:, 1]))))
    return found
