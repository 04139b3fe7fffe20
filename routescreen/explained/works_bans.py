"""What bans on shafts and on drives cost: at crossings, on ground cover, round pins.

Room: beside ``screen``. Places or ceilings are judged anew with one ban lifted, and all is searched again.
What several lifted bans open together holds what each of them opens: where that saves nothing none of them
costs anything, so that searches are spent on the bans that bind.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.corridor.burn import BurnInput, ceilings_without, places_of_shafts
from routescreen.corridor.compounds import compound_reach_m
from routescreen.search.arrays import BLOCKED_M
from routescreen.search.limit_prices import LEAST_EUR, LimitPrice, saving_without_eur
from routescreen.search.reasons import cover_title, title

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from routescreen.corridor.treatment import Crossings
    from routescreen.project import CorridorInput
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.problem import FrameProblem

DRIVE, SHAFT, LAND, PIN, METHOD = "drive_ban", "shaft_ban", "shaft_land_ban", "pin_no_shaft", "method_ban"


@dataclass(frozen=True, slots=True)
class Opened:
    """One ban and what opens without it.

    Attributes
    ----------
    limit, title : str
    shaft : ndarray of int64, shape (k,)
        Flat indices of `is_allowed` of the search's shafts.
    cell : ndarray of int64, shape (c,)
        Flat indices of `ceiling_m` of the search's drives.
    ceiling_m : ndarray of shape (c,)
        Ceilings there [m].
    """

    limit: str
    title: str
    shaft: NDArray[np.int64]
    cell: NDArray[np.int64]
    ceiling_m: NDArray[np.float64]

    @property
    def is_empty(self) -> bool:
        """Whether nothing opens, something else closing it all."""
        return len(self.shaft) == 0 and len(self.cell) == 0


def works_ban_prices(
    problem: FrameProblem,
    corridor: CorridorInput,
    optimum_eur: float,
    *,
    progress: Callable[[float], None] | None = None,
) -> list[LimitPrice]:
    """Return what each ban on shafts and on drives costs, and which methods no project has enabled.

    Parameters
    ----------
    problem : FrameProblem
    corridor : CorridorInput
        What the frame was laid over.
    optimum_eur : float
        Of the search with all bans [EUR].
    progress : callable or None
        Called with the share of the work done [-].

    Returns
    -------
    list of LimitPrice
        Of methods that are not enabled without a price.

    Notes
    -----
    Without the ban a shaft or a drive costs there what it costs by the rates of the ground and the items of
    the crossing's kind; a kind that may never be passed under has none of its own. What the audit has closed
    stays closed.
    """
    bans = opened_by(problem, corridor)
    savings_eur = _savings_eur(problem, bans, optimum_eur, progress)
    priced = [LimitPrice(ban.limit, ban.title, eur) for ban, eur in zip(bans, savings_eur, strict=True)]
    return priced + methods_not_enabled(problem)


def n_works_bans(problem: FrameProblem) -> int:
    """Return how many bans on shafts and drives there are at crossings."""
    crossings = problem.crossings
    return crossings.drive_under.count("no") + sum(word != "yes" for word in crossings.shaft_allowed)


def methods_not_enabled(problem: FrameProblem) -> list[LimitPrice]:
    """Return the methods of the catalogue that take no part: their prices need a run of their own."""
    return [
        LimitPrice(METHOD, f"That {method.title} is not enabled (methods.{name}.is_enabled)", None)
        for name, method in problem.assumptions.methods.items()
        if not method.is_enabled
    ]


def opened_by(problem: FrameProblem, corridor: CorridorInput) -> list[Opened]:
    """Return each ban on shafts and drives with what it alone closes, those at crossings in their order."""
    what = BurnInput(
        problem.frame, corridor, problem.crossings, problem.sampler, problem.ground, problem.assumptions
    )
    found = [*_drive_bans(problem, what), *_shaft_bans(problem, what)]
    return [*found, *_land_bans(problem, what), *_pin_bans(problem, what)]


def lifted(problem: FrameProblem, bans: Sequence[Opened]) -> SearchArrays:
    """Return the search's arrays without some bans."""
    arrays = problem.arrays
    allowed, ceiling_m = arrays.shaft.is_allowed.copy(), arrays.drive.ceiling_m.copy()
    for ban in bans:
        allowed.reshape(-1)[ban.shaft] = True
        np.maximum.at(ceiling_m.reshape(-1), ban.cell, ban.ceiling_m)
    shaft, drive = arrays.shaft._replace(is_allowed=allowed), arrays.drive._replace(ceiling_m=ceiling_m)
    return arrays._replace(shaft=shaft, drive=drive)


