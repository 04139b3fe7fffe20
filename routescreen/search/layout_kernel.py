"""Where the pipe strings of a drive lie, compiled: the clear land behind its reception, exactly.

Room: ``search``. Lines of land that bears no string are met exactly, whatever their place and direction.

The strings begin at the shaft in line with the drive. What they need in one piece is looked for straight
ahead first, then with one bend; then in two pieces, and so on, so that a drive has one layout.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from routescreen.compiled import compiled
from routescreen.engineering.string_layout import HALF_KINK_TAN, KINK_RAD, MOST_KINKS, least_pieces

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, LayoutArrays

BEND_STEP_M = 25.0  # apart lie the places where a bend may begin
LAST_BEND_M = 300.0  # behind the shaft; further out no bend begins
KEY_ROWS = 1 << 31  # key of a square: column x KEY_ROWS + row


class Layout(NamedTuple):
    """How strings lie: in `n_pieces` (0: nowhere), straight, or with a bend that begins so far out.

    `bend_m` from the middle of the shaft [m]; `n_kinks` by which it turns, to the left where positive, 0 for
    straight strings.
    """

    n_pieces: int
    bend_m: float
    n_kinks: int


NOWHERE = Layout(0, 0.0, 0)


@compiled
def layout_of(
    y: LayoutArrays,
    method: int,
    column: int,
    row: int,
    x: float,
    z: float,
    ux: float,
    uy: float,
    true_m: float,
) -> Layout:
    """Return how the strings of a drive lie behind its reception.

    Parameters
    ----------
    y : LayoutArrays
    method : int
    column, row : int
        Node of the reception.
    x, z : float
        Its place [m].
    ux, uy : float
        Direction of the strings: from launch to reception.
    true_m : float
        True length of the drive [m].
    """
    if y.most_pieces[method] == 0:
        return Layout(1, 0.0, 0)
    if not y.is_open[column, row]:
        return NOWHERE
    at = (x, z)
    ahead, half = y.ahead_m[method], y.half_width_m[method]
    straight_m = clear_m(y, at[0], at[1], ux, uy, half, ahead + true_m)
    n_straight = least_pieces(true_m, straight_m - ahead, y.most_pieces[method])
    if n_straight == 1:
        return Layout(1, 0.0, 0)
    most = n_straight - 1 if n_straight > 0 else y.most_pieces[method]
    bent = _best_bend(y, method, at, (ux, uy), straight_m, true_m, most)
    if bent.n_pieces > 0:
        return bent
    return Layout(n_straight, 0.0, 0)


@compiled
def _best_bend(
    y: LayoutArrays,
    method: int,
    at: tuple[float, float],
    along: tuple[float, float],
    straight_m: float,
    true_m: float,
    most_pieces: int,
) -> Layout:
    """Return the bent strings of least pieces, of these the least turned, of these the first bend."""
    ahead, half = y.ahead_m[method], y.half_width_m[method]
    best_pieces, best_bend, best_kinks = most_pieces + 1, 0.0, 0
    bend_m = ahead
    last_m = min(straight_m - half * HALF_KINK_TAN, ahead + true_m, LAST_BEND_M)
    while bend_m <= last_m:
        for side in range(2):
            left = 1.0 if side == 0 else -1.0
            for n_kinks in range(1, MOST_KINKS + 1):
                needed = ahead + true_m - bend_m
                room = _room_beyond_m(y, method, at, along, bend_m, left, n_kinks, half, needed)
                if room < 0.0:
                    break  # the bend itself meets something: so does one that turns further
                n = least_pieces(true_m, bend_m - ahead + room, most_pieces)
                is_better = n < best_pieces or (n == best_pieces and n_kinks < abs(best_kinks))
                if n > 0 and is_better:
                    best_pieces, best_bend, best_kinks = n, bend_m, n_kinks if side == 0 else -n_kinks
        bend_m += BEND_STEP_M
    if best_pieces > most_pieces:
        return NOWHERE
    return Layout(best_pieces, best_bend, best_kinks)


@compiled
def _room_beyond_m(
    y: LayoutArrays,
    method: int,
    at: tuple[float, float],
    along: tuple[float, float],
    bend_m: float,
    left: float,
    n_kinks: int,
    half: float,
    needed_m: float,
) -> float:
    """Return the clear length from where a bend begins, at most what is needed, -1 if the bend is not clear.

    Each leg is tested as far beyond both its ends as the strings' outer edge goes round the kinks.
    """
    leg_m = 2.0 * y.radius_m[method] * HALF_KINK_TAN
    more_m = half * HALF_KINK_TAN
    x, z = at[0] + bend_m * along[0], at[1] + bend_m * along[1]
    heading = math.atan2(along[1], along[0])
    done_m = 0.0
    for kink in range(1, n_kinks + 1):
        heading += left * KINK_RAD
        ux, uy = math.cos(heading), math.sin(heading)
        is_last = kink == n_kinks
        wanted = needed_m - done_m if is_last else min(leg_m, needed_m - done_m)
        asked = wanted + (more_m if is_last else 2.0 * more_m)
        clear = clear_m(y, x - more_m * ux, z - more_m * uy, ux, uy, half, asked)
        if is_last:
            return done_m + clear - more_m if clear > more_m else -1.0
        if clear < asked:
            return -1.0
        done_m += wanted
        x, z = x + wanted * ux, z + wanted * uy
        if done_m >= needed_m:
            return done_m
    return -1.0


@compiled
def clear_m(
    y: LayoutArrays, x: float, z: float, ux: float, uy: float, half_m: float, up_to_m: float
) -> float:
    """Return how far a band from a point meets no edge of land that bears no string [m].

    Parameters
    ----------
    y : LayoutArrays
    x, z : float
        Middle of the band's start [m].
    ux, uy : float
        Its direction, a unit vector.
    half_m : float
        Half its width [m].
    up_to_m : float
        How far to look [m].

    Returns
    -------
    float
        At most `up_to_m`; 0 where an edge crosses the start.
    """
    best = up_to_m
    if y.cell_key.shape[0] == 0:
        return best
    reach_x, reach_z = abs(uy) * half_m, abs(ux) * half_m
    done = 0.0
    while done < best:
        further = min(done + y.cell_m, best)
        x0, x1 = x + done * ux, x + further * ux
        z0, z1 = z + done * uy, z + further * uy
        for i in range(
            math.floor((min(x0, x1) - reach_x) / y.cell_m),
            math.floor((max(x0, x1) + reach_x) / y.cell_m) + 1,
        ):
            for j in range(
                math.floor((min(z0, z1) - reach_z) / y.cell_m),
                math.floor((max(z0, z1) + reach_z) / y.cell_m) + 1,
            ):
                place = _place_of(y, i * KEY_ROWS + j)
                if place < 0:
                    continue
                for k in range(y.cell_start[place], y.cell_start[place + 1]):
                    segment = y.segment_xy_m[y.cell_segment[k]]
                    best = min(best, _met_m(segment, x, z, ux, uy, half_m))
        done = further
    return best


@compiled
def _place_of(y: LayoutArrays, key: int) -> int:
    """Return the place of a square among those that hold an edge, -1 where it holds none."""
    low, high = 0, y.cell_key.shape[0]
    while low < high:
        middle = (low + high) // 2
        if y.cell_key[middle] < key:
            low = middle + 1
        else:
            high = middle
    return low if low < y.cell_key.shape[0] and y.cell_key[low] == key else -1


@compiled
def _met_m(segment: Floats, x: float, z: float, ux: float, uy: float, half_m: float) -> float:
    """Return how far along a band a segment first meets it, inf where it doesn't [m]."""
    px, pz, qx, qz = segment[0] - x, segment[1] - z, segment[2] - x, segment[3] - z
    along_p, aside_p = px * ux + pz * uy, pz * ux - px * uy
    along_q, aside_q = qx * ux + qz * uy, qz * ux - qx * uy
    begin, end = 0.0, 1.0
    change = aside_q - aside_p
    if abs(change) < 1e-12:
        if abs(aside_p) > half_m:
            return math.inf
    else:
        one, other = (-half_m - aside_p) / change, (half_m - aside_p) / change
        begin, end = max(begin, min(one, other)), min(end, max(one, other))
        if begin > end:
            return math.inf
    first = along_p + begin * (along_q - along_p)
    last = along_p + end * (along_q - along_p)
    if max(first, last) < 0.0:
        return math.inf
    return float(max(min(first, last), 0.0))
