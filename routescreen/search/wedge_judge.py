"""The nodes that a wedge meets, compiled: judged by the least price and depths of their drives.

Room: ``search``. Part of ``wedge_kernel``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled
from routescreen.drives.arc import below_chord_m, end_turn_frac
from routescreen.search.drive_price_kernel import least_layout_eur, least_pump_eur, n_wet_ends
from routescreen.search.shaft_kernel import depth_level
from routescreen.search.wedge_bound import best_start
from routescreen.search.wedge_fan import (
    BELOW,
    FIRST,
    GAP,
    GROUND,
    LAST,
    LENGTH,
    N_BUCKETS,
    PASSED,
    POINTS,
    PRICE,
    RATE,
    ROW0,
    ROW1,
    SLACK_EUR,
    TO_BEAT,
    X,
    Y,
    row_at,
    tan_at,
)
from routescreen.search.wedge_ways import SLACK_M

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.label_kernel import Found, Ring
    from routescreen.search.wedge_fan import Candidates, Fan

LESS = 1.0 - 1e-9  # an arc that turns just as far as it may is left to the exact look


@compiled
def judge_station(
    s: SearchArrays,
    fan: Fan,
    ring: Ring,
    found: Found,
    method: int,
    column: int,
    row: int,
    is_forward: bool,
    top: int,
    n_found: int,
) -> tuple[int, int]:
    """Judge the nodes of the next column whose directions lie in a wedge, by price and then by depth."""
    state, place = fan.state[top], fan.place[top]
    at, ny, n_judged = place[PASSED], s.ground.ground_m.shape[1], 0
    there = column - at if is_forward else column + at
    slot, passed_eur = there % ring.least_eur.shape[0], s.drive.passed_eur[method]
    low = row_at(fan.station, at, fan.tangent[place[FIRST]])
    high = row_at(fan.station, at, fan.tangent[place[LAST]])
    for other in range(max(math.floor(low) + 1, 0), min(math.floor(high), ny - 1) + 1):
        begin = min(ring.least_eur[slot, other, 1 + 2 * method], ring.least_eur[slot, other, 2 + 2 * method])
        begin += abs(passed_eur[column, row] - passed_eur[there, other]) + state[PRICE]
        if begin >= state[TO_BEAT]:
            continue
        dx = s.frame.node_xy_m[there, other, 0] - fan.node[X]
        dy = s.frame.node_xy_m[there, other, 1] - fan.node[Y]
        length = math.sqrt(dx * dx + dy * dy)
        rate = state[RATE]
        for beside in range(min(other, place[ROW0]), max(other, place[ROW1]) + 1):
            rate = min(rate, fan.ways.rate_eur[method, there % fan.ways.opened.shape[0], beside])
        rest = max(length - state[LENGTH], 0.0) * rate
        if length > fan.ways.longest_m[method] or begin + rest >= state[TO_BEAT]:
            continue
        n_judged += 1
        n_found += _judge_depths(
            s,
            fan,
            ring,
            found,
            method,
            (column, row),
            (there, other),
            (dx, dy, length),
            top,
            rest,
            n_found,
        )
    return n_found, n_judged


@compiled
def _judge_depths(
    s: SearchArrays,
    fan: Fan,
    ring: Ring,
    found: Found,
    method: int,
    here: tuple[int, int],
    there: tuple[int, int],
    line: tuple[float, float, float],
    top: int,
    rest_eur: float,
    n_found: int,
) -> int:
    """Judge both orientations of a drive by what depths its wedge allows; return whether one could win."""
    dx, dy, length = line
    passed_eur = s.drive.passed_eur[method]
    fee = abs(passed_eur[here] - passed_eur[there])
    price = s.drive.fixed_eur[method] + fan.state[top, PRICE] + rest_eur + fee - SLACK_EUR
    n_boreholes = max(math.ceil(length / s.drive.borehole_spacing_m - 1e-9) - 1.0, 0.0)
    n_points, below = 0, _below_there_m(fan, method, there, top)  # the line is measured once it is asked for
    turn = end_turn_frac(s.drive.arc_per_m[method], length) * LESS
    out, is_found = fan.candidates, False
    begin_eur = ring.start_eur[there[0] % ring.start_eur.shape[0], there[1]]
    begin_level = ring.least_level[there[0] % ring.least_level.shape[0], there[1]]
    least_eur = ring.least_eur[there[0] % ring.least_eur.shape[0], there[1]]
    n_levels = found.threshold.shape[1]
    for way_round in range(2):  # 0 launched here, 1 launched there
        role, other_role = 1 + 2 * method + way_round, 2 + 2 * method - way_round
        out.bound_eur[n_found, way_round], out.level[n_found, way_round] = math.inf, 0
        if found.least[role] >= n_levels or least_eur[other_role] == math.inf:
            continue
        reception = there if way_round == 0 else here
        layout = s.drive.layout_eur[method, reception[0], reception[1]]
        per_m = s.drive.layout_eur_per_m[method, reception[0], reception[1]]
        layout += least_layout_eur(s, method, per_m, length)
        crowns = (fan.node[GROUND], fan.hull_z_m[top, 0], s.ground.ground_m[there], below)
        level, far = _least_levels(
            s,
            (found.least[role], begin_level[other_role]),
            crowns,
            method,
            role,
            other_role,
        )
        if max(level, far) >= n_levels:
            continue
        pump = least_pump_eur(s, method, length)
        wet = pump * n_wet_ends(s, (*here, *there), (level, far))
        if begin_eur[other_role, far] + price + layout + wet >= found.threshold[role, level]:
            continue
        low, high = s.drive.slope_min_frac[method] + turn, s.drive.slope_max_frac[method] - turn
        if s.drilled.is_drilled[method]:  # its pits are as deep whatever lies between
            bound, level = _from_pits(
                begin_eur[other_role, begin_level[other_role]] + price + layout + wet,
                found.threshold[role, found.least[role]],
                found.least[role],
            )
        else:
            if n_points == 0:
                n_points = _measure_line(s, fan, method, (here[0], below), (dx, dy, length), top)
            bound, level = best_start(
                s,
                begin_eur[other_role],
                found.threshold[role],
                (price + layout, s.drive.borehole_eur_per_m * n_boreholes),
                (level, far),
                (s.shaft.wet_level[here], s.shaft.wet_level[there], pump),
                (fan.line_x_m, fan.line_z_m, n_points),
                (length, low, high) if way_round == 0 else (length, -high, -low),
                (fan.node[GROUND], s.ground.ground_m[there], s.drive.bore_m[method], role, other_role),
            )
        out.bound_eur[n_found, way_round], out.level[n_found, way_round] = bound, level
        is_found = is_found or bound < math.inf
    if not is_found:
        return 0
    out.other[n_found] = there[0] * s.ground.ground_m.shape[1] + there[1]
    out.method[n_found] = method
    out.price_eur[n_found] = price
    return 1


@compiled
def _below_there_m(fan: Fan, method: int, there: tuple[int, int], top: int) -> float:
    """Return the highest crown at the other end, inf where the wedge does not hold it below a gap [m]."""
    if fan.place[top, GAP] != BELOW:
        return math.inf
    return float(fan.ways.below_m[method, there[0] % fan.ways.opened.shape[0], there[1]])


@compiled
def _least_levels(
    s: SearchArrays,
    least: tuple[int, int],
    crowns: tuple[float, float, float, float],
    method: int,
    role: int,
    other_role: int,
) -> tuple[int, int]:
    """Return the least levels here and there, `crowns` the ground and the highest crown here and there."""
    here, there = least
    if s.drilled.is_drilled[method]:
        return here, there
    bore = s.drive.bore_m[method]
    here = max(here, depth_level(s, crowns[0], crowns[1] + SLACK_M, bore, role))
    if crowns[3] < math.inf:
        there = max(there, depth_level(s, crowns[2], crowns[3] + SLACK_M, bore, other_role))
    return here, there


@compiled
def _from_pits(eur: float, to_beat_eur: float, level: int) -> tuple[float, int]:
    """Return the bound and the level of a drilled bore, inf where it can't win."""
    return (eur, level) if eur < to_beat_eur else (math.inf, 0)