# --- Prices ---------------------------------------------------------------------------------------------


def _savings_eur(
    problem: FrameProblem,
    bans: Sequence[Opened],
    optimum_eur: float,
    progress: Callable[[float], None] | None,
) -> list[float]:
    """Return what each ban costs; groups that cost nothing together are not looked at one by one [EUR]."""
    savings_eur, groups = [0.0] * len(bans), [[k for k, ban in enumerate(bans) if not ban.is_empty]]
    n_done = 0
    while groups:
        group = groups.pop()
        if group:
            saving_eur = saving_without_eur(lifted(problem, [bans[k] for k in group]), optimum_eur)
            if len(group) == 1:
                savings_eur[group[0]] = saving_eur
            elif saving_eur >= LEAST_EUR:
                middle = len(group) // 2
                groups += [group[middle:], group[:middle]]
                continue
        n_done += len(group)
        if progress is not None:
            progress(n_done / max(len(bans), 1))
    return savings_eur


# --- Bans and what they close ---------------------------------------------------------------------------


def _drive_bans(problem: FrameProblem, what: BurnInput) -> Iterator[Opened]:
    """Yield the bans on passing under crossings."""
    for crossing in range(len(problem.crossings)):
        if problem.crossings.drive_under[crossing] == "no":
            cell, ceiling_m = _opened_cells(problem, what, crossing)
            name = f"The ban on drives under {title(problem, crossing)}"
            yield Opened(DRIVE, name, np.zeros(0, np.int64), cell, ceiling_m)


