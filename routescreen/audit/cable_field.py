"""Magnetic field above the cables, for each return of the current and each order of the poles.

Room: ``audit``. The formulae are those of ``engineering``; numbers come from the assumptions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.cable_make import pole_orders, systems
from routescreen.engineering.field import cable_field_uT, compass_error_deg, return_cases_A

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions

    Array = NDArray[np.float64]

STEP_M = 0.1  # between the points across the line
RETURN = "metallic return"  # so are the cases of `return_cases_A` called
BESIDE_M = 2.0  # beyond the outermost cables the field only falls


@dataclass(frozen=True, slots=True)
class CableField:
    """Largest fields across the line at n places.

    Attributes
    ----------
    field_uT : ndarray of shape (n,)
        Over all cases and orders.
    names : tuple of str
        Of the c cases.
    by_case_uT : ndarray of shape (n, c)
        Over all orders of the poles.
    compass_deg : ndarray of shape (n, c)
        Largest angle by which a compass turns, at its own height, over all orders [deg].
    """

    field_uT: Array
    names: tuple[str, ...]
    by_case_uT: Array
    compass_deg: Array

    @property
    def both_poles_uT(self) -> Array:
        """Field with both poles of all systems in service."""
        return np.asarray(self.by_case_uT[:, 0])

    @property
    def metallic_return_uT(self) -> Array:
        """Field with one pole of one system out, its current back through metal: the worst of them."""
        is_return = [RETURN in name for name in self.names]
        return np.asarray(np.max(self.by_case_uT[:, is_return], axis=1))


def has_direct_current(a: Assumptions) -> bool:
    """Return whether the link's current is direct, with two poles a system."""
    return a.cable.rating_model != "none" and a.link.poles_per_system == 2


def cable_field(a: Assumptions, depth_m: Array, offset_m: Array, bearing_deg: Array) -> CableField:
    """Work out the field at the heights of the assumptions above places along the line.

    Parameters
    ----------
    a : Assumptions
        Of a link with direct current.
    depth_m, offset_m : ndarray of shape (n, k)
        Axes of the cables from left to right [m].
    bearing_deg : ndarray of shape (n,)
        Of the line, from grid north, which stands for the magnetic one [deg].

    Returns
    -------
    CableField
        NaN where a depth is.
    """
    reach_m = float(np.max(np.abs(offset_m))) + BESIDE_M
    n_beside = int(np.ceil(reach_m / STEP_M))
    across = STEP_M * np.arange(-n_beside, n_beside + 1)  # the middle of the line is one of them
    names: tuple[str, ...] = ()
    found, turned = [], []
    for order in pole_orders(a):
        names, currents = return_cases_A(order, systems(a), a.link.current_A)
        parts = []
        for height_m in (a.checks.land.field_height_m, a.checks.land.compass_height_m):
            parts.append(
                cable_field_uT(
                    across,
                    np.full(len(across), height_m),
                    cable_offset_m=offset_m[:, np.newaxis, :],
                    cable_height_m=-depth_m[:, np.newaxis, :],
                    current_A=currents,
                )
            )
        found.append(np.max(np.hypot(*parts[0]), axis=-1))
        error = compass_error_deg(
            parts[1][0],
            bearing_deg=bearing_deg[:, np.newaxis, np.newaxis],
            earth_horizontal_uT=a.checks.land.earth_horizontal_uT,
        )
        turned.append(np.max(np.abs(error), axis=-1))
    by_case = np.max(found, axis=0)
    return CableField(
        np.asarray(np.max(by_case, axis=-1)), names, np.asarray(by_case), np.asarray(np.max(turned, axis=0))
    )
