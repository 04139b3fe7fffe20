"""Earthworks of a finished plan: what is dug, heaped, filled again and hauled, by open cut, drive and shaft.

Room: ``audit``. Every volume is measured by the bill's own rules, with the factors on its prices taken out,
so that what is dug is the ground in place. The ramps are those that the bill chose, with its factors.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.assumptions.once import once_per_assumptions
from routescreen.audit.bill import ramp_works, shaft_quantities, works_quantities
from routescreen.audit.report import Limit, Place
from routescreen.audit.scene import words
from routescreen.audit.strip_room import StripRoom, strip_room
from routescreen.counted import counted
from routescreen.engineering.spoil import lorry_loads
from routescreen.engineering.trench import loose_volume_m3
from routescreen.money.measure import bill_items

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.money.measure import RampWorks

TRENCH_DUG = tuple(f"TR2{n}" for n in range(7))
SHAFT_DUG = tuple(f"SH1{n}" for n in range(9))
HAULED = ("TR60", "TR61", "TR62", "TR63")
SOURCE = "assumptions, [checks.soil], [trench], [soil]; DIN 19639, DIN 4124"


@once_per_assumptions
def without_price_factors(a: Assumptions) -> Assumptions:
    """Return the assumptions with every factor at 1 that makes the bill pay more than is dug.

    Parameters
    ----------
    a : Assumptions

    Returns
    -------
    Assumptions
        The same object for the same assumptions.
    """
    slices, bands = (1.0,) * len(a.trench.slice_factors), (1.0,) * len(a.shaft.band_factors)
    covers = {name: c.model_copy(update={"trench_factor": 1.0}) for name, c in a.cover.items()}
    soils = {
        name: soil.model_copy(update={"shaft_factor": 1.0, "backfill_factor": 1.0})
        for name, soil in a.soil.items()
    }
    trench = a.trench.model_copy(update={"slice_factors": slices, "narrow_factor": 1.0})
    shaft = a.shaft.model_copy(update={"band_factors": bands})
    return a.model_copy(update={"trench": trench, "shaft": shaft, "cover": covers, "soil": soils})


@dataclass(frozen=True, slots=True)
class Volumes:
    """What one piece of the works moves, in place [m3]."""

    topsoil_m3: float
    dug_m3: float
    hauled_m3: float


def section_volumes(neutral: Scene, section: int) -> Volumes:
    """Measure an open cut or drive; `neutral` is the scene without price factors."""
    a = neutral.assumptions
    quantities, index = works_quantities(neutral, section), bill_items(a).index
    drive = int(neutral.route.drive_of_piece[neutral.route.pieces_of_section(section)[0]])
    hauled, topsoil = _sum(quantities, index, HAULED), float(quantities[index["TR10"]])
    if drive < 0:
        return Volumes(topsoil, _sum(quantities, index, TRENCH_DUG), hauled)
    way = a.methods[neutral.plan.drives[drive].method]
    if way.spoil_item is not None:
        hauled += float(quantities[index[way.spoil_item]])
    return Volumes(topsoil, hauled / way.spoil_factor, hauled)


def shaft_volumes(ramps: RampWorks, neutral: Scene, shaft: int) -> Volumes:
    """Measure a shaft with its approach cut and its `ramps`; `neutral` is the scene without price factors.

    What is dug for ramps goes back over the pipes, but for what their plug takes up. Slopes or walls are
    chosen by the prices with their factors.
    """
    quantities, index = shaft_quantities(neutral, shaft), bill_items(neutral.assumptions).index
    dug = _sum(quantities, index, (*SHAFT_DUG, "SH31", "CO13"))
    hauled = _sum(quantities, index, HAULED) + ramps.plug_m3 - ramp_works(neutral, shaft).plug_m3
    return Volumes(float(quantities[index["TR10"]]), dug + ramps.dug_m3, hauled)


def _sum(quantities: NDArray[np.float64], index: dict[str, int], codes: tuple[str, ...]) -> float:
    return float(sum(quantities[index[code]] for code in codes if code in index))


def prove_earthworks(scene: Scene, ledger: Ledger) -> pd.DataFrame:
    """Measure the earthworks and check that the working strip holds what is heaped on it.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.

    Returns
    -------
    DataFrame
        The columns of the layer ``earthworks``, with `section_index`, `drive_index`, `shaft_index`.
    """
    neutral = replace(scene, assumptions=without_price_factors(scene.assumptions))
    rows = [_section_row(scene, ledger, neutral, section) for section in range(scene.route.n_sections)]
    # all ramps by the true prices first: their tables are worked out anew for other assumptions
    ramps = [ramp_works(scene, index) for index in range(len(scene.plan.shafts))]
    rows += [_shaft_row(scene, neutral, index, works) for index, works in enumerate(ramps)]
    return pd.DataFrame(rows)


def _section_row(scene: Scene, ledger: Ledger, neutral: Scene, section: int) -> dict[str, object]:
    drive = int(scene.route.drive_of_piece[scene.route.pieces_of_section(section)[0]])
    volumes = section_volumes(neutral, section)
    from_m, to_m = scene.route.bounds_of_section(section)
    if drive >= 0:
        line = scene.lines[drive]
        xy_m = (line.lower_xy_m + line.upper_xy_m) / 2.0
        row = _row("drive", section, drive, -1, volumes, _loose_m3(scene, volumes.hauled_m3, xy_m))
        return row | {"length_m": line.true_length_m}
    room = strip_room(scene, section)
    _prove_room(scene, ledger, section, room)
    row = _row("open_cut", section, -1, -1, volumes, volumes.hauled_m3 * room.bulking)
    return row | {"length_m": to_m - from_m} | room.columns()


def _shaft_row(scene: Scene, neutral: Scene, index: int, ramps: RampWorks) -> dict[str, object]:
    shaft, volumes = scene.plan.shafts[index], shaft_volumes(ramps, neutral, index)
    drive = shaft.incoming if shaft.incoming is not None else shaft.outgoing
    piece = scene.plan.drives[drive].from_vertex if drive is not None else 0
    section = int(scene.route.section_of_piece[piece])
    loose = _loose_m3(scene, volumes.hauled_m3, np.asarray(shaft.xy_m))
    return _row("shaft", section, -1, index, volumes, loose)


def _loose_m3(scene: Scene, bank_m3: float, xy_m: NDArray[np.float64]) -> float:
    """Return the loose volume by the bulking of the soil at a place."""
    soil = int(scene.ground.samples(xy_m.reshape(1, 2)).soil_class[0])
    bulking = list(scene.assumptions.soil.values())[soil].bulking
    return float(loose_volume_m3(bank_m3, bulking - 1.0))


def _row(
    works: str, section: int, drive: int, shaft: int, volumes: Volumes, loose_m3: float
) -> dict[str, object]:
    return {
        "works": works,
        "section_index": section,
        "drive_index": drive,
        "shaft_index": shaft,
        "topsoil_m3": volumes.topsoil_m3,
        "dug_m3": volumes.dug_m3,
        "kept_m3": max(volumes.dug_m3 - volumes.hauled_m3, 0.0),
        "hauled_m3": volumes.hauled_m3,
        "hauled_loose_m3": loose_m3,
    }


def with_loads(table: pd.DataFrame, a: Assumptions) -> pd.DataFrame:
    """Add the loads that haul the loose soil away."""
    return table.assign(lorry_loads=lorry_loads(table["hauled_loose_m3"], a.report.lorry_load_m3))


def _prove_room(scene: Scene, ledger: Ledger, section: int, room: StripRoom) -> None:
    """Compare the width that trenches, heaps and road ask for with the strip: amber where it is narrowed."""
    limit, element = Limit("strip_room", "m", SOURCE), scene.section_id(section)
    for is_narrow in (False, True):
        at = room.worst(is_narrow=is_narrow)
        if at < 0:
            continue
        at_m = float(room.chainage_m[at])
        place = Place(at_m, section=section, xy_m=scene.route.point_at(at_m))
        needed, has = float(room.needed_m[at]), float(room.strip_m[at])
        if math.isnan(needed):
            ledger.not_evaluated(element, limit, place, "the soil isn't known all along")
            continue
        soil = words(list(scene.assumptions.soil)[room.soil[at]])
        reason = (
            f"{counted(room.n_trenches, 'trench', 'trenches')} in {soil}, "
            f"{room.band_m[at]:.1f} m wide at the ground, heaps of topsoil, subsoil and parent material "
            f"{room.topsoil.width_m[at]:.1f}, "
            f"{room.subsoil.width_m[at]:.1f} and {room.parent.width_m[at]:.1f} m wide, haul road and gaps"
        )
        if is_narrow and needed > has:
            reason += (
                f"; in the strip narrowed to {has:g} m over {room.short_m:.0f} m of the section soil must be "
                "stored elsewhere"
            )
            ledger.amber(element, limit, needed, has, place, reason)
        else:
            ledger.finding(element, limit, needed, has, place, reason)
