"""The fan of lines from a node and the lines across the frame that they meet, compiled.

Room: ``search``. Work space of ``wedge_kernel``, and the geometry that it follows wedges with.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routescreen.compiled import compiled
from routescreen.search.wedge_ways import Ways, new_ways

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, Integers, SearchArrays

WIDEST_ROWS = 1.0  # a wedge wider than this is cut in two
SLACK_ROWS = 1e-6  # wider than any edge at which a line counts to both sides
SLACK_EUR = 1e-4
N_OPEN = 64  # wedges that can stand open at once: one for each halving
N_BUCKETS = 64

# columns of ``Fan.state`` and ``Fan.place``
PRICE, LENGTH, RATE, LOW, HIGH, CEILING, TAN, TO_BEAT, NET = 0, 1, 2, 3, 4, 5, 6, 7, 8
FIRST, LAST, PASSED, POINTS, ROW0, ROW1, GAP = 0, 1, 2, 3, 4, 5, 6
LEFT, CUT, MET = 0, 1, 2  # why a wedge is not followed further
# ``place[GAP]``: lines in the wedge have met only cells that hold them on one side of the gap of their
# cable's heat, those that keep them below it, or others since
ONE_SIDE, BELOW, EITHER = 0, 1, 2
# ``Fan.node``
X, Y, GROUND, SHIFT_EUR, UNDER, UNDER_TO_BEAT = 0, 1, 2, 3, 4, 5


class Knots(NamedTuple):
    """Lines across the frame ahead of a column, and where a node's directions meet them.

    By number of the line ahead: `turn` tan of the axis' turn; distance of the node from the line
    `ahead_m` + offset * `ahead_by` and place of its foot `aside_m` + offset * `cosine`; for the node at
    work `h_rows` and `foot_row`, both in rows.
    """

    turn: Floats
    ahead_m: Floats
    ahead_by: Floats
    aside_m: Floats
    cosine: Floats
    h_rows: Floats
    foot_row: Floats


class Candidates(NamedTuple):
    """Drives that could win at a node, one a pair and method, in the order found.

    `other` flat node, `method`; for launched here (0) and launched there (1): `bound_eur` (n, 2), inf
    where it can't win, and `level` (n, 2) the least level here; `price_eur` the least price of the drive
    without its shafts, its boreholes and its layout [EUR]; `order` from the least bound on.
    """

    other: Integers
    method: Integers
    bound_eur: Floats
    level: Integers
    price_eur: Floats
    order: Integers
    bucket: Integers


class Fan(NamedTuple):
    """Work space of the wedges of one node.

    `boundary`, `station` knots; `tangent` of each direction against the axis at the column; `width_m` +
    offset * `width_by` the least way through a column ahead; `state`, `place` open wedges: price and
    length so far, least rate, rows at the last boundary, ceiling of the last column, its tangent, what is
    to beat at the node with and without the fees that part it from the start; first and last
    direction, boundaries passed, points of the hull, rows of the last column, what is known of the gap of
    the cable's heat; `hull_x_m`, `hull_z_m`,
    `hull_knot` their hulls; `line_x_m`, `line_z_m` those of one line; `node` facts of the node at work;
    `looked` column, reach and direction that the knots are laid out for.
    """

    ways: Ways
    boundary: Knots
    station: Knots
    tangent: Floats
    width_m: Floats
    width_by: Floats
    state: Floats
    place: Integers
    hull_x_m: Floats
    hull_z_m: Floats
    hull_knot: Integers
    line_x_m: Floats
    line_z_m: Floats
    node: Floats
    looked: Integers
    candidates: Candidates


def _new_knots(n: int) -> Knots:
    return Knots(*(np.zeros(n) for _ in Knots._fields))


def new_fan(s: SearchArrays) -> Fan:
    """Make the work space for all nodes of a pass."""
    n, ny = s.longest_columns + 3, s.ground.ground_m.shape[1]
    n_methods = s.drive.bore_m.shape[0]
    widest = s.max_tan * (1.0 + 1e-6) + 1e-6  # so that the steepest heading lies inside
    rows = 2.0 * widest * n * s.frame.column_m / s.frame.cell_m
    n_wedges = 2 ** max(2, math.ceil(math.log2(max(rows, 1.0) / (0.75 * WIDEST_ROWS))))
    n_pairs = n_methods * n * ny
    return Fan(
        new_ways(s),
        _new_knots(n),
        _new_knots(n),
        np.linspace(-widest, widest, n_wedges + 1),
        np.zeros(n),
        np.zeros(n),
        np.zeros((N_OPEN, 9)),
        np.zeros((N_OPEN, 7), np.int64),
        np.zeros((N_OPEN, n)),
        np.zeros((N_OPEN, n)),
        np.zeros((N_OPEN, n), np.int64),
        np.zeros(n),
        np.zeros(n),
        np.zeros(6),
        np.full(3, -1),
        Candidates(
            np.zeros(n_pairs, np.int64),
            np.zeros(n_pairs, np.int64),
            np.zeros((n_pairs, 2)),
            np.zeros((n_pairs, 2), np.int64),
            np.zeros(n_pairs),
            np.zeros(n_pairs, np.int64),
            np.zeros(N_BUCKETS + 2, np.int64),
        ),
    )


@compiled
def look_from_column(s: SearchArrays, fan: Fan, column: int, is_forward: bool, reach: int) -> None:
    """Lay out what lies ahead of a column, once for all its nodes."""
    if fan.looked[0] == column and fan.looked[1] == reach and fan.looked[2] == int(is_forward):
        return
    fan.looked[0], fan.looked[1], fan.looked[2] = column, reach, int(is_forward)
    side = -1.0 if is_forward else 1.0
    for m in range(1, reach + 1):
        there = column - m if is_forward else column + m
        near = column - m + 1 if is_forward else column + m
        far = near - 1 if is_forward else near + 1
        xy = s.frame.boundary_xy_m[near, 0], s.frame.boundary_xy_m[near, 1]
        _set_knot(s, fan.boundary, m, xy, s.frame.boundary_tangent[near], column, side)
        _set_knot(s, fan.station, m, _axis_point(s, there), s.frame.tangent[there], column, side)
        dx = s.frame.boundary_xy_m[far, 0] - s.frame.boundary_xy_m[near, 0]
        dy = s.frame.boundary_xy_m[far, 1] - s.frame.boundary_xy_m[near, 1]
        tx, ty = s.frame.boundary_tangent[near, 0], s.frame.boundary_tangent[near, 1]
        fan.width_m[m] = side * (dx * tx + dy * ty)
        fan.width_by[m] = side * (
            s.frame.boundary_tangent[far, 1] * tx - s.frame.boundary_tangent[far, 0] * ty
        )


@compiled
def _set_knot(
    s: SearchArrays, knots: Knots, at: int, xy: tuple[float, float], tangent: Floats, column: int, side: float
) -> None:
    """Look at one line across the frame from a column."""
    foot, own_x, own_y = _axis_point(s, column), s.frame.tangent[column, 0], s.frame.tangent[column, 1]
    cosine = own_x * tangent[0] + own_y * tangent[1]
    sine = own_x * tangent[1] - own_y * tangent[0]
    dx, dy = xy[0] - foot[0], xy[1] - foot[1]
    knots.turn[at] = side * sine / max(cosine, 1e-3)
    knots.ahead_m[at] = side * (dx * tangent[0] + dy * tangent[1])
    knots.ahead_by[at] = side * sine
    knots.aside_m[at] = dy * tangent[0] - dx * tangent[1]
    knots.cosine[at] = cosine


@compiled
def _axis_point(s: SearchArrays, column: int) -> tuple[float, float]:
    """Return the point of the axis at a column."""
    x = s.frame.node_xy_m[column, 0, 0] - s.frame.offset0_m * s.frame.tangent[column, 1]
    y = s.frame.node_xy_m[column, 0, 1] + s.frame.offset0_m * s.frame.tangent[column, 0]
    return x, y


@compiled
def look_from_node(s: SearchArrays, fan: Fan, row: int, reach: int) -> None:
    """Turn what a column sees into what one of its nodes sees."""
    _see(s, fan.boundary, row, reach)
    _see(s, fan.station, row, reach)


@compiled
def _see(s: SearchArrays, knots: Knots, row: int, reach: int) -> None:
    offset = s.frame.offset0_m + row * s.frame.cell_m
    for m in range(1, reach + 1):
        knots.h_rows[m] = (knots.ahead_m[m] + offset * knots.ahead_by[m]) / s.frame.cell_m
        knots.foot_row[m] = (knots.aside_m[m] + offset * knots.cosine[m] - s.frame.offset0_m) / s.frame.cell_m


@compiled
def tan_at(knots: Knots, at: int, tangent: float) -> float:
    """Return the tangent of a direction against the axis at a knot."""
    return turned(tangent, knots.turn[at])


@compiled
def turned(tangent: float, turn: float) -> float:
    """Return the tangent of a direction against an axis that has turned by the angle of tangent `turn`."""
    if turn == 0.0:
        return tangent
    return (tangent + turn) / (1.0 - tangent * turn)


@compiled
def row_at(knots: Knots, at: int, tangent: float) -> float:
    """Return the row at which a direction meets a knot."""
    return float(knots.foot_row[at] + knots.h_rows[at] * tan_at(knots, at, tangent))


@compiled
def floor_row(row: float, n_rows: int) -> int:
    """Return the row at or below a place across the frame, the outermost one beyond it."""
    return min(max(math.floor(row), 0), n_rows - 1)
