"""Forces on the drives of the invented corridors of the proof."""

from __future__ import annotations

import numpy as np

from routescreen.search.arrays import ForceArrays


def proof_forces(rng: np.random.Generator, n_methods: int, longest_m: float) -> ForceArrays:
    """Let forces forbid longer drives of about every second method: by friction, pull or a run of string."""
    friction = rng.uniform(2.0, 6.0, (n_methods, 3))
    reach_m = longest_m * rng.uniform(0.6, 1.4, n_methods)
    in_bore = rng.uniform(0.2, 0.6, n_methods)
    restart, drag = 1.5, 2.0
    is_limited, is_pulled = rng.random(n_methods) < 0.4, rng.random(n_methods) < 0.4
    forces = ForceArrays(
        friction_kN_per_m=friction,
        cut_m=rng.uniform(0.3, 0.9, n_methods),
        has_face_pressure=rng.random(n_methods) < 0.7,
        control_kPa=np.full(n_methods, 10.0),
        string_kN_per_m=rng.uniform(0.0, 20.0, n_methods),
        capacity_kN=np.where(is_limited, 30.0 + restart * friction.mean(axis=1) * reach_m, np.inf),
        frame_run_m=np.full(n_methods, np.inf),
        station_run_m=np.zeros(n_methods),
        station_kN=np.full(n_methods, np.inf),
        in_bore_kN_per_m=in_bore,
        outside_kN_per_m=rng.uniform(0.0, 0.4, n_methods),
        drag_kN=np.full(n_methods, drag),
        safe_pull_kN=np.where(is_pulled, drag + restart * in_bore * 1.2 * reach_m, np.inf),
        gamma_kN_per_m3=np.array([17.0, 19.0, 22.0]),
        gamma_sat_kN_per_m3=np.array([19.0, 20.5, 23.0]),
        phi_deg=np.array([30.0, 25.0, 34.0]),
        restart=restart,
        water_factor=1.05,
        earth_factor=1.5,
    )
    return _with_stations(rng, forces, longest_m)


def _with_stations(rng: np.random.Generator, forces: ForceArrays, longest_m: float) -> ForceArrays:
    """Give intermediate stations to some of the methods whose string isn't drawn back."""
    has_stations = np.isinf(forces.safe_pull_kN) & (rng.random(len(forces.cut_m)) < 0.6)
    frame_m, station_m = longest_m * rng.uniform(0.2, 0.6, (2, len(forces.cut_m)))
    rubbed = 1.1 * forces.restart * forces.friction_kN_per_m.mean(axis=1)
    return forces._replace(
        capacity_kN=np.where(has_stations, 30.0 + rubbed * frame_m, forces.capacity_kN),
        frame_run_m=np.where(has_stations, frame_m, np.inf),
        station_run_m=np.where(has_stations, station_m, 0.0),
        station_kN=np.where(has_stations, 30.0 + rubbed * station_m, np.inf),
    )
