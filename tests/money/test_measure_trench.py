"""Open cut: sums by hand, items by ground, laws."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.drives.open_cut import trench_section
from routescreen.money.measure import bill_items, rates_eur, trench_eur_per_m, trench_per_m
from tests.money.places import CABLE_ITEMS, DEFAULTS, SAND_BEDDING, by_code, place
from tests.narrow import load_narrow as load_assumptions

WIDE, NARROW = np.array([False]), np.array([True])


def assumptions(n_systems: int, text: str = SAND_BEDDING):
    return load_assumptions(f"[link]\nn_systems = {n_systems}\n{text}")


def eur_per_m(a, ground, *, level="expected") -> float:
    quantities = trench_per_m(ground, WIDE, a)[0].copy()
    quantities[[bill_items(a).index[code] for code in CABLE_ITEMS]] = 0.0
    return float(quantities @ rates_eur(a, level=level))


def test_section_of_the_sand_bedding_trench():
    # 2 pipes: 0.40 + 0.28 + 0.40 = 1.08 wide; 1.40 + 0.28 + 0.10 = 1.78 deep; at 45 degrees
    # 1.08 x 1.78 + 1.78^2 = 5.0908 m2, and 1.08 + 2 x 1.78 = 4.64 m wide at the top.
    section = trench_section(place(), assumptions(1))
    assert section.bottom_width_m[0] == pytest.approx(1.08)
    assert section.depth_m == pytest.approx(1.78)
    assert section.top_width_m[0] == pytest.approx(4.64)
    assert section.area_m2(0.0, 1.78, is_rock=False)[0] == pytest.approx(5.0908)


def test_every_quantity_of_one_system_by_hand():
    a = assumptions(1)
    assert by_code(trench_per_m(place(a), WIDE, a)[0], a) == pytest.approx(
        {
            "TR10": 7.35,  # 35 x 0.70 x 0.30
            # below 0.30 m of topsoil 1.08 x 1.48 + 1.48^2 = 3.7888 m2; down to 1.75 m as it is; the lowest
            # 0.03 m, 1.08 x 0.03 + 0.03^2 = 0.0333 m2, x 1.2
            "TR20": 3.7888 - 0.0333 + 1.2 * 0.0333,
            # bedding zone 0.58 m high: 1.08 x 0.58 + 0.58^2 = 0.9628 m2 less two pipes of 0.061575 m2
            "TR50": 0.9628 - 2 * 0.0615752,
            "TR52": 3.7888 - 0.9628,
            "TR60": 0.95 * 0.9628,
            "TR61": 0.05 * 0.9628,
            "TR70_cropland": 35.0,
            "TR80": 7.0,
            "TR81": 1.0,
            "TR82": 1.0,
            "TR90": 2.0,
            "TR91": 1.0,
            "PI10": 2 * 19.4 * 1.03,
            "PI14": 2.0,
            "CA10": 2 * 1.02,
            "CA11": 2.0,
            "LA10_cropland": 35.0,
            "LA11_cropland": 15.0,
            "LA12": 35.0,
            "LA13": 35.0,
            "GI13": 1.0,
            "UX11": 1.0,
            "AR10": 1.0,
            "SV10": 1.0,
            "TE10": 1.0,
        },
        rel=1e-6,
    )


# By hand at the expected rates, EUR per m, one system without cable:
#   trench  TR20 3.79546 x 12 = 45.55, TR50 0.83965 x 58 = 48.70, TR52 2.826 x 14 = 39.56,
#           TR60/61 0.9628 x (0.95 x 32 + 0.05 x 55) = 31.92, TR90 60, TR91 55,
#           PI10 39.964 x 2.8 = 111.90, PI14 10                                      -> 402.7
#   strip   88.2 + 98 + 406 + 95 + 55 + 16 + 14 + 30 + 28 + 11                       -> 841.2
#   land    35 x 0.9 + 15 x 1.5 + 35 x 0.5 + 35 x 1.2                                -> 113.5
# Two systems: 2 x 402.7; strip 55 m: 138.6 + 154 + 655 = 947.6; land 55 m / 34 m: 194.0.
# A second hand's sums of the same trench, rounded, were 439 + 841 + 113 and 2 x 439 + 948 + 194; they
# are met within 0.5 %. They had the topsoil over each trench twice: (4.64 + 4.04) / 2 x 0.30 = 1.302 m2, dug
# and filled at TR20 + TR52 = 9 + 9, 12 + 14 or 17 + 21 EUR/m3.
TOPSOIL_TWICE_EUR = {"low": 1.302 * 18.0, "expected": 1.302 * 26.0, "high": 1.302 * 38.0}


@pytest.mark.parametrize(
    ("n_systems", "level", "by_hand", "second_hand"),
    [
        pytest.param(1, "expected", 1357.3, 1394, id="one system"),
        pytest.param(2, "expected", 1946.9, 2020, id="two systems"),
        pytest.param(1, "low", None, 882, id="one system, low"),
        pytest.param(1, "high", None, 2310, id="one system, high"),
        pytest.param(2, "low", None, 1285, id="two systems, low"),
        pytest.param(2, "high", None, 3315, id="two systems, high"),
    ],
)
def test_price_of_a_metre_without_cable(n_systems, level, by_hand, second_hand):
    a = assumptions(n_systems)
    price = eur_per_m(a, place(a), level=level)
    assert price == pytest.approx(second_hand - n_systems * TOPSOIL_TWICE_EUR[level], rel=0.005)
    if by_hand is not None:
        assert price == pytest.approx(by_hand, abs=0.1)


def test_cable_of_a_metre():
    # 2 cables x (860 x 1.02 + 45) = 1 844.4; 4 cables 3 688.8
    for n_systems, expected in ((1, 1844.4), (2, 3688.8)):
        a = assumptions(n_systems)
        quantities, rates = trench_per_m(place(a), WIDE, a)[0], rates_eur(a)
        columns = [bill_items(a).index[code] for code in CABLE_ITEMS]
        assert float(quantities[columns] @ rates[columns]) == pytest.approx(expected)


def test_default_bedding_is_flowable_and_higher():
    # Default: axes 0.50 m apart, 0.20 m below and above: 1.18 wide, 1.88 deep, zone 0.68 m high:
    # 1.18 x 0.68 + 0.68^2 = 1.2648 m2 less two pipes 0.12315 -> 1.14165 m2 a trench.
    quantities = by_code(trench_per_m(place(), WIDE, DEFAULTS)[0])
    assert quantities["TR51"] == pytest.approx(2 * 1.14165, abs=1e-4)
    assert "TR50" not in quantities
    assert quantities["PI15"] == 4.0  # the pipes are filled


@pytest.mark.parametrize(
    ("soil", "groundwater_m", "item"),
    [
        # the bottom lies at 1.88 m
        pytest.param("sand_dense", 1.89, None, id="water below the bottom"),
        pytest.param("sand_dense", 1.50, "TR40", id="0.38 m of water: sump"),
        pytest.param("sand_dense", 1.30, "TR41", id="0.58 m of water in sand: well points"),
        pytest.param("clay_stiff", 0.50, "TR40", id="tight clay yields little: sump"),
    ],
)
def test_dewatering(soil, groundwater_m, item):
    quantities = by_code(trench_per_m(place(soil=soil, groundwater_m=groundwater_m), WIDE, DEFAULTS)[0])
    assert {code for code in quantities if code in ("TR40", "TR41")} == ({item} if item else set())
    if item:
        assert quantities[item] == 2.0  # two trenches


def test_gravel_needs_two_rows_of_well_points():
    quantities = by_code(trench_per_m(place(soil="gravel", groundwater_m=0.5), WIDE, DEFAULTS)[0])
    assert quantities["TR41"] == 4.0


def test_rock_in_the_trench_is_dug_as_rock_and_stands_steeper():
    # Default trench 1.88 deep, 1.18 wide; rock from 1.00 m down, 0.88 m high at 80 degrees, sand at 45.
    # rock: 1.18 x 0.88 + 0.88^2 / tan 80 = 1.0384 + 0.13655 = 1.17495 m2, of it deeper than 1.75 m:
    # 1.18 x 0.13 + 0.13^2 / tan 80 = 0.15638 m2, x 1.2
    # sand from 0.30 to 1.00 m: width at 1.00 m 1.18 + 2 x 0.88 / tan 80 = 1.49034, x 0.7 + 0.7^2 = 1.53324 m2
    quantities = by_code(trench_per_m(place(rock="rock_hard", rock_m=1.0), WIDE, DEFAULTS)[0])
    assert quantities["TR24"] == pytest.approx(2 * (1.17495 + 0.2 * 0.15638), abs=1e-4)
    assert quantities["TR20"] == pytest.approx(2 * 1.53324, abs=1e-4)
    assert "TR23" not in quantities


def dug_and_filled(ground, which=WIDE, text=""):
    """TR20 and TR52 of one system without the factor of the deeper slice."""
    a = assumptions(1, SAND_BEDDING + "slice_factors = [1.0, 1.0, 1.0]\n" + text)
    items = by_code(trench_per_m(ground, which, a)[0], a)
    return items.get("TR20", 0.0), items.get("TR52", 0.0), items.get("TR10", 0.0)


# The whole section has 5.0908 m2, of it 0.9628 m2 bedding; the topsoil over it 1.302 m2.
@pytest.mark.parametrize(
    ("text", "topsoil_m2", "stripped_m2"),
    [
        pytest.param("", 1.302, 7.35, id="as given"),
        pytest.param("topsoil_m = 0.0\n", 0.0, 0.0, id="no topsoil"),
        # 0.14 x 35 = 4.9 m reach over the 4.64 m of the trench; 0.13 x 35 = 4.55 m don't
        pytest.param(
            "topsoil_width_frac = 0.14\n", 1.302, 1.47, id="stripped a little wider than the trench"
        ),
        pytest.param("topsoil_width_frac = 0.13\n", 0.0, 1.365, id="stripped narrower than the trench"),
    ],
)
def test_topsoil_over_the_trench_is_paid_once(text, topsoil_m2, stripped_m2):
    dug, filled, stripped = dug_and_filled(place(), text=text)
    assert dug == pytest.approx(5.0908 - topsoil_m2)
    assert filled == pytest.approx(4.128 - topsoil_m2)
    assert stripped == pytest.approx(stripped_m2)


def test_where_only_the_trench_is_reinstated_it_is_dug_from_the_ground():
    """Braced: 1.08 x 1.78 m2, 0.58 m of it bedding, at paved ground's factor of 1.5."""
    dug, filled, stripped = dug_and_filled(place(cover="paved"))
    assert (dug, filled, stripped) == pytest.approx((1.5 * 1.08 * 1.78, 1.5 * 1.08 * 1.2, 0.0))


