"""The profile along a hand-made alignment: bottom and cover in open cut, on ramps, in the drive."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen import longsection
from routescreen.audit.trench_dips import Dip
from routescreen.corridor.ground import GroundSampler
from tests.audit.place import STRAIGHT, Run, place, plan, with_ground
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    from routescreen.screened import LongSection

# One S-bend: whether it bears the current is asked elsewhere.
A = load_assumptions("[cable]\nramp_spacing_most_m = 0.1\n")
# Ground at 50 m; crowns at 44 m, bores of 0.56 m: axes 6.28 m deep. Ramps of 23.83 m, up 4.74 m.
RUN_M = 23.8300


@pytest.fixture
def profile(monkeypatch: pytest.MonkeyPatch) -> LongSection:
    # what features ask for over the drive has tests of its own
    monkeypatch.setattr(longsection, "_ceiling_m", lambda *args: np.full(len(args[2]), 46.0))
    inp = with_ground(
        place(), box(-100.0, -300.0, 1600.0, 300.0), soil="sand_dense", groundwater_depth_m=30.0
    )
    return longsection.long_section(plan(STRAIGHT, Run(1)), GroundSampler(inp, A), [None], A)  # type: ignore[list-item]


def test_in_a_dip_the_pipes_lie_deeper_and_its_bends_are_points_of_the_profile() -> None:
    """1 m deeper over 4 m, in ramps of 6 m on both sides, in the midst of flat ground at 50 m."""
    inp = with_ground(
        place(), box(-100.0, -300.0, 1600.0, 300.0), soil="sand_dense", groundwater_depth_m=30.0
    )
    dip = Dip(101.0, 105.0, 1.0, 6.0, 0.0, 25.0, (0,))
    found = longsection.long_section(plan(STRAIGHT), GroundSampler(inp, A), [], A, [dip])
    # 100 m is a point anyway, 5 m up a ramp of 6 m
    for at_m, lower_m in ((95.0, 0.0), (100.0, 5.0 / 6.0), (101.0, 1.0), (105.0, 1.0), (111.0, 0.0)):
        (here,) = np.flatnonzero(np.isclose(found.chainage_m, at_m))
        assert found.cover_m[here] == pytest.approx(1.4 + lower_m)
        assert found.invert_m[here] == pytest.approx(50.0 - 1.88 - lower_m)
    assert found.cover_m.max() == pytest.approx(2.4)


def _at(profile: LongSection, from_m: float, to_m: float) -> np.ndarray:
    is_there = (profile.chainage_m >= from_m - 1e-6) & (profile.chainage_m <= to_m + 1e-6)
    return is_there & ~profile.is_drive


@pytest.mark.parametrize("shaft_m", [520.0, 800.0])
def test_at_the_shaft_the_open_cut_is_as_deep_as_the_bores(profile: LongSection, shaft_m: float) -> None:
    """Axes 6.28 m deep: bottom 0.14 + 0.2 m lower, cover to the pipes 0.14 m less."""
    (here,) = np.flatnonzero(_at(profile, shaft_m, shaft_m))
    assert profile.invert_m[here] == pytest.approx(50.0 - 6.62)
    assert profile.cover_m[here] == pytest.approx(6.14)
    assert profile.required_cover_m[here] == pytest.approx(1.4)


def test_beyond_its_ramps_the_open_cut_is_a_trench(profile: LongSection) -> None:
    for from_m, to_m in ((0.0, 520.0 - RUN_M), (800.0 + RUN_M, 1500.0)):
        there = _at(profile, from_m, to_m)
        assert there.sum() > 50
        assert profile.invert_m[there] == pytest.approx(50.0 - 1.88)
        assert profile.cover_m[there] == pytest.approx(1.4)


def test_on_a_ramp_it_rises_from_the_shaft_on(profile: LongSection) -> None:
    before, behind = _at(profile, 520.0 - RUN_M, 520.0), _at(profile, 800.0, 800.0 + RUN_M)
    assert np.all(np.diff(profile.invert_m[before]) < 0.0)
    assert np.all(np.diff(profile.invert_m[behind]) > 0.0)
    # After 10 m outer cables, 3.75 m aside, have crossed 25 - root(25^2 - 10^2) = 2.0871 m of 6.04401, still
    # 4.6432 m deep; inner ones, 1.75 m aside, 1.13076 m to the end of the arc at 7.4334 m and 0.79934 m at
    # 17.2979 deg, 1.9301 m of 5.05273: 4.4694 m deep.
    (there,) = np.flatnonzero(_at(profile, 810.0, 810.0))
    assert profile.invert_m[there] == pytest.approx(50.0 - 4.6432 - 0.34, abs=1e-3)
    assert profile.cover_m[there] == pytest.approx(4.4694 - 0.14, abs=1e-3)


def test_the_drive_has_its_own_levels(profile: LongSection) -> None:
    assert profile.invert_m[profile.is_drive] == pytest.approx(44.0 - 0.56)
