"""Sections of cable by the drum's mass, and where the joints between them lie.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_ROUNDING_M = 1e-6  # sections that only differ by the rounding of chainages are the same


@dataclass(frozen=True, slots=True)
class JointPlan:
    """Joints of a line.

    Parameters
    ----------
    is_feasible : bool
        Whether sections can cover the line.
    nodes : ndarray of int64, shape (k,)
        Indices of the nodes with joints, the ends of the line left out.
    chainage_m : ndarray of float64, shape (k,)
        Their places, as handed over [m].
    section_m : ndarray of float64, shape (k + 1,)
        Lengths between them; empty where not feasible [m].
    cost : float
        Sum of the joints' weights; NaN where not feasible.
    farthest_m : float
        Farthest place that sections reach from the start [m].
    """

    is_feasible: bool
    nodes: NDArray[np.int64]
    chainage_m: NDArray[np.float64]
    section_m: NDArray[np.float64]
    cost: float
    farthest_m: float


def drum_section_m(gross_t: ArrayLike, empty_t: ArrayLike, mass_kg_per_m: ArrayLike) -> NDArray[np.float64]:
    """Length of cable that a drum may carry.

    Parameters
    ----------
    gross_t, empty_t : array_like
        Mass that can be moved to the site, mass of the empty drum [t].
    mass_kg_per_m : array_like
        Mass of the cable [kg/m].

    Returns
    -------
    ndarray of float64
        (gross - empty) / mass, at least 0 [m].

    Examples
    --------
    >>> drum_section_m(60.0, 7.5, 42.0)
    array(1250.)
    """
    spare_kg = 1000.0 * (np.asarray(gross_t, dtype=np.float64) - np.asarray(empty_t, dtype=np.float64))
    return np.asarray(np.maximum(spare_kg, 0.0) / np.asarray(mass_kg_per_m, dtype=np.float64))


def place_joints(
    node_m: ArrayLike,
    weight: ArrayLike,
    *,
    most_m: float,
    forward_reach: ArrayLike | None = None,
    backward_reach: ArrayLike | None = None,
) -> JointPlan:
    """Place joints along a finished line: as few as can be, then where their weights are least.

    Parameters
    ----------
    node_m : array_like of shape (n,)
        Places where a joint may lie, growing; the first and the last are the ends of the line. Length
        along the cable, ramps included, since drums are measured along it [m].
    weight : array_like of shape (n,)
        Weight of a joint at each, in euro for instance; those of the ends don't count.
    most_m : float
        Longest section that a drum carries [m].
    forward_reach, backward_reach : array_like of int, shape (n,), optional
        Last node to which a cable can be pulled from each node on, first node to which it can be pulled
        back from it. A section is allowed if either way will do; without both only drums count.

    Returns
    -------
    JointPlan
        Of several equal ones the one whose joints lie nearest to the start.

    Notes
    -----
    Exact: dynamic programming over the nodes, the pair (number of joints, sum of weights) compared in
    this order; n steps over the nodes within one drum's length.

    Raises
    ------
    ValueError
        If there are fewer than two nodes, they don't grow, or weights are not finite.
    """
    nodes, weights = np.asarray(node_m, dtype=np.float64), np.asarray(weight, dtype=np.float64)
    if nodes.ndim != 1 or nodes.size < 2 or np.any(~(np.diff(nodes) > 0.0)):
        raise ValueError("need at least two nodes, with growing places")
    if weights.shape != nodes.shape or not np.all(np.isfinite(weights)):
        raise ValueError("need one finite weight for each node")
    before = _best_before(nodes, weights, most_m, forward_reach, backward_reach)
    return _traced(nodes, weights, before)


def _best_before(
    nodes: NDArray[np.float64],
    weights: NDArray[np.float64],
    most_m: float,
    forward_reach: ArrayLike | None,
    backward_reach: ArrayLike | None,
) -> NDArray[np.int64]:
    """Node before each on the best way from the first; -1 where none leads there."""
    n = nodes.size
    forward = np.asarray(forward_reach, dtype=np.int64) if forward_reach is not None else None
    backward = np.asarray(backward_reach, dtype=np.int64) if backward_reach is not None else None
    sections = np.full(n, np.iinfo(np.int64).max)
    spent = np.full(n, np.inf)
    before = np.full(n, -1, dtype=np.int64)
    sections[0], spent[0] = 0, 0.0
    starts = np.searchsorted(nodes, nodes - (most_m + _ROUNDING_M), side="left")
    for j in range(1, n):
        window = slice(int(starts[j]), j)
        is_open = np.isfinite(spent[window])
        if forward is not None or backward is not None:
            is_pulled = np.zeros(is_open.shape, dtype=np.bool_)
            if forward is not None:
                is_pulled |= forward[window] >= j
            if backward is not None:
                is_pulled |= np.arange(starts[j], j) >= backward[j]
            is_open &= is_pulled
        if not np.any(is_open):
            continue
        counts = np.where(is_open, sections[window], np.iinfo(np.int64).max)
        fewest = counts == counts.min()
        at = int(np.argmin(np.where(fewest, spent[window], np.inf)))
        before[j] = starts[j] + at
        sections[j] = counts[at] + 1
        spent[j] = spent[before[j]] + weights[j]
    return before


def _traced(nodes: NDArray[np.float64], weights: NDArray[np.float64], before: NDArray[np.int64]) -> JointPlan:
    """Follow the nodes back from the last one."""
    n = nodes.size
    if before[n - 1] < 0:
        reached = np.flatnonzero(before >= 0)
        none = np.empty(0, dtype=np.float64)
        farthest = float(nodes[reached[-1]] if reached.size else nodes[0])
        return JointPlan(False, np.empty(0, dtype=np.int64), none, none, float("nan"), farthest)
    way = [n - 1]
    while way[-1] > 0:
        way.append(int(before[way[-1]]))
    ordered = np.array(way[::-1], dtype=np.int64)
    joints = ordered[1:-1]
    return JointPlan(
        is_feasible=True,
        nodes=joints,
        chainage_m=nodes[joints],
        section_m=np.diff(nodes[ordered]),
        cost=float(np.sum(weights[joints])),
        farthest_m=float(nodes[-1]),
    )
