"""How long drives take, and the pumping at their shafts for as long, by hand."""

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.money.measure import bill_items, drive_months, drive_months_per_m, drive_pumping

A = load_assumptions()
SAND, TILL = A.soil_names.index("sand_dense"), A.soil_names.index("till_boulders")
PUMPING = bill_items(A).index["SH24"]


def test_a_metre_takes_all_bores_one_after_another() -> None:
    """Four bores at 24 m a day in sand, 10 in till; 245 days of driving a year."""
    per_m = drive_months_per_m("two_pass", A)
    assert per_m[[SAND, TILL]] == pytest.approx([4.0 / 24.0 * 12.0 / 245.0, 4.0 / 10.0 * 12.0 / 245.0])


def test_what_bores_take_besides_driving() -> None:
    """Four bores of 4 days of set-up, 2 of recovery, 1 to prepare the pull-in."""
    assert drive_months("two_pass", A) == pytest.approx(4.0 * 7.0 * 12.0 / 245.0)
    # thrust bores have no string to pull in
    assert drive_months("guided_thrust", A) == pytest.approx(4.0 * 1.5 * 12.0 / 245.0)


def test_a_second_shift_shortens_the_driving_alone() -> None:
    two = load_assumptions("[programme]\nshifts_per_day = 2\n")
    assert drive_months_per_m("two_pass", two) * 1.7 == pytest.approx(drive_months_per_m("two_pass", A))
    assert drive_months("two_pass", two) == drive_months("two_pass", A)


@pytest.mark.parametrize("n_wet", [0, 1, 2])
def test_each_wet_end_is_pumped_as_long_as_the_drive_takes(n_wet: int) -> None:
    """300 m in sand, 60 m in till: (28 + 4 (300/24 + 60/10)) days."""
    found = drive_pumping("two_pass", np.array([SAND, TILL, SAND]), np.array([100.0, 60.0, 200.0]), n_wet, A)
    assert found[PUMPING] == pytest.approx(n_wet * (28.0 + 4.0 * 18.5) * 12.0 / 245.0)
    assert np.count_nonzero(found) == (n_wet > 0)


def test_a_soil_that_is_not_driven_takes_no_time() -> None:
    no_way = [name for name in A.soil_names if A.methods["guided_thrust"].drivability[name].grade == "no"]
    assert no_way
    assert np.all(
        drive_months_per_m("guided_thrust", A)[[A.soil_names.index(name) for name in no_way]] == 0.0
    )
