"""Quantities of dips: what open cut costs more where it lies deeper below what it crosses.

Room: ``money``. May import ``assumptions``, ``drives``, ``engineering``, ``project``. What a dip costs more
is the trench laid deeper less the trench as it lies beside, item by item.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.dip import ground_samples, lay_dip
from routescreen.drives.dip_ramp import RAMP_PIECES, dip_ramp
from routescreen.money.items import rates_eur
from routescreen.money.measure_trench import trench_per_m
from routescreen.money.quantities import add_cables, add_pipes, empty_quantities

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.drives.dip import CrossingDip, Dip, Ground
    from routescreen.project import GroundSamples


def dip_per_m(
    dip: Dip, samples: GroundSamples, is_narrow: NDArray[np.bool_], a: Assumptions
) -> NDArray[np.float64]:
    """Measure what one metre of open cut costs more at the full depth of a dip.

    Parameters
    ----------
    dip : Dip
    samples : GroundSamples
        What lies at n places.
    is_narrow : ndarray of bool, shape (n,)
        Whether the working strip is narrow there.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        In the order of ``bill_items``.
    """
    more = -trench_per_m(samples, is_narrow, a)
    for part in lay_dip(samples, dip, a):
        more[part.rows] += trench_per_m(part.samples, is_narrow[part.rows], part.assumptions)
    return more


@once_per_assumptions
def dip_run(a: Assumptions, crossing: CrossingDip) -> NDArray[np.float64]:
    """Measure what a dip costs more whole: both ramps, and its length at full depth where that is fixed.

    Parameters
    ----------
    a : Assumptions
    crossing : CrossingDip

    Returns
    -------
    ndarray of float64, shape (n_items,)
        In the dearest of the kinds of ground along the crossing, under plain ground cover.
    """
    each = [_run(crossing, ground, a) for ground in crossing.grounds]
    return max(each, key=lambda quantities: float(quantities @ rates_eur(a)))


def _run(crossing: CrossingDip, ground: Ground, a: Assumptions) -> NDArray[np.float64]:
    samples, is_wide = ground_samples((ground,), a), np.zeros(1, np.bool_)
    ramp = dip_ramp(a, crossing.dip, ground)
    beside = trench_per_m(samples, is_wide, a)[0]
    total = np.zeros_like(beside)
    if crossing.stretch_m > 0.0:
        total += crossing.stretch_m * dip_per_m(crossing.dip, samples, is_wide, a)[0]
    for there in ramp.built(a):
        total += 2.0 * ramp.run_m / RAMP_PIECES * (trench_per_m(samples, is_wide, there)[0] - beside)
    return np.asarray(total + 2.0 * (ramp.length_m - ramp.run_m) * _lines_per_m(a))


def _lines_per_m(a: Assumptions) -> NDArray[np.float64]:
    """Measure one metre more of all pipes and cables."""
    q, n_pipes = empty_quantities(1, a), a.link.n_trenches * a.n_pipes_per_trench
    q.add("TR90", n_pipes)
    add_pipes(q, a.pipe.trench_outer_diameter_m, n_pipes, a)
    add_cables(q, a)
    return q.row()
