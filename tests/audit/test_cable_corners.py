"""Side walls in the corners of open cut, by hand and wherever levels are read."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.audit.cable_pulls import DOWN, EXPECTED, pulls_along
from routescreen.audit.cable_way import cable_way
from routescreen.audit.scene import set_scene
from tests.audit.place import plan, raster
from tests.audit.test_cable_joints import WHOLE, ground

if TYPE_CHECKING:
    from routescreen.audit.pull_ways import PullWay
    from routescreen.plan import Plan


def _cornered(turn_deg: float, start_m: float = 0.0) -> Plan:
    """Return open cut from a place on the x axis to a corner at x 700, and 600 m on."""
    turn = math.radians(turn_deg)
    end = (700.0 + 600.0 * math.cos(turn), 600.0 * math.sin(turn))
    return plan([(start_m, 0.0), (700.0, 0.0), end])


def _way_on(level_m: np.ndarray, which: Plan) -> PullWay:
    """Return the way over ground whose level is given at each column of the raster."""
    inp = replace(ground(), terrain=replace(raster(0.0), values=np.tile(level_m, (100, 1))), outline=WHOLE)
    (way,) = cable_way(set_scene(which, inp, load_assumptions(), axis=None)).ways
    return way


X_M = np.arange(210) * 10.0 - 295.0  # middles of the raster's columns


@pytest.mark.parametrize("shift_m", [5.0, 10.0, 13.0, 17.0])
def test_where_the_levels_are_read_does_not_decide_the_side_wall(shift_m: float) -> None:
    """Hills of 1.5 m every 200 m and a corner of 10 deg; if the trench begins elsewhere, so do its knots."""
    hills_m = 50.0 + 1.5 * np.sin(X_M * math.pi / 100.0)
    walls = []
    for start_m in (0.0, shift_m):
        way = _way_on(hills_m, _cornered(10.0, start_m))
        # the drum at the end: what lies between it and the corner is the same
        walls.append(pulls_along(way, load_assumptions().cable)[1][DOWN, EXPECTED].max())
    assert walls[0] > 0.4  # of the corner: some 65 kN on 131 m
    assert walls[1] == pytest.approx(walls[0], rel=0.03)


def test_a_corner_keeps_its_radius_wherever_the_levels_are_read() -> None:
    """3.86 deg, 0.5 m off: 0.5/(1/cos 1.93 - 1) = 880.9 m; levels are read 5 m, 13 m from before."""
    for start_m in (0.0, 5.0, 13.0):
        way = _way_on(np.full(len(X_M), 50.0), _cornered(3.86, start_m))
        assert way.radius_m[way.bend_deg > 0.0].tolist() == pytest.approx([880.9], rel=1e-3)


def test_a_corner_on_a_crest_bends_in_both_planes() -> None:
    """Level, then down 4 %: by the raster 50, 49.9 and 49.0 m at the knots 25 m apart round x 700.

    atan 0.036 - atan 0.004 = 1.8325 deg, R = 12.5/tan 0.91625 = 781.6 m; with the corner's 880.9 m
    1/root(1/880.9^2 + 1/781.6^2) = 584.6 m.
    """
    way = _way_on(50.0 - 0.04 * np.maximum(X_M - 700.0, 0.0), _cornered(3.86))
    bends = way.bend_deg > 1.0
    assert way.bend_deg[bends].tolist() == pytest.approx([3.86, 1.8325], abs=0.01)
    assert way.radius_m[bends].tolist() == pytest.approx([584.6, 781.6], rel=0.005)


# ---- Exact, and never passed without its inputs ----
