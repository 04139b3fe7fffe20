"""Least pressure that holds the face of a bore at rest, the ground arching over it.

Room: ``engineering``. Pure arrays in SI units. All pressures are gauge; compression is positive.

``pressure_window.least_face_kPa`` lets the whole ground above bear on the face: cautious for a pressure that
is set while driving. Whether a face stands with the mud that is left in the bore asks for what a small bore
really needs: a wedge before the face under a silo of its width, whose sides bear most of what is above.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.ground_stress import active_coefficient, at_rest_coefficient, ground_stress
from routescreen.engineering.values import positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.engineering.pressure_window import WindowFactors, WindowGround

    Array = NDArray[np.float64]

UNDRAINED_NUMBER = 6.0  # load over cu at which a face flows; Broms and Bennermark 1967, from memory
_LEAST_FRICTION = 1e-6


def silo_stress_kPa(
    effective_kPa: ArrayLike, cover_m: ArrayLike, diameter_m: ArrayLike, phi_deg: ArrayLike
) -> Array:
    """Effective vertical stress at the crown of a bore over whose face the ground arches.

    Parameters
    ----------
    effective_kPa : array_like
        At the crown without arching: the weight of all that lies above [kPa].
    cover_m, diameter_m : array_like
        Height of the silo, width of the bore [m].
    phi_deg : array_like
        Angle of friction [degrees].

    Returns
    -------
    ndarray of float64
        sigma' (1 - e^-x)/x with x = K0 tan phi H/r and r = area/perimeter of the silo, D wide and
        l = D tan(45 - phi/2) long, r = D l/(2 (D + l)); cohesion left out [kPa].

    References
    ----------
    K. Terzaghi, 1943, over the wedge of M. Horn, 1961 (from memory); K0 on the sides is the cautious end.
    """
    diameter, phi = positive("the diameter", diameter_m), np.radians(phi_deg)
    ahead = np.tan(np.pi / 4.0 - phi / 2.0)
    ratio_m = diameter * ahead / (2.0 * (1.0 + ahead))
    cover = np.maximum(np.asarray(cover_m, dtype=np.float64), 0.0)
    slender = np.maximum(at_rest_coefficient(phi_deg) * np.tan(phi) * cover / ratio_m, _LEAST_FRICTION)
    return np.asarray(effective_kPa * -np.expm1(-slender) / slender)


def resting_face_kPa(
    cover_m: ArrayLike, diameter_m: ArrayLike, ground: WindowGround, factors: WindowFactors
) -> Array:
    """Least pressure that holds the face at rest, at the axis.

    Parameters
    ----------
    cover_m, diameter_m : array_like
        Cover over the crown, and diameter of the bore [m].
    ground : pressure_window.WindowGround
    factors : pressure_window.WindowFactors

    Returns
    -------
    ndarray of float64
        f_w u + f_e Ka (silo + what lies between crown and axis); in ground that is undrained when fast at
        least sigma - 6 cu/f_e, all of it [kPa].

    References
    ----------
    Factors as in ``pressure_window.least_face_kPa``. B. B. Broms and H. Bennermark, 1967 (from memory).
    """
    diameter = positive("the diameter", diameter_m)
    cover = np.asarray(cover_m, dtype=np.float64)
    layers = (ground.water_depth_m, ground.gamma_kN_per_m3, ground.gamma_sat_kN_per_m3)
    crown, axis = ground_stress(cover, *layers), ground_stress(cover + diameter / 2.0, *layers)
    silo = silo_stress_kPa(crown.effective_kPa, cover, diameter, ground.phi_deg)
    wedge = silo + axis.effective_kPa - crown.effective_kPa
    drained = factors.earth_factor * active_coefficient(ground.phi_deg) * wedge
    held = factors.water_factor * axis.water_kPa + drained
    cu = np.asarray(ground.undrained_kPa, dtype=np.float64)
    flows = axis.total_kPa - UNDRAINED_NUMBER * cu / factors.earth_factor
    return np.asarray(np.fmax(held, flows))  # fmax leaves drained ground out, where cu is NaN
