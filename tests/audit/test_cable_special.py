"""The cables in shafts, in dips of open cut, and where another source of heat crosses: figures by hand."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from routescreen.drives.methods import method_geometry
from routescreen.engineering.crossing_heat import crossing_rise_K
from tests.audit.cable_place import CLOSE, DEFAULTS, ground, proved, row
from tests.audit.place import Run, across, crossing, crossings, plan
from tests.audit.proving import prove_plan
from tests.audit.test_cable_proofs import RISE_K, TRENCH_RISE_K, WET_M, amperes

if TYPE_CHECKING:
    import shapely

    from routescreen.audit.proofs import Proofs

# Pipes of OD 0.28 m filled with grout: 0.5763 K m/W (see the trench by hand).
IN_PIPE = 0.5763


UNFILLED = "[search]\nshaft_fill_steers = false\n"


# ---- Shafts ----------------------------------------------------------------------------------------


def test_a_shaft_below_the_groundwater_by_hand() -> None:
    """Pipes 6.28 m deep and 6 m apart: u = 44.86, ln(2 u) 4.4965; neighbours 2.0531, 0.75/2pi."""
    found = row(proved(inp=ground(water_m=WET_M), text=UNFILLED), "cable_rating_shaft", "demo-H001")
    wet = 0.75 / (2.0 * math.pi) * (4.4965 + 2.0531)
    assert f"{amperes(RISE_K, IN_PIPE + wet):.0f} A" in found["reason"]  # 2 234
    assert found["governing_chainage_m"] == pytest.approx(520.0)


def test_backfill_of_which_nobody_knows_whether_it_is_wet_warns() -> None:
    """Cut off from the groundwater it may dry out: 1.0 to 2.5 K m/W, own and neighbours 4.4965 + 2.0531."""
    found = row(proved(inp=ground(water_m=WET_M), text=UNFILLED), "cable_rating_shaft", "demo-H001")
    assert found["status"] == "amber"
    with_zone = amperes(RISE_K + 1.5 * 15.0, IN_PIPE + 2.5 / (2.0 * math.pi) * (4.4965 + 2.0531))
    assert found["capacity"] == pytest.approx(with_zone, rel=1e-3)  # 1 718
    assert "behind walls and plug, isn't known" in found["reason"]


def depth_of(volume_m3: float, plan_m: tuple[float, float]) -> float:
    """Depth whose plan up to 1.5 m below ground, less four pipes of OD 0.28 m along it, has a volume."""
    return (volume_m3 + 4.0 * math.pi / 4.0 * 0.28**2 * plan_m[0]) / math.prod(plan_m) + 1.5


def whole_steps(volume_m3: float) -> bool:
    """Whether the volume is that of a shaft for a crown 6.0 m deep, a bore of 0.56 m and a sump."""
    shape = method_geometry(DEFAULTS, "two_pass")
    depths_m = [depth_of(volume_m3, plan_m) for plan_m in (shape.launch_plan_m, shape.reception_plan_m)]
    return any(6.5 < depth < 8.5 and abs(4.0 * depth - round(4.0 * depth)) < 0.02 for depth in depths_m)


def test_a_fill_that_does_not_dry_out_mends_it_at_a_price() -> None:
    """1.0 K m/W all round: 2 046 A. 106 EUR/m3 (SH29), and what it displaces is hauled (TR60 to TR62)."""
    found = row(proved(inp=ground(water_m=WET_M), text=UNFILLED), "cable_rating_shaft", "demo-H001")
    filled = amperes(RISE_K, IN_PIPE + 1.0 / (2.0 * math.pi) * (4.4965 + 2.0531))
    bears_A, volume_m3, eur = re.search(
        r"which bears (\d+) A: (\d+) m3, about (\d[\d ]*) EUR", found["reason"]
    ).groups()
    assert float(bears_A) == pytest.approx(filled, abs=0.51)
    assert whole_steps(float(volume_m3))
    sand, rates = DEFAULTS.soil["sand_dense"], DEFAULTS.rates
    hauled = sum(
        frac * rates[code].expected
        for frac, code in (
            (sand.spoil_clean_frac, "TR60"),
            (sand.spoil_slight_frac, "TR61"),
            (sand.spoil_loaded_frac, "TR62"),
        )
    )
    assert float(eur.replace(" ", "")) == pytest.approx((106.0 + hauled) * float(volume_m3), rel=2e-3)


def test_the_fill_in_the_bill_is_rated_and_passes() -> None:
    """The same 2 046 A, now with what the bill holds."""
    found = row(proved(inp=ground(water_m=WET_M)), "cable_rating_shaft", "demo-H001")
    assert found["status"] == "pass"
    filled = amperes(RISE_K, IN_PIPE + 1.0 / (2.0 * math.pi) * (4.4965 + 2.0531))
    assert found["capacity"] == pytest.approx(filled, rel=1e-3)
    (volume_m3,) = re.search(r"(\d+) m3 in the bill \(SH29\)", found["reason"]).groups()
    assert whole_steps(float(volume_m3))


@pytest.mark.parametrize(("rho", "is_bought"), [(1.4, True), (2.4, False)])
def test_a_fill_that_is_too_little_is_told_as_such(rho: float, is_bought: bool) -> None:
    """At 1.4 K m/W shallower shafts bear the current with it, and a deeper one is never cheaper."""
    text = f"[shaft]\nconducting_fill_Km_per_W = {rho}\n"
    found = row(proved(inp=ground(water_m=WET_M), text=text), "cable_rating_shaft", "demo-H001")
    filled = amperes(RISE_K, IN_PIPE + rho / (2.0 * math.pi) * (4.4965 + 2.0531))
    assert f"instead it would bear {filled:.0f} A" in found["reason"]
    assert ("which the bill holds" in found["reason"]) == is_bought
    assert found["status"] == "amber"


def test_a_dry_shaft_fails_and_asks_for_distance() -> None:
    found = row(proved(), "cable_rating_shaft", "demo-H001")
    assert found["status"] == "fail"
    (asked_m,) = (
        float(part.split(" m apart")[0]) for part in found["reason"].split("pipes ") if "would bear" in part
    )
    # so far apart the dry zone round each pipe just does
    logs = sum(0.5 * math.log1p((12.56 / d) ** 2) for d in (asked_m, asked_m, 2.0 * asked_m))
    own = math.acosh(12.56 / 0.28)
    resistance = IN_PIPE + 2.5 / (2.0 * math.pi) * (own + logs)
    bears = amperes(RISE_K + 1.5 * 15.0, resistance)
    assert bears == pytest.approx(1905.0, rel=2e-3)
    assert "conducting fill of 1 K m/W in the shaft is not counted on here" in found["reason"]


def test_a_shaft_below_the_groundwater_that_fails_tells_what_the_fill_would_bear() -> None:
    """2 234 A in saturated sand, 2 046 A in fill of 1.0 K m/W: neither bears 2 300 A."""
    found = row(
        proved(inp=ground(water_m=WET_M), text="[link]\ncurrent_A = 2300.0\n"),
        "cable_rating_shaft",
        "demo-H001",
    )
    assert found["status"] == "fail"
    filled = amperes(RISE_K, IN_PIPE + 1.0 / (2.0 * math.pi) * (4.4965 + 2.0531))
    assert f"instead it would bear {filled:.0f} A" in found["reason"]
    assert "not counted on" not in found["reason"]


def test_cables_that_bear_dry_backfill_pass() -> None:
    found = row(proved(text="[link]\ncurrent_A = 1500.0\n"), "cable_rating_shaft", "demo-H001")
    assert found["status"] == "pass"


def test_a_shaft_between_two_drives_is_rated_at_the_deeper() -> None:
    line = [(0.0, 0.0), (520.0, 0.0), (660.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    proofs = prove_plan(plan(line, Run(1), Run(2, 41.0, 41.0)), ground(water_m=WET_M), DEFAULTS)
    found = row(proofs, "cable_rating_shaft", "demo-H002")
    assert "axes 9.28 m deep" in found["reason"]


# ---- Dips ------------------------------------------------------------------------------------------

SEWER = {"depth_m": 1.0, "diameter_m": 0.4}


def with_line(
    *features: tuple[dict[str, object], shapely.Geometry],
    soil: str = "silt",
    water_m: float = WET_M,
    text: str = "",
) -> Proofs:
    return proved(inp=replace(ground(soil, water_m), crossings=crossings(*features)), text=text)


def test_a_dip_by_hand() -> None:
    """Underside 1.40 m and 0.4 m clear: tops 1.80 m, axes 1.94 m deep, pipes 0.5 m apart.

    Silt of 1.0 K m/W as the bedding: own acosh(13.857) 3.3207, neighbours at 0.5, 9.5, 10.0 m: ln(3.9121/0.5)
    2.0572 + 0.0771 + 0.0701; 5.525/2pi. Ground 11 + 4 e^0.6 e^(-1.94/2.5) = 14.354 degC.
    """
    found = row(with_line(crossing("sewer", across(1200.0), **SEWER)), "cable_rating_dip", "demo-C001")
    resistance = IN_PIPE + (3.3207 + 2.0572 + 0.0771 + 0.0701) / (2.0 * math.pi)
    assert found["capacity"] == pytest.approx(amperes(70.0 - 14.354, resistance), rel=1e-3)
    assert found["status"] == "pass"
    assert found["governing_chainage_m"] == pytest.approx(1200.0)
    assert found["reason"].endswith("the pipes lie as beside it")


def test_below_a_bed_that_is_wet_all_the_year_by_hand() -> None:
    """Scour 0.3 and cover 2.0 m: axes 2.44 m below the bed, which water of 20 degC stands on.

    Saturated silt of 1.0 K m/W although the groundwater lies 100 m deep: own acosh(17.429) 3.5507, neighbours
    ln(4.9056/0.5) 2.2834 + 0.1171 + 0.1070. Ground 11 + 9 e^(-2.44/2.5) = 14.392 degC.
    """
    stream = crossing("stream", across(1200.0))
    found = row(with_line(stream, water_m=100.0, text=CLOSE), "cable_rating_dip", "demo-C001")
    resistance = IN_PIPE + (3.5507 + 2.2834 + 0.1171 + 0.1070) / (2.0 * math.pi)
    assert found["capacity"] == pytest.approx(amperes(70.0 - 14.392, resistance), rel=1e-3)
    assert "axes 2.44 m deep" in found["reason"]
    assert "depths below its bed, water on it all the year" in found["reason"]


def test_the_ramps_in_the_banks_are_rated_by_themselves() -> None:
    """Below the bed silt is saturated; in the bank, as deep, it may dry out: spread or filled it bears it."""
    stream, unsteered = crossing("stream", across(1200.0)), "[search]\nrating_steers = false\n"
    close = with_line(stream, water_m=100.0, text=unsteered)
    assert row(close, "cable_rating_dip", "demo-C001")["status"] == "pass"
    found = row(close, "cable_rating_dip_ramp", "demo-C001")
    assert found["status"] == "fail"
    # the lowest part of the ramp, 15/16 of its run down: 2.80 - 2 x 25 (1 - cos) of what is left
    assert "axes 2.93 m deep, 0.50 m apart" in found["reason"]
    assert 1180.0 < found["governing_chainage_m"] < 1220.0
    steered = row(with_line(stream, water_m=100.0), "cable_rating_dip_ramp", "demo-C001")
    assert steered["status"] == "pass"
    rated = close.checks["check"].str.startswith("cable_rating")
    link = close.checks[rated & (close.checks["element_id"] == "demo")]
    assert link["capacity"].item() <= found["capacity"]


def test_a_bed_that_may_run_dry_dries_out() -> None:
    dry = crossing("stream", across(1200.0), wet_all_year="no")
    wet = crossing("stream", across(1200.0))
    proofs = [with_line(one, water_m=100.0, text=CLOSE) for one in (dry, wet)]
    found = [row(each, "cable_rating_dip", "demo-C001") for each in proofs]
    assert found[0]["capacity"] < 0.9 * found[1]["capacity"]
    assert "with a dry zone where it gets too warm" in found[0]["reason"]


def test_a_dip_too_warm_as_the_pipes_lie_fails_where_they_may_lie_no_other_way() -> None:
    sewer = crossing("sewer", across(1200.0), **SEWER)
    proofs = with_line(sewer, soil="sand_loose", water_m=100.0, text=CLOSE)
    dry = row(proofs, "cable_rating_dip", "demo-C001")
    assert dry["status"] == "fail"
    assert dry["reason"].endswith("the pipes lie as beside it")
    rated = proofs.checks["check"].str.startswith("cable_rating")
    link = proofs.checks[rated & (proofs.checks["element_id"] == "demo")]
    assert link["capacity"].item() == proofs.checks.loc[rated, "capacity"].min() <= dry["capacity"]


@pytest.mark.parametrize(
    ("diameter_m", "told", "status"),
    [
        pytest.param(0.6, "the pipes lie further apart there", "pass", id="wider"),
        pytest.param(2.2, "the pipes are spread wide there", "amber", id="spread, unsure record"),
    ],
)
def test_the_pipes_lie_so_that_the_dip_bears_the_current(diameter_m: float, told: str, status: str) -> None:
    sewer = crossing("sewer", across(1200.0), depth_m=1.0, diameter_m=diameter_m)
    found = row(with_line(sewer, soil="sand_dense", water_m=100.0), "cable_rating_dip", "demo-C001")
    assert (found["status"], told in found["reason"]) == (status, True)
    assert found["capacity"] >= 1905.0


def test_no_dip_no_row() -> None:
    deep = crossing("sewer", across(1200.0), depth_m=4.5, diameter_m=0.3)
    assert "cable_rating_dip" not in set(with_line(deep).checks["check"])


# ---- Other sources of heat -------------------------------------------------------------------------


def hot(
    x_m: float = 1200.0, kind: str = "power_cable", **own: object
) -> tuple[dict[str, object], shapely.Geometry]:
    return crossing(kind, across(x_m), **{"depth_m": 4.0, "diameter_m": 0.2, "heat_W_per_m": 60.0} | own)


def test_a_source_below_the_trench_by_hand() -> None:
    """Axis 4.1 m against 1.54 m, square: at most 60 x 1.0/2pi ln(5.64/2.56) = 7.54 K.

    The conductor evens out some of it; what is left lessens the rise that the current may make.
    """
    proofs = with_line(hot())
    with_it = row(proofs, "cable_rating_crossing", "demo-C001")
    rise = float(
        crossing_rise_K(
            1.54,
            source_depth_m=4.1,
            heat_W_per_m=60.0,
            rho_K_m_per_W=1.0,
            angle_deg=90.0,
            equalising_m=math.sqrt(2.44e-8 * 293.15 / 7.2e-6 * IN_PIPE),
        )
    )
    assert 6.0 < rise < 7.54
    without = row(proofs, "cable_rating", "demo-S003")["capacity"]
    expected = without * math.sqrt((TRENCH_RISE_K - rise) / TRENCH_RISE_K)
    assert with_it["capacity"] == pytest.approx(expected, rel=1e-3)
    assert f"{without:.0f} A without" in with_it["reason"]
    assert "other_heat" not in set(proofs.checks["check"])
    assert row(proofs, "cable_rating", "demo")["capacity"] <= with_it["capacity"]


def test_more_heat_fails_what_less_lets_pass() -> None:
    status = [
        row(with_line(hot(heat_W_per_m=w)), "cable_rating_crossing", "demo-C001")["status"]
        for w in (30.0, 400.0)
    ]
    assert status == ["pass", "fail"]


def test_a_source_over_a_drive_and_two_sources_add_up() -> None:
    one = row(with_line(hot(650.0, depth_m=1.0)), "cable_rating_crossing", "demo-C001")
    assert one["governing_chainage_m"] == pytest.approx(650.0, abs=5.0)
    two = with_line(hot(650.0, depth_m=1.0), hot(650.2, depth_m=1.0, feature_id="second"))
    rows = two.checks[two.checks["check"] == "cable_rating_crossing"]
    assert rows["capacity"].min() <= one["capacity"]


def test_a_source_in_dry_ground_lets_it_dry_out() -> None:
    """In sand: what heats the ground beforehand is lost several times over where it dries."""
    wet, dry = (
        row(
            with_line(hot(heat_W_per_m=60.0), soil="sand_dense", water_m=w),
            "cable_rating_crossing",
            "demo-C001",
        )
        for w in (WET_M, 100.0)
    )
    assert dry["capacity"] < wet["capacity"]


def test_heat_of_unknown_depth_or_unknown_heat_is_not_evaluated() -> None:
    road = with_line(crossing("road", across(1200.0), heat_W_per_m=20.0))
    assert row(road, "cable_rating_crossing", "demo-C001")["status"] == "not_evaluated"
    none = "[treatments.power_cable]\nservice_heat_W_per_m = 0.0\n"
    silent = with_line(hot(heat_W_per_m=math.nan), text=none)
    assert row(silent, "other_heat", "demo-C001")["status"] == "not_evaluated"
    assert "cable_rating_crossing" not in set(silent.checks["check"])
    cold = with_line(hot(heat_W_per_m=0.0))
    assert {"other_heat", "cable_rating_crossing"}.isdisjoint(set(cold.checks["check"]))


def test_heat_that_nobody_gives_counts_as_that_of_its_kind_and_warns() -> None:
    """As 30 W/m would by the column, but amber whether it is borne or not; the column wins."""
    nobody, told = (
        row(with_line(hot(heat_W_per_m=w)), "cable_rating_crossing", "demo-C001") for w in (math.nan, 30.0)
    )
    assert nobody["capacity"] == told["capacity"]
    assert (nobody["status"], told["status"]) == ("amber", "pass")
    assert "it counts as its kind does, assumed" in nobody["reason"]
    much = "[treatments.power_cable]\nservice_heat_W_per_m = 400.0\n"
    hotter = with_line(hot(heat_W_per_m=math.nan), text=much)
    assert row(hotter, "cable_rating_crossing", "demo-C001")["status"] == "amber"
    assert row(hotter, "cable_rating_crossing", "demo-C001")["capacity"] < 1905.0
    link = row(hotter, "cable_rating", "demo")
    assert link["status"] == "amber"
    assert link["capacity"] == row(hotter, "cable_rating_crossing", "demo-C001")["capacity"]


def test_alternating_current_is_not_evaluated_in_shafts_and_at_crossings() -> None:
    proofs = with_line(hot(), crossing("sewer", across(1000.0), **SEWER), text="[link]\nprofile = 'ac110'\n")
    checks = proofs.checks[
        proofs.checks["check"].isin(["cable_rating_shaft", "cable_rating_dip", "cable_rating_crossing"])
    ]
    assert len(checks["check"].unique()) == 3
    assert set(checks["status"]) == {"not_evaluated"}


def test_three_poles_of_direct_current_are_not_evaluated() -> None:
    proofs = proved(text="[link]\npoles_per_system = 3\n")
    for check in ("cable_rating", "magnetic_field"):
        assert row(proofs, check, "demo-D001")["status"] == "not_evaluated", check


def test_findings_are_known_statuses_and_plain_numbers() -> None:
    checks = proved().checks
    assert set(checks["status"]) <= {"pass", "amber", "fail", "not_evaluated"}
    assert not checks["reason"].str.contains("nan|inf ").any()
