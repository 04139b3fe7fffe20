"""Pressure at which a drive's annulus can be grouted: solved along the drive, in one go or in stages.

Room: ``engineering``. Pure arrays in SI units. Grout that has not set stands as one column: between two
points of a stage its pressures differ by its weight alone, whatever is injected.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class GroutHead:
    """Pressure of the grout at a drive's highest crown.

    Attributes
    ----------
    top_m : float
        Level of the highest crown [m].
    least_kPa, most_kPa : float
        Between which the whole drive lies in its window; NaN where any point is not evaluated [kPa].
    taken_kPa : float
        That is reckoned with; where none serves, the least, with which the grout still fills the bore [kPa].
    """

    top_m: float
    least_kPa: float
    most_kPa: float
    taken_kPa: float

    @property
    def is_open(self) -> bool:
        """Whether any pressure does; False where not evaluated."""
        return self.least_kPa <= self.most_kPa


def grout_head(
    crown_level_m: ArrayLike,
    least_kPa: ArrayLike,
    limit_kPa: ArrayLike,
    wished_kPa: ArrayLike,
    *,
    grout_kN_per_m3: float,
    planned_kPa: float,
) -> GroutHead:
    """Solve for the pressure at the highest crown that keeps all of a drive's grout in its window.

    Parameters
    ----------
    crown_level_m, least_kPa, limit_kPa : array_like of shape (n,)
        Level of the crown along the drive [m]; pressures between which the grout must lie there [kPa].
    wished_kPa : array_like of shape (n,)
        Pressures that it had better not exceed [kPa].
    grout_kN_per_m3 : float
        Unit weight of the grout before it sets [kN/m3].
    planned_kPa : float
        Pressure at the highest crown that is taken where it serves [kPa].

    Returns
    -------
    GroutHead

    Notes
    -----
    p(z) = p_top + gamma (z_top - z), so p_top from max(least - gamma (z_top - z)), at least 0, to
    min(limit - gamma (z_top - z)). The planned pressure is raised to the least; where it is too much, the
    middle is taken between the least and the most of what is wished for, else of what is allowed. Leaves out
    what the grout loses by flowing, which a contractor adds at the pump.
    """
    level = np.asarray(crown_level_m, dtype=np.float64)
    top_m = float(np.max(level))
    column = positive("the grout's unit weight", grout_kN_per_m3) * (top_m - level)
    limit = np.asarray(limit_kPa, dtype=np.float64)
    least = max(float(np.max(np.asarray(least_kPa) - column)), 0.0)
    most = float(np.min(limit - column))
    if np.isnan(least + most):
        return GroutHead(top_m, np.nan, np.nan, np.nan)
    wished = float(np.min(np.minimum(limit, wished_kPa) - column))
    return GroutHead(top_m, least, most, _taken_kPa(least, (wished, most), planned_kPa))


def _taken_kPa(least: float, uppers: tuple[float, float], planned: float) -> float:
    for upper in uppers:
        if least <= upper:
            return max(planned, least) if planned <= upper else (least + upper) / 2.0
    return least


def least_stages(
    crown_level_m: ArrayLike, least_kPa: ArrayLike, limit_kPa: ArrayLike, *, grout_kN_per_m3: float
) -> int:
    """Return in how many stages at least a drive can be grouted, each set before the next one begins.

    Parameters
    ----------
    crown_level_m, least_kPa, limit_kPa, grout_kN_per_m3
        See `grout_head`.

    Returns
    -------
    int
        Stretches that follow one another along the drive, each with a pressure of its own; 0 where at some
        point none does, or any is not evaluated.

    Notes
    -----
    Stretches as long as can be, one after the other: none parts the drive into fewer.
    """
    level, least, limit = (np.asarray(v, dtype=np.float64) for v in (crown_level_m, least_kPa, limit_kPa))
    weight = float(positive("the grout's unit weight", grout_kN_per_m3))
    if not np.all(least <= limit):
        return 0
    stages, low, high = 1, -np.inf, np.inf
    for lower, upper in zip(least + weight * level, limit + weight * level, strict=True):
        low, high = max(low, lower), min(high, upper)
        if low > high:
            stages, low, high = stages + 1, lower, upper
    return stages
