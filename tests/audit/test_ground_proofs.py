"""Findings on hand-made drives: by hand, at the limits, with inputs missing."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.audit import audit_plan
from tests.audit.place import Run, across, crossing, place, plan, raster, with_ground
from tests.audit.proving import prove_plan

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.audit.proofs import Proofs
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
STRAIGHT = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
DRY_M = 100.0
DIAMETER_M = 0.56


def ground(soil: str = "sand_dense", water_m: float = DRY_M, **more: object) -> CorridorInput:
    inp = with_ground(place(), WHOLE, soil=soil, groundwater_depth_m=water_m, **more)
    return replace(inp, crossings=inp.crossings.iloc[:0])


def proved(run: Run, inp: CorridorInput | None = None, a: Assumptions = DEFAULTS) -> Proofs:
    return prove_plan(the_plan(run), inp if inp is not None else ground(), a)


def the_plan(run: Run) -> Plan:
    return plan(STRAIGHT, run)


def row(proofs: Proofs, check: str, element: str = "D001") -> pd.Series:
    rows = proofs.checks[
        (proofs.checks["check"] == check) & proofs.checks["element_id"].str.endswith(element)
    ]
    assert len(rows) == 1, check
    return rows.iloc[0]


def with_text(text: str) -> Assumptions:
    return load_assumptions(text)


# crown 6.0 m deep in dry dense sand (18.5 kN/m3, 35 degrees, K0 = 1 - sin 35 = 0.42642): 111 kPa on it.
# Prism: tan 35/1.1 = 0.63655; 111 (1 + 0.42642 x 0.63655 x 6/0.56) = 433.8 kPa
PRISM_KPA = 111.0 * (
    1.0 + (1.0 - math.sin(math.radians(35.0))) * math.tan(math.radians(35.0)) / 1.1 * 6 / 0.56
)
# face: Ka = tan2(45 - 17.5) = 0.27099; 1.5 x 0.27099 x 18.5 x 6.28 + 2 x 10 - 11 x 0.28 = 64.15 kPa
FACE_KPA = 1.5 * 0.270990 * 18.5 * 6.28 + 20.0 - 11.0 * 0.28


def test_pressures_on_a_level_drive_by_hand() -> None:
    proofs = proved(Run(1))
    assert row(proofs, "pressure_face")["demand"] == pytest.approx(FACE_KPA, abs=0.01)
    assert row(proofs, "pressure_mud")["demand"] == pytest.approx(11.0 * 6.0)
    # the vent at the crown does: 50 kPa of injection are more than the 10 kPa over the water that it needs
    assert row(proofs, "pressure_grout")["demand"] == pytest.approx(50.0)
    assert row(proofs, "pressure_face")["capacity"] <= PRISM_KPA + 0.01
    assert set(proofs.checks.loc[proofs.checks["check"].str.startswith("pressure"), "status"]) == {"pass"}


def test_grout_may_have_what_holds_the_groundwater_and_no_more_than_the_ground_holds() -> None:
    """Water to the ground: u = 58.86 kPa at a crown of 44 m, so 68.86 kPa instead of the 50 planned."""
    found = row(proved(Run(1), ground(water_m=0.0)), "pressure_grout")
    limit = found["capacity"] + 58.86
    assert found["demand"] == pytest.approx(10.0)
    assert f"44.00 m, it may have 69 to {limit:.0f} kPa: 69 kPa serve" in found["reason"]
    assert "instead" not in found["reason"]


def test_a_vent_at_the_ground_lets_grout_stand_as_high_as_the_higher_shaft() -> None:
    """Ground at 50.0: 14 x 6.0 + 50 = 134 kPa on a dry crown at 44.0 that holds 433.8."""
    a = with_text('[grout]\nvent = "ground"\n')
    found = row(proved(Run(1), a=a), "pressure_grout")
    assert found["demand"] == pytest.approx(134.0)
    assert found["capacity"] == pytest.approx(PRISM_KPA)
    assert "stands at the ground, 50.00 m; it may stand between 44.00 and" in found["reason"]
    deeper = with_text('[grout]\nvent = "ground"\nunit_weight_kN_per_m3 = [70.0, 70.0, 70.0]\n')
    assert row(proved(Run(1), a=deeper), "pressure_grout")["status"] == "fail"
    lowest = with_text("[grout]\nunit_weight_kN_per_m3 = [70.0, 70.0, 70.0]\n")
    assert row(proved(Run(1), a=lowest), "pressure_grout")["status"] == "pass"


@pytest.mark.parametrize(
    ("text", "check"),
    [
        pytest.param("[checks.pressure]\ngrout_above_water_kPa = 900.0\n", "pressure_grout", id="grout"),
        pytest.param("[methods.two_pass]\nface_control_kPa = 400.0\n", "pressure_face", id="face"),
        pytest.param(
            "[checks.slurry]\nunit_weight_kN_per_m3 = [90, 95, 99]\n", "pressure_mud", id="heavy mud"
        ),
        pytest.param("[pipe]\ne_short_MPa = 20.0\ne_long_MPa = 20.0\n", "collapse", id="soft pipe"),
        pytest.param("[checks.settlement]\nground_limit_mm = 0.5\n", "settlement", id="settlement"),
        pytest.param("[methods.two_pass]\nlargest_grain_m = 0.001\n", "obstruction", id="grain"),
        pytest.param("[checks.pull_in]\nroller_friction = 20.0\n", "pull_stages", id="pull"),
    ],
)
def test_each_row_can_fail(text: str, check: str) -> None:
    assert row(proved(Run(1)), check)["status"] == "pass"
    assert row(proved(Run(1), a=with_text(text)), check)["status"] == "fail"


def test_too_much_planned_injection_is_taken_back_to_the_middle_of_what_serves_well() -> None:
    """10 kPa over no water to 0.9 x 111 = 99.9 kPa: 54.95 kPa."""
    a = with_text("[grout]\ninjection_kPa = [900, 950, 990]\n")
    found = row(proved(Run(1), a=a), "pressure_grout")
    assert found["demand"] == pytest.approx((10.0 + 0.9 * 111.0) / 2.0)
    assert "55 kPa serve instead of the 950 kPa planned" in found["reason"]


def test_what_no_pressure_does_at_any_place_no_stage_does_either() -> None:
    a = with_text("[checks.pressure]\ngrout_above_water_kPa = 900.0\n")
    reason = row(proved(Run(1), a=a), "pressure_grout")["reason"]
    assert "must have 900 kPa or more, and 434 kPa or less; in stages it doesn't either" in reason


def test_a_range_that_is_too_narrow_to_be_held_is_amber() -> None:
    """420 to 434 kPa at the crown, and a pressure is held to 10 kPa either way."""
    a = with_text("[checks.pressure]\ngrout_above_water_kPa = 420.0\n")
    found = row(proved(Run(1), a=a), "pressure_grout_control")
    assert (found["status"], found["demand"]) == ("amber", 20.0)
    assert found["capacity"] == pytest.approx(PRISM_KPA - 420.0)
    checks = proved(Run(1)).checks["check"]
    assert "pressure_grout_control" not in set(checks)


def test_grout_too_heavy_for_a_drive_that_falls_would_hold_in_stages() -> None:
    """From 44 m down to 34 m, where 434 to about 990 kPa are held: 200 kN/m3 press 2 000 kPa more below.

    A stage may fall by (434 - 10)/200 = 2.1 m to (990 - 10)/200 = 4.9 m, so 10 m take 3 to 5 of them.
    """
    a = with_text("[grout]\nunit_weight_kN_per_m3 = [200.0, 200.0, 200.0]\n")
    found = row(proved(Run(1, lower_crown_m=44.0, upper_crown_m=34.0), a=a), "pressure_grout")
    assert found["status"] == "fail"
    assert "no pressure does in one go: at the highest crown, 44.00 m, it must have 10 kPa" in found["reason"]
    stages = re.search(r"in (\d) stages along the drive", found["reason"])
    assert stages is not None
    assert 3 <= int(stages[1]) <= 5
    assert found["capacity"] == pytest.approx(990.0, abs=10.0)


def test_bores_that_may_meet_fail() -> None:
    """0.5 + 0.56 + 2 x 0.02 x 280 = 12.26 m against the distance that the method keeps for its longest."""
    a = with_text("[methods.two_pass]\ndeviation_frac = 0.001\ndeviation_untracked_frac = 0.02\n")
    assert row(proved(Run(1), a=a), "bore_deviation_untracked")["demand"] == pytest.approx(12.26)
    assert row(proved(Run(1)), "bore_deviation")["demand"] == pytest.approx(3 * 0.56)


def test_mud_stands_open_at_the_launch_however_low_the_ground_lies_on_the_way() -> None:
    """Over a hollow of 5 m only 1 m of cover is left, and the mud still presses with 11 x 6 kPa."""
    inp = ground()
    assert inp.terrain is not None
    values = np.full((100, 210), 50.0)
    values[:, 95:98] = 45.0  # x from 650 to 680
    inp = replace(inp, terrain=replace(inp.terrain, values=values))
    found = row(proved(Run(1), inp), "pressure_mud")
    assert found["demand"] == pytest.approx(66.0)
    assert found["status"] == "fail"
    assert 655.0 <= found["governing_chainage_m"] <= 675.0


def test_pipe_weights_by_hand() -> None:
    """PE OD 0.5: uplift in grout 14 x 0.19635 = 2.7489; pipe 0.60822 + water 1.28885 kN/m."""
    found = row(proved(Run(1)), "buoyancy")
    assert found["demand"] == pytest.approx(2.7489, abs=1e-4)
    assert found["capacity"] == pytest.approx(0.60822 + 1.28885, abs=1e-4)
    assert found["status"] == "amber"
    light = with_text(
        "[grout]\nunit_weight_kN_per_m3 = [9, 9.2, 18]\n[checks.slurry]\n"
        "unit_weight_kN_per_m3 = [9, 9.1, 9.2]\n"
    )
    assert row(proved(Run(1), a=light), "buoyancy")["status"] == "pass"


def test_settlement_over_four_bores_by_hand() -> None:
    """A tenth of pi/4 (0.56^2 - 0.5^2) = 0.0049951 m2 a bore; i = 0.27 x 6.28 = 1.6956 m, bores 6 m apart."""
    area, width = 0.1 * math.pi / 4.0 * (0.56**2 - 0.5**2), 0.27 * 6.28
    own = 1000.0 * area / (math.sqrt(2.0 * math.pi) * width)
    # over an inner bore: its neighbours 6 m away on both sides, the last 12 m away
    near, far = math.exp(-((6.0 / width) ** 2) / 2.0), math.exp(-((12.0 / width) ** 2) / 2.0)
    assert row(proved(Run(1)), "settlement")["demand"] == pytest.approx(
        own * (1.0 + 2.0 * near + far), rel=1e-6
    )


@pytest.mark.parametrize(("kind", "mm"), [("railway", 10.0), ("main_road", 20.0)])
def test_settlement_under_rail_and_road_has_its_own_limit(kind: str, mm: float) -> None:
    inp = ground()
    inp = replace(inp, crossings=place(crossing(kind, across(650.0))).crossings.iloc[-1:])
    found = row(proved(Run(1), inp), "settlement", "C001")
    assert found["capacity"] == mm
    depth = 6.28 - (0.8 if kind == "railway" else 0.0)  # a railway from its formation
    own = 100.0 * math.pi / 4.0 * (0.56**2 - 0.5**2) / (math.sqrt(2.0 * math.pi) * 0.27 * depth)
    assert found["demand"] == pytest.approx(own, rel=0.02)


def test_an_annulus_that_is_lost_may_settle_the_rail_ten_times_as_much() -> None:
    """All of the annulus and not a tenth: beyond the 10 mm of a railway, amber; a road's 20 mm hold."""
    rows = {}
    for kind in ("railway", "main_road"):
        inp = replace(ground(), crossings=place(crossing(kind, across(650.0))).crossings.iloc[-1:])
        rows[kind] = proved(Run(1), inp)
    found = row(rows["railway"], "settlement_unheld", "C001")
    held = row(rows["railway"], "settlement", "C001")
    assert (found["status"], held["status"]) == ("amber", "pass")
    assert found["demand"] == pytest.approx(10.0 * held["demand"], rel=1e-9)
    assert "settlement_unheld" not in set(rows["main_road"].checks["check"])


