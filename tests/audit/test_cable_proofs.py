"""The cable's findings on hand-made plans: figures by hand, at the limits, with inputs missing."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.drives.cable_make import pole_orders, surround
from tests.audit.cable_place import (
    CLOSE,
    DEFAULTS,
    OHM,
    ONE_SYSTEM,
    WATT_PER_M,
    WHOLE,
    curve,
    ground,
    proved,
    row,
)
from tests.audit.place import Run, across, crossing, crossings, layer, plan, raster
from tests.audit.proving import prove_plan

# ---- Rating by hand ----

# In a bore: T1 3.5/2pi ln(122/63) 0.3681, T3 3.5/2pi ln(140/128) 0.0499, grout in the pipe
# 1/2pi ln(409/140) 0.1706, wall 2.5/2pi ln(500/409) 0.0799, ring 1/2pi ln(560/500) 0.0180: 0.6866 K m/W.
IN_BORE = 0.6866
# Dense sand below the groundwater, 0.75: own ground u = 2 x 6.28/0.56 = 22.43, ln(u + root(u2 - 1)) = 3.803;
# an inner bore has neighbours at 6, 6 and 12 m: 2 ln(13.919/6) + ln(17.371/12) = 2.0531. Times 0.75/2pi:
# 0.4539 + 0.2451. Above it, moist, 1.0/2pi: 0.6053 + 0.3268.
WET_M = -1.5  # of the groundwater, whose lowest level is then the surface: no moist ground
OWN, NEIGHBOURS = 0.4539, 0.2451
OWN_MOIST, NEIGHBOURS_MOIST = 0.6053, 0.3268
# Ground at 6.28 m: 11 + 4 e^(1.5/2.5) e^(-6.28/2.5) = 11.591 degC.
RISE_K = 70.0 - 11.591


def amperes(rise_K: float, resistance: float) -> float:
    return math.sqrt(rise_K / (OHM * resistance))


def test_a_drive_below_the_groundwater_by_hand() -> None:
    found = row(proved(inp=ground(water_m=WET_M)), "cable_rating", "demo-D001")
    assert found["capacity"] == pytest.approx(amperes(RISE_K, IN_BORE + OWN + NEIGHBOURS), rel=1e-3)  # 2 212
    assert (found["demand"], found["status"]) == (1905.0, "pass")
    assert found["reason"].endswith("can't dry out")


def test_moist_ground_over_a_drive_below_the_groundwater_by_hand() -> None:
    """Lowest water 4.0 m down: c = 1/7, r_1 = 12.56, r_0 = 4.56 m, then 20.56, 28.56, 36.56, 44.56 m.

    An inner bore, 0 / 6 / 12 m aside: the layer adds c ln(r_1/r_0) 0.1447 / 0.0873 / 0.0433 and (1 - c2)(c
    ln(r_2/r_1) + c2 ln(r_3/r_1) + ..) 0.0690 + 0.0164 + 0.0031 + 0.0005 / 0.0602 + 0.0149 + 0.0028 + 0.0005 /
    0.0440 + 0.0119 + 0.0024 + 0.0004: 0.2337 + 2 x 0.1657 + 0.1020 = 0.6671, and ln(2 u) - arcosh u = 0.0005.
    """
    proofs = proved(inp=ground(water_m=2.5), text="[soil.sand_dense]\nresistivity_dry_Km_per_W = 1.0\n")
    found = row(proofs, "cable_rating", "demo-D001")
    more = 0.75 / (2.0 * math.pi) * 0.6676
    assert found["capacity"] == pytest.approx(amperes(RISE_K, IN_BORE + OWN + NEIGHBOURS + more), rel=1e-3)
    assert "can't dry out, 4.00 m of moist ground above that" in found["reason"]


def images_K_m_per_W(dry_rho: float) -> float:
    """What a layer of 4.0 m adds at an inner bore 6.28 m deep, summed up image by image."""
    c, added = (dry_rho - 0.75) / (dry_rho + 0.75), math.log(4.0 * 6.28 / 0.56) - math.acosh(12.56 / 0.56)
    for aside_m in (0.0, 6.0, 6.0, 12.0):
        r = [math.hypot(aside_m, 4.56), *(math.hypot(aside_m, 12.56 + 8.0 * k) for k in range(200))]
        added += c * math.log(r[1] / r[0])
        added += sum((1.0 - c * c) * c**k * math.log(r[k + 1] / r[1]) for k in range(1, 200))
    return 0.75 / (2.0 * math.pi) * added


def test_ground_that_dries_out_above_the_groundwater_over_a_drive_by_hand() -> None:
    """c = (2.5 - 0.75)/3.25 instead of 1/7 where all of it is dry; it counts from 15 K on its underside on.

    Straight over an inner bore, 2.28 m above its axis and 0 / 6 / 6 / 12 m aside, moist ground warms by
    W 0.75/2pi (8/7) (ln(r_1/r_0) + 1/7 ln(r_2/r_1) + ..), r_k = hypot(x, 2.28 + 8 k); the bound taken lies a
    little above.
    """
    proofs = proved(inp=ground(water_m=2.5), text="[link]\ncurrent_A = 2100.0\n")
    found, heat = row(proofs, "cable_rating", "demo-D001"), 2100.0**2 * OHM
    peak = 0.0
    for aside_m in (0.0, 6.0, 6.0, 12.0):
        r = [math.hypot(aside_m, 2.28 + 8.0 * k) for k in range(60)]
        peak += 8.0 / 7.0 * sum(7.0**-k * math.log(r[k + 1] / r[k]) for k in range(50))
    peak *= 0.75 / (2.0 * math.pi)
    assert heat * peak > 15.0
    moist, dry = (OWN + NEIGHBOURS + images_K_m_per_W(rho) for rho in (1.0, 2.5))
    more = dry - moist
    expected = amperes(RISE_K + more * 15.0 / peak, IN_BORE + moist + more)
    assert found["capacity"] == pytest.approx(expected, rel=2e-3)
    assert found["capacity"] < expected
    assert amperes(RISE_K, IN_BORE + dry) < found["capacity"] < amperes(RISE_K, IN_BORE + moist)
    assert f"{found['capacity']:.0f} A with the dry zone up there" in found["reason"]
    assert found["status"] == "pass"
    # the conductor at 2 100 A: W (T + moist + more) - more x 15 K / peak
    conductor_degC = 70.0 - RISE_K + heat * (IN_BORE + dry) - more * 15.0 / peak
    warmest_degC = curve(proofs, "drive")["conductor_degC"].max()
    assert conductor_degC - 0.05 <= warmest_degC <= conductor_degC + 0.4


def test_a_drive_in_dry_ground_by_hand() -> None:
    """v = 2.5: 1 764 A with a dry zone, whatever neighbours make; 1 499 A were it dry everywhere."""
    found, v = row(proved(), "cable_rating", "demo-D001"), 2.5
    moist = amperes(RISE_K, IN_BORE + OWN_MOIST + NEIGHBOURS_MOIST)
    drying = amperes(RISE_K + (v - 1.0) * 15.0, IN_BORE + v * (OWN_MOIST + NEIGHBOURS_MOIST))
    dried = amperes(RISE_K, IN_BORE + v * (OWN_MOIST + NEIGHBOURS_MOIST))
    assert WATT_PER_M * NEIGHBOURS_MOIST > 7.5
    assert found["capacity"] == pytest.approx(drying, rel=1e-3)
    assert found["status"] == "fail"
    assert f"{moist:.0f} A in moist ground, {drying:.0f} A with a dry zone" in found["reason"]
    assert f"{dried:.0f} A if all of it were dry" in found["reason"]
    assert set(curve(proved(), "drive")["ruled_by"]) == {"drying"}


# In open cut: grout in the pipe 1/2pi ln(229/140) 0.0783, wall 2.5/2pi ln(280/229) 0.0800: 0.5763 K m/W.
# Silt has the 1.0 K m/W of the bedding. Own u = 11: 3.0890; the other pipe of the trench at 0.5 m 1.8311; of
# the other trench at 9.5 and 10.0 m 0.0500 + 0.0453. (3.0890 + 1.9264)/2pi = 0.7982.
TRENCH_RESISTANCE = 0.5763 + 0.7982
TRENCH_RISE_K = 70.0 - (11.0 + 4.0 * math.exp((1.5 - 1.54) / 2.5))


def test_a_trench_below_the_groundwater_by_hand() -> None:
    proofs = proved(inp=ground("silt", water_m=WET_M))
    found = row(proofs, "cable_rating", "demo-S001")
    assert found["capacity"] == pytest.approx(amperes(TRENCH_RISE_K, TRENCH_RESISTANCE), rel=1e-3)  # 2 156
    first = curve(proofs, "open_cut").iloc[0]
    assert first["conductor_degC"] == pytest.approx(
        70.0 - TRENCH_RISE_K + WATT_PER_M * TRENCH_RESISTANCE, abs=0.1
    )
    assert first["ground_degC"] == pytest.approx(70.0 - TRENCH_RISE_K)
    assert (first["depth_m"], first["spacing_m"]) == (pytest.approx(1.54), pytest.approx(0.5))


def test_a_trench_in_dry_sand_by_hand() -> None:
    """The bedding, 1.18 m at the bottom and 2.54 m at the top, is 1.86 x 0.68 m: as a circle r = 0.4848 m.

    ln(3.1768 + 3.0153) = 1.8233 is left of each pipe's 3.0890 + 1.8311 in its own trench: in the bedding
    (4.9201 - 2 x 1.8233)/2pi = 0.2027, outside 1.0/2pi (2 x 1.8233 + 0.0953) = 0.5955 K m/W.
    """
    reason, v = row(proved(text=CLOSE), "cable_rating", "demo-S001")["reason"], 2.5
    resistance = 0.5763 + 0.2027 + v * (2.0 * 1.8233 + 0.0953) / (2.0 * math.pi)
    with_zone, dried = (
        float(re.search(rf"(\d+) A {words}", reason)[1]) for words in ("with a dry zone", "if all of it")
    )
    # whole amperes are told: half of one, and what hand figures of four digits leave
    assert with_zone == pytest.approx(amperes(TRENCH_RISE_K + (v - 1.0) * 15.0, resistance), abs=0.51)
    assert dried == pytest.approx(amperes(TRENCH_RISE_K, resistance), abs=0.51)


def test_pipes_in_dry_loose_sand_lie_as_far_apart_as_their_current_asks_for() -> None:
    """1.2 to 3.0 K m/W, 0.75 m apart, each in a square bedding that is a circle of 0.3738 m (1 909 A).

    Own ground 3.0890, outside the bedding acosh(1.54/0.3738) = 2.0939; the others 1.4416 + 0.0529 + 0.0453.
    Kept 0.5 m apart, in one bedding as if they touched, they bear less.
    """
    proofs = proved(inp=ground("sand_loose"))
    found = row(proofs, "cable_rating", "demo-S001")
    resistance = 0.5763 + (3.0890 - 2.0939 + 3.0 * (2.0939 + 1.5398)) / (2.0 * math.pi)
    assert found["status"] == "pass"
    assert found["capacity"] == pytest.approx(amperes(TRENCH_RISE_K + 1.5 * 15.0, resistance), rel=1e-3)
    assert curve(proofs, "open_cut")["spacing_m"].to_numpy() == pytest.approx(0.75)
    told = row(proved(inp=ground("sand_loose"), text=CLOSE), "cable_rating", "demo-S001")
    resistance = 0.5763 + 0.2027 + 3.0 / (2.0 * math.pi) * (2.0 * 1.8233 + 0.0953)
    assert told["status"] == "fail"
    assert told["capacity"] == pytest.approx(amperes(TRENCH_RISE_K + 1.5 * 15.0, resistance), rel=1e-3)
    assert "no spacing" not in told["reason"]


def test_where_no_spacing_bears_the_current_the_largest_fails_and_says_so() -> None:
    proofs = proved(inp=ground("peat"))
    found = row(proofs, "cable_rating", "demo-S001")
    assert found["status"] == "fail"
    assert found["reason"].endswith("no spacing of the pipes up to 1.50 m bears the current")
    assert curve(proofs, "open_cut")["spacing_m"].to_numpy() == pytest.approx(1.5)


def test_a_ramp_ends_where_the_pipes_of_its_trench_lie() -> None:
    ramp = curve(proved(inp=ground("sand_loose")), "ramp")
    first, second = (ramp[ramp["section_index"] == section] for section in (0, 2))
    assert first["spacing_m"].iloc[0] == pytest.approx(0.75)
    assert second["spacing_m"].iloc[-1] == pytest.approx(0.75)


def test_each_soil_along_an_open_cut_has_its_own_spacing() -> None:
    rows: list[dict[str, object]] = [{"soil": "sand_dense"}, {"soil": "sand_loose"}]
    areas = [WHOLE, box(900.0, -300.0, 1100.0, 300.0)]
    proofs = proved(inp=replace(ground(), ground=layer("ground", rows, list(areas))))
    cut = curve(proofs, "open_cut")
    apart = cut[cut["section_index"] == 2].set_index("chainage_m")["spacing_m"].tolist()
    assert apart == pytest.approx([0.5, 0.5, 0.75, 0.75, 0.5, 0.5])


@pytest.mark.parametrize(
    ("water_m", "element", "can_dry"),
    [
        pytest.param(-0.2, "demo-S001", False, id="trench: lowest 1.3 m, crown 1.4 m"),
        pytest.param(0.0, "demo-S001", True, id="trench: lowest 1.5 m"),
        pytest.param(4.4, "demo-D001", False, id="drive: lowest 5.9 m, crown 6.0 m"),
        pytest.param(4.6, "demo-D001", True, id="drive: lowest 6.1 m"),
    ],
)
def test_ground_dries_out_above_the_lowest_groundwater(water_m: float, element: str, can_dry: bool) -> None:
    """The lowest level lies 1.5 m below the one given."""
    reason = row(proved(inp=ground(water_m=water_m)), "cable_rating", element)["reason"]
    assert ("dry zone where" in reason) == can_dry


def test_the_conductor_is_at_its_limit_where_the_current_is_the_rating() -> None:
    rating = row(proved(inp=ground(water_m=0.0)), "cable_rating", "demo-D001")["capacity"]
    proofs = proved(inp=ground(water_m=0.0), text=f"[link]\ncurrent_A = {rating - 1e-6}\n")
    assert curve(proofs, "drive")["conductor_degC"].max() == pytest.approx(70.0)


def test_bedding_helps_where_the_ground_dries_out_more_than_it() -> None:
    better, worse = (
        row(
            proved(text=f"[trench]\nbedding_resistivity_Km_per_W = {rho}\n"),
            "cable_rating",
            "demo-S001",
        )
        for rho in (0.8, 2.0)
    )
    assert better["capacity"] > worse["capacity"]


def test_from_deep_from_m_on_the_ground_has_its_deep_temperature() -> None:
    deep = proved(Run(1, 40.0, 40.0))  # axes 10.28 m deep
    assert set(curve(deep, "drive")["ground_degC"]) == {11.0}


def test_air_in_the_pipe_is_as_warm_as_the_heat_makes_it() -> None:
    """T4' = 1.87/(1 + 0.1 (0.312 + 0.0037 theta) 140), theta half its own fall below the cable's surface."""
    a = load_assumptions("[pipe]\nfill = 'air'\n")
    wall = 2.5 / (2.0 * math.pi) * math.log(0.28 / 0.229)
    air = surround(a, 0.28).inside_K_m_per_W - wall - 0.3681 - 0.0499
    mean_degC = 70.0 - WATT_PER_M * (0.3681 + 0.0499 + 0.5 * air)
    assert air == pytest.approx(1.87 / (1.0 + 0.1 * (0.312 + 0.0037 * mean_degC) * 140.0), abs=2e-4)
    filled, airy = (
        row(proved(inp=ground(water_m=0.0), text=text), "cable_rating", "demo-D001")["capacity"]
        for text in ("", "[pipe]\nfill = 'air'\n")
    )
    assert airy < filled


# ---- Places -----------------------------------------------------------------------------------------------


def test_peat_on_a_stretch_rules_where_it_begins() -> None:
    areas = [WHOLE, box(900.0, -300.0, 1100.0, 300.0)]
    rows: list[dict[str, object]] = [
        {"soil": "sand_dense", "groundwater_depth_m": 0.0},
        {"soil": "peat", "groundwater_depth_m": 0.0},
    ]
    inp = replace(ground(), ground=layer("ground", rows, list(areas)))
    proofs = proved(inp=inp)
    found = row(proofs, "cable_rating", "demo-S003")
    assert found["governing_chainage_m"] == pytest.approx(900.0, abs=5.0)
    assert found["reason"].startswith("peat, ")
    cut = curve(proofs, "open_cut")
    behind = cut[cut["section_index"] == 2]
    assert behind["chainage_m"].to_numpy()[1:5] == pytest.approx([900.0, 900.0, 1100.0, 1100.0], abs=5.0)
    assert row(proofs, "cable_rating", "demo")["capacity"] == found["capacity"]
    assert "in open cut" in row(proofs, "cable_rating", "demo")["reason"]


def test_rock_under_peat_counts_as_the_worse_of_both() -> None:
    rocky = ground("peat", water_m=0.0, rock_depth_m=3.0, rock_soil="rock_hard")
    under, without = (
        row(proved(inp=inp), "cable_rating", "demo-D001") for inp in (rocky, ground("peat", 0.0))
    )
    assert under["capacity"] == pytest.approx(without["capacity"])


def test_under_a_river_depth_counts_from_the_bed() -> None:
    """Water 2.5 m deep: 50 - 2.5 - 43.72 = 3.78 m against 6.28 m beside it, and it can't dry out."""
    feature = crossing("river", across(650.0), half_width_m=15.0, water_depth_m=2.5)
    proofs = proved(inp=replace(ground(), crossings=crossings(feature)))
    drive = curve(proofs, "drive")
    under = drive[drive["chainage_m"].between(640.0, 660.0)]
    assert under["depth_m"].to_numpy() == pytest.approx(3.78)
    assert set(under["ruled_by"]) == {"moist"}
    assert drive["depth_m"].max() == pytest.approx(6.28)
    assert not 630.0 < row(proofs, "cable_rating", "demo-D001")["governing_chainage_m"] < 670.0


