"""The digs behind shafts: places on a ramp by hand, a whole ramp by squares, what the search relies on."""

import math

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.drives.methods import enabled_methods
from routescreen.drives.ramp import laid_run_m, most_shift_m, trench_axis_m
from routescreen.drives.ramp_pit import (
    PitStations,
    bottom_axis_m,
    pit_slope_deg,
    plain_stations,
    spread_stations,
)
from routescreen.drives.ramp_spread import hold_axis_m, spreads
from routescreen.money.items import rates_eur
from routescreen.money.measure import ShaftGround, bill_items, n_waters, ramp_works_of, role_ramp_eur
from routescreen.money.measure_ramp import PitMeasures

A = load_assumptions()
SOILS = list(A.soil)
LAUNCH, RECEPTION, THRUST_LAUNCH = 1, 2, 3
FOUR = np.array([[[-9.0, -3.0, 3.0, 9.0]]])


def at_one_place(depth_m: float, highest_m: float, *, soil: str = "sand_dense", a=A) -> dict[str, float]:
    """Quantities of 10 m of ramp for four cables 6 m apart, so deep all along."""
    measures = PitMeasures(a, SOILS.index(soil))
    stations = PitStations(np.array([[10.0]]), np.array([[depth_m]]), FOUR)
    quantities = measures.pits(stations, np.array([highest_m]), np.array([0]))[0][0]
    return {code: float(q) for code, q in zip(measures.codes, quantities, strict=True) if q != 0.0}


def test_slopes_and_wells_by_hand() -> None:
    """4 m deep, water 3 m above the bottom: 45 degrees, each dig 1.0 m wide at its bottom.

    Below 0.3 m of topsoil one dig is 3.7 + 3.7^2 m2; neighbours 5 m apart at the bottom meet 2.5 m up and
    have (2 x 3.7 - 5)^2/4 in common: 4 x 17.39 - 3 x 1.44 = 65.24 m2. The trench, 1.88 m deep,
    4 x (1.58 + 1.58^2). Slices from 1.75 and 3.0 m count 1.2 and 1.5: up to heights of 2.25 and 1.0 m 29.25
    and 8.0 m2, of the trench up to 0.13 m 0.5876 m2.
    """
    dug = 35.99 + 1.2 * 21.25 + 1.5 * 8.0 - (16.3056 - 0.5876) - 1.2 * 0.5876
    assert at_one_place(4.0, 1.0) == pytest.approx(
        {
            "TR20": 10.0 * dug,
            "TR52": 10.0 * (65.24 - 16.3056),
            "SH28": 10.0 * 2.0 / 5.0 * (4.0 + 3.0),  # both sides, a well every 5 m, 3 m below the bottom
            "SH24": 2.0,
        },
        rel=1e-6,
    )
    assert at_one_place(4.0, 4.0) == pytest.approx({"TR20": 10.0 * dug, "TR52": 489.344}, rel=1e-6)


def test_tight_walls_and_plug_by_hand() -> None:
    """6 m deep, water 5.5 m above the bottom, more than the 4 m by which wells lower it beside slopes.

    Four digs 1.0 m wide, eight faces of 1.5 x 6 = 9 m: 4, 4 and 1 m by bands; 6 - 1.88 m beyond the trench;
    slices 1.45 + 1.2 x 1.25 + 1.5 x 3 less 1.45 + 1.2 x 0.13; a plug of 1 m, dug at the deepest slice's
    factor.
    """
    assert at_one_place(6.0, 0.5) == pytest.approx(
        {
            "TR20": 40.0 * (7.45 - 1.606 + 1.5),
            "TR52": 40.0 * 4.12,
            "SH43": 320.0,
            "SH44": 320.0,
            "SH45": 80.0,
            "SH20": 40.0,
            "TR60": 0.95 * 40.0,
            "TR61": 0.05 * 40.0,
            "SH24": 2.0,
        },
        rel=1e-6,
    )


def test_where_no_slope_has_room_walls_stand_in_the_dry() -> None:
    """15 m deep in sand: slopes of 29 degrees would be 19 + 30 x 1.785 = 72.6 m wide, the strip is 55 m."""
    found = at_one_place(15.0, 30.0)
    # eight faces of 22.5 m
    assert [found[code] for code in ("SH40", "SH41", "SH42")] == pytest.approx([320.0, 320.0, 1160.0])
    assert not {"SH43", "SH20", "SH24", "SH28"} & set(found)
    assert "SH40" not in at_one_place(9.0, 30.0)


