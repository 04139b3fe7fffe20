"""What the registers ask for in items that the search does not weigh: by hand on the invented place.

One drive from x 520 to 800, four bores in dense sand (0.05 events a km): river 585 to 615 m, strip of the gas
main 756 to 764 m, neither of which bears a shaft. It is the middle one of three sections.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.money.measure import bill_items
from tests.audit.place import Run, crossing
from tests.audit.register_place import DEFAULTS, ground, only, proved

if TYPE_CHECKING:
    from routescreen.audit.proofs import Proofs

ITEMS = bill_items(DEFAULTS)


def later(proofs: Proofs, code: str) -> list[float]:
    assert proofs.section_quantities is not None
    return proofs.section_quantities[:, ITEMS.index[code]].tolist()


def wetland(from_m: float, to_m: float) -> tuple[dict[str, object], object]:
    return crossing("wetland", box(from_m, -100.0, to_m, 100.0), feature_id=f"wet{from_m:g}")


def test_a_bore_that_no_rescue_shaft_reaches_is_driven_anew_whole() -> None:
    """30 + 8 m of 4 bores, 0.05 events a km: 0.0076 bores of 280 m."""
    assert later(proved(), "PR02") == pytest.approx([0.0, 4 * 38.0 * 0.05e-3 * 280.0, 0.0], rel=1e-3)


def test_a_gap_that_holds_no_shaft_counts_with_what_lies_beside_it() -> None:
    """A reception is 5 m long: 600 to 640 m with a gap of 4 m are 40 m, with one of 6 m they are 34 m."""
    for gap_m, blocked_m in ((4.0, 40.0), (6.0, 34.0)):
        inp = only(wetland(600.0, 620.0), wetland(620.0 + gap_m, 640.0))
        assert later(proved(inp), "PR02")[1] == pytest.approx(4 * blocked_m * 0.05e-3 * 280.0, rel=1e-3)


def test_only_what_is_blocked_counts_and_by_its_soil() -> None:
    assert later(proved(only()), "PR02") == [0.0, 0.0, 0.0]
    boulders = proved(ground(soil="till_boulders"))
    assert later(boulders, "PR02")[1] == pytest.approx(4 * 38.0 * 0.60e-3 * 280.0, rel=1e-3)


def test_a_bore_that_can_be_entered_is_cleared_from_inside() -> None:
    a = load_assumptions("[methods.enterable]\nis_enabled = true\n")
    proofs = proved(a=a, run=Run(1, 46.0, 46.0, method="enterable"))
    assert proofs.section_quantities is not None
    assert proofs.section_quantities[:, bill_items(a).index["PR02"]].tolist() == [0.0, 0.0, 0.0]


def test_boreholes_that_the_plan_asks_for_beyond_the_search_s() -> None:
    """Plan: 2 x 13.5 m at the shafts and 3 x 8.56 m between; the search's item pays 4 x 9.25 m."""
    assert later(proved(), "GI14") == pytest.approx([0.0, 2 * 13.5 + 3 * 8.56 - 4 * 9.25, 0.0])


def test_no_credit_where_the_plan_asks_for_less() -> None:
    a = load_assumptions("[shaft]\nborehole_spacing_m = 20.0\n[checks.investigation]\nbase_frac = 0.0\n")
    dry = proved(only(), a)
    assert min(later(dry, "GI14")) >= 0.0


def thrust(groundwater_m: float, soil: str = "sand_dense") -> list[float]:
    """Crown 4 m deep, axis 4.17 m, over 280 m: longer than the method drives, which nothing here minds."""
    inp = ground(soil=soil, groundwater_depth_m=groundwater_m)
    return later(proved(inp, run=Run(1, 46.0, 46.0, method="guided_thrust")), "DR22")


def test_water_is_lowered_along_a_drive_that_takes_no_more_than_half_a_metre() -> None:
    # 0.52 m above the axis, then 0.48 m: two sides of 280 m
    assert thrust(3.65) == pytest.approx([0.0, 560.0, 0.0])
    assert thrust(3.69) == [0.0, 0.0, 0.0]


def test_rows_of_wells_along_a_drive_are_a_trench_s_by_soil() -> None:
    assert thrust(2.0, "gravel")[1] == pytest.approx(2 * 560.0)
    assert thrust(2.0, "clay_stiff")[1] == 0.0


def test_a_slurry_machine_lowers_nothing() -> None:
    assert later(proved(ground(groundwater_depth_m=0.5)), "DR22") == [0.0, 0.0, 0.0]
