"""The cheapest way over pairs of an alignment's vertices, its own pieces staying among the choices.

Room: ``polish``. Judged by ``corridor``, priced by `prices`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.polish.line import taken

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.trench_judge import TrenchJudge
    from routescreen.polish.line import Line
    from routescreen.polish.prices import PiecePrices

FEWER_EUR = 1.0  # a bend that saves less is not worth setting out
_SHORTER_M = 1e-6  # a pair whose own way is not longer by this is straight already


@dataclass(frozen=True, slots=True)
class Pieces:
    """Straight pieces that may replace the way between two vertices, n of them.

    `start`, `end` (n,) the vertices; `eur` (n,); `is_narrow` (n,).
    """

    start: NDArray[np.int64]
    end: NDArray[np.int64]
    eur: NDArray[np.float64]
    is_narrow: NDArray[np.bool_]


def straightened(line: Line, judge: TrenchJudge, prices: PiecePrices, *, n_span: int) -> Line:
    """Return the cheapest way along the line's vertices in order, none of those that stay left out.

    Parameters
    ----------
    line : Line
    judge : TrenchJudge
    prices : PiecePrices
    n_span : int
        Largest number of pieces that one straight piece replaces.

    Returns
    -------
    Line
        Never dearer by the pieces' prices.
    """
    own_eur = np.zeros(len(line.is_drive))
    trench = np.flatnonzero(~line.is_drive)
    own_eur[trench] = prices.eur(line.pieces()[trench], line.is_narrow[trench])
    way_eur = np.concatenate([[0.0], np.cumsum(own_eur + FEWER_EUR)])
    new = _cheaper(line, way_eur, judge, prices, n_span)
    return _cheapest(line, own_eur, new)


def _pairs(line: Line, n_span: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the pairs of vertices at least two pieces apart with a bend and nothing that stays between."""
    n = len(line.xy_m)
    start = np.repeat(np.arange(n), n_span - 1)
    end = start + np.tile(np.arange(2, n_span + 1), n)
    is_in = end < n
    start, end = start[is_in], end[is_in]
    n_fixed = np.cumsum(line.is_fixed)
    is_free = n_fixed[end - 1] == n_fixed[start]
    start, end = start[is_free], end[is_free]
    at_m = np.concatenate([[0.0], np.cumsum(line.lengths_m())])
    straight_m = np.hypot(*(line.xy_m[end] - line.xy_m[start]).T)
    is_bent = straight_m < at_m[end] - at_m[start] - _SHORTER_M
    changes = np.concatenate([[0], np.cumsum(np.diff(line.is_narrow.astype(np.int64)) != 0), [0]])
    is_mixed = changes[end - 1] != changes[start]
    return start[is_bent | is_mixed], end[is_bent | is_mixed]


def _cheaper(
    line: Line,
    way_eur: NDArray[np.float64],
    judge: TrenchJudge,
    prices: PiecePrices,
    n_span: int,
) -> Pieces:
    """Return the straight pieces that may be dug and cost less than the way that they replace."""
    start, end = _pairs(line, n_span)
    limit_eur = way_eur[end] - way_eur[start] - FEWER_EUR
    xy_m = np.concatenate([line.xy_m[start], line.xy_m[end]], axis=1)
    wide_eur, narrow_eur, may_be_narrow = both_eur(xy_m, judge, prices)
    chosen = np.flatnonzero(np.minimum(wide_eur, narrow_eur) < limit_eur)
    is_ok, is_narrow = judge.judge(xy_m[chosen], may_be_narrow[chosen])
    eur = np.where(is_narrow, narrow_eur[chosen], wide_eur[chosen])
    is_ok &= eur < limit_eur[chosen]
    chosen = chosen[is_ok]
    return Pieces(start[chosen], end[chosen], eur[is_ok], is_narrow[is_ok])


def both_eur(
    xy_m: NDArray[np.float64], judge: TrenchJudge, prices: PiecePrices
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Price pieces with the full strip and with the narrow one, inf where it may not narrow.

    Returns
    -------
    wide_eur, narrow_eur : ndarray of shape (n,)
    may_be_narrow : ndarray of bool, shape (n,)
    """
    may_be_narrow = judge.may_be_narrow(xy_m)
    wide_eur = prices.eur(xy_m, np.zeros(len(xy_m), np.bool_))
    narrow_eur = np.full(len(xy_m), np.inf)
    if may_be_narrow.any():
        narrow_eur[may_be_narrow] = prices.eur(xy_m[may_be_narrow], np.ones(may_be_narrow.sum(), np.bool_))
    return wide_eur, narrow_eur, may_be_narrow


def _cheapest(line: Line, own_eur: NDArray[np.float64], new: Pieces) -> Line:
    """Return the cheapest way over the line's own pieces and the new ones."""
    n = len(line.xy_m)
    cost_eur = np.full(n, np.inf)
    cost_eur[0] = 0.0
    came_from = np.arange(n) - 1
    is_narrow = np.concatenate([[False], line.is_narrow])
    order = np.argsort(new.start, kind="stable")
    first = np.searchsorted(new.start[order], np.arange(n + 1))
    for at in range(n - 1):
        own = cost_eur[at] + own_eur[at] + FEWER_EUR
        if own < cost_eur[at + 1]:
            cost_eur[at + 1], came_from[at + 1], is_narrow[at + 1] = own, at, line.is_narrow[at]
        for k in order[first[at] : first[at + 1]]:
            to, eur = new.end[k], cost_eur[at] + new.eur[k] + FEWER_EUR
            if eur < cost_eur[to]:
                cost_eur[to], came_from[to], is_narrow[to] = eur, at, new.is_narrow[k]
    keep = [n - 1]
    while keep[-1] > 0:
        keep.append(int(came_from[keep[-1]]))
    kept = np.array(keep[::-1])
    return taken(line, kept, is_narrow[kept[1:]])
