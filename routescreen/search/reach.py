"""How far drives span near a place, in any plan within a limit: what lies further need not be looked at.

Room: ``search``. Reads both passes' values; solves nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.reach_kernel import drives_within, fill_least, look_over
from routescreen.search.wedge_fan import SLACK_EUR
from routescreen.search.wedge_ways import new_ways

if TYPE_CHECKING:
    from routescreen.search.arrays import Booleans, Floats, SearchArrays
    from routescreen.search.through import Passages
    from routescreen.search.wedge_ways import Ways

MARGIN_M = 1e-6  # lengths added up in another order


@dataclass(frozen=True, slots=True)
class Spans:
    """Drives that a plan within the limit can have about some columns.

    Attributes
    ----------
    n_columns : int
        Most columns that one spans; at least 1.
    last_column : int
        The furthest column where one ends, -1 where there is none.
    """

    n_columns: int
    last_column: int


class Reach:
    """What both passes say of all drives: cheapest starts, rests and rates, by column.

    `start_eur`, `rest_eur` (nx, ny, nr) what a plan costs at least before a drive that starts at a node, and
    behind one that ends there, their shafts included, by the drive's role there; inf where none may [EUR].
    """

    def __init__(self, arrays: SearchArrays, passages: Passages) -> None:
        shape = (*arrays.ground.ground_m.shape, arrays.shaft.table_eur.shape[2])
        self.start_eur, self.rest_eur = np.full(shape, math.inf), np.full(shape, math.inf)
        self._arrays = arrays
        self._ways: Ways = new_ways(arrays)
        look_over(
            arrays,
            passages.forward,
            passages.backward,
            self._ways,
            np.zeros(shape[2], np.int64),
            self.start_eur,
            self.rest_eur,
        )

    def about(
        self,
        ends_from: int,
        starts_before: int,
        limit_eur: float,
        *,
        is_beyond: Booleans | None = None,
        open_method: int | None = None,
    ) -> Spans:
        """Return how far drives span that end in a column or behind it and start before another one.

        Parameters
        ----------
        ends_from, starts_before : int
            Columns.
        limit_eur : float
            Most that a plan may cost [EUR].
        is_beyond : ndarray of shape (nx, ny), optional
            Nodes that something closed parts from the others, for drives of all methods but `open_method`.
        open_method : int, optional
        """
        arrays, longest = self._arrays, int(self._arrays.longest_columns)
        last = arrays.ground.ground_m.shape[0] - 1
        low, high = max(ends_from - longest, 0), min(starts_before - 1 + longest, last)
        if not self._ways.is_bounded[low : high + 1].all():
            return Spans(longest, high)
        window = slice(low, high + 1)
        span = np.array([ends_from - low, starts_before - low, longest])
        sides = np.zeros(arrays.ground.ground_m.shape, np.bool_) if is_beyond is None else is_beyond
        start_eur, rest_eur = (np.empty((high - low + 1, 2, 2)) for _ in range(2))
        most, furthest = 1, -1
        for method in range(self._ways.floor_eur.shape[0]):
            fill_least(self.start_eur, sides, low, high, method, start_eur)
            fill_least(self.rest_eur, sides, low, high, method, rest_eur)
            spanned, end = drives_within(
                start_eur,
                rest_eur,
                self._ways.floor_eur[method, window],
                float(self._ways.longest_m[method]) + MARGIN_M,
                arrays.frame.width_m[window],
                method != open_method,
                span,
                limit_eur + SLACK_EUR,
            )
            most, furthest = max(most, spanned), max(furthest, end)
        return Spans(most, low + furthest if furthest >= 0 else -1)


def most_columns(width_m: Floats, longest_m: float, most: int) -> int:
    """Return how many columns a drive can span where each column is so wide at least, at most `most`.

    The columns between those of its ends are passed whole.

    Examples
    --------
    >>> most_columns(np.array([10.0, 9.0, 10.0]), 30.0, 127)
    4
    """
    narrowest_m = float(width_m.min())  # 0 where boundaries meet beside the corridor, inside a bend
    if narrowest_m * most <= longest_m:
        return most
    return min(most, math.floor((longest_m + MARGIN_M) / narrowest_m) + 1)
