"""How far apart the cables of a ramp are held, so that they bear the link's current on the way up.

Room: ``drives``. May use ``assumptions``, ``engineering`` and numpy.

Bores below the lowest groundwater lie in ground that can't dry out; their cables then climb through ground
that may. Drawn together from the shaft on, they may lie too close there for its depth. So they are moved
apart below the groundwater and drawn together from there (``ramp.Spread``). Where that is needed and how far
apart depends on the method, the soil, the depth of the bores and that of the lowest groundwater alone: a
table that is worked out once, on a grid of depths, and read on the safe side, by search, bill and plan alike.
The ground counts as at the shaft, all along the ramp.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.cable_make import (
    asked_A,
    cable_make,
    current_shares,
    is_rated,
    surround,
    undisturbed_degC,
)
from routescreen.drives.ramp import (
    Spread,
    held_offsets_m,
    laid_run_m,
    most_shift_m,
    most_way_aside_m,
    ramp_radius_m,
    shaft_offsets_m,
    trench_axis_m,
    trench_offsets_m,
)
from routescreen.drives.trench_spacing import bedding_zone_m, spacings_m
from routescreen.engineering.ramp import crossed_m
from routescreen.engineering.rating import Bedding, HeatPath, group_heat, heated_rating

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions

    Array = NDArray[np.float64]

SPREAD_STEP_M = 0.5
_N_PLACES = 33  # along each S-bend: about every metre
_SAME_A = 1e-6
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class RampGround:
    """The ground at a shaft from which ramps lead.

    `soil`, `rock_soil` are places in the list of soils, `rock_depth_m` is inf where there is none,
    `groundwater_depth_m` is as given [m].
    """

    soil: int
    rock_soil: int
    rock_depth_m: float
    groundwater_depth_m: float


@dataclass(frozen=True, slots=True)
class SpreadTable:
    """What ramps of one method in one soil ask for, by depth.

    Depths are whole steps below the axes of the trench, the first 0.

    Attributes
    ----------
    plain_bears : ndarray of bool, shape (n, n)
        By the depth of the bores and that from which upwards the ground may dry out: whether the cables may
        draw together from the shaft on. Never again below a depth of the bores where they may not.
    spacing_m : ndarray of shape (n,)
        By the depth from which upwards the ground may dry out: how far apart they are held there; never
        less further down [m].
    more_m : ndarray of shape (n, n)
        By the same depths as `plain_bears`: how much longer the ramps are than one S-bend; never less for
        deeper bores [m].
    """

    plain_bears: NDArray[np.bool_]
    spacing_m: Array
    more_m: Array


def hold_axis_m(groundwater_m: ArrayLike, a: Assumptions) -> Array:
    """Return the depth of the axes from which upwards the ground may dry out.

    Parameters
    ----------
    groundwater_m : array_like
        Depth of the groundwater as given [m].
    a : Assumptions

    Returns
    -------
    ndarray
        Where the pipes' crowns reach the lowest groundwater. That as given counts as at the next whole step
        of the shafts' depths, as in the search's prices [m].
    """
    step_m = a.shaft.depth_step_m
    lower_m = (np.floor(np.asarray(groundwater_m, dtype=np.float64) / step_m + _ROUNDING) + 1.0) * step_m
    return np.asarray(lower_m + a.groundwater.lowest_fall_m + a.pipe.trench_outer_diameter_m / 2.0)


def spread_at(a: Assumptions, method: str, bottom_m: float, ground: RampGround) -> Spread | None:
    """Choose how far apart the cables of a ramp are held.

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive.
    bottom_m : float
        Depth of the axes of the bores at the shaft [m].
    ground : RampGround
        Rock counts where the bores begin in it.

    Returns
    -------
    Spread or None
        None where they may draw together from the shaft on, or no spacing does better.
    """
    if not is_spread(a):
        return None
    bottom_m = max(bottom_m, trench_axis_m(a))
    dry_m = float(hold_axis_m(ground.groundwater_depth_m, a))
    soils = [ground.soil] + [ground.rock_soil] * (bottom_m > ground.rock_depth_m)
    low, dry = (int(_step_of(a, np.array(depth_m))) for depth_m in (bottom_m, min(dry_m, bottom_m)))
    tables = [spread_table(a, method, soil, low) for soil in soils]
    asking = [table for table in tables if not table.plain_bears[low, dry]]
    if not asking:
        return None
    return Spread(
        hold_m=min(dry_m, bottom_m),
        spacing_m=max(float(table.spacing_m[dry]) for table in asking),
        more_m=max(float(table.more_m[low, dry]) for table in asking),
    )


def is_spread(a: Assumptions) -> bool:
    """Return whether cables are held apart on ramps at all: steered by ratings, and there are some."""
    return a.search.rating_steers and is_rated(a) and a.link.n_cables > 1


def spread_more_m(a: Assumptions, method: str, soil: int, bottom_m: ArrayLike, hold_m: ArrayLike) -> Array:
    """Return how much longer ramps are whose cables are held apart where the ground asks for it.

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive.
    soil : int
        Place in the list of soils.
    bottom_m, hold_m : array_like of shape (n,)
        Depths of the axes of the bores, and of those from which upwards the ground may dry out [m].

    Returns
    -------
    ndarray of shape (n,)
        Plan length beyond that of one S-bend, 0 where that bears the current; doesn't fall with
        `bottom_m` [m].
    """
    bottom, hold = np.broadcast_arrays(*(np.asarray(one, dtype=np.float64) for one in (bottom_m, hold_m)))
    if not is_spread(a):
        return np.zeros(bottom.shape)
    low = _step_of(a, bottom)
    table = spread_table(a, method, soil, int(low.max(initial=0)))
    return np.asarray(table.more_m[low, _step_of(a, np.minimum(hold, bottom))])


@dataclass(frozen=True, slots=True)
class Spreads:
    """How the cables of n ramps are held apart, as ``ramp.Spread``; void where not `applies`."""

    applies: NDArray[np.bool_]
    hold_m: Array
    spacing_m: Array
    more_m: Array

    def rows(self, which: NDArray[np.bool_]) -> Spreads:
        """Return some of the ramps."""
        return Spreads(self.applies[which], self.hold_m[which], self.spacing_m[which], self.more_m[which])


def spreads(a: Assumptions, method: str, soil: int, bottom_m: Array, hold_m: Array) -> Spreads:
    """Choose how far apart the cables of ramps are held in one soil.

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive.
    soil : int
        Place in the list of soils.
    bottom_m, hold_m : ndarray of shape (n,)
        Depths of the axes of the bores at the shaft, and of those from which upwards the ground may dry
        out [m].

    Returns
    -------
    Spreads
        As `spread_at` chooses in ground without rock.
    """
    nothing = np.zeros(len(bottom_m))
    if not is_spread(a):
        return Spreads(nothing > 0.0, nothing, nothing, nothing)
    held_m = np.minimum(hold_m, bottom_m)
    low, dry = _step_of(a, bottom_m), _step_of(a, held_m)
    table = spread_table(a, method, soil, int(low.max(initial=0)))
    return Spreads(~table.plain_bears[low, dry], held_m, table.spacing_m[dry], table.more_m[low, dry])


def _step_of(a: Assumptions, depth_m: Array) -> NDArray[np.int64]:
    """Return the step of the table's depths at or below depths."""
    steps = np.ceil((depth_m - trench_axis_m(a)) / a.shaft.depth_step_m - _ROUNDING)
    return np.asarray(np.maximum(steps, 0.0), dtype=np.int64)


