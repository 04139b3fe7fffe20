"""Free bends of open cut moved to better places, off the frame, step by smaller step.

Room: ``polish``. Judged by ``corridor``, priced by `prices`. Bends next to each other never move at once, so
that what each gains adds up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.polish.shortcuts import both_eur

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.trench_judge import TrenchJudge
    from routescreen.polish.line import Line
    from routescreen.polish.prices import PiecePrices

N_HEADINGS = 8
_LEAST_EUR = 0.1  # a smaller gain is none
_SWEEPS = 6  # at one step; the next is half as long and may go on
_SHORTEST_M = 1.0  # no bend comes nearer to its neighbour


@dataclass(slots=True)
class _Moving:
    """A line whose bends are being moved: vertices, strips and the price of each piece."""

    xy_m: NDArray[np.float64]
    is_narrow: NDArray[np.bool_]
    eur: NDArray[np.float64]


def moved_bends(
    line: Line, judge: TrenchJudge, prices: PiecePrices, *, first_step_m: float, last_step_m: float
) -> Line:
    """Return the line with its free bends where their two pieces cost least, as far as steps lead there.

    Parameters
    ----------
    line : Line
    judge : TrenchJudge
    prices : PiecePrices
    first_step_m, last_step_m : float
        The longest step of a bend, halved down to the shortest [m].

    Returns
    -------
    Line
        Never dearer by the pieces' prices.
    """
    line = with_edges(line, judge, prices)
    free = np.flatnonzero(~line.is_fixed)
    if len(free) == 0:
        return line
    eur = np.zeros(len(line.is_drive))
    trench = np.flatnonzero(~line.is_drive)
    eur[trench] = prices.eur(line.pieces()[trench], line.is_narrow[trench])
    moving = _Moving(line.xy_m.copy(), line.is_narrow.copy(), eur)
    step_m = first_step_m
    while True:
        _settle(moving, free, step_m, judge, prices)
        if step_m <= last_step_m:
            return replace(line, xy_m=moving.xy_m, is_narrow=moving.is_narrow)
        step_m = max(step_m / 2.0, last_step_m)


def with_edges(line: Line, judge: TrenchJudge, prices: PiecePrices) -> Line:
    """Return the line with a free vertex wherever its open cut passes from one ground to another.

    With the narrow strip only near buildings: there alone a piece of it may begin or end.
    """
    trench = np.flatnonzero(~line.is_drive)
    of_trench, place_m = prices.edges_met(line.pieces()[trench])
    piece = trench[of_trench]
    to_start_m, to_end_m = (np.hypot(*(place_m - line.xy_m[piece + k]).T) for k in (0, 1))
    is_apart = np.minimum(to_start_m, to_end_m) >= _SHORTEST_M
    # of two edges that lie close together one is enough
    is_apart[1:] &= (np.hypot(*np.diff(place_m, axis=0).T) >= _SHORTEST_M) | (piece[1:] != piece[:-1])
    piece, place_m = piece[is_apart], place_m[is_apart]
    may_bend = ~line.is_narrow[piece] | judge.is_near_building(place_m)
    piece, place_m = piece[may_bend], place_m[may_bend]
    return replace(
        line,
        xy_m=np.insert(line.xy_m, piece + 1, place_m, axis=0),
        is_drive=np.insert(line.is_drive, piece, line.is_drive[piece]),
        is_narrow=np.insert(line.is_narrow, piece, line.is_narrow[piece]),
        is_fixed=np.insert(line.is_fixed, piece + 1, False),
    )


def _settle(
    moving: _Moving, free: NDArray[np.int64], step_m: float, judge: TrenchJudge, prices: PiecePrices
) -> None:
    """Move bends by one length of step until none gains."""
    active = free
    for _ in range(_SWEEPS):
        moved = [_moved(moving, active[active % 2 == odd], step_m, judge, prices) for odd in (0, 1)]
        changed = np.concatenate(moved)
        active = np.intersect1d(np.unique(np.concatenate([changed - 1, changed, changed + 1])), free)
        if len(active) == 0:
            return


def _moved(
    moving: _Moving, at: NDArray[np.int64], step_m: float, judge: TrenchJudge, prices: PiecePrices
) -> NDArray[np.int64]:
    """Move each of some bends to the best of the places round it, if that may be dug and is cheaper.

    Returns
    -------
    ndarray of int64
        The bends that moved.
    """
    if len(at) == 0:
        return at
    bend, pairs = _pairs_round(moving, at, step_m, prices)
    flat = pairs.reshape(-1, 4)
    wide_eur, narrow_eur, may_be_narrow = both_eur(flat, judge, prices)
    least_eur = np.minimum(wide_eur, narrow_eur).reshape(-1, 2).sum(axis=1)
    now_eur = (moving.eur[at - 1] + moving.eur[at])[bend] - _LEAST_EUR
    hopeful = np.flatnonzero(least_eur < now_eur)
    piece = (2 * hopeful[:, None] + np.arange(2)).ravel()
    is_ok, is_narrow = judge.judge(flat[piece], may_be_narrow[piece])
    eur = np.where(is_narrow, narrow_eur[piece], wide_eur[piece]).reshape(-1, 2)
    both_pieces_eur = np.where(is_ok.reshape(-1, 2).all(axis=1), eur.sum(axis=1), np.inf)
    order = np.lexsort((both_pieces_eur, bend[hopeful]))
    order = order[both_pieces_eur[order] < now_eur[hopeful[order]]]
    chosen, first = np.unique(bend[hopeful[order]], return_index=True)
    best, moved = order[first], at[chosen]
    for side in (0, 1):
        moving.eur[moved - 1 + side] = eur[best, side]
        moving.is_narrow[moved - 1 + side] = is_narrow.reshape(-1, 2)[best, side]
    moving.xy_m[moved] = pairs[hopeful[best], 0, 2:]
    return moved


def _pairs_round(
    moving: _Moving, at: NDArray[np.int64], step_m: float, prices: PiecePrices
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the two pieces through each place that some bends may move to.

    Places a step away in all headings, the first from neighbour to neighbour, so that a bend can move along
    its way and square to it; and where pieces to those places pass from one ground to another within a step
    of them: the cheapest bend often lies on such an edge, and is found only by going along it.

    Returns
    -------
    bend : ndarray of int64, shape (n,)
        Index into `at`.
    pairs : ndarray of shape (n, 2, 4)
        x1, y1, x2, y2 [m].
    """
    along = moving.xy_m[at + 1] - moving.xy_m[at - 1]
    turns = np.arange(N_HEADINGS) * (2.0 * math.pi / N_HEADINGS)
    turn = np.arctan2(along[:, 1], along[:, 0])[:, None] + turns
    place = moving.xy_m[at][:, None] + step_m * np.stack([np.cos(turn), np.sin(turn)], axis=2)
    bend, place = np.repeat(np.arange(len(at)), N_HEADINGS), place.reshape(-1, 2)
    pairs = _through(moving, at[bend], place)
    line, on_edge = prices.edges_met(pairs.reshape(-1, 4))
    is_near = np.hypot(*(on_edge - place[line // 2]).T) <= step_m
    edge_bend, on_edge = bend[line[is_near] // 2], on_edge[is_near]
    bend = np.concatenate([bend, edge_bend])
    pairs = np.concatenate([pairs, _through(moving, at[edge_bend], on_edge)])
    shortest_m = np.hypot(*(pairs[:, :, 2:] - pairs[:, :, :2]).transpose(2, 0, 1)).min(axis=1)
    return bend[shortest_m >= _SHORTEST_M], pairs[shortest_m >= _SHORTEST_M]


def _through(moving: _Moving, at: NDArray[np.int64], place_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the pieces from the vertex before each bend through a place to the next, shape (n, 2, 4)."""
    first = np.concatenate([moving.xy_m[at - 1], place_m], axis=1)
    return np.stack([first, np.concatenate([place_m, moving.xy_m[at + 1]], axis=1)], axis=1)
