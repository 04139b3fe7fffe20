"""What the planner has already agreed: pinned shafts, places to pass, places to keep free of shafts.

Room: ``corridor``. Imports ``errors``, the frame and obstacles.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.obstacles import Obstacles
from routescreen.corridor.stencil import MOVES
from routescreen.errors import InputError, Problem

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from routescreen.corridor.frame import Frame

_ROLES = ("shaft", "via")
_NEAREST = "Move the pin, widen its radius_m, or change what bars a shaft, its compound or a trench there."
_ONE_OF_TWO = "Move one of them, or delete it."


@dataclass(frozen=True, slots=True)
class RouteLimits:
    """What no route between two places can do.

    Attributes
    ----------
    max_drive_tan : float
        Tangent of the largest angle of a drive to the axis [-].
    least_trench_m : float
        Shortest run of trench between two shafts [m].
    least_drive_m : float
        Shortest drive of any method; inf: there is none [m].
    """

    max_drive_tan: float
    least_trench_m: float
    least_drive_m: float


def shaft_free_pins(pins: gpd.GeoDataFrame) -> Obstacles:
    """Return the pins that keep shafts away, with their radius as clearance."""
    chosen = pins[(pins["role"] == "no_shaft").to_numpy(dtype=np.bool_)]
    radius_m = chosen["radius_m"].to_numpy(dtype=np.float64, na_value=0.0)
    return Obstacles.of(chosen.geometry.to_numpy(), radius_m)


def pinned_rows(
    frame: Frame,
    pins: gpd.GeoDataFrame,
    limits: RouteLimits,
    *,
    has_shaft_place: NDArray[np.bool_],
    has_trench: NDArray[np.bool_],
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Move each pin to the nearest node that can serve it.

    Parameters
    ----------
    frame : Frame
    pins : GeoDataFrame
        Layer ``pins`` with `role` and `radius_m`; a missing radius means one cell.
    limits : RouteLimits
    has_shaft_place : ndarray of bool, shape (nx, ny)
        Nodes where a shaft of any method, role and heading may stand.
    has_trench : ndarray of bool, shape (nx, ny)
        Nodes that a trench may reach or leave.

    Returns
    -------
    pin_shaft, pin_via : ndarray of int64, shape (nx,)
        Row of the pin in each column, else -1.

    Raises
    ------
    InputError
        Lists every pin without such a node within its radius, and pins that contradict each other or a
        terminal.
    """
    allowed = {"shaft": has_shaft_place, "via": has_shaft_place | has_trench}
    problems, placed = [], []
    for number, (role, radius, point) in enumerate(
        zip(
            pins["role"],
            pins["radius_m"].to_numpy(dtype=np.float64, na_value=np.nan),
            pins.geometry,
            strict=True,
        )
    ):
        if role not in _ROLES:
            continue
        radius_m = frame.cell_m if np.isnan(radius) else float(radius)
        node = _nearest(frame, allowed[role] & frame.is_valid, point, radius_m)
        if node is None:
            text = f"No node within {radius_m:g} m can serve this pin."
            problems.append(_problem(f"{number}", role, text, _NEAREST))
        else:
            placed.append(_Placed(number, role, *node))
    problems += _contradictions(frame, placed, limits)
    if problems:
        raise InputError(problems)
    rows = {role: np.full(frame.shape[0], -1, dtype=np.int64) for role in _ROLES}
    for pin in placed:
        rows[pin.role][pin.column] = pin.row
    return rows["shaft"], rows["via"]


@dataclass(frozen=True, slots=True)
class _Placed:
    """A pin on its node; `number` is its place in the layer, -1 for a terminal, whose role is its name."""

    number: int
    role: str
    column: int
    row: int

    @property
    def title(self) -> str:
        """What a message calls it."""
        return f"the {self.role} terminal" if self.number < 0 else f"pin {self.number} ({self.role})"


