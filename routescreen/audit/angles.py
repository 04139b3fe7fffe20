"""The lines and edges of a crossing, and the direction in which they run at any place.

Room: ``audit``. Geometry only; may use shapely and the audit's own ``features``.

A crossing is met at an angle to its centre lines, to the banks of its areas, and to the edges of its
outline: what passes inside the half-width without meeting the line still crosses it. A long edge runs
as its line does beside it. A round end runs as the outline does, smoothed over the same window; where
its arc is shorter than the window the outline would turn back within it, and the line's direction holds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.features import Features

ON_EDGE_M = 0.01
"""A place of the outline this near to the half width of a line belongs to the edge of that line [m]."""

AT_END_M = 1e-6
"""Of chainage: nearer than this to its end is the end of a line [m]."""

STANDSTILL_FRAC = 1e-6
"""A chord shorter than this share of half its window has no direction: the line turned back in it [-]."""


@dataclass(frozen=True)
class Guide:
    """A centre line or a bank, with what is asked of the angle to it.

    Attributes
    ----------
    line : LineString or LinearRing
    least_deg : float
        0 where nothing is asked [deg].
    half_width_m : float
        The widest of the features that were joined to it, 0 of banks [m].
    is_bank : bool
    window_m : float
        Length over which its direction is smoothed [m].
    """

    line: shapely.LineString
    least_deg: float
    half_width_m: float
    is_bank: bool
    window_m: float

    @cached_property
    def vertices_m(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Vertices without repeats, shape (k, 2), and their chainages, shape (k,) [m]."""
        xy_m = shapely.get_coordinates(self.line)
        step_m = np.hypot(*np.diff(xy_m, axis=0).T)
        is_new = np.concatenate([[True], step_m > 0.0])
        return xy_m[is_new], np.concatenate([[0.0], np.cumsum(step_m[step_m > 0.0])])

    @property
    def length_m(self) -> float:
        """Length of the line [m]."""
        return float(self.vertices_m[1][-1])

    @cached_property
    def is_ring(self) -> bool:
        """Whether it closes on itself."""
        return bool(shapely.is_closed(self.line))

    @property
    def half_m(self) -> float:
        """Half of the window; on a small ring the window takes a quarter of it [m]."""
        return min(self.window_m / 2.0, self.length_m / 8.0) if self.is_ring else self.window_m / 2.0

    @property
    def has_wide_end(self) -> bool:
        """Whether the arc round its end is longer than the window."""
        return not self.is_ring and math.pi * self.half_width_m >= self.window_m

    def chainage_m(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the chainage of the place on the line nearest to each point (n, 2) [m]."""
        return np.asarray(shapely.line_locate_point(self.line, shapely.points(xy_m)), dtype=np.float64)

    def is_end(self, at_m: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return which chainages are an end of an open line."""
        is_near = (at_m <= AT_END_M) | (at_m >= self.length_m - AT_END_M)
        return is_near if not self.is_ring else np.zeros(len(at_m), dtype=np.bool_)

    def point_at(self, at_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the points at chainages, (n, 2); past an end of an open line, that end [m]."""
        xy_m, chainage_m = self.vertices_m
        on_m = at_m % self.length_m if self.is_ring and self.length_m > 0.0 else at_m
        return np.column_stack([np.interp(on_m, chainage_m, xy_m[:, k]) for k in (0, 1)])

    def tangent(self, at_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the direction at chainages: the chord over the window round each, (n, 2), any length.

        It is cut off at the ends of an open line. Where the line turns back on itself within the
        window, its own direction there holds; (0, 0) only where the line has no length.
        """
        chord = self.point_at(at_m + self.half_m) - self.point_at(at_m - self.half_m)
        xy_m, chainage_m = self.vertices_m
        if len(xy_m) < 2:
            return np.zeros((len(at_m), 2))
        stands_still = np.hypot(chord[:, 0], chord[:, 1]) < STANDSTILL_FRAC * self.half_m
        piece = np.clip(np.searchsorted(chainage_m, at_m, side="right") - 1, 0, len(xy_m) - 2)
        chord[stands_still] = np.diff(xy_m, axis=0)[piece[stands_still]]
        return np.asarray(chord)

    def least_angle(self, from_m: float, to_m: float, direction: NDArray[np.float64]) -> tuple[float, float]:
        """Return the least angle between a direction and the line on a stretch, and where it is.

        Between the chainages at which an end of the window passes a vertex the chord changes in
        proportion to the chainage, so it turns one way: the least angle is at one of them, or 0 where
        the chord passes through the direction on its way.

        Parameters
        ----------
        from_m, to_m : float
            On a ring they may lie before its start or past its end [m].
        direction : ndarray of shape (2,)

        Returns
        -------
        tuple of float
            Angle [deg] and chainage [m].
        """
        at_m = self._turning_points_m(from_m, to_m)
        tangent = self.tangent(at_m)
        across = direction[0] * tangent[:, 1] - direction[1] * tangent[:, 0]
        passes = np.flatnonzero(across[:-1] * across[1:] < 0.0)
        if len(passes):
            return 0.0, float(at_m[passes[0]])
        angle_deg = np.array([angle_between_deg(direction, one) for one in tangent])
        least = int(np.argmin(angle_deg))
        return float(angle_deg[least]), float(at_m[least])

    def _turning_points_m(self, from_m: float, to_m: float) -> NDArray[np.float64]:
        """Return the ends of a stretch and where within it an end of the window passes a vertex."""
        chainage_m = self.vertices_m[1]
        around = np.concatenate([chainage_m - self.half_m, chainage_m, chainage_m + self.half_m])
        if self.is_ring:
            around = np.concatenate([around - self.length_m, around, around + self.length_m])
        inner = around[(around > from_m) & (around < to_m)]
        return np.unique(np.concatenate([[from_m, to_m], inner]))


@dataclass(frozen=True)
class CrossingLines:
    """All that the angle to one crossing is measured against.

    `guides` are its centre lines and banks; `edges` the rings of its outline, none where no centre line
    asks for an angle.
    """

    guides: tuple[Guide, ...]
    edges: tuple[Guide, ...]

    @property
    def least_deg(self) -> float:
        """The most that any of its lines asks for [deg]."""
        return max((guide.least_deg for guide in self.guides), default=0.0)

    @cached_property
    def centre_lines(self) -> tuple[Guide, ...]:
        """The centre lines that ask for an angle: the outline has edges of theirs."""
        return tuple(guide for guide in self.guides if not guide.is_bank and guide.least_deg > 0.0)

    def owner_of_edge(self, xy_m: NDArray[np.float64]) -> Guide | None:
        """Return the centre line whose edge the outline is at a point of it, None where it is nobody's."""
        if not self.centre_lines:
            return None
        away_m = shapely.distance([guide.line for guide in self.centre_lines], shapely.Point(xy_m))
        nearest = self.centre_lines[int(np.argmin(away_m))]
        return nearest if float(np.min(away_m)) <= nearest.half_width_m + ON_EDGE_M else None


def crossing_lines(features: Features, crossing: int, *, window_m: float) -> CrossingLines:
    """Collect the centre lines, banks and edges of a crossing, split lines joined, touching areas as one.

    Parameters
    ----------
    features : Features
    crossing : int
    window_m : float
        Length over which directions are smoothed [m].

    Returns
    -------
    CrossingLines
    """
    members = features.members(crossing)
    guides: list[Guide] = []
    for least_deg in np.unique(features.least_angle_deg[members]):
        alike = members[features.least_angle_deg[members] == least_deg]
        guides += _guides(features, alike, float(least_deg), window_m)
    found = CrossingLines(tuple(guides), ())
    if not found.centre_lines:
        return found
    outline = shapely.union_all(features.outline[members])
    areas = [part for part in shapely.get_parts(outline) if shapely.get_dimensions(part) == 2]
    edges = [Guide(ring, 0.0, 0.0, True, window_m) for ring in shapely.get_rings(areas)]
    return CrossingLines(tuple(guides), tuple(edges))


def _guides(features: Features, members: NDArray[np.int64], least_deg: float, window_m: float) -> list[Guide]:
    """Return the lines and banks of the members that ask for one angle."""
    dimension = shapely.get_dimensions(features.geometry[members])
    is_line = dimension == 1
    drawn = shapely.get_parts(features.geometry[members[is_line]])
    lines = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(drawn)))
    areas = shapely.union_all(features.geometry[members[dimension == 2]])
    half_width_m = float(features.half_width_m[members[is_line]].max(initial=0.0))
    found = [Guide(line, least_deg, half_width_m, False, window_m) for line in lines if line.length > 0.0]
    rings = shapely.get_rings(shapely.get_parts(areas))
    return found + [Guide(ring, least_deg, 0.0, True, window_m) for ring in rings]


def edge_tangent(edge: Guide, owner: Guide, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the direction that holds at a point of an edge: its line's, at wide round ends its own."""
    at_m = owner.chainage_m(xy_m[None, :])
    if owner.has_wide_end and owner.is_end(at_m)[0]:
        return np.asarray(edge.tangent(edge.chainage_m(xy_m[None, :]))[0])
    return np.asarray(owner.tangent(at_m)[0])


def angle_between_deg(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    """Return the angle between two directions, 0 (along) to 90 (square) [deg].

    Examples
    --------
    >>> angle_between_deg(np.array([1.0, 0.0]), np.array([-2.0, 2.0]))
    45.0
    """
    across = abs(float(first[0] * second[1] - first[1] * second[0]))
    along = abs(float(first[0] * second[0] + first[1] * second[1]))
    return math.degrees(math.atan2(across, along))
