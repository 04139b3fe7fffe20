"""Over what length the cable carries too little, and which place rules the spacing: by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import numpy as np
import pytest

from routescreen.audit import cable_proofs, cable_told
from routescreen.audit.proofs import prove_plan
from tests.audit.cable_place import DEFAULTS, LEVEL, STRAIGHT, ground, proved, row
from tests.audit.place import plan

if TYPE_CHECKING:
    from routescreen.audit.cable_proofs import CablePart


def test_length_below_the_current_by_hand() -> None:
    """10 m below, a step without length, 20 m above, and half of 20 m that end below: 20 m of 50 m."""
    places = SimpleNamespace(chainage_m=np.array([0.0, 10.0, 10.0, 30.0, 50.0]))
    rating = SimpleNamespace(rating_A=np.array([5.0, 5.0, 9.0, 9.0, 1.0]))
    part = cast("CablePart", SimpleNamespace(places=places, rating=rating))
    assert cable_told._lengths_below_m(part, 6.0) == (20.0, 50.0)


def test_the_length_that_carries_too_little_is_told() -> None:
    """Open cut from 0 to 520 m, its end a ramp, a drive, open cut to 1 500 m: the link has all of it."""
    found = proved(text="[link]\ncurrent_A = 4000.0\n[cable]\nramp_spacing_most_m = 0.1\n")
    curve = found.curves["cable_curve"]
    trench_m = curve[curve["construction"] == "ramp"]["chainage_m"].min()
    assert 480.0 < trench_m < 510.0
    assert (
        f"; less than 4000 A over {trench_m:.0f} m of {trench_m:.0f} m"
        in row(found, "cable_rating", "demo-S001")["reason"]
    )
    assert "; less than 4000 A over 1500 m of 1500 m" in row(found, "cable_rating", "demo")["reason"]
    assert "less than" not in row(proved(), "cable_rating", "demo-S001")["reason"]


@pytest.mark.parametrize("worst", [0, 1, -1])
def test_the_place_that_asks_for_most_rules_the_spacing(worst: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the rating says: 7 m are asked for at one place, 2 m at all others."""

    def needed(_scene: object, part: CablePart) -> np.ndarray:
        values = np.full(len(part.at), 2.0)
        values[worst] = 7.0
        return values

    monkeypatch.setattr(cable_proofs, "spacing_asked_m", needed)
    proofs = prove_plan(plan(STRAIGHT, LEVEL), ground(), DEFAULTS)
    found = row(proofs, "thermal_spacing", "demo-D001")
    assert (found["demand"], found["status"]) == (7.0, "fail")
    curve = proofs.curves["cable_curve"]
    drive = curve[curve["construction"] == "drive"]["chainage_m"].to_numpy()
    assert found["governing_chainage_m"] == drive[worst]


def test_a_bank_over_one_bore_asks_for_no_more_than_is_built_where_all_bear_the_current() -> None:
    """The bore below the bank is 2 m deeper, the others are not: the spacing agrees with the rating."""
    flat = ground(water_m=100.0)
    values = flat.terrain.values.copy()
    values[:50] += 2.0  # north of the line by 5 m at least, as far as pixels' middles tell
    banked = replace(flat, terrain=replace(flat.terrain, values=values))
    rating_A = row(proved(inp=banked), "cable_rating", "demo-D001")["capacity"]
    bears, bears_not = (
        proved(inp=banked, text=f"[link]\ncurrent_A = {share * rating_A}\n") for share in (0.9999, 1.0001)
    )
    assert row(bears, "cable_rating", "demo-D001")["status"] != "fail"
    assert row(bears, "thermal_spacing", "demo-D001")["demand"] == 6.0
    assert row(bears_not, "cable_rating", "demo-D001")["status"] == "fail"
    # all as deep as the deepest, which asks for clearly more
    assert row(bears_not, "thermal_spacing", "demo-D001")["demand"] > 6.1
