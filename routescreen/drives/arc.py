"""The vertical line of a drive on one arc: from shaft to shaft, deeper between them than its chord.

Room: ``drives``. Pure numbers. Scalar compiled functions of the search; what measures or draws a plan has
its own in ``course``.

The axis is the parabola that lies x (L - x) / (2 R) below the chord between its ends, L their distance in
plan: flat slopes, so that it stands for the arc of radius R. A ceiling above the axis is therefore a ceiling
raised by as much above the chord, and all that is known of straight lines under ceilings holds. The raise
is concave: where a ceiling is level, least room is left at the ends of it, so the points that decide a
straight line decide an arc.

Notes
-----
How far the parabola is from the circle of radius R through the same two ends: the slope of either changes
by z'' a metre, 1/R for the parabola, (1 + z'^2)^(3/2) / R for the circle. Both have the same ends, so the
circle lies nowhere above the parabola (no cover is lost), and at most ((1 + g^2)^(3/2) - 1) x (L - x) / (2 R)
below it, g the circle's steepest slope. With ends of 8 % g is 8.03 % and that is 1 % of the arc's own depth:
19 mm for R = 600 m and L = 96 m, where the distance itself is 3 mm. The parabola in turn is nowhere bent more
sharply than R.
"""

from __future__ import annotations

import math

from routescreen.compiled import compiled


@compiled
def below_chord_m(per_m: float, length_m: float, x_m: float) -> float:
    """Return how far an arc lies below its chord at a distance from one end.

    Parameters
    ----------
    per_m : float
        1/(2 R) of its radius R, 0 for a straight drive [1/m].
    length_m, x_m : float
        Distance of its ends in plan, and of the place from one of them [m].

    Returns
    -------
    float
        [m]
    """
    return per_m * x_m * (length_m - x_m)


@compiled
def end_turn_frac(per_m: float, length_m: float) -> float:
    """Return by how much the slope of an arc differs from its chord's at either end, L/(2 R) [-]."""
    return per_m * length_m


@compiled
def lowest_at_m(per_m: float, slope_frac: float, length_m: float) -> float:
    """Return where an arc (`per_m` > 0) is level; before its lower or beyond its upper end if nowhere [m]."""
    return 0.5 * (length_m - slope_frac / per_m)


@compiled
def turned_rad(per_m: float, slope_frac: float, length_m: float) -> float:
    """Return the angle by which an arc turns from end to end, 0 for a straight drive [rad]."""
    turn = end_turn_frac(per_m, length_m)
    return math.atan(slope_frac + turn) - math.atan(slope_frac - turn)


@compiled
def arc_true_m(per_m: float, slope_frac: float, length_m: float) -> float:
    """Return the true length of an arc, `per_m` > 0.

    Notes
    -----
    The integral of sqrt(1 + z'^2), with z' growing evenly from end to end:
    [z' sqrt(1 + z'^2) + asinh z'] R / 2.
    """
    turn = end_turn_frac(per_m, length_m)
    return (_half_integral(slope_frac + turn) - _half_integral(slope_frac - turn)) / (4.0 * per_m)


@compiled
def _half_integral(slope_frac: float) -> float:
    return slope_frac * math.sqrt(1.0 + slope_frac * slope_frac) + math.asinh(slope_frac)
