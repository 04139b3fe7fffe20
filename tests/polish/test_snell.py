"""The whole way from the frame to the smoothed plan where two grounds meet along a straight edge.

The least cost of a path from one ground into another is found by one number, the place where it crosses the
edge; that is minimised here by itself and held against what the polished plan costs.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from shapely import LineString, Point, Polygon

from routescreen.assumptions import load_assumptions
from routescreen.polish.prices import PiecePrices
from routescreen.screen import prepare, smoothed, solve_and_audit
from tests.audit.place import with_ground
from tests.polish.cases import open_field

START, END = (10.0, 110.0), (590.0, -90.0)
MIDDLE = (300.0, 10.0)
# keeping a trench dry at 25 times its price makes a metre in wet ground nearly twice as dear; without the
# cheapest method no drive pays
DEAR_WATER = load_assumptions(
    """
    [rates]
    TR41 = [3000.0, 3000.0, 3000.0]
    [methods.guided_thrust]
    is_enabled = false
    """
)


def two_grounds(edge_deg: float):
    """Return the field with wet sand below a straight edge through the middle, and the edge's direction."""
    turn = math.radians(edge_deg)
    along = np.array([math.cos(turn), math.sin(turn)])
    below = np.array([along[1], -along[0]])
    middle = np.array(MIDDLE)
    corners = [middle - 900 * along, middle + 900 * along]
    corners += [corner + 900 * below for corner in reversed(corners)]
    field = replace(
        open_field(),
        axis=LineString([START, END]),
        start=Point(START),
        end=Point(END),
        crossings=open_field().crossings,
    )
    return with_ground(field, Polygon(corners), soil="sand_dense", groundwater_depth_m=0.5), along


@pytest.mark.parametrize("edge_deg", [-12.0, -5.0, 0.0, 7.0, 20.0, 75.0])
def test_cost_is_within_a_twentieth_of_a_percent_of_the_refracted_path(edge_deg: float) -> None:
    inp, along = two_grounds(edge_deg)
    problem, sampler = prepare(inp, DEAR_WATER)
    plan = smoothed(solve_and_audit(problem, inp), inp).plan
    assert not plan.is_drive.any()
    prices = PiecePrices(sampler, problem.crossings, DEAR_WATER)

    def eur_per_m(x_m: float, y_m: float) -> float:
        return float(prices.eur(np.array([[x_m, y_m, x_m + 1.0, y_m]]), np.zeros(1, bool))[0])

    dry, wet = eur_per_m(*START), eur_per_m(END[0] - 2.0, END[1])
    assert 1.7 * dry < wet < 2.1 * dry

    def path_eur(share_m: float) -> float:
        x, y = np.array(MIDDLE) + share_m * along
        return dry * math.dist(START, (x, y)) + wet * math.dist((x, y), END)

    least = minimize_scalar(path_eur, bounds=(-300.0, 300.0), method="bounded", options={"xatol": 1e-6})
    pieces = np.concatenate([plan.alignment_xy_m[:-1], plan.alignment_xy_m[1:]], axis=1)
    eur = prices.eur(pieces, plan.is_narrow).sum()
    assert eur >= least.fun * (1.0 - 1e-9)
    assert eur <= least.fun * 1.0005
