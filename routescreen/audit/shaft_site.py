"""What the proofs of shafts look at: size, depth, ground, waters of one shaft, gathered once.

Room: ``audit``. May use ``project``, ``assumptions``, ``engineering``, ``money``, numpy, shapely and the
audit's own modules. Everything is read from the input and the plan alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.bill import ramp_works, shaft_hole
from routescreen.audit.report import Place
from routescreen.audit.shaft_checks import drives_of, footprint, is_launch, shaft_chainage_m
from routescreen.counted import grouped
from routescreen.engineering.shaft import plan_size_m
from routescreen.money import measure

if TYPE_CHECKING:
    from routescreen.assumptions import Soil
    from routescreen.audit.scene import Scene


@dataclass(frozen=True, slots=True)
class ShaftSite:
    """One shaft as it is built; depths count from the ground at its middle.

    Attributes
    ----------
    index : int
    element : str
        Its name in the results.
    place : Place
    area : Geometry
        Inside plan, the hull where it serves two drives.
    length_m, width_m : float
        Inside plan as it is priced: along the drives and across [m].
    depth_m : float
        As built, rounded up [m].
    ground_m : float
        Level of the terrain, NaN where it is unknown [m].
    water_depth_m, highest_depth_m : float
        Depth of the groundwater as given, and of the highest water that counts: that groundwater with its
        rise to the 100-year level, or a flood that stands higher; negative above ground [m].
    is_in_flood_zone : bool
    flood_m : float
        Level of the 100-year flood; NaN outside the flood zones and where a zone states none [m].
    soil, soil_above : int
        Class at the base, and above any rock.
    rock_depth_m : float
        Infinite without rock [m].
    is_tight : bool
        Whether it is priced with a tight wall, dug wet, on a plug: its base lies below the given groundwater.
    is_pit : bool
        Whether it is a small pit, all-in.
    """

    index: int
    element: str
    place: Place
    area: shapely.Geometry
    length_m: float
    width_m: float
    depth_m: float
    ground_m: float
    water_depth_m: float
    highest_depth_m: float
    is_in_flood_zone: bool
    flood_m: float
    soil: int
    soil_above: int
    rock_depth_m: float
    is_tight: bool
    is_pit: bool

    @property
    def area_m2(self) -> float:
        """Inside area as it is priced [m2]."""
        return self.length_m * self.width_m

    @property
    def is_in_rock(self) -> bool:
        """Whether the base stands in rock."""
        return self.depth_m > self.rock_depth_m

    @property
    def head_m(self) -> float:
        """Highest water above the base, at least 0 [m]."""
        return max(self.depth_m - self.highest_depth_m, 0.0)

    @property
    def highest_level_m(self) -> float:
        """Level of the highest water that counts [m]."""
        return self.ground_m - self.highest_depth_m


def shaft_site(scene: Scene, index: int) -> ShaftSite:
    """Gather what the proofs of one shaft look at.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the shaft.

    Returns
    -------
    ShaftSite
    """
    shaft, a = scene.plan.shafts[index], scene.assumptions
    at = scene.ground.samples(np.array([shaft.xy_m]))
    area = footprint(scene, index)
    length_m, width_m = _plan_m(scene, index)
    ground_m, water_m = float(at.ground_m[0]), float(at.groundwater_depth_m[0])
    rock_m = float(at.rock_depth_m[0])
    is_in_zone, flood_m = _flood(scene, area)
    highest_m = water_m - a.groundwater.highest_rise_m
    ways = [a.methods[scene.plan.drives[drive].method] for drive in drives_of(shaft)]
    return ShaftSite(
        index=index,
        element=scene.shaft_id(index),
        place=Place(shaft_chainage_m(scene, shaft), shaft=index, xy_m=shaft.xy_m),
        area=area,
        length_m=length_m,
        width_m=width_m,
        depth_m=shaft.depth_m,
        ground_m=ground_m,
        water_depth_m=water_m,
        highest_depth_m=float(np.fmin(highest_m, ground_m - flood_m)),
        is_in_flood_zone=is_in_zone,
        flood_m=flood_m,
        soil=int(at.rock_soil_class[0] if shaft.depth_m > rock_m else at.soil_class[0]),
        soil_above=int(at.soil_class[0]),
        rock_depth_m=rock_m,
        is_tight=shaft.depth_m > water_m and not all(way.shaft_pricing == "pit" for way in ways),
        is_pit=all(way.shaft_pricing == "pit" for way in ways),
    )


def _plan_m(scene: Scene, index: int) -> tuple[float, float]:
    """Return the inside plan as it is priced: the larger length and the larger width of its drives [m]."""
    shaft = scene.plan.shafts[index]
    sizes = [(0.0, 0.0)]
    for drive in drives_of(shaft):
        geometry = scene.geometry(scene.plan.drives[drive])
        launched = is_launch(scene, shaft, drive)
        sizes.append(geometry.launch_plan_m if launched else geometry.reception_plan_m)
    length_m, width_m = plan_size_m(*np.transpose(sizes))
    return float(length_m), float(width_m)


def _flood(scene: Scene, area: shapely.Geometry) -> tuple[bool, float]:
    """Return whether a flood zone reaches a shaft, and the highest level that is stated there [m]."""
    zones = scene.inp.flood_zones
    if zones is None or len(zones) == 0:
        return False, np.nan
    is_met = shapely.intersects(np.asarray(zones.geometry.array, dtype=np.object_), area)
    # on ground that is flat for want of a terrain model a level means nothing
    is_met_known = is_met & (scene.inp.terrain is not None)
    levels = np.asarray(zones["level_m"], dtype=np.float64)[is_met_known]
    known = levels[~np.isnan(levels)]
    return bool(is_met.any()), float(known.max()) if len(known) else np.nan


def soil_of(scene: Scene, index: int) -> Soil:
    """Return a class of soil by its index."""
    return list(scene.assumptions.soil.values())[index]


def soil_name(scene: Scene, index: int) -> str:
    """Return what a class of soil is called in sentences."""
    return list(scene.assumptions.soil)[index].replace("_", " ")


def cost(scene: Scene, code: str, quantity: float) -> str:
    """Return what a quantity of a bill item costs at its expected rate, for a sentence."""
    items = measure.bill_items(scene.assumptions)
    item = items.items[items.index[code]]
    return f"{grouped(quantity, 2)} {item.unit} of {code}, {grouped(cost_eur(scene, code, quantity))} EUR"


def cost_eur(scene: Scene, code: str, quantity: float) -> float:
    """Return what a quantity of a bill item costs at its expected rate [EUR]."""
    index = measure.bill_items(scene.assumptions).index[code]
    return quantity * float(measure.rates_eur(scene.assumptions)[index])


def wells_m(scene: Scene, site: ShaftSite) -> float:
    """Return the length of wells that the bill has round a shaft, 0 where it has none [m]."""
    wells = measure.bill_items(scene.assumptions).index["SH28"]
    # those beside its ramps lower no water below the shaft's base
    return float(shaft_hole(scene, site.index)[wells] - ramp_works(scene, site.index).quantities[wells])


def is_flood_highest(site: ShaftSite) -> bool:
    """Return whether the highest water is a flood; else it is the groundwater."""
    return bool(site.ground_m - site.flood_m <= site.highest_depth_m + 1e-9)


def about_water(site: ShaftSite) -> str:
    """Return where the highest water stands, for a sentence."""
    side = "below" if site.highest_depth_m >= 0.0 else "above"
    what = "flood" if is_flood_highest(site) else "groundwater"
    return f"the 100-year {what}, {abs(site.highest_depth_m):.2f} m {side} ground"
