"""Quantities that are measured on the finished plan and do not steer the search.

Room: ``money``. May import ``assumptions``, ``drives``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from routescreen.drives.methods import enabled_methods
from routescreen.money.quantities import empty_quantities

if TYPE_CHECKING:
    import numpy as np
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
    n_wet_shafts : int
        Shafts whose bottom lies below the groundwater.
    """

    route_length_m: float
    cable_length_m: float
    n_drives: tuple[int, ...]
    n_wet_shafts: int


def afterwards(totals: PlanTotals, a: Assumptions) -> NDArray[np.float64]:
    """Measure the items of the whole link.

    Parameters
    ----------
    totals : PlanTotals
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n_items,)
        Only items carried afterwards. Left at zero: GE02, which needs a programme, and GE03, which is
        shown apart (``bill.owner_share``).
    """
    q = empty_quantities(1, a)
    q.add("GE01", n_lots(totals.route_length_m, a))
    for name, n_drives in zip(enabled_methods(a), totals.n_drives, strict=True):
        # no more rigs than drives; none where the method is not used
        q.add(a.methods[name].rig_item, min(a.methods[name].n_rigs, n_drives))
    q.add("DR19", a.programme.standing_h_per_drive * sum(totals.n_drives))
    q.add("SH24", totals.n_wet_shafts * a.shaft.open_months.expected)
    link, bays = a.link, n_joint_bays(totals.cable_length_m, a)
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


def n_joint_bays(cable_length_m: float, a: Assumptions) -> int:
    """Joint bays of one system: sections of cable, length / section length rounded up, less 1."""
    return max(math.ceil(cable_length_m / a.cable.section_length_m) - 1, 0)


def n_lots(route_length_m: float, a: Assumptions) -> int:
    """Contract lots: length / length of a lot, rounded half up, at least 1."""
    return max(math.floor(route_length_m / 1000.0 / a.programme.lot_length_km + 0.5), 1)
