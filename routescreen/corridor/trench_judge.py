"""Whether open cut may lie along any straight piece, on the frame or off it.

Room: ``corridor``. Geometry only; the same tests as those of the frame's moves.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.burn import trench_rules
from routescreen.corridor.burn_bands import barred_bands
from routescreen.corridor.burn_moves import (
    StraightPieces,
    angle_lines_of,
    line_tests,
    strip_tests,
    strips_of,
)
from routescreen.corridor.burn_segments import crossing_segments

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.burn import BurnInput

# A terminal stands where it stands: the longest move from it is as long, in cells, and is judged by its
# line alone; of longer pieces the band counts from there on.
_EXCUSED_CELLS = 5.0
_AT_ONCE = 256  # neighbours are judged together, against what lies near them


class TrenchJudge:
    """Judges straight pieces of open cut in one corridor.

    Parameters
    ----------
    what : BurnInput
    margin_m : float
        How much further than asked for strips and bands keep off on each side [m].
    """

    def __init__(self, what: BurnInput, *, margin_m: float) -> None:
        segments = crossing_segments(what.crossings, window_m=what.assumptions.frame.tangent_window_m)
        self._rules = trench_rules(what, segments, margin_m=margin_m)
        self._angle_lines = angle_lines_of(self._rules)
        self._strips = strips_of(self._rules)
        self._sampler = what.sampler
        frame = what.frame
        self._terminals_m = np.array([frame.node_xy_m[frame.start], frame.node_xy_m[frame.end]])
        self._excused_m = _EXCUSED_CELLS * frame.cell_m

    def may_be_narrow(self, xy_m: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return whether both ends of pieces of shape (n, 4) lie near buildings."""
        place, of_end = np.unique(np.ascontiguousarray(xy_m).view(np.complex128), return_inverse=True)
        is_near = self.is_near_building(place.view(np.float64).reshape(-1, 2))
        return np.asarray(is_near[of_end.ravel()].reshape(-1, 2).all(axis=1))

    def is_near_building(self, xy_m: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return at which places of shape (n, 2) a piece with the narrow strip may begin or end."""
        return self._sampler.is_near_building(xy_m)

    def judge(
        self, xy_m: NDArray[np.float64], may_be_narrow: NDArray[np.bool_]
    ) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Test straight pieces; those that lie near each other should follow each other.

        Parameters
        ----------
        xy_m : ndarray of shape (n, 4)
            x1, y1, x2, y2 [m].
        may_be_narrow : ndarray of bool, shape (n,)
            See `may_be_narrow`.

        Returns
        -------
        is_ok, is_narrow : ndarray of bool, shape (n,)
            Whether a trench may lie there, and whether it may with the narrow strip only.
        """
        is_ok, is_narrow = np.zeros(len(xy_m), np.bool_), np.zeros(len(xy_m), np.bool_)
        for first in range(0, len(xy_m), _AT_ONCE):
            part = slice(first, first + _AT_ONCE)
            is_ok[part], is_narrow[part] = self._judged(xy_m[part], may_be_narrow[part])
        return is_ok, is_narrow

    def _judged(
        self, xy_m: NDArray[np.float64], may_be_narrow: NDArray[np.bool_]
    ) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Test pieces together."""
        pieces = StraightPieces.of(xy_m[:, :2], xy_m[:, 2:])
        is_free, _ = line_tests(pieces, self._rules, self._angle_lines)
        banded_m, has_band = self._banded(xy_m)
        bands = StraightPieces.of(banded_m[:, :2], banded_m[:, 2:])
        barred = barred_bands(
            bands.start_xy_m, bands.end_xy_m, bands.lines, self._rules.band, which=is_free & has_band
        )
        is_wide, is_narrow = strip_tests(pieces, is_free & ~barred, may_be_narrow, self._strips)
        return is_wide | is_narrow, is_narrow

    def _banded(self, xy_m: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
        """Return the pieces without what lies right at a terminal, and which have anything left."""
        banded_m = xy_m.copy()
        along = xy_m[:, 2:] - xy_m[:, :2]
        length_m = np.hypot(along[:, 0], along[:, 1])
        spare_m = length_m.copy()
        for ends, sign in ((slice(0, 2), 1.0), (slice(2, 4), -1.0)):
            away_m = np.hypot(*(xy_m[:, None, ends] - self._terminals_m).transpose(2, 0, 1)).min(axis=1)
            is_tied = away_m < 1e-6
            share = np.where(is_tied, np.minimum(self._excused_m / length_m, 1.0), 0.0)
            banded_m[:, ends] += sign * share[:, None] * along
            spare_m -= share * length_m
        has_band = spare_m > 1e-6
        banded_m[~has_band] = xy_m[~has_band]  # never looked at
        return banded_m, has_band
