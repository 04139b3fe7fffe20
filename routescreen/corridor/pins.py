"""What the planner has already agreed: pinned shafts, places to pass, places to keep free of shafts.

Room: ``corridor``. Imports ``errors``, the frame and obstacles.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.obstacles import Obstacles
from routescreen.errors import InputError, Problem

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from routescreen.corridor.frame import Frame

_ROLES = ("shaft", "via")


def shaft_free_pins(pins: gpd.GeoDataFrame) -> Obstacles:
    """Return the pins that keep shafts away, with their radius as clearance."""
    chosen = pins[(pins["role"] == "no_shaft").to_numpy(dtype=np.bool_)]
    radius_m = chosen["radius_m"].to_numpy(dtype=np.float64, na_value=0.0)
    return Obstacles.of(chosen.geometry.to_numpy(), radius_m)


def pinned_rows(
    frame: Frame,
    pins: gpd.GeoDataFrame,
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
        Lists every pin without such a node within its radius, and pins that contradict each other.
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
            problems.append(_problem(f"{number}", role, f"No node within {radius_m:g} m can serve this pin."))
        else:
            placed.append(_Placed(number, role, *node))
    problems += [_contradiction(*pair) for pair in combinations(placed, 2) if _contradict(*pair)]
    if problems:
        raise InputError(problems)
    rows = {role: np.full(frame.shape[0], -1, dtype=np.int64) for role in _ROLES}
    for pin in placed:
        rows[pin.role][pin.column] = pin.row
    return rows["shaft"], rows["via"]


@dataclass(frozen=True, slots=True)
class _Placed:
    """A pin on its node; `number` is its place in the layer."""

    number: int
    role: str
    column: int
    row: int


def _contradict(first: _Placed, second: _Placed) -> bool:
    """Return whether no route can pass both: it has one node a column that it may be told of."""
    return first.column == second.column and first.row != second.row


def _contradiction(first: _Placed, second: _Placed) -> Problem:
    """Return the problem of two pins that no route can serve together."""
    pair = " and ".join(f"pin {pin.number} ({pin.role})" for pin in (first, second))
    text = f"{pair[0].upper()}{pair[1:]} lie side by side in one column of the frame: no route passes both."
    roles = ", ".join(dict.fromkeys((first.role, second.role)))
    return _problem(f"{first.number}, {second.number}", roles, text)


def _nearest(
    frame: Frame, is_allowed: NDArray[np.bool_], point: BaseGeometry, radius_m: float
) -> tuple[int, int] | None:
    """Return the allowed node nearest to a point, if one lies within the radius."""
    middle = point.centroid
    away = frame.node_xy_m - [middle.x, middle.y]
    distance_m = np.where(is_allowed, np.hypot(away[..., 0], away[..., 1]), np.inf)
    column, row = np.unravel_index(int(np.argmin(distance_m)), distance_m.shape)
    return (int(column), int(row)) if distance_m[column, row] <= radius_m else None


def _problem(feature: str, role: str, problem: str) -> Problem:
    """Return the problem of a pin, or of two."""
    remedy = "Move the pin, widen its radius_m, or change what bars a shaft or trench there."
    return Problem(problem=problem, remedy=remedy, layer="pins", feature=feature, column="role", value=role)
