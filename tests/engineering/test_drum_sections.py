"""Drums and joints: cases by hand, enumeration of all ways, laws."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.drum_sections import drum_section_m, place_joints

nodes_of_a_line = st.lists(st.integers(1, 60), min_size=1, max_size=9).map(
    lambda gaps: np.concatenate([[0.0], np.cumsum(gaps, dtype=np.float64)])
)


@pytest.mark.parametrize(
    ("gross_t", "mass_kg_per_m", "expected_m"),
    [
        pytest.param(60.0, 42.0, 1250.0, id="52 500 kg / 42"),
        pytest.param(48.0, 42.0, 964.3, id="40 500 / 42"),
        pytest.param(80.0, 42.0, 1726.2, id="72 500 / 42"),
        pytest.param(5.0, 42.0, 0.0, id="drum heavier than what may be moved"),
    ],
)
def test_section_by_mass(gross_t, mass_kg_per_m, expected_m):
    assert drum_section_m(gross_t, 7.5, mass_kg_per_m) == pytest.approx(expected_m, abs=0.1)


@given(st.floats(10.0, 100.0), st.floats(0.0, 9.0), st.floats(5.0, 60.0), st.floats(0.1, 10.0))
def test_section_depends_on_the_ratio_of_masses(gross_t, empty_t, mass, scale):
    here = drum_section_m(gross_t, empty_t, mass)
    assert drum_section_m(gross_t * scale, empty_t * scale, mass * scale) == pytest.approx(here)


def test_one_drum_is_enough():
    plan = place_joints([0.0, 500.0, 1000.0], [0.0, 1.0, 0.0], most_m=1000.0)
    assert plan.is_feasible
    assert plan.chainage_m.size == 0
    assert plan.section_m.tolist() == [1000.0]
    assert plan.cost == 0.0


def test_fewest_joints_then_the_cheapest():
    # One joint will do at 400 to 600; the dear one at 500 is passed over, the free one at 200 is of no use.
    plan = place_joints(
        [0.0, 200.0, 400.0, 500.0, 600.0, 1000.0], [0.0, 0.0, 20.0, 90.0, 10.0, 0.0], most_m=600.0
    )
    assert plan.chainage_m.tolist() == [600.0]
    assert plan.section_m.tolist() == [600.0, 400.0]
    assert plan.cost == 10.0


def test_equal_ones_lie_nearest_to_the_start():
    plan = place_joints([0.0, 400.0, 500.0, 600.0, 1000.0], np.zeros(5), most_m=600.0)
    assert plan.chainage_m.tolist() == [400.0]


def test_gap_that_no_drum_spans_is_named():
    plan = place_joints([0.0, 500.0, 900.0, 2200.0, 2500.0], np.zeros(5), most_m=1250.0)
    assert not plan.is_feasible
    assert plan.farthest_m == 900.0
    assert math.isnan(plan.cost)
    assert plan.section_m.size == 0


def test_pull_from_the_other_end_opens_a_section():
    nodes, weight = [0.0, 500.0, 1000.0], np.zeros(3)
    forward, backward = [1, 2, 2], [0, 1, 0]
    only = place_joints(nodes, weight, most_m=1000.0, forward_reach=forward)
    assert only.chainage_m.tolist() == [500.0]
    either = place_joints(nodes, weight, most_m=1000.0, forward_reach=forward, backward_reach=backward)
    assert either.chainage_m.size == 0


def test_rounding_of_chainages_costs_no_joint():
    plan = place_joints([0.0, 0.1 + 0.2], [0.0, 0.0], most_m=0.3)
    assert plan.is_feasible
    assert plan.chainage_m.size == 0


def allowed(nodes, i, j, most_m, forward, backward):
    if nodes[j] - nodes[i] > most_m:
        return False
    return (forward is None and backward is None) or forward[i] >= j or backward[j] <= i


def best_of_all(nodes, weights, most_m, forward=None, backward=None):
    inner = range(1, len(nodes) - 1)
    found = []
    for count in range(len(nodes) - 1):
        for chosen in itertools.combinations(inner, count):
            way = (0, *chosen, len(nodes) - 1)
            if all(allowed(nodes, i, j, most_m, forward, backward) for i, j in itertools.pairwise(way)):
                found.append((count, sum(weights[i] for i in chosen)))
        if found:
            return min(found)
    return None


@given(nodes_of_a_line, st.integers(5, 150), st.data())
def test_against_enumeration_of_all_ways(nodes, most_m, data):
    n = nodes.size
    weights = data.draw(st.lists(st.integers(0, 9), min_size=n, max_size=n))
    expected = best_of_all(nodes, weights, most_m)
    plan = place_joints(nodes, weights, most_m=most_m)
    assert plan.is_feasible == (expected is not None)
    if expected is not None:
        assert (plan.nodes.size, plan.cost) == expected
        assert plan.section_m.max() <= most_m
        assert plan.section_m.sum() == nodes[-1]


@given(nodes_of_a_line, st.data())
def test_against_enumeration_where_pulls_bind(nodes, data):
    n = nodes.size
    weights = data.draw(st.lists(st.integers(0, 9), min_size=n, max_size=n))
    forward = [data.draw(st.integers(i, n - 1)) for i in range(n)]
    backward = [data.draw(st.integers(0, i)) for i in range(n)]
    expected = best_of_all(nodes, weights, 200.0, forward, backward)
    plan = place_joints(nodes, weights, most_m=200.0, forward_reach=forward, backward_reach=backward)
    assert (plan.nodes.size, plan.cost) == expected if expected is not None else not plan.is_feasible


@given(nodes_of_a_line, st.integers(5, 150), st.sampled_from([0.5, 2.0, 8.0]))
def test_turning_and_scaling_the_line(nodes, most_m, scale):
    weights = np.arange(nodes.size) % 4.0
    here = place_joints(nodes, weights, most_m=most_m)
    turned = place_joints(nodes[-1] - nodes[::-1], weights[::-1], most_m=most_m)
    assert turned.is_feasible == here.is_feasible
    assert turned.nodes.size == here.nodes.size
    assert turned.cost == pytest.approx(here.cost, nan_ok=True)
    scaled = place_joints(nodes * scale, weights, most_m=most_m * scale)
    assert scaled.nodes.tolist() == here.nodes.tolist()


def test_free_ground_needs_the_least_number():
    nodes = np.arange(0.0, 10_000.0 + 1.0, 5.0)
    plan = place_joints(nodes, np.zeros(nodes.size), most_m=1250.0)
    assert plan.nodes.size == 7  # 10 000 / 1 250 = 8 sections


@pytest.mark.parametrize(
    ("nodes", "weights"),
    [
        pytest.param([0.0], [0.0], id="one node"),
        pytest.param([0.0, 0.0], [0.0, 0.0], id="not growing"),
        pytest.param([0.0, math.nan], [0.0, 0.0], id="NaN"),
        pytest.param([0.0, 1.0], [0.0, math.inf], id="weight without end"),
        pytest.param([0.0, 1.0], [0.0], id="weight missing"),
    ],
)
def test_impossible_lines(nodes, weights):
    with pytest.raises(ValueError, match="need"):
        place_joints(nodes, weights, most_m=10.0)
