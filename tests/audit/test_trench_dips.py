"""Dips of open cut below services and beds: their shape by hand, and the pull of the cables through them."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.audit.cable_way import cable_way
from routescreen.audit.scene import set_scene
from routescreen.audit.trench_dips import section_dips
from tests.audit.place import across, crossing, crossings, plan
from tests.audit.test_cable_joints import ground, proved, row

if TYPE_CHECKING:
    from routescreen.audit.scene import Scene
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
LINE = [(0.0, 0.0), (600.0, 0.0)]
# A stream 4 m wide at x 300: 0.5 m of water, 0.3 of scour, 2.0 m of cover: tops at 2.80, 1.40 m lower;
# arcs of 25 m: 1.40 = 50 (1 - cos t), run 50 sin t
ANGLE = math.acos(1.0 - 1.40 / 50.0)
RUN_M = 50.0 * math.sin(ANGLE)
WEIGHT, FRICTION = 42.0 * 9.81 / 1000.0, 0.25


def met(*features: object) -> CorridorInput:
    return replace(ground(), crossings=crossings(*features))


def stream(x_m: float, name: str = "stream", **own: float) -> object:
    return crossing("stream", across(x_m), feature_id=name, **own)


def scene_of(*features: object) -> Scene:
    return set_scene(plan(LINE), met(*features), DEFAULTS, axis=None)


def test_one_dip_by_hand() -> None:
    (dip,) = section_dips(scene_of(stream(300.0)), 0)
    assert (dip.from_m, dip.to_m, dip.below_m) == pytest.approx((298.0, 302.0, 1.40), abs=1e-6)
    assert (dip.run_m, dip.radius_m) == pytest.approx((RUN_M, 25.0))
    assert dip.bend_deg == pytest.approx(math.degrees(ANGLE))


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(stream(300.0, min_cover_m=0.5), id="deep enough as it lies"),
        pytest.param(stream(300.0, water_depth_m=3.0), id="too deep for a dip: that fails"),
        pytest.param(crossing("telecom", across(300.0)), id="above the pipes as its kind lies"),
        pytest.param(crossing("sewer", across(300.0), depth_m=2.9, diameter_m=0.5), id="passed over"),
    ],
)
def test_no_dip(feature: object) -> None:
    assert section_dips(scene_of(feature), 0) == []


def test_dips_near_each_other_are_one_as_deep_as_the_deeper() -> None:
    """The sewer asks for 3.80 + 0.4 = 4.20 m, 2.80 m lower; its ramps reach those of the stream, 25 m on."""
    sewer = crossing("sewer", across(325.0), depth_m=1.8, diameter_m=2.0)
    (dip,) = section_dips(scene_of(stream(300.0), sewer), 0)
    assert dip.below_m == pytest.approx(2.80)
    assert dip.from_m == pytest.approx(298.0)
    assert dip.to_m > 325.0
    assert len(dip.crossings) == 2
    assert len(section_dips(scene_of(stream(300.0), stream(400.0, "other")), 0)) == 2


def test_pull_and_side_wall_through_a_dip_by_hand() -> None:
    """Four bends and two slopes; from either end alike, since the dip lies in the middle."""
    pull, slope = 3.0, math.atan(1.40 / RUN_M)
    sloped_m, bend = math.hypot(1.40, RUN_M), math.exp(FRICTION * ANGLE)
    walls = []
    for length_m, rises, bends in (
        (298.0 - RUN_M, 0.0, True),
        (sloped_m, -slope, True),
        (4.0, 0.0, True),
        (sloped_m, slope, True),
        (298.0 - RUN_M, 0.0, False),
    ):
        pull += WEIGHT * length_m * (FRICTION * math.cos(rises) + math.sin(rises))
        if bends:
            pull *= bend
            walls.append(pull / 25.0)
    proofs = proved(plan(LINE), met(stream(300.0)))
    assert row(proofs, "cable_pull", "demo-S001")["demand"] == pytest.approx(pull, abs=0.01)
    wall = row(proofs, "side_wall", "demo-S001")
    assert wall["demand"] == pytest.approx(max(walls), abs=0.001)
    assert wall["governing_chainage_m"] == pytest.approx(302.0 + RUN_M, abs=0.01)
    level = proved(plan(LINE), met(stream(300.0, min_cover_m=0.5)))
    assert row(level, "cable_pull", "demo-S001")["demand"] == pytest.approx(3.0 + WEIGHT * 600.0 * FRICTION)


def test_no_joint_lies_in_a_dip() -> None:
    nodes = cable_way(scene_of(stream(300.0))).nodes
    inside = (nodes.chainage_m > 298.0 - RUN_M + 1e-6) & (nodes.chainage_m < 302.0 + RUN_M - 1e-6)
    assert not inside.any()
    assert len(nodes.chainage_m) > 100


def test_a_dip_without_room_for_its_ramps_is_told_and_not_pulled() -> None:
    """8 m from the start there are 6 m for a ramp of 11.74 m."""
    proofs = proved(plan(LINE), met(stream(8.0)))
    room = row(proofs, "dip_room", "demo-S001")
    assert room["status"] == "amber"
    assert (room["demand"], room["capacity"]) == pytest.approx((RUN_M, 6.0), abs=0.01)
    assert "its bends aren't in the pull" in room["reason"]
    assert row(proofs, "cable_pull", "demo-S001")["demand"] == pytest.approx(3.0 + WEIGHT * 600.0 * FRICTION)


def test_a_dip_with_room_passes() -> None:
    room = row(proved(plan(LINE), met(stream(300.0))), "dip_room", "demo-S001")
    assert (room["status"], room["demand"], room["capacity"]) == ("pass", pytest.approx(RUN_M), 298.0)