def test_rock_below_the_trench_changes_nothing():
    above = trench_per_m(place(rock_m=1.89), WIDE, DEFAULTS)
    assert np.array_equal(above, trench_per_m(place(), WIDE, DEFAULTS))


def test_narrow_strip():
    wide, narrow = (by_code(trench_per_m(place(), which, DEFAULTS)[0]) for which in (WIDE, NARROW))
    for code in ("TR20", "TR51", "TR52", "TR90"):
        assert narrow[code] == pytest.approx(1.3 * wide[code])
    for code in ("TR60", "TR91", "PI10", "CA10", "LA11_cropland"):
        assert narrow[code] == pytest.approx(wide[code])
    assert (narrow["LA10_cropland"], wide["LA10_cropland"]) == (30.0, 55.0)


def test_road_is_braced_and_reinstated_over_the_trench_only():
    # Braced upright: 1.18 m wide, each trench with 1 m beside: 2 x 2.18 = 4.36 m; faces 2 x 2 x 1.88 m2;
    # the space factor of paved ground is 1.5.
    quantities = by_code(trench_per_m(place(cover="paved"), WIDE, DEFAULTS)[0])
    assert quantities["TR70_paved"] == pytest.approx(4.36)
    assert quantities["TR30"] == pytest.approx(1.5 * 7.52)
    assert not {"TR10", "TR80", "TR31", "LA12"} & set(quantities)


