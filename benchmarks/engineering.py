"""The checks' formulae over many drives at once: processor time of one core.

- a million invented drives of three runs of ground each, a block at a time so that the arrays stay in the
  processor's cache: thrust, pull-in with its stages, window of pressures at the shallowest cover;
- ten thousand positions of a group of four bores: rating in ground that can dry out.

Inputs are drawn from a fixed seed before the clock runs. Numpy's arithmetic on elements runs on one core;
processor time would count any other as well.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.clock import timed
from benchmarks.figures import Figure
from routescreen.engineering.pressure_window import (
    WindowFactors,
    WindowGround,
    face_peak_kPa,
    pressure_window,
)
from routescreen.engineering.pull_in import annulus_drag_kN, floating_weight_kN_per_m
from routescreen.engineering.pull_stages import most_pull
from routescreen.engineering.rating import HeatPath, group_rating
from routescreen.engineering.thrust import face_pressure_kPa, friction_kN_per_m, thrust_kN

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

N_DRIVES, N_POSITIONS, N_QUICK = 1_000_000, 10_000, 20_000
N_RUNS = 5  # of each clock
BLOCK = 8_192  # drives; a column of as many is 64 KiB
TARGET_S = 2.0
BORE_M, PIPE_M, INSIDE_M = 0.56, 0.50, 0.4091
SLURRY_KN_PER_M3, GROUT_KN_PER_M3 = 11.0, 14.0
FACTORS = WindowFactors(
    water_factor=1.05,
    earth_factor=1.5,
    control_kPa=10.0,
    grout_margin_kPa=10.0,
    tan_phi_factor=1.1,
    cohesion_factor=1.4,
    modulus_factor=1.25,
    amber_share=0.9,
)


@dataclass(frozen=True, slots=True)
class Drives:
    """What differs from drive to drive; arrays of shape (n,), those of the runs (n, 3)."""

    run_m: Array
    tau_kPa: Array
    cover_m: Array
    water_depth_m: Array
    phi_deg: Array
    rise_frac: Array

    def block(self, start: int) -> Drives:
        """Return the drives of one block."""
        at = slice(start, start + BLOCK)
        return Drives(
            self.run_m[at],
            self.tau_kPa[at],
            self.cover_m[at],
            self.water_depth_m[at],
            self.phi_deg[at],
            self.rise_frac[at],
        )


def random_drives(n_drives: int) -> Drives:
    """Draw drives of 60 to 900 m in sands, dry or under water."""
    rng = np.random.default_rng(0)
    return Drives(
        run_m=rng.uniform(20.0, 300.0, (n_drives, 3)),
        tau_kPa=rng.uniform(0.5, 3.0, (n_drives, 3)),
        cover_m=rng.uniform(2.0, 15.0, n_drives),
        water_depth_m=rng.uniform(-4.0, 4.0, n_drives),
        phi_deg=rng.uniform(25.0, 38.0, n_drives),
        rise_frac=rng.uniform(-0.03, 0.03, n_drives),
    )


def thrusts_kN(drives: Drives) -> Array:
    """Thrust of each drive at its end [kN]."""
    axis = drives.cover_m + BORE_M / 2.0
    face = face_pressure_kPa.py_func(  # type: ignore[attr-defined]
        axis, drives.water_depth_m, 18.0, 20.0, drives.phi_deg, 1.05, 1.5, 10.0
    )
    per_m = friction_kN_per_m.py_func(drives.tau_kPa, PIPE_M)  # type: ignore[attr-defined]
    friction = np.sum(per_m * drives.run_m, axis=-1)
    weight = 1.9 * drives.rise_frac * np.sum(drives.run_m, axis=-1)
    return np.asarray(thrust_kN.py_func(face, BORE_M, friction, weight))  # type: ignore[attr-defined]


def pulls_kN(drives: Drives) -> Array:
    """Largest pulls on pipe and rig of each drive, shape (n, 2) [kN]."""
    per_m = friction_kN_per_m.py_func(drives.tau_kPa, PIPE_M)  # type: ignore[attr-defined]
    floating = float(floating_weight_kN_per_m(0.608, INSIDE_M, PIPE_M, SLURRY_KN_PER_M3))
    stages = most_pull(
        drives.run_m,
        per_m,
        in_bore_kN_per_m=np.asarray(0.3 * abs(floating)),
        outside_kN_per_m=np.asarray(0.1 * 0.608),
        drag_kN=np.asarray(annulus_drag_kN(70.0, BORE_M, PIPE_M)),
    )
    return stages.rig_kN


def window_utilisations(drives: Drives) -> Array:
    """Utilisation of the window by the face's peak; NaN where the formula does not hold [-]."""
    ground = WindowGround(
        water_depth_m=drives.water_depth_m,
        gamma_kN_per_m3=18.0,
        gamma_sat_kN_per_m3=20.0,
        phi_deg=drives.phi_deg,
        cohesion_kPa=0.0,
        shear_modulus_kPa=15_000.0,
        undrained_kPa=math.nan,
        depth_share=0.5,
        strain_frac=0.05,
    )
    window = pressure_window(drives.cover_m, BORE_M, ground, FACTORS)
    peak = face_peak_kPa(window.face_kPa, FACTORS.control_kPa, SLURRY_KN_PER_M3, BORE_M)
    return window.utilisation(peak)


