"""Quantities of dips: what open cut costs more where it lies deeper below what it crosses.

Room: ``money``. May import ``assumptions``, ``drives``, ``engineering``, ``project``. What a dip costs more
is the trench laid deeper less the trench as it lies beside, item by item.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.dip import Dip, assumptions_in_dip, ground_samples, lay_dip
from routescreen.drives.open_cut import trench_section
from routescreen.drives.ramp import laid_run_m, ramp_radius_m
from routescreen.engineering.ramp import crossed_m, swing_length_m
from routescreen.money.items import rates_eur
from routescreen.money.measure_trench import trench_per_m
from routescreen.money.quantities import add_cables, add_pipes, empty_quantities

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.drives.dip import CrossingDip, Ground
    from routescreen.project import GroundSamples

RAMP_PIECES = 8  # equal parts of a ramp, each as deep as at its middle


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
    (laid,) = lay_dip(samples, crossing.dip, a)
    spread_m = float(laid.section.pipe_spacing_m[0])
    run_m, length_m = _ramp_m(crossing.dip, spread_m, samples, a)
    beside = trench_per_m(samples, is_wide, a)[0]
    total = np.zeros_like(beside)
    if crossing.stretch_m > 0.0:
        total += crossing.stretch_m * dip_per_m(crossing.dip, samples, is_wide, a)[0]
    for share in _shares(crossing.dip, run_m, a):
        tops_m = a.trench.cover_to_pipe_m + share * crossing.dip.deeper_m(a)
        there = assumptions_in_dip(a, Dip(tops_m, tops_m, is_wet=False), spread_m, spread_m, has_fill=False)
        total += 2.0 * run_m / RAMP_PIECES * (trench_per_m(samples, is_wide, there)[0] - beside)
    return np.asarray(total + 2.0 * (length_m - run_m) * _lines_per_m(a))


def _ramp_m(dip: Dip, spread_m: float, samples: GroundSamples, a: Assumptions) -> tuple[float, float]:
    """Return the plan length of a ramp and that of its outermost pipe along the slope [m]."""
    beside_m = float(trench_section(samples, a).pipe_spacing_m[0])
    aside_m = 0.5 * (a.n_pipes_per_trench - 1) * (spread_m - beside_m)
    rise_m = dip.deeper_m(a)
    run_m = float(laid_run_m(rise_m, aside_m, a))
    across_m = float(np.hypot(rise_m, aside_m))
    return run_m, float(swing_length_m(across_m, run_m, ramp_radius_m(a)))


def _shares(dip: Dip, run_m: float, a: Assumptions) -> list[float]:
    """Return the shares of the dip's depth at the middles of the parts of a ramp [-]."""
    rise_m = dip.deeper_m(a)
    along_m = run_m * (np.arange(RAMP_PIECES) + 0.5) / RAMP_PIECES
    # a way aside makes a ramp longer, which its arcs alone don't show: the shape is that of its own length
    own_m = float(laid_run_m(rise_m, 0.0, a))
    crossed = crossed_m(along_m * own_m / run_m, rise_m, own_m, ramp_radius_m(a))
    return [float(share) for share in np.ravel(crossed / rise_m)]


def _lines_per_m(a: Assumptions) -> NDArray[np.float64]:
    """Measure one metre more of all pipes and cables."""
    q, n_pipes = empty_quantities(1, a), a.link.n_trenches * a.n_pipes_per_trench
    q.add("TR90", n_pipes)
    add_pipes(q, a.pipe.trench_outer_diameter_m, n_pipes, a)
    add_cables(q, a)
    return q.row()
