"""Magnetic field above the cables, for each return of the current and each order of the poles.

Room: ``audit``. The formulae are those of ``engineering``; numbers come from the assumptions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.cable_make import pole_orders, systems
from routescreen.engineering.field import cable_field_uT, return_cases_A

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions

    Array = NDArray[np.float64]

STEP_M = 0.1  # between the points across the line
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
    """

    field_uT: Array
    names: tuple[str, ...]
    by_case_uT: Array


def has_direct_current(a: Assumptions) -> bool:
    """Return whether the link's current is direct, with two poles a system."""
    return a.cable.rating_model != "none" and a.link.poles_per_system == 2


def cable_field(a: Assumptions, depth_m: Array, offset_m: Array) -> CableField:
    """Work out the field at the height of the assumptions above places along the line.

    Parameters
    ----------
    a : Assumptions
        Of a link with direct current.
    depth_m, offset_m : ndarray of shape (n, k)
        Axes of the cables from left to right [m].

    Returns
    -------
    CableField
        NaN where a depth is.
    """
    reach_m = float(np.max(np.abs(offset_m))) + BESIDE_M
    n_beside = int(np.ceil(reach_m / STEP_M))
    across = STEP_M * np.arange(-n_beside, n_beside + 1)  # the middle of the line is one of them
    height = np.full(len(across), a.checks.land.field_height_m)
    names: tuple[str, ...] = ()
    found = []
    for order in pole_orders(a):
        names, currents = return_cases_A(order, systems(a), a.link.current_A)
        right, up = cable_field_uT(
            across,
            height,
            cable_offset_m=offset_m[:, np.newaxis, :],
            cable_height_m=-depth_m[:, np.newaxis, :],
            current_A=currents,
        )
        found.append(np.max(np.hypot(right, up), axis=-1))
    by_case = np.max(found, axis=0)
    return CableField(np.asarray(np.max(by_case, axis=-1)), names, np.asarray(by_case))
