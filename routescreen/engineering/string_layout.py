"""Pipe strings laid out behind the reception before they are pulled in: pieces and bends.

Room: ``engineering``. Compiled; imports nothing but the decorator.

A string is welded together and laid out in line with its drive, behind the reception. Where the land is too
short for that, the string lies in a bend, or in pieces side by side, each joined to the one before while the
pull rests: in as few pieces as the land allows, since each rest lets the ground take hold of the string
(common practice, no source).
"""

from __future__ import annotations

import math

from routescreen.compiled import compiled

ROUNDING = 1e-9  # pieces of exactly the room there is must not become one more by rounding
KINK_RAD = math.radians(15.0)  # a bend is laid out in straight legs that turn by this much
MOST_KINKS = 6  # strings turn by up to a right angle
HALF_KINK_TAN = math.tan(0.5 * KINK_RAD)


@compiled
def least_pieces(true_length_m: float, room_m: float, most_pieces: int) -> int:
    """Return the least number of pieces of a string that each fit into a length, 0 where none does.

    Parameters
    ----------
    true_length_m : float
        Length of the string [m].
    room_m : float
        Clear length for a piece, without the working length [m].
    most_pieces : int

    Returns
    -------
    int
    """
    if room_m <= 0.0 or true_length_m > room_m * most_pieces * (1.0 + ROUNDING):
        return 0
    return max(math.ceil(true_length_m / room_m * (1.0 - ROUNDING)), 1)