def test_the_curve_covers_the_route_without_a_gap_and_in_steps() -> None:
    table = proved().curves["cable_curve"]
    chainage = table["chainage_m"].to_numpy()
    assert (chainage[0], chainage[-1]) == (0.0, 1500.0)
    assert np.all(np.diff(chainage) >= 0.0)
    step = np.diff(chainage)[table["construction"].to_numpy()[1:] != "open_cut"]
    assert step.max() <= 10.0
    # where one part ends the next begins
    kind = table["construction"].to_numpy()
    seams = np.flatnonzero((kind[1:] != kind[:-1]) | (np.diff(table["section_index"]) != 0))
    assert chainage[seams] == pytest.approx(chainage[seams + 1])


def test_the_curve_keeps_the_place_that_governs() -> None:
    """A hump of 5 m, highest at x 645, between the points that the curve has anyhow."""
    inp = ground(water_m=0.0)
    assert inp.terrain is not None
    values = np.full((100, 210), 50.0)
    values[:, 94] = 55.0  # middle of the pixels at x 645
    proofs = proved(inp=replace(inp, terrain=replace(inp.terrain, values=values)))
    found, drive = row(proofs, "cable_rating", "demo-D001"), curve(proofs, "drive")
    assert found["governing_chainage_m"] == 645.0
    assert drive["depth_m"].max() == pytest.approx(11.28)
    assert drive["rating_A"].min() == found["capacity"]


