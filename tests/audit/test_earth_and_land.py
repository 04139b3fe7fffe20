"""Earthworks, room on the strip and land taken, by hand on the invented place."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.audit import Sites, audit_plan
from routescreen.money.measure import bill_items
from tests.audit.place import STRAIGHT, Run, correct_plan, layer, place, plan, with_ground
from tests.audit.proving import prove_plan
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.assumptions import Assumptions
    from routescreen.audit.proofs import Proofs
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
# 1.4 + 0.28 + 0.2 m deep; bottom 0.5 + 0.28 + 0.4 = 1.18 m; faces of sand at 45 degrees; two trenches
DEPTH_M, BOTTOM_M, N = 1.88, 1.18, 2
BULKING = 1.3


def ground(**more: object) -> CorridorInput:
    return with_ground(place(), WHOLE, **({"soil": "sand_dense", "groundwater_depth_m": 3.0} | more))


def proved(
    inp: CorridorInput | None = None, a: Assumptions = DEFAULTS, sites: Sites | None = None, narrow: int = -1
) -> Proofs:
    drawn = correct_plan() if narrow < 0 else plan(STRAIGHT, Run(1), narrow=(narrow,))
    return prove_plan(drawn, ground() if inp is None else inp, a, sites=sites or Sites())


def works(proofs: Proofs, what: str, at: int = 0) -> pd.Series:
    table = proofs.curves["earthworks"]
    return table[table["works"] == what].iloc[at]


def check(proofs: Proofs, name: str, element: str = "") -> pd.DataFrame:
    rows = proofs.checks[proofs.checks["check"] == name]
    return rows[rows["element_id"].str.endswith(element)]


def section_m2(height_m: float) -> float:
    return BOTTOM_M * height_m + height_m**2


def test_a_trench_by_hand() -> None:
    """520 m; zone of bedding 0.68 m; topsoil 0.3 m, subsoil down to 1.0 m, so 0.88 m of parent material."""
    row = works(proved(), "open_cut")
    dug, hauled = N * 520.0 * section_m2(DEPTH_M - 0.3), N * 520.0 * section_m2(0.68)
    assert row["length_m"] == pytest.approx(520.0)
    assert row["dug_m3"] == pytest.approx(dug)
    assert row["hauled_m3"] == pytest.approx(hauled)
    assert row["kept_m3"] == pytest.approx(dug - hauled)
    assert row["dug_m3"] == pytest.approx(row["subsoil_m3"] + row["parent_m3"])
    assert row["topsoil_m3"] == pytest.approx(520.0 * 55.0 * 0.7 * 0.3)
    assert row["parent_m3"] == pytest.approx(N * 520.0 * section_m2(0.88))
    assert row["subsoil_m3"] == pytest.approx(N * 520.0 * (section_m2(1.58) - section_m2(0.88)))
    assert row["hauled_loose_m3"] == pytest.approx(BULKING * hauled)
    assert row["lorry_loads"] == math.ceil(BULKING * hauled / 16.0)
    assert (row["bottom_width_m"], row["top_width_m"]) == pytest.approx((BOTTOM_M, BOTTOM_M + 2 * DEPTH_M))
    assert "2 pipes side by side" in row["width_rule"]


def test_a_drive_and_its_shafts_by_hand() -> None:
    """Four bores of 0.56 m over 280 m; the launch is as long and wide as the catalogue says, 7.25 m deep."""
    proofs = proved()
    drive = works(proofs, "drive")
    assert drive["dug_m3"] == pytest.approx(4 * math.pi / 4.0 * 0.56**2 * 280.0)
    assert drive["kept_m3"] == 0.0
    # four layout strips of 6 m, 20 m longer than the drive, stripped of 0.3 m
    assert drive["topsoil_m3"] == pytest.approx(4 * 6.0 * 300.0 * 0.3)
    launch, reception = works(proofs, "shaft", 0), works(proofs, "shaft", 1)
    # hole and 2 m for the plug under the water; the plug's volume is hauled away
    area_m2 = 8.0 * (3.0 * 6.0 + 3.0)
    assert launch["dug_m3"] - area_m2 * (7.25 + 2.0) == pytest.approx(ramp_m3(), rel=0.05)
    assert launch["hauled_m3"] > 2.0 * area_m2  # the plug of the ramps besides
    # and an approach cut
    assert reception["dug_m3"] > 5.0 * 21.0 * (7.25 + 2.0) + 0.95 * ramp_m3()
    assert launch["kept_m3"] == pytest.approx(launch["dug_m3"] - launch["hauled_m3"])
    for row in (drive, launch, reception):
        assert row["hauled_loose_m3"] == pytest.approx(BULKING * row["hauled_m3"])
        assert row["lorry_loads"] == math.ceil(BULKING * row["hauled_m3"] / 16.0)


def billed(inp: CorridorInput, a: Assumptions, section: int, *codes: str) -> float:
    report = audit_plan(correct_plan(), inp, a)
    index = bill_items(a).index
    return float(sum(report.section_quantities[section, index[code]] for code in codes))


@pytest.mark.parametrize("soil", ["sand_dense", "clay_stiff", "made_ground"])
def test_volumes_are_those_of_the_bill(soil: str) -> None:
    inp = ground(soil=soil)
    proofs = proved(inp)
    rows = [works(proofs, "open_cut"), works(proofs, "open_cut", 1)]
    for section, row in zip((0, 2), rows, strict=True):
        assert row["topsoil_m3"] == pytest.approx(billed(inp, DEFAULTS, section, "TR10"))
        assert row["hauled_m3"] == pytest.approx(billed(inp, DEFAULTS, section, "TR60", "TR61", "TR62"))
    middle = works(proofs, "drive")["hauled_m3"] + sum(works(proofs, "shaft", k)["hauled_m3"] for k in (0, 1))
    assert middle == pytest.approx(billed(inp, DEFAULTS, 1, "TR60", "TR61", "TR62", "DR17"))


def test_dug_and_kept_are_the_bill_without_its_factors() -> None:
    """With slices, soils and bands at factor 1 the bill itself pays for what is dug and filled."""
    text = "[trench]\nslice_factors = [1.0, 1.0, 1.0]\n[shaft]\nband_factors = [1.0, 1.0, 1.0, 1.0, 1.0]\n"
    text += "[soil.sand_dense]\nbackfill_factor = 1.0\nshaft_factor = 1.0\n"
    plain = load_assumptions(text)
    row = works(proved(), "open_cut")
    assert row["dug_m3"] == pytest.approx(billed(ground(), plain, 0, "TR20"))
    assert row["kept_m3"] == pytest.approx(billed(ground(), plain, 0, "TR52"))
    holes = billed(ground(), plain, 1, *(f"SH1{n}" for n in range(9)), "CO13")
    ramps = 2.0 * ramp_m3()
    assert ramps > 500.0
    dug = sum(works(proved(), "shaft", k)["dug_m3"] for k in (0, 1))
    assert dug - holes == pytest.approx(ramps, rel=0.05)


def ramp_m3() -> float:
    """What one ramp takes beyond the trenches, by squares of ground: deepest dig at each place across.

    Outer cables come from 9 to 5.25 m, inner ones from 3 to 4.75 m, all up 4.83 m on arcs of 25 m: the
    shaft is priced 7.25 m deep, its bores' axes 6.37 m. Bottom 0.34 m below the axes and 1.0 m wide; topsoil
    of 0.3 m is gone. Faces of 45 degrees down to 5 m, below it of tan 35/1.25; where the highest
    water, 1.5 m down, stands more than 4 m above the bottom, upright walls round a plug of 1 m.
    """
    run = 50.0 * math.sqrt(1.0 - (1.0 - math.hypot(4.83, 3.75) / 50.0) ** 2)
    along, across = np.linspace(0.0, run, 241), np.linspace(-25.0, 25.0, 5001)

    def share(aside_m: float) -> np.ndarray:
        whole = math.hypot(4.83, aside_m)
        low, high = 0.0, math.atan2(run, 50.0 - whole)
        for _ in range(60):
            bend = (low + high) / 2.0
            short = run * math.sin(bend) + (50.0 - whole) * math.cos(bend) < 50.0
            low, high = (bend, high) if short else (low, bend)
        half = np.minimum(along, run - along)
        on_arc = 25.0 - np.sqrt(625.0 - np.minimum(half, 25.0 * math.sin(bend)) ** 2)
        crossed = on_arc + np.maximum(half - 25.0 * math.sin(bend), 0.0) * math.tan(bend)
        return np.where(along <= run / 2.0, crossed, whole - crossed) / whole

    def area_m2(bottom_m: float, places: tuple[float, ...], slope: float) -> float:
        beside = np.min([np.abs(np.abs(across) - place) for place in places], axis=0) - 0.5
        return float(np.maximum(bottom_m - 0.3 - np.maximum(beside, 0.0) * slope, 0.0).sum() * 0.01)

    outer, inner = share(3.75), share(1.75)
    bottom = 6.37 - 4.83 * np.minimum(outer, inner) + 0.34
    extra = []
    for k in range(len(along)):
        places = (9.0 - 3.75 * outer[k], 3.0 + 1.75 * inner[k])
        if bottom[k] - 1.5 > 4.0:
            extra.append(4.0 * (bottom[k] - 1.88 + 1.0))
            continue
        slope = 1.0 if bottom[k] <= 5.0 else math.tan(math.radians(35.0)) / 1.25
        extra.append(area_m2(bottom[k], places, slope) - area_m2(DEPTH_M, places, 1.0))
    return float(np.sum((np.array(extra[1:]) + extra[:-1]) / 2.0 * np.diff(along)))


def test_factors_on_prices_move_no_ground() -> None:
    text = "[trench]\nslice_factors = [2.0, 2.0, 2.0]\nnarrow_factor = 3.0\n"
    text += (
        "[soil.sand_dense]\nbackfill_factor = 2.0\nshaft_factor = 2.0\n[cover.cropland]\ntrench_factor = 4\n"
    )
    a = load_assumptions(text)
    assert billed(ground(), a, 0, "TR20") > 7.9 * works(proved(), "open_cut")["dug_m3"]
    columns = ["topsoil_m3", "dug_m3", "kept_m3", "hauled_m3"]
    moved = proved(a=a, narrow=2).curves["earthworks"][columns].to_numpy()
    plain = proved(narrow=2).curves["earthworks"][columns].to_numpy()
    assert moved == pytest.approx(plain)


def heap_m(area_m2: float, most_m: float) -> float:
    """Width of a heap whose sides slope 35 degrees."""
    run = 1.0 / math.tan(math.radians(35.0))
    height = math.sqrt(area_m2 / run)
    return 2.0 * height * run if height <= most_m else area_m2 / most_m + most_m * run


def needed_m(strip_m: float) -> float:
    band = 10.0 + BOTTOM_M + 2 * DEPTH_M
    topsoil = heap_m(BULKING * strip_m * 0.7 * 0.3, 2.0)
    subsoil = heap_m(BULKING * N * (section_m2(1.58) - section_m2(0.88)), 3.0)
    parent = heap_m(BULKING * N * section_m2(0.88), 3.0)
    return band + 2 * 0.6 + 7.0 + 6 * 0.5 + topsoil + subsoil + parent


def test_the_strip_holds_the_heaps_by_hand() -> None:
    found = check(proved(), "strip_room", "S001").iloc[0]
    assert (found["demand"], found["capacity"]) == pytest.approx((needed_m(55.0), 55.0))
    assert found["status"] == "pass"


def test_a_strip_too_small_for_its_heaps_fails() -> None:
    """Six gaps of 5 instead of 0.5 m: 27 m more than the strip of 55 m has."""
    found = check(proved(a=load_assumptions("[checks.soil]\ngap_m = 5.0\n")), "strip_room", "S001").iloc[0]
    assert found["demand"] == pytest.approx(needed_m(55.0) + 27.0)
    assert found["status"] == "fail"


def test_where_the_strip_is_narrowed_soil_goes_elsewhere() -> None:
    rows = check(proved(narrow=2), "strip_room", "S003")
    assert rows["status"].tolist() == ["amber"]
    assert rows["demand"].iloc[0] == pytest.approx(needed_m(30.0))
    assert "over 700 m" in rows["reason"].iloc[0]


def test_only_the_narrowed_part_counts_as_short() -> None:
    """300 m narrowed and 400 m whole, both too small with gaps of 5 m: the whole strip fails."""
    drawn = plan([*STRAIGHT[:3], (1100.0, 0.0), (1500.0, 0.0)], Run(1), narrow=(2,))
    proofs = prove_plan(drawn, ground(), load_assumptions("[checks.soil]\ngap_m = 5.0\n"))
    rows = check(proofs, "strip_room", "S003")
    assert rows["status"].tolist() == ["fail", "amber"]
    assert "over 300 m" in rows["reason"].iloc[1]


# working strip of 1 220 m of open cut; easement 34 m wide there, and 2 x (9 + 0.28 + 3) m over the drive
STRIP_M2, EASEMENT_M2 = 1220.0 * 55.0, 1220.0 * 34.0 + 280.0 * 24.56


def test_land_without_parcels_is_told_by_ground_cover_and_not_by_owner() -> None:
    proofs = proved()
    table = proofs.curves["parcels_used"]
    assert table["cover"].tolist() == ["cropland"]
    assert table["temporary_m2"].sum() == pytest.approx(STRIP_M2)
    assert table["permanent_m2"].sum() == pytest.approx(EASEMENT_M2)
    found = check(proofs, "land_by_owner").iloc[0]
    assert found["status"] == "not_evaluated"
    assert "no layer parcels" in found["reason"]


def with_parcels(*owners: str | None) -> CorridorInput:
    """Parcels side by side, one 300 m long, the next from there on."""
    rows: list[dict[str, object]] = [{"parcel_id": f"P{k}", "owner": o} for k, o in enumerate(owners)]
    areas = [box(-100.0, -300.0, 300.0, 300.0), box(300.0, -300.0, 1600.0, 300.0)]
    return replace(ground(), parcels=layer("parcels", rows, areas[: len(rows)]))


def test_land_by_parcel_by_hand() -> None:
    proofs = proved(with_parcels("Owner 1", "Owner 2"))
    table = proofs.curves["parcels_used"].set_index("parcel_id")
    assert table.loc["P0", "temporary_m2"] == pytest.approx(300.0 * 55.0)
    assert table.loc["P0", "permanent_m2"] == pytest.approx(300.0 * 34.0)
    assert table.loc["P1", "temporary_m2"] == pytest.approx(STRIP_M2 - 300.0 * 55.0)
    assert table["owner"].tolist() == ["Owner 1", "Owner 2"]
    assert check(proofs, "land_by_owner").iloc[0]["status"] == "pass"


@pytest.mark.parametrize(
    "owners",
    [pytest.param(("Owner 1", None), id="owner missing"), pytest.param(("Owner 1",), id="parcel missing")],
)
def test_land_without_an_owner_is_not_evaluated(owners: tuple[str | None, ...]) -> None:
    proofs = proved(with_parcels(*owners))
    table = proofs.curves["parcels_used"]
    lost = table[table["owner"] == "not known"]
    assert lost["temporary_m2"].sum() == pytest.approx(STRIP_M2 - 300.0 * 55.0)
    found = check(proofs, "land_by_owner").iloc[0]
    assert found["status"] == "not_evaluated"
    assert f"{STRIP_M2 - 16500.0:.0f} m2 for a time" in found["reason"]


def test_what_overlaps_is_counted_once() -> None:
    """A compound of 60 x 50 m, half of it on the strip; layout half on strip, half on the compound."""
    # the strip reaches to 27.5 m: 25 m of the compound lie beyond it
    compound = box(460.0, 2.5, 520.0, 52.5)
    layout = box(400.0, 27.5, 520.0, 52.5)  # 120 x 25 m beyond the strip, 60 of them on the compound
    table = proved(sites=Sites((compound,), ((0, layout),))).curves["parcels_used"]
    assert table["compounds_m2"].sum() == pytest.approx(60.0 * 25.0)
    assert table["layout_strips_m2"].sum() == pytest.approx(60.0 * 25.0)
    assert table["temporary_m2"].sum() == pytest.approx(STRIP_M2 + 2 * 60.0 * 25.0)


def test_land_is_held_against_the_bill() -> None:
    sites = Sites((box(460.0, 30.0, 520.0, 80.0),), ())
    found = check(proved(sites=sites), "land_in_bill").iloc[0]
    items = bill_items(DEFAULTS)
    report = audit_plan(correct_plan(), ground(), DEFAULTS)
    first = items.first_class_item("LA10")
    paid = report.section_quantities.sum(axis=0)[first : first + items.n_cover].sum()
    assert (found["demand"], found["capacity"]) == pytest.approx((STRIP_M2 + 3000.0, paid))
    huge = Sites((box(0.0, 30.0, 1500.0, 180.0),), ())
    assert check(proved(sites=huge), "land_in_bill").iloc[0]["status"] == "amber"
    assert check(proved(), "land_in_bill").iloc[0]["status"] == "not_evaluated"


def test_land_for_good_is_held_against_the_bill() -> None:
    """1 220 m x 34 m of open cut, 280 m x 24.56 m over the drive at half; paid: (1 220 + 280 / 2) x 34 m."""
    found = check(proved(), "easement_in_bill").iloc[0]
    needed, paid = 1220.0 * 34.0 + 0.5 * 280.0 * 24.56, 1360.0 * 34.0
    assert (found["demand"], found["capacity"]) == pytest.approx((needed, paid))
    assert found["status"] == "pass"
    # 38.56 m over the drive are wider than the strip that is paid for
    wide = check(
        proved(a=load_assumptions("[shaft]\ndrive_protective_margin_m = 10.0\n")), "easement_in_bill"
    )
    assert wide["demand"].tolist() == pytest.approx([1220.0 * 34.0 + 0.5 * 280.0 * 38.56])
    assert wide["status"].tolist() == ["amber"]


def test_every_column_is_of_the_schema() -> None:
    from routescreen.schema import LAYERS_BY_NAME

    curves = proved().curves
    for name in ("earthworks", "parcels_used", "constraints", "hazards", "agreements", "investigation_plan"):
        names = {str(c).replace("_index", "_id") for c in curves[name]} - {"geometry"}
        assert names <= set(LAYERS_BY_NAME[name].column_names)
        assert np.isin(list(names), LAYERS_BY_NAME[name].column_names).all()