def river(**own: object) -> CorridorInput:
    row_of = crossing("river", across(650.0), half_width_m=15.0, **own)
    return replace(ground(water_m=1.0), crossings=place(row_of).crossings.iloc[-1:])


def test_under_a_river_pressure_counts_from_its_bed_and_its_water_weighs() -> None:
    """Bed 50 - 2.5 less 0.3 of tolerance: 3.2 m over a crown at 44; u there 9.81 x 6.0."""
    curves = proved(Run(1), river()).curves["drive_curves"]
    under = curves[curves["chainage_m"].between(640.0, 660.0)]
    assert len(under) >= 3
    assert under["cover_m"].to_numpy() == pytest.approx(3.2)
    assert under["water_kPa"].to_numpy() == pytest.approx(58.86)
    # total: 2.8 m of water, 3.2 m of sand of 20.5 kN/m3 under it
    assert under["total_stress_kPa"].to_numpy() == pytest.approx(2.8 * 9.81 + 3.2 * 20.5)


@pytest.mark.parametrize(
    ("kN_per_m3", "status"),
    [pytest.param(15.5, "pass", id="93.0 kPa"), pytest.param(15.6, "amber", id="93.6 kPa")],
)
def test_mud_under_a_river_is_held_against_the_whole_weight_there(kN_per_m3: float, status: str) -> None:
    """6.0 m of mud against 2.8 m of water and 3.2 m of sand: 2.8 x 9.81 + 3.2 x 20.5 = 93.068 kPa."""
    a = with_text(f"[checks.slurry]\nunit_weight_kN_per_m3 = [10.0, {kN_per_m3}, 20.0]\n")
    found = row(proved(Run(1), river(), a), "pressure_mud_lift")
    assert (found["demand"], found["status"]) == (pytest.approx(6.0 * kN_per_m3), status)
    assert found["capacity"] == pytest.approx(93.068)
    assert "under river" in found["reason"]
    assert 634.7 <= found["governing_chainage_m"] <= 665.3


