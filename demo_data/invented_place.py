"""The axis of an invented corridor, and shapes drawn in chainage and offset.

Room: demo data. Pure computation; imports nothing of the package.

Chainage runs along the axis [m], offset square to it, right positive looking up-chainage [m].
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Polygon

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

AXIS_STEP_M = 2.0
LINE_STEP_M = 25.0
CORNER_CUTS = 3


@dataclass(frozen=True, slots=True)
class Axis:
    """A gently bent axis as a table of stations.

    Attributes
    ----------
    length_m : float
        Length of the axis proper [m]; the table runs on past both ends.
    chainage_m : ndarray of shape (n,)
    xy_m : ndarray of shape (n, 2)
    heading_rad : ndarray of shape (n,)
        Mathematical angle of the direction of travel [rad].
    """

    length_m: float
    chainage_m: NDArray[np.float64]
    xy_m: NDArray[np.float64]
    heading_rad: NDArray[np.float64]

    def to_xy(self, chainage_m: NDArray[np.float64], offset_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the points at the given chainages and offsets, shape (n, 2) [m]."""
        heading = np.interp(chainage_m, self.chainage_m, self.heading_rad)
        x = np.interp(chainage_m, self.chainage_m, self.xy_m[:, 0]) + offset_m * np.sin(heading)
        y = np.interp(chainage_m, self.chainage_m, self.xy_m[:, 1]) - offset_m * np.cos(heading)
        return np.stack([x, y], axis=-1)

    def to_chainage_offset(
        self, x_m: NDArray[np.float64], y_m: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return chainage and offset of points [m]; the axis must run west to east."""
        chainage = np.interp(x_m, self.xy_m[:, 0], self.chainage_m)
        for _ in range(8):
            along, _across = self._residual(chainage, x_m, y_m)
            chainage = chainage + along
        return chainage, self._residual(chainage, x_m, y_m)[1]

    def _residual(
        self, chainage_m: NDArray[np.float64], x_m: NDArray[np.float64], y_m: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        heading = np.interp(chainage_m, self.chainage_m, self.heading_rad)
        dx = x_m - np.interp(chainage_m, self.chainage_m, self.xy_m[:, 0])
        dy = y_m - np.interp(chainage_m, self.chainage_m, self.xy_m[:, 1])
        return dx * np.cos(heading) + dy * np.sin(heading), dx * np.sin(heading) - dy * np.cos(heading)


def make_axis(
    *,
    origin_m: tuple[float, float],
    length_m: float,
    heading_rad: float,
    bend_rad: float,
    bend_length_m: float,
    margin_m: float = 1500.0,
) -> Axis:
    """Return an axis whose heading swings as a sine of the chainage.

    Its least radius is ``bend_length_m / (2 pi bend_rad)``.
    """
    chainage = np.arange(-margin_m, length_m + margin_m + AXIS_STEP_M, AXIS_STEP_M)
    heading = heading_rad + bend_rad * np.sin(2.0 * math.pi * chainage / bend_length_m)
    step = AXIS_STEP_M * np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    xy = np.concatenate([np.zeros((1, 2)), np.cumsum((step[1:] + step[:-1]) / 2.0, axis=0)])
    xy += np.array(origin_m) - xy[int(np.argmin(np.abs(chainage)))]
    return Axis(length_m, chainage, xy, heading)


def _smooth(points: NDArray[np.float64], *, is_ring: bool) -> NDArray[np.float64]:
    """Cut the corners of a polyline or ring, keeping the ends of a polyline."""
    for _ in range(CORNER_CUTS):
        following = np.roll(points, -1, axis=0) if is_ring else points[1:]
        leading = points if is_ring else points[:-1]
        cut = np.stack([0.75 * leading + 0.25 * following, 0.25 * leading + 0.75 * following], axis=1)
        cut = cut.reshape(-1, 2)
        points = cut if is_ring else np.concatenate([points[:1], cut, points[-1:]])
    return points


def across(
    axis: Axis,
    at_m: float,
    slant_deg: float,
    *,
    from_m: float = -900.0,
    to_m: float = 900.0,
    bow_m: float = 0.0,
) -> LineString:
    """Return a line across the corridor.

    Parameters
    ----------
    axis : Axis
    at_m : float
        Chainage at which it meets the axis [m].
    slant_deg : float
        Angle from the square to the axis; positive leans up-chainage to the right [deg].
    from_m, to_m : float
        Offsets of its ends [m].
    bow_m : float
        How far it swings up-chainage at an offset of 500 m [m].
    """
    count = max(2, round((to_m - from_m) / LINE_STEP_M) + 1)
    offset = np.linspace(from_m, to_m, count)
    chainage = at_m + math.tan(math.radians(slant_deg)) * offset + bow_m * (offset / 500.0) ** 2
    return LineString(np.round(axis.to_xy(chainage, offset), 2))


def path(axis: Axis, points: Sequence[tuple[float, float]]) -> LineString:
    """Return a smooth line through control points given as (chainage, offset) [m]."""
    smooth = _smooth(np.array(points, dtype=np.float64), is_ring=False)
    return LineString(np.round(axis.to_xy(smooth[:, 0], smooth[:, 1]), 2))


def area(axis: Axis, points: Sequence[tuple[float, float]], *, is_smooth: bool = True) -> Polygon:
    """Return a polygon round control points given as (chainage, offset) [m]."""
    ring = np.array(points, dtype=np.float64)
    ring = _smooth(ring, is_ring=True) if is_smooth else ring
    return Polygon(np.round(axis.to_xy(ring[:, 0], ring[:, 1]), 2))


def oval(
    axis: Axis, centre_m: tuple[float, float], half_m: tuple[float, float], power: float = 2.0
) -> Polygon:
    """Return a rounded shape; a power above 2 makes it squarer."""
    angle = np.linspace(0.0, 2.0 * math.pi, 49)[:-1]
    x = np.sign(np.cos(angle)) * np.abs(np.cos(angle)) ** (2.0 / power)
    y = np.sign(np.sin(angle)) * np.abs(np.sin(angle)) ** (2.0 / power)
    return Polygon(np.round(axis.to_xy(centre_m[0] + half_m[0] * x, centre_m[1] + half_m[1] * y), 2))


def house(axis: Axis, centre_m: tuple[float, float], size_m: tuple[float, float], turn_deg: float) -> Polygon:
    """Return a rectangle, its length along the axis turned by the given angle."""
    turn = math.radians(turn_deg)
    corners = 0.5 * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], dtype=np.float64) * np.array(size_m)
    rotation = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    ring = corners @ rotation + np.array(centre_m)
    return Polygon(np.round(axis.to_xy(ring[:, 0], ring[:, 1]), 2))


def outline(axis: Axis, half_width_m: float, end_margin_m: float) -> Polygon:
    """Return the corridor: a band round the axis with square ends."""
    count = round((axis.length_m + 2.0 * end_margin_m) / LINE_STEP_M) + 1
    chainage = np.linspace(-end_margin_m, axis.length_m + end_margin_m, count)
    left = axis.to_xy(chainage, np.full(count, -half_width_m))
    right = axis.to_xy(chainage[::-1], np.full(count, half_width_m))
    return Polygon(np.round(np.concatenate([left, right]), 2))


def axis_line(axis: Axis) -> LineString:
    """Return the axis proper, from chainage 0 to its length."""
    count = round(axis.length_m / LINE_STEP_M) + 1
    chainage = np.linspace(0.0, axis.length_m, count)
    return LineString(np.round(axis.to_xy(chainage, np.zeros(count)), 2))


def frame_box(shape: Polygon, margin_m: float, grid_m: float) -> tuple[float, float, float, float]:
    """Return the bounds of a shape with a margin, on whole multiples of the grid [m]."""
    west, south, east, north = shapely.buffer(shape, margin_m).bounds
    return (
        math.floor(west / grid_m) * grid_m,
        math.floor(south / grid_m) * grid_m,
        math.ceil(east / grid_m) * grid_m,
        math.ceil(north / grid_m) * grid_m,
    )
