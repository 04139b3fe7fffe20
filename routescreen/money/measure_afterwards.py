"""Quantities that are measured on the finished plan and do not steer the search.

Room: ``money``. May import ``assumptions``, ``drives``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.methods import enabled_methods
from routescreen.money.quantities import empty_quantities

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class PlanTotals:
    """What the items of the whole link are measured from.

    Attributes
    ----------
    route_length_m : float
        Length of the alignment in plan [m].
    cable_length_m : float
        True length of one cable: open cut in plan, drives along the bore [m].
    n_drives : tuple of int
        Drives of each method, in the order of ``drives.methods.enabled_methods``.
    n_joint_bays : int or None
        Joint bays of one system as placed along the route; None where they aren't.
    """

    route_length_m: float
    cable_length_m: float
    n_drives: tuple[int, ...]
    n_joint_bays: int | None = None


def afterwards(totals: PlanTotals, a: Assumptions) -> NDArray[np.float64]:
    """Measure the items of the whole link.

    Parameters
    ----------
    totals : PlanTotals
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n_items,)
        Only items carried afterwards. Left at zero: GE02 and GE03, which are shown apart (``apart``).
    """
    q = empty_quantities(1, a)
    q.add("GE01", n_lots(totals.route_length_m, a))
    for name, n_drives in zip(enabled_methods(a), totals.n_drives, strict=True):
        # no more rigs than drives; none where the method is not used
        q.add(a.methods[name].rig_item, min(a.methods[name].n_rigs, n_drives))
    q.add("DR19", a.programme.standing_h_per_drive * sum(totals.n_drives))
    link, bays = a.link, totals.n_joint_bays
    if bays is None:
        bays = n_joint_bays(totals.cable_length_m, a)
    q.add(a.cable.joint_item, bays * link.n_systems * link.poles_per_system)
    q.add(a.cable.metallic_return.joint_item, bays * link.n_systems * link.returns_per_system)
    q.add(a.cable.joint_bay_item, bays * link.n_systems)
    tests = math.ceil(totals.route_length_m / 1000.0 / a.cable.test_length_km)
    q.add(a.cable.test_item, tests * link.n_systems)
    return q.row()


@dataclass(frozen=True, slots=True)
class ShaftMeasures:
    """What the checks of shafts ask for beyond what the search has priced; arrays of shape (n_shafts,).

    Attributes
    ----------
    anchors_kN : ndarray
        Uplift of the base that the plug's weight does not hold [kN].
    larger_blocks : ndarray
        Area of thrust blocks beyond the usual, in usual areas, all launched bores together [bore].
    flood_rims : ndarray
        1 where a rim or a plan to leave the shaft is asked for [-].
    """

    anchors_kN: NDArray[np.float64]
    larger_blocks: NDArray[np.float64]
    flood_rims: NDArray[np.float64]


def shaft_measures(measures: ShaftMeasures, a: Assumptions) -> NDArray[np.float64]:
    """Measure what the checks of shafts ask for.

    Parameters
    ----------
    measures : ShaftMeasures
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n_shafts, n_items)
        Only items carried afterwards.
    """
    q = empty_quantities(len(measures.anchors_kN), a)
    q.add("SH21", measures.anchors_kN)
    q.add("SH25", measures.flood_rims)
    q.add("SH27", measures.larger_blocks)
    return q.values


@dataclass(frozen=True, slots=True)
class LaterMeasures:
    """What a finished plan asks for besides, section by section; arrays of shape (n_sections,).

    Attributes
    ----------
    boreholes_m : ndarray
        Boreholes of the investigation plan; NaN where a depth isn't known [m].
    lost_bore_m : ndarray
        Bore that must be expected to be driven anew [m].
    wells_along_m : ndarray
        Rows of well points along drives [m].
    """

    boreholes_m: NDArray[np.float64]
    lost_bore_m: NDArray[np.float64]
    wells_along_m: NDArray[np.float64]


def later_sections(
    measures: LaterMeasures, billed: NDArray[np.float64], a: Assumptions
) -> NDArray[np.float64]:
    """Measure what a finished plan asks for besides, section by section.

    Parameters
    ----------
    measures : LaterMeasures
    billed : ndarray of shape (n_sections, n_items)
        What the search's items measure.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n_sections, n_items)
        Only items carried afterwards: GI14, what the plan of the investigation asks for beyond GI10, PR02 and
        DR22.
    """
    q = empty_quantities(len(billed), a)
    more_m = measures.boreholes_m - billed[:, q.items.index["GI10"]]
    q.add("GI14", np.where(more_m > 0.0, more_m, 0.0))  # NaN is told by the check of the plan
    q.add("PR02", measures.lost_bore_m)
    q.add("DR22", measures.wells_along_m)
    return q.values


def n_joint_bays(cable_length_m: float, a: Assumptions) -> int:
    """Joint bays of one system by the drums alone: length / section length rounded up, less 1."""
    return max(math.ceil(cable_length_m / a.cable.section_length_m) - 1, 0)


def n_lots(route_length_m: float, a: Assumptions) -> int:
    """Contract lots: length / length of a lot, rounded half up, at least 1."""
    return max(math.floor(route_length_m / 1000.0 / a.programme.lot_length_km + 0.5), 1)
