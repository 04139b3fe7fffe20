"""The ground that all trenches of a straight piece of open cut take, and what of it needs no check.

Room: ``audit``. May use ``assumptions``, shapely and the audit's own modules.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.report import TOLERANCE_M, Place

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.scene import Scene

TERMINAL_CELLS = 6.0
"""A terminal stands where it stands: what of a band lies this near to it, in cells, is only listed [-]."""


@dataclass(frozen=True, slots=True)
class Band:
    """The band of one straight piece.

    Attributes
    ----------
    piece : int
        Piece of the alignment.
    line : LineString
    direction : ndarray of shape (2,)
        Unit heading.
    area : Polygon
        A rectangle; its ends are square.
    away_from_terminals : Geometry
        What of it is further from the alignment's ends than a terminal excuses; may be empty.
    strip : Polygon
        The working strip of the piece, with square ends too.
    strip_width_m : float
    """

    piece: int
    line: shapely.LineString
    direction: NDArray[np.float64]
    area: shapely.Polygon
    away_from_terminals: shapely.Geometry
    strip: shapely.Polygon
    strip_width_m: float


def strip_width_m(scene: Scene, piece: int) -> float:
    """Return the width of the working strip of a piece [m]."""
    assumptions = scene.assumptions
    return assumptions.narrow_strip_m if scene.route.is_narrow[piece] else assumptions.working_strip_m


def bands_of_section(scene: Scene, section: int) -> list[Band]:
    """Return the bands of the pieces of a run of open cut, in order."""
    route = scene.route
    reach_m = TERMINAL_CELLS * scene.assumptions.frame.cell_m
    ends = shapely.MultiPoint(route.xy_m[[0, -1]]).buffer(reach_m, quad_segs=64)
    pieces = route.pieces_of_section(section)
    lines = route.segments(pieces)
    width_m = np.array([strip_width_m(scene, int(piece)) for piece in pieces])
    areas, strips = (
        np.asarray(shapely.buffer(lines, half_m, cap_style="flat"), dtype=np.object_)
        for half_m in (scene.ground.band_width_m(scene.assumptions) / 2.0, width_m / 2.0)
    )
    shapely.prepare(ends)
    is_near = shapely.intersects(ends, areas)
    free = areas.copy()
    free[is_near] = shapely.difference(areas[is_near], ends)
    return [
        Band(int(piece), lines[k], route.direction[piece], areas[k], free[k], strips[k], float(width_m[k]))
        for k, piece in enumerate(pieces)
    ]


def shrunk(area: shapely.Geometry) -> shapely.Geometry:
    """Return an area less the tolerance along its edge: what only touches it lies outside."""
    return shapely.buffer(area, -TOLERANCE_M, join_style="mitre")


def place_on(scene: Scene, band: Band, xy_m: tuple[float, float]) -> Place:
    """Return the place on the centre line of a band beside a point."""
    at_m = float(scene.route.chainage_along(np.array([band.piece]), np.array([xy_m]))[0])
    section = int(scene.route.section_of_piece[band.piece])
    return Place(at_m, section=section, xy_m=scene.route.point_at(at_m))


def merged_length_m(scene: Scene, band: Band, shapes: NDArray[np.object_]) -> float:
    """Return over what length of its piece shapes lie within the strip of a band [m]."""
    stretches = []
    for part in shapely.get_parts(shapely.intersection(shapes, band.strip)):
        xy_m = shapely.get_coordinates(part)
        if len(xy_m):
            along_m = scene.route.chainage_along(np.full(len(xy_m), band.piece), xy_m)
            stretches.append((float(along_m.min()), float(along_m.max())))
    total_m, reached_m = 0.0, -np.inf
    for from_m, to_m in sorted(stretches):
        total_m += max(to_m - max(from_m, reached_m), 0.0)
        reached_m = max(reached_m, to_m)
    return total_m
