"""Quantities of the digs behind shafts in which the cables climb from the bores to the trench.

Room: ``money``. May import ``assumptions``, ``engineering``, ``drives``.

Place by place along the ramp a dig has slopes, where they stand, the working strip has room for them and
the water can be lowered, or upright walls, whichever is cheaper at the expected rates: walls and digging by
depth, wells beside slopes and a plug between walls below the highest groundwater, pumps, backfill, what the
plug displaces. All this depends on method, soil, depth and groundwater alone: a table by steps of depth,
worked out once and read by search, bill and plan alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.drives.ramp import dig_below_axis_m, laid_run_m, most_shift_m, trench_axis_m
from routescreen.drives.ramp_pit import (
    PitStations,
    bottom_axis_m,
    joined_stations,
    pit_bottom_m,
    pit_slope_deg,
    plain_stations,
    spread_stations,
    walled_pits,
)
from routescreen.drives.ramp_spread import hold_axis_m, spreads, work_out_spreads
from routescreen.engineering.dig import neighbour_spacing_m, side_by_side_m2
from routescreen.engineering.dig_slope import undrained_height_m
from routescreen.engineering.shaft import depth_in_bands_m
from routescreen.engineering.trench import cotangent
from routescreen.money.items import bill_items, rates_eur
from routescreen.money.measure_trench import DIG_ITEMS
from routescreen.money.quantities import SURPLUS_ITEMS, surplus_shares

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions, Soil

    Array = NDArray[np.float64]
    Items = dict[str, Array]

WALL_BASE_M = (4.0, 8.0, np.inf)  # bands of the items of the walls
DRY_WALL_ITEMS = ("SH40", "SH41", "SH42")
TIGHT_WALL_ITEMS = ("SH43", "SH44", "SH45")
LEAST_STEP_M = (
    0.25  # between these finer steps of the shafts' depth are interpolated: tables grow with the square
)
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class RampPits:
    """What the ramps of one method need in one soil, by step of the groundwater and of the shaft's depth.

    Attributes
    ----------
    items : ndarray of int64, shape (m,)
        Places in the list of items.
    quantities : ndarray of shape (w, n, m)
        In the items' units. Row 0 and 1 of the groundwater: at the surface, then one step deeper each.
    eur : ndarray of shape (w, n)
        At the expected rates; never less for a deeper shaft [EUR].
    dug_m3 : ndarray of shape (w, n)
        In place, beyond the trenches [m3].
    sloped_m, walled_m : ndarray of shape (w, n)
        Length with slopes and with walls, where the dig is deeper than the trench [m].
    plug_m3 : ndarray of shape (w, n)
        Concrete of the plug [m3].
    """

    items: NDArray[np.int64]
    quantities: Array
    eur: Array
    dug_m3: Array
    sloped_m: Array
    walled_m: Array
    plug_m3: Array


def ramp_steps(a: Assumptions) -> int:
    """Return how many steps of the shafts' depth make one of the ramps', at least `LEAST_STEP_M` deep."""
    return max(int(np.ceil(LEAST_STEP_M / a.shaft.depth_step_m - _ROUNDING)), 1)


def ramp_step_m(a: Assumptions) -> float:
    """Return the step of the ramps' depth [m]."""
    return ramp_steps(a) * a.shaft.depth_step_m


def ramp_level(depth_m: ArrayLike, a: Assumptions) -> NDArray[np.int64]:
    """Return the step of a shaft's depth, rounded up."""
    steps = np.ceil(np.asarray(depth_m, dtype=np.float64) / a.shaft.depth_step_m - _ROUNDING)
    return np.asarray(np.maximum(steps, 0.0), np.int64)


def ramp_water(groundwater_m: ArrayLike, a: Assumptions) -> NDArray[np.int64]:
    """Return the row of the groundwater as given: the first step of depth that lies below it, at least 0."""
    steps = np.floor(np.asarray(groundwater_m, dtype=np.float64) / ramp_step_m(a) + _ROUNDING) + 1.0
    return np.asarray(np.clip(steps, 0.0, np.iinfo(np.int32).max), np.int64)


