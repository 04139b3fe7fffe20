"""Works near obstacles: found fast, yet exactly those that are too near."""

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from routescreen.corridor.burn_bands import _distance_m
from routescreen.corridor.obstacles import EXACT_M, Obstacles


def thrown_lines(rng, n, *, most_m=20.0):
    start = rng.uniform(0.0, 100.0, (n, 2))
    return np.stack([start, start + rng.uniform(-most_m, most_m, (n, 2))], axis=1)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([0.0, 3.0, 11.0]))
def test_too_near_is_what_lies_within_the_clearance(seed, more_m):
    """Asked for some, then for others and more: what was kept from before must not leak in."""
    rng = np.random.default_rng(seed)
    clearance_m = rng.choice([0.0, 2.0, 9.0], 12)
    obstacles = Obstacles.of(shapely.linestrings(thrown_lines(rng, 12)), clearance_m)
    works = shapely.linestrings(thrown_lines(rng, 40))
    tree = shapely.STRtree(works)
    for extra_m, chosen in (
        (more_m, np.arange(0, 8)),
        (more_m + 5.0, np.arange(3, 9)),
        (more_m, np.arange(4, 12)),
    ):
        obstacle, work = obstacles.too_near(tree, chosen, more_m=extra_m)
        away_m = shapely.distance(obstacles.geometry[chosen][:, None], works[None, :])
        limit_m = clearance_m[chosen][:, None] + extra_m
        is_sure = np.abs(away_m - limit_m) > 2.0 * EXACT_M
        found = np.zeros(away_m.shape, dtype=bool)
        found[obstacle - chosen[0], work] = True
        # nothing lies within a clearance of 0, but what touches is too near
        np.testing.assert_array_equal(found[is_sure], ((away_m < limit_m) | (away_m == 0.0))[is_sure])


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([0.0, 5.6]))
def test_all_that_is_too_near_meets_the_roomy_area(seed, more_m):
    rng = np.random.default_rng(seed)
    obstacles = Obstacles.of(shapely.linestrings(thrown_lines(rng, 12)), rng.choice([0.0, 2.0, 9.0], 12))
    tree = shapely.STRtree(shapely.linestrings(thrown_lines(rng, 60)))
    everything = np.arange(12)
    exact = set(
        zip(*(part.tolist() for part in obstacles.too_near(tree, everything, more_m=more_m)), strict=True)
    )
    roomy = obstacles.roomy(more_m)
    found = set(zip(*(part.tolist() for part in roomy.too_near(tree, everything)), strict=True))
    assert exact <= found


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_distance_of_straight_lines(seed):
    rng = np.random.default_rng(seed)
    one, other = (thrown_lines(rng, 200, most_m=80.0) for _ in range(2))
    found = _distance_m(one[:, 0], one[:, 1], other[:, 0], other[:, 1])
    np.testing.assert_allclose(
        found, shapely.distance(shapely.linestrings(one), shapely.linestrings(other)), atol=1e-9
    )
    assert (found == 0.0).any()


def test_lines_that_cross_far_from_all_ends_are_at_no_distance():
    one, other = LineString([(-50, 0), (50, 0)]), LineString([(-50, -20), (50, 20)])
    ends = [np.array([end]) for line in (one, other) for end in line.coords]
    assert _distance_m(*ends)[0] == 0.0
