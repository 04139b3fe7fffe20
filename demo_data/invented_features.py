"""What crosses the invented corridor: lines, water, protected ground, villages.

Room: demo data. Pure computation; imports nothing of the package. Every name is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from invented_place import across, area, house, oval, path
from shapely import LineString, Point, Polygon

if TYPE_CHECKING:
    from invented_place import Axis
    from shapely.geometry.base import BaseGeometry

SARVE_HALF_M = 42.0
LUMME_HALF_M = 11.0
CANAL_HALF_M = 20.0
# Control points (chainage, offset) [m] of what ends inside the corridor.
HORST_CAUSEWAY = ((5590.0, -900.0), (5640.0, -500.0), (5684.0, -250.0), (5684.0, -68.0))
OSTERMUND_LANE = ((4668.0, 170.0), (4560.0, 136.0), (4420.0, 136.0), (4290.0, 132.0))
KRAHENHUS_LANE = ((8636.0, -420.0), (8800.0, -360.0), (9000.0, -250.0), (9120.0, -173.0), (9330.0, -173.0))


@dataclass(frozen=True, slots=True)
class Feature:
    """One feature of the layer ``crossings``; None where the assumptions of its kind hold."""

    kind: str
    name: str
    geometry: BaseGeometry
    owner: str
    half_width_m: float | None = None
    depth_m: float | None = None
    diameter_m: float | None = None
    water_depth_m: float | None = None
    scour_m: float | None = None
    shaft_allowed: str | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A line right across the corridor, by where it meets the axis.

    Attributes
    ----------
    kind, name, owner : str
    at_m : float
        Chainage [m].
    slant_deg : float
        Angle from the square to the axis [deg].
    bow_m : float
        Swing up-chainage at an offset of 500 m [m].
    half_width_m, depth_m, diameter_m, water_depth_m : float or None
        Overrides [m].
    """

    kind: str
    name: str
    at_m: float
    slant_deg: float
    owner: str
    bow_m: float = 0.0
    half_width_m: float | None = None
    depth_m: float | None = None
    diameter_m: float | None = None
    water_depth_m: float | None = None


