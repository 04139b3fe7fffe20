"""Forces on drives as the search's arrays.

Room: ``search``. May import ``drives``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.burn_window import window_ground
from routescreen.drives.forces import drive_forces
from routescreen.drives.pressures import window_factors
from routescreen.engineering.thrust import friction_kN_per_m
from routescreen.search.arrays import NO_GROUT, ForceArrays, GroutArrays

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.burn import Burnt


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


def grout_arrays(burnt: Burnt, a: Assumptions) -> GroutArrays:
    """Return between which pressures the grout must lie, at the expected values.

    Parameters
    ----------
    burnt : Burnt
    a : Assumptions

    Returns
    -------
    GroutArrays
        Of nothing where the grout steers nothing: switched off, or the vent's level is given.
    """
    ways = [a.methods[name] for name in burnt.method_names]
    is_limited = np.array([way.has_annulus_grout for way in ways], np.bool_)
    if not a.search.grout_steers or a.grout.vent != "lowest" or not is_limited.any():
        return NO_GROUT
    soils = [window_ground(soil, np.zeros(1), a) for soil in a.soil.values()]
    factors = window_factors(ways[int(np.argmax(is_limited))], a)
    return GroutArrays(
        is_limited,
        np.ascontiguousarray(burnt.bed_m, np.float32),
        np.ascontiguousarray(burnt.bed_water_m, np.float32),
        np.array([soil.cohesion_kPa for soil in soils], np.float64),
        np.array([soil.shear_modulus_kPa for soil in soils], np.float64),
        np.array([soil.undrained_kPa for soil in soils], np.float64),
        np.array([soil.depth_share for soil in soils], np.float64),
        a.grout.unit_weight_kN_per_m3.expected,
        factors.grout_margin_kPa,
        factors.tan_phi_factor,
        factors.cohesion_factor,
        factors.modulus_factor,
        a.checks.pressure.strain_limit_frac,
    )


def with_any_grout(arrays: ForceArrays) -> ForceArrays:
    """Return the same forces with grout that may press as it likes."""
    return arrays._replace(grout=NO_GROUT)


def without_limits(arrays: ForceArrays) -> ForceArrays:
    """Return the same forces with nothing that they could be too great for."""
    free = np.full_like(arrays.capacity_kN, np.inf)
    return arrays._replace(capacity_kN=free, station_kN=free, safe_pull_kN=free)
