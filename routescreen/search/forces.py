"""Forces on drives as the search's arrays.

Room: ``search``. May import ``drives``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.forces import drive_forces
from routescreen.engineering.thrust import friction_kN_per_m
from routescreen.search.arrays import ForceArrays

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.assumptions import Assumptions


def force_arrays(names: Sequence[str], a: Assumptions) -> ForceArrays:
    """Return what pushes and pulls in the drives of some methods, at the expected values.

    Parameters
    ----------
    names : sequence of str
        Names of the methods, in the search's order.
    a : Assumptions

    Returns
    -------
    ForceArrays
    """
    forces = [drive_forces(a, name) for name in names]
    soils = list(a.soil.values())
    friction = [
        [friction_kN_per_m(soil.tau_kPa.expected, force.string_diameter_m) for soil in soils]
        for force in forces
    ]
    return ForceArrays(
        friction_kN_per_m=np.array(friction).reshape(len(forces), len(soils)),
        cut_m=np.array([force.cut_diameter_m for force in forces]),
        has_face_pressure=np.array([force.has_face_pressure for force in forces], np.bool_),
        control_kPa=np.array([force.control_kPa for force in forces]),
        string_kN_per_m=np.array([force.string_kN_per_m for force in forces]),
        capacity_kN=np.array([force.capacity_kN if force.is_known else np.inf for force in forces]),
        frame_run_m=np.array([force.frame_run_m for force in forces]),
        station_run_m=np.array([force.station_run_m for force in forces]),
        station_kN=np.array([force.station_kN for force in forces]),
        in_bore_kN_per_m=np.array([force.pipe_in_bore_kN_per_m for force in forces]),
        outside_kN_per_m=np.array([force.pipe_outside_kN_per_m for force in forces]),
        drag_kN=np.array([force.pipe_drag_kN for force in forces]),
        safe_pull_kN=np.array([force.safe_pull_kN for force in forces]),
        gamma_kN_per_m3=np.array([soil.gamma_kN_per_m3 for soil in soils]),
        gamma_sat_kN_per_m3=np.array([soil.gamma_sat_kN_per_m3 for soil in soils]),
        phi_deg=np.array([soil.phi_deg for soil in soils]),
        restart=a.checks.thrust.restart_friction_factor,
        water_factor=a.checks.pressure.water_factor,
        earth_factor=a.checks.pressure.earth_factor,
        string_bend=a.checks.thrust.bend_friction,
        pipe_bend=a.checks.pull_in.grout_friction,
    )


def without_limits(arrays: ForceArrays) -> ForceArrays:
    """Return the same forces with nothing that they could be too great for."""
    free = np.full_like(arrays.capacity_kN, np.inf)
    return arrays._replace(capacity_kN=free, station_kN=free, safe_pull_kN=free)
