"""Pull on a plastic pipe in a drilled, curved bore.

Room: ``engineering``. Pure arrays in SI units. What is written for feet and pounds says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

M_PER_FT = 0.3048
M_PER_IN = 0.0254
KN_PER_LB = 4.4482216152605e-3
SMALL_BORE_LIMIT_M = 600.0 * M_PER_FT  # generally accepted length of small bores


@dataclass(frozen=True, slots=True)
class DrilledPath:
    """A drilled bore in four parts, as the pipe goes: on the ground, down, level, up.

    Attributes
    ----------
    outside_m, down_m, level_m, up_m : ndarray of float64
        L1 that stays outside at the end, L2, L3 and L4 [m].
    depth_m : ndarray of float64
        H, of the level part below the pipe's side [m].
    pipe_angle_rad, rig_angle_rad : ndarray of float64
        Angles at which the pipe enters and leaves the ground [rad].
    rises_m : ndarray of float64 or None
        The same as H on the rig's side, where that lies at another height; None: H [m].
    """

    outside_m: Array
    down_m: Array
    level_m: Array
    up_m: Array
    depth_m: Array
    pipe_angle_rad: Array
    rig_angle_rad: Array
    rises_m: Array | None = None


@dataclass(frozen=True, slots=True)
class DrilledPull:
    """Pull when the pipe's head is at the ends of the four parts.

    Attributes
    ----------
    enters_kN, below_kN, rises_kN, leaves_kN : ndarray of float64
        TA, TB, TC and TD; NaN where the path has no level part left [kN].
    """

    enters_kN: Array
    below_kN: Array
    rises_kN: Array
    leaves_kN: Array

    @property
    def most_kN(self) -> Array:
        """The largest of the four [kN]."""
        return np.asarray(
            np.maximum(np.maximum(self.enters_kN, self.below_kN), np.maximum(self.rises_kN, self.leaves_kN))
        )


def drilled_path(
    crossing_m: ArrayLike,
    depth_m: ArrayLike,
    pipe_angle_rad: ArrayLike,
    rig_angle_rad: ArrayLike,
    outside_m: ArrayLike,
) -> DrilledPath:
    """Lay a bore out: L2 = 2 H/alpha, L4 = 2 H/beta, L3 what remains of the crossing.

    Parameters
    ----------
    crossing_m, depth_m, outside_m : array_like
        Length from entry to exit, H and L1 [m].
    pipe_angle_rad, rig_angle_rad : array_like
        alpha and beta [rad].

    Returns
    -------
    DrilledPath
        Its level part is NaN where the crossing is too short for its depth.
    """
    depth = not_negative("the depth", depth_m)
    entry, leaving = positive("the angle", pipe_angle_rad), positive("the angle", rig_angle_rad)
    down, up = 2.0 * depth / entry, 2.0 * depth / leaving
    level = np.asarray(crossing_m, dtype=np.float64) - down - up
    return DrilledPath(
        not_negative("the length outside", outside_m),
        np.asarray(down),
        np.where(level >= 0.0, level, np.nan),
        np.asarray(up),
        depth,
        entry,
        leaving,
    )


def drilled_pull(
    path: DrilledPath,
    *,
    ground_friction: ArrayLike,
    bore_friction: ArrayLike,
    weight_kN_per_m: ArrayLike,
    uplift_kN_per_m: ArrayLike,
) -> DrilledPull:
    """Pull on a pipe in a drilled bore.

    Parameters
    ----------
    path : DrilledPath
    ground_friction, bore_friction : array_like
        v_a before the bore and v_b in it [-].
    weight_kN_per_m : array_like
        w_a of the pipe, ballast not yet in it [kN/m].
    uplift_kN_per_m : array_like
        w_b, net upward force in the bore's fluid; negative where the pipe sinks [kN/m].

    Returns
    -------
    DrilledPull

    Notes
    -----
    With a = v_a alpha, b = v_b alpha, c = v_b beta:
    TA = e^a v_a w_a (L1 + L2 + L3 + L4);
    TB = e^b (TA + v_b |w_b| L2 + w_b H - v_a w_a L2 e^a);
    TC = TB + v_b |w_b| L3 - e^b v_a w_a L3 e^a;
    TD = e^c (TC + v_b |w_b| L4 - w_b H - e^b v_a w_a L4 e^a).
    The drag of the fluid in the annulus (`pull_in.annulus_drag_kN`) comes on top.

    References
    ----------
    ASTM F1962 as given in Trenchless Technology Piping, p. 253.
    """
    outside = not_negative("the friction outside", ground_friction)
    inside = not_negative("the friction in the bore", bore_friction)
    uplift = np.asarray(uplift_kN_per_m, dtype=np.float64)
    enters = np.exp(outside * path.pipe_angle_rad)
    bends = np.exp(inside * path.pipe_angle_rad)
    # friction of a metre outside as it is felt behind the entry, and of a metre in the bore
    saved = enters * outside * np.asarray(weight_kN_per_m, dtype=np.float64)
    rubbing = inside * np.abs(uplift)
    first = saved * (path.outside_m + path.down_m + path.level_m + path.up_m)
    below = bends * (first + (rubbing - saved) * path.down_m + uplift * path.depth_m)
    rises = below + (rubbing - bends * saved) * path.level_m
    rise = path.depth_m if path.rises_m is None else path.rises_m
    last = rises + (rubbing - bends * saved) * path.up_m - uplift * rise
    leaves = np.exp(inside * path.rig_angle_rad) * last
    return DrilledPull(np.asarray(first), np.asarray(below), np.asarray(rises), np.asarray(leaves))


def small_bore_pull_kN(length_m: ArrayLike, uplift_kN_per_m: ArrayLike, bends_deg: ArrayLike) -> Array:
    """Pull on the pipe in a small drilled bore by rule of thumb.

    Parameters
    ----------
    length_m : array_like
        Of the bore [m].
    uplift_kN_per_m : array_like
        Net upward force on the empty pipe in the bore's fluid [kN/m].
    bends_deg : array_like
        Sum of the planned bends, in plan and height [degrees].

    Returns
    -------
    ndarray of float64
        L w (1/3) 1.6^n, n = bends/90 + L/500 ft [kN]; NaN beyond 600 ft, where the rule ends.

    References
    ----------
    Trenchless Technology Piping, p. 262 (eq. 5.18; in feet and pounds there).
    """
    length = not_negative("the length", length_m)
    n = not_negative("the bends", bends_deg) / 90.0 + length / (500.0 * M_PER_FT)
    pull = length * np.asarray(uplift_kN_per_m, dtype=np.float64) / 3.0 * 1.6**n
    return np.where(length <= SMALL_BORE_LIMIT_M * (1.0 + 1e-9), pull, np.nan)


def collapsed_bore_pull_kN(
    gamma_kN_per_m3: ArrayLike,
    cover_m: ArrayLike,
    outer_diameter_m: ArrayLike,
    length_m: ArrayLike,
    friction: ArrayLike,
) -> Array:
    """Pull on the pipe where the bore has fallen on it: gamma d C L nu, C = pi OD [kN].

    Parameters
    ----------
    gamma_kN_per_m3 : array_like
        Unit weight of the soil [kN/m3].
    cover_m, outer_diameter_m, length_m : array_like
        Cover d, pipe, and length of the collapse L [m].
    friction : array_like
        nu, of soil on pipe [-].

    References
    ----------
    Trenchless Technology Piping, p. 306 (eq. 6.3): the whole weight of soil all round, an upper bound.
    """
    stress = np.asarray(gamma_kN_per_m3, dtype=np.float64) * not_negative("the cover", cover_m)
    surface = np.pi * positive("the outer diameter", outer_diameter_m) * np.asarray(length_m)
    return np.asarray(stress * surface * not_negative("the friction", friction))


def guide_pull_kN(effective_depth_m: ArrayLike, outer_diameter_m: ArrayLike, length_m: ArrayLike) -> Array:
    """Pull on the pipe by a guide for partly collapsed cavities.

    Parameters
    ----------
    effective_depth_m : array_like
        Height of soil that bears on the pipe; half the cover in both published examples [m].
    outer_diameter_m, length_m : array_like
        [m]

    Returns
    -------
    ndarray of float64
        d_eff D L/6, in pounds with d_eff and D in inches and L in feet [kN].

    References
    ----------
    Trenchless Technology Piping, p. 308 (eq. 6.5); bound to inches, feet and pounds.
    """
    inches2 = not_negative("the effective depth", effective_depth_m) * np.asarray(outer_diameter_m)
    feet = not_negative("the length", length_m) / M_PER_FT
    return np.asarray(inches2 / M_PER_IN**2 * feet / 6.0 * KN_PER_LB)
