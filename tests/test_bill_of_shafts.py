"""What the findings on shafts ask for stands in the bill apart from what steered the search."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.audit import audit_plan
from routescreen.audit.proofs import prove_plan
from routescreen.corridor.ground import GroundSampler
from routescreen.corridor.treatment import resolve_crossings
from routescreen.money.bill import cents_by
from routescreen.screening_tables import bill_table
from routescreen.takeoff import Scope, take_off
from tests.audit.place import correct_plan, place, with_ground

ASSUMPTIONS = load_assumptions()


def test_anchors_and_blocks_are_lines_of_their_shafts_that_do_not_steer() -> None:
    inp = with_ground(place(), box(-100.0, -300.0, 1600.0, 300.0), soil="sand_dense", groundwater_depth_m=2.0)
    inp = replace(inp, crossings=inp.crossings.iloc[:0])
    plan = correct_plan()
    sampler, found = GroundSampler(inp, ASSUMPTIONS), resolve_crossings(inp.crossings, ASSUMPTIONS)
    exact = take_off(Scope(plan, sampler, found, ASSUMPTIONS))
    audit, proofs = audit_plan(plan, inp, ASSUMPTIONS), prove_plan(plan, inp, ASSUMPTIONS)
    tables = [
        bill_table(plan, exact, audit, ASSUMPTIONS, quantities)
        for quantities in (np.zeros_like(proofs.shaft_quantities), proofs.shaft_quantities)
    ]
    without, with_them = (
        t.assign(amount_cents=np.rint(100.0 * t["amount_eur"]).astype("int64")) for t in tables
    )
    by = [cents_by(table, "carried_by") for table in (without, with_them)]
    # what steers is what search and audit reckon with, to rounding of the lines: each quantity that is not
    # whole to 0.001 of its unit, each amount to the cent
    assert by[0]["search"] == by[1]["search"]
    assert exact.total_eur(ASSUMPTIONS) == pytest.approx(audit.bill_total_eur, abs=0.005)
    rounded_eur = 0.0005 * without["rate_eur"] * (without["quantity"] % 1.0 > 0.0) + 0.005
    assert by[0]["search"] / 100.0 == pytest.approx(audit.bill_total_eur, abs=rounded_eur.sum())
    more = with_them[with_them["item"].isin(["SH21", "SH27"])]
    assert set(more["carried_by"]) == {"afterwards"}
    assert more["element"].tolist() == ["shaft"] * 3
    assert more[["item", "element_index", "section_index"]].to_numpy().tolist() == [
        ["SH21", 0, 1],
        ["SH27", 0, 1],
        ["SH21", 1, 1],
    ]
    # 42.6375 kPa x 168 and 105 m2 at 12 EUR, and the larger blocks
    anchors_eur = more.loc[more["item"] == "SH21", "amount_eur"].sum()
    assert anchors_eur == pytest.approx(12.0 * 42.6375 * (168.0 + 105.0), abs=0.02)
    assert by[1]["afterwards"] - by[0]["afterwards"] == int(more["amount_cents"].sum())
