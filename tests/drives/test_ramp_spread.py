"""Ramps on which cables are held apart: where they begin to draw together, how far apart, what it adds."""

from __future__ import annotations

import math

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.drives.cable_make import cable_make, current_shares, surround, undisturbed_degC
from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.drives.ramp import Spread, ramp_line, trench_axis_m
from routescreen.drives.ramp_spread import RampGround, hold_axis_m, spread_at, spread_more_m, spread_table
from routescreen.drives.trench_spacing import bedding_zone_m
from routescreen.engineering.rating import Bedding, HeatPath, group_rating
from routescreen.money.items import bill_items
from routescreen.money.measure import ShaftGround, shaft_in_ground

A = load_assumptions()
SOILS = list(A.soil)
SAND = SOILS.index("sand_dense")


def ground(groundwater_m: float, soil: str = "sand_dense", rock_m: float = math.inf) -> RampGround:
    return RampGround(SOILS.index(soil), SOILS.index("till_boulders"), rock_m, groundwater_m)


def dry_rating_A(line_m: tuple[np.ndarray, np.ndarray], soil: str) -> np.ndarray:
    """Rate cables at depths and places in ground that may dry out, each in its own bedding."""
    depth_m, offset_m = line_m
    zone_m, one = bedding_zone_m(A), A.soil[soil]
    around = surround(A, A.pipe.trench_outer_diameter_m)
    path = HeatPath(
        conductor_ohm_per_m=cable_make(A).ohm_per_m,
        inside_K_m_per_W=around.inside_K_m_per_W,
        outer_diameter_m=around.outer_diameter_m,
        conductor_degC=70.0,
        ground_degC=undisturbed_degC(A, depth_m),
        rho_K_m_per_W=one.resistivity_moist_Km_per_W,
        drying_ratio=one.resistivity_dry_Km_per_W / one.resistivity_moist_Km_per_W,
        drying_rise_K=15.0,
    )
    bedding = Bedding(np.arange(depth_m.shape[1]), depth_m, zone_m, zone_m, 1.0)
    return group_rating(depth_m, offset_m, path, share=current_shares(A), bedding=bedding).rating_A


def test_where_the_ground_may_dry_out_by_hand() -> None:
    """3.10 m counts as 3.25 m, a step lower; 1.50 m lower still in a dry year; half the pipe of 0.28 m."""
    assert hold_axis_m([3.10, 3.25], A) == pytest.approx([4.89, 5.14])


def test_two_bends_by_hand() -> None:
    """From bores 6 m apart at 7.70 m to 8 m at 5.70 m, on to pipes at 5 -+ 0.25 m; all arcs of 25 m.

    Apart: up 2.00 m, at most 3 m aside, 3.6056 m across: 50 root(1 - (1 - 3.6056/50)^2) = 18.643 m. Together:
    up 4.16 m, at most 12 - 5.25 = 6.75 m aside, 7.9290 m across, beyond the 6.6987 m of two arcs of 30 deg:
    25 + 1.2303/tan 30 deg = 27.131 m.
    """
    line = ramp_line(A, "two_pass", 7.70, 0.5, Spread(hold_m=5.70, spacing_m=8.0, more_m=0.0))
    assert [leg.run_m for leg in line.legs] == pytest.approx([18.643, 27.131], abs=2e-3)
    at_m = np.array([0.0, line.legs[0].run_m, line.run_m])
    assert line.depth_m(at_m) == pytest.approx(np.array([[7.70] * 4, [5.70] * 4, [1.54] * 4]))
    places_m = [[-9.0, -3.0, 3.0, 9.0], [-12.0, -4.0, 4.0, 12.0], [-5.25, -4.75, 4.75, 5.25]]
    assert line.offset_m(at_m) == pytest.approx(np.array(places_m))
    assert (line.rise_m, line.bottom_m) == pytest.approx((6.16, 7.70))


def test_a_ramp_is_as_long_as_it_is_paid_for() -> None:
    """One S-bend is 25 + (7.2117 - 6.6987)/tan 30 deg = 25.888 m; 25 m more, of which the last are 27.131."""
    line = ramp_line(A, "two_pass", 7.70, 0.5, Spread(hold_m=5.70, spacing_m=8.0, more_m=25.0))
    assert line.run_m == pytest.approx(50.888, abs=2e-3)
    assert line.legs[1].run_m == pytest.approx(27.131, abs=2e-3)


def test_dry_ground_asks_for_more_than_the_bores_give() -> None:
    """An inner of four cables at 5.64 m in dense sand, 1.0 to 2.5 K m/W, each in a square bedding of 0.68 m.

    As a circle that is 0.3738 m (ln r = 1/2 (4/pi - 1) ln 2 + ln 0.34). Ground 11 + 4 e^(0.6 - 5.64/2.5) =
    11.76 degC, 0.5763 K m/W inside the pipe: 6 m apart they bear less than 1 905 A, 9 m apart more.
    """

    def by_hand_A(spacing_m: float) -> float:
        left = math.acosh(5.64 / math.exp(0.5 * (4.0 / math.pi - 1.0) * math.log(2.0) + math.log(0.34)))
        near, far = (math.log(1.0 + (11.28 / (n * spacing_m)) ** 2) for n in (1, 2))
        within = (math.acosh(5.64 / 0.14) - left) / (2.0 * math.pi)
        outside = 2.5 / (2.0 * math.pi) * (left + near + far / 2.0)
        return math.sqrt((58.24 + 1.5 * 15.0) / (8.6148e-6 * (0.5763 + within + outside)))

    found = spread_at(A, "two_pass", 7.70, ground(3.99))
    assert found is not None
    assert found.hold_m == pytest.approx(5.64)
    depth_m, places_m = np.full((1, 4), 5.64), 9.0 * (np.arange(4) - 1.5)[np.newaxis]
    assert dry_rating_A((depth_m, places_m), "sand_dense") == pytest.approx([by_hand_A(9.0)], rel=1e-3)
    assert by_hand_A(6.0) < A.link.current_A < by_hand_A(9.0)
    assert found.spacing_m > 6.0