def test_a_ramp_leads_from_bore_to_trench() -> None:
    """Up 6.28 - 1.54 = 4.74 m, outer cables 3.75 m aside: 6.04401 m across, on arcs of 25 m run 23.83 m."""
    ramps = curve(proved(text=CLOSE), "ramp")
    before, behind = (ramps[ramps["section_index"] == section] for section in (0, 2))
    run_m = 2.0 * math.sqrt(25.0**2 - (25.0 - 3.022005) ** 2)
    assert before["chainage_m"].iloc[[0, -1]].tolist() == pytest.approx([520.0 - run_m, 520.0])
    assert behind["chainage_m"].iloc[[0, -1]].tolist() == pytest.approx([800.0, 800.0 + run_m])
    assert behind["depth_m"].iloc[[0, -1]].tolist() == pytest.approx([6.28, 1.54])
    assert behind["spacing_m"].iloc[[0, -1]].tolist() == pytest.approx([6.0, 0.5])
    assert before["depth_m"].iloc[[0, -1]].tolist() == pytest.approx([1.54, 6.28])
    # From bores at -9 and -3 m to pipes at -5.25 and -4.75 m, each on its own arcs: after 10 m of run outer
    # cables have crossed 25 - root(25^2 - 10^2) = 2.0871 m of 6.04401, 0.34532; inner ones 1.13076 m to the
    # end of their arc at 7.4334 m and 0.79934 m at 17.2979 deg, 1.9301 m of 5.05273, 0.38199. Of the first
    # gap 3.75 x 0.34532 + 1.75 x 0.38199 = 1.9634 m are gone. The curve has points 1 m apart.
    inner = behind[behind["chainage_m"] == 810.0].iloc[0]
    assert inner["spacing_m"] == pytest.approx(6.0 - 1.9634, abs=0.01)
    assert inner["depth_m"] == pytest.approx(6.28 - 4.74 * 0.34532, abs=0.01)


