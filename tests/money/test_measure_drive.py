"""Drives: a 620 m crossing by hand, other methods, linearity."""

import math

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.money.measure import (
    bill_items,
    drive_fixed,
    drive_per_m,
    drive_per_tie_in,
    drive_set_up,
    n_boreholes_between,
    n_pipe_pieces,
    rates_eur,
)
from tests.money.places import DEFAULTS, by_code, cover_index, soil_index


def per_m(method="two_pass", soil="sand_dense", cover="cropland", a=DEFAULTS):
    soils, covers = np.array([soil_index(soil, a)]), np.array([cover_index(cover, a)])
    return drive_per_m(method, soils, covers, a)[0]


def fixed(method="two_pass", length_m=620.0, launch_m=11.2, reception_m=11.2, a=DEFAULTS, n_pieces=1):
    cover = np.array([cover_index("cropland", a)])
    return drive_fixed(method, [length_m], [launch_m], [reception_m], cover, a, n_pieces=n_pieces)[0]


def thousand_eur(quantities, codes, a=DEFAULTS):
    columns = [bill_items(a).index[code] for code in codes]
    return float(quantities[columns] @ rates_eur(a)[columns]) / 1000.0


def test_metre_of_two_pass_by_hand():
    # Four bores of 0.56 m with pipes of 0.50 m, dense sand, under cropland; the cable is 1.02 long.
    bore, pipe = math.pi / 4 * 0.56**2, math.pi / 4 * 0.50**2
    assert by_code(per_m()) == pytest.approx(
        {
            "DR11": 4.0,
            "DR13": 4.0,
            "DR14": 4.0,
            "DR15": 4 * (bore - pipe) * 1.25,
            "DR16": 4.0,
            "DR17": 4 * bore,
            "PR01": 4 * 0.05 / 1000,
            "PI10": 4 * 62.0 * 1.03,
            "PI14": 4.0,
            "PI15": 4.0,
            "TE11": 4.0,
            "CA10": 4 * 1.02,
            "CA11": 4.0,
            "LA11_cropland": 34.0 * 0.5,
        }
    )


# 620 m, four bores, dense sand, by hand in thousand EUR at the expected rates:
#   drive  DR10 136 + DR11 2 480 x 650 = 1 612 + DR12 40 + DR13 99.2 + DR16 69.44 + TE11 17.36 = 1 974.0
#   pull   DR14 104.16 + DR15 154.84 m3 x 190 = 29.42                                          = 133.6
#   spoil  DR17 610.8 m3 x 80                                                                  =  48.9
#   pipe   PI10 2 480 x 62 x 1.03 x 2.8 = 443.45 + PI11 4 x 52 x 420 = 87.36 + PI14 12.4       = 543.2
#   layout PI13 4 x 6 x 640 = 15 360 m2 x 4.4 = 67.58 + topsoil TR10 4 608 m3 x 12 = 55.30
#          + land 15 360 x (0.9 + 0.5 + 1.2) = 39.94                                           = 162.8
#   soil   TR70 15 360 x 2.8 = 43.01 + 15 360 / 55 = 279.27 m of strip x (14 + 30 + 28) = 20.11 =  63.1
#   risk   PR01 0.124 x 180                                                                    =  22.3
#   holes  6 boreholes of 13.2 m x 210                                                         =  16.6
@pytest.mark.parametrize(
    ("codes", "by_hand"),
    [
        pytest.param(("DR10", "DR11", "DR12", "DR13", "DR16", "TE11"), 1974.0, id="drive"),
        pytest.param(("DR14", "DR15"), 133.6, id="pull-in"),
        pytest.param(("DR17",), 48.9, id="spoil"),
        pytest.param(("PI10", "PI11", "PI14"), 543.2, id="pipe"),
        pytest.param(("PI13", "TR10", "LA10_cropland", "LA12", "LA13"), 162.8, id="layout strip"),
        pytest.param(("TR70_cropland", "UX11", "AR10", "SV10"), 63.1, id="soil of the layout strip"),
        pytest.param(("PR01",), 22.3, id="provisional sum"),
        pytest.param(("GI10",), 16.6, id="boreholes between the shafts"),
        pytest.param(("PI15",), 49.6, id="fill of the pipes, 2 480 m x 20"),
        pytest.param(("LA11_cropland",), 15.8, id="easement, 620 x 34 x 0.5 x 1.5"),
    ],
)
def test_drive_of_620_m_by_hand(codes, by_hand):
    assert thousand_eur(per_m() * 620.0 + fixed(), codes) == pytest.approx(by_hand, abs=0.06)


def test_quantities_of_the_worked_crossing():
    # 2 480 m of bore: spoil 610.8 m3 in place, grout 154.8 m3, layout 4 strips of 640 m.
    quantities = by_code(per_m() * 620.0 + fixed())
    assert quantities["DR11"] == pytest.approx(2480.0)
    assert quantities["DR17"] == pytest.approx(610.8, abs=0.1)
    assert quantities["DR15"] == pytest.approx(154.8, abs=0.1)
    assert quantities["PI13"] == pytest.approx(4 * 640.0 * 6.0)


