"""Quantities of shafts: the hole and what stands in it, and its place.

Room: ``money``. May import ``assumptions``, ``engineering``, ``drives``.

A shaft has a role for the drive on its lower-chainage side and one for the drive on its
higher-chainage side: 0 none, else 1 + 2 x method + (0 launch, 1 reception), methods in the order of
``drives.methods.enabled_methods``. Swapping both roles changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.drives.shaft_fill import first_filled_level, lowest_water_level, steps_below_water
from routescreen.engineering.approach import approach_cut_m3
from routescreen.engineering.shaft import depth_in_bands_m, plan_size_m
from routescreen.engineering.trench import cotangent
from routescreen.money.measure_ramp import RampGrounds, RampWorks, ramp_level, ramp_works
from routescreen.money.quantities import (
    Quantities,
    add_site_soil,
    add_surplus,
    add_temporary_land,
    empty_quantities,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions

    Array = NDArray[np.float64]

PLUG_DIG_ITEMS = {"SH13": "SH16", "SH14": "SH17", "SH15": "SH18"}


@dataclass(frozen=True, slots=True)
class RoleTable:
    """What each shaft role needs; every array has shape (1 + 2 x n_methods,), role 0 all zeros.

    `length_m`, `width_m` inside plan [m]; `n_eyes` bores that need an eye;
    `n_walls` bores launched against a wall; `compound_m2` [m2]; `is_launch`, `is_pit`; `n_pits` of drilled
    bores.
    """

    length_m: NDArray[np.float64]
    width_m: NDArray[np.float64]
    n_eyes: NDArray[np.float64]
    n_walls: NDArray[np.float64]
    compound_m2: NDArray[np.float64]
    is_launch: NDArray[np.bool_]
    is_pit: NDArray[np.bool_]
    n_pits: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ShaftGround:
    """The ground at shafts, arrays of shape (n,).

    Soil, the rock below it and its depth [m] (inf: none), depth of the groundwater as given [m].
    """

    soil_class: ArrayLike
    rock_soil_class: ArrayLike
    rock_depth_m: ArrayLike
    groundwater_depth_m: ArrayLike


_ROUNDING = 1e-9  # a rock head at a whole step must not move up by rounding


def shaft(
    roles_in: ArrayLike,
    roles_out: ArrayLike,
    soil_class: ArrayLike,
    is_wet: ArrayLike,
    depth_m: ArrayLike,
    a: Assumptions,
    *,
    is_reached: ArrayLike | None = None,
) -> NDArray[np.float64]:
    """Measure shafts without their ramps and what depends on their place.

    Parameters
    ----------
    roles_in, roles_out : array_like of int
        Roles of the drives on both sides, 0 for none. All arrays are broadcast to (n,).
    soil_class : array_like of int
        Soil at the shaft.
    is_wet : array_like of bool
        Whether the bottom of the shaft, top of its base plug, lies below the groundwater.
    depth_m : array_like of float
        Shaft depth, the deeper of both drives [m].
    a : Assumptions
    is_reached : array_like of bool, optional
        Whether its bottom lies below the highest groundwater; by default as `is_wet`, which implies it.

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        Quantities, zeros where both roles are none.

    Notes
    -----
    A shaft that serves two drives has one hole: the larger length and width of both, eyes and thrust
    walls for both, one power supply; both launches of one method move the rig once, at a factor. So a
    shaft for two drives never costs less than one for either of them. Behind a reception the pipe
    string comes down an approach cut. Below groundwater the whole shaft is dug wet and stands on a
    plug; water is pumped as long as it is open.
    Pits, and shafts that only the highest groundwater reaches, are kept dry by wells.
    """
    reached = is_wet if is_reached is None else is_reached
    arrays = np.broadcast_arrays(roles_in, roles_out, soil_class, is_wet, depth_m, reached)
    incoming, outgoing, soil, wet, depth, reached = (np.atleast_1d(array).ravel() for array in arrays)
    q = empty_quantities(len(depth), a)
    table = role_table(a)
    roles = np.stack([incoming, outgoing]).astype(np.int64)
    depth = depth.astype(np.float64)
    is_any = roles.max(axis=0) > 0
    is_pit = is_any & np.all((roles == 0) | table.is_pit[roles], axis=0)
    length, width = plan_size_m(table.length_m[roles], table.width_m[roles])
    area = length * width
    n_pits = table.n_pits[roles].sum(axis=0)
    is_drilled = n_pits > 0.0
    _add_hole(q, np.where(is_pit | is_drilled, 0.0, area), soil, wet, depth, a)
    has_wells = is_any & ~is_drilled & reached & (is_pit | ~wet)
    _add_wells(q, np.where(has_wells, 2.0 * (length + width), 0.0), soil, depth, a)
    months = np.where(is_pit | is_drilled, a.shaft.pit_open_months.expected, a.shaft.open_months.expected)
    q.add("SH24", np.where(is_any & wet, months, 0.0))
    q.add("SH31", np.where(is_pit & ~is_drilled, area * depth, 0.0))
    q.add("SH30", n_pits)
    q.add("SH01", is_any & ~is_pit & ~is_drilled)
    q.add("SH22", table.n_eyes[roles].sum(axis=0) * np.where(wet, 1.0, a.shaft.dry_eye_factor))
    q.add("SH23", table.n_walls[roles].sum(axis=0))
    _add_launches(q, table, roles, a)
    _add_approach(q, roles, soil, depth, a)
    q.add("GI10", np.where(is_any, depth + a.shaft.borehole_below_shaft_m, 0.0))
    q.add_each(("GI12", "UX10"), is_any)
    return q.values


def shaft_in_ground(
    roles_in: ArrayLike,
    roles_out: ArrayLike,
    ground: ShaftGround,
    is_wet: ArrayLike,
    depth_m: ArrayLike,
    a: Assumptions,
    *,
    is_reached: ArrayLike | None = None,
) -> NDArray[np.float64]:
    """Measure shafts of which the lower part may stand in rock, with their ramps.

    Parameters
    ----------
    roles_in, roles_out, is_wet, depth_m : array_like
        As in `shaft`; all arrays are broadcast to (n,).
    ground : ShaftGround
    a : Assumptions
    is_reached : array_like of bool, optional
        As in `shaft`.

    Returns
    -------
    ndarray of float64, shape (n, n_items)

    Notes
    -----
    Down to the rock head, rounded up to the depth step so that no rock is priced as soil, the shaft is
    that of the soil; each metre below costs what it adds to a shaft in the rock. Each shaft has one ramp
    (``measure_ramp``), the dearest by its roles and the ground, between two drives too, because their bores
    may lie at different levels: so a shaft for two drives still never costs less than one for either.
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    head_m = rock_head_level(ground.rock_depth_m, a) * a.shaft.depth_step_m
    in_soil = np.minimum(depth, head_m)

    def part(soil_class: ArrayLike, to_m: NDArray[np.float64]) -> NDArray[np.float64]:
        return shaft(roles_in, roles_out, soil_class, is_wet, to_m, a, is_reached=is_reached)

    rest = part(ground.rock_soil_class, depth) - part(ground.rock_soil_class, in_soil)
    whole = part(ground.soil_class, in_soil) + rest
    works = ramp_works_of(roles_in, roles_out, ground, depth, a)
    whole = whole + np.array([one.quantities for one in works])
    is_filled = has_conducting_fill(roles_in, roles_out, ground, depth, a) & np.asarray(is_wet, np.bool_)
    if not is_filled.any():
        return np.asarray(whole)
    filled = conducting_fill(roles_in, roles_out, ground.rock_soil_class, depth, a)
    filled -= conducting_fill(roles_in, roles_out, ground.rock_soil_class, in_soil, a)
    filled += conducting_fill(roles_in, roles_out, ground.soil_class, in_soil, a)
    return np.asarray(whole + np.where(is_filled[:, np.newaxis], filled, 0.0))