@compiled
def _measure_line(
    s: SearchArrays,
    fan: Fan,
    method: int,
    ends: tuple[int, float],
    line: tuple[float, float, float],
    top: int,
) -> int:
    """Fill the exact places and levels of the hull's points along one line of a wedge; return how many.

    `ends` are the column here and the highest crown there, inf where the wedge doesn't know it.

    For an arc they are raised by what it lies below its chord there. What was left out above the hull lies
    above it still, since a point between two others is raised by more than those.
    """
    dx, dy, length = line
    column, below = ends
    arc_per_m, n_points = s.drive.arc_per_m[method], fan.place[top, POINTS]
    tx, ty = s.frame.tangent[column, 0], s.frame.tangent[column, 1]
    tangent = (dx * ty - dy * tx) / abs(dx * tx + dy * ty)
    fan.line_x_m[0], fan.line_z_m[0] = 0.0, fan.hull_z_m[top, 0]
    for v in range(1, n_points):
        knot = fan.hull_knot[top, v]
        at = tan_at(fan.boundary, knot, tangent)
        x_m = fan.boundary.h_rows[knot] * s.frame.cell_m * math.sqrt(1.0 + at * at)
        fan.line_x_m[v], fan.line_z_m[v] = x_m, fan.hull_z_m[top, v] + below_chord_m(arc_per_m, length, x_m)
    if below < math.inf:
        fan.line_x_m[n_points], fan.line_z_m[n_points] = length, below
        n_points += 1
    return int(n_points)


@compiled
def sort_candidates(found: Candidates, n: int) -> None:
    """Order the candidates by their bounds: by bucket between the least and the largest, as found within."""
    low, high = math.inf, -math.inf
    for e in range(n):
        bound = min(found.bound_eur[e, 0], found.bound_eur[e, 1])
        low, high = min(low, bound), max(high, bound)
    scale = (N_BUCKETS - 1) / (high - low + 1e-3)
    found.bucket[:] = 0
    for e in range(n):
        at = int((min(found.bound_eur[e, 0], found.bound_eur[e, 1]) - low) * scale)
        found.bucket[at + 1] += 1
    for at in range(1, N_BUCKETS + 2):
        found.bucket[at] += found.bucket[at - 1]
    for e in range(n):
        at = int((min(found.bound_eur[e, 0], found.bound_eur[e, 1]) - low) * scale)
        found.order[found.bucket[at]] = e
        found.bucket[at] += 1