def n_waters(n_levels: int, a: Assumptions) -> int:
    """Return how many rows of the groundwater tell all ramps of so many steps of the shafts' depth apart."""
    return _n_rows(_n_steps(n_levels, a), a)


def _n_steps(n_levels: int, a: Assumptions) -> int:
    return -(-(n_levels - 1) // ramp_steps(a)) + 1


def _n_rows(n_steps: int, a: Assumptions) -> int:
    return n_steps + 2 + int(np.ceil(a.groundwater.highest_rise_m / ramp_step_m(a)))


def ramp_pits(a: Assumptions, role: int, soil: int, deepest: int) -> RampPits:
    """Measure the ramps of a role in a soil, down to a step of depth at least.

    Parameters
    ----------
    a : Assumptions
    role : int
        Above 0; launch and reception alike.
    soil : int
        Place in the list of soils.
    deepest : int
        Step of the ramps' depth.
    """
    return _table(a, enabled_methods(a)[(role - 1) // 2], soil, 32 * (1 + deepest // 32))


@once_per_assumptions
def _table(a: Assumptions, method: str, soil: int, n: int) -> RampPits:
    step_m = ramp_step_m(a)
    bottom_m = bottom_axis_m(a, method, step_m * np.arange(n + 1, dtype=np.float64))
    water_m = step_m * np.maximum(np.arange(_n_rows(n + 1, a)) - 1.0, 0.0)
    measured = PitMeasures(a, soil)
    alike, is_own = _told_apart(a, water_m, bottom_m)
    row, level = np.nonzero(is_own)
    run_m = np.zeros(is_own.shape)
    run_m[...] = laid_run_m(bottom_m - trench_axis_m(a), most_shift_m(a, method), a)
    stations, which = plain_stations(a, method, bottom_m), level.copy()
    held = spreads(a, method, soil, bottom_m[level], hold_axis_m(water_m, a)[row])
    is_apart = held.applies
    if is_apart.any():
        row_apart, level_apart = row[is_apart], level[is_apart]
        apart = spread_stations(a, method, bottom_m[level_apart], held.rows(is_apart))
        stations = joined_stations([stations, apart])
        which[is_apart] = n + 1 + np.arange(len(row_apart))
        run_m[row_apart, level_apart] += held.more_m[is_apart]
    found = measured.pits(stations, water_m[row] - a.groundwater.highest_rise_m, which)
    found[0][:, measured.codes.index(a.cable.ramp_item)] = a.link.n_cables * run_m[row, level]
    cell = np.zeros(is_own.shape, np.int64)
    cell[row, level] = np.arange(len(row))
    cell = cell[alike, np.arange(n + 1)]
    quantities, dug_m3, sloped_m, walled_m, plug_m3 = (values[cell] for values in found)
    items = np.array([bill_items(a).index[code] for code in measured.codes], np.int64)
    eur = quantities @ rates_eur(a)[items]
    # a gentler way up may cost less than a shorter one: then the dearer of both counts
    at = np.where(eur >= np.maximum.accumulate(eur, axis=1), np.arange(eur.shape[1]), 0)
    rows, at = np.arange(len(eur))[:, np.newaxis], np.maximum.accumulate(at, axis=1)
    kept = (values[rows, at] for values in (quantities, eur, dug_m3, sloped_m, walled_m, plug_m3))
    return RampPits(items, *kept)


def _told_apart(
    a: Assumptions, water_m: Array, bottom_m: Array
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return for each row of the water and level the row it is like, and whether that is itself, (w, n).

    The first two rows are alike. So are all whose highest water does not reach the dig: nothing is wet, and
    the ground may dry out all the way.
    """
    highest_m = water_m - a.groundwater.highest_rise_m
    driest = np.minimum(np.searchsorted(highest_m, bottom_m + dig_below_axis_m(a)), len(water_m) - 1)
    rows = np.arange(len(water_m))[:, np.newaxis]
    alike = np.clip(rows, 1, driest)
    return alike, rows == alike


class PitMeasures:
    """Measures digs in one soil.

    Parameters
    ----------
    a : Assumptions
    soil : int
        Place in the list of soils.
    """

    def __init__(self, a: Assumptions, soil: int) -> None:
        self.a, self.number = a, soil
        self.soil: Soil = list(a.soil.values())[soil]
        self.dig_item = DIG_ITEMS[self.soil.dig_class]
        self.width_m = pit_bottom_m(a)
        walls = (*DRY_WALL_ITEMS, *TIGHT_WALL_ITEMS)
        used = (a.cable.ramp_item, self.dig_item, "TR52", "SH28", "SH24", "SH20", *walls, *SURPLUS_ITEMS)
        self.codes = list(dict.fromkeys(used))
        rates, index = rates_eur(a), bill_items(a).index
        self.rate = {code: float(rates[index[code]]) for code in self.codes}

    def pits(
        self, at: PitStations, highest_m: Array, which: NDArray[np.int64]
    ) -> tuple[Array, Array, Array, Array, Array]:
        """Measure digs at several depths of the water.

        Parameters
        ----------
        at : PitStations
            Of n ramps.
        highest_m : ndarray of shape (c,)
            Depth of the highest groundwater [m].
        which : ndarray of int64, shape (c,)
            For which of the ramps.

        Returns
        -------
        tuple of ndarray
            Quantities (c, m) in the order of `codes`, ramps' own item apart; dug [m3], sloped [m],
            walled [m], plug [m3] of shape (c,).
        """
        a = self.a
        is_deeper = (at.depth_m > a.trench_depth_m + _ROUNDING)[which]
        head_m = at.depth_m[which] - highest_m[:, np.newaxis]
        is_wet = is_deeper & (head_m > _ROUNDING)
        sloped, wells, sloped_dug_m2, has_room = self._sloped(at)
        walled, plugged, walled_dug_m2, plug_m2 = self._walled(at)
        is_lowered = ~is_wet | (head_m <= a.shaft.ramp_lowering_most_m) | (not self._gives_water)
        sloped_eur = self._eur(sloped)[which] + is_wet * self._eur(wells)[which]
        walled_eur = np.where(is_wet, self._eur(plugged)[which], self._eur(walled)[which])
        is_sloped = ~is_deeper | (has_room[which] & is_lowered & (sloped_eur <= walled_eur))
        along = at.length_m[which] * is_deeper
        takes = {
            "sloped": is_sloped,
            "wells": is_sloped & is_wet,
            "walled": ~is_sloped & ~is_wet,
            "plugged": ~is_sloped & is_wet,
        }
        total = np.zeros((len(which), len(self.codes)))
        options = (sloped, wells, walled, plugged)
        for taken, items in zip(takes.values(), options, strict=True):
            for code, per_m in items.items():
                total[:, self.codes.index(code)] += (taken * (along * per_m[which])).sum(axis=-1)
        months = a.shaft.ramp_open_months.expected
        total[:, self.codes.index("SH24")] = np.where(is_wet.any(axis=-1), months, 0.0)
        plug_m2 = takes["plugged"] * plug_m2[which]
        dug_m2 = np.where(is_sloped, sloped_dug_m2[which], walled_dug_m2[which] + plug_m2)
        return (
            total,
            (along * dug_m2).sum(axis=-1),
            (along * is_sloped).sum(axis=-1),
            (along * ~is_sloped).sum(axis=-1),
            (along * plug_m2).sum(axis=-1),
        )

    @property
    def _gives_water(self) -> bool:
        """Whether the soil gives water to wells; tighter ground is kept dry by sumps."""
        return self.soil.permeability_m_per_s >= self.a.trench.well_point_least_k_m_per_s

    def _eur(self, items: Items) -> Array:
        return np.asarray(sum(self.rate[code] * per_m for code, per_m in items.items()))

    def _by_slices(self, area_m2: Callable[[Array], Array], depth_m: Array) -> tuple[Array, Array]:
        """Add up the area of a dig below the topsoil: as it is, and each slice of depth by its factor.

        `area_m2` is asked for all heights above the bottom at which slices begin, as rows.
        """
        a = self.a
        top_m = depth_m - min(a.trench.topsoil_m, a.trench_depth_m)
        begin_m = (0.0, *a.trench.slice_base_m[:-1])
        high_m = np.array([np.minimum(np.maximum(depth_m - one, 0.0), top_m) for one in begin_m])
        area = area_m2(high_m)
        whole = np.zeros(area.shape[1:])
        for k, weight in enumerate(a.trench.slice_factors):
            below = area[k + 1] if k + 1 < len(area) else 0.0
            whole = whole + weight * (area[k] - below)
        return area[0], whole

    def _sloped(self, at: PitStations) -> tuple[Items, Items, Array, NDArray[np.bool_]]:
        """Measure a metre with slopes, dry; its wells; what is dug [m2]; whether they stand and have room."""
        a, depth_m = self.a, at.depth_m
        run = cotangent(pit_slope_deg(a, self.soil, depth_m))

        def dug(slope: Array) -> Callable[[Array], Array]:
            return lambda height_m: side_by_side_m2(
                height_m, at.place_m, width_m=self.width_m, slope_cotangent=slope
            )

        area_m2, priced_m2 = self._by_slices(dug(run), depth_m)
        trench_m = np.full((1, 1), a.trench_depth_m)
        less_m2, less_priced_m2 = self._by_slices(dug(cotangent(self.soil.slope_deg)), trench_m)
        area_m2, priced_m2 = area_m2 - less_m2, priced_m2 - less_priced_m2
        top_m = neighbour_spacing_m(at.place_m).sum(axis=0) + self.width_m + 2.0 * run * depth_m
        items = {self.dig_item: priced_m2, "TR52": area_m2 * self.soil.backfill_factor}
        rows = 2.0 if self.soil.permeability_m_per_s > a.trench.well_point_most_k_m_per_s else 1.0
        per_m = rows * self._gives_water * 2.0 / a.shaft.well_spacing_m
        stands_m = undrained_height_m(self.soil.cu_kPa, self.soil.gamma_sat_kN_per_m3)
        can_stand = (top_m <= a.working_strip_m) & (depth_m <= stands_m)
        return items, {"SH28": per_m * (depth_m + a.shaft.well_below_base_m)}, area_m2, can_stand

    def _walled(self, at: PitStations) -> tuple[Items, Items, Array, Array]:
        """Measure a metre between walls, dry, and wet with its plug; what is dug, the plug [m2]."""
        a, depth_m = self.a, at.depth_m
        pits = walled_pits(at.place_m, self.width_m)
        area_m2 = pits.width_m * (depth_m - a.trench_depth_m)
        priced_m2 = self._by_slices(lambda y: pits.width_m * y, depth_m)[1]
        trench_m = np.full((1, 1), a.trench_depth_m)
        priced_m2 = priced_m2 - self._by_slices(lambda y: pits.width_m * y, trench_m)[1]
        common = {self.dig_item: priced_m2, "TR52": area_m2 * self.soil.backfill_factor}
        wall_m = depth_m * (1.0 + a.shaft.ramp_embedment_frac)
        faces_m2 = 2.0 * pits.n_pits[..., np.newaxis] * depth_in_bands_m(wall_m, WALL_BASE_M)
        dry = common | {code: faces_m2[..., k] for k, code in enumerate(DRY_WALL_ITEMS)}
        plug_m2 = pits.width_m * a.shaft.ramp_plug_m
        wet = common | {code: faces_m2[..., k] for k, code in enumerate(TIGHT_WALL_ITEMS)}
        wet[self.dig_item] = priced_m2 + a.trench.slice_factors[-1] * plug_m2
        wet["SH20"] = plug_m2
        shares = surplus_shares(list(a.soil.values()))[:, self.number]
        wet |= {code: share * plug_m2 for code, share in zip(SURPLUS_ITEMS, shares, strict=True)}
        return dry, wet, area_m2, plug_m2


@dataclass(frozen=True, slots=True)
class RampGrounds:
    """What decides on the ramps of n shafts: roles and soils, shape (2, n), depth and groundwater, (n,)."""

    roles: NDArray[np.int64]
    soils: NDArray[np.int64]
    is_in_rock: NDArray[np.bool_]
    depth_m: Array
    groundwater_m: Array


@dataclass(frozen=True, slots=True)
class RampWorks:
    """The dearest ramps of one shaft, see `RampPits`."""

    quantities: Array
    eur: float
    dug_m3: float
    sloped_m: float
    walled_m: float
    plug_m3: float


def ramp_works(at: RampGrounds, a: Assumptions) -> list[RampWorks]:
    """Measure the ramps of shafts.

    Parameters
    ----------
    at : RampGrounds
    a : Assumptions

    Returns
    -------
    list of RampWorks, n
        One ramp a shaft: the dearest of its roles', in the soil or, where the shaft goes into rock, in rock.
    """
    levels, waters = ramp_level(at.depth_m, a), ramp_water(at.groundwater_m, a)
    return [_dearest(at, i, int(levels[i]), int(waters[i]), a) for i in range(len(levels))]


def _between(
    level: ArrayLike, a: Assumptions
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Return the ramps' steps above and below a step of the shafts' depth, and the share of the one below."""
    steps, level = ramp_steps(a), np.asarray(level, np.int64)
    return level // steps, -(-level // steps), level % steps / steps


def _dearest(at: RampGrounds, i: int, level: int, water: int, a: Assumptions) -> RampWorks:
    best = RampWorks(np.zeros(len(bill_items(a))), 0.0, 0.0, 0.0, 0.0, 0.0)
    soils = [int(at.soils[0, i])] + [int(at.soils[1, i])] * bool(at.is_in_rock[i])
    for role in sorted({int(role) for role in at.roles[:, i]} - {0}):
        for soil in soils:
            found = _works_at(role, soil, level, water, a)
            if found.eur > best.eur:
                best = found
    return best


def _works_at(role: int, soil: int, level: int, water: int, a: Assumptions) -> RampWorks:
    lower, upper, share = _between(level, a)
    pits = ramp_pits(a, role, soil, int(upper))
    row = min(water, len(pits.eur) - 1)

    def at_depth(values: Array) -> Array:
        return np.asarray((1.0 - share) * values[row, lower] + share * values[row, upper])

    quantities = np.zeros(len(bill_items(a)))
    quantities[pits.items] = at_depth(pits.quantities)
    rest = (pits.eur, pits.dug_m3, pits.sloped_m, pits.walled_m, pits.plug_m3)
    return RampWorks(quantities, *(float(at_depth(one)) for one in rest))


def work_out_ramps(role: int, soils: Iterable[int], n_levels: int, a: Assumptions) -> None:
    """Work out at once how far ramps are spread in many soils, which `role_ramp_eur` will ask for."""
    method = enabled_methods(a)[(role - 1) // 2]
    if not method_geometry(a, method).is_drilled:
        deepest = 32 * (1 + (_n_steps(n_levels, a) - 1) // 32)
        steps_m = ramp_step_m(a) * np.arange(deepest + 1, dtype=np.float64)
        work_out_spreads(a, method, soils, bottom_axis_m(a, method, steps_m))


def role_ramp_eur(role: int, soil: int, n_levels: int, a: Assumptions) -> Array:
    """Price the ramps of a role in one soil.

    Parameters
    ----------
    role : int
        Above 0.
    soil : int
        Place in the list of soils.
    n_levels : int
        Steps of the shafts' depths, 0 included.
    a : Assumptions

    Returns
    -------
    ndarray of shape (`n_waters`, n_levels)
        By row of the groundwater, whose steps are the ramps', and step of the shafts' depth [EUR].
    """
    eur = ramp_pits(a, role, soil, _n_steps(n_levels, a) - 1).eur[: n_waters(n_levels, a)]
    lower, upper, share = _between(np.arange(n_levels), a)
    return np.asarray((1.0 - share) * eur[:, lower] + share * eur[:, upper])
