"""Ramp of the cables from the deep end of a bore up to trench depth, and aside to their place there.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_ROUNDING = 1e-9  # a run that is just long enough must not fail by rounding


def bend_radius_m(*, least_bend_m: float, pull_kN: float, side_wall_kN_per_m: float) -> float:
    """Least radius of the cable in the ramp.

    Parameters
    ----------
    least_bend_m : float
        Least radius of bend while the cable is pulled [m].
    pull_kN : float
        Pull in the cable where it leaves the bend [kN].
    side_wall_kN_per_m : float
        Side-wall pressure that the cable stands [kN/m].

    Returns
    -------
    float
        The larger of the cable's bend and pull / side-wall pressure [m].
    """
    return max(least_bend_m, pull_kN / side_wall_kN_per_m)


def ramp_run_m(across_m: ArrayLike, radius_m: ArrayLike, angle_deg: float) -> NDArray[np.float64]:
    """Plan length of a ramp made of an arc, a straight and the counter-arc.

    Parameters
    ----------
    across_m : array_like
        Way across the run: the height to be climbed, and the way to the side where there is one, as one
        length hypot(rise, shift); what is below 0 counts as 0 [m].
    radius_m : array_like
        Radius of both arcs [m].
    angle_deg : float
        Steepest inclination t of the ramp [deg].

    Returns
    -------
    ndarray of float64
        Plan length, 0 where nothing is to be crossed [m].

    Notes
    -----
    The arcs alone cross 2 R (1 - cos t). Higher ramps run 2 R sin t + (D - 2 R (1 - cos t)) / tan t;
    lower ones end at the angle t' = acos(1 - D / 2R) and run 2 R sin t'. Both arcs lie in one plane, inclined
    by the way to the side: the cable then rises and moves aside in the same two bends. Own geometry.

    Examples
    --------
    >>> ramp_run_m(8.78, 5.0, 30.0).round(1)
    np.float64(17.9)
    """
    across = np.maximum(np.asarray(across_m, dtype=np.float64), 0.0)
    radius = np.asarray(radius_m, dtype=np.float64)
    angle = np.radians(angle_deg)
    by_arcs = 2.0 * radius * (1.0 - np.cos(angle))
    full = 2.0 * radius * np.sin(angle) + (across - by_arcs) / np.tan(angle)
    flat = np.arccos(1.0 - np.minimum(across, by_arcs) / (2.0 * radius))
    return np.asarray(np.where(across >= by_arcs, full, 2.0 * radius * np.sin(flat)))


def _swing(
    across_m: ArrayLike, run_m: ArrayLike, radius_m: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Angle of both arcs in radians and the straight between them; NaN where the run is too short."""
    across = np.maximum(np.asarray(across_m, dtype=np.float64), 0.0)
    run, radius = np.asarray(run_m, dtype=np.float64), np.asarray(radius_m, dtype=np.float64)
    beside = 2.0 * radius - across
    # the arcs' centres lie so far apart; the straight is their inner tangent
    apart = np.hypot(run, beside)
    far_enough = np.where(apart >= 2.0 * radius * (1.0 - _ROUNDING), np.maximum(apart, 2.0 * radius), np.nan)
    angle = np.arcsin(2.0 * radius / far_enough) - np.arctan2(beside, run)
    return np.maximum(angle, 0.0), np.sqrt(far_enough**2 - 4.0 * radius**2)


def swing_angle_deg(across_m: ArrayLike, run_m: ArrayLike, radius_m: ArrayLike) -> NDArray[np.float64]:
    """Angle of the two bends with which a cable crosses over within a given run.

    Parameters
    ----------
    across_m, radius_m : array_like
        See `ramp_run_m`.
    run_m : array_like
        Plan length, at least that of `ramp_run_m` [m].

    Returns
    -------
    ndarray of float64
        t of L sin t + (2 R - D) cos t = 2 R; NaN where the run is shorter than both arcs [deg].

    Notes
    -----
    Arc, straight, counter-arc fill the run: L = 2 R sin t + (D - 2 R (1 - cos t)) / tan t, times sin t.
    Own geometry.

    Examples
    --------
    >>> swing_angle_deg(8.78, ramp_run_m(8.78, 5.0, 30.0), 5.0).round(6)
    np.float64(30.0)
    """
    return np.degrees(_swing(across_m, run_m, radius_m)[0])


def swing_length_m(across_m: ArrayLike, run_m: ArrayLike, radius_m: ArrayLike) -> NDArray[np.float64]:
    """Length of the cable that crosses over within a given run.

    Parameters
    ----------
    across_m, run_m, radius_m : array_like
        See `swing_angle_deg`.

    Returns
    -------
    ndarray of float64
        2 R t + the straight, the inner tangent of both arcs [m].

    Examples
    --------
    >>> swing_length_m(8.78, ramp_run_m(8.78, 5.0, 30.0), 5.0).round(2)
    np.float64(20.12)
    """
    angle, straight = _swing(across_m, run_m, radius_m)
    return np.asarray(2.0 * np.asarray(radius_m, dtype=np.float64) * angle + straight)


def crossed_m(
    along_m: ArrayLike, across_m: ArrayLike, run_m: ArrayLike, radius_m: ArrayLike
) -> NDArray[np.float64]:
    """How far across the cable has come after part of the run: gives its depth and its place to the side.

    Parameters
    ----------
    along_m : array_like
        Plan distance from the deep end; before it counts as 0, beyond the ramp as its whole run [m].
    across_m, run_m, radius_m : array_like
        See `swing_angle_deg`.

    Returns
    -------
    ndarray of float64
        Of `across_m` [m].
    """
    angle, _ = _swing(across_m, run_m, radius_m)
    whole, radius = np.asarray(run_m, dtype=np.float64), np.asarray(radius_m, dtype=np.float64)
    along = np.clip(np.asarray(along_m, dtype=np.float64), 0.0, whole)
    # The ramp is the same from both ends: the upper half is the lower one, turned round.
    half = np.minimum(along, whole - along)
    arc = radius * np.sin(angle)
    on_arc = radius - np.sqrt(np.maximum(radius**2 - np.minimum(half, arc) ** 2, 0.0))
    low = on_arc + np.maximum(half - arc, 0.0) * np.tan(angle)
    across = np.maximum(np.asarray(across_m, dtype=np.float64), 0.0)
    return np.asarray(np.where(along <= whole / 2.0, low, across - low))
