"""The line that a drive takes under its ceiling, in plain Python from the definition."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.oracles.hulls import NEAR_M, lower_hull_slope

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchmarks.oracles.cells import Node
    from routescreen.search.arrays import SearchArrays


@dataclass(frozen=True, slots=True)
class Profile:
    """Points that the crown's line must stay below, and the drive's ends."""

    x_m: tuple[float, ...]
    v_m: tuple[float, ...]

    def start_m(self, slope: float) -> float:
        """Return the level at x = 0 of the highest line of a slope [m]."""
        return min(v - slope * x for x, v in zip(self.x_m, self.v_m, strict=True))


@dataclass(frozen=True, slots=True)
class Chooser:
    """Chooses a drive's line by the family's rule."""

    s: SearchArrays
    lower: Node
    upper: Node
    method: int
    roles: tuple[int, int]
    is_lower: bool
    profile: Profile
    floors_m: tuple[float, ...] | None
    shaft_eur: Callable[[Node, int, int, int], float]  # `shaft_without_site_eur`, each asked for once

    def choose(self) -> tuple[float, tuple[int, int]] | None:
        """Return the slope and the depth levels of both ends.

        Candidates: the supporting line of the ceiling's lower hull where the prices of depth
        balance, clamped to the limits, and where a shaft reaches the water with it the two lines that
        just keep the lower and the upper shaft dry. The cheapest by the two shafts standing alone, the
        flattest when equal.
        """
        limits = self._limits()
        if limits is None:
            return None
        balanced = min(
            max(lower_hull_slope(self.profile.x_m, self.profile.v_m, self._balance_m()), limits[0]), limits[1]
        )
        slopes = [balanced, *self._dry_slopes(balanced, limits)]
        slope = min(slopes, key=lambda m: (self._alone_eur(self._levels(m)), abs(m)))
        levels = self._levels(slope)
        most = self.s.shaft.most_level
        if levels[0] > most[self.roles[0]] or levels[1] > most[self.roles[1]]:
            return None
        return slope, levels

    def _reach_m(self) -> float:
        """Return the height from the crown down to the shaft's bottom [m]."""
        return float(self.s.drive.bore_m[self.method]) + self.s.shaft.sump_m

    def _crown_at_level_m(self, end: int, level: int) -> float:
        ground = float(self.s.ground.ground_m[(self.lower, self.upper)[end]])
        return ground + self._reach_m() - level * self.s.shaft.step_m

    def _slopes_below(self, end: int, crown_m: float) -> tuple[float, float] | None:
        """Return the slopes whose highest line lies at or above a level at one end."""
        x, v = np.array(self.profile.x_m), np.array(self.profile.v_m)
        place = x[0] if end == 0 else x[-1]
        here = x == place
        if crown_m > v[here].min() + NEAR_M:
            return None
        slopes = (v[~here] - crown_m) / (x[~here] - place)
        return (-math.inf, float(slopes.min())) if end == 0 else (float(slopes.max()), math.inf)

    def _limits(self) -> tuple[float, float] | None:
        grades = (
            float(self.s.drive.slope_min_frac[self.method]),
            float(self.s.drive.slope_max_frac[self.method]),
        )
        seen = grades if self.is_lower else (-grades[1], -grades[0])
        # both ends of an arc keep the grades; they differ from the chord's by half of what it turns
        half = float(self.s.drive.arc_per_m[self.method]) * self.profile.x_m[-1]
        bounds = [(seen[0] + half, seen[1] - half)]
        for end in (0, 1):
            deepest = self._crown_at_level_m(end, int(self.s.shaft.most_level[self.roles[end]]))
            allowed = self._slopes_below(end, deepest)
            if allowed is None:
                return None
            bounds.append(allowed)
        if self.floors_m is not None:
            allowed = self._slopes_above()
            if allowed is None:
                return None
            bounds.append(allowed)
        low, high = max(b[0] for b in bounds), min(b[1] for b in bounds)
        return (low, high) if low <= high else None

    def _slopes_above(self) -> tuple[float, float] | None:
        """Return the slopes whose highest line lies above the floors: each floor against each point."""
        assert self.floors_m is not None
        x, v, floor = np.array(self.profile.x_m), np.array(self.profile.v_m), np.array(self.floors_m)
        if (floor > v).any():
            return None
        ahead = x[None, :] - x[:, None]  # of a point, from a floor
        over = v[None, :] - floor[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            slope = over / ahead
        least = np.where(ahead < 0.0, slope, -math.inf).max()
        most = np.where(ahead > 0.0, slope, math.inf).min()
        return float(least), float(most)

    def _balance_m(self) -> float:
        weight, soil = self.s.shaft.weight_eur_per_m, self.s.ground.soil
        at_lower = float(weight[self.roles[0], soil[self.lower]])
        at_upper = float(weight[self.roles[1], soil[self.upper]])
        return self.profile.x_m[-1] * at_upper / (at_lower + at_upper)

    def _dry_slopes(self, balanced: float, limits: tuple[float, float]) -> list[float]:
        """Return the slopes that just keep each end dry; none where both are dry anyway."""
        wet_level = [int(self.s.shaft.wet_level[node]) for node in (self.lower, self.upper)]
        if all(level < wet for level, wet in zip(self._levels(balanced), wet_level, strict=True)):
            return []
        slopes = []
        for end in (0, 1):
            driest = wet_level[end] - 1
            if driest < self.s.shaft.least_level[self.roles[end]]:
                continue
            allowed = self._slopes_below(end, self._crown_at_level_m(end, driest))
            if allowed is None:
                continue
            slope = allowed[1] if end == 0 else allowed[0]
            if abs(slope) <= 1.0:
                slopes.append(min(max(slope, limits[0]), limits[1]))
        return slopes

    def _levels(self, slope: float) -> tuple[int, int]:
        crown = self.profile.start_m(slope)
        crowns = (crown, crown + slope * self.profile.x_m[-1])
        levels = []
        for end, node in enumerate((self.lower, self.upper)):
            depth = float(self.s.ground.ground_m[node]) - crowns[end] + self._reach_m()
            level = math.ceil(depth / self.s.shaft.step_m - 1e-9)
            levels.append(max(level, int(self.s.shaft.least_level[self.roles[end]])))
        return levels[0], levels[1]

    def _alone_eur(self, levels: tuple[int, int]) -> float:
        if max(levels) >= self.s.shaft.table_eur.shape[4]:
            return math.inf
        ends = zip((self.lower, self.upper), self.roles, levels, strict=True)
        return sum(self.shaft_eur(node, 0, role, level) for node, role, level in ends)


def shaft_without_site_eur(s: SearchArrays, node: Node, r: int, k: int, level: int) -> float:
    """Return the price of a shaft by soil, water, roles and depth [EUR].

    Down to the rock head it is priced in soil, each step below at the difference in rock.
    """
    water = int(level >= s.shaft.reached_level[node]) + int(level >= s.shaft.wet_level[node])
    head = int(s.shaft.rock_level[node])
    first_wet = math.ceil(max(int(s.shaft.wet_level[node]), 0) / s.shaft.ramp_steps)
    ramps = s.shaft.ramp_eur[:, min(first_wet, s.shaft.ramp_eur.shape[1] - 1)]
    soils = {int(s.ground.soil[node])} | ({int(s.ground.rock_soil[node])} if level > head else set())
    more = max(float(ramps[soil, role, level]) for soil in soils for role in (r, k))
    more += _fill_eur(s, node, (r, k), level)
    in_soil = s.shaft.table_eur[int(s.ground.soil[node]), water, r, k]
    if not math.isfinite(in_soil[level]):
        return math.inf
    in_rock = s.shaft.table_eur[int(s.ground.rock_soil[node]), water, r, k]
    steps = np.diff(in_rock[min(head, level) : level + 1])
    return float(in_soil[min(head, level)] + steps.sum()) + more


def _fill_eur(s: SearchArrays, node: Node, roles: tuple[int, int], level: int) -> float:
    """Return the price of conducting fill: by steps of the soil, then of the rock, once either role asks."""
    soil, rock, head = int(s.ground.soil[node]), int(s.ground.rock_soil[node]), int(s.shaft.rock_level[node])
    met = {soil, rock} if level > head else {soil}
    firsts = [
        max(
            min(int(s.shaft.fill_level[soil, below, role]) for below in met),
            int(s.shaft.lowest_level[node]) + int(s.shaft.fill_below[role]),
        )
        for role in roles
        if role > 0
    ]
    if not any(level >= first for first in firsts):
        return 0.0
    in_soil, in_rock = (s.shaft.fill_eur[one, roles[0], roles[1]] for one in (soil, rock))
    from_head = np.diff(in_rock[min(head, level) : level + 1]).sum()
    return float(in_soil[min(head, level)] + from_head)
