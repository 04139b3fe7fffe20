"""How drives run in height, from the definitions: a straight crown, one on an arc, a drilled one."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from benchmarks.oracles.lines import Node, Track
    from routescreen.search.arrays import SearchArrays

NO_COVER_NEAR_PIT_M = 10.0
HALVINGS = 90  # of some hundred metres: far below a hair
HAIR_M = 1e-9
SIMPSON = np.array([1.0, *[4.0, 2.0] * 199, 4.0, 1.0])  # weights of 400 pieces, in thirds of a piece


class Course(Protocol):
    """The crown of a drive."""

    true_m: float
    deeper_m: float

    def level_m(self, x_m: float) -> float:
        """Return the level at a distance in plan from the lower end [m]."""

    def lowest_m(self, x_m: float, half_m: float) -> float:
        """Return the lowest level within a distance to both sides [m]."""


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight crown; `deeper_m` the deeper of its shafts."""

    slope: float
    crown_m: float
    length_m: float
    deeper_m: float

    @property
    def true_m(self) -> float:
        """True length [m]."""
        return self.length_m * math.hypot(1.0, self.slope)

    def level_m(self, x_m: float) -> float:
        """See `Course`."""
        return self.crown_m + self.slope * x_m

    def lowest_m(self, x_m: float, half_m: float) -> float:
        """See `Course`."""
        return min(self.level_m(x_m - half_m), self.level_m(x_m + half_m))


@dataclass(frozen=True, slots=True)
class Arc:
    """A crown whose slope grows evenly: `start_slope` at the lower end, by `bend_per_m` a metre in plan.

    `deeper_m` the deeper of its shafts, or from the higher end's ground down to its lowest invert.
    """

    start_slope: float
    bend_per_m: float
    crown_m: float
    length_m: float
    deeper_m: float

    @property
    def true_m(self) -> float:
        """True length, by Simpson's rule over many pieces [m]."""
        n = len(SIMPSON) - 1
        step = self.length_m / n
        slopes = self.start_slope + self.bend_per_m * step * np.arange(n + 1)
        return float(SIMPSON @ np.hypot(1.0, slopes)) * step / 3.0

    @property
    def turned_rad(self) -> float:
        """By how much it turns from end to end [rad]."""
        return math.atan(self.end_slope) - math.atan(self.start_slope)

    @property
    def end_slope(self) -> float:
        """Slope at the upper end."""
        return self.start_slope + self.bend_per_m * self.length_m

    def level_m(self, x_m: float) -> float:
        """See `Course`."""
        return self.crown_m + self.start_slope * x_m + 0.5 * self.bend_per_m * x_m**2

    def lowest_m(self, x_m: float, half_m: float) -> float:
        """See `Course`."""
        level = -self.start_slope / self.bend_per_m
        places = [x_m - half_m, x_m + half_m, *([level] if abs(level - x_m) < half_m else [])]
        return min(self.level_m(place) for place in places)


@dataclass(frozen=True, slots=True)
class _Side:
    """What a pit fixes: level of the crown there, angle, radius."""

    start_m: float
    angle_rad: float
    radius_m: float

    def corner_m(self, bottom_m: float) -> float:
        """Where the straight would meet the level part without a bend [m]."""
        return (self.start_m - bottom_m) / math.tan(self.angle_rad)

    def tangent_m(self) -> float:
        """From that corner to either end of the bend [m]."""
        return self.radius_m * math.tan(self.angle_rad / 2.0)

    def level_m(self, bottom_m: float, x_m: float) -> float:
        """Crown at a distance from the pit [m]."""
        corner, tangent = self.corner_m(bottom_m), self.tangent_m()
        if x_m <= corner - tangent * math.cos(self.angle_rad):
            return self.start_m - x_m * math.tan(self.angle_rad)
        if x_m >= corner + tangent:
            return bottom_m
        ahead = corner + tangent - x_m
        return bottom_m + self.radius_m - math.sqrt(self.radius_m**2 - ahead**2)

    def true_m(self, bottom_m: float) -> float:
        """Length from the pit to the level part [m]."""
        straight = self.corner_m(bottom_m) / math.cos(self.angle_rad) - self.tangent_m()
        return straight + self.radius_m * self.angle_rad


@dataclass(frozen=True, slots=True)
class Drilled:
    """A drilled crown; `deeper_m` from the higher pit's ground to the invert of the level part."""

    lower: _Side
    upper: _Side
    bottom_m: float
    length_m: float
    deeper_m: float

    @property
    def true_m(self) -> float:
        """True length [m]."""
        level = self.length_m
        for side in (self.lower, self.upper):
            level -= side.corner_m(self.bottom_m) + side.tangent_m()
        return self.lower.true_m(self.bottom_m) + level + self.upper.true_m(self.bottom_m)

    def level_m(self, x_m: float) -> float:
        """See `Course`."""
        return max(
            self.lower.level_m(self.bottom_m, x_m), self.upper.level_m(self.bottom_m, self.length_m - x_m)
        )

    def lowest_m(self, x_m: float, half_m: float) -> float:
        """See `Course`."""
        begins = self.lower.corner_m(self.bottom_m) + self.lower.tangent_m()
        places = [x_m - half_m, x_m + half_m, *([begins] if abs(begins - x_m) < half_m else [])]
        return min(self.level_m(place) for place in places)


