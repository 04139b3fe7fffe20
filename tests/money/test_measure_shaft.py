"""Shafts: one by hand, shared shafts, and the laws that the search relies on."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.money.measure import bill_items, rates_eur, shaft, shaft_site
from tests.money.places import DEFAULTS, by_code, cover_index, soil_index

NONE, LAUNCH, RECEPTION, THRUST_LAUNCH, THRUST_RECEPTION = range(5)
ROLES = (LAUNCH, RECEPTION, THRUST_LAUNCH, THRUST_RECEPTION)
RATES = rates_eur(DEFAULTS)
N_SOILS = len(DEFAULTS.soil)


def one(r, k, *, soil="sand_dense", is_wet=False, depth_m=6.0, a=DEFAULTS, is_reached=None):
    return shaft(r, k, soil_index(soil, a), is_wet, depth_m, a, is_reached=is_reached)[0]


def test_wet_launch_by_hand():
    # Inside 8 x (3 x 6 + 3) = 168 m2, 11.25 m deep in dense sand: 4 + 4 + 3.25 m; plug 2 m, dug from
    # 11.25 to 13.25 m: 0.75 m at the 8-12 m rate, 1.25 m at 1.3 times it.
    assert by_code(one(NONE, LAUNCH, is_wet=True, depth_m=11.25)) == pytest.approx(
        {
            "MO11": 1.0,
            "SH01": 1.0,
            "SH13": 672.0,
            "SH14": 672.0,
            "SH15": 546.0,
            "SH18": 168.0 * (0.75 + 1.25 * 1.3),
            "SH20": 336.0,
            "SH22": 4.0,
            "SH23": 4.0,
            "SH24": 2.0,
            "SH26": 1890.0,
            "TR60": 0.95 * 336.0,
            "TR61": 0.05 * 336.0,
            "CO12": 1.0,
            "GI10": 13.25,
            "GI12": 1.0,
            "UX10": 1.0,
        },
        rel=1e-5,
    )


def test_dry_reception_by_hand():
    # Inside 5 x 21 = 105 m2, 6 m deep; slab 0.3 m, so 5.7 m are filled; dry eyes count 0.3.
    # Approach cut to 5.4 m: 4 cuts of run sqrt(25 x 5.4) = 11.619 m with 2 x 5.4/3 + 5.4^2/5 = 9.432 m2
    # make 438.36 m3; neighbours overlap from 2 m height: with u0 = sqrt(2/5.4) = 0.60858
    # 5.832 x 0.91652 - 7.2 x 0.77460 + 4 x 0.39142 = 5.3451 - 5.5771 + 1.5657 = 1.3337 m2 a pair,
    # so 3 x 11.619 x 1.3337 = 46.49 m3 less.
    quantities = by_code(one(RECEPTION, NONE))
    assert quantities == pytest.approx(
        {
            "SH01": 1.0,
            "SH10": 420.0,
            "SH11": 210.0,
            "SH20": 31.5,
            "SH22": 1.2,
            "SH26": 598.5,
            "TR60": 0.95 * 31.5,
            "TR61": 0.05 * 31.5,
            "CO13": 438.36 - 46.49,
            "GI10": 8.0,
            "GI12": 1.0,
            "UX10": 1.0,
        },
        rel=2e-4,
    )


def test_pit_for_thrust_boring_is_priced_whole():
    # 4.0 x (3 x 5.0 + 2.5) = 70 m2, 3 m deep
    assert by_code(one(NONE, THRUST_LAUNCH, depth_m=3.0)) == pytest.approx(
        {
            "MO21": 1.0,
            "SH31": 210.0,
            "CO12": 1.0,
            "GI10": 5.0,
            "GI12": 1.0,
            "UX10": 1.0,
        },
        rel=1e-4,
    )


def test_a_pit_in_groundwater_is_kept_dry_by_wells():
    # 2 (4 + 17.5) = 43 m of edge: 9 wells every 5 m, 3 m deeper than the pit; pumps run for a month
    wet, dry = (by_code(one(NONE, THRUST_LAUNCH, depth_m=3.0, is_wet=wet)) for wet in (True, False))
    assert wet == pytest.approx(dry | {"SH28": 9 * 6.0, "SH24": 1.0})
    # the highest water alone asks for the wells, not for months of pumping
    reached = by_code(one(NONE, THRUST_LAUNCH, depth_m=3.0, is_reached=True))
    assert reached == pytest.approx(dry | {"SH28": 9 * 6.0})


def test_a_dry_shaft_that_the_highest_water_reaches_has_wells_and_a_tight_one_has_none():
    # 2 (5 + 21) = 52 m of edge: 11 wells, 9 m deep round a shaft of 6 m
    dry, reached = (by_code(one(RECEPTION, NONE, is_reached=state)) for state in (False, True))
    assert reached == pytest.approx(dry | {"SH28": 11 * 9.0})
    assert "SH28" not in by_code(one(RECEPTION, NONE, is_wet=True, is_reached=True))


@pytest.mark.parametrize(
    ("soil", "wells"),
    [
        pytest.param("clay_stiff", 0, id="too tight to give water to wells"),
        pytest.param("silt", 9, id="just pervious enough"),
        pytest.param("gravel", 18, id="so pervious that one row does not do"),
    ],
)
def test_wells_by_soil(soil, wells):
    quantities = by_code(one(NONE, THRUST_LAUNCH, depth_m=3.0, soil=soil, is_wet=True))
    assert quantities.get("SH28", 0.0) == pytest.approx(wells * 6.0)


def test_shaft_factor_of_the_soil_and_deep_bands():
    # 18 m deep: 4 + 4 + 4 + 4 x 1.3 + 2 x 1.65 = bands; rock 1.6
    quantities = by_code(one(NONE, LAUNCH, soil="rock_hard", depth_m=18.0))
    assert quantities["SH10"] == pytest.approx(168 * 4 * 1.6)
    assert quantities["SH12"] == pytest.approx(168 * (4 + 4 * 1.3 + 2 * 1.65) * 1.6)


@pytest.mark.parametrize(
    ("r", "k", "expected"),
    [
        pytest.param(LAUNCH, LAUNCH, {"MO11": 1.5, "SH22": 2.4, "SH23": 8.0, "CO12": 1.0}, id="both ways"),
        pytest.param(RECEPTION, LAUNCH, {"MO11": 1.0, "SH22": 2.4, "SH23": 4.0, "CO12": 1.0}, id="through"),
        pytest.param(
            LAUNCH,
            THRUST_LAUNCH,
            {"MO11": 1.0, "MO21": 1.0, "SH22": 1.2, "SH23": 4.0, "CO12": 1.0},
            id="launches of two methods move both rigs",
        ),
        pytest.param(THRUST_LAUNCH, THRUST_LAUNCH, {"MO21": 1.5, "CO12": 1.0}, id="both ways from a pit"),
    ],
)
def test_shared_shaft(r, k, expected):
    quantities = by_code(one(r, k))
    got = {code: quantities[code] for code in ("MO11", "MO21", "SH22", "SH23", "CO12") if code in quantities}
    assert got == pytest.approx(expected)


def test_shared_shaft_takes_the_larger_plan():
    assert by_code(one(RECEPTION, LAUNCH))["SH10"] == pytest.approx(168 * 4.0)
    assert by_code(one(THRUST_LAUNCH, RECEPTION))["SH10"] == pytest.approx(5.0 * 21.0 * 4.0)
    assert "SH31" not in by_code(one(THRUST_LAUNCH, RECEPTION))


def test_two_receptions_have_two_approach_cuts():
    single = by_code(one(RECEPTION, NONE))["CO13"]
    assert by_code(one(RECEPTION, RECEPTION))["CO13"] == pytest.approx(2 * single)


def test_no_role_no_shaft():
    assert by_code(one(NONE, NONE)) == {}
    assert by_code(shaft_site(NONE, NONE, 500.0, 0, DEFAULTS)[0]) == {}


def test_site_by_hand():
    # launch compound 75 x 40 = 3 000 m2; 200 m of access road 4.5 m wide = 900 m2 of land
    quantities = by_code(shaft_site(RECEPTION, LAUNCH, 200.0, cover_index("cropland"), DEFAULTS)[0])
    # topsoil 0.3 m; 3 900 m2 are 70.909 m of a strip 55 m wide
    land = 3900.0
    watch = dict.fromkeys(("UX11", "AR10", "SV10"), 70.909)
    soil = {"TR10": 1170.0, "TR70_cropland": land} | watch
    assert quantities == pytest.approx(
        {"CO10": 3000.0, "CO11": 200.0, "LA10_cropland": land, "LA12": land, "LA13": land} | soil, rel=1e-5
    )
    forest = by_code(shaft_site(NONE, THRUST_RECEPTION, 0.0, cover_index("forest"), DEFAULTS)[0])
    watch = dict.fromkeys(("UX11", "AR10", "SV10"), 5.4545)
    soil = {"TR10": 90.0, "TR70_forest": 300.0} | watch
    assert forest == pytest.approx({"CO10": 300.0, "LA10_forest": 300.0, "LA13": 900.0} | soil, rel=1e-4)


def test_on_paved_ground_only_the_hole_is_reinstated():
    # reception pit 2 x (3 x 5.0 + 2.5) = 35 m2; nothing is stripped
    paved = by_code(shaft_site(NONE, THRUST_RECEPTION, 0.0, cover_index("paved"), DEFAULTS)[0])
    assert paved == pytest.approx({"CO10": 300.0, "LA10_paved": 300.0, "LA13": 300.0, "TR70_paved": 35.0})


def shaft_table(a=DEFAULTS):
    """Every soil, dry, reached and wet, pair of roles and depth to 16 m [EUR]."""
    depths = np.arange(0.0, 16.01, 0.25)
    shape = (len(a.soil), 3, 5, 5, len(depths))
    soil, water, r, k, level = (index.ravel() for index in np.indices(shape))
    eur = shaft(r, k, soil, water == 2, depths[level], a, is_reached=water >= 1) @ rates_eur(a)
    return eur.reshape(shape)


def test_whole_table_keeps_the_laws_of_the_search():
    table = shaft_table()
    assert np.all(np.diff(table, axis=-1) >= 0.0)  # deeper is never cheaper
    assert np.all(table[:, 1:] >= table[:, :-1])  # nor wetter than drier
    assert np.all(np.diff(table[:, 1:] - table[:, :-1], axis=-1) >= -1e-6)  # nor is what water adds
    assert np.array_equal(table, table.swapaxes(2, 3))  # roles may be swapped
    for r in ROLES:  # a shaft for two drives never costs less than one for the second alone
        assert np.all(table[:, :, r, 1:] >= table[:, :, NONE, 1:] - 1e-9)


@given(
    r=st.sampled_from((NONE, *ROLES)),
    k=st.sampled_from(ROLES),
    soil=st.integers(0, N_SOILS - 1),
    depths=st.tuples(st.floats(0.0, 24.0), st.floats(0.0, 24.0)).map(sorted),
    groundwater_m=st.floats(0.0, 24.0),
    rise_m=st.floats(0.0, 4.0),
)
@settings(max_examples=150, deadline=None)
def test_deeper_or_shared_is_never_cheaper_across_the_groundwater(r, k, soil, depths, groundwater_m, rise_m):
    shallow, deep = depths

    def eur(role, depth_m):
        is_wet, is_reached = depth_m > groundwater_m, depth_m > groundwater_m - rise_m
        quantities = shaft(role, k, soil, is_wet, depth_m, DEFAULTS, is_reached=is_reached)
        return float(quantities[0] @ RATES)

    assert eur(r, deep) >= eur(r, shallow) - 1e-6
    assert eur(r, deep) >= eur(NONE, shallow) - 1e-6


@given(
    r=st.sampled_from((NONE, *ROLES)),
    k=st.sampled_from(ROLES),
    distance_m=st.floats(0.0, 5000.0),
    cover=st.integers(0, len(DEFAULTS.cover) - 1),
)
def test_site_of_a_shared_shaft_is_never_cheaper(r, k, distance_m, cover):
    shared, alone = (float(shaft_site(role, k, distance_m, cover, DEFAULTS)[0] @ RATES) for role in (r, NONE))
    assert shared >= alone
    assert shared == float(shaft_site(k, r, distance_m, cover, DEFAULTS)[0] @ RATES)


def test_quantities_are_finite_and_not_negative_everywhere():
    quantities = shaft([1, 2, 3, 4], [[0], [1], [2], [3]], 0, True, 7.5, DEFAULTS)
    assert quantities.shape == (16, len(bill_items(DEFAULTS)))
    assert np.all(np.isfinite(quantities) & (quantities >= 0.0))


def test_a_profile_with_one_system_has_narrower_shafts():
    a = load_assumptions("[link]\nn_systems = 1\n")
    assert by_code(one(NONE, LAUNCH, a=a), a)["SH10"] == pytest.approx(8 * (6 + 3) * 4.0)


def test_pits_of_a_drilled_bore_by_hand():
    # One pit a bore at either end; no hole, no approach cut, no eyes; the drive pays the rig.
    a = load_assumptions("[methods.hdd]\nis_enabled = true\n")
    launch = 1 + 2 * [name for name, way in a.methods.items() if way.is_enabled].index("hdd")
    entry, leaving = (by_code(one(NONE, role, depth_m=1.5, a=a), a) for role in (launch, launch + 1))
    common = {"SH30": 4.0, "GI10": 3.5, "GI12": 1.0, "UX10": 1.0}
    assert entry == pytest.approx(common | {"CO12": 1.0}, rel=1e-6)
    assert leaving == pytest.approx(common, rel=1e-6)
