"""What the cable's ratings are held against, which place counts for the link, what fills the pipes."""

from __future__ import annotations

import pytest

from tests.audit.cable_place import CLOSE, curve, ground, proved, row
from tests.audit.test_cable_proofs import WET_M


def test_the_links_row_is_that_of_its_hottest_place_shafts_of_unsure_backfill_among_them() -> None:
    """1 718 A in backfill that no groundwater reaches; in ground that never dries out nothing is unsure."""
    wet, never_dry = ground(water_m=-1.0), "[checks.rating]\ndrying_rise_K = 90.0\n"
    unsure = proved(inp=wet, text="[search]\nshaft_fill_steers = false\n")
    found, shafts = row(unsure, "cable_rating", "demo"), unsure.checks["check"] == "cable_rating_shaft"
    assert found["status"] == "amber"
    assert found["capacity"] == unsure.checks.loc[shafts, "capacity"].min() < 1905.0
    assert "whether groundwater stands in its backfill isn't known" in found["reason"]
    assert row(proved(inp=wet), "cable_rating", "demo")["status"] == "pass"  # with conducting fill
    assert row(proved(inp=wet, text=never_dry), "cable_rating", "demo")["status"] == "pass"
    too_much = never_dry + "[link]\ncurrent_A = 3000.0\n"
    assert row(proved(inp=wet, text=too_much), "cable_rating", "demo")["status"] == "fail"


def test_a_reserve_raises_every_demand_and_no_heat() -> None:
    """15 % on 1 905 A are 2 190.75 A, which pipes 0.5 m apart in wet silt don't bear (2 156 A)."""
    wet, text = ground("silt", water_m=WET_M), "[cable]\nrating_reserve_frac = 0.15\n"
    plain, held = proved(inp=wet), proved(inp=wet, text=text)
    for proofs, demand_A in ((plain, 1905.0), (held, 2190.75)):
        rated = proofs.checks["check"].str.startswith("cable_rating") & proofs.checks["demand"].notna()
        assert rated.sum() > 5
        assert proofs.checks.loc[rated, "demand"].to_numpy() == pytest.approx(demand_A)
    assert row(plain, "cable_rating", "demo-S001")["status"] == "pass"
    # the pipes are spread for it, from 0.5 m on
    assert curve(held, "open_cut")["spacing_m"].min() > curve(plain, "open_cut")["spacing_m"].max()
    assert row(held, "insulation_drop", "demo")["demand"] == row(plain, "insulation_drop", "demo")["demand"]


@pytest.mark.parametrize("soil", ["sand_dense", "clay_soft", "rock_hard"])
@pytest.mark.parametrize("water_m", [WET_M, 100.0])
def test_what_fills_the_pipes_costs_as_much_as_the_assumptions_say(soil: str, water_m: float) -> None:
    """Beside ``pipe.fill``: air 3 to 7 % in the trench, 1 to 3 % in bores; water at rest 1 to 5 %."""
    told = {"air": ((3.0, 7.0), (1.0, 3.0)), "water": ((1.0, 5.0), (1.0, 5.0))}

    def rated(fill: str) -> list[float]:
        proofs = proved(inp=ground(soil, water_m), text=f"{CLOSE}[pipe]\nfill = '{fill}'\n")
        return [row(proofs, "cable_rating", element)["capacity"] for element in ("demo-S001", "demo-D001")]

    filled = rated("grout")
    for fill, ranges in told.items():
        for at, full, (least, most) in zip(rated(fill), filled, ranges, strict=True):
            assert least <= round(100.0 * (1.0 - at / full)) <= most