@pytest.mark.parametrize(
    ("kind", "is_held"), [("dyke", True), ("railway", True), ("telecom", False), ("forest", False)]
)
def test_only_under_what_may_not_be_lifted(kind: str, is_held: bool) -> None:
    """Dry: 111 kPa at the crown, mud of 19 kN/m3 presses with 114."""
    a = with_text("[checks.slurry]\nunit_weight_kN_per_m3 = [10.0, 19.0, 20.0]\n")
    inp = replace(
        ground(), crossings=place(crossing(kind, across(650.0), half_width_m=4.0)).crossings.iloc[-1:]
    )
    checks = proved(Run(1), inp, a).checks
    found = checks[checks["check"] == "pressure_mud_lift"]
    assert found["status"].tolist() == ["amber"] * is_held
    assert found["demand"].tolist() == [pytest.approx(114.0)] * is_held
    assert found["capacity"].tolist() == [pytest.approx(111.0)] * is_held


@pytest.mark.parametrize("x_m", [580.0, 740.0], ids=["dyke first", "river first"])
def test_of_several_the_one_that_bears_least_is_told(x_m: float) -> None:
    """Under the dyke 1.0 x 18.5 + 5.0 x 20.5 = 121 kPa, under the river 93.068; the mud presses alike."""
    both = (crossing("dyke", across(x_m)), crossing("river", across(650.0), half_width_m=15.0))
    inp = replace(ground(water_m=1.0), crossings=place(*both).crossings.iloc[-2:])
    found = row(proved(Run(1), inp), "pressure_mud_lift")
    assert found["capacity"] == pytest.approx(93.068)
    assert 634.7 <= found["governing_chainage_m"] <= 665.3


