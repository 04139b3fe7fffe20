"""Land that the works take: for a time and for good, by parcel and owner, else by ground cover.

Room: ``audit``. Areas are those of the true outlines, what overlaps counted once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from routescreen.audit.band import strip_width_m
from routescreen.audit.cover_areas import class_areas_m2
from routescreen.audit.report import Limit, Place
from routescreen.counted import counted
from routescreen.engineering.agreements import NOT_KNOWN
from routescreen.money.measure import bill_items

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

TOUCH_M2 = 0.5  # parcels drawn beside one another overlap or gape by less
PARTS = ("working_strip_m2", "compounds_m2", "layout_strips_m2")


@dataclass(frozen=True, slots=True)
class Sites:
    """Areas beside the line, as they were placed: one compound a shaft, strips with their drive."""

    compounds: tuple[shapely.Geometry, ...] = ()
    strips: tuple[tuple[int, shapely.Geometry], ...] = ()


@dataclass(frozen=True, slots=True)
class LandTaken:
    """Outlines of what is taken: three for a time that don't overlap, in the order of `PARTS`; for good.

    `over_trench` is the part of `permanent` that isn't above drives alone.
    """

    temporary: tuple[shapely.Geometry, ...]
    permanent: shapely.Geometry
    over_trench: shapely.Geometry


def land_taken(scene: Scene, sites: Sites) -> LandTaken:
    """Lay out what the works take.

    Parameters
    ----------
    scene : Scene
    sites : Sites

    Returns
    -------
    LandTaken

    Notes
    -----
    For a time: working strip of each piece of open cut, with the wedge outside each bend; compounds;
    layout strips. For good: protective strip of the open cut; above drives from outermost bore to
    outermost bore and a margin beyond them.
    """
    a, route = scene.assumptions, scene.route
    lines = route.segments()
    open_cut = np.flatnonzero(~route.is_drive)
    widths = np.array([strip_width_m(scene, int(piece)) for piece in open_cut])
    strip = _swath(lines[open_cut], widths, route.xy_m, open_cut)
    compounds = shapely.difference(shapely.union_all(list(sites.compounds)), strip)
    layout = shapely.union_all([outline for _, outline in sites.strips])
    layout = shapely.difference(shapely.difference(layout, strip), compounds)
    over_trench = _swath(lines[open_cut], np.full(len(open_cut), a.protective_strip_m), route.xy_m, open_cut)
    easement = [over_trench]
    for line in scene.lines:
        half_m = float(np.abs(line.offsets_m).max()) + line.radius_m + a.shaft.drive_protective_margin_m
        middle = shapely.LineString([line.lower_xy_m, line.upper_xy_m])
        easement.append(shapely.buffer(middle, half_m, cap_style="flat"))
    return LandTaken((strip, compounds, layout), shapely.union_all(easement), over_trench)


def _swath(
    lines: NDArray[np.object_],
    width_m: NDArray[np.float64],
    xy_m: NDArray[np.float64],
    pieces: NDArray[np.int64],
) -> shapely.Geometry:
    """Return pieces widened, square at their ends and round outside bends."""
    areas = list(shapely.buffer(lines, width_m / 2.0, cap_style="flat"))
    for before, after, wide, next_wide in zip(
        pieces[:-1], pieces[1:], width_m[:-1], width_m[1:], strict=True
    ):
        if after == before + 1:
            # no further than the narrower of both: the wider ends square where the strip changes
            areas.append(shapely.Point(xy_m[after]).buffer(min(wide, next_wide) / 2.0))
    return shapely.union_all(areas) if areas else shapely.Polygon()


def measure_land(scene: Scene, ledger: Ledger, sites: Sites, billed: NDArray[np.float64]) -> pd.DataFrame:
    """Measure the land by parcel and owner, else by ground cover.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.
    sites : Sites
    billed : ndarray of shape (n_items,)
        What the bill measures on the whole link.

    Returns
    -------
    DataFrame
        The columns of the layer ``parcels_used``.
    """
    taken = land_taken(scene, sites)
    has_parcels = len(scene.inp.parcels) > 0
    table = _by_parcel(scene, taken) if has_parcels else _by_cover(scene, taken)
    _prove_owners(scene, ledger, table, has_parcels=has_parcels)
    _prove_bill(scene, ledger, taken, billed)
    _prove_easement(scene, ledger, taken, billed)
    return table


def _areas_m2(taken: LandTaken, shape: shapely.Geometry) -> dict[str, float]:
    """Return what of each kind lies within a shape."""
    parts = [float(shapely.area(shapely.intersection(part, shape))) for part in taken.temporary]
    return _columns(parts, float(shapely.area(shapely.intersection(taken.permanent, shape))))


def _columns(parts: Sequence[float], permanent_m2: float) -> dict[str, float]:
    return {"temporary_m2": sum(parts), **dict(zip(PARTS, parts, strict=True)), "permanent_m2": permanent_m2}


def _by_parcel(scene: Scene, taken: LandTaken) -> pd.DataFrame:
    """Return a row for each parcel that is met, and one for what lies in none."""
    parcels = scene.inp.parcels
    shapes = np.asarray(parcels.geometry.array, dtype=np.object_)
    everything = shapely.union_all([*taken.temporary, taken.permanent])
    met = np.sort(shapely.STRtree(shapes).query(everything, predicate="intersects"))
    rows = []
    for number in met:
        areas = _areas_m2(taken, shapes[number])
        if max(areas["temporary_m2"], areas["permanent_m2"]) < TOUCH_M2:
            continue
        owner = parcels["owner"].iloc[number]
        has_owner = isinstance(owner, str) and owner.strip() != ""
        named = {"parcel_id": parcels["parcel_id"].iloc[number], "owner": owner if has_owner else NOT_KNOWN}
        rows.append(named | {"cover": None} | areas)
    rest = LandTaken(
        tuple(shapely.difference(part, shapely.union_all(shapes[met])) for part in taken.temporary),
        shapely.difference(taken.permanent, shapely.union_all(shapes[met])),
        shapely.difference(taken.over_trench, shapely.union_all(shapes[met])),
    )
    areas = _columns(shapely.area(list(rest.temporary)).tolist(), float(shapely.area(rest.permanent)))
    if max(areas["temporary_m2"], areas["permanent_m2"]) >= TOUCH_M2:
        rows.append({"parcel_id": None, "owner": NOT_KNOWN, "cover": None} | areas)
    return pd.DataFrame(rows)


def _by_cover(scene: Scene, taken: LandTaken) -> pd.DataFrame:
    """Return a row for each class of ground cover that is taken."""
    names = list(scene.assumptions.cover)
    parts = [class_areas_m2(scene.ground, part, len(names)) for part in (*taken.temporary, taken.permanent)]
    rows = []
    for name, *own in zip(names, *parts, strict=True):
        if sum(own) >= TOUCH_M2:
            columns = _columns([float(part) for part in own[:3]], float(own[3]))
            rows.append({"parcel_id": None, "owner": None, "cover": name} | columns)
    return pd.DataFrame(rows)


def _prove_owners(scene: Scene, ledger: Ledger, table: pd.DataFrame, *, has_parcels: bool) -> None:
    """Enter whether all land taken has an owner who can be asked."""
    limit = Limit("land_by_owner", "m2", "input, layer parcels", "record", tolerance=TOUCH_M2)
    element = scene.plan.corridor_id
    if not has_parcels:
        why = "no layer parcels is given: areas are told by ground cover only, not by owner"
        ledger.not_evaluated(element, limit, Place(), why)
        return
    unknown = table[table["owner"] == NOT_KNOWN]
    lost = float(unknown["temporary_m2"].sum()), float(unknown["permanent_m2"].sum())
    total = float(table["temporary_m2"].sum()), float(table["permanent_m2"].sum())
    n_owners = table.loc[table["owner"] != NOT_KNOWN, "owner"].nunique()
    reason = (
        f"{total[0]:.0f} m2 for a time and {total[1]:.0f} m2 for good in {counted(len(table), 'parcel')} of "
        f"{counted(n_owners, 'owner')}; joint bays and access roads have no place yet and aren't in it"
    )
    if max(lost) > TOUCH_M2:
        why = f"{lost[0]:.0f} m2 for a time and {lost[1]:.0f} m2 for good lie in no parcel with an owner"
        ledger.not_evaluated(element, limit, Place(), f"{reason}; {why}")
        return
    ledger.finding(element, limit, max(lost), 0.0, Place(), reason)


def _prove_bill(scene: Scene, ledger: Ledger, taken: LandTaken, quantities: NDArray[np.float64]) -> None:
    """Compare the land taken for a time with what the bill pays."""
    items = bill_items(scene.assumptions)
    limit = Limit("land_in_bill", "m2", "bill, items LA10", tolerance=TOUCH_M2)
    if not shapely.area(list(taken.temporary[1:])).any() and len(scene.plan.shafts):
        why = "where compounds and layout strips lie isn't known"
        ledger.not_evaluated(scene.plan.corridor_id, limit, Place(), why)
        return
    first = items.first_class_item("LA10")
    billed = float(quantities[first : first + items.n_cover].sum())
    needed = float(shapely.area(list(taken.temporary)).sum())
    reason = (
        f"working strip, compounds and layout strips take {needed:.0f} m2, what overlaps counted once; the "
        f"bill pays for {billed:.0f} m2 with access roads, overlaps counted twice"
    )
    enter = ledger.finding if needed <= billed else ledger.amber
    enter(scene.plan.corridor_id, limit, needed, billed, Place(), reason)


def _prove_easement(scene: Scene, ledger: Ledger, taken: LandTaken, quantities: NDArray[np.float64]) -> None:
    """Compare the land taken for good with what the bill pays, over drives at the same share of the rate."""
    items, share = bill_items(scene.assumptions), scene.assumptions.land.drive_easement_factor
    first = items.first_class_item("LA11")
    billed = float(quantities[first : first + items.n_cover].sum())
    trench_m2 = float(shapely.area(taken.over_trench))
    drive_m2 = float(shapely.area(taken.permanent)) - trench_m2
    needed = trench_m2 + share * drive_m2
    reason = (
        f"{trench_m2:.0f} m2 over open cut and {drive_m2:.0f} m2 over drives, which count {share:g} of an "
        f"area; the bill pays for {billed:.0f} m2 by the protective strip, as wide over drives as elsewhere"
    )
    source = "bill, items LA11; assumptions, [land], [shaft]"
    limit = Limit("easement_in_bill", "m2", source, tolerance=TOUCH_M2)
    enter = ledger.finding if needed <= billed + TOUCH_M2 else ledger.amber
    enter(scene.plan.corridor_id, limit, needed, billed, Place(), reason)
