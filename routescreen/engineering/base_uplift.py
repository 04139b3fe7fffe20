"""Bases of shafts: plugs against uplift, anchors and wall friction, heave of bases that drain.

Room: ``engineering``. Pure arrays in SI units. Pressures count at the highest water, 100-year levels
included; depths are those of the shaft as it is built, rounded up. A screening aid: walls, plug in bending
and anchors are not designed here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import friction_angle_rad, not_negative, positive, utilisation

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class UpliftFactors:
    """Unit weights and partial factors of a plug.

    Attributes
    ----------
    concrete_kN_per_m3, water_kN_per_m3 : float
        Unit weights, e.g. 24.0 and 9.81 [kN/m3].
    weight_factor, water_factor : float
        On what holds and on what lifts: 0.9, and 1.0 or what the national annex asks for
        (EN 1997-1, 2.4.7.4 and table A.15) [-].

    Raises
    ------
    ValueError
        If the factored plug is not heavier than the factored water: no thickness would hold then.
    """

    concrete_kN_per_m3: float
    water_kN_per_m3: float
    weight_factor: float
    water_factor: float

    def __post_init__(self) -> None:
        if min(self.water_kN_per_m3, self.water_factor) <= 0.0:
            raise ValueError("the water's unit weight and factor must be above 0")
        if self.net_kN_per_m3 <= 0.0:
            raise ValueError("the plug's factored weight must be above that of the water it displaces")

    @property
    def net_kN_per_m3(self) -> float:
        """What a metre of plug holds more than it lets in [kN/m3]."""
        return self.weight_factor * self.concrete_kN_per_m3 - self.water_factor * self.water_kN_per_m3


def highest_head_m(base_level_m: ArrayLike, water_levels_m: ArrayLike) -> Array:
    """Head above a level at the highest of several water levels, at least 0 [m].

    Parameters
    ----------
    base_level_m : array_like of shape (...)
        E.g. of the plug's top [m].
    water_levels_m : array_like of shape (n_levels, ...)
        Groundwater, flood with its return period and so on; NaN where one isn't known, which makes the
        head unknown too [m].
    """
    highest = np.max(np.asarray(water_levels_m, dtype=np.float64), axis=0)
    return np.asarray(np.maximum(highest - np.asarray(base_level_m, dtype=np.float64), 0.0))


def plug_thickness_m(head_m: ArrayLike, factors: UpliftFactors, held_kPa: ArrayLike = 0.0) -> Array:
    """Thickness of plug that resists uplift, at least 0 [m].

    Parameters
    ----------
    head_m : array_like
        Of the highest water above the plug's top [m].
    factors : UpliftFactors
    held_kPa : array_like
        Design resistance of anchors and wall friction, per area in plan; 0 for the weight alone [kPa].

    Notes
    -----
    (f_w gamma_w h - r)/(f_g gamma_c - f_w gamma_w), from f_g gamma_c t + r = f_w gamma_w (h + t).

    References
    ----------
    EN 1997-1, 2.4.7.4.
    """
    head = not_negative("the head", head_m)
    lifts = factors.water_factor * factors.water_kN_per_m3 * head
    missing = lifts - not_negative("what is held", held_kPa)
    return np.asarray(np.maximum(missing, 0.0) / factors.net_kN_per_m3)


def uplift_utilisation(
    head_m: ArrayLike, plug_m: ArrayLike, factors: UpliftFactors, held_kPa: ArrayLike = 0.0
) -> Array:
    """Uplift under a plug over what holds it: above 1 the base lifts [-].

    Parameters
    ----------
    head_m, factors, held_kPa
        See `plug_thickness_m`. Where the head is 0 the water stands at the plug's top at most, and no
        uplift is counted.
    plug_m : array_like
        Thickness of the plug [m].
    """
    head, plug = not_negative("the head", head_m), not_negative("the plug", plug_m)
    lifts = factors.water_factor * factors.water_kN_per_m3 * np.where(head > 0.0, head + plug, 0.0)
    lifts = np.where(np.isnan(head), np.nan, lifts)
    holds = factors.weight_factor * factors.concrete_kN_per_m3 * plug + np.asarray(held_kPa)
    return utilisation(lifts, holds)


def upl_utilisation(
    destabilising: ArrayLike,
    stabilising: ArrayLike,
    resistance: ArrayLike = 0.0,
    *,
    destabilising_factor: ArrayLike,
    stabilising_factor: ArrayLike,
) -> Array:
    """Uplift of any body over what holds it [-].

    Parameters
    ----------
    destabilising, stabilising : array_like
        Characteristic force of the water and characteristic permanent weight, in one unit [kN or kPa].
    resistance : array_like
        Design resistance on top: anchors, friction on the walls [as above].
    destabilising_factor, stabilising_factor : array_like
        1.0 (1.1 in some annexes) and 0.9 [-].

    References
    ----------
    EN 1997-1, 2.4.7.4, expression 2.8.
    """
    held = np.asarray(stabilising_factor) * not_negative("the weight", stabilising) + np.asarray(resistance)
    return utilisation(np.asarray(destabilising_factor) * np.asarray(destabilising), held)


def held_force_kN(deficit_kPa: ArrayLike, length_m: ArrayLike, width_m: ArrayLike) -> Array:
    """Force that anchors or wall friction must hold over the plan of a shaft [kN].

    Parameters
    ----------
    deficit_kPa : array_like
        Uplift that the plug's weight leaves, see `routescreen.engineering.shaft.uplift_deficit_kPa` [kPa].
    length_m, width_m : array_like
        Inside the walls [m].
    """
    area = not_negative("the length", length_m) * not_negative("the width", width_m)
    return np.asarray(not_negative("the deficit", deficit_kPa) * area)


def n_anchors(force_kN: ArrayLike, anchor_kN: ArrayLike) -> Array:
    """Anchors that hold a force, rounded up [-].

    Parameters
    ----------
    force_kN, anchor_kN : array_like
        To be held, and the design resistance of one anchor [kN].
    """
    return np.asarray(np.ceil(not_negative("the force", force_kN) / positive("an anchor", anchor_kN)))


def wall_friction_kN(
    depth_m: ArrayLike,
    water_depth_m: ArrayLike,
    perimeter_m: ArrayLike,
    *,
    gamma_kN_per_m3: ArrayLike,
    saturated_kN_per_m3: ArrayLike,
    water_kN_per_m3: float,
    stress_ratio: ArrayLike,
    wall_friction_deg: ArrayLike,
    resistance_factor: ArrayLike,
) -> Array:
    """Friction that the ground lends to the walls of a shaft against uplift [kN].

    Parameters
    ----------
    depth_m, water_depth_m : array_like
        Embedded depth of the wall, depth of the water, both below ground [m].
    perimeter_m : array_like
        Outside, in plan [m].
    gamma_kN_per_m3, saturated_kN_per_m3, water_kN_per_m3 : array_like
        Of moist ground, of ground under water, of water [kN/m3].
    stress_ratio, wall_friction_deg : array_like
        Horizontal over vertical effective stress, low because little stress is the unfavourable
        case [-]; angle between wall and ground [deg].
    resistance_factor : array_like
        What the friction is divided by [-].

    Returns
    -------
    ndarray of float64
        Cohesionless ground only: NaN where no ratio is given.

    Notes
    -----
    p K tan(delta) times the integral of sigma'_v over the depth,
    gamma a^2/2 + gamma a w + (gamma_sat - gamma_w) w^2/2, a above the water and w below it.
    """
    depth = not_negative("the depth", depth_m)
    above = np.clip(np.asarray(water_depth_m, dtype=np.float64), 0.0, depth)
    below = depth - above
    moist = np.asarray(gamma_kN_per_m3, dtype=np.float64)
    buoyant = np.asarray(saturated_kN_per_m3, dtype=np.float64) - water_kN_per_m3
    stress = moist * above**2 / 2.0 + moist * above * below + buoyant * below**2 / 2.0
    grip = not_negative("the ratio of stresses", stress_ratio) * np.tan(friction_angle_rad(wall_friction_deg))
    length = not_negative("the perimeter", perimeter_m)
    return np.asarray(length * grip * stress / positive("the factor", resistance_factor))


def heave_utilisation(
    lifting: ArrayLike, holding: ArrayLike, *, lifting_factor: ArrayLike, holding_factor: ArrayLike
) -> Array:
    """Heave of a base that drains: seepage over submerged weight, or pore pressure over total stress [-].

    Parameters
    ----------
    lifting, holding : array_like
        Characteristic seepage force and submerged weight of a column under the base, or pore pressure and
        total stress at its foot, in one unit [kN or kPa].
    lifting_factor, holding_factor : array_like
        1.35 and 0.9 [-].

    References
    ----------
    EN 1997-1, 2.4.7.5 and table A.17. The two forms differ with the same factors, since the first takes
    the hydrostatic part from both sides; the standard leaves the choice open.
    """
    held = np.asarray(holding_factor) * not_negative("what holds", holding)
    return utilisation(np.asarray(lifting_factor) * np.asarray(lifting, dtype=np.float64), held)


def exit_gradient(head_difference_m: ArrayLike, embedment_m: ArrayLike) -> Array:
    """Mean gradient of the water that comes up inside a wall, H/(H + 2 t) [-].

    Parameters
    ----------
    head_difference_m : array_like
        H, water outside above the base inside; 0 and below gives 0 [m].
    embedment_m : array_like
        t, wall below the base [m].

    Notes
    -----
    The head is lost evenly along the wall, down outside over H + t and up inside over t, water outside at
    the surface. In corners and round shafts of small diameter the gradient is greater: a screening value.
    """
    head = np.maximum(np.asarray(head_difference_m, dtype=np.float64), 0.0)
    path = head + 2.0 * not_negative("the embedment", embedment_m)
    return np.asarray(np.divide(head, path, out=np.zeros_like(path), where=path != 0.0))


def embedment_m(
    head_difference_m: ArrayLike,
    saturated_kN_per_m3: ArrayLike,
    *,
    water_kN_per_m3: float,
    lifting_factor: float,
    holding_factor: float,
) -> Array:
    """Wall below a base that drains, so that the base does not heave [m].

    Parameters
    ----------
    head_difference_m : array_like
        See `exit_gradient` [m].
    saturated_kN_per_m3, water_kN_per_m3 : array_like
        Unit weights [kN/m3].
    lifting_factor, holding_factor : float
        See `heave_utilisation` [-].

    Notes
    -----
    H/2 (f_l gamma_w/(f_h gamma') - 1), at least 0: `exit_gradient` put into `heave_utilisation` = 1.
    """
    buoyant = positive("the submerged weight", np.asarray(saturated_kN_per_m3) - water_kN_per_m3)
    ratio = lifting_factor * water_kN_per_m3 / (holding_factor * buoyant)
    return np.asarray(np.maximum(np.asarray(head_difference_m), 0.0) / 2.0 * np.maximum(ratio - 1.0, 0.0))


def deepest_cut_m(
    layer_base_depth_m: ArrayLike,
    head_m: ArrayLike,
    gamma_kN_per_m3: ArrayLike,
    *,
    water_kN_per_m3: float,
    weight_factor: float,
    water_factor: float,
) -> Array:
    """Depth to which tight ground may be dug above water under pressure, at least 0 [m].

    Parameters
    ----------
    layer_base_depth_m : array_like
        Depth of the tight layer's base below ground [m].
    head_m : array_like
        Head of the water below, above the layer's base [m].
    gamma_kN_per_m3 : array_like
        Unit weight of the layer [kN/m3].
    water_kN_per_m3 : float
    weight_factor, water_factor : float
        1 and 1 say when it bursts, 0.9 and 1.0 what may be dug [-].

    Notes
    -----
    From f_g gamma (d - z) = f_w gamma_w h; the strength of the layer and the walls help, and aren't counted.
    """
    lifts = water_factor * water_kN_per_m3 * not_negative("the head", head_m)
    needed = lifts / (weight_factor * positive("the unit weight", gamma_kN_per_m3))
    return np.asarray(np.maximum(not_negative("the layer's depth", layer_base_depth_m) - needed, 0.0))
