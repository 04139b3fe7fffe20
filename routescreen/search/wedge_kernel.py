"""Which drives could win at a node, compiled: a bound for all lines from it, wedge by wedge.

Room: ``search``. Bounds only pass over what can't win; the drives that they let through are scanned
exactly by ``drive_kernel``.

From a node all straight lines to earlier nodes form a fan. It is cut into wedges between two
directions, and a wedge is followed from boundary to boundary of the columns. Every line in it crosses
each boundary between the places where the wedge's two directions cross it, so that in each column

* its price is at least the least rate of the rows between, times the least length that a line of the
  wedge has in the column;
* its crown lies no higher than the highest ceiling of the rows between.

The first bounds the price of the drive. Of the second the lower hull is kept, which bounds the depths of
both shafts together. Where the cable bears its current near the surface or in the groundwater and not
between, a line that some cell keeps below this gap can't rise over it in the cells next to that, nor in
theirs: its ceilings are then those below the gap, on towards the other end and back at the node; see
``wedge_ways.Ways.below_m``. Where a wedge grows wider than a row it is cut in two, each half keeping what is
known so far. A wedge is left when all its rows are closed, or when even the cheapest start further on
can't bring it below what is to beat. A node is judged within the one wedge that holds its direction.
Nothing here is sampled: the rows between two directions hold every line between them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from routescreen.compiled import by_reference, compiled, compiled_within, no_literal
from routescreen.search.arrays import BLOCKED_M
from routescreen.search.shaft_kernel import depth_level
from routescreen.search.wedge_bound import push_point
from routescreen.search.wedge_fan import (
    BELOW,
    CEILING,
    CUT,
    EITHER,
    FIRST,
    GAP,
    GROUND,
    HIGH,
    LAST,
    LEFT,
    LENGTH,
    LOW,
    MET,
    NET,
    ONE_SIDE,
    PASSED,
    POINTS,
    PRICE,
    RATE,
    ROW0,
    ROW1,
    SHIFT_EUR,
    SLACK_EUR,
    SLACK_ROWS,
    TAN,
    TO_BEAT,
    UNDER,
    UNDER_TO_BEAT,
    WIDEST_ROWS,
    X,
    Y,
    floor_row,
    tan_at,
    turned,
)
from routescreen.search.wedge_judge import judge_station
from routescreen.search.wedge_ways import SLACK_M, Ways, has_gap, least_way_eur

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, Integers, SearchArrays
    from routescreen.search.label_kernel import Found, Ring
    from routescreen.search.wedge_fan import Fan


class Lane(NamedTuple):
    """What the wedges of one method are followed through from a node; see ``wedge_ways.Ways``."""

    rate_eur: Floats
    pair_rate_eur: Floats
    ceiling_m: Floats
    pair_ceiling_m: Floats
    below_m: Floats
    pair_below_m: Floats
    has_gap: bool
    way_eur: Floats
    pair_way_eur: Floats
    node_eur: Floats
    rest_eur: Floats
    longest_m: float
    aside_rows: float
    offset0_m: float
    cell_m: float
    column: int
    side: int
    reach: int


@compiled
def is_hopeless(
    s: SearchArrays,
    ways: Ways,
    threshold_eur: Floats,
    least: Integers,
    column: int,
    row: int,
    is_forward: bool,
) -> bool:
    """Return whether no drive at all could win at a node, by what is under way next to it."""
    for method in range(ways.reach.shape[0]):
        to_beat = _to_beat_eur(s, threshold_eur, least, method, s.shaft.wet_level[column, row])
        if _least_ahead_eur(ways, method, column, row, is_forward) < _net_eur(
            s, to_beat, method, column, row, is_forward
        ):
            return False
    return True


@compiled
def _to_beat_eur(s: SearchArrays, threshold_eur: Floats, least: Integers, method: int, wet: int) -> float:
    """Return the most that a drive of a method has to beat at a node, less what every drive costs [EUR]."""
    to_beat = -math.inf
    for role in range(1 + 2 * method, 3 + 2 * method):
        if least[role] < threshold_eur.shape[1]:
            pump = s.drive.pump_eur[method] if least[role] >= wet else 0.0
            to_beat = max(to_beat, threshold_eur[role, least[role]] - pump)
    return float(to_beat - s.drive.fixed_eur[method])


@compiled
def _to_beat_under(
    s: SearchArrays, threshold_eur: Floats, least: Integers, method: int, crown: tuple[float, float, int]
) -> float:
    """Return what is to beat below a level of the crown; `crown` ground, that level, first wet level."""
    to_beat, (ground, below, wet) = -math.inf, crown
    for role in range(1 + 2 * method, 3 + 2 * method):
        level = max(least[role], depth_level(s, ground, below + SLACK_M, s.drive.bore_m[method], role))
        if level < threshold_eur.shape[1]:
            pump = s.drive.pump_eur[method] if level >= wet else 0.0
            to_beat = max(to_beat, threshold_eur[role, level] - pump)
    return float(to_beat - s.drive.fixed_eur[method])


@compiled
def _net_eur(s: SearchArrays, to_beat: float, method: int, column: int, row: int, is_forward: bool) -> float:
    """Return what is to beat before the fees that part the node from the start [EUR]."""
    passed = s.drive.passed_eur[method, column, row]
    return float(to_beat - passed * (1.0 if is_forward else -1.0) + SLACK_EUR)


@compiled
def _least_ahead_eur(ways: Ways, method: int, column: int, row: int, is_forward: bool) -> float:
    boundary, spread = (column if is_forward else column + 1), ways.spread[0]
    least = least_way_eur(ways, method, boundary, row - spread, row + spread)
    return max(least, float(ways.rest_eur[method, 0]))


@compiled
def collect(
    s: SearchArrays,
    fan: Fan,
    ring: Ring,
    found: Found,
    column: int,
    row: int,
    is_forward: bool,
) -> tuple[int, int]:
    """Collect the drives that could win at a node; see ``Candidates``.

    Parameters
    ----------
    s : SearchArrays
    fan : Fan
        Laid out for the node by ``look_from_column``, ``look_from_node`` and ``wedge_ways.look_ahead``.
    ring : Ring
        Start costs of the columns within reach.
    found : Found
        What is to beat at the node.
    column, row : int
    is_forward : bool

    Returns
    -------
    tuple of int
        How many candidates there are, and how many pairs were judged by their depths.
    """
    node = fan.node
    n_found, n_judged = no_literal(0), no_literal(0)
    node[X], node[Y] = s.frame.node_xy_m[column, row, 0], s.frame.node_xy_m[column, row, 1]
    node[GROUND] = s.ground.ground_m[column, row]
    for method in range(fan.ways.reach.shape[0]):
        to_beat = _to_beat_eur(s, found.threshold, found.least, method, s.shaft.wet_level[column, row])
        net = _net_eur(s, to_beat, method, column, row, is_forward)
        if _least_ahead_eur(fan.ways, method, column, row, is_forward) >= net:
            continue
        node[SHIFT_EUR] = _net_eur(s, 0.0, method, column, row, is_forward)
        node[UNDER] = fan.ways.below_m[method, column % fan.ways.opened.shape[0], row]
        if node[UNDER] < math.inf:
            node[UNDER_TO_BEAT] = _to_beat_under(
                s,
                found.threshold,
                found.least,
                method,
                (node[GROUND], node[UNDER], s.shaft.wet_level[column, row]),
            )
        lane = by_reference(_lane(s, fan, method, column, is_forward))
        top = _open_fan(fan, method, column, row, to_beat)
        while top >= 0:
            why = _follow(lane, fan, top)
            if why == CUT:
                _halve(fan, top)
                top += 1
            elif why == MET:
                n_found, judged = judge_station(
                    s,
                    fan,
                    ring,
                    found,
                    method,
                    column,
                    row,
                    is_forward,
                    top,
                    n_found,
                )
                n_judged += judged
            else:
                top -= 1
    return n_found, n_judged


@compiled
def _open_fan(fan: Fan, method: int, column: int, row: int, to_beat: float) -> int:
    """Open one wedge that holds all directions; return its place on the stack."""
    state, place = fan.state[0], fan.place[0]
    slot = column % fan.ways.opened.shape[0]
    ceiling = fan.ways.ceiling_m[method, slot, row]
    state[PRICE], state[LENGTH], state[RATE] = 0.0, 0.0, fan.ways.rate_eur[method, slot, row]
    state[LOW], state[HIGH], state[CEILING], state[TAN] = row, row, ceiling, fan.tangent[0]
    place[FIRST], place[LAST], place[PASSED], place[POINTS] = 0, fan.tangent.shape[0] - 1, 0, 1
    place[GAP] = ONE_SIDE
    state[TO_BEAT], state[NET] = to_beat, to_beat + fan.node[SHIFT_EUR]
    fan.hull_x_m[0, 0], fan.hull_z_m[0, 0], fan.hull_knot[0, 0] = 0.0, ceiling, 0
    return no_literal(0)


@compiled_within
def _lane(s: SearchArrays, fan: Fan, method: int, column: int, is_forward: bool) -> Lane:
    """Lay out what the wedges of a method are followed through."""
    ways = fan.ways
    return Lane(
        ways.rate_eur[method],
        ways.pair_rate_eur[method],
        ways.ceiling_m[method],
        ways.pair_ceiling_m[method],
        ways.below_m[method],
        ways.pair_below_m[method],
        has_gap(s, method),
        ways.way_eur[:, method],
        ways.pair_way_eur[:, method],
        ways.node_eur[:, method],
        ways.rest_eur[method],
        ways.longest_m[method],
        s.frame.aside_rows + SLACK_ROWS,
        s.frame.offset0_m,
        s.frame.cell_m,
        column,
        -1 if is_forward else 1,
        ways.reach[method],
    )


@compiled
def _follow(lane: Lane, fan: Fan, top: int) -> int:
    """Follow a wedge from boundary to boundary; the innermost loop, so all that it reads is at hand.

    Returns
    -------
    int
        ``LEFT`` where nothing further on can win in it, ``CUT`` where it would grow too wide, ``MET``
        where the next station has nodes in it that could win by their price.
    """
    state, place = fan.state[top], fan.place[top]
    hull = (fan.hull_x_m[top], fan.hull_z_m[top], fan.hull_knot[top])
    station = (fan.station.turn, fan.station.foot_row, fan.station.h_rows)
    widths, tangent, node = (fan.width_m, fan.width_by), fan.tangent, fan.node
    b_turn, b_foot, b_ahead = fan.boundary.turn, fan.boundary.foot_row, fan.boundary.h_rows
    rate_eur, pair_rate_eur = lane.rate_eur, lane.pair_rate_eur
    ceiling_m, pair_ceiling_m = lane.ceiling_m, lane.pair_ceiling_m
    below_m, pair_below_m, has_a_gap = lane.below_m, lane.pair_below_m, lane.has_gap
    way_eur, pair_way_eur, node_eur, rest_eur = lane.way_eur, lane.pair_way_eur, lane.node_eur, lane.rest_eur
    longest, aside, offset0, cell = lane.longest_m, lane.aside_rows, lane.offset0_m, lane.cell_m
    column, side, reach = lane.column, lane.side, lane.reach
    n, ny = rate_eur.shape
    first, last, passed, points = place[FIRST], place[LAST], place[PASSED], place[POINTS]
    price, length, least = state[PRICE], state[LENGTH], state[RATE]
    low, high, before, tan0 = state[LOW], state[HIGH], state[CEILING], state[TAN]
    side_of_gap, net = place[GAP], state[NET]
    under = 1 if side_of_gap == BELOW else 0  # the costs of all drives count, or of those below the gap
    u0, u1 = tangent[first], tangent[last]
    why, row0, row1 = LEFT, 0, 0
    slot = (column + side * passed) % n
    while passed < reach and length <= longest and price + rest_eur[passed] < net:
        far = passed + 1
        far0, far1 = turned(u0, b_turn[far]), turned(u1, b_turn[far])
        far_low, far_high = b_foot[far] + b_ahead[far] * far0, b_foot[far] + b_ahead[far] * far1
        if far_high < -aside or far_low > ny - 1.0 + aside:
            break
        if far_high - far_low > WIDEST_ROWS and last - first > 1:
            why = CUT
            break
        row0 = floor_row(min(low, far_low) + 0.5 - SLACK_ROWS, ny)
        row1 = floor_row(max(high, far_high) + 0.5 + SLACK_ROWS, ny)
        rate, ceiling = rate_eur[slot, row0], ceiling_m[slot, row0]
        if row1 > row0:  # two pairs hold up to four rows
            rate = min(pair_rate_eur[slot, row0], pair_rate_eur[slot, row1 - 1])
            ceiling = max(pair_ceiling_m[slot, row0], pair_ceiling_m[slot, row1 - 1])
            for row in range(row0 + 2, row1 - 1):
                rate = min(rate, rate_eur[slot, row])
                ceiling = max(ceiling, ceiling_m[slot, row])
        if ceiling < BLOCKED_M:
            break
        if has_a_gap:
            below = below_m[slot, row0]
            if row1 > row0:
                below = max(pair_below_m[slot, row0], pair_below_m[slot, row1 - 1])
                for row in range(row0 + 2, row1 - 1):
                    below = max(below, below_m[slot, row])
            if below == math.inf:
                side_of_gap, under = EITHER, 0
            elif side_of_gap == BELOW or _is_all_below(ceiling_m[slot], below_m[slot], row0, row1):
                if side_of_gap == ONE_SIDE:  # so it is all the way back to the node
                    hull[1][0] = min(hull[1][0], node[UNDER])
                    state[TO_BEAT] = min(state[TO_BEAT], node[UNDER_TO_BEAT])
                    net = min(net, node[UNDER_TO_BEAT] + node[SHIFT_EUR])
                side_of_gap, under, ceiling = BELOW, 1, min(ceiling, below)
        if passed > 0:
            tan1 = turned(u1, b_turn[passed])
            flat = 0.0 if tan0 <= 0.0 <= tan1 else min(abs(tan0), abs(tan1))
            by = widths[1][passed]
            way = widths[0][passed] + min((offset0 + far_low * cell) * by, (offset0 + far_high * cell) * by)
            way = max(way, 0.0) * math.sqrt(1.0 + flat * flat)
            price += way * rate
            length += way
            # roughly: the exact place is measured for the lines that are judged
            x_m = b_ahead[passed] * cell * math.sqrt(1.0 + tan0 * tan0)
            points = push_point(hull[0], hull[1], hull[2], points, x_m, min(before, ceiling), passed)
        least, low, high, before, tan0, passed = min(least, rate), far_low, far_high, ceiling, far0, far
        ahead = slot + side  # what was a remainder is counted on: a division is slow
        ahead = ahead - n if ahead >= n else (ahead + n if ahead < 0 else ahead)
        at = ahead if side > 0 else slot
        row2 = floor_row(low + 0.5 - SLACK_ROWS, ny)
        row3 = floor_row(high + 0.5 + SLACK_ROWS, ny)
        begin = way_eur[under, at, row2]
        if row3 > row2:
            begin = min(pair_way_eur[under, at, row2], pair_way_eur[under, at, row3 - 1])
            for row in range(row2 + 2, row3 - 1):
                begin = min(begin, way_eur[under, at, row])
        if begin + price >= net:
            break
        slot = ahead
        s0 = station[1][passed] + station[2][passed] * turned(u0, station[0][passed])
        s1 = station[1][passed] + station[2][passed] * turned(u1, station[0][passed])
        for row in range(max(math.floor(s0) + 1, 0), min(math.floor(s1), ny - 1) + 1):
            if node_eur[under, slot, row] + price < net:
                why = MET
        if why == MET:
            break
    place[PASSED], place[POINTS], place[ROW0], place[ROW1], place[GAP] = (
        passed,
        points,
        row0,
        row1,
        side_of_gap,
    )
    state[PRICE], state[LENGTH], state[RATE] = price, length, least
    state[LOW], state[HIGH], state[CEILING], state[TAN], state[NET] = low, high, before, tan0, net
    return why


@compiled
def _is_all_below(ceiling_m: Floats, below_m: Floats, row0: int, row1: int) -> bool:
    """Return whether the ceilings of some rows of a column all lie in or below the gap."""
    is_below = True
    for row in range(row0, row1 + 1):
        is_below = is_below and ceiling_m[row] <= below_m[row]
    return bool(is_below)


@compiled
def _halve(fan: Fan, top: int) -> None:
    """Put the lower half of a wedge on the stack, leave the upper half below it."""
    place, state, lower, lower_state = fan.place[top], fan.state[top], fan.place[top + 1], fan.state[top + 1]
    middle, passed = (place[FIRST] + place[LAST]) // 2, place[PASSED]
    tan, between = fan.tangent[middle], state[HIGH]
    if passed > 0:
        tan = tan_at(fan.boundary, passed, tan)
        between = fan.boundary.foot_row[passed] + fan.boundary.h_rows[passed] * tan
    for field in range(state.shape[0]):
        lower_state[field] = state[field]
    for field in range(place.shape[0]):
        lower[field] = place[field]
    for v in range(place[POINTS]):
        fan.hull_x_m[top + 1, v], fan.hull_z_m[top + 1, v] = fan.hull_x_m[top, v], fan.hull_z_m[top, v]
        fan.hull_knot[top + 1, v] = fan.hull_knot[top, v]
    lower[LAST], lower_state[HIGH] = middle, between
    place[FIRST], state[LOW], state[TAN] = middle, between, tan
