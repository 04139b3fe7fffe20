"""Geometry of the finished plan in the form of the result layers.

Room: ``results``. Imports ``plan`` and its own neighbours. Levels are elevations [m].
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import shapely
from shapely import LineString, Point, Polygon

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.plan import Drive, Plan
    from routescreen.screened import DriveData


def alignment_line(plan: Plan, from_vertex: int = 0, to_vertex: int | None = None) -> LineString:
    """Return the alignment, or its run of vertices from one to another, both included."""
    last = len(plan.alignment_xy_m) - 1 if to_vertex is None else to_vertex
    return LineString(plan.alignment_xy_m[from_vertex : last + 1])


def bore_line(plan: Plan, drive: Drive, data: DriveData, left_m: float = 0.0) -> LineString:
    """Return a bore's invert from launch to reception, in three dimensions.

    Parameters
    ----------
    plan : Plan
    drive : Drive
    data : DriveData
        For the bore's diameter: the invert lies that far below the crown.
    left_m : float
        Distance of the bore to the left of the drive's middle line, looking up-chainage [m].
    """
    (x0, y0), (x1, y1) = plan.alignment_xy_m[drive.from_vertex], plan.alignment_xy_m[drive.to_vertex]
    length_m = math.hypot(x1 - x0, y1 - y0)
    dx, dy = -(y1 - y0) / length_m * left_m, (x1 - x0) / length_m * left_m
    course = data.course_m or ((0.0, drive.lower_crown_m), (length_m, drive.upper_crown_m))
    points = [
        (
            x0 + dx + along_m / length_m * (x1 - x0),
            y0 + dy + along_m / length_m * (y1 - y0),
            crown_m - data.bore_diameter_m,
        )
        for along_m, crown_m in course
    ]
    return LineString(points if drive.is_launched_at_lower else points[::-1])


def bore_offsets_m(data: DriveData) -> list[float]:
    """Return each bore's distance to the left of the middle line, the leftmost first [m]."""
    middle = (data.n_bores - 1) / 2.0
    return [
        (middle - number) * data.bore_spacing_m if data.n_bores > 1 else 0.0 for number in range(data.n_bores)
    ]


def bore_length_m(line: LineString, data: DriveData) -> float:
    """Return the true length of a bore: as reckoned, else that of its straight line [m]."""
    return true_length_m(line) if math.isnan(data.true_length_m) else data.true_length_m


def true_length_m(line: LineString) -> float:
    """Return the length of a line in three dimensions [m]."""
    points = list(line.coords)
    return sum(math.dist(a, b) for a, b in pairwise(points))


def rise_frac(line: LineString) -> float:
    """Return the slope of a straight line from its first to its last point, rising positive [-]."""
    (x0, y0, z0), (x1, y1, z1) = line.coords[0], line.coords[-1]
    return float((z1 - z0) / math.hypot(x1 - x0, y1 - y0))


def longer_side_m(outline: Polygon) -> float:
    """Return the longer side of the narrowest rectangle around an outline [m]."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    return max(math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2]))


def locate_on_axis(axis: LineString, xy_m: tuple[float, float]) -> tuple[float, float]:
    """Return chainage along the axis and offset, right positive looking up-chainage [m].

    A point beyond an end of the axis is measured to that end.
    """
    point = Point(xy_m)
    along_m = float(axis.project(point))
    step_m = min(0.5, axis.length / 4.0)
    before = axis.interpolate(max(along_m - step_m, 0.0))
    after = axis.interpolate(min(along_m + step_m, axis.length))
    foot = axis.interpolate(along_m)
    turn = (after.x - before.x) * (point.y - foot.y) - (after.y - before.y) * (point.x - foot.x)
    return along_m, math.copysign(point.distance(foot), -turn) if turn else 0.0


def length_m(xy_m: Sequence[tuple[float, float]]) -> float:
    """Return the length of a line in plan [m]."""
    return sum(math.dist(a, b) for a, b in pairwise(xy_m))


def turn_deg(xy_m: Sequence[tuple[float, float]]) -> float:
    """Return by how much a line turns from its first to its last piece, to the left positive.

    To a millionth of a degree: coordinates tell no more, and six legs of 15 degrees are a right angle.
    """
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = (*xy_m[:2], *xy_m[-2:])
    turned = math.atan2(y3 - y2, x3 - x2) - math.atan2(y1 - y0, x1 - x0)
    return round(math.degrees(math.remainder(turned, 2.0 * math.pi)), 6) + 0.0  # no minus before a zero