def work_out_spreads(a: Assumptions, method: str, soils: Iterable[int], bottom_m: ArrayLike) -> None:
    """Work out for many soils at once what `spread_more_m` will be asked for: sooner than one by one.

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive.
    soils : iterable of int
        Places in the list of soils.
    bottom_m : array_like
        Depths of the axes of the bores [m].
    """
    if is_spread(a):
        low = _step_of(a, np.asarray(bottom_m, dtype=np.float64))
        _work_out(a, method, list(soils), _n_steps(int(low.max(initial=0))))


def spread_table(a: Assumptions, method: str, soil: int, deepest: int) -> SpreadTable:
    """Work out what ramps of a method ask for in a soil, down to a step of depth.

    The table has at least the steps asked for; it is made for some more at a time. What it says of a depth
    doesn't hang on how deep it goes, so the deepest one made serves all.
    """
    n = _n_steps(deepest)
    if not _reaches(_tables(a).get((method, soil)), n):
        _work_out(a, method, [soil], n)
    return _tables(a)[method, soil]


def _n_steps(deepest: int) -> int:
    return 32 * (1 + deepest // 32)


def _reaches(table: SpreadTable | None, n: int) -> bool:
    return table is not None and len(table.spacing_m) > n


@once_per_assumptions
def _tables(a: Assumptions) -> dict[tuple[str, int], SpreadTable]:  # noqa: ARG001
    """Return the deepest tables worked out so far, by method and soil."""
    return {}


def _work_out(a: Assumptions, method: str, soils: list[int], n: int) -> None:
    """Work out the tables of some soils; those whose ramps end alike share the shape of their ramps."""
    kept = _tables(a)
    alike: dict[tuple[float, ...], list[int]] = {}
    for soil in soils:
        if not _reaches(kept.get((method, soil)), n):
            alike.setdefault(tuple(_foot_m(a, soil).tolist()), []).append(soil)
    depth_m = trench_axis_m(a) + a.shaft.depth_step_m * np.arange(n + 1, dtype=np.float64)
    for foot_m, group in alike.items():
        paths, foot = [_dry_path(a, soil) for soil in group], np.array(foot_m)
        held = _held_by_depth(a, depth_m, tried_spacings_m(a, method), paths, foot)
        plain = _plain_least_A(a, method, depth_m, paths, foot)
        for soil, (spacing_m, best_A), least_A in zip(group, held, plain, strict=True):
            kept[method, soil] = _table(a, method, depth_m, (spacing_m, best_A), least_A)


def _table(
    a: Assumptions, method: str, depth_m: Array, held: tuple[Array, Array], least_A: Array
) -> SpreadTable:
    """Return a table from the spacings that are held with their ratings, and the ratings of plain ramps."""
    spacing_m, best_A = held
    # what no spacing betters is left as it is; so is what the formulae don't cover
    wanted_A = np.minimum(asked_A(a), best_A - _SAME_A)
    steps = np.arange(len(depth_m))
    bears = ~(least_A < wanted_A[np.minimum(steps[:, np.newaxis], steps)])
    bears = np.logical_and.accumulate(bears, axis=0)
    more_m = np.zeros(bears.shape)
    more_m[~bears] = _more_m(a, method, depth_m, spacing_m, *np.nonzero(~bears))
    return SpreadTable(bears, spacing_m, np.maximum.accumulate(more_m, axis=0))


def _more_m(
    a: Assumptions,
    method: str,
    depth_m: Array,
    spacing_m: Array,
    low: NDArray[np.int64],
    dry: NDArray[np.int64],
) -> Array:
    """Return how much longer two S-bends are than one, at cells of `SpreadTable.more_m`, shape (m,) [m]."""
    dry = np.minimum(low, dry)  # where the bores lie higher, the ground may dry out from there
    top_m = trench_axis_m(a)
    at_shaft_m, most_m = shaft_offsets_m(a, method), most_shift_m(a, method)
    held = [held_offsets_m(a, float(one)) for one in spacing_m]
    apart_m = np.array([np.abs(one - at_shaft_m).max() for one in held])
    aside_m = np.array([most_way_aside_m(a, one) for one in held])
    first_m = laid_run_m(depth_m[low] - depth_m[dry], apart_m[dry], a)
    last_m = laid_run_m(depth_m - top_m, aside_m, a)[dry]
    more_m = first_m + last_m - laid_run_m(depth_m - top_m, most_m, a)[low]
    return np.maximum(more_m, 0.0)


def tried_spacings_m(a: Assumptions, method: str) -> Array:
    """Return the spacings at which cables may be held, from that at the shaft on, shape (m,) [m].

    Up to ``cable.ramp_spacing_most_m``; that at the shaft alone where it is as much.
    """
    first_m = float(np.min(np.diff(shaft_offsets_m(a, method))))
    n = int(np.floor((a.cable.ramp_spacing_most_m - first_m) / SPREAD_STEP_M + _ROUNDING))
    return np.asarray(first_m + SPREAD_STEP_M * np.arange(max(n, 0) + 1))


def _held_by_depth(
    a: Assumptions, depth_m: Array, tried_m: Array, paths: list[HeatPath], foot_m: Array
) -> list[tuple[Array, Array]]:
    """Return for each soil the least spacing that bears the current from each depth on, and the rating there.

    Where none bears it, the one that comes nearest.
    """
    least_A = np.empty((len(paths), len(tried_m), len(depth_m)))
    for row, one in enumerate(tried_m):
        held_m = held_offsets_m(a, float(one))
        rating_A = _leg_ratings_A(a, depth_m, held_m, most_way_aside_m(a, held_m), paths, foot_m)[1]
        for soil, rated_A in enumerate(rating_A):
            least_A[soil, row] = np.nan_to_num(rated_A.min(axis=-1), nan=-np.inf)
    return [_least_spacing_m(a, tried_m, of_soil) for of_soil in least_A]


def _least_spacing_m(a: Assumptions, tried_m: Array, least_A: Array) -> tuple[Array, Array]:
    """Choose spacings and their ratings by depth from those of all that are tried, shape (m, n)."""
    n = least_A.shape[1]
    spacing_m, best_A, first = np.zeros(n), np.zeros(n), 0
    for k in range(n):  # never less further down
        best_A[k] = least_A[first:, k].max()
        first += int(np.argmax(least_A[first:, k] >= min(asked_A(a), best_A[k] - _SAME_A)))
        spacing_m[k] = tried_m[first]
    return spacing_m, best_A


def _plain_least_A(
    a: Assumptions, method: str, depth_m: Array, paths: list[HeatPath], foot_m: Array
) -> list[Array]:
    """Return for each soil the lowest rating above each depth on plain ramps from each, shape (n, n) [A]."""
    held_m, aside_m = shaft_offsets_m(a, method), most_shift_m(a, method)
    axes_m, ratings_A = _leg_ratings_A(a, depth_m, held_m, aside_m, paths, foot_m)
    # a ramp only climbs: what may dry out from a depth upwards are its last places
    limit_m = depth_m + _ROUNDING
    n_below = np.array([axis_m.size - np.searchsorted(axis_m[::-1], limit_m, "right") for axis_m in axes_m])
    return [_least_from_A(rating_A, n_below) for rating_A in ratings_A]


def _least_from_A(rating_A: Array, first: NDArray[np.int64]) -> Array:
    """Return the lowest of each row's ratings from places on, inf where there is none left [A]."""
    least_A = np.minimum.accumulate(rating_A[:, ::-1], axis=1)[:, ::-1]
    none_left = np.full((len(least_A), 1), np.inf)
    return np.asarray(np.take_along_axis(np.concatenate([least_A, none_left], axis=1), first, axis=1))


def _leg_ratings_A(
    a: Assumptions, hold_m: Array, held_m: Array, aside_m: float, paths: list[HeatPath], foot_m: Array
) -> tuple[Array, list[Array]]:
    """Rate S-bends up to the trench in ground that may dry out all the way, in several soils.

    `hold_m` are m depths, `held_m` the places of the cables there, shape (k,), `aside_m` the largest
    way aside that each is laid out for. Returns the depth of the highest axis and for each soil the rating at
    places along each, all of shape (m, p).
    """
    rise_m = hold_m - trench_axis_m(a)
    run_m = laid_run_m(rise_m, aside_m, a)
    across_m = np.hypot(rise_m[:, np.newaxis], foot_m - held_m)[:, np.newaxis, :]
    along_m = run_m[:, np.newaxis] * np.linspace(0.0, 1.0, _N_PLACES)
    crossed = crossed_m(
        along_m[..., np.newaxis], across_m, run_m[:, np.newaxis, np.newaxis], ramp_radius_m(a)
    )
    share = crossed / np.where(across_m > 0.0, across_m, 1.0)
    depth_m = rise_m[:, np.newaxis, np.newaxis] * (1.0 - share) + trench_axis_m(a)
    offset_m = held_m + (foot_m - held_m) * share
    return depth_m.min(axis=-1), _ratings_A(a, depth_m, offset_m, paths)


def _ratings_A(a: Assumptions, depth_m: Array, offset_m: Array, paths: list[HeatPath]) -> list[Array]:
    """Rate cables each in a bedding of its own, in several soils."""
    zone_m = bedding_zone_m(a)
    bedding = Bedding(
        np.arange(depth_m.shape[-1]), depth_m, zone_m, zone_m, a.trench.bedding_resistivity_Km_per_W
    )
    # of the path only what all soils have in common counts
    heat = group_heat(depth_m, offset_m, paths[0], share=current_shares(a), bedding=bedding)
    ground_degC = undisturbed_degC(a, depth_m)
    return [heated_rating(heat, replace(path, ground_degC=ground_degC)).rating_A for path in paths]


def _dry_path(a: Assumptions, soil: int) -> HeatPath:
    """Return the way of the heat in a soil that may dry out; its temperature isn't read."""
    ground, around = list(a.soil.values())[soil], surround(a, a.pipe.trench_outer_diameter_m)
    return HeatPath(
        conductor_ohm_per_m=cable_make(a).ohm_per_m,
        inside_K_m_per_W=around.inside_K_m_per_W,
        outer_diameter_m=around.outer_diameter_m,
        conductor_degC=a.cable.conductor_limit_degC,
        ground_degC=a.checks.rating.ground_shallow_degC,
        rho_K_m_per_W=ground.resistivity_moist_Km_per_W,
        drying_ratio=ground.resistivity_dry_Km_per_W / ground.resistivity_moist_Km_per_W,
        drying_rise_K=a.checks.rating.drying_rise_K,
    )


def _foot_m(a: Assumptions, soil: int) -> Array:
    """Return the places of the cables where a ramp ends in a soil that may dry out, shape (k,) [m].

    At the least spacing of the trench's pipes at which they bear the current in beddings of their own.
    """
    places_m = trench_offsets_m(a, spacings_m(a))
    depth_m = np.full(places_m.shape, trench_axis_m(a))
    (rating_A,) = _ratings_A(a, depth_m, places_m, [_dry_path(a, soil)])
    bears = rating_A >= asked_A(a)
    return np.asarray(places_m[int(np.argmax(bears)) if bears.any() else -1])
