"""Which open-cut moves may be made, and which crossings each really meets: exact tests of every move.

Room: ``corridor``. Geometry only; imports the frame, the stencil, obstacles, segments, treatment.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.burn_bands import BandRules, barred_bands, strip_corners
from routescreen.corridor.move_tests import MoveTests, PiecesNear
from routescreen.corridor.obstacles import Obstacles, bounds_of
from routescreen.corridor.stencil import MOVE_CELLS, MOVES, N_MOVES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.burn_segments import Segments
    from routescreen.corridor.frame import Frame

    _Judged = tuple[NDArray[np.bool_], NDArray[np.bool_], tuple[NDArray[np.int64], NDArray[np.int64]]]

_COLUMNS_AT_A_TIME = 64
_SIN_SLACK = 1e-9
_FEW_OF_ALL = 0.5


@dataclass(frozen=True, slots=True)
class MoveRules:
    """What an open-cut move must keep to.

    Attributes
    ----------
    strip_m, narrow_strip_m : float
        Width of the working strip, and of the narrow one near buildings [m].
    strip_obstacles : Obstacles
        Features without trench, kept clear of by the working strip.
    line_obstacles : Obstacles
        What the trench itself must not touch: the corridor's edge, ground cover without trench.
    outlines : Obstacles
        Outlines of all crossings, clearance 0.
    angle_segments : Segments
        Centre lines and banks with a least crossing angle.
    band : BandRules
        What the band of all trenches keeps to.
    may_be_narrow : ndarray of bool, shape (nx, ny)
        Nodes near buildings.
    has_no_trench : ndarray of bool, shape (nx, ny)
        Cells whose ground cover bars a trench.
    """

    strip_m: float
    narrow_strip_m: float
    strip_obstacles: Obstacles
    line_obstacles: Obstacles
    outlines: Obstacles
    angle_segments: Segments
    band: BandRules
    may_be_narrow: NDArray[np.bool_]
    has_no_trench: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Moves:
    """Result for all moves; see ``burn.Burnt`` for the arrays."""

    move_ok: NDArray[np.bool_]
    move_narrow: NDArray[np.bool_]
    pair_move: NDArray[np.int64]
    pair_crossing: NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class StraightPieces:
    """Straight pieces of open cut: both ends, shape (n, 2), their lines, the box round all [m]."""

    start_xy_m: NDArray[np.float64]
    end_xy_m: NDArray[np.float64]
    lines: shapely.STRtree
    bounds_m: tuple[float, float, float, float]

    @classmethod
    def of(cls, start_xy_m: NDArray[np.float64], end_xy_m: NDArray[np.float64]) -> StraightPieces:
        """Prepare pieces; there may be none."""
        ends = np.stack([start_xy_m, end_xy_m], axis=1)
        bounds_m = bounds_of(ends) if len(ends) else (0.0, 0.0, 0.0, 0.0)
        return cls(start_xy_m, end_xy_m, shapely.STRtree(shapes.lines(ends)), bounds_m)


@dataclass(frozen=True, slots=True)
class _Batch:
    """Some moves between nodes of the corridor: flat index, nodes of both ends and where they lie [m].

    `place` tells at which of `node_xy_m`, the nodes that moves start from, each starts.
    """

    flat: NDArray[np.int64]
    start: NDArray[np.int64]
    end: NDArray[np.int64]
    start_xy_m: NDArray[np.float64]
    end_xy_m: NDArray[np.float64]
    place: NDArray[np.int64]
    node_xy_m: NDArray[np.float64]

    def taken(self, which: NDArray[np.int64]) -> _Batch:
        """Return some of the moves."""
        ends = (self.start_xy_m[which], self.end_xy_m[which])
        return _Batch(
            self.flat[which], self.start[which], self.end[which], *ends, self.place[which], self.node_xy_m
        )


@dataclass(frozen=True, slots=True)
class Strip:
    """A working strip, what it keeps clear of, and the areas that find the moves near that."""

    width_m: float
    obstacles: Obstacles
    around: Obstacles

    @classmethod
    def of(cls, width_m: float, obstacles: Obstacles) -> Strip:
        """Prepare for a width."""
        return cls(width_m, obstacles, obstacles.roomy(width_m / 2.0))


def judge_moves(frame: Frame, rules: MoveRules) -> Moves:
    """Test every move between two nodes of the corridor.

    Parameters
    ----------
    frame : Frame
    rules : MoveRules

    Returns
    -------
    Moves
        Pairs are sorted by move, then crossing, and listed for forbidden moves too.
    """
    n_columns, n_rows = frame.shape
    move_ok = np.zeros(n_columns * n_rows * N_MOVES, dtype=np.bool_)
    move_narrow = np.zeros_like(move_ok)
    pairs = [(np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64))]
    judge = _Judge.of(frame, rules)
    for first in range(0, n_columns, _COLUMNS_AT_A_TIME):
        batch = _moves_from(frame, first, min(first + _COLUMNS_AT_A_TIME, n_columns))
        if len(batch.flat) == 0:
            continue
        is_wide, is_narrow, (crossing, piece) = judge.judged(batch)
        move_ok[batch.flat] = is_wide | is_narrow
        move_narrow[batch.flat] = is_narrow
        pairs.append((batch.flat[piece], crossing))
    move, crossing = (np.concatenate(part) for part in zip(*pairs, strict=True))
    order = np.lexsort((crossing, move))
    shape = (n_columns, n_rows, N_MOVES)
    return Moves(
        move_ok.reshape(shape), move_narrow.reshape(shape), move[order], crossing[order].astype(np.int32)
    )


@dataclass(frozen=True, slots=True)
class _Judge:
    """Judges moves of a frame: nearly all by their distances, those that rounding could turn exactly.

    What is unsure goes through the same tests as single pieces of a finished line do.
    """

    frame: Frame
    rules: MoveRules
    angle_lines: Obstacles
    strips: tuple[Strip, Strip]
    tests: MoveTests

    @classmethod
    def of(cls, frame: Frame, rules: MoveRules) -> _Judge:
        """Prepare for rules."""
        lines, strips = angle_lines_of(rules), strips_of(rules)
        tests = MoveTests.of(rules.line_obstacles, rules.outlines, lines, rules.band, rules.strip_obstacles)
        return cls(frame, rules, lines, strips, tests)

    def judged(self, batch: _Batch) -> _Judged:
        """Return which moves have room for the full strip, which for the narrow one, and what they meet.

        The latter as pairs of (crossing, move).
        """
        here = self.tests.at(batch.start_xy_m, batch.end_xy_m, batch.place, batch.node_xy_m, self._bucket_m)
        is_free, (crossing, piece) = here.lines(), here.met()
        is_free &= ~self._is_too_flat(batch, here)
        is_free &= ~_touches_barred_cover(self.frame, batch, self.rules.has_no_trench)
        here.bar_bands(is_free, ~self._is_tied(batch))
        widths_m = self.rules.strip_m, self.rules.narrow_strip_m
        is_wide = is_free & ~here.blocked(is_free, widths_m[0] / 2.0)
        is_narrow = is_free & ~is_wide & self._may_be_narrow(batch)
        is_narrow &= ~here.blocked(is_narrow, widths_m[1] / 2.0)
        unsure = np.flatnonzero(here.is_unsure)
        if len(unsure) == 0:
            return is_wide, is_narrow, (crossing, piece)
        is_wide[unsure], is_narrow[unsure], met = self._exactly(batch.taken(unsure))
        is_kept = ~here.is_unsure[piece]
        crossing = np.concatenate([crossing[is_kept], met[0]])
        return is_wide, is_narrow, (crossing, np.concatenate([piece[is_kept], unsure[met[1]]]))

    @property
    def _bucket_m(self) -> float:
        """Return a spacing of buckets of half the longest move or so [m]."""
        return 2.5 * max(self.frame.cell_m, self.frame.column_spacing_m)

    def _is_too_flat(self, batch: _Batch, here: PiecesNear) -> NDArray[np.bool_]:
        """Return which moves meet a line at less than its angle."""
        segment, piece = here.crossed()
        is_flat = np.zeros(len(batch.flat), dtype=np.bool_)
        ends = batch.start_xy_m[piece], batch.end_xy_m[piece]
        is_flat[piece[_is_below_angle(*ends, segment, self.rules.angle_segments)]] = True
        return is_flat

    def _is_tied(self, batch: _Batch) -> NDArray[np.bool_]:
        """Return which moves leave or reach a terminal: it stands where it stands, their line is judged."""
        n_rows = self.frame.shape[1]
        terminals = [column * n_rows + row for column, row in (self.frame.start, self.frame.end)]
        return np.isin(batch.start, terminals) | np.isin(batch.end, terminals)

    def _may_be_narrow(self, batch: _Batch) -> NDArray[np.bool_]:
        may_be_narrow = self.rules.may_be_narrow.ravel()
        return np.asarray(may_be_narrow[batch.start] & may_be_narrow[batch.end])

    def _exactly(self, batch: _Batch) -> _Judged:
        """Judge moves by exact predicates alone."""
        pieces = StraightPieces.of(batch.start_xy_m, batch.end_xy_m)
        is_free, met = line_tests(pieces, self.rules, self.angle_lines)
        is_free &= ~_touches_barred_cover(self.frame, batch, self.rules.has_no_trench)
        which = is_free & ~self._is_tied(batch)
        ends = pieces.start_xy_m, pieces.end_xy_m
        is_free[barred_bands(*ends, pieces.lines, self.rules.band, which=which)] = False
        return *strip_tests(pieces, is_free, self._may_be_narrow(batch), self.strips), met


def _moves_from(frame: Frame, first: int, last: int) -> _Batch:
    """Return all moves that leave the columns first .. last - 1 and end at a node of the corridor."""
    n_columns, n_rows = frame.shape
    column, row = np.nonzero(frame.is_valid[first:last])
    column = column + first
    node = np.repeat(np.arange(len(column)), N_MOVES)
    move = np.tile(np.arange(N_MOVES), len(column))
    to_column, to_row = column[node] + MOVES[move, 0], row[node] + MOVES[move, 1]
    is_in = (to_column < n_columns) & (to_row >= 0) & (to_row < n_rows)
    node, move, to_column, to_row = node[is_in], move[is_in], to_column[is_in], to_row[is_in]
    is_in = frame.is_valid[to_column, to_row]
    node, move, to_column, to_row = node[is_in], move[is_in], to_column[is_in], to_row[is_in]
    start = column[node] * n_rows + row[node]
    end = to_column * n_rows + to_row
    xy = frame.node_xy_m.reshape(-1, 2)
    node_xy_m = frame.node_xy_m[column, row]
    return _Batch(start * N_MOVES + move, start, end, xy[start], xy[end], node, node_xy_m)


def angle_lines_of(rules: MoveRules) -> Obstacles:
    """Return the lines that ask for a crossing angle as what pieces may meet."""
    return Obstacles.of(rules.angle_segments.lines(), np.zeros(len(rules.angle_segments)))


def strips_of(rules: MoveRules) -> tuple[Strip, Strip]:
    """Return the working strip and the narrow one with what they keep clear of."""
    return Strip.of(rules.strip_m, rules.strip_obstacles), Strip.of(
        rules.narrow_strip_m, rules.strip_obstacles
    )


def line_tests(
    pieces: StraightPieces, rules: MoveRules, angle_lines: Obstacles
) -> tuple[NDArray[np.bool_], tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """Test the trench's own line: the ground it may lie in, and the angles at which it crosses.

    Parameters
    ----------
    pieces : StraightPieces
        n of them.
    rules : MoveRules
    angle_lines : Obstacles
        See `angle_lines_of`.

    Returns
    -------
    is_free : ndarray of bool, shape (n,)
    met : tuple of ndarray of int64
        The pairs (crossing, piece) that really meet.
    """
    is_free = np.ones(len(pieces.start_xy_m), dtype=np.bool_)
    blocked, met, crossed = (
        obstacles.too_near(pieces.lines, obstacles.near(pieces.bounds_m))
        for obstacles in (rules.line_obstacles, rules.outlines, angle_lines)
    )
    is_free[blocked[1]] = False
    segment, piece = crossed
    ends = pieces.start_xy_m[piece], pieces.end_xy_m[piece]
    is_free[piece[_is_below_angle(*ends, segment, rules.angle_segments)]] = False
    return is_free, met


def _is_below_angle(
    start_xy_m: NDArray[np.float64],
    end_xy_m: NDArray[np.float64],
    segment: NDArray[np.int64],
    segments: Segments,
) -> NDArray[np.bool_]:
    """Return of pairs of piece and segment that meet whether they do so at less than the segment's angle."""
    along, across = end_xy_m - start_xy_m, segments.tangent[segment]
    sine = np.abs(along[:, 0] * across[:, 1] - along[:, 1] * across[:, 0]) / np.hypot(*along.T)
    return np.asarray(sine < segments.sin_min_angle[segment] - _SIN_SLACK)


