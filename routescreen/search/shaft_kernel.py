"""The price of one shaft and the depth that a crown asks of it, compiled.

Room: ``search``. Passes, bill on the frame and plan call these same functions.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled, compiled_within

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays


@compiled
def shaft_ground(s: SearchArrays, column: int, row: int) -> tuple[int, int, int, int, int, int]:
    """Return what the price of a shaft at a node depends on.

    Soil, soil in rock, levels of the rock head, of the highest water, the water as given, the lowest water.
    """
    return (
        int(s.ground.soil[column, row]),
        int(s.ground.rock_soil[column, row]),
        int(s.shaft.rock_level[column, row]),
        int(s.shaft.reached_level[column, row]),
        int(s.shaft.wet_level[column, row]),
        int(s.shaft.lowest_level[column, row]),
    )


@compiled_within
def ramp_eur(s: SearchArrays, soil: int, wet: int, role: int, level: int) -> float:
    """Return the price of a role's ramps [EUR]."""
    steps = s.shaft.ramp_steps
    water = min((max(wet, 0) + steps - 1) // steps, s.shaft.ramp_eur.shape[1] - 1)
    return float(s.shaft.ramp_eur[soil, water, role, level])


@compiled_within
def asks_for_fill(
    s: SearchArrays, ground: tuple[int, int, int, int, int, int], role: int, level: int
) -> bool:
    """Return whether a role asks for conducting fill in a shaft."""
    soil, rock_soil, head, _, _, lowest = ground
    if role == 0 or level < lowest + s.shaft.fill_below[role]:
        return False
    if level >= s.shaft.fill_level[soil, soil, role]:
        return True
    return bool(level > head and level >= s.shaft.fill_level[soil, rock_soil, role])


@compiled_within
def fill_eur(
    s: SearchArrays, ground: tuple[int, int, int, int, int, int], r: int, k: int, level: int
) -> float:
    """Return the price of the conducting fill, where one of both roles asks for it [EUR]."""
    if not (asks_for_fill(s, ground, r, level) or asks_for_fill(s, ground, k, level)):
        return 0.0
    soil, rock_soil, head = ground[0], ground[1], ground[2]
    if level <= head:
        return float(s.shaft.fill_eur[soil, r, k, level])
    in_rock = s.shaft.fill_eur[rock_soil, r, k, level] - s.shaft.fill_eur[rock_soil, r, k, head]
    return float(s.shaft.fill_eur[soil, r, k, head] + in_rock)


@compiled
def shaft_in_ground_eur(
    s: SearchArrays, ground: tuple[int, int, int, int, int, int], r: int, k: int, level: int
) -> float:
    """Return the price of a shaft by its ground, its roles and depth level, without its site [EUR]."""
    soil, rock_soil, head, reached, wet, _ = ground
    water = 2 if level >= wet else (1 if level >= reached else 0)
    more = max(ramp_eur(s, soil, wet, r, level), ramp_eur(s, soil, wet, k, level))
    fill = fill_eur(s, ground, r, k, level)
    if level <= head:
        return float(s.shaft.table_eur[soil, water, r, k, level] + more + fill)
    in_rock = s.shaft.table_eur[rock_soil, water, r, k, level]
    if in_rock == math.inf:  # beyond a limit
        return math.inf
    above = s.shaft.table_eur[rock_soil, water, r, k, head]
    more = max(more, ramp_eur(s, rock_soil, wet, r, level), ramp_eur(s, rock_soil, wet, k, level))
    return float(s.shaft.table_eur[soil, water, r, k, head] + in_rock - above + more + fill)


@compiled
def shaft_site_eur(s: SearchArrays, column: int, row: int, r: int, k: int) -> float:
    """Return the price of a shaft's site at a node by its roles [EUR]."""
    site = s.shaft.site
    kind, road_frac = site.kind[column, row], site.road_frac[column, row]
    near = site.near_eur[kind, r, k]
    return float(near + road_frac * (site.far_eur[kind, r, k] - near))


@compiled
def shaft_table_eur(s: SearchArrays, column: int, row: int, r: int, k: int, level: int) -> float:
    """Return the price of a shaft at a node by its roles and depth level, without its site [EUR]."""
    return shaft_in_ground_eur(s, shaft_ground(s, column, row), r, k, level)


@compiled
def shaft_eur(s: SearchArrays, column: int, row: int, r: int, k: int, level: int) -> float:
    """Return the price of a shaft at a node by its roles and depth level [EUR]."""
    return shaft_table_eur(s, column, row, r, k, level) + shaft_site_eur(s, column, row, r, k)


@compiled
def depth_level(s: SearchArrays, ground_m: float, crown_m: float, bore_m: float, role: int) -> int:
    """Return the shaft's depth level: ground to invert and sump, rounded up, at least the role's least."""
    depth = ground_m - crown_m + bore_m + s.shaft.sump_m
    return max(math.ceil(depth / s.shaft.step_m - 1e-9), int(s.shaft.least_level[role]))
