"""The layout of pipe strings behind a drive's reception: how wide, how long, in how many pieces.

Room: ``drives``. May import ``assumptions`` and the methods.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely import LineString, Polygon

from routescreen.drives.methods import method_geometry
from routescreen.engineering.string_layout import HALF_KINK_TAN, KINK_RAD

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from routescreen.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class MethodLayout:
    """What the strings of all bores of a method ask for.

    Attributes
    ----------
    n_strings : int
        One for each bore.
    strip_width_m : float
        Land that one string takes across [m].
    pitch_m : float
        Distance between neighbouring strings: that of the bores, or the strips side by side [m].
    start_m : float
        From the middle of the reception shaft to where the strips begin [m].
    working_m : float
        Length of a strip beyond that of its string [m].
    most_pieces : int
        Pieces that a string may be laid out in.
    radius_m : float
        Least radius of a bend, in the middle of all strings [m].
    """

    n_strings: int
    strip_width_m: float
    pitch_m: float
    start_m: float
    working_m: float
    most_pieces: int
    radius_m: float

    @property
    def half_width_m(self) -> float:
        """Half of what all strings side by side take up, the land between them included [m]."""
        return 0.5 * ((self.n_strings - 1) * self.pitch_m + self.strip_width_m)

    @property
    def ahead_m(self) -> float:
        """Length beyond the middle of the shaft that is needed besides the string's own [m]."""
        return self.start_m + self.working_m

    def strip_length_m(self, true_length_m: float, n_pieces: int) -> float:
        """Return the length of the strips of a drive whose strings lie in so many pieces [m]."""
        return true_length_m / n_pieces + self.working_m


def method_layout(a: Assumptions, name: str) -> MethodLayout | None:
    """Return what the strings of a method ask for, None where it needs no layout.

    The innermost string of a bend keeps the least radius of the pipe.

    Parameters
    ----------
    a : Assumptions
    name : str
        A key of ``assumptions.methods``.
    """
    way, geometry = a.methods[name], method_geometry(a, name)
    if not way.has_layout:
        return None
    pitch_m = max(geometry.spacing_m, way.layout_strip_width_m)
    inner_m = a.pipe.cold_bend_diameters * way.pipe_outer_diameter_m
    return MethodLayout(
        n_strings=geometry.n_bores,
        strip_width_m=way.layout_strip_width_m,
        pitch_m=pitch_m,
        start_m=0.5 * geometry.reception_plan_m[0],
        working_m=way.layout_working_length_m,
        most_pieces=way.most_layout_pieces,
        radius_m=inner_m + 0.5 * ((geometry.n_bores - 1) * pitch_m + way.layout_strip_width_m),
    )


def strip_line_m(
    rule: MethodLayout,
    shaft_xy_m: NDArray[np.float64],
    heading_rad: float,
    length_m: float,
    bend_m: float,
    n_kinks: int,
) -> NDArray[np.float64]:
    """Return the middle of the strips of a drive, from the shaft outwards.

    Parameters
    ----------
    rule : MethodLayout
    shaft_xy_m : ndarray of shape (2,)
        Middle of the reception shaft [m].
    heading_rad : float
        Direction from launch to reception, from x towards y [rad].
    length_m : float
        Length of the strips, working length included [m].
    bend_m : float
        From the middle of the shaft to where a bend begins [m].
    n_kinks : int
        Kinks in the bend, to the left where positive; 0 for straight strips.

    Returns
    -------
    ndarray of shape (k, 2)
    """
    leg_m = 2.0 * rule.radius_m * HALF_KINK_TAN
    end_m = rule.start_m + length_m
    stations = [rule.start_m, *(bend_m + leg_m * np.arange(abs(n_kinks)))]
    # a last leg shorter than the inner edge loses at a kink is none: the one before goes on so far
    last_m = end_m - rule.half_width_m * HALF_KINK_TAN
    stations = [*(station for station in stations if station < last_m), end_m]
    xy_m = [np.asarray(shaft_xy_m) + rule.start_m * _unit(heading_rad)]
    for leg, (begin, end) in enumerate(itertools.pairwise(stations)):
        turned = heading_rad + math.copysign(leg, n_kinks) * KINK_RAD
        xy_m.append(xy_m[-1] + (end - begin) * _unit(turned))
    return np.array(xy_m)


def _unit(heading_rad: float) -> NDArray[np.float64]:
    return np.array([math.cos(heading_rad), math.sin(heading_rad)])


def strip_band(rule: MethodLayout, line_xy_m: NDArray[np.float64]) -> Polygon:
    """Return the land that must be free for all strips, what lies between them included."""
    return _band(LineString(line_xy_m), rule.half_width_m)


def strips(rule: MethodLayout, line_xy_m: NDArray[np.float64]) -> tuple[Polygon, ...]:
    """Return the land that the strips take: one outline where they touch, else one for each string."""
    line = LineString(line_xy_m)
    if rule.pitch_m <= rule.strip_width_m or rule.n_strings == 1:
        return (_band(line, rule.half_width_m),)
    aside = (np.arange(rule.n_strings) - 0.5 * (rule.n_strings - 1)) * rule.pitch_m
    lines = (line.offset_curve(float(d), join_style="mitre", mitre_limit=2.0) for d in aside)
    return tuple(_band(string, 0.5 * rule.strip_width_m) for string in lines)


def _band(line: BaseGeometry, half_m: float) -> Polygon:
    band = line.buffer(half_m, cap_style="flat", join_style="mitre", mitre_limit=2.0)
    if not isinstance(band, Polygon):
        raise AssertionError("a strip must be one piece")
    return band
