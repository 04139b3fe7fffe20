"""The numbers along each drive: levels, pressures, thrust, pull, settlement.

Room: ``audit``. Lays out what the proofs found; thrust and pull use the formulae of ``engineering``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.audit.arc_checks import bend_factors
from routescreen.audit.pipe_proofs import stages_along, string_runs
from routescreen.engineering.thrust import thrust_kN

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.drive_profile import DriveProfile
    from routescreen.audit.pressure_proofs import Pressures
    from routescreen.audit.scene import Scene
    from routescreen.drives.forces import DriveForces

    Array = NDArray[np.float64]

STEP_M = 10.0


def drive_curve(
    scene: Scene,
    index: int,
    profile: DriveProfile,
    found: Pressures,
    forces: DriveForces,
    settlement_mm: Array,
) -> pd.DataFrame:
    """Lay out the curves of a drive at most every 10 m, at its ends, at banks and where something is worst.

    Parameters
    ----------
    scene : Scene
    index : int
    profile : DriveProfile
    found : Pressures
    forces : DriveForces
    settlement_mm : ndarray of shape (n,)

    Returns
    -------
    DataFrame
        From the launch on; NaN where a number isn't known or the method has no such thing.
    """
    window, (face, mud, grout) = found.window, found.pressure_kPa
    low, expected, high = (
        _thrust_kN(scene, index, profile, found, forces, which) for which in ("low", "expected", "high")
    )
    pipe_kN, rig_kN = _pulls_kN(scene, index, profile, forces)
    columns = {
        "drive_index": np.full(len(face), index),
        "chainage_m": profile.chainage_m,
        "from_launch_m": profile.from_launch_m,
        "ground_m": profile.terrain_m,
        "bed_m": profile.bed_m,
        "crown_m": profile.crown_m,
        "cover_m": profile.cover_m,
        "water_kPa": window.crown.water_kPa,
        "total_stress_kPa": window.crown.total_kPa,
        "least_face_kPa": np.where(np.isnan(face), np.nan, window.face_kPa),
        "face_kPa": face,
        "mud_kPa": mud,
        "grout_kPa": grout,
        "limit_kPa": window.limit_kPa,
        "amber_kPa": window.amber_kPa,
        "thrust_low_kN": low,
        "thrust_kN": expected,
        "thrust_high_kN": high,
        "pull_pipe_kN": pipe_kN,
        "pull_rig_kN": rig_kN,
        "settlement_mm": settlement_mm,
    }
    table = pd.DataFrame(columns)
    used = [window.utilisation(pressure) for pressure in found.pressure_kPa]
    lifted = [window.amber_utilisation(pressure) for pressure in found.pressure_kPa]
    worst = [*used, *lifted, -profile.cover_m, expected, pipe_kN, rig_kN, settlement_mm]
    kept = np.union1d(points_kept(profile.from_launch_m, worst), bank_points(profile.water))
    return table.iloc[kept].reset_index(drop=True)


def bank_points(water: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the points on either side of each bank: the bed of a narrow water shows in the curves too.

    Parameters
    ----------
    water : ndarray of int64, shape (n,)
        Whose bed lies above each point, see `drive_profile.DriveProfile`.

    Returns
    -------
    ndarray of int64

    Examples
    --------
    >>> bank_points(np.array([-2, -2, 4, 4, 4, -2])).tolist()
    [1, 2, 4, 5]
    """
    before = np.flatnonzero(np.diff(water) != 0)
    return np.union1d(before, before + 1).astype(np.int64)


def points_kept(from_m: Array, worst: list[Array]) -> NDArray[np.int64]:
    """Return the points of a curve to keep: both ends, each step, and where each of its values is highest.

    Parameters
    ----------
    from_m : ndarray of shape (n,)
        Distances along the curve, growing [m].
    worst : list of ndarray of shape (n,)

    Returns
    -------
    ndarray of int64
    """
    kept = {0}
    while max(kept) < len(from_m) - 1:
        at = max(kept)
        # the furthest that is still within the step; a step of the profile may be longer
        within = int(np.searchsorted(from_m, from_m[at] + STEP_M, side="right")) - 1
        kept.add(max(within, at + 1))
    for values in worst:
        if np.isfinite(values).any():
            kept.add(int(np.argmax(np.where(np.isfinite(values), values, -np.inf))))
    return np.array(sorted(kept), dtype=np.int64)


def _thrust_kN(
    scene: Scene, index: int, profile: DriveProfile, found: Pressures, forces: DriveForces, which: str
) -> Array:
    """Return the thrust that starts the string again with its face at each point."""
    if not forces.is_known or not forces.has_string:
        return np.full(len(profile.soil), np.nan)
    length_m, friction = string_runs(scene, profile, forces, which)
    restart = scene.assumptions.checks.thrust.restart_friction_factor
    rubbed = restart * np.concatenate([[0.0], np.cumsum(length_m * friction)])
    crown_m = profile.crown_m
    if np.isfinite(forces.frame_run_m):
        # beyond its own run the frame pushes the string behind the last intermediate station only
        pushed_m = np.minimum(profile.from_launch_m, forces.frame_run_m)
        rubbed = np.interp(pushed_m, profile.from_launch_m, rubbed)
        crown_m = np.interp(pushed_m, profile.from_launch_m, crown_m)
    face = found.window.face_kPa + forces.control_kPa if forces.has_face_pressure else np.zeros(len(rubbed))
    weight = forces.string_kN_per_m * (crown_m - profile.crown_m[0])
    thrust = thrust_kN.py_func(face, forces.cut_diameter_m, rubbed, weight)  # type: ignore[attr-defined]
    # an arc turns evenly: the factor of its part up to the face
    share = profile.from_launch_m / profile.from_launch_m[-1]
    return np.asarray(bend_factors(scene, index)[0] ** share * thrust)


def _pulls_kN(scene: Scene, index: int, profile: DriveProfile, forces: DriveForces) -> tuple[Array, Array]:
    """Return the pull on pipe and rig with the pipe's head at each point, after a stop."""
    if not forces.has_pull_in or not forces.is_known or not forces.has_string:
        nothing = np.full(len(profile.soil), np.nan)
        return nothing, nothing
    stages = stages_along(scene, index, profile, forces)
    return stages.pipe_kN, stages.rig_kN
