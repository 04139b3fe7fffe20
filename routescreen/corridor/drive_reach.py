"""Whether the frame's nodes stand close enough for the drives of every method.

Room: ``corridor``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from routescreen.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.corridor.frame import Frame
    from routescreen.drives.methods import MethodGeometry

FEW_CELLS = 3  # between the shortest and the longest drive; fewer leave hardly a choice


def check_drive_reach(frame: Frame, methods: Sequence[MethodGeometry], *, max_drive_angle_deg: float) -> None:
    """Check that drives of every method find two nodes as far apart as they may be long.

    Parameters
    ----------
    frame : Frame
    methods : sequence of MethodGeometry
    max_drive_angle_deg : float
        Steepest heading of a drive against the axis [degrees].

    Raises
    ------
    InputError
        If for some method no two nodes lie within its lengths: it would silently drop out.
    """
    longest_m = max((method.longest_m for method in methods), default=0.0)
    lengths_m = _lengths_m(frame, longest_m, max_drive_angle_deg)
    missing = [
        _problem(frame, method)
        for method in methods
        # that a corridor is shorter than every drive is no fault of the cells
        if method.least_length_m <= frame.length_m and not _is_met(lengths_m, method)
    ]
    if missing:
        raise InputError(missing)


def drive_reach_warnings(frame: Frame, methods: Sequence[MethodGeometry]) -> tuple[str, ...]:
    """Return a warning for each method whose drives hardly have a choice of lengths on the frame."""
    return tuple(
        f"Cells of {frame.cell_m:g} m are coarse for {_title(method)}, whose drives are "
        f"{method.least_length_m:g} m to {method.longest_m:g} m long. Use a smaller frame.cell_m."
        for method in methods
        if method.longest_m - method.least_length_m < FEW_CELLS * frame.cell_m
    )


def _title(method: MethodGeometry) -> str:
    return method.name.replace("_", " ")


def _is_met(lengths_m: np.ndarray, method: MethodGeometry) -> bool:
    return bool(((lengths_m >= method.least_length_m) & (lengths_m <= method.longest_m)).any())


def _lengths_m(frame: Frame, longest_m: float, max_drive_angle_deg: float) -> np.ndarray:
    """Return the lengths between two nodes of a straight frame, as far as a drive may go [m]."""
    n_columns, n_rows = frame.shape
    n_ahead = min(n_columns - 1, int(longest_m / frame.column_spacing_m) + 1)
    along_m = frame.column_spacing_m * np.arange(1, n_ahead + 1)[:, None]
    across_m = frame.cell_m * np.arange(n_rows)[None, :]
    is_flat = across_m <= along_m * math.tan(math.radians(max_drive_angle_deg))
    return np.asarray(np.hypot(along_m, across_m)[is_flat])


def _problem(frame: Frame, method: MethodGeometry) -> Problem:
    return Problem(
        problem=f"No drive of {_title(method)} fits the frame: it may be "
        f"{method.least_length_m:g} m to {method.longest_m:g} m long, and nodes are "
        f"{frame.column_spacing_m:.4g} m apart.",
        remedy="Take smaller cells, longer drives, or switch the method off (is_enabled = false).",
        layer="assumptions",
        feature=frame.corridor_id,
        column=f"methods.{method.name}.longest_m",
        value=f"{method.longest_m:g} m",
    )
