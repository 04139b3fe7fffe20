"""What stands on bores in the search: the surface of open water where it is higher than the groundwater."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.screen import prepare
from tests.audit.place import across, crossing, crossings, place, with_ground

WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
CELLS = load_assumptions("[frame]\ncell_m = 20.0\n")


def water_levels_m(groundwater_depth_m: float) -> np.ndarray:
    table = crossings(crossing("stream", across(600.0)))
    inp = replace(place(), outline=box(0.0, -40.0, 1500.0, 40.0), crossings=table)
    inp = with_ground(inp, WHOLE, soil="sand_dense", groundwater_depth_m=groundwater_depth_m)
    problem, _ = prepare(inp, CELLS)
    middle = problem.frame.start[1]
    return np.array(problem.arrays.ground.water_level_m[:, middle])


def test_a_stream_stands_over_the_bores_that_pass_it_and_groundwater_elsewhere() -> None:
    """Ground at 50 m, groundwater 3 m below it; x = 600 is column 30, x = 200 column 10."""
    level_m = water_levels_m(3.0)
    assert level_m[30] == 50.0
    assert level_m[10] == 47.0
