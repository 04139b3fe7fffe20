"""Items of the whole link, by hand."""

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.money.measure import (
    LaterMeasures,
    PlanTotals,
    afterwards,
    bill_items,
    later_sections,
    n_joint_bays,
    n_lots,
)
from tests.money.places import DEFAULTS, by_code


def test_twelve_kilometres_by_hand():
    # Sections of (60 - 7.5) t / 42 kg/m = 1 250 m: 12 010 m make 10 of them, 9 bays a system; 2 systems,
    # 4 cables: 36 joints, 18 bays. 7 drives x 24 h. One lot, one test a system.
    totals = PlanTotals(route_length_m=12000.0, cable_length_m=12010.0, n_drives=(5, 2, 0))
    assert by_code(afterwards(totals, DEFAULTS)) == {
        "GE01": 1.0,
        "MO10": 1.0,
        "MO20": 2.0,
        "DR19": 168.0,
        "CA12": 36.0,
        "CA13": 18.0,
        "CA15": 2.0,
    }


def test_boreholes_beyond_the_bill_lost_bores_and_wells_along_drives_by_hand():
    items = bill_items(DEFAULTS)
    billed = np.zeros((3, len(items)))
    billed[:, items.index["GI10"]] = [20.0, 20.0, 20.0]
    asked, lost, wells = np.array([[50.0, 15.0, np.nan], [0.0, 2.5, 0.0], [0.0, 0.0, 60.0]])
    found = later_sections(LaterMeasures(asked, lost, wells), billed, DEFAULTS)
    assert [by_code(row) for row in found] == [{"GI14": 30.0}, {"PR02": 2.5}, {"DR22": 60.0}]


def test_no_drive_no_rig():
    quantities = by_code(afterwards(PlanTotals(1000.0, 1000.0, (0, 0, 0)), DEFAULTS))
    assert quantities == {"GE01": 1.0, "CA15": 2.0}


def test_only_items_carried_afterwards():
    items = bill_items(DEFAULTS)
    quantities = by_code(afterwards(PlanTotals(80000.0, 80100.0, (9, 9, 9)), DEFAULTS))
    assert all(items.items[items.index[code]].carried_by == "afterwards" for code in quantities)
    assert "GE02" not in quantities  # needs a programme
    assert "GE03" not in quantities  # shown apart


def test_return_cable_is_jointed_too():
    a = load_assumptions("[link]\nreturns_per_system = 1\n")
    quantities = by_code(afterwards(PlanTotals(12000.0, 12010.0, (0, 0, 0)), a), a)
    assert (quantities["CA12"], quantities["CA13"]) == (9 * 6, 18.0)


@pytest.mark.parametrize(
    ("length_m", "bays"),
    [
        pytest.param(1250.0, 0, id="one section needs no joint"),
        pytest.param(1250.1, 1, id="a little more needs one"),
        pytest.param(0.0, 0, id="nothing"),
    ],
)
def test_joint_bays(length_m, bays):
    assert n_joint_bays(length_m, DEFAULTS) == bays


@pytest.mark.parametrize(
    ("length_m", "lots"),
    [
        pytest.param(2000.0, 1, id="a short corridor is one lot"),
        pytest.param(52499.0, 1, id="just under one and a half"),
        pytest.param(52500.0, 2, id="one and a half lots, rounded up"),
        pytest.param(700000.0, 20, id="700 km"),
    ],
)
def test_lots(length_m, lots):
    assert n_lots(length_m, DEFAULTS) == lots


def test_joints_are_counted_as_placed_where_they_are():
    """12 bays a system by their places, 9 by drums of 1 250 m: two systems, two poles each."""
    drums, placed = (
        by_code(afterwards(PlanTotals(12000.0, 12010.0, (0, 0, 0), n_joint_bays=n), DEFAULTS))
        for n in (None, 12)
    )
    assert (drums["CA12"], drums["CA13"]) == (36.0, 18.0)
    assert (placed["CA12"], placed["CA13"]) == (48.0, 24.0)