LINES: tuple[Line, ...] = (
    Line("track", "Lerkfeld track", 260, 6, "Halmbrok parish", 20),
    Line("hedge", "Lerkfeld hedge", 640, -4, "Owner 03"),
    Line(
        "water_main", "Halmbrok water main", 868, -7, "Halmbrok water board", 30, depth_m=1.6, diameter_m=0.4
    ),
    Line("road", "Halmbrok to Silberlohe road", 900, -7, "Silberlohe district", 30),
    Line("telecom", "Halmbrok telecom duct", 911, -7, "Duct owner", 30, depth_m=0.9),
    Line("hedge", "Pond hedge", 1290, 5, "Owner 07"),
    Line("telecom", "Motorway telecom duct", 1476, -8, "Motorway office", -25, depth_m=1.0),
    Line("motorway", "Motorway M 7", 1500, -8, "Motorway office", -25),
    Line("railway", "Halmbrok to Tannwerder railway", 1560, -8, "Railway office", -25),
    Line("track", "Railway service track", 1730, -6, "Railway office", -20),
    Line("hedge", "Ostkoppe hedge", 2060, 3, "Owner 11"),
    Line("gas_pipeline", "North gas main", 2250, 14, "Gas main owner", -30, depth_m=1.2, diameter_m=0.8),
    Line("track", "Tannwisch ride", 2480, 3, "Tannwisch forest office"),
    Line("ditch", "Canal side ditch", 3165, 2, "Marsh drainage board", 10),
    Line("telecom", "R 12 telecom duct", 3049, 4, "Duct owner", 15, depth_m=0.9),
    Line("main_road", "Regional road R 12", 3060, 4, "Regional road office", 15),
    Line("path", "Canal towpath", 3376, 4, "Canal office", 15),
    Line("power_cable", "Marsh power cable", 3580, -5, "Power board", 10, depth_m=1.2),
    Line("ditch", "First marsh ditch", 3680, 3, "Marsh drainage board"),
    Line("ditch", "Second marsh ditch", 3850, -2, "Marsh drainage board", 10),
    Line("track", "Marsh track", 3940, 2, "Ostermund parish"),
    Line("ditch", "Third marsh ditch", 4060, 4, "Marsh drainage board", -10),
    Line("sewer", "Ostermund outfall sewer", 4200, -3, "Ostermund sewer board", depth_m=2.2, diameter_m=0.6),
    Line("road", "Ostermund to Deichrode road", 4670, 5, "Silberlohe district", 30),
    Line("telecom", "Ostermund telecom duct", 4681, 5, "Duct owner", 30, depth_m=0.8),
    Line(
        "water_main", "Ostermund water main", 4696, 5, "Halmbrok water board", 30, depth_m=1.5, diameter_m=0.3
    ),
    Line("hedge", "Fen edge hedge", 4790, -3, "Owner 19"),
    Line("dyke", "Sarve west dyke", 5815, -3, "Sarve dyke board", 20),
    Line("dyke", "Sarve east dyke", 6030, -3, "Sarve dyke board", 35),
    Line("track", "Dyke defence track", 6056, -3, "Sarve dyke board", 35),
    Line("ditch", "Seepage ditch", 6240, -3, "Marsh drainage board", 30),
    Line("ditch", "Polder ditch", 6440, -3, "Marsh drainage board"),
    Line("stream", "Rohrwisp", 6690, -6, "Marsh drainage board", 60, half_width_m=2.5, water_depth_m=0.5),
    Line("power_cable", "Deichrode power cable", 6868, 3, "Power board", -20, depth_m=1.2),
    Line("road", "Deichrode to Brunsel road", 6890, 3, "Brunsel district", -20),
    Line("telecom", "Deichrode telecom duct", 6901, 3, "Duct owner", -20, depth_m=0.8),
    Line("hedge", "Foot hedge", 7180, -5, "Owner 23"),
    Line("track", "Steinhalm track", 7540, 4, "Brunsel parish", 15),
    Line("hedge", "Steinhalm hedge", 7720, -2, "Owner 26"),
    Line("power_cable", "Steinhalm wind power cable", 8130, 6, "Wind co-operative", depth_m=1.2),
    Line("hedge", "Upper hedge", 8290, 2, "Owner 27"),
    Line("path", "Lumme footpath", 8440, -9, "Brunsel parish"),
    Line("road", "Brunsel to Krahenhus road", 8640, 4, "Brunsel district", 20),
    Line(
        "water_main", "Krahenhus water main", 8656, 4, "Brunsel water board", 20, depth_m=1.5, diameter_m=0.25
    ),
    Line("hedge", "Lumme hedge", 9620, -4, "Owner 31"),
    Line("ditch", "Kaltwisp meadow ditch", 9780, 3, "Brunsel parish"),
    Line("stream", "Kaltwisp", 9950, 5, "Brunsel parish", -40, water_depth_m=0.4),
    Line("telecom", "Kranzhof telecom duct", 10269, -4, "Duct owner", 25, depth_m=0.8),
    Line("road", "Brunsel to Kranzhof road", 10280, -4, "Brunsel district", 25),
    Line("sewer", "Kranzhof sewer", 10294, -4, "Brunsel water board", 25, depth_m=1.8, diameter_m=0.4),
    Line("track", "Hohelunt track", 10480, 5, "Kranzhof parish"),
    Line("power_cable", "Hohelunt wind power cable", 10720, 4, "Wind co-operative", depth_m=1.2),
    Line("power_line", "Hohelunt overhead line", 10890, -12, "Power board"),
    Line("pipeline", "Product pipeline", 11180, -10, "Product line owner", depth_m=1.1, diameter_m=0.5),
    Line("hedge", "Hohelunt hedge", 11330, 4, "Owner 37"),
    Line("track", "Birkwend track", 11520, -3, "Kranzhof parish", 15),
    Line("hedge", "Birkwend hedge", 11690, 6, "Owner 39"),
    Line("road", "Kranzhof to Endefeld road", 11830, 2, "Brunsel district", 20),
    Line("telecom", "Endefeld telecom duct", 11841, 2, "Duct owner", 20, depth_m=0.8),
)