def _contradictions(frame: Frame, placed: list[_Placed], limits: RouteLimits) -> list[Problem]:
    """Return the problems of pins that no route can serve together, or from or to a terminal."""
    terminals = [_Placed(-1, "start", *frame.start), _Placed(-1, "end", *frame.end)]
    problems = []
    for first, second in combinations([*placed, *terminals], 2):
        if first.number < 0:
            continue
        reason = _contradiction(frame, first, second, limits)
        if reason:
            problems.append(_pair_problem(first, second, reason))
    return problems


def _contradiction(frame: Frame, first: _Placed, second: _Placed, limits: RouteLimits) -> str:
    """Return why no route has both places, as far as their distance tells; empty where nothing says so."""
    n_columns, n_rows = abs(second.column - first.column), abs(second.row - first.row)
    along_m, across_m = n_columns * frame.column_spacing_m, n_rows * frame.cell_m
    if n_columns == 0 and n_rows > 0:
        return "lie side by side in one column of the frame: no route passes both."
    if n_rows > n_columns * _steepest_rows(frame, limits) + 1e-9:
        return (
            f"lie {along_m:.0f} m apart along the corridor and {across_m:.0f} m across it: "
            "neither trench nor drive turns aside so sharply."
        )
    are_shafts = first.role == second.role == "shaft"
    if are_shafts and n_columns > 0 and _is_too_short(frame, n_columns, limits):
        return (
            f"lie {along_m:.0f} m apart along the corridor: too near for a trench between two shafts "
            f"({limits.least_trench_m:.0f} m or more) and for any drive."
        )
    return ""


def _steepest_rows(frame: Frame, limits: RouteLimits) -> float:
    """Return how many rows a route changes at most over a column."""
    move = float(np.abs(MOVES[:, 1] / MOVES[:, 0]).max())
    return max(move, limits.max_drive_tan * frame.column_spacing_m / frame.cell_m)


def _is_too_short(frame: Frame, n_columns: int, limits: RouteLimits) -> bool:
    """Return whether neither a run of trench between two shafts nor a drive fits into some columns."""
    least_columns = math.ceil(limits.least_trench_m / frame.column_spacing_m - 1e-6)
    gaps_m = np.linalg.norm(np.diff(frame.node_xy_m, axis=0), axis=-1)
    longest_gap_m = float(gaps_m[frame.is_valid[1:] & frame.is_valid[:-1]].max(initial=0.0))
    # to the same row, then across: no drive is longer
    across_m = limits.max_drive_tan * n_columns * frame.column_spacing_m
    longest_m = n_columns * longest_gap_m + across_m
    return n_columns < least_columns and longest_m < limits.least_drive_m


def _pair_problem(first: _Placed, second: _Placed, reason: str) -> Problem:
    """Return the problem of a pin and what contradicts it."""
    pair = f"{first.title} and {second.title}"
    pins = [pin for pin in (first, second) if pin.number >= 0]
    numbers = ", ".join(f"{pin.number}" for pin in pins)
    roles = ", ".join(dict.fromkeys(pin.role for pin in pins))
    return _problem(numbers, roles, f"{pair[0].upper()}{pair[1:]} {reason}", _ONE_OF_TWO)


def _nearest(
    frame: Frame, is_allowed: NDArray[np.bool_], point: BaseGeometry, radius_m: float
) -> tuple[int, int] | None:
    """Return the allowed node nearest to a point, if one lies within the radius."""
    middle = point.centroid
    away = frame.node_xy_m - [middle.x, middle.y]
    distance_m = np.where(is_allowed, np.hypot(away[..., 0], away[..., 1]), np.inf)
    column, row = np.unravel_index(int(np.argmin(distance_m)), distance_m.shape)
    return (int(column), int(row)) if distance_m[column, row] <= radius_m else None


def _problem(feature: str, role: str, problem: str, remedy: str) -> Problem:
    """Return the problem of a pin, or of two."""
    return Problem(problem=problem, remedy=remedy, layer="pins", feature=feature, column="role", value=role)
