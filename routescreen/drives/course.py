"""How a drive of the plan runs in height: straight or on an arc from shaft to shaft, or drilled in a curve.

Room: ``drives``. May import ``plan``. What measures, audits or draws a plan asks here. Arcs follow from the
record of the plan, by their slope at the lower end, and not from what ``arc`` gives the search.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.drilled import (
    Half,
    cover_run_m,
    crowns_m,
    drilled_true_m,
    half_of,
    half_true_m,
    run_m,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.plan import Drive

DRAWN_STEP_M = 2.0  # between the points of a bend that is drawn
N_GAUSS = 12  # the length of an arc of flat slopes is good to far below a hair


def halves_of(drive: Drive) -> tuple[Half, Half]:
    """Return both halves of a drilled drive, the lower-chainage one first.

    Raises
    ------
    ValueError
        If it is straight.
    """
    curve = drive.curve
    if curve is None:
        raise ValueError("a straight drive has no halves")
    return (
        half_of(drive.lower_crown_m, curve.lower_angle_rad, curve.radius_m),
        half_of(drive.upper_crown_m, curve.upper_angle_rad, curve.radius_m),
    )


def crown_levels_m(drive: Drive, plan_length_m: float, along_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the level of a drive's crown.

    Parameters
    ----------
    drive : Drive
    plan_length_m : float
        Of the drive in plan [m].
    along_m : ndarray of shape (n,)
        Distances in plan from its lower-chainage end [m].

    Returns
    -------
    ndarray of shape (n,)
        [m]
    """
    along = np.asarray(along_m, dtype=np.float64)
    if drive.curve is not None:
        return crowns_m(*halves_of(drive), drive.curve.bottom_crown_m, plan_length_m, along)
    if drive.arc_radius_m is not None and plan_length_m > 0.0:
        start_frac = end_slopes_frac(drive, plan_length_m)[0]
        return np.asarray(drive.lower_crown_m + along * (start_frac + along / (2.0 * drive.arc_radius_m)))
    share = along / plan_length_m if plan_length_m > 0.0 else np.zeros_like(along)
    return np.asarray(drive.lower_crown_m + share * (drive.upper_crown_m - drive.lower_crown_m))


def end_slopes_frac(drive: Drive, plan_length_m: float) -> tuple[float, float]:
    """Return the slope of a drive's crown at its lower and at its upper end, not of a drilled bore.

    Parameters
    ----------
    drive : Drive
    plan_length_m : float
        Of the drive in plan, more than 0 [m].

    Returns
    -------
    tuple of float
        From the lower to the upper end, rising positive [-]. An arc's slope grows by a metre in its radius,
        half of the change on either side of its mean.
    """
    mean_frac = (drive.upper_crown_m - drive.lower_crown_m) / plan_length_m
    change_frac = 0.0 if drive.arc_radius_m is None else plan_length_m / drive.arc_radius_m
    return mean_frac - change_frac / 2.0, mean_frac + change_frac / 2.0


def lowest_crown_m(drive: Drive, plan_length_m: float) -> float:
    """Return the lowest level of a drive's crown [m]."""
    ends_m = min(drive.lower_crown_m, drive.upper_crown_m)
    if drive.curve is not None:
        return min(ends_m, drive.curve.bottom_crown_m)
    if drive.arc_radius_m is None or plan_length_m <= 0.0:
        return ends_m
    level_at_m = -end_slopes_frac(drive, plan_length_m)[0] * drive.arc_radius_m
    if not 0.0 < level_at_m < plan_length_m:
        return ends_m
    return float(crown_levels_m(drive, plan_length_m, np.array([level_at_m]))[0])


def is_cover_asked(
    drive: Drive, plan_length_m: float, cover_m: float, along_m: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Return where a method's own cover is asked of a drive: everywhere, or away from a drilled bore's pits.

    Parameters
    ----------
    drive : Drive
    plan_length_m : float
        [m]
    cover_m : float
        That the method needs [m].
    along_m : ndarray of shape (n,)
        Distances in plan from the lower-chainage end [m].

    Returns
    -------
    ndarray of bool, shape (n,)
        From where the bore has come down to its cover in level ground.
    """
    along = np.asarray(along_m, dtype=np.float64)
    if drive.curve is None:
        return np.ones(len(along), np.bool_)
    lower, upper = halves_of(drive)
    from_m, to_m = cover_run_m(lower, cover_m), plan_length_m - cover_run_m(upper, cover_m)
    return np.asarray((along >= from_m) & (along <= to_m))


def true_length_m(drive: Drive, plan_length_m: float) -> float:
    """Return the length of the bore [m]."""
    if drive.curve is not None:
        lower, upper = halves_of(drive)
        bottom_m = drive.curve.bottom_crown_m
        # of a bore too short for its bottom, which is a breach, both halves
        return float(
            max(
                drilled_true_m(lower, upper, bottom_m, plan_length_m),
                half_true_m(lower, bottom_m) + half_true_m(upper, bottom_m),
            )
        )
    if drive.arc_radius_m is not None and plan_length_m > 0.0:
        start, end = end_slopes_frac(drive, plan_length_m)
        place, weight = np.polynomial.legendre.leggauss(N_GAUSS)
        slope = (start + end) / 2.0 + (end - start) / 2.0 * place
        return float(plan_length_m / 2.0 * np.sum(weight * np.hypot(1.0, slope)))
    return math.hypot(plan_length_m, drive.upper_crown_m - drive.lower_crown_m)


def depth_asked_m(drive: Drive, ground_m: float, bore_diameter_m: float, *, is_upper: bool) -> float:
    """Return how deep a drive lies below the ground at one of its ends [m].

    Its invert there; of a drilled bore that of its level part, which the ground investigation must reach.
    """
    end_m = drive.upper_crown_m if is_upper else drive.lower_crown_m
    crown_m = end_m if drive.curve is None else drive.curve.bottom_crown_m
    return ground_m - crown_m + bore_diameter_m


def drawn_points_m(drive: Drive, plan_length_m: float) -> tuple[tuple[float, float], ...]:
    """Return points of the crown that show a drive's course: distance from the lower end and level [m]."""
    if drive.curve is None and drive.arc_radius_m is None:
        return ((0.0, drive.lower_crown_m), (plan_length_m, drive.upper_crown_m))
    if drive.curve is None:
        even = np.linspace(0.0, plan_length_m, 1 + max(math.ceil(plan_length_m / DRAWN_STEP_M), 1))
        even_m = crown_levels_m(drive, plan_length_m, even)
        return tuple((float(x), float(z)) for x, z in zip(even, even_m, strict=True))
    lower, upper = halves_of(drive)
    bottom_m = drive.curve.bottom_crown_m
    ends = (run_m(lower, bottom_m), run_m(upper, bottom_m))
    bends = [
        np.linspace(
            end - half.radius_m * half.sin, end, 1 + math.ceil(half.radius_m * half.sin / DRAWN_STEP_M)
        )
        for half, end in zip((lower, upper), ends, strict=True)
    ]
    along = np.unique(np.concatenate([[0.0], bends[0], plan_length_m - bends[1], [plan_length_m]]))
    along = along[(along >= 0.0) & (along <= plan_length_m)]
    levels = crown_levels_m(drive, plan_length_m, along)
    return tuple((float(x), float(z)) for x, z in zip(along, levels, strict=True))