def line_features(axis: Axis, lines: tuple[Line, ...] = LINES) -> list[Feature]:
    """Return the lines that cross the corridor from side to side."""
    return [
        Feature(
            line.kind,
            line.name,
            across(axis, line.at_m, line.slant_deg, bow_m=line.bow_m),
            line.owner,
            half_width_m=line.half_width_m,
            depth_m=line.depth_m,
            diameter_m=line.diameter_m,
            water_depth_m=line.water_depth_m,
        )
        for line in lines
    ]


def sarve(axis: Axis) -> Polygon:
    """Return the large river between its dykes."""
    return shapely.buffer(across(axis, 5902, -3, bow_m=30), SARVE_HALF_M, cap_style="flat")


def canal(axis: Axis) -> Polygon:
    """Return the ship canal."""
    return shapely.buffer(across(axis, 3350, 4, bow_m=15), CANAL_HALF_M, cap_style="flat")


def lumme(axis: Axis) -> Polygon:
    """Return the small river, whose bend reaches into the corridor from the right."""
    middle, radius, centre_m = 9190.0, 105.0, 45.0
    turn = np.radians(np.arange(0.0, 181.0, 15.0))
    bend = [(middle - radius * np.cos(a), centre_m - radius * np.sin(a)) for a in turn]
    upstream = [(8150, 900), (8420, 700), (8700, 560), (8960, 430), (9070, 300), (9085, 160)]
    downstream = [(9295, 160), (9310, 300), (9420, 430), (9680, 560), (9950, 700), (10200, 900)]
    return shapely.buffer(path(axis, [*upstream, *bend, *downstream]), LUMME_HALF_M, cap_style="flat")


def island(axis: Axis) -> Polygon:
    """Return the dry sand rise in the fen."""
    return oval(axis, (5685.0, -20.0), (36.0, 68.0), power=4.0)


def fen(axis: Axis) -> Polygon:
    """Return the wetland west of the Sarve, with a dry tongue in its west edge and the sand rise left out."""
    offset = np.arange(-900.0, 901.0, 12.0)
    tongue = 115.0 / (1.0 + ((offset + 20.0) / 52.0) ** 8)
    west = 4930.0 + 7.0 * np.sin(offset / 70.0) * (np.abs(offset + 20.0) > 70.0) + tongue
    east = 5796.0 - np.tan(np.radians(3.0)) * offset + 20.0 * (offset / 500.0) ** 2
    chainage = np.concatenate([west, east[::-1]])
    ring = np.round(axis.to_xy(chainage, np.concatenate([offset, offset[::-1]])), 2)
    return shapely.difference(Polygon(ring), island(axis))


def forelands(axis: Axis) -> tuple[Polygon, Polygon]:
    """Return the protected meadows between the dykes and the Sarve, west and east of it."""
    west_edge = across(axis, 5830, -3, bow_m=20)
    east_edge = across(axis, 6015, -3, bow_m=35)
    band = Polygon([*west_edge.coords, *reversed(east_edge.coords)])
    west, east = sorted(shapely.difference(band, sarve(axis)).geoms, key=lambda part: part.centroid.x)
    return west, east


def tannwisch(axis: Axis) -> Polygon:
    """Return the wood that reaches into the corridor from the right."""
    west_side = [(2540, 700), (2560, 200), (2580, 40), (2640, -38), (2760, -52)]
    east_side = [(2880, -40), (2950, 20), (2970, 160), (3010, 420), (2900, 720)]
    return area(axis, [*west_side, *east_side])


