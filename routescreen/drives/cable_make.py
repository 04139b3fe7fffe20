"""The link's cables as heat sources: resistances, layers, pipes, which of them carry current, their order.

Room: ``drives``. May use ``assumptions``, ``engineering`` and numpy.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.ground_heat import ground_degC, surface_swing_K
from routescreen.engineering.heat import (
    PLASTIC_PIPE,
    conductor_ohm_per_m,
    fluid_fill_K_m_per_W,
    layer_K_m_per_W,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions

    Array = NDArray[np.float64]

STILL_WATER_K_M_PER_W = 1.67  # 0.6 W/(K m) of water at rest; it moves, which cools better; from memory
SHALLOW_M = 1.5  # depth of the shallow ground temperature of the assumptions
_AIR_ROUNDS = 12  # each leaves less than a tenth of the error before it


@dataclass(frozen=True, slots=True)
class CableMake:
    """The pole cable at its highest conductor temperature and the link's current.

    Attributes
    ----------
    ohm_per_m : float
        Of the conductor [ohm/m].
    insulation_K_m_per_W, cable_K_m_per_W : float
        T1, and T1 + T3 [K m/W].
    heat_W_per_m : float
        What one cable gives off [W/m].
    drop_K : float
        Fall of temperature over the insulation [K].
    """

    ohm_per_m: float
    insulation_K_m_per_W: float
    cable_K_m_per_W: float
    heat_W_per_m: float

    @property
    def drop_K(self) -> float:
        """Fall of temperature over the insulation [K]."""
        return self.heat_W_per_m * self.insulation_K_m_per_W


@dataclass(frozen=True, slots=True)
class Surround:
    """What lies round each conductor up to the ground: resistance in all and outer diameter."""

    inside_K_m_per_W: float
    outer_diameter_m: float


def is_rated(a: Assumptions) -> bool:
    """Return whether the formulae cover the link's cable: direct current, two poles a system."""
    return a.cable.rating_model == "dc" and a.link.poles_per_system == 2


def asked_A(a: Assumptions) -> float:
    """Return the current that every rating is held against: the link's with the project's reserve [A].

    Heat, fields and temperatures are those of the link's current itself.
    """
    return a.link.current_A * (1.0 + a.cable.rating_reserve_frac)


def cable_make(a: Assumptions) -> CableMake:
    """Return the pole cable of the link.

    Parameters
    ----------
    a : Assumptions

    Returns
    -------
    CableMake
    """
    cable = a.cable
    ohm = float(
        conductor_ohm_per_m(
            cable.resistance_20degC_ohm_per_m,
            cable.resistance_coefficient_per_K,
            cable.conductor_limit_degC,
        )
    )
    insulation, jacket = (
        float(layer_K_m_per_W(inner_mm, outer_mm, rho))
        for inner_mm, outer_mm, rho in (
            (
                cable.conductor_diameter_mm,
                cable.insulation_diameter_mm,
                cable.insulation_resistivity_Km_per_W,
            ),
            (cable.screen_diameter_mm, cable.outer_diameter_mm, cable.jacket_resistivity_Km_per_W),
        )
    )
    return CableMake(ohm, insulation, insulation + jacket, a.link.current_A**2 * ohm)


def surround(a: Assumptions, pipe_outer_m: float, bore_m: float | None = None) -> Surround:
    """Return what lies round the conductor in a pipe, and in a bore whose annulus is filled.

    Parameters
    ----------
    a : Assumptions
    pipe_outer_m : float
        Outer diameter of the protection pipe [m].
    bore_m : float, optional
        Diameter of the bore; without it the ground begins at the pipe [m].

    Returns
    -------
    Surround
        Air in the pipe is as warm as the link's current makes it.
    """
    cable_m, inside_m = a.cable.outer_diameter_m, a.pipe.size(pipe_outer_m).inside_diameter_m
    grout = a.grout.resistivity_Km_per_W.expected
    make = cable_make(a)
    if a.pipe.fill == "air":
        fill = _air_K_m_per_W(a, make)
    else:
        rho = grout if a.pipe.fill == "grout" else STILL_WATER_K_M_PER_W
        fill = float(layer_K_m_per_W(cable_m, inside_m, rho))
    wall = float(layer_K_m_per_W(inside_m, pipe_outer_m, a.checks.rating.pipe_resistivity_Km_per_W))
    ring = 0.0 if bore_m is None else float(layer_K_m_per_W(pipe_outer_m, bore_m, grout))
    return Surround(make.cable_K_m_per_W + fill + wall + ring, pipe_outer_m if bore_m is None else bore_m)


def _air_K_m_per_W(a: Assumptions, make: CableMake) -> float:
    """Return the resistance of air in the pipe, with the conductor at its limit at the link's current."""
    surface_degC = a.cable.conductor_limit_degC - make.heat_W_per_m * make.cable_K_m_per_W
    fluid = 0.0
    for _ in range(_AIR_ROUNDS):
        mean_degC = surface_degC - 0.5 * make.heat_W_per_m * fluid
        fluid = float(fluid_fill_K_m_per_W(a.cable.outer_diameter_m, mean_degC, PLASTIC_PIPE))
    return fluid


def undisturbed_degC(a: Assumptions, depth_m: Array) -> Array:
    """Return the highest temperature of the year at depths, without cables [degC].

    Parameters
    ----------
    a : Assumptions
    depth_m : ndarray

    Returns
    -------
    ndarray
        NaN where the depth is.
    """
    given = a.checks.rating
    mean, damping = given.ground_deep_degC, given.damping_depth_m
    swing = surface_swing_K(given.ground_shallow_degC, SHALLOW_M, mean_degC=mean, damping_m=damping)
    above = ground_degC(depth_m, mean_degC=mean, swing_K=swing, damping_m=damping)
    return np.where(depth_m >= given.deep_from_m, mean, above)


def current_shares(a: Assumptions) -> Array:
    """Return each cable's share of the current in normal service, from left to right: poles, then returns.

    The poles of a system lie side by side, which is the warmest order: return cables carry nothing.
    """
    link = a.link
    system = [1.0] * link.poles_per_system + [0.0] * link.returns_per_system
    return np.array(system * link.n_systems)


def systems(a: Assumptions) -> NDArray[np.int64]:
    """Return the number of the system of each cable, from left to right, counted from 1."""
    return np.repeat(np.arange(1, a.link.n_systems + 1), a.n_pipes_per_trench)


def pole_orders(a: Assumptions) -> list[NDArray[np.int64]]:
    """Return the orders in which poles may lie from left to right: 1, -1, and 0 for a return cable.

    Return cables between the poles or beside them; all systems alike or every second one turned round.
    """
    link = a.link
    returns = [0] * link.returns_per_system
    patterns = [[1, *returns, -1]]
    if returns:
        patterns.append([1, -1, *returns])
    orders = []
    for pattern in patterns:
        alike = np.array(pattern * link.n_systems, dtype=np.int64)
        turned = [pattern if number % 2 == 0 else pattern[::-1] for number in range(link.n_systems)]
        orders.append(alike)
        if link.n_systems > 1:
            orders.append(np.concatenate(turned).astype(np.int64))
    return orders
