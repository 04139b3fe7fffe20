"""What any straight piece of open cut costs: the prices of the frame's moves, off the frame.

Room: ``polish``. Puts ``search``'s cutting and counting of lines together with ``money``'s prices.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.money.measure import rates_eur, trench_eur_per_m
from routescreen.search.ground_lines import GroundLines
from routescreen.search.pair_runs import count_runs
from routescreen.search.trench_prices import crossing_fees, inside_parts, inside_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Crossings
    from routescreen.search.arrays import Floats, Integers
    from routescreen.search.ground_lines import Pieces


class PiecePrices:
    """Prices straight pieces of open cut in one corridor.

    Parameters
    ----------
    sampler : GroundSampler
    crossings : Crossings
    assumptions : Assumptions
    """

    def __init__(self, sampler: GroundSampler, crossings: Crossings, assumptions: Assumptions) -> None:
        self._lines = GroundLines(sampler, assumptions)
        self._crossings = crossings
        self._assumptions = assumptions
        shapely.prepare(crossings.outline)
        self._tree = shapely.STRtree(crossings.outline)
        self._fee_eur = crossing_fees(crossings, assumptions, is_trench=True) @ rates_eur(assumptions)
        keys = crossings.inside_keys()
        self._kinds = list(dict.fromkeys(keys))
        self._kind = np.array([self._kinds.index(key) for key in keys], np.int64)
        self._tables: tuple[int, Floats, list[Floats | None]] = (-1, np.zeros((0, 0)), [])

    def eur(self, xy_m: Floats, is_narrow: NDArray[np.bool_]) -> Floats:
        """Price pieces along their true lines.

        A crossing's own items are paid by the piece that enters it, once for each unbroken run in it; what a
        run began inside of is left out, so that prices of pieces that follow each other add up.

        Parameters
        ----------
        xy_m : ndarray of shape (n, 4)
            x1, y1, x2, y2 [m].
        is_narrow : ndarray of bool, shape (n,)

        Returns
        -------
        ndarray of shape (n,)
            [EUR]
        """
        pieces = self._lines.cut(xy_m)
        pairs = self._met(xy_m)
        inside, owner, kind = self._inside(xy_m, *pairs)
        table, inside_tables = self._price_tables()
        eur = np.zeros(len(xy_m))
        parts_eur = self._lines.eur(pieces.xy_m, pieces.ground, is_narrow[pieces.owner], table)
        np.add.at(eur, pieces.owner, parts_eur)
        for number in np.unique(kind):
            at = np.flatnonzero(kind == number)
            strips = is_narrow[owner[at]]
            more_table = self._inside_table(int(number), inside_tables, inside.ground[at])
            more = self._lines.eur(inside.xy_m[at], inside.ground[at], strips, more_table)
            np.add.at(eur, owner[at], more)
        self._add_fees(eur, xy_m, *pairs)
        return eur

    def _met(self, xy_m: Floats) -> tuple[Integers, Integers]:
        """Return the pairs of pieces and crossings that meet."""
        lines = shapes.lines(xy_m.reshape(-1, 2, 2))
        piece, crossing = self._tree.query(lines)
        is_met = shapely.intersects(self._crossings.outline[crossing], lines[piece])  # outlines are prepared
        return piece[is_met], crossing[is_met]

    def edges_met(self, xy_m: Floats) -> tuple[Integers, Floats]:
        """Return where lines pass from one ground of the ground layer to another.

        Parameters
        ----------
        xy_m : ndarray of shape (n, 4)
            x1, y1, x2, y2 [m].

        Returns
        -------
        line : ndarray of int64, shape (k,)
        place_xy_m : ndarray of shape (k, 2)
            In order of the lines and along each [m].
        """
        pieces = self._lines.cut(xy_m)
        is_within = pieces.owner[1:] == pieces.owner[:-1]
        return pieces.owner[1:][is_within], pieces.xy_m[1:, :2][is_within]

    def _inside(self, xy_m: Floats, piece: Integers, crossing: Integers) -> tuple[Pieces, Integers, Integers]:
        """Cut out what lies inside crossings that cost more by the metre; its piece, its kind of crossing."""
        tables = self._price_tables()[1]
        is_dear = np.array([table is None or bool(table.any()) for table in tables], np.bool_)
        is_dear = is_dear[self._kind[crossing]]
        piece, crossing = piece[is_dear], crossing[is_dear]
        parts_xy, pair = inside_parts(xy_m[piece], self._crossings.outline[crossing])
        inside = self._lines.cut(parts_xy)
        of_pair = pair[inside.owner]
        return inside, piece[of_pair], self._kind[crossing[of_pair]]

    def _add_fees(self, eur: Floats, xy_m: Floats, piece: Integers, crossing: Integers) -> None:
        """Add what each entry into a crossing costs to the pieces that enter it."""
        is_dear = self._fee_eur[crossing] != 0.0
        piece, crossing = piece[is_dear], crossing[is_dear]
        np.add.at(eur, piece, self._entered(xy_m[piece], crossing) * self._fee_eur[crossing])

    def _entered(self, xy_m: Floats, crossing: Integers) -> Integers:
        """Count how often each piece enters the crossing that it meets."""
        if len(crossing) == 0:
            return np.zeros(0, np.int64)
        used, of_piece = np.unique(crossing, return_inverse=True)
        outline = self._crossings.outline[crossing]
        begins, ends = (shapely.intersects_xy(outline, xy_m[:, k], xy_m[:, k + 1]) for k in (0, 2))
        n_runs = count_runs(
            xy_m,
            self._crossings.outline[used],
            of_piece.astype(np.int64),
            gap_m=self._assumptions.frame.merge_gap_m,
            is_end_inside=begins | ends,
        )
        return np.asarray(n_runs - begins)

    def _inside_table(self, number: int, tables: list[Floats | None], ground: Integers) -> Floats:
        """Return the prices of a metre inside a kind of crossing; with a dip on some ground only."""
        known = tables[number]
        if known is not None:
            return known
        return inside_table(self._lines, self._kinds[number], self._assumptions, ground)

    def _price_tables(self) -> tuple[Floats, list[Floats | None]]:
        """Return the prices of a metre, and of a metre inside each kind, on all ground met so far.

        None where there is a dip, which takes long to lay out: that is priced on the ground where it is met.
        """
        a, n_grounds = self._assumptions, len(self._lines.grounds().soil_class)
        if self._tables[0] != n_grounds:
            whole = self._lines.price_table(lambda samples, narrow: trench_eur_per_m(samples, narrow, a))
            inside = [inside_table(self._lines, key, a) if key[1] is None else None for key in self._kinds]
            self._tables = (n_grounds, whole, inside)
        return self._tables[1], self._tables[2]
