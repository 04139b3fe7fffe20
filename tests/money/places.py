"""Ground for the tests of the money: places written as a reader would say them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.money.measure import bill_items
from routescreen.project import GroundSamples
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions

DEFAULTS = load_assumptions()
CABLE_ITEMS = ("CA10", "CA11")

# The open cut before the rating check widened it: sand bedding from 0.10 m below to 0.20 m above
# pipes 0.40 m apart, air in the pipes. The hand sums of the tests start from here.
SAND_BEDDING = """
[search]
rating_steers = false
[pipe]
fill = "air"
[trench]
bedding_item = "TR50"
bedding_below_m = 0.10
bedding_above_m = 0.20
pipe_spacing_m = 0.40
"""


def place(
    a: Assumptions = DEFAULTS,
    *,
    cover: str = "cropland",
    soil: str = "sand_dense",
    rock: str = "rock_weak",
    groundwater_m: float = 10.0,
    rock_m: float = np.inf,
    n: int = 1,
) -> GroundSamples:
    """Return n equal places; by default farmland on dry dense sand without rock."""
    return GroundSamples(
        ground_m=np.zeros(n),
        cover_class=np.full(n, a.cover_names.index(cover), dtype=np.int16),
        soil_class=np.full(n, a.soil_names.index(soil), dtype=np.int16),
        rock_soil_class=np.full(n, a.soil_names.index(rock), dtype=np.int16),
        groundwater_depth_m=np.full(n, groundwater_m),
        rock_depth_m=np.full(n, rock_m),
        access_distance_m=np.full(n, 100.0),
        near_building=np.zeros(n, dtype=np.bool_),
    )


def by_code(quantities, a: Assumptions = DEFAULTS) -> dict[str, float]:
    """Return the items of one quantity vector that are not zero."""
    items = bill_items(a).items
    return {items[i].code: float(quantities[i]) for i in np.flatnonzero(quantities)}


def soil_index(name: str, a: Assumptions = DEFAULTS) -> int:
    return a.soil_names.index(name)


def cover_index(name: str, a: Assumptions = DEFAULTS) -> int:
    return a.cover_names.index(name)