def test_close_cables_share_one_dig_between_walls() -> None:
    """0.5 m apart in pairs 5 m from one another: two digs 1.5 m wide, four faces of 9 m."""
    measures = PitMeasures(A, SOILS.index("sand_dense"))
    close = np.array([[[-2.75, -2.25, 2.25, 2.75]]])
    stations = PitStations(np.array([[10.0]]), np.array([[6.0]]), close)
    quantities, dug_m3, sloped_m, walled_m, plug_m3 = measures.pits(stations, np.array([0.5]), np.array([0]))
    found = dict(zip(measures.codes, quantities[0], strict=True))
    assert found["SH43"] == pytest.approx(160.0)
    assert found["SH20"] == plug_m3[0] == pytest.approx(30.0)
    assert dug_m3[0] == pytest.approx(30.0 * (6.0 - 1.88 + 1.0))
    assert (sloped_m[0], walled_m[0]) == (0.0, 10.0)


def test_tight_ground_has_no_wells_and_keeps_its_slopes() -> None:
    """Stiff clay gives no water to wells: slopes of 60 degrees stand, sumps are pumped."""
    found = at_one_place(4.0, -2.0, soil="clay_stiff")
    assert set(found) == {"TR21", "TR52", "SH24"}


def test_soft_clay_is_walled_where_no_slope_stands_undrained() -> None:
    """5.24 x 20 kPa / 1.4 over the saturated weight: the height of a slope that stands."""
    clay = A.soil["clay_soft"]
    least_m = 5.24 * 20.0 / (1.4 * clay.gamma_sat_kN_per_m3)
    assert "SH40" not in at_one_place(least_m - 0.1, 20.0, soil="clay_soft")
    assert "SH40" in at_one_place(least_m + 0.1, 20.0, soil="clay_soft")


def test_slopes_need_no_proof_to_five_metres_and_are_no_steeper_than_proven_below() -> None:
    sand = A.soil["sand_dense"]
    proven = math.degrees(math.atan(math.tan(math.radians(35.0)) / 1.25))
    assert pit_slope_deg(A, sand, [4.9, 5.0, 5.1]) == pytest.approx([45.0, 45.0, proven])


def works(role: int, soil: str, depth_m: float, water_m: float, *, other: int = 0):
    ground = ShaftGround([SOILS.index(soil)], [SOILS.index(soil)], [np.inf], [water_m])
    return ramp_works_of([other], [role], ground, [depth_m], A)[0]


def test_a_whole_ramp_by_squares_of_ground() -> None:
    """In stiff clay, 6.25 m deep: what is dug, deepest dig at each place across, faces of 60 degrees.

    Axes of the bores 6.25 - 0.6 - 0.28 = 5.37 m deep, of the trench 1.54 m: 3.83 m up; outer cables aside
    from 9 to 5.25 m, inner ones from 3 to 4.75 m, in the run of the largest way aside, 3.75 m.
    """
    run = 50.0 * math.sqrt(1.0 - (1.0 - math.hypot(3.83, 3.75) / 50.0) ** 2)
    along, across = np.linspace(0.0, run, 201), np.linspace(-16.0, 16.0, 3201)

    def share(aside_m: float) -> np.ndarray:
        whole = math.hypot(3.83, aside_m)
        low, high = (
            0.0,
            math.atan2(run, 50.0 - whole),
        )  # the bend with which the cable crosses over within the run
        for _ in range(60):
            bend = (low + high) / 2.0
            short = run * math.sin(bend) + (50.0 - whole) * math.cos(bend) < 50.0
            low, high = (bend, high) if short else (low, bend)
        half = np.minimum(along, run - along)
        on_arc = 25.0 - np.sqrt(625.0 - np.minimum(half, 25.0 * math.sin(bend)) ** 2)
        crossed = on_arc + np.maximum(half - 25.0 * math.sin(bend), 0.0) * math.tan(bend)
        return np.where(along <= run / 2.0, crossed, whole - crossed) / whole

    def area_m2(bottom_m: float, places: tuple[float, ...]) -> float:
        beside = np.min([np.abs(np.abs(across) - place) for place in places], axis=0) - 0.5
        dug = bottom_m - 0.3 - np.maximum(beside, 0.0) * math.tan(math.radians(60.0))
        return float(np.maximum(dug, 0.0).sum() * 0.01)

    outer, inner = share(3.75), share(1.75)
    bottom = 5.37 - 3.83 * np.minimum(outer, inner) + 0.34
    extra = []
    for k in range(len(along)):
        places = (9.0 - 3.75 * outer[k], 3.0 + 1.75 * inner[k])
        extra.append(area_m2(bottom[k], places) - area_m2(1.88, places))
    by_squares = float(np.sum((np.array(extra[1:]) + extra[:-1]) / 2.0 * np.diff(along)))
    found = works(LAUNCH, "clay_stiff", 6.25, -3.0)
    assert found.walled_m == 0.0
    assert found.dug_m3 == pytest.approx(by_squares, rel=0.002)
    # the item of the pipes: four cables along the run
    assert found.quantities[bill_items(A).index["CA14"]] == pytest.approx(4.0 * run, rel=1e-6)