def birkwend(axis: Axis) -> Polygon:
    """Return the small wood at the left edge of the corridor."""
    return area(
        axis, [(11340, -420), (11350, -210), (11400, -118), (11470, -110), (11500, -190), (11500, -430)]
    )


def orchid_meadow(axis: Axis) -> Polygon:
    """Return the protected meadow along the Kaltwisp, reaching from the right past the axis."""
    west_side = [(9895, 420), (9890, 200), (9885, 40), (9900, -55), (9945, -75)]
    east_side = [(9990, -50), (10010, 60), (10020, 210), (10030, 420), (9960, 480)]
    return area(axis, [*west_side, *east_side])


def pond(axis: Axis) -> Polygon:
    """Return the pond on the heath."""
    return oval(axis, (1130.0, -25.0), (44.0, 30.0), power=2.3)


def _row(
    axis: Axis,
    start: tuple[float, float],
    step: tuple[float, float],
    sizes: tuple[float, ...],
    turn_deg: float,
) -> list[Polygon]:
    """Return a row of houses at even steps, each as long as its entry in `sizes` and 9 m deep."""
    return [
        house(axis, (start[0] + k * step[0], start[1] + k * step[1]), (size, 9.0), turn_deg)
        for k, size in enumerate(sizes)
        if size > 0.0
    ]


def ostermund_houses(axis: Axis) -> list[Polygon]:
    """Return the houses of the village at the right edge of the corridor."""
    return [
        *_row(axis, (4258, -10), (33, 3), (12, 14, 11, 12, 0, 13, 16, 11, 12), 5),
        *_row(axis, (4264, 26), (34, 3), (11, 12, 0, 13, 18, 11, 12, 14), 5),
        *_row(axis, (4268, 62), (34, 3), (13, 11, 12, 14, 0, 12, 13, 11), 4),
        *_row(axis, (4285, 118), (36, 2), (13, 12, 16, 0, 12, 11, 14, 12), 3),
        *_row(axis, (4290, 150), (38, 2), (12, 11, 13, 14, 22, 12, 11), 3),
        *_row(axis, (4320, 215), (40, 1), (14, 12, 12, 16, 13, 0, 12), 2),
        *_row(axis, (4330, 250), (42, 1), (12, 14, 26, 12, 11, 13), 2),
    ]


def krahenhus_houses(axis: Axis) -> list[Polygon]:
    """Return the houses of the hamlet outside the bend of the Lumme."""
    return [
        *_row(axis, (9068, -157), (36, 0), (12, 14, 0, 12, 11, 13, 12, 0, 12), 2),
        *_row(axis, (9080, -189), (38, 0), (13, 11, 12, 0, 16, 12, 11, 13), -2),
        *_row(axis, (9110, -226), (44, 1), (14, 20, 12, 0, 12, 14), 3),
        *_row(axis, (8962, -52), (10, -36), (12, 11, 13, 12), -72),
        *_row(axis, (9402, -48), (-6, -38), (13, 12, 0, 11), 80),
    ]


def ostermund_gardens(axis: Axis) -> Polygon:
    """Return the built-up ground of the village."""
    north_side = [(4232, 40), (4240, -32), (4400, -34), (4540, -20), (4596, 40)]
    return area(axis, [(4236, 330), *north_side, (4610, 200), (4610, 330)])


def krahenhus_gardens(axis: Axis) -> Polygon:
    """Return the built-up ground of the hamlet, down to the banks of the Lumme on the outside of its bend."""
    west_side = [(8990, -300), (8940, -140), (8945, -10), (8975, 12), (9078, 12)]
    east_side = [(9302, 12), (9405, 12), (9430, -10), (9425, -140), (9390, -300)]
    return area(axis, [*west_side, (9100, -60), (9280, -60), *east_side])


