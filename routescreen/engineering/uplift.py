"""Pipes that float: in slurry and grout while they are built, under a scoured bed for good; grout volume.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.pipe import annulus_m2, circle_m2
from routescreen.engineering.values import not_negative, positive, utilisation

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def net_uplift_kN_per_m(
    outer_diameter_m: ArrayLike,
    fluid_kN_per_m3: ArrayLike,
    pipe_kN_per_m: ArrayLike,
    *,
    inside_diameter_m: ArrayLike = 0.0,
    ballast_kN_per_m3: ArrayLike = 0.0,
) -> Array:
    """Uplift of a pipe in a fluid less its weight and that of its ballast [kN/m].

    Parameters
    ----------
    outer_diameter_m, inside_diameter_m : array_like
        [m]
    fluid_kN_per_m3 : array_like
        Unit weight of what surrounds it: slurry, or the grout that replaces it [kN/m3].
    pipe_kN_per_m : array_like
        Weight of the empty pipe in air [kN/m].
    ballast_kN_per_m3 : array_like
        Unit weight of what fills it; 0 for an empty pipe [kN/m3].

    Returns
    -------
    ndarray of float64
        Negative where the pipe sinks.
    """
    uplift = np.asarray(fluid_kN_per_m3, dtype=np.float64) * circle_m2(outer_diameter_m)
    ballast = np.asarray(ballast_kN_per_m3, dtype=np.float64) * circle_m2(inside_diameter_m)
    return np.asarray(uplift - np.asarray(pipe_kN_per_m) - ballast)


def grout_m3(
    bore_diameter_m: ArrayLike, outer_diameter_m: ArrayLike, length_m: ArrayLike, loss_frac: ArrayLike
) -> Array:
    """Grout for the annulus of a bore, pi/4 (D^2 - OD^2) L (1 + loss) [m3].

    Parameters
    ----------
    bore_diameter_m, outer_diameter_m, length_m : array_like
        [m]
    loss_frac : array_like
        What the ground takes on top, as a share of the annulus [-].
    """
    annulus = not_negative("the annulus", annulus_m2(bore_diameter_m, outer_diameter_m))
    return np.asarray(annulus * np.asarray(length_m) * (1.0 + not_negative("the loss", loss_frac)))


def survey_bed_m(bed_level_m: ArrayLike, tolerance_m: ArrayLike) -> Array:
    """Level of the bed that pressures may count on: today's less what its survey may be off [m]."""
    return np.asarray(np.asarray(bed_level_m, dtype=np.float64) - not_negative("the tolerance", tolerance_m))


def scoured_cover_m(bed_level_m: ArrayLike, scour_m: ArrayLike, crown_level_m: ArrayLike) -> Array:
    """Cover that is left when the bed has been scoured; at 0 and below the pipe lies bare [m].

    Parameters
    ----------
    bed_level_m, crown_level_m : array_like
        Today's bed, and the pipe's crown [m].
    scour_m : array_like
        By how much the water may lower its bed [m].
    """
    bed = np.asarray(bed_level_m, dtype=np.float64) - not_negative("the scour", scour_m)
    return np.asarray(bed - np.asarray(crown_level_m))


@dataclass(frozen=True, slots=True)
class Flotation:
    """What lifts a pipe under a bed, and what holds it.

    Attributes
    ----------
    uplift_kN_per_m, holding_kN_per_m : ndarray of float64
        Both with their factors [kN/m].
    is_exposed : ndarray of bool
        Whether the scoured bed lies at the crown or below it.
    """

    uplift_kN_per_m: Array
    holding_kN_per_m: Array
    is_exposed: NDArray[np.bool_]

    @property
    def utilisation(self) -> Array:
        """Uplift over what holds: above 1 the pipe floats; infinite where it lies bare [-]."""
        return np.where(self.is_exposed, np.inf, utilisation(self.uplift_kN_per_m, self.holding_kN_per_m))


def flotation(
    cover_m: ArrayLike,
    outer_diameter_m: ArrayLike,
    pipe_kN_per_m: ArrayLike,
    submerged_kN_per_m3: ArrayLike,
    *,
    water_kN_per_m3: float,
    weight_factor: float,
    uplift_factor: float,
) -> Flotation:
    """Weigh a pipe under a scoured bed against its uplift.

    Parameters
    ----------
    cover_m : array_like
        Under the scoured bed, see `scoured_cover_m` [m].
    outer_diameter_m : array_like
        [m]
    pipe_kN_per_m : array_like
        Of the pipe with what fills it for good [kN/m].
    submerged_kN_per_m3 : array_like
        Unit weight of the cover under water [kN/m3].
    water_kN_per_m3 : float
    weight_factor, uplift_factor : float
        0.9 and 1.0, as for the base of a shaft (EN 1997-1, 2.4.7.4) [-].

    Returns
    -------
    Flotation

    Notes
    -----
    0.9 (w + gamma' h OD) >= 1.0 gamma_w pi/4 OD^2, the cover over the pipe's width alone. Own.
    """
    outer = positive("the outer diameter", outer_diameter_m)
    cover = np.asarray(cover_m, dtype=np.float64)
    soil = np.asarray(submerged_kN_per_m3, dtype=np.float64) * np.maximum(cover, 0.0) * outer
    uplift = uplift_factor * water_kN_per_m3 * circle_m2(outer)
    holding = np.asarray(weight_factor * (np.asarray(pipe_kN_per_m) + soil))
    uplift, holding, cover = np.broadcast_arrays(uplift, holding, cover)
    return Flotation(uplift, holding, np.asarray(cover <= 0.0))
