"""Quantities of crossings: what passing under or through one costs besides the metres.

Room: ``money``. May import ``assumptions``, ``drives``, ``project``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.money.measure_dip import dip_per_m, dip_run
from routescreen.money.measure_trench import surplus_m3_per_m
from routescreen.money.quantities import empty_quantities

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.drives.dip import CrossingDip, Dip
    from routescreen.project import GroundSamples


def crossing_trench(kind: str, a: Assumptions, dip: CrossingDip | None = None) -> NDArray[np.float64]:
    """Measure one crossing in open cut: opening it, the owner's agreement, the ramps of a dip below it.

    Parameters
    ----------
    kind : str
        Kind of the crossing.
    a : Assumptions
    dip : CrossingDip, optional

    Returns
    -------
    ndarray of float64, shape (n_items,)
        Charged once for each unbroken run of trench in the crossing.
    """
    treatment = a.treatments[kind]
    items = _each(a, (*treatment.trench_items, *treatment.agreement_items))
    return items if dip is None else items + dip_run(a, dip)


def crossing_drive(kind: str, a: Assumptions) -> NDArray[np.float64]:
    """Measure one crossing with a drive underneath: monitoring, and the owner's agreement.

    Parameters
    ----------
    kind : str
        Kind of the crossing.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n_items,)
        Charged once for each drive under the crossing.
    """
    treatment = a.treatments[kind]
    return _each(a, (*treatment.drive_items, *treatment.agreement_items))


def crossing_trench_per_m(
    kind: str,
    samples: GroundSamples,
    is_narrow: NDArray[np.bool_],
    a: Assumptions,
    dip: Dip | None = None,
) -> NDArray[np.float64]:
    """Measure what one metre of open cut inside a crossing adds to `trench_per_m`.

    Parameters
    ----------
    kind : str
        Kind of the crossing.
    samples : GroundSamples
        What lies at n places inside it.
    is_narrow : ndarray of bool, shape (n,)
        Whether the working strip is narrow there.
    a : Assumptions
    dip : Dip, optional
        Below the bed that is crossed.

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        A deeper trench, more archaeological watch, more compensation of nature, surplus soil that counts as
        loaded instead of clean (so some quantities are negative); zeros for most kinds.
    """
    treatment = a.treatments[kind]
    q = empty_quantities(len(samples.ground_m), a)
    q.add("AR10", treatment.archaeology_factor - 1.0)
    nature = np.array([cover.nature_factor for cover in a.cover.values()])[samples.cover_class]
    strip = np.where(is_narrow, a.narrow_strip_m, a.working_strip_m)
    q.add("LA13", strip * nature * (treatment.nature_factor - 1.0))
    if treatment.is_spoil_loaded:
        clean, slight, _ = surplus_m3_per_m(samples, a).T
        q.add("TR60", -clean)
        q.add("TR61", -slight)
        q.add("TR62", clean + slight)
    return q.values if dip is None else q.values + dip_per_m(dip, samples, is_narrow, a)


def _each(a: Assumptions, codes: Sequence[str]) -> NDArray[np.float64]:
    q = empty_quantities(1, a)
    q.add_each(codes, 1.0)
    return q.row()
