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
_LEAST_EUR = 0.01  # a smaller gain is none
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
    pairs = _pairs_round(moving, at, step_m)
    flat = pairs.reshape(-1, 4)
    wide_eur, narrow_eur, may_be_narrow = both_eur(flat, judge, prices)
    lengths_m = np.hypot(*(flat[:, 2:] - flat[:, :2]).T).reshape(len(at), N_HEADINGS, 2)
    least_eur = np.minimum(wide_eur, narrow_eur).reshape(lengths_m.shape).sum(axis=2)
    least_eur[lengths_m.min(axis=2) < _SHORTEST_M] = np.inf
    now_eur = moving.eur[at - 1] + moving.eur[at]
    bend, choice = np.nonzero(least_eur < now_eur[:, None] - _LEAST_EUR)
    piece = (2 * (bend * N_HEADINGS + choice)[:, None] + np.arange(2)).ravel()
    is_ok, is_narrow = judge.judge(flat[piece], may_be_narrow[piece])
    eur = np.where(is_narrow, narrow_eur[piece], wide_eur[piece]).reshape(-1, 2)
    both = np.where(is_ok.reshape(-1, 2).all(axis=1), eur.sum(axis=1), np.inf)
    order = np.lexsort((both, bend))
    order = order[both[order] < now_eur[bend[order]] - _LEAST_EUR]
    chosen, first = np.unique(bend[order], return_index=True)
    best, moved = order[first], at[chosen]
    for side in (0, 1):
        moving.eur[moved - 1 + side] = eur[best, side]
        moving.is_narrow[moved - 1 + side] = is_narrow.reshape(-1, 2)[best, side]
    moving.xy_m[moved] = pairs[chosen, choice[best], 0, 2:]
    return moved


def _pairs_round(moving: _Moving, at: NDArray[np.int64], step_m: float) -> NDArray[np.float64]:
    """Return the two pieces through each place round each bend, shape (n, N_HEADINGS, 2, 4) [m].

    The headings follow the direction from one neighbour to the other, so that a bend can move along
    and square to it.
    """
    before, after = moving.xy_m[at - 1], moving.xy_m[at + 1]
    along = after - before
    heading = np.arctan2(along[:, 1], along[:, 0])[:, None]
    turn = heading + np.arange(N_HEADINGS) * (2.0 * math.pi / N_HEADINGS)
    place = moving.xy_m[at][:, None] + step_m * np.stack([np.cos(turn), np.sin(turn)], axis=2)
    pairs = np.empty((len(at), N_HEADINGS, 2, 4))
    pairs[:, :, 0, :2], pairs[:, :, 0, 2:] = before[:, None], place
    pairs[:, :, 1, :2], pairs[:, :, 1, 2:] = place, after[:, None]
    return pairs
