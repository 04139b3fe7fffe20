"""The cables at one place of open cut: at the trench's own depth, or as deep as some assumptions have it.

Room: ``audit``. May use ``drives``, numpy and the audit's own modules.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import CablePlaces, cut_at, ground_at, side_by_side, spread_over
from routescreen.drives.cable_make import surround
from routescreen.drives.ramp import trench_axis_m, trench_offsets_m
from routescreen.drives.trench_spacing import bedding_zone_m, trench_beddings

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.cable_places import GroundHeat
    from routescreen.audit.scene import Scene
    from routescreen.drives.open_cut import Section

    Array = NDArray[np.float64]


def trench_at(scene: Scene, section: int, chainage_m: float) -> CablePlaces:
    """Lay out the cables at one place of open cut at the trench's own depth.

    Parameters
    ----------
    scene : Scene
    section : int
    chainage_m : float

    Returns
    -------
    CablePlaces
        Of one place.
    """
    a, at_m = scene.assumptions, np.array([chainage_m])
    heat, soil = ground_at(scene, at_m, np.array([trench_axis_m(a)]), a.pipe.trench_outer_diameter_m / 2.0)
    return placed(section, at_m, (heat, soil), cut_at(scene, at_m), a)


def placed(
    section: int, at_m: Array, ground: tuple[GroundHeat, NDArray[np.int64]], cut: Section, a: Assumptions
) -> CablePlaces:
    """Return the cables of one place of open cut, as its section and the assumptions there have them.

    Parameters
    ----------
    section : int
    at_m : ndarray of shape (1,)
        Chainage [m].
    ground : tuple
        What the ground round each cable does to heat, and its soil.
    cut : Section
    a : Assumptions

    Returns
    -------
    CablePlaces
    """
    heat, soil = ground
    axis_m, apart_m = trench_axis_m(a), cut.pipe_spacing_m
    offset_m = trench_offsets_m(a, apart_m)
    around = spread_over(side_by_side([heat]), offset_m.shape)
    width_m = cut.bedding_width_m(bedding_zone_m(a))
    together, apart = trench_beddings(apart_m[:, np.newaxis], width_m[:, np.newaxis], axis_m, a)
    return CablePlaces(
        construction="open_cut",
        section=section,
        drive=-1,
        shaft=-1,
        chainage_m=at_m,
        depth_m=np.full(offset_m.shape, axis_m),
        offset_m=offset_m,
        rho_K_m_per_W=around.rho_K_m_per_W,
        ratio=around.ratio,
        column_m=around.column_m,
        column_rho_K_m_per_W=around.column_rho_K_m_per_W,
        column_dry_K_m_per_W=around.column_dry_K_m_per_W,
        soil=soil,
        surround=surround(a, a.pipe.trench_outer_diameter_m),
        bedding=together,
        own_bedding=apart,
    )
