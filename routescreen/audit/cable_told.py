"""What is told of the cable's rating at a place: where it lies, what rules it, what would mend it.

Room: ``audit``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import CablePlaces
from routescreen.audit.cable_ratings import heat_path
from routescreen.audit.report import Place
from routescreen.audit.scene import words
from routescreen.drives.cable_make import asked_A, current_shares, is_rated
from routescreen.drives.trench_spacing import spacings_m
from routescreen.engineering.rating import HeatPath
from routescreen.engineering.rating_solved import spacing_needed_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from routescreen.audit.cable_field import CableField
    from routescreen.audit.cable_ratings import CableRating
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

WIDEST_M = 50.0  # no wider spacing of bores is looked for
COLUMN = ("column_m", "column_rho_K_m_per_W", "column_dry_K_m_per_W")  # ground above the groundwater
SOURCE = "assumptions, [link], [cable], [checks.rating], [soil]; by analogy to IEC 60287"
NO_RULE = "the formulae cover cables of direct current in normal service only"
UNKNOWN_WATER = "whether groundwater stands in its backfill isn't known"
UNKNOWN_HEAT = "how much heat what crosses there gives off isn't known"
UNKNOWN = "the ground isn't known all along"


@dataclass(frozen=True, slots=True)
class CablePart:
    """One drive, ramp or run of open cut, with all that was worked out along it.

    `at` are the places that the curve keeps; field and soil are worked out there only. Of a shaft whose
    backfill may be wetter than that, or heat that nobody has given, `doubt` says what isn't known.
    """

    places: CablePlaces
    rating: CableRating
    at: NDArray[np.int64]
    field: CableField | None
    soil_K: Array
    doubt: str = ""


def some_places(places: CablePlaces, at: NDArray[np.int64]) -> CablePlaces:
    """Return some of the places, without their bedding: what is asked of them doesn't depend on it."""
    names = ("chainage_m", "depth_m", "offset_m", "rho_K_m_per_W", "ratio", "soil")
    part = {name: getattr(places, name)[at] for name in (*names, *COLUMN)}
    return CablePlaces(
        construction=places.construction,
        section=places.section,
        drive=places.drive,
        shaft=places.shaft,
        surround=places.surround,
        bedding=None,
        **part,
    )


def element_of(scene: Scene, places: CablePlaces) -> str:
    """Return the element on which places are entered: a ramp on its shaft."""
    if places.construction == "drive":
        return scene.drive_id(places.drive)
    return scene.shaft_id(places.shaft) if places.shaft >= 0 else scene.section_id(places.section)


def place_of(scene: Scene, places: CablePlaces, point: int) -> Place:
    """Return one of the places as a finding names it."""
    at_m = float(places.chainage_m[point])
    xy_m = scene.route.point_at(at_m)
    if places.construction == "drive":
        return Place(at_m, drive=places.drive, xy_m=xy_m)
    if places.construction == "shaft":
        return Place(at_m, shaft=places.shaft, xy_m=xy_m)
    return Place(at_m, section=places.section, xy_m=xy_m)


def why_not(scene: Scene) -> str:
    """Say why there is no rating."""
    return UNKNOWN if is_rated(scene.assumptions) else NO_RULE


def first_unknown(rating: CableRating) -> int:
    """Return the first place without a rating, -1 if all have one."""
    unknown = np.flatnonzero(np.isnan(rating.rating_A))
    return int(unknown[0]) if len(unknown) else -1


def lowest_place(rating: CableRating) -> int:
    """Return the place with the lowest rating, -1 where none is evaluated."""
    if np.isnan(rating.rating_A).all():
        return -1
    return int(np.nanargmin(rating.rating_A))