def area_features(axis: Axis) -> list[Feature]:
    """Return water, woods, protected ground and villages."""
    west_foreland, east_foreland = forelands(axis)
    return [
        Feature("lake", "Halmbrok pond", pond(axis), "Owner 05", water_depth_m=1.5),
        Feature("forest", "Tannwisch", tannwisch(axis), "Tannwisch forest office"),
        Feature("canal", "Sarve ship canal", canal(axis), "Canal office", water_depth_m=3.0),
        Feature("wetland", "Kranich fen", fen(axis), "Nature trust"),
        Feature("protected_area", "Sarve west foreland", west_foreland, "Nature trust"),
        Feature("river", "Sarve", sarve(axis), "Waterway office", water_depth_m=2.5, scour_m=1.0),
        Feature("protected_area", "Sarve east foreland", east_foreland, "Nature trust"),
        Feature("river", "Lumme", lumme(axis), "Lumme water board", water_depth_m=1.8, scour_m=0.8),
        Feature("protected_area", "Kaltwisp orchid meadow", orchid_meadow(axis), "Nature trust"),
        Feature("forest", "Birkwend", birkwend(axis), "Owner 38"),
        *(Feature("building", "Ostermund house", shape, "Ostermund") for shape in ostermund_houses(axis)),
        *(Feature("building", "Krahenhus house", shape, "Krahenhus") for shape in krahenhus_houses(axis)),
    ]


def dead_ends(axis: Axis) -> list[Feature]:
    """Return what ends inside the corridor on purpose: lanes, hedges along fields, turbines."""
    at = np.array([(7900.0, 0.0), (10600.0, -65.0), (11060.0, 150.0)])
    turbines = zip(
        ("Steinhalm turbine", "Hohelunt turbine 1", "Hohelunt turbine 2"),
        np.round(axis.to_xy(at[:, 0], at[:, 1]), 2),
        strict=True,
    )
    return [
        *(
            Feature(kind, name, path(axis, points), owner)
            for kind, name, owner, points in (
                ("track", "Horst causeway", "Nature trust", HORST_CAUSEWAY),
                ("road", "Ostermund lane", "Silberlohe district", OSTERMUND_LANE),
                ("road", "Krahenhus lane", "Brunsel district", KRAHENHUS_LANE),
                ("hedge", "Ostkoppe field hedge", "Owner 11", [(1790, 135), (1900, 128), (2050, 140)]),
                ("hedge", "Foot field hedge", "Owner 23", [(7200, -125), (7400, -130), (7700, -118)]),
                ("hedge", "Hohelunt field hedge", "Owner 37", [(10930, -140), (11100, -150), (11320, -138)]),
            )
        ),
        *(Feature("wind_turbine", name, Point(xy), "Wind co-operative") for name, xy in turbines),
    ]


def all_features(axis: Axis, frame: Polygon) -> list[Feature]:
    """Return every feature, cut to the frame of the rasters, in the order of where it first lies.

    Parameters
    ----------
    axis : Axis
    frame : Polygon
        The area that the rasters cover.
    """
    found = [*line_features(axis), *area_features(axis), *dead_ends(axis)]
    cut = [_with_geometry(feature, shapely.intersection(feature.geometry, frame)) for feature in found]
    west = [feature.geometry.bounds[0] for feature in cut]
    return [cut[k] for k in np.argsort(west, kind="stable")]


def _with_geometry(feature: Feature, geometry: BaseGeometry) -> Feature:
    if geometry.geom_type.startswith("Multi"):
        geometry = max(geometry.geoms, key=lambda part: part.length)
    return replace(feature, geometry=shapely.transform(geometry, lambda xy: np.round(xy, 2)))


def access_lines(features: list[Feature]) -> list[LineString]:
    """Return the roads and tracks that can carry plant."""
    return [f.geometry for f in features if f.kind in {"main_road", "road", "track"}]