@pytest.mark.parametrize(
    ("method", "soil", "bottom_m", "water_m"),
    [
        pytest.param("two_pass", "sand_dense", 7.69, 3.9, id="as the demo's first drive"),
        pytest.param("two_pass", "clay_soft", 9.0, 3.5, id="soft clay"),
        pytest.param("two_pass", "silt", 6.5, 4.0, id="silt, bores just below the water"),
        pytest.param("guided_thrust", "sand_dense", 5.0, 2.5, id="closer bores"),
    ],
)
def test_held_apart_the_cables_bear_the_current_where_else_they_would_not(
    method: str, soil: str, bottom_m: float, water_m: float
) -> None:
    """Rated each quarter of a metre of the real ways; where the ground can't dry out isn't looked at."""
    spread = spread_at(A, method, bottom_m, ground(water_m, soil))
    assert spread is not None
    for given_spread, bears in ((None, False), (spread, True)):
        line = ramp_line(A, method, bottom_m, 0.5, given_spread)
        along_m = np.arange(0.0, line.run_m, 0.25)
        depth_m, offset_m = line.depth_m(along_m), line.offset_m(along_m)
        may_dry = depth_m.min(axis=1) < water_m + 1.5 + 0.14
        rating_A = dry_rating_A((depth_m[may_dry], offset_m[may_dry]), soil)
        assert bool(np.all(rating_A >= A.link.current_A)) is bears


def test_no_ramp_is_lengthened_for_nothing() -> None:
    """Where the ground stays wet, or the bores lie shallow, they draw together at once; unsteered always."""
    assert spread_at(A, "two_pass", 7.70, ground(0.0)) is None
    assert spread_at(A, "two_pass", 3.50, ground(9.0)) is None
    unsteered = load_assumptions("[search]\nrating_steers = false\n")
    assert spread_at(unsteered, "two_pass", 7.70, ground(3.9)) is None
    assert spread_more_m(unsteered, "two_pass", SAND, [7.70], [5.5]) == pytest.approx([0.0])
    assert spread_more_m(A, "two_pass", SAND, [7.70], [5.5])[0] > 10.0


def test_no_further_apart_than_allowed() -> None:
    """Deep ground that may dry out asks for more: 7 m then, by half metres from the bores' 6 m on."""
    narrow = load_assumptions("[cable]\nramp_spacing_most_m = 7.2\n")
    found = spread_at(narrow, "two_pass", 9.0, ground(5.0))
    assert found is not None
    assert found.spacing_m == pytest.approx(7.0)


@pytest.mark.parametrize("soil", ["sand_dense", "clay_stiff", "peat"])
@pytest.mark.parametrize("method", ["two_pass", "guided_thrust", "enterable"])
def test_deeper_never_costs_less(method: str, soil: str) -> None:
    """What the search's dominance rules rely on, at every depth of the groundwater."""
    bottom_m = np.arange(1.0, 16.0, 0.1)
    for hold_m in np.arange(0.0, 9.0, 0.3):
        more_m = spread_more_m(A, method, SOILS.index(soil), bottom_m, np.full(len(bottom_m), hold_m))
        assert np.all(np.diff(more_m) >= 0.0)
        assert np.all(more_m >= 0.0)
        assert more_m[-1] > 0.0 or hold_m < 7.0


@pytest.mark.parametrize("soil", ["sand_dense", "clay_stiff", "peat"])
def test_a_deeper_table_says_the_same_of_shallow_depths(soil: str) -> None:
    """Tables made for other depths, each by its own assumptions, equal where both reach, to the bit."""
    shallow, deep = (spread_table(A.model_copy(), "two_pass", SOILS.index(soil), step) for step in (20, 150))
    n = len(shallow.spacing_m)
    assert n < len(deep.spacing_m)
    assert np.any(shallow.more_m > 0.0)
    assert np.array_equal(deep.spacing_m[:n], shallow.spacing_m)
    assert np.array_equal(deep.plain_bears[:n, :n], shallow.plain_bears)
    assert np.array_equal(deep.more_m[:n, :n], shallow.more_m)


def test_the_bill_pays_for_the_ramp_that_is_built() -> None:
    """Metres of the bill against the run of the ways: of four cables, from a launch 9 m deep."""
    method = enabled_methods(A)[0]
    bottom_m = 9.0 - A.shaft.sump_m - method_geometry(A, method).bore_diameter_m / 2.0
    spread = spread_at(A, method, bottom_m, ground(3.9))
    assert spread is not None
    here = ShaftGround([SAND], [SAND], [math.inf], [3.9])
    paid_m = shaft_in_ground([0], [1], here, [True], [9.0], A)[0, bill_items(A).index["CA14"]]
    line = ramp_line(A, method, bottom_m, 0.8, spread)
    assert paid_m == pytest.approx(4.0 * line.run_m)
    plain = shaft_in_ground([0], [1], ShaftGround([SAND], [SAND], [math.inf], [-2.0]), [True], [9.0], A)
    assert paid_m > plain[0, bill_items(A).index["CA14"]]
    assert trench_axis_m(A) == pytest.approx(line.depth_m(np.array([line.run_m]))[0, 0])


def test_rock_asks_for_no_less() -> None:
    """Bores that begin in rock leave it for the soil above: the larger of both counts."""
    in_rock = spread_at(A, "two_pass", 7.70, ground(3.9, rock_m=6.0))
    assert in_rock == spread_at(A, "two_pass", 7.70, ground(3.9))