def test_the_share_of_the_weight_is_an_assumption() -> None:
    less = with_text("[checks.pressure]\nlift_overburden_frac = 0.7\n")  # 65.1 kPa against mud of 66
    assert row(proved(Run(1), river()), "pressure_mud_lift")["status"] == "pass"
    assert row(proved(Run(1), river(), less), "pressure_mud_lift")["status"] == "amber"


def test_a_stream_between_the_points_of_the_curve_shows_its_bed() -> None:
    """2 m wide at 653, its bed 0.5 m below the water and 0.3 m of tolerance; a deeper one at 700."""
    streams = place(
        crossing("stream", across(653.0), half_width_m=1.0),
        crossing("stream", across(700.0), half_width_m=1.0, water_depth_m=1.0, feature_id="deeper"),
    ).crossings.iloc[-2:]
    curves = proved(Run(1), replace(ground(), crossings=streams)).curves["drive_curves"]
    bed_m = curves.set_index("chainage_m")["bed_m"]
    assert bed_m.loc[[651.0, 652.0, 654.0, 655.0]].tolist() == pytest.approx([50.0, 49.2, 49.2, 50.0])
    assert len(curves) < 60


@pytest.mark.parametrize("tolerance_m", [0.3, 0.0], ids=["survey's tolerance", "none"])
def test_where_the_terrain_is_the_bed_its_water_stands_above_it(tolerance_m: float) -> None:
    """Bed 50, water at 52.5; 8.5 m of it press on a crown at 44."""
    a = with_text(f"[checks.pressure]\nbed_survey_tolerance_m = {tolerance_m}\n")
    curves = proved(Run(1), replace(river(), terrain_is_bed=True), a).curves["drive_curves"]
    under = curves[curves["chainage_m"].between(640.0, 660.0)]
    assert len(under) >= 3
    assert under["cover_m"].to_numpy() == pytest.approx(6.0 - tolerance_m)
    assert under["water_kPa"].to_numpy() == pytest.approx(9.81 * 8.5)
    stress_kPa = 9.81 * (2.5 + tolerance_m) + 20.5 * (6.0 - tolerance_m)
    assert under["total_stress_kPa"].to_numpy() == pytest.approx(stress_kPa)