def reason_at(scene: Scene, places: CablePlaces, rating: CableRating, at: int) -> str:
    """Say what lies where and what each state of the ground would carry."""
    a = scene.assumptions
    soil, given = list(a.soil)[places.soil[at]], a.checks.rating
    apart = f", {places.spacing_m[at]:.2f} m apart" if places.offset_m.shape[1] > 1 else ""
    lies = (
        f"{words(soil)}, axes {places.depth_m[at].max():.2f} m deep{apart}, "
        f"ground {rating.ground_degC[at]:.1f} degC"
    )
    if np.all(places.ratio[at] == 1.0):
        column_m = float(places.column_m[at].max())
        over = f", {column_m:.2f} m of moist ground above that" if column_m > 0.0 else ""
        below = f"{lies}: {rating.moist_A[at]:.0f} A; below the lowest groundwater it can't dry out{over}"
        if rating.column_K[at] <= given.drying_rise_K:
            return below
        return (
            f"{below}, which warms by {rating.column_K[at]:.1f} K, more than {given.drying_rise_K:g} K: "
            f"{rating.drying_A[at]:.0f} A with the dry zone up there"
        )
    return (
        f"{lies}: {rating.moist_A[at]:.0f} A in moist ground, {rating.drying_A[at]:.0f} A with a dry zone "
        f"where it gets too warm; {rating.dried_A[at]:.0f} A if all of it were dry, which doesn't count"
    )


def tried_in_vain(scene: Scene, places: CablePlaces, at: int) -> str:
    """Say that no spacing of the pipes in open cut would do, where one was looked for."""
    a = scene.assumptions
    if places.construction != "open_cut" or not a.search.rating_steers or a.n_pipes_per_trench < 2:
        return ""
    most_m = float(spacings_m(a)[-1])
    if places.spacing_m[at] < most_m - 1e-6:
        return ""
    return f"; no spacing of the pipes up to {most_m:.2f} m bears the current"


def too_warm(scene: Scene, parts: Sequence[CablePart]) -> str:
    """Say over what length less than the link's current can be carried; nothing where it all can."""
    current = asked_A(scene.assumptions)
    lengths = np.array([_lengths_below_m(part, current) for part in parts]).sum(axis=0)
    if lengths[0] <= 0.0:
        return ""
    return f"; less than {current:g} A over {lengths[0]:.0f} m of {lengths[1]:.0f} m"


def _lengths_below_m(part: CablePart, current_A: float) -> tuple[float, float]:
    """Return the length of a part with a rating below a current, and its whole length [m].

    Between two places of which one is below, half the way counts.
    """
    step_m = np.diff(part.places.chainage_m)
    is_below = np.asarray(part.rating.rating_A < current_A, dtype=np.float64)
    return float(step_m @ (is_below[1:] + is_below[:-1]) / 2.0), float(step_m.sum())


def spacing_asked_m(scene: Scene, part: CablePart) -> Array:
    """Return what each place of the curve asks for, all bores as deep and as warm as the worst there [m].

    No more than what is built where the bores bear the current as they lie: under a bank one is deeper than
    the others, which keeps all of them cooler than if all lay that deep.
    """
    a, kept = scene.assumptions, some_places(part.places, part.at)
    path, ratio = heat_path(a, kept), _largest(kept.ratio, len(part.at))
    single = HeatPath(
        conductor_ohm_per_m=path.conductor_ohm_per_m,
        inside_K_m_per_W=path.inside_K_m_per_W,
        outer_diameter_m=path.outer_diameter_m,
        conductor_degC=path.conductor_degC,
        ground_degC=_largest(path.ground_degC, len(part.at)),
        rho_K_m_per_W=_largest(kept.rho_K_m_per_W, len(part.at)),
        drying_ratio=ratio,
        drying_rise_K=path.drying_rise_K,
        # of a group that lies partly in ground that may dry out all counts as lying there
        column_m=np.where(ratio > 1.0, 0.0, _largest(kept.column_m, len(part.at))),
        column_rho_K_m_per_W=_largest(kept.column_rho_K_m_per_W, len(part.at)),
        column_dry_K_m_per_W=_largest(kept.column_dry_K_m_per_W, len(part.at)),
    )
    needed_m = spacing_needed_m(
        asked_A(a),
        kept.depth_m.max(axis=1),
        kept.offset_m.shape[1],
        single,
        least_m=path.outer_diameter_m,
        most_m=WIDEST_M,
        share=current_shares(a),
    )
    is_borne = part.rating.rating_A[part.at] >= asked_A(a)
    return np.asarray(np.where(is_borne, np.fmin(needed_m, kept.spacing_m), needed_m))


def _largest(values: ArrayLike, n: int) -> Array:
    """Return the largest value of each of n places, with a last axis of 1."""
    return np.asarray(np.asarray(values, dtype=np.float64).reshape(n, -1).max(axis=1, keepdims=True))
