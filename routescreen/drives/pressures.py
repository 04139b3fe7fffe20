"""What the pressure window of a method's drives is reckoned with, from the assumptions.

Room: ``drives``. May import ``engineering`` and ``assumptions``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.engineering.pressure_window import WindowFactors

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions, Method


def window_factors(way: Method, a: Assumptions) -> WindowFactors:
    """Return the factors and margins of a method's pressure window.

    Parameters
    ----------
    way : Method
    a : Assumptions

    Returns
    -------
    WindowFactors
    """
    checks = a.checks.pressure
    return WindowFactors(
        water_factor=checks.water_factor,
        earth_factor=checks.earth_factor,
        control_kPa=way.face_control_kPa,
        grout_margin_kPa=checks.grout_above_water_kPa,
        tan_phi_factor=checks.tan_phi_factor,
        cohesion_factor=checks.c_factor,
        modulus_factor=checks.g_factor,
        amber_share=checks.amber_overburden_frac,
    )