def test_a_pipe_laid_bare_by_scour_fails() -> None:
    """Bed 47.5, scoured by 1.0 m leaves 2.5 m; by 3.6 m nothing."""
    safe = row(proved(Run(1), river()), "flotation")
    assert safe["demand"] == pytest.approx(9.81 * math.pi / 4.0 * 0.25)
    assert safe["status"] == "pass"
    assert "2.50 m of cover" in safe["reason"]
    bare = row(proved(Run(1), river(scour_m=3.6)), "flotation")
    assert (bare["status"], bare["capacity"]) == ("fail", 0.0)


def test_an_open_face_has_no_fluid_and_its_annulus_is_grouted() -> None:
    checks = set(proved(Run(1, 46.0, 46.0, method="guided_thrust")).checks["check"])
    assert not {"pressure_face", "pressure_mud", "slurry", "pull_stages"} & checks
    assert {"pressure_grout", "buoyancy", "collapse", "settlement", "obstruction"} <= checks


def test_nothing_passes_where_the_terrain_is_unknown() -> None:
    inp = ground(rock_depth_m=20.0)
    inp = replace(inp, terrain=raster(math.nan))
    found = proved(Run(1), inp).checks.set_index("check")["status"]
    for check in ("pressure_face", "pressure_mud", "pressure_grout", "collapse", "settlement", "obstruction"):
        assert found[check] == "not_evaluated", check


def test_ground_with_boulders_of_unknown_size_is_not_evaluated() -> None:
    assert row(proved(Run(1), ground("till_boulders")), "obstruction")["status"] == "not_evaluated"


@pytest.mark.parametrize("is_launched_at_lower", [True, False])
def test_curves_begin_at_the_launch_and_end_with_what_the_forces_asked(is_launched_at_lower: bool) -> None:
    run = Run(1, 43.0, 44.0, is_launched_at_lower=is_launched_at_lower)
    curve = proved(run).curves["drive_curves"]
    true_m = math.hypot(280.0, 1.0)
    from_m = curve["from_launch_m"].to_numpy()
    assert (from_m[0], from_m[-1]) == (pytest.approx(0.0), pytest.approx(true_m))
    assert np.diff(from_m).max() <= 10.0 + 1e-9
    assert np.diff(from_m).min() > 0.0
    assert curve["chainage_m"].iloc[0] == pytest.approx(520.0 if is_launched_at_lower else 800.0)
    # friction after a stop over the whole length, 1.5 x 1.4 x pi x 0.5 a metre; at low 1.5 x 0.7
    end = curve.iloc[-1]
    assert end["thrust_kN"] - end["thrust_low_kN"] == pytest.approx(1.5 * 0.7 * math.pi * 0.5 * true_m)
    checks = audit_plan(the_plan(run), ground(), DEFAULTS).checks.set_index("check")
    assert curve["pull_rig_kN"].max() == pytest.approx(checks.loc["draw_back", "demand"])


def test_findings_are_no_breaches_and_name_known_columns() -> None:
    proofs = proved(Run(1))
    assert set(proofs.checks["status"]) <= {"pass", "amber", "fail", "not_evaluated"}
    assert not proofs.checks["reason"].str.contains("nan|inf ").any()


@pytest.mark.parametrize(("launch_m", "is_told"), [(53.0, True), (48.0, False)])
def test_mud_that_lifts_a_bed_may_serve_from_the_other_end(launch_m: float, is_told: bool) -> None:
    """Launched 3 m higher 9.0 m of mud press with 99 kPa, the bed bears 93.068; from the other end 66."""
    drawn = the_plan(Run(1))
    higher = replace(drawn.shafts[0], ground_m=launch_m)
    drawn = replace(drawn, shafts=(higher, *drawn.shafts[1:]))
    checks = prove_plan(drawn, river(), DEFAULTS).checks
    found = checks[checks["check"] == "pressure_mud_lift"].iloc[0]
    assert found["demand"] == pytest.approx(11.0 * (launch_m - 44.0))
    assert ("launched from demo-H002 it would press with 66 kPa" in found["reason"]) == is_told
