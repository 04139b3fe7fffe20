"""Pull-in of the protection pipe while the driven string is drawn back: forces by stage, buoyancy.

Room: ``engineering``. Formulae in SI units without branches: compiled for single drives, and as
``NAME.py_func`` for arrays, so that search and audit share them.
"""

from __future__ import annotations

import math

import numpy as np

from routescreen.compiled import compiled
from routescreen.engineering.thrust import WATER_KN_PER_M3


@compiled
def floating_weight_kN_per_m(
    pipe_kN_per_m: float, inside_diameter_m: float, outer_diameter_m: float, fluid_kN_per_m3: float
) -> float:
    """Weight of a water-filled pipe in a fluid: negative where it floats [kN/m].

    Parameters
    ----------
    pipe_kN_per_m : float
        Weight of the empty pipe in air [kN/m].
    inside_diameter_m : float
        Of the water that fills it [m]; 0 for an empty pipe.
    outer_diameter_m : float
    fluid_kN_per_m3 : float
        Unit weight of what surrounds it: slurry, or the grout that replaces it.
    """
    ballast = WATER_KN_PER_M3 * math.pi / 4.0 * inside_diameter_m * inside_diameter_m
    uplift = fluid_kN_per_m3 * math.pi / 4.0 * outer_diameter_m * outer_diameter_m
    return pipe_kN_per_m + ballast - uplift


@compiled
def annulus_drag_kN(drag_kPa: float, bore_diameter_m: float, outer_diameter_m: float) -> float:
    """Drag of the fluid in the annulus on the pipe, dp pi/8 (D^2 - OD^2) [kN]."""
    return drag_kPa * math.pi / 8.0 * (bore_diameter_m**2 - outer_diameter_m**2)


@compiled
def pipe_pull_kN(
    pulled_m: float, length_m: float, in_bore_kN_per_m: float, outside_kN_per_m: float, drag_kN: float
) -> float:
    """Pull on the pipe's head when so much of it is in the bore [kN].

    Parameters
    ----------
    pulled_m, length_m : float
        Pipe in the bore, and the drive's whole length [m].
    in_bore_kN_per_m : float
        Friction of the pipe in the bore, v_b |w_b| [kN/m].
    outside_kN_per_m : float
        Friction of the pipe on its rollers, v_a w_a [kN/m].
    drag_kN : float
        See `annulus_drag_kN`.
    """
    return in_bore_kN_per_m * pulled_m + outside_kN_per_m * (length_m - pulled_m) + drag_kN


@compiled
def most_pipe_pull_kN(
    length_m: float, in_bore_kN_per_m: float, outside_kN_per_m: float, drag_kN: float
) -> float:
    """Largest pull on the pipe's head over all stages: it changes evenly, so at the start or the end [kN]."""
    start = pipe_pull_kN(0.0, length_m, in_bore_kN_per_m, outside_kN_per_m, drag_kN)
    end = pipe_pull_kN(length_m, length_m, in_bore_kN_per_m, outside_kN_per_m, drag_kN)
    return float(np.maximum(start, end))


@compiled
def most_drilled_pull_kN(
    length_m: float,
    down_m: float,
    up_m: float,
    pipe_depth_m: float,
    rig_depth_m: float,
    pipe_angle_rad: float,
    rig_angle_rad: float,
    ground_friction: float,
    bore_friction: float,
    weight_kN_per_m: float,
    uplift_kN_per_m: float,
) -> float:
    """Largest pull on a pipe in a drilled bore between pits of any height, none left outside at the end [kN].

    The formulae of `directional_pull.drilled_pull`, as a scalar for the search; `down_m` and `up_m` are the
    lengths of the two slopes as the bore has them, `pipe_depth_m` and `rig_depth_m` how deep its bottom lies
    below either pit.
    """
    enters = math.exp(ground_friction * pipe_angle_rad)
    bends = math.exp(bore_friction * pipe_angle_rad)
    saved = enters * ground_friction * weight_kN_per_m
    rubbing = bore_friction * abs(uplift_kN_per_m)
    first = saved * length_m
    below = bends * (first + (rubbing - saved) * down_m + uplift_kN_per_m * pipe_depth_m)
    rises = below + (rubbing - bends * saved) * (length_m - down_m - up_m)
    last = rises + (rubbing - bends * saved) * up_m - uplift_kN_per_m * rig_depth_m
    return max(first, below, rises, math.exp(bore_friction * rig_angle_rad) * last)