def test_soil_factor_and_events():
    sand, till = by_code(per_m(soil="sand_dense")), by_code(per_m(soil="till_boulders"))
    assert till["DR11"] == pytest.approx(1.9 * sand["DR11"])
    assert till["PR01"] == pytest.approx(12.0 * sand["PR01"])  # 0.60 against 0.05 events a km
    assert till["DR13"] == sand["DR13"]


def test_larger_bore_costs_by_its_exponent():
    a = load_assumptions(
        "[methods.two_pass]\npipe_outer_diameter_m = 0.63\ndriven_outer_diameter_m = 0.63\n"
        "[pipe.jacking_string]\nouter_diameter_m = 0.63\n"
    )
    quantities = by_code(per_m(a=a), a)
    assert quantities["DR11"] == pytest.approx(4 * (0.69 / 0.56) ** 1.2)
    assert quantities["PI10"] == pytest.approx(4 * 98.4 * 1.03)


def test_guided_thrust_is_bored_dry_and_has_no_layout_strip():
    # bore 0.34 m, pipe 0.28 m; spoil 4 x 0.0908 m3 hauled by the shares of sand
    bore, pipe = math.pi / 4 * 0.34**2, math.pi / 4 * 0.28**2
    assert by_code(per_m("guided_thrust")) == pytest.approx(
        {
            "DR21": 4.0,
            "DR15": 4 * (bore - pipe) * 1.25,
            "TR60": 4 * bore * 0.95,
            "TR61": 4 * bore * 0.05,
            "PR01": 4 * 0.05 / 1000,
            "PI10": 4 * 19.4 * 1.03,
            "PI14": 4.0,
            "PI15": 4.0,
            "TE11": 4.0,
            "CA10": 4 * 1.02,
            "CA11": 4.0,
            "LA11_cropland": 17.0,
        }
    )
    # set-ups 4; 60 m are 5 pieces of pipe x 4 x 0.43; no borehole between shafts closer than 100 m
    assert by_code(fixed("guided_thrust", 60.0, 4.0, 4.0)) == pytest.approx({"DR20": 4.0, "PI11": 8.6})


def test_tunnel_for_all_cables_holds_four_pipes():
    a = load_assumptions("[methods.enterable]\nis_enabled = true\n")
    quantities = by_code(per_m("enterable", a=a), a)
    assert quantities["DR40"] == pytest.approx(1.0)
    assert quantities["DR42"] == 1.0
    assert (quantities["PI14"], quantities["TR90"], quantities["CA11"]) == (4.0, 4.0, 4.0)


@pytest.mark.parametrize(
    ("length_m", "pieces", "holes"),
    [
        pytest.param(11.9, 1, 0, id="less than one piece"),
        pytest.param(12.0, 1, 0, id="exactly one piece"),
        pytest.param(12.1, 2, 0, id="a little more"),
        pytest.param(100.0, 9, 0, id="one spacing of boreholes"),
        pytest.param(100.1, 9, 1, id="a borehole in between"),
        pytest.param(620.0, 52, 6, id="620 m"),
        pytest.param(0.1 * 1200 * 10, 100, 11, id="1 200 m with rounding in the last bit"),
    ],
)
def test_counts(length_m, pieces, holes):
    assert n_pipe_pieces(length_m, DEFAULTS) == pieces
    assert n_boreholes_between(length_m, DEFAULTS) == holes


def test_string_in_two_pieces_needs_a_tie_in_weld_and_half_the_strip():
    whole, halves = by_code(fixed()), by_code(fixed(n_pieces=2))
    assert halves["PI13"] == pytest.approx(4 * 6.0 * (310.0 + 20.0))
    assert halves["PI12"] == 4.0
    assert "PI12" not in whole
    assert by_code(drive_per_tie_in("two_pass", DEFAULTS)) == {"PI12": 4.0}


def test_boreholes_go_below_the_deeper_shaft():
    for launch_m, reception_m in ((5.0, 9.0), (9.0, 5.0)):
        assert by_code(fixed(launch_m=launch_m, reception_m=reception_m))["GI10"] == pytest.approx(6 * 11.0)


def test_set_up_is_part_of_the_whole():
    assert by_code(drive_set_up("two_pass", DEFAULTS)) == {"DR10": 4.0, "DR12": 4.0}


def test_many_drives_at_once_equal_one_by_one():
    lengths, launches, receptions = (
        np.array([47.3, 620.0, 960.1]),
        np.array([3.0, 11.2, 5.5]),
        np.full(3, 8.0),
    )
    cover = np.array([0, 1, 3])
    together = drive_fixed("two_pass", lengths, launches, receptions, cover, DEFAULTS)
    for i in range(3):
        one = drive_fixed(
            "two_pass",
            lengths[i : i + 1],
            launches[i : i + 1],
            receptions[i : i + 1],
            cover[i : i + 1],
            DEFAULTS,
        )
        assert np.array_equal(together[i], one[0])