def test_wet_road_gets_sheet_piles_with_embedment():
    quantities = by_code(trench_per_m(place(cover="paved", groundwater_m=1.0), WIDE, DEFAULTS)[0])
    assert quantities["TR31"] == pytest.approx(1.5 * 7.52 * 1.5)  # half the depth more
    assert "TR30" not in quantities


def test_trenches_that_would_meet_are_braced():
    # top width 1.18 + 2 x 1.88 = 4.94 m, edge strips 1.2 m: they meet when closer than 6.14 m
    for spacing_m, is_braced in ((6.2, False), (6.1, True)):
        a = load_assumptions(f"[link]\ntrench_spacing_m = {spacing_m}\n")
        assert trench_section(place(a), a).is_braced[0] == is_braced


def test_return_cable_is_supplied_apart():
    a = load_assumptions("[link]\nreturns_per_system = 1\n")
    quantities = by_code(trench_per_m(place(a), WIDE, a)[0], a)
    assert (quantities["CA10"], quantities["CA16"]) == pytest.approx((4 * 1.02, 2 * 1.02))
    assert quantities["CA11"] == 6.0
    assert quantities["PI14"] == 6.0


def test_price_in_pieces_equals_price_at_once():
    ground = place(n=9000, groundwater_m=1.0)
    is_narrow = np.arange(9000) % 2 == 0
    expected = trench_per_m(ground, is_narrow, DEFAULTS) @ rates_eur(DEFAULTS)
    assert np.allclose(trench_eur_per_m(ground, is_narrow, DEFAULTS), expected, rtol=1e-14, atol=0.0)


