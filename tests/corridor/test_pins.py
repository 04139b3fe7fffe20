"""Pins on the nodes that serve them, and pins that contradict each other."""

import numpy as np
import pytest
import shapely

from routescreen.assumptions import load_assumptions
from routescreen.errors import InputError
from tests.corridor.cases import (
    burnt_case,
    crossing,
    straight,
)


def pin(role, x, y, radius_m=None):
    return {"role": role, "geometry": shapely.Point(x, y), "radius_m": radius_m}


def test_pins_move_to_the_nearest_node_that_serves():
    inp = straight(pins=[pin("shaft", 103, 4, 20.0), pin("via", 287, -33, 10.0)])
    _, _, burnt = burnt_case(inp)
    assert dict(enumerate(burnt.pin_shaft))[10] == 10
    assert (burnt.pin_shaft >= 0).sum() == 1
    assert burnt.pin_via[29] == 13
    assert (burnt.pin_via >= 0).sum() == 1


def test_no_shaft_pin_keeps_whole_plans_out():
    _, _, burnt = burnt_case(straight(pins=[pin("no_shaft", 200, 0, 40.0)]))
    shut = ~burnt.shaft_ok.any(axis=(0, 1, 2))[:, 10]
    # guided thrust receives in the shortest plan: half its length, 1 m, beyond the 40 m
    assert set(np.flatnonzero(shut)) >= set(range(16, 25))
    assert not shut[15]
    assert not shut[25]


def test_pins_that_cannot_be_served_are_all_named():
    rows = [crossing("building", shapely.box(150, -80, 250, 80))]
    inp = straight(*rows, pins=[pin("shaft", 200, 0, 15.0), pin("via", 200, 0, 15.0), pin("via", 20, 0)])
    with pytest.raises(InputError) as caught:
        burnt_case(inp)
    assert [problem.value for problem in caught.value.problems] == ["shaft", "via"]
    assert all("within 15 m" in problem.problem for problem in caught.value.problems)


@pytest.mark.parametrize("roles", [("shaft", "via"), ("via", "shaft"), ("via", "via"), ("shaft", "shaft")])
def test_pins_side_by_side_in_one_column_contradict_each_other(roles):
    inp = straight(pins=[pin("via", 20, 0), pin(roles[0], 200, 0), pin(roles[1], 202, 31)])
    with pytest.raises(InputError) as caught:
        burnt_case(inp)
    (problem,) = caught.value.problems
    assert problem.feature == "1, 2"
    assert f"Pin 1 ({roles[0]}) and pin 2 ({roles[1]})" in problem.problem


def test_a_pin_beside_a_terminal_contradicts_it():
    """The terminals stand at (0, 0) and (400, 0): the route has no other node in their columns."""
    inp = straight(pins=[pin("via", 0, 30), pin("via", 398, -42), pin("via", 200, 0)])
    with pytest.raises(InputError) as caught:
        burnt_case(inp)
    assert [problem.feature for problem in caught.value.problems] == ["0", "1"]
    assert ["start terminal lie side" in problem.problem for problem in caught.value.problems] == [
        True,
        False,
    ]
    assert ["end terminal lie side" in problem.problem for problem in caught.value.problems] == [False, True]
    assert all(problem.layer == "pins" and problem.remedy for problem in caught.value.problems)


# the steepest move goes 3 rows over a column, the steepest drive less than one
@pytest.mark.parametrize(
    ("x_m", "y_m", "is_told"),
    [
        pytest.param(210, 30, False, id="as steep as the steepest move"),
        pytest.param(210, 40, True, id="one row steeper"),
        pytest.param(220, -60, False, id="twice the steepest move"),
        pytest.param(220, -70, True, id="one row more than twice"),
        pytest.param(190, 40, True, id="behind it"),
    ],
)
def test_pins_in_neighbouring_columns_must_lie_within_reach(x_m, y_m, is_told):
    inp = straight(pins=[pin("via", 200, 0), pin("via", x_m, y_m)])
    if not is_told:
        _, _, burnt = burnt_case(inp)
        assert (burnt.pin_via >= 0).sum() == 2
        return
    with pytest.raises(InputError, match=r"Pin 0 .* and pin 1 .*neither trench nor drive turns") as caught:
        burnt_case(inp)
    assert [problem.feature for problem in caught.value.problems] == ["0, 1"]


def test_a_pin_out_of_a_terminals_reach_is_told():
    with pytest.raises(InputError, match=r"Pin 0 .* and the end terminal .* 40 m across"):
        burnt_case(straight(pins=[pin("via", 390, 40)]))
    burnt_case(straight(pins=[pin("via", 390, 30)]))


@pytest.mark.parametrize(
    ("apart_m", "least_trench_m", "has_short_drive", "is_told"),
    [
        pytest.param(20, 30, False, True, id="neither fits"),
        pytest.param(30, 30, False, False, id="the trench just fits"),
        pytest.param(20, 30, True, False, id="a drive of 8 m fits"),
        pytest.param(40, 90, False, False, id="a drive of 40 m fits"),
    ],
)
def test_pinned_shafts_leave_room_for_what_lies_between(apart_m, least_trench_m, has_short_drive, is_told):
    """Guided thrust drives 8 m and more, the two-pass method 40 m and more."""
    own = load_assumptions(
        f"[trench]\nmin_trench_m = {least_trench_m}\n"
        f"[methods.guided_thrust]\nis_enabled = {str(has_short_drive).lower()}\n"
    )
    inp = straight(pins=[pin("shaft", 200, 0), pin("shaft", 200 + apart_m, 0)])
    if is_told:
        with pytest.raises(InputError, match="too near for a trench between two shafts"):
            burnt_case(inp, assumptions=own)
    else:
        burnt_case(inp, assumptions=own)


def test_shaft_and_via_on_one_node_agree():
    _, _, burnt = burnt_case(straight(pins=[pin("shaft", 200, 0), pin("via", 202, 1)]))
    assert burnt.pin_shaft[20] == burnt.pin_via[20] == 10