def _touches_barred_cover(frame: Frame, batch: _Batch, has_no_trench: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which moves run over a cell whose ground cover bars a trench."""
    n_columns, n_rows = frame.shape
    column, row = np.divmod(batch.start, n_rows)
    move = batch.flat % N_MOVES
    touches = np.zeros(len(move), dtype=np.bool_)
    if not has_no_trench.any():
        return touches
    for k, cells in enumerate(MOVE_CELLS):
        of_kind = np.flatnonzero(move == k)
        for step, side, share in cells:
            if share > 0.0:
                at = column[of_kind] + step, np.clip(row[of_kind] + side, 0, n_rows - 1)
                touches[of_kind] |= has_no_trench[np.minimum(at[0], n_columns - 1), at[1]]
    return touches


def strip_tests(
    pieces: StraightPieces,
    is_free: NDArray[np.bool_],
    may_be_narrow: NDArray[np.bool_],
    strips: tuple[Strip, Strip],
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Find the room for the working strip.

    Parameters
    ----------
    pieces : StraightPieces
        n of them.
    is_free : ndarray of bool, shape (n,)
        Those to look at.
    may_be_narrow : ndarray of bool, shape (n,)
        Whether both ends lie near buildings.
    strips : tuple of Strip
        The full and the narrow one; see `strips_of`.

    Returns
    -------
    is_wide, is_narrow : ndarray of bool, shape (n,)
        Which of the free pieces have room for the full strip, and which only for the narrow one.
    """
    wide, narrow = strips
    is_wide = is_free & ~_blocked(pieces, is_free, wide)
    is_narrow = is_free & ~is_wide & may_be_narrow
    is_narrow &= ~_blocked(pieces, is_narrow, narrow)
    return is_wide, is_narrow


def _blocked(pieces: StraightPieces, which: NDArray[np.bool_], strip: Strip) -> NDArray[np.bool_]:
    """Return which of some pieces have a strip that comes too near to an obstacle."""
    is_blocked = np.zeros(len(which), dtype=np.bool_)
    piece = _near_pieces(pieces, which, strip.around)
    if len(piece) == 0:
        return is_blocked
    corners = strip_corners(pieces.start_xy_m[piece], pieces.end_xy_m[piece], strip.width_m)
    tree = shapely.STRtree(shapes.polygons(corners))
    _, work = strip.obstacles.too_near(tree, strip.obstacles.near(bounds_of(corners)))
    is_blocked[piece[work]] = True
    return is_blocked


def _near_pieces(pieces: StraightPieces, which: NDArray[np.bool_], around: Obstacles) -> NDArray[np.int64]:
    """Return those of some pieces that meet areas, in order."""
    chosen = np.flatnonzero(which)
    if len(chosen) > _FEW_OF_ALL * len(which):
        _, piece = around.too_near(pieces.lines, around.near(pieces.bounds_m))
        return np.unique(piece[which[piece]])
    lines = shapely.STRtree(pieces.lines.geometries[chosen])  # few are asked for: spares looking at all
    _, piece = around.too_near(lines, around.near(pieces.bounds_m))
    return np.unique(chosen[piece])