def test_no_places_no_quantities():
    empty = place(n=0)
    assert trench_per_m(empty, np.zeros(0, dtype=bool), DEFAULTS).shape == (0, len(bill_items(DEFAULTS)))


@given(
    cover=st.sampled_from([name for name, one in DEFAULTS.cover.items() if one.trench_allowed]),
    soil=st.sampled_from(DEFAULTS.soil_names),
    rock=st.sampled_from(["rock_weak", "rock_hard"]),
    rock_m=st.floats(0.0, 5.0),
    groundwater_m=st.floats(0.0, 5.0),
    is_narrow=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_laws_of_the_section(cover, soil, rock, rock_m, groundwater_m, is_narrow):
    ground = place(cover=cover, soil=soil, rock=rock, rock_m=rock_m, groundwater_m=groundwater_m)
    quantities = trench_per_m(ground, np.array([is_narrow]), DEFAULTS)[0]
    assert np.all(np.isfinite(quantities))
    assert np.all(quantities >= 0.0)
    # soil and rock together make the section, whatever the split
    section = trench_section(ground, DEFAULTS)
    parts = [section.area_m2(0.0, section.depth_m, is_rock=is_rock)[0] for is_rock in (False, True)]
    mean_width = (section.bottom_width_m[0] + section.top_width_m[0]) / 2.0
    if section.rock_height_m[0] == 0.0:
        assert sum(parts) == pytest.approx(mean_width * section.depth_m)
    items = by_code(quantities)
    surplus = sum(items.get(code, 0.0) for code in ("TR60", "TR61", "TR62"))
    zone = section.area_m2(0.0, 0.68, is_rock=False)[0] + section.area_m2(0.0, 0.68, is_rock=True)[0]
    assert surplus == pytest.approx(2 * zone)


def test_pipes_further_apart_in_soft_clay_by_hand():
    """0.55 m more room in each of two trenches 1.88 m deep, with upright parts: widths add, slopes stay.

    That is what it asks for where it dries out to 4.2 K m/W.
    Bedding 0.55 x 0.68, backfill above it 0.55 x 0.90 up to the 0.30 m of topsoil of the strip's own item;
    of the digging below that topsoil the lowest 0.13 m counts 1.2 times.
    """
    dry = "[soil.clay_soft]\nresistivity_dry_Km_per_W = 4.2\n"
    a, close = load_assumptions(dry), load_assumptions(f"{dry}[search]\nrating_steers = false\n")
    ground = place(soil="clay_soft")
    one, other = (by_code(trench_per_m(ground, WIDE, given)[0]) for given in (a, close))
    changed = {code: one[code] - other.get(code, 0.0) for code in one if one[code] != other.get(code)}
    assert changed == pytest.approx(
        {
            "TR21": 2 * 0.55 * (1.75 - 0.30 + 1.2 * 0.13),
            "TR51": 2 * 0.55 * 0.68,
            "TR52": 2 * 0.55 * 0.90 * a.soil["clay_soft"].backfill_factor,
            "TR60": 0.90 * 2 * 0.55 * 0.68,
            "TR61": 0.10 * 2 * 0.55 * 0.68,
        },
        rel=1e-9,
    )
    assert by_code(trench_per_m(place(), WIDE, a)[0]) == by_code(trench_per_m(place(), WIDE, close)[0])
