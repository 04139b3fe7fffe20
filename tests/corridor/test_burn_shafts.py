"""Where shafts may stand, in cases that can be checked by hand."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from routescreen.corridor.burn_shafts import bin_outline
from routescreen.corridor.stencil import N_BINS
from routescreen.drives.methods import method_geometry
from routescreen.project import RasterGrid
from tests.corridor.cases import (
    ASSUMPTIONS,
    across,
    burnt_case,
    crossing,
    straight,
    strip,
)


def test_shaft_keeps_its_clearance_from_the_outline():
    # railway at x = 200: outline 193 .. 207, clearance 15. Straight ahead the plan reaches length / 2
    _, _, burnt = burnt_case(straight(crossing("railway", across(200))))
    for k, name in enumerate(burnt.method_names):
        size = method_geometry(ASSUMPTIONS, name)
        for role, plan_m in enumerate((size.launch_plan_m, size.reception_plan_m)):
            straight_bin = bin_outline(plan_m, 2, max_heading_rad=math.radians(30.0))
            reach_m = straight_bin[:, 0].max()
            assert reach_m >= plan_m[0] / 2.0
            columns = np.flatnonzero(burnt.shaft_ok[k, role, 2, :, 10])
            before = [i for i in columns if i < 20]
            assert max(before) == math.floor((200 - 7 - 15 - reach_m) / 10.0)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(0, N_BINS - 1),
    st.floats(0.0, 1.0),
    st.floats(1.0, 15.0),
    st.floats(1.0, 40.0),
)
def test_bin_outline_holds_the_plan_at_every_heading_of_the_bin(bin_index, share, length_m, width_m):
    heading = math.radians(-30.0 + 12.0 * (bin_index + share))
    corners = np.array([[-1, -1], [-1, 1], [1, 1], [1, -1]]) * [length_m / 2, width_m / 2]
    ahead, right = (
        np.array([math.cos(heading), math.sin(heading)]),
        np.array([-math.sin(heading), math.cos(heading)]),
    )
    plan = shapely.Polygon(corners[:, :1] * ahead + corners[:, 1:] * right)
    outline = shapely.Polygon(bin_outline((length_m, width_m), bin_index, max_heading_rad=math.radians(30.0)))
    assert outline.buffer(1e-9).covers(plan)
    assert outline.area <= 1.3 * plan.area + 0.2 * (length_m**2 + width_m**2)  # and not much more


@settings(max_examples=15, deadline=None)
@given(
    st.floats(150, 250), st.floats(-60, 60), st.floats(0, math.pi), st.floats(-30, 30), st.integers(0, 400)
)
def test_no_allowed_shaft_breaks_a_clearance(x, y, turn, heading_deg, seed):
    end = 90.0 * np.array([math.cos(turn), math.sin(turn)])
    dyke = crossing("dyke", LineString([(x - end[0], y - end[1]), (x + end[0], y + end[1])]))
    frame, crossings, burnt = burnt_case(straight(dyke))
    bin_index = min(int((heading_deg + 30.0) // 12.0), N_BINS - 1)
    heading = math.radians(heading_deg)
    clear_m = ASSUMPTIONS.treatments["dyke"].shaft_clearance_m
    ahead = np.array([math.cos(heading), -math.sin(heading)])  # to the right is -y
    side = np.array([ahead[1], -ahead[0]])
    for k, name in enumerate(burnt.method_names):
        length_m, width_m = method_geometry(ASSUMPTIONS, name).launch_plan_m
        nodes = np.argwhere(burnt.shaft_ok[k, 0, bin_index])
        nodes = nodes[np.random.default_rng(seed).permutation(len(nodes))[:60]]
        for i, j in nodes:
            corners = [
                frame.node_xy_m[i, j] + a * length_m / 2 * ahead + b * width_m / 2 * side
                for a, b in ((-1, -1), (-1, 1), (1, 1), (1, -1))
            ]
            plan = shapely.Polygon(corners)
            assert plan.distance(crossings.outline[0]) >= clear_m - 1e-5
            assert strip(400.0, 200.0).buffer(1e-2).covers(plan)


@pytest.mark.parametrize(
    ("own", "is_free"), [("yes", True), ("consent", False), ("no", False), (None, False)]
)
def test_shaft_in_a_feature_by_its_own_word(own, is_free):
    site = crossing("archaeological_site", shapely.box(150, -60, 250, 60), shaft_allowed=own)
    _, _, burnt = burnt_case(straight(site))
    assert burnt.shaft_ok[:, :, :, 20, 10].all() == is_free
    assert burnt.shaft_ok[:, :, :, 20, 10].any() == is_free


def test_ground_cover_without_shafts_counts_under_the_whole_plan():
    forest = ASSUMPTIONS.cover_names.index("forest")
    values = np.zeros((40, 60), dtype=np.int16)
    values[:, 30] = forest  # x from 200 to 210; consent counts as no
    cover = RasterGrid(values, -100.0, 200.0, 10.0, 10.0)
    _, _, burnt = burnt_case(straight(ground_cover=cover))
    size = method_geometry(ASSUMPTIONS, "two_pass")
    k = burnt.method_names.index("two_pass")
    outline = bin_outline(size.launch_plan_m, 2, max_heading_rad=math.radians(30.0))
    reach_m = outline[:, 0].max()
    shut = [i for i in range(41) if 10.0 * i > 200.0 - reach_m and 10.0 * i < 210.0 + reach_m]
    inner = np.arange(2, 39)
    found = [i for i in inner if not burnt.shaft_ok[k, 0, 2, i, 10]]
    assert found == shut
