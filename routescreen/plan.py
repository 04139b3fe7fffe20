"""The finished plan as geometry: what the audit, the bill and the results start from.

Room: pure data between ``search`` (which builds it) and ``audit``, ``money``, ``results``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

STRAIGHT_M = 1e-6  # a vertex this near the line through its neighbours is left out


@dataclass(frozen=True, slots=True)
class Shaft:
    """One shaft, launch or reception or both.

    `xy_m` is the middle of the shaft [m]; `ground_m` the ground there; `depth_m` the shaft depth
    (ground - bore invert + sump, rounded up to the depth step, the deeper of its drives).
    `incoming` and `outgoing` are indices into `Plan.drives` of the drive on the lower-chainage and
    the higher-chainage side, or None. `direction_rad` of a drive is its heading in plan.
    """

    xy_m: tuple[float, float]
    ground_m: float
    depth_m: float
    incoming: int | None
    outgoing: int | None


@dataclass(frozen=True, slots=True)
class DrilledCurve:
    """How a drilled bore runs in height between its pits.

    Straight down from either pit at an angle, round with a radius, level between the bends with the crown
    at `bottom_crown_m` [m]. `drives.course` knows its levels and its length.
    """

    bottom_crown_m: float
    lower_angle_rad: float
    upper_angle_rad: float
    radius_m: float


@dataclass(frozen=True, slots=True)
class Drive:
    """One drive, straight in plan, from its lower-chainage shaft to its higher-chainage shaft.

    `method` names the method in the assumptions. `is_launched_at_lower` says whether the launch is
    the lower-chainage end. Crown levels are those of the bore at the middle of each shaft [m]; the
    crown runs straight between them, or in the `curve` of a drilled bore, and every parallel bore has the
    same levels. `from_vertex` and
    `to_vertex` (= `from_vertex` + 1) index `Plan.alignment_xy_m`.

    The pipe strings are laid out in `n_layout_pieces` behind the reception, side by side along
    `layout_xy_m`: from where the strip begins at the shaft outwards, straight or with a bend; empty where
    the method needs no layout.

    With an `arc_radius_m` [m] the crown does not run straight but on one arc, deeper between the shafts:
    its slope grows by a metre in `arc_radius_m` from the lower end to the upper one.
    """

    method: str
    lower_shaft: int
    upper_shaft: int
    is_launched_at_lower: bool
    lower_crown_m: float
    upper_crown_m: float
    from_vertex: int
    to_vertex: int
    n_layout_pieces: int = 1
    layout_xy_m: tuple[tuple[float, float], ...] = ()
    curve: DrilledCurve | None = None
    arc_radius_m: float | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan of one corridor.

    Attributes
    ----------
    corridor_id : str
    alignment_xy_m : ndarray of shape (n, 2)
        Centre line of the group of cables from start to end terminal [m]. A drive is exactly one
        piece (two successive vertices); all other pieces are open cut.
    is_drive : ndarray of bool, shape (n - 1,)
        Whether the piece from vertex i to i + 1 is a drive.
    is_narrow : ndarray of bool, shape (n - 1,)
        Whether the open-cut piece has the narrow working strip.
    drives, shafts : tuple
        In order of chainage.
    objective_eur : float
        The search's optimum, unrounded [EUR].
    """

    corridor_id: str
    alignment_xy_m: NDArray[np.float64]
    is_drive: NDArray[np.bool_]
    is_narrow: NDArray[np.bool_]
    drives: tuple[Drive, ...]
    shafts: tuple[Shaft, ...]
    objective_eur: float


@dataclass(frozen=True, slots=True)
class SectionRun:
    """One section as a run of the alignment's vertices, both included.

    `drive` is the index into the plan's drives, or None in open cut.
    """

    from_vertex: int
    to_vertex: int
    drive: int | None


def section_runs(plan: Plan) -> tuple[SectionRun, ...]:
    """Return the sections in order: each drive is one, each unbroken run of open cut is one.

    They cover the alignment without gap or overlap.
    """
    drive_at = {drive.from_vertex: index for index, drive in enumerate(plan.drives)}
    runs: list[SectionRun] = []
    for piece, is_drive in enumerate(plan.is_drive):
        if is_drive:
            runs.append(SectionRun(piece, piece + 1, drive_at[piece]))
        elif runs and runs[-1].drive is None:
            runs[-1] = SectionRun(runs[-1].from_vertex, piece + 1, None)
        else:
            runs.append(SectionRun(piece, piece + 1, None))
    return tuple(runs)


def vertex_chainage_m(plan: Plan) -> NDArray[np.float64]:
    """Return the plan distance of each alignment vertex from the start, shape (n,) [m]."""
    steps_m = np.hypot(*np.diff(plan.alignment_xy_m, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps_m)])


def trench_length_m(plan: Plan) -> float:
    """Return the length of all open cut in plan [m]."""
    return float(np.hypot(*np.diff(plan.alignment_xy_m, axis=0).T)[~plan.is_drive].sum())


def joined(first: Plan, second: Plan) -> Plan:
    """Return two plans as one, the second beginning where the first ends, in open cut or at a terminal.

    Where open cut runs straight on over the seam, both pieces become one. The objectives add up.
    """
    xy_m = first.alignment_xy_m
    goes_on = _runs_straight_on(first, second)
    n_kept = len(first.is_drive) - goes_on
    shift = n_kept, len(first.shafts), len(first.drives)
    return Plan(
        corridor_id=first.corridor_id,
        alignment_xy_m=np.concatenate([xy_m[: n_kept + 1], second.alignment_xy_m[1:]]),
        is_drive=np.concatenate([first.is_drive[:n_kept], second.is_drive]),
        is_narrow=np.concatenate([first.is_narrow[:n_kept], second.is_narrow]),
        drives=(*first.drives, *(_moved_drive(drive, shift) for drive in second.drives)),
        shafts=(*first.shafts, *(_moved_shaft(shaft, shift[2]) for shaft in second.shafts)),
        objective_eur=first.objective_eur + second.objective_eur,
    )


def _runs_straight_on(first: Plan, second: Plan) -> bool:
    """Return whether the last piece of a plan and the first of the next are one piece of open cut."""
    if first.is_drive[-1] or second.is_drive[0] or first.is_narrow[-1] != second.is_narrow[0]:
        return False
    a, b, c = first.alignment_xy_m[-2], first.alignment_xy_m[-1], second.alignment_xy_m[1]
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return bool(abs(cross) <= STRAIGHT_M * max(1.0, float(np.hypot(*(c - a)))))


def _moved_drive(drive: Drive, shift: tuple[int, int, int]) -> Drive:
    """Return a drive behind so many vertices, shafts and drives more."""
    return replace(
        drive,
        lower_shaft=drive.lower_shaft + shift[1],
        upper_shaft=drive.upper_shaft + shift[1],
        from_vertex=drive.from_vertex + shift[0],
        to_vertex=drive.to_vertex + shift[0],
    )


def _moved_shaft(shaft: Shaft, n_drives: int) -> Shaft:
    """Return a shaft behind so many drives more."""
    return replace(
        shaft,
        incoming=None if shaft.incoming is None else shaft.incoming + n_drives,
        outgoing=None if shaft.outgoing is None else shaft.outgoing + n_drives,
    )