def drilled_course(
    s: SearchArrays,
    method: int,
    ends: tuple[Node, Node],
    is_lower: bool,
    track: Track,
    points: tuple[tuple[float, ...], tuple[float, ...]],
) -> Drilled | None:
    """Return the drilled crown with the highest bottom, None where there is none.

    `points` places and ceilings of what the drive crosses.
    """
    sides = tuple(_side(s, method, end, is_launch=k == int(not is_lower)) for k, end in enumerate(ends))
    lower, upper = sides
    asked = [*zip(*points, strict=True), *_from_ground(s, method, sides, track)]

    def is_kept(bottom: float) -> bool:
        return all(
            lower.level_m(bottom, x) <= ceiling + HAIR_M
            and upper.level_m(bottom, track.length_m - x) <= ceiling + HAIR_M
            for x, ceiling in asked
        )

    high = min(side.start_m - side.radius_m * (1.0 - math.cos(side.angle_rad)) for side in sides)
    low = high
    # as low as it may be there is no level part left
    room = track.length_m - sum(side.corner_m(high) + side.tangent_m() for side in sides)
    if room < 0.0:
        return None
    low = high - room / sum(1.0 / math.tan(side.angle_rad) for side in sides)
    if not is_kept(low):
        return None
    if is_kept(high):
        low = high
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if is_kept(middle) else (low, middle)
    ground = max(float(s.ground.ground_m[end]) for end in ends)
    return Drilled(lower, upper, low, track.length_m, ground - low + float(s.drive.bore_m[method]))


def _side(s: SearchArrays, method: int, node: Node, *, is_launch: bool) -> _Side:
    angle = s.drilled.entry_rad if is_launch else s.drilled.exit_rad
    depth = int(s.shaft.least_level[1 + 2 * method + int(not is_launch)]) * s.shaft.step_m
    crown = float(s.ground.ground_m[node]) - depth + s.shaft.sump_m + float(s.drive.bore_m[method])
    return _Side(crown, float(angle[method]), float(s.drilled.radius_m[method]))


def _from_ground(
    s: SearchArrays, method: int, sides: tuple[_Side, ...], track: Track
) -> list[tuple[float, float]]:
    """Return places and ceilings: ground all along but near the pits, cover where it is asked."""
    cover, surface = float(s.drilled.cover_m[method]), s.drilled.surface_m[s.drilled.surface[method]]
    reach = []
    for side in sides:
        least = max(cover, side.radius_m * (1.0 - math.cos(side.angle_rad)))
        reach.append(side.corner_m(side.start_m - least) + side.tangent_m())
    asked = []
    for cells, (x0, x1) in zip(track.cells, itertools.pairwise(track.boundary_m), strict=True):
        ground = min(float(surface[cell.node]) for cell in cells)
        for near, beyond, below in (
            (NO_COVER_NEAR_PIT_M, NO_COVER_NEAR_PIT_M, 0.0),
            (reach[0], reach[1], cover),
        ):
            begin, end = max(x0, near), min(x1, track.length_m - beyond)
            if begin <= end:
                asked += [(begin, ground - below), (end, ground - below)]
    return asked


def most_pull_kN(s: SearchArrays, method: int, course: Drilled, *, is_lower: bool) -> float:
    """Return the largest pull on the pipe through a drilled bore, part by part [kN]."""
    d, restart = s.drilled, float(s.force.restart)
    outside, inside = restart * float(d.roller_friction[method]), restart * float(d.bore_friction[method])
    weight, uplift = float(d.pipe_kN_per_m[method]), float(d.uplift_kN_per_m[method])
    pipe, rig = (course.upper, course.lower) if is_lower else (course.lower, course.upper)
    down, up = (side.corner_m(course.bottom_m) + side.tangent_m() for side in (pipe, rig))
    level = course.true_m - down - up
    bend_in, bend_bore, bend_out = (
        math.exp(friction * angle)
        for friction, angle in ((outside, pipe.angle_rad), (inside, pipe.angle_rad), (inside, rig.angle_rad))
    )
    pulls = [bend_in * outside * weight * course.true_m]
    pulls.append(
        bend_bore
        * (
            pulls[0]
            + inside * abs(uplift) * down
            + uplift * (pipe.start_m - course.bottom_m)
            - outside * weight * down * bend_in
        )
    )
    left = bend_bore * outside * weight * bend_in
    pulls.append(pulls[1] + inside * abs(uplift) * level - left * level)
    last = pulls[2] + inside * abs(uplift) * up - uplift * (rig.start_m - course.bottom_m) - left * up
    pulls.append(bend_out * last)
    return max(pulls) + float(s.force.drag_kN[method])