def _opened_cells(
    problem: FrameProblem, what: BurnInput, crossing: int
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the cells that open to drives once they may pass under a crossing, and their ceilings."""
    features, frame = problem.crossings.features, problem.frame
    is_member = features.crossing == crossing
    reach_m = float(features.drive_clearance_m[is_member].max()) + _cell_m(problem)
    reach_m += max((method.half_width_m for method in problem.methods), default=0.0)
    near = replace(frame, is_valid=_near(problem, features.outline[is_member], reach_m))
    passed = allowing(problem.crossings, crossing, "drive_under")
    ceiling_m = ceilings_without(replace(what, frame=near, crossings=passed))
    is_opened = (problem.arrays.drive.ceiling_m < BLOCKED_M) & (ceiling_m >= BLOCKED_M) & near.is_valid
    return np.flatnonzero(is_opened), ceiling_m[is_opened]


def _shaft_bans(problem: FrameProblem, what: BurnInput) -> Iterator[Opened]:
    """Yield the bans on shafts at crossings: in them, within their clearances, on them with compounds."""
    features = problem.crossings.features
    for crossing in range(len(problem.crossings)):
        is_member = features.crossing == crossing
        if problem.crossings.shaft_allowed[crossing] != "yes":
            reach_m = float(features.shaft_clearance_m[is_member].max()) + _shaft_reach_m(problem)
            near = _near(problem, features.outline[is_member], reach_m)
            free = replace(what, crossings=allowing(problem.crossings, crossing, "shaft_allowed"))
            name = f"The ban on shafts at {title(problem, crossing)}"
            yield _opened_shafts(problem, free, near, SHAFT, name)


def _land_bans(problem: FrameProblem, what: BurnInput) -> Iterator[Opened]:
    """Yield the classes of ground cover on which no shaft or no compound may stand."""
    a, is_valid = problem.assumptions, problem.frame.is_valid
    met = np.unique(problem.ground.node.cover_class[is_valid])
    for number, (name, cover) in enumerate(a.cover.items()):
        if number in met and (cover.shaft_allowed != "yes" or cover.compound_allowed == "no"):
            own = cover.model_copy(update={"shaft_allowed": "yes", "compound_allowed": "yes"})
            free = a.model_copy(update={"cover": {**a.cover, name: own}})
            name_ = f"The ban on shafts on {cover_title(problem, number)} ground"
            yield _opened_shafts(problem, replace(what, assumptions=free), is_valid, LAND, name_)


def _pin_bans(problem: FrameProblem, what: BurnInput) -> Iterator[Opened]:
    """Yield the circles in which a planner wants no shaft."""
    pins = what.corridor.pins
    for number in np.flatnonzero((pins["role"] == "no_shaft").to_numpy(dtype=np.bool_)):
        point, radius_m = pins.geometry.iloc[number], float(np.nan_to_num(pins["radius_m"].iloc[number]))
        near = _near(problem, np.array([point], dtype=object), radius_m + _shaft_reach_m(problem))
        others = pins[np.arange(len(pins)) != number]
        free = replace(what, corridor=replace(what.corridor, pins=others))
        x, y = shapely.get_coordinates(point)[0]
        name = f"The pin without shafts at x {x:.0f}, y {y:.0f}"
        yield _opened_shafts(problem, free, near, PIN, name)


def _opened_shafts(
    problem: FrameProblem, free: BurnInput, near: NDArray[np.bool_], limit: str, name: str
) -> Opened:
    """Return what opens to shafts without a ban, looked for at the nodes near what it keeps free."""
    allowed = problem.arrays.shaft.is_allowed
    has_ban = near & ~allowed.all(axis=(2, 3, 4))
    found, _ = places_of_shafts(replace(free, may_have_shaft=has_ban))
    is_opened = np.moveaxis(found, (0, 1, 2), (2, 3, 4)) & ~allowed
    return Opened(limit, name, np.flatnonzero(is_opened), np.zeros(0, np.int64), np.zeros(0))


def allowing(crossings: Crossings, crossing: int, what: str) -> Crossings:
    """Return the crossings, one of which and all its features allow something: a field of permissions."""
    features = crossings.features
    own: dict[str, Any] = {
        what: np.where(features.crossing == crossing, "yes", getattr(features, what)).astype(object)
    }
    words: dict[str, Any] = {
        what: tuple("yes" if k == crossing else word for k, word in enumerate(getattr(crossings, what)))
    }
    return replace(crossings, features=replace(features, **own), **words)


def _near(problem: FrameProblem, outline: NDArray[np.object_], reach_m: float) -> NDArray[np.bool_]:
    """Return the valid nodes within a distance of any of some outlines, shape (nx, ny)."""
    frame = problem.frame
    column, row = np.nonzero(frame.is_valid)
    xy_m = frame.node_xy_m[column, row]
    west, south, east, north = shapely.total_bounds(outline)
    low, high = np.array([west, south]) - reach_m, np.array([east, north]) + reach_m
    at = np.flatnonzero(np.all((xy_m >= low) & (xy_m <= high), axis=1))
    whole: Any = shapely.union_all(outline)
    shapely.prepare(whole)
    is_near = np.zeros(frame.shape, dtype=np.bool_)
    is_near[column[at], row[at]] = shapely.dwithin(whole, shapely.points(xy_m[at]), reach_m)
    return is_near


def _cell_m(problem: FrameProblem) -> float:
    """Return how far the corners of a cell may lie from its node at most [m]."""
    return float(np.hypot(problem.frame.cell_m, 2.0 * problem.frame.column_spacing_m))


def _shaft_reach_m(problem: FrameProblem) -> float:
    """Return how far from a shaft's middle its plan or its compound reaches at most [m]."""
    plans_m = [plan for m in problem.methods for plan in (m.launch_plan_m, m.reception_plan_m)]
    outer_m = max((float(np.hypot(*plan)) for plan in plans_m), default=0.0)
    return max(outer_m, compound_reach_m(problem.assumptions)) + 1.0