def test_ramps_of_a_short_open_cut_end_in_its_middle() -> None:
    line = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (830.0, 0.0), (1000.0, 0.0), (1500.0, 0.0)]
    proofs = prove_plan(plan(line, Run(1), Run(3)), ground(), DEFAULTS)
    between = proofs.curves["cable_curve"].query("800 <= chainage_m <= 830 and construction != 'drive'")
    assert set(between["construction"]) == {"ramp"}
    assert between["chainage_m"].max() == 830.0
    assert between["depth_m"].min() > 1.54


def test_between_two_drives_in_one_shaft_there_is_no_ramp() -> None:
    line = [(0.0, 0.0), (520.0, 0.0), (660.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    proofs = prove_plan(plan(line, Run(1), Run(2)), ground(), DEFAULTS)
    ramps = proofs.checks[proofs.checks["check"] == "cable_rating_ramp"]
    assert ramps["element_id"].tolist() == ["demo-H001", "demo-H003"]


# ---- Spacing, drop, soil ---------------------------------------------------------------------------


def test_the_spacing_asked_for_is_the_one_at_which_the_hand_rating_holds() -> None:
    """By hand the bores carry 2 212 A at 6 m: that current asks for 6 m, a lesser one for less."""
    current = amperes(RISE_K, IN_BORE + OWN + NEIGHBOURS)
    text = f"[link]\ncurrent_A = {current:.1f}\n"
    found = row(proved(inp=ground(water_m=WET_M), text=text), "thermal_spacing", "demo-D001")
    assert found["demand"] == pytest.approx(6.0, abs=0.03)
    assert found["capacity"] == 6.0
    assert row(proved(inp=ground(water_m=0.0)), "thermal_spacing", "demo-D001")["demand"] < 6.0


def test_a_current_that_no_spacing_carries_fails() -> None:
    found = row(proved(text="[link]\ncurrent_A = 4000.0\n"), "thermal_spacing", "demo-D001")
    assert (found["status"], found["demand"]) == ("fail", 50.0)
    assert "even 50 m" in found["reason"]


def test_drop_over_the_insulation_by_hand() -> None:
    """31.263 W/m x 0.3681 K m/W = 11.51 K."""
    assert row(proved(), "insulation_drop", "demo")["demand"] == pytest.approx(11.51, abs=0.01)


def test_soil_heating_by_hand_is_told_and_not_passed() -> None:
    """One trench in wet silt, midway: ln((0.0625 + 1.84^2)/(0.0625 + 1.24^2)) = 0.7678; x 31.263/2pi 3.82 K.

    At 0.6 m: ln((0.0625 + 2.14^2)/(0.0625 + 0.94^2)) = 1.5903: 7.91 K.
    """
    proofs = proved(inp=ground("silt", water_m=WET_M), text=ONE_SYSTEM)
    found = row(proofs, "soil_heating", "demo")
    assert found["status"] == "not_evaluated"
    assert "3.8 K at 0.3 m" in found["reason"]
    assert "7.9 K at 0.6 m" in found["reason"]
    first = curve(proofs, "open_cut").iloc[0]
    assert first["soil_rise_first_K"] == pytest.approx(3.820, abs=0.005)
    assert first["soil_rise_second_K"] == pytest.approx(7.913, abs=0.005)


# ---- Each row can fail, and none passes without its inputs ------------------------------------------------


@pytest.mark.parametrize(
    ("text", "check", "element"),
    [
        pytest.param("[link]\ncurrent_A = 3000.0\n", "cable_rating", "demo-D001", id="drive"),
        pytest.param("[link]\ncurrent_A = 3000.0\n", "cable_rating", "demo-S001", id="trench"),
        pytest.param("[link]\ncurrent_A = 3000.0\n", "cable_rating_ramp", "demo-H001", id="ramp"),
        pytest.param("[link]\ncurrent_A = 3000.0\n", "thermal_spacing", "demo-D001", id="spacing"),
        pytest.param("[link]\ncurrent_A = 3000.0\n", "insulation_drop", "demo", id="drop"),
        pytest.param("[checks.land]\nfield_limit_uT = 40.0\n", "magnetic_field", "demo-D001", id="field"),
        pytest.param(
            "[checks.land]\nfield_limit_uT = 40.0\n", "magnetic_field", "demo-S003", id="field-trench"
        ),
        pytest.param("[cable]\npull_limit_kN = 30.0\n", "cable_pull", "demo-D001", id="pull"),
        # 47.8 kN on the 25 m that ramps have by default: 1.91 kN/m
        pytest.param(
            "[cable]\nside_wall_kN_per_m = 1.8\nramp_radius_m = 25.0\n",
            "side_wall",
            "demo-D001",
            id="side wall",
        ),
        pytest.param("[cable]\ndrum_gross_t = [10, 15, 20]\n", "drum_section", "demo-D001", id="drum"),
    ],
)
def test_each_row_can_fail(text: str, check: str, element: str) -> None:
    wet = ground(water_m=-1.0)
    assert row(proved(inp=wet), check, element)["status"] == "pass"
    assert row(proved(inp=wet, text=text), check, element)["status"] == "fail"


@pytest.mark.parametrize(
    ("text", "check"),
    [
        pytest.param("[cable]\npull_limit_kN = 60.0\n", "cable_pull_high_friction", id="pull"),
        pytest.param(
            "[cable]\nside_wall_kN_per_m = 3.2\nramp_radius_m = 25.0\n",
            "side_wall_high_friction",
            id="side wall",
        ),
    ],
)
def test_high_friction_warns(text: str, check: str) -> None:
    """At friction 0.40 the same steps give 86.3 kN: on 25 m over 3.2 kN/m, at 0.25 with 47.8 kN under it."""
    wet = ground(water_m=-1.0)  # where the ground dries out ramps have two bends more
    checks = proved(inp=wet).checks
    assert check not in set(checks.loc[checks["element_id"] == "demo-D001", "check"])
    found = row(proved(inp=wet, text=text), check, "demo-D001")
    assert found["status"] == "amber"
    assert found["demand"] > found["capacity"]


def test_a_cable_of_alternating_current_is_not_evaluated_but_pulled() -> None:
    checks = proved(text="[link]\nprofile = 'ac110'\n").checks
    heat = ("cable_rating", "cable_rating_ramp", "thermal_spacing", "magnetic_field", "insulation_drop")
    rows = checks[checks["check"].isin((*heat, "soil_heating"))]
    assert set(rows["check"]) == {*heat, "soil_heating"}
    assert set(rows["status"]) == {"not_evaluated"}
    assert "not_evaluated" not in set(checks.loc[checks["check"] == "cable_pull", "status"])


def test_unknown_terrain_is_not_evaluated() -> None:
    proofs = proved(inp=replace(ground(water_m=0.0), terrain=raster(math.nan)))
    for check in ("cable_rating", "thermal_spacing", "magnetic_field"):
        assert row(proofs, check, "demo-D001")["status"] == "not_evaluated", check
    assert row(proofs, "cable_rating", "demo")["status"] == "not_evaluated"
    assert row(proofs, "cable_rating", "demo-S001")["status"] == "pass"


def test_another_cable_in_the_ground_is_told() -> None:
    """Where its kind has no heat of its own; by default it counts 30 W/m and says that nobody gave it."""
    feature = crossing("power_cable", across(1200.0), name="Line 7")
    inp, none = replace(ground(), crossings=crossings(feature)), "service_heat_W_per_m = 0.0\n"
    found = row(proved(inp=inp, text="[treatments.power_cable]\n" + none), "other_heat", "demo-C001")
    assert found["status"] == "not_evaluated"
    assert "Line 7" in found["reason"]
    assert "other_heat" not in set(proved(inp=inp).checks["check"]) | set(proved().checks["check"])


def test_return_cables_carry_nothing_in_normal_service_and_are_pulled_too() -> None:
    text = "[link]\nprofile = 'dc525_return'\n"
    proofs = proved(inp=ground(water_m=-1.0), text=text)
    found = row(proofs, "cable_rating", "demo-D001")
    # six bores, of which four are warm: neighbours further away than in four bores side by side
    assert found["capacity"] > row(proved(inp=ground(water_m=-1.0)), "cable_rating", "demo-D001")["capacity"]
    assert row(proofs, "cable_rating", "demo-S001")["status"] == "pass"
    return_kN, pole_kN = (
        row(proofs, check, "demo-D001")["demand"] for check in ("cable_pull_return", "cable_pull")
    )
    assert return_kN < pole_kN
    orders = {tuple(order.tolist()) for order in pole_orders(load_assumptions(text))}
    assert (1, 0, -1, -1, 0, 1) in orders
    assert (1, -1, 0, 1, -1, 0) in orders


def test_cold_return_cables_neither_heat_the_soil_nor_ask_for_spacing() -> None:
    """One system with its return beside the poles warms the soil as the pair alone: 3.82 K midway at 0.3 m.

    And the current that its bores carry at 6 m asks for 6 m.
    """
    wet, text = ground("silt", water_m=WET_M), "[link]\nprofile = 'dc525_return'\nn_systems = 1\n"
    proofs = proved(inp=wet, text=text)
    assert curve(proofs, "open_cut").iloc[0]["soil_rise_first_K"] == pytest.approx(3.820, abs=0.005)
    rating = row(proofs, "cable_rating", "demo-D001")["capacity"]
    again = proved(inp=wet, text=f"{text}current_A = {rating}\n")
    assert row(again, "thermal_spacing", "demo-D001")["demand"] == pytest.approx(6.0, abs=1e-4)