def test_what_is_paid_is_quantities_by_rates_and_one_ramp_a_shaft() -> None:
    single, pair = works(LAUNCH, "gravel", 7.0, 2.0), works(LAUNCH, "gravel", 7.0, 2.0, other=RECEPTION)
    rates = np.array(
        [A.rates[i.rate_code].expected if i.rate_code in A.rates else 0.0 for i in bill_items(A).items]
    )
    assert single.eur == pytest.approx(float(single.quantities @ rates), rel=1e-12)
    assert pair.eur == single.eur
    mixed = works(LAUNCH, "gravel", 7.0, 2.0, other=THRUST_LAUNCH)
    assert mixed.eur == max(single.eur, works(THRUST_LAUNCH, "gravel", 7.0, 2.0).eur)


def test_no_role_no_ramp() -> None:
    none = works(0, "gravel", 7.0, 2.0)
    assert (none.eur, float(none.quantities.sum())) == (0.0, 0.0)


def test_a_drilled_bore_has_pipes_to_draw_together_and_nothing_to_dig() -> None:
    """Bores 13.2 m apart: from 19.8 to 5.25 m, 25 + (14.55 - 50 (1 - cos 30)) / tan 30 = 38.5988 m."""
    a = load_assumptions("[methods.hdd]\nis_enabled = true\n")
    launch = 1 + 2 * [name for name, way in a.methods.items() if way.is_enabled].index("hdd")
    found = ramp_works_of([0], [launch], ShaftGround([0], [0], [np.inf], [0.0]), [1.5], a)[0]
    assert np.flatnonzero(found.quantities).tolist() == [bill_items(a).index["CA14"]]
    assert float(found.quantities.sum()) == pytest.approx(4 * 38.5988, rel=1e-6)


@pytest.mark.parametrize("soil", SOILS)
@pytest.mark.parametrize("role", [LAUNCH, THRUST_LAUNCH])
def test_deeper_never_costs_less_whatever_the_water(role: int, soil: str) -> None:
    eur = role_ramp_eur(role, SOILS.index(soil), 65, A)
    assert eur.shape == (n_waters(65, A), 65)
    assert np.all(np.isfinite(eur))
    assert np.all(np.diff(eur, axis=1) >= 0.0)
    # the last row stands for all water further down: nothing is wet
    assert eur[-1, 8] <= eur[0, 8]


def test_rock_below_asks_for_no_less() -> None:
    soil, rock = SOILS.index("sand_dense"), SOILS.index("rock_hard")
    ground = ShaftGround([soil], [rock], [5.0], [2.0])
    both = ramp_works_of([0], [LAUNCH], ground, [8.0], A)[0].eur
    alone = [works(LAUNCH, name, 8.0, 2.0).eur for name in ("sand_dense", "rock_hard")]
    assert both == max(alone)
    # above its head rock doesn't count
    assert ramp_works_of([0], [LAUNCH], ground, [5.0], A)[0].eur == works(LAUNCH, "sand_dense", 5.0, 2.0).eur


@pytest.mark.parametrize("soil", ["gravel", "clay_stiff", "sand_dense"])
def test_a_table_is_what_each_ramp_asks_for_by_its_own_water(soil: str) -> None:
    """Row by row of the water, none left out as like another; a deeper shaft's ramp costs no less."""
    place, method, step_m = SOILS.index(soil), enabled_methods(A)[0], A.shaft.depth_step_m
    bottom_m = bottom_axis_m(A, method, step_m * np.arange(33))
    measures = PitMeasures(A, place)
    rates = rates_eur(A)[[bill_items(A).index[code] for code in measures.codes]]
    eur = role_ramp_eur(LAUNCH, place, 33, A)
    plain_run_m = laid_run_m(bottom_m - trench_axis_m(A), most_shift_m(A, method), A)
    n_apart = 0
    for row in range(len(eur)):
        water_m = step_m * max(row - 1, 0)
        held = spreads(A, method, place, bottom_m, np.full(33, hold_axis_m(water_m, A)))
        apart, run_m = held.applies, plain_run_m + np.where(held.applies, held.more_m, 0.0)
        own = np.empty(33)
        for which in (~apart, apart):
            if which.any():
                low_m = bottom_m[which]
                stations = (
                    spread_stations(A, method, low_m, held.rows(apart))
                    if which is apart
                    else plain_stations(A, method, low_m)
                )
                highest_m = np.full(len(low_m), water_m - A.groundwater.highest_rise_m)
                quantities = measures.pits(stations, highest_m, np.arange(len(low_m)))[0]
                quantities[:, measures.codes.index("CA14")] = A.link.n_cables * run_m[which]
                own[which] = quantities @ rates
        assert eur[row] == pytest.approx(np.maximum.accumulate(own), rel=1e-12)
        n_apart += int(apart.sum())
    assert 0 < n_apart < eur.size