def check_all(drives: Drives) -> int:
    """Put all drives through the three checks; return how many have every figure."""
    n_known = 0
    for start in range(0, len(drives.cover_m), BLOCK):
        block = drives.block(start)
        known = np.isfinite(thrusts_kN(block)) & np.isfinite(pulls_kN(block)).all(axis=-1)
        n_known += int(np.sum(known & np.isfinite(window_utilisations(block))))
    return n_known


def rate_all(depth_m: Array) -> int:
    """Rate a group of four bores at depths of shape (n,); return how many positions have a rating."""
    path = HeatPath(
        conductor_ohm_per_m=8.6148e-6,
        inside_K_m_per_W=0.7185,
        outer_diameter_m=BORE_M,
        conductor_degC=70.0,
        ground_degC=11.0,
        rho_K_m_per_W=0.8,
        drying_ratio=2.5,
        drying_rise_K=15.0,
    )
    offsets = np.array([-9.0, -3.0, 3.0, 9.0])
    rated = group_rating(np.repeat(depth_m[:, np.newaxis], 4, axis=1), offsets, path)
    return int(np.sum(np.isfinite(rated.rating_A)))


def engineering(*, is_quick: bool = False) -> list[Figure]:
    """Time the checks of a million drives and ten thousand ratings (fewer drives where `is_quick`)."""
    n_drives = N_QUICK if is_quick else N_DRIVES
    drives = random_drives(n_drives)
    depths = np.random.default_rng(1).uniform(1.5, 15.0, N_POSITIONS)
    n_known, _, checks_s = timed(lambda: check_all(drives), n_runs=N_RUNS)
    n_rated, _, rating_s = timed(lambda: rate_all(depths), n_runs=N_RUNS)
    parts = [("thrust", thrusts_kN), ("pull_in", pulls_kN), ("window", window_utilisations)]
    block = drives.block(0)
    n_block = len(block.cover_m)
    figures = [
        Figure("drives", n_drives, "-"),
        Figure("drives_with_every_figure", n_known, "-", n_drives),
        Figure("checks_processor_time", checks_s, "s", TARGET_S, is_most=True),
        Figure("positions_of_four_bores", N_POSITIONS, "-"),
        Figure("positions_rated", n_rated, "-", N_POSITIONS),
        Figure("rating_processor_time", rating_s, "s", TARGET_S, is_most=True),
    ]
    for name, check in parts:
        _, wall_s, _ = timed(lambda check=check: check(block), n_runs=51)  # type: ignore[misc]
        figures.append(Figure(f"{name}_wall_time_a_drive", 1e9 * wall_s / n_block, "ns"))
    return figures
