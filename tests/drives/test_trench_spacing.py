"""Spacing of the pipes in open cut: by hand, against the rating, at the ends, monotone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.drives.cable_make import cable_make, current_shares, surround, undisturbed_degC
from routescreen.drives.open_cut import ground_heat, trench_section, widest_band_m
from routescreen.drives.trench_spacing import (
    TrenchHeat,
    bearing_spacing_m,
    bedding_zone_m,
    spacings_m,
    trench_beddings,
    trench_rating_A,
)
from routescreen.engineering.bedding_rating import bedded_rating
from routescreen.engineering.rating import HeatPath
from tests.money.places import place, soil_index

DEFAULTS = load_assumptions()
WATT_PER_M = 1905.0**2 * 7.2e-6 * (1.0 + 0.00393 * 50.0)


def spacing_m(a: Assumptions = DEFAULTS, **where: object) -> float:
    return float(trench_section(place(a, **where), a).pipe_spacing_m[0])


def with_dry_zone_A(spacing_m: float, rho: float, dry_rho: float) -> float:
    """Rate an inner of four pipes at 1.54 m, each in a square bedding of 0.68 m: a circle of 0.3738 m.

    ln r = 1/2 (4/pi - 1) ln 2 + ln 0.34; what is left outside it acosh(1.54/r) = 2.0939. Ground 11 + 4
    e^(0.6 - 1.54/2.5) = 14.94 degC, 15 K to the dry boundary, inside the pipe 0.5763 K m/W.
    """
    left = math.acosh(1.54 / math.exp(0.5 * (4.0 / math.pi - 1.0) * math.log(2.0) + math.log(0.34)))
    others = sum(0.5 * math.log1p((3.08 / d) ** 2) for d in (spacing_m, 10.0 - spacing_m, 10.0))
    within = (math.acosh(11.0) - left) / (2.0 * math.pi)
    rise_K = 55.06 + (dry_rho / rho - 1.0) * 15.0
    ohm = WATT_PER_M / 1905.0**2
    return math.sqrt(rise_K / (ohm * (0.5763 + within + dry_rho / (2.0 * math.pi) * (left + others))))


def test_dry_ground_by_hand() -> None:
    """Loose sand, 1.2 to 3.0 K m/W: 1 893 A at 0.70 m, 1 909 A at 0.75 m."""
    assert with_dry_zone_A(0.70, 1.2, 3.0) < 1905.0 < with_dry_zone_A(0.75, 1.2, 3.0)
    assert spacing_m(soil="sand_loose") == pytest.approx(0.75)
    heat = ground_heat(place(soil="sand_loose"), DEFAULTS)
    found = trench_rating_A(np.array([0.75]), heat, np.array([[2.11]]), DEFAULTS)[0, 0]
    assert found == pytest.approx(with_dry_zone_A(0.75, 1.2, 3.0), rel=1e-3)


@pytest.mark.parametrize("soil", ["sand_dense", "gravel", "silt", "clay_soft", "clay_stiff"])
def test_where_neighbours_warm_the_ground_by_half_of_the_boundary_alone_the_least_still_bears(
    soil: str,
) -> None:
    """0.5 m apart the other pipes make 31.26/2pi (1.83 + 0.10) = 9.6 K in ground of 1.0 K m/W, of 15 K."""
    assert spacing_m(soil=soil) == pytest.approx(0.5)


@pytest.mark.parametrize("soil", list(DEFAULTS.soil))
@pytest.mark.parametrize("cover", ["cropland", "paved"])
def test_the_chosen_one_bears_and_one_step_less_does_not(soil: str, cover: str) -> None:
    where = place(soil=soil, cover=cover)
    section = trench_section(where, DEFAULTS)
    (chosen,) = section.pipe_spacing_m
    wide = float(section.bedding_width_m(bedding_zone_m(DEFAULTS))[0])
    tried = np.array([chosen - 0.05, chosen])
    widths = np.array([[wide - 0.05, wide]])
    less, at = trench_rating_A(tried, ground_heat(where, DEFAULTS), widths, DEFAULTS)[0]
    if chosen < 1.5:
        assert at >= 1905.0
    if chosen > 0.5:
        assert less < 1905.0


def test_where_no_spacing_does_the_largest_stands() -> None:
    assert spacing_m(soil="peat") == 1.5
    heat = ground_heat(place(soil="peat"), DEFAULTS)
    assert trench_rating_A(np.array([1.5]), heat, np.array([[2.0]]), DEFAULTS)[0, 0] < 1905.0
    closer = load_assumptions("[trench]\npipe_spacing_most_m = 0.72\n")
    assert spacing_m(closer, soil="peat") == pytest.approx(0.70)


def test_ground_that_cannot_dry_out_asks_for_nothing() -> None:
    # the lowest groundwater lies 1.5 m below the one given, the pipes' crowns 1.4 m below ground
    assert spacing_m(soil="sand_loose", groundwater_m=-0.2) == 0.5
    assert spacing_m(soil="sand_loose", groundwater_m=0.0) == pytest.approx(0.75)


@pytest.mark.parametrize(
    ("text", "expected_m"),
    [
        pytest.param("[search]\nrating_steers = false\n", 0.5, id="not asked for"),
        pytest.param("[link]\nprofile = 'ac110'\n", 0.35, id="no rating for alternating current"),
        pytest.param("[link]\ncurrent_A = 1500.0\n", 0.5, id="less current"),
        pytest.param("[trench]\npipe_spacing_m = 1.2\n", 1.2, id="wider from the start"),
    ],
)
def test_the_projects_own_spacing_stands(text: str, expected_m: float) -> None:
    assert spacing_m(load_assumptions(text), soil="sand_loose") == expected_m


def test_rock_at_the_pipes_counts_as_the_worse_of_both() -> None:
    assert spacing_m(soil="sand_loose", rock="rock_hard", rock_m=1.5) == pytest.approx(0.75)
    assert spacing_m(soil="till_boulders", rock="rock_hard", rock_m=1.6) == 0.5


def test_trenches_do_not_reach_into_each_other() -> None:
    # 1.6 m between the trenches' axes, less 0.28 + 0.40 m of the pipes' own room
    assert spacings_m(load_assumptions("[link]\ntrench_spacing_m = 1.6\n"))[-1] == pytest.approx(0.90)


def test_one_pipe_a_trench_has_no_spacing_to_choose() -> None:
    text = "[cable]\nrating_model = 'none'\n[link]\npoles_per_system = 1\nreturns_per_system = 0\n"
    assert list(spacings_m(load_assumptions(text))) == [0.5]


def test_the_most_is_not_less_than_the_least() -> None:
    with pytest.raises(Exception, match="pipe_spacing_most_m"):
        load_assumptions("[trench]\npipe_spacing_most_m = 0.4\n")


def drying(rho: float, ratio: float) -> TrenchHeat:
    return TrenchHeat(*(np.array([value]) for value in (rho, ratio, 0.0, 0.0, 0.0)))


@given(current_A=st.floats(1000.0, 2200.0), more_A=st.floats(0.0, 300.0))
def test_more_current_never_asks_for_less(current_A: float, more_A: float) -> None:
    one, other = (with_current(value) for value in (current_A, current_A + more_A))
    heat = drying(1.0, 2.0)
    assert chosen_m(heat, one) <= chosen_m(heat, other)


@given(wet=st.floats(0.5, 1.5), ratio=st.floats(2.0, 4.0), times=st.floats(1.0, 1.5))
def test_worse_ground_never_asks_for_less(wet: float, ratio: float, times: float) -> None:
    good = drying(wet, ratio)
    dry, both = drying(wet, ratio * times), drying(wet * times, ratio)
    assert chosen_m(good, DEFAULTS) <= min(chosen_m(dry, DEFAULTS), chosen_m(both, DEFAULTS))


def with_current(current_A: float) -> Assumptions:
    return DEFAULTS.model_copy(update={"link": DEFAULTS.link.model_copy(update={"current_A": current_A})})


def chosen_m(heat: TrenchHeat, a: Assumptions) -> float:
    return float(bearing_spacing_m(heat, lambda spacing, rows: (spacing + 1.36)[np.newaxis], a)[0])


def test_unknown_ground_keeps_the_projects_own() -> None:
    assert chosen_m(drying(np.nan, 2.0), DEFAULTS) == 0.5


@pytest.mark.parametrize("rho", [pytest.param(3.0, id="bad ground"), pytest.param(np.nan, id="unknown")])
def test_where_there_is_no_choice_nothing_is_rated(rho: float, monkeypatch: pytest.MonkeyPatch) -> None:
    trench = {"pipe_spacing_m": 0.6, "pipe_spacing_most_m": 0.6}
    one = DEFAULTS.model_copy(update={"trench": DEFAULTS.trench.model_copy(update=trench)})
    assert chosen_m(drying(3.0, 2.0), DEFAULTS) > 0.6

    def unasked(*_: object) -> None:
        raise AssertionError("rated")

    monkeypatch.setattr("routescreen.drives.trench_spacing.trench_rating_A", unasked)
    assert chosen_m(drying(rho, 2.0), one) == 0.6


def test_places_that_differ_are_chosen_one_by_one() -> None:
    names = ["peat", "sand_dense", "sand_loose", "peat", "silt"]
    where = place(n=5)
    mixed = type(where)(
        **{name: getattr(where, name) for name in where.__slots__ if name != "soil_class"},
        soil_class=np.array([soil_index(name) for name in names], dtype=np.int16),
    )
    assert trench_section(mixed, DEFAULTS).pipe_spacing_m == pytest.approx([1.5, 0.5, 0.75, 1.5, 0.5])


def test_band_by_hand() -> None:
    # 1.88 m deep: 0.80 m by the step to 4.0 m, 0.90 m by EN 1610's depth (1.75 to 4.00 m); two pipes of
    # 0.28 m, 0.5 m apart, with 0.4 m beside them take 1.18 m; the second trench lies 10 m aside
    sand, peat, till = (soil_index(name) for name in ("sand_loose", "peat", "till_boulders"))
    assert widest_band_m([till], [], DEFAULTS) == pytest.approx(11.18)
    # in loose sand that may dry out the pipes lie 0.75 m apart instead of 0.50 m
    assert widest_band_m([sand], [], DEFAULTS) == pytest.approx(11.43)
    seven = load_assumptions("[link]\ntrench_spacing_m = 7.0\n[search]\nrating_steers = false\n")
    assert widest_band_m([sand], [], seven) == pytest.approx(8.18)
    # in peat the pipes lie 1.0 m further apart, in whatever else there is
    assert widest_band_m([sand, peat], [], DEFAULTS) == pytest.approx(12.18)
    assert widest_band_m([sand], [peat], DEFAULTS) == pytest.approx(12.18)
    # with 0.1 m beside the pipes EN 1610 asks for more: max(0.90, 0.28 + 0.50 braced) = 0.90 m
    narrow = load_assumptions("[trench]\nside_margin_m = 0.1\n[search]\nrating_steers = false\n")
    assert widest_band_m([sand], [], narrow) == pytest.approx(10.9)


@pytest.mark.parametrize("soil", list(DEFAULTS.soil))
@pytest.mark.parametrize("lowest_m", [0.05, 0.7, 1.4])
def test_the_search_rates_ground_over_wet_pipes_as_it_lies(soil: str, lowest_m: float) -> None:
    """Saturated below the lowest groundwater, above it ground that dries out where it gets too warm."""
    where = place(soil=soil, groundwater_m=lowest_m - DEFAULTS.groundwater.lowest_fall_m)
    heat, klass = ground_heat(where, DEFAULTS), DEFAULTS.soil[soil]
    assert (heat.rho_K_m_per_W[0], heat.ratio[0]) == (klass.resistivity_saturated_Km_per_W, 1.0)
    width_m = np.array([[1.86]])
    searched = trench_rating_A(np.array([0.5]), heat, width_m, DEFAULTS)[0, 0]
    together, apart = trench_beddings(np.array([[0.5]]), width_m, 1.54, DEFAULTS)
    around = surround(DEFAULTS, DEFAULTS.pipe.trench_outer_diameter_m)
    path = HeatPath(
        cable_make(DEFAULTS).ohm_per_m,
        around.inside_K_m_per_W,
        around.outer_diameter_m,
        DEFAULTS.cable.conductor_limit_degC,
        float(undisturbed_degC(DEFAULTS, np.array([1.54]))[0]),
        klass.resistivity_saturated_Km_per_W,
        drying_rise_K=15.0,
        column_m=lowest_m,
        column_rho_K_m_per_W=klass.resistivity_moist_Km_per_W,
        column_dry_K_m_per_W=klass.resistivity_dry_Km_per_W,
    )
    exact = bedded_rating(
        np.full(4, 1.54),
        [-5.25, -4.75, 4.75, 5.25],
        path,
        together=together,
        apart=apart,
        share=current_shares(DEFAULTS),
    )
    assert searched == pytest.approx(float(np.ravel(exact.rating_A)[0]))