def has_conducting_fill(
    roles_in: ArrayLike, roles_out: ArrayLike, ground: ShaftGround, depth_m: ArrayLike, a: Assumptions
) -> NDArray[np.bool_]:
    """Tell which shafts are filled with conducting fill (``drives.shaft_fill``).

    Parameters
    ----------
    roles_in, roles_out, ground, depth_m, a
        As in `shaft_in_ground`.

    Returns
    -------
    ndarray of bool, shape (n,)
        Whether one of both drives asks for it, at the depth of the shaft.
    """
    head = rock_head_level(ground.rock_depth_m, a)
    water = lowest_water_level(np.asarray(ground.groundwater_depth_m, dtype=np.float64), a)
    parts = (roles_in, roles_out, ground.soil_class, ground.rock_soil_class, ramp_level(depth_m, a))
    arrays = np.broadcast_arrays(*parts, head, water)
    rows = zip(*(np.atleast_1d(one).ravel().tolist() for one in arrays), strict=True)
    return np.array([_is_filled(row, a) for row in rows], np.bool_)


def _is_filled(row: tuple[float, ...], a: Assumptions) -> bool:
    *roles, soil, rock, level, head, water = row
    below = (soil, rock) if level > head else (soil,)
    for role in {int(one) for one in roles} - {0}:
        method = enabled_methods(a)[(role - 1) // 2]
        first = min(first_filled_level(a, method, int(soil), int(one)) for one in below)
        if level >= max(first, water + steps_below_water(a, method)):
            return True
    return False


def conducting_fill(
    roles_in: ArrayLike, roles_out: ArrayLike, soil_class: ArrayLike, depth_m: ArrayLike, a: Assumptions
) -> NDArray[np.float64]:
    """Measure the conducting fill of shafts and the soil that it displaces.

    Parameters
    ----------
    roles_in, roles_out, soil_class, depth_m : array_like
        As in `shaft`; all arrays are broadcast to (n,).
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        From the bottom up to where the walls are cut, less the pipes of all cables along the shaft.
    """
    arrays = np.broadcast_arrays(roles_in, roles_out, soil_class, depth_m)
    incoming, outgoing, soil, depth = (np.atleast_1d(array).ravel() for array in arrays)
    q, table = empty_quantities(len(depth), a), role_table(a)
    roles = np.stack([incoming, outgoing]).astype(np.int64)
    length, width = plan_size_m(table.length_m[roles], table.width_m[roles])
    area = np.where(table.n_pits[roles].sum(axis=0) > 0.0, 0.0, length * width)
    pipes = a.link.n_cables * np.pi / 4.0 * a.pipe.trench_outer_diameter_m**2 * length
    volume = np.maximum(area * np.maximum(depth - a.shaft.wall_cut_m, 0.0) - pipes, 0.0)
    q.add("SH29", volume)
    add_surplus(q, soil.astype(np.int64), volume, a)
    return q.values


def ramp_works_of(
    roles_in: ArrayLike, roles_out: ArrayLike, ground: ShaftGround, depth_m: ArrayLike, a: Assumptions
) -> list[RampWorks]:
    """Measure the ramps that the bill counts for shafts.

    Parameters
    ----------
    roles_in, roles_out, ground, depth_m, a
        As in `shaft_in_ground`.

    Returns
    -------
    list of RampWorks, n
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    is_in_rock = depth > rock_head_level(ground.rock_depth_m, a) * a.shaft.depth_step_m + _ROUNDING
    parts = (roles_in, roles_out, ground.soil_class, ground.rock_soil_class, is_in_rock, depth)
    arrays = np.broadcast_arrays(*parts, ground.groundwater_depth_m)
    incoming, outgoing, soil, rock, in_rock, depth, water = (np.atleast_1d(one).ravel() for one in arrays)
    roles, soils = np.stack([incoming, outgoing]), np.stack([soil, rock])
    return ramp_works(RampGrounds(roles, soils, in_rock, depth, water), a)


def rock_head_level(rock_depth_m: ArrayLike, a: Assumptions) -> NDArray[np.float64]:
    """Return the depth of the rock head in whole depth steps, counted from above; inf without rock."""
    return np.floor(np.asarray(rock_depth_m, dtype=np.float64) / a.shaft.depth_step_m + _ROUNDING)


def shaft_site(
    roles_in: ArrayLike,
    roles_out: ArrayLike,
    access_distance_m: ArrayLike,
    cover_class: ArrayLike,
    a: Assumptions,
) -> NDArray[np.float64]:
    """Measure what depends on the place of a shaft: compound, access road, their land and their soil.

    Parameters
    ----------
    roles_in, roles_out : array_like of int
        Roles as in `shaft`; all arrays are broadcast to (n,).
    access_distance_m : array_like of float
        Distance to the nearest road that carries plant [m].
    cover_class : array_like of int
        Ground cover at the shaft.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        Quantities, zeros where both roles are none. One compound a shaft, the larger of its roles'. Where
        only trenches are reinstated, the hole of the shaft is.
    """
    arrays = np.broadcast_arrays(roles_in, roles_out, access_distance_m, cover_class)
    incoming, outgoing, distance, cover = (np.atleast_1d(array).ravel() for array in arrays)
    q = empty_quantities(len(cover), a)
    roles = np.stack([incoming, outgoing]).astype(np.int64)
    table, cover = role_table(a), cover.astype(np.int64)
    compound = np.max(table.compound_m2[roles], axis=0)
    road = np.where(roles.max(axis=0) > 0, distance, 0.0)
    q.add("CO10", compound)
    q.add("CO11", road)
    area = compound + a.shaft.access_road_width_m * road
    add_temporary_land(q, cover, area, a)
    add_site_soil(q, cover, area, a)
    over_trench = np.array([one.is_reinstated_over_trench_only for one in a.cover.values()])[cover]
    length, width = plan_size_m(table.length_m[roles], table.width_m[roles])
    q.add_by_cover("TR70", cover, np.where(over_trench, length * width, 0.0))
    return q.values


def role_table(a: Assumptions) -> RoleTable:
    """Tabulate what each shaft role needs.

    Parameters
    ----------
    a : Assumptions

    Returns
    -------
    RoleTable
    """
    rows = [_role(a, None, is_launch=False)]
    for name in enabled_methods(a):
        rows += [_role(a, name, is_launch=True), _role(a, name, is_launch=False)]
    columns = list(zip(*rows, strict=True))
    length, width, eyes, walls, compound = (np.array(column, dtype=np.float64) for column in columns[:5])
    is_launch, is_pit = (np.array(column, dtype=np.bool_) for column in columns[5:7])
    pits = np.array(columns[7], dtype=np.float64)
    return RoleTable(length, width, eyes, walls, compound, is_launch, is_pit, pits)


def _role(a: Assumptions, method: str | None, *, is_launch: bool) -> tuple[float | bool, ...]:
    """One row of the table, in the order of `RoleTable`."""
    if method is None:
        return (*(0.0,) * 5, False, False, 0.0)
    way, shape = a.methods[method], method_geometry(a, method)
    length, width = shape.launch_plan_m if is_launch else shape.reception_plan_m
    compound = (
        way.launch_compound_length_m * way.launch_compound_width_m
        if is_launch
        else way.reception_compound_length_m * way.reception_compound_width_m
    )
    return (
        length,
        width,
        shape.n_bores * way.has_eyes,
        shape.n_bores * (is_launch and way.has_thrust_wall),
        compound,
        is_launch,
        way.shaft_pricing == "pit",
        shape.n_bores * (way.shaft_pricing == "each"),
    )


def _add_hole(
    q: Quantities,
    area_m2: NDArray[np.float64],
    soil: NDArray[np.int64],
    wet: NDArray[np.bool_],
    depth: NDArray[np.float64],
    a: Assumptions,
) -> None:
    """Digging by depth bands, base, backfill; `area_m2` is 0 where there is no such shaft."""
    works = a.shaft
    factor = np.array([one.shaft_factor for one in a.soil.values()])[soil]
    plug = np.where(wet, works.plug_thickness_m, works.dry_slab_m)
    to_base = depth_in_bands_m(depth, works.band_base_m)
    below = depth_in_bands_m(depth + works.plug_thickness_m, works.band_base_m) - to_base
    for band, weight in enumerate(works.band_factors):
        volume = weight * factor * area_m2
        q.add(works.dry_items[band], np.where(wet, 0.0, volume * to_base[:, band]))
        q.add(works.wet_items[band], np.where(wet, volume * to_base[:, band], 0.0))
        plug_item = PLUG_DIG_ITEMS.get(works.wet_items[band], works.wet_items[band])
        q.add(plug_item, np.where(wet, volume * below[:, band], 0.0))
    q.add("SH20", area_m2 * plug)
    # the plug lies below the depth, the slab of a dry shaft within it
    q.add("SH26", area_m2 * np.maximum(depth - np.where(wet, 0.0, works.dry_slab_m), 0.0))
    add_surplus(q, soil, area_m2 * plug, a)


def _add_wells(
    q: Quantities,
    perimeter_m: NDArray[np.float64],
    soil: NDArray[np.int64],
    depth: NDArray[np.float64],
    a: Assumptions,
) -> None:
    """Wells round a hole that is kept dry by them; `perimeter_m` is 0 where there are none.

    As for trenches: none in ground too tight to give water, twice as many where it is very pervious.
    """
    k = np.array([one.permeability_m_per_s for one in a.soil.values()])[soil]
    rows = np.where(k < a.trench.well_point_least_k_m_per_s, 0.0, 1.0)
    rows = np.where(k > a.trench.well_point_most_k_m_per_s, 2.0, rows)
    wells = rows * np.ceil(perimeter_m / a.shaft.well_spacing_m - _ROUNDING)
    q.add("SH28", wells * (depth + a.shaft.well_below_base_m))


def _add_launches(q: Quantities, table: RoleTable, roles: NDArray[np.int64], a: Assumptions) -> None:
    """Add the move of each method's rig, once at a factor for both ways, and one power supply."""
    for index, name in enumerate(enabled_methods(a)):
        n_launches = np.sum(roles == 1 + 2 * index, axis=0)
        moves = np.where(n_launches == 2, a.shaft.both_ways_factor, n_launches)
        q.add_each(a.methods[name].launch_items, moves)
    q.add("CO12", table.is_launch[roles].any(axis=0))


def _add_approach(
    q: Quantities,
    roles: NDArray[np.int64],
    soil: NDArray[np.int64],
    depth: NDArray[np.float64],
    a: Assumptions,
) -> None:
    """Add an approach cut behind each reception."""
    invert = depth - a.shaft.sump_m
    slope = cotangent([one.slope_deg for one in a.soil.values()])[soil]
    for index, name in enumerate(enabled_methods(a)):
        shape = method_geometry(a, name)
        if not a.methods[name].has_layout or shape.is_drilled:
            continue
        cut = approach_cut_m3(
            invert,
            a.pipe.cold_bend_diameters * shape.pipe_diameter_m,
            n_strings=shape.n_bores,
            spacing_m=shape.spacing_m,
            width_m=a.shaft.approach_cut_width_m,
            slope_cotangent=slope,
        )
        q.add("CO13", cut * np.sum(roles == 2 + 2 * index, axis=0))
