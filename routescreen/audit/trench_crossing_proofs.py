"""Open cut at what it crosses: clear height to buried services, cover below the beds of ditches and streams.

Room: ``audit``. The plan lays the pipes at one depth all along; here it is told where that won't do and how
deep the trench must dip. The dip's bends count in the pulling of the cables (``trench_dips``), its rating is
worked out by itself (``cable_dips``); water, length and price are not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.covers import CoverRules, reference_level_m
from routescreen.audit.report import TOLERANCE_M, Limit, Place
from routescreen.audit.route import stations
from routescreen.audit.scene import meeting_place

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.crossings import Meeting
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

SERVICE_SOURCE = "assumptions, [treatments], [trench]; common practice, no source"
BED_SOURCE = "assumptions, [treatments], [trench]; by analogy to a bore's cover"
NOT_PRICED = (
    "its bends count in the pull of the cables and it is rated by itself; its length and water aren't looked "
    "at, and it isn't in the bill"
)


@dataclass(frozen=True, slots=True)
class DippedCrossing:
    """Where open cut dips below something that it crosses.

    Attributes
    ----------
    crossing, feature, section : int
        Index of the meeting, of the feature, of the section.
    chainage_m, top_m : float
        Where, and how deep the tops of the pipes lie below the ground [m].
    place : Place
    """

    crossing: int
    feature: int
    section: int
    chainage_m: float
    top_m: float
    place: Place


def prove_trench_crossings(scene: Scene, ledger: Ledger) -> list[DippedCrossing]:
    """Enter each buried service and each bed that open cut crosses, at the trench's normal depth.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings: amber where the trench can dip below, a failure where it would be too deep.

    Returns
    -------
    list of DippedCrossing
        Where it can.
    """
    dips: list[DippedCrossing] = []
    for index, meeting in enumerate(scene.meetings):
        if meeting.drive >= 0:
            continue
        for feature in meeting.features:
            reference = scene.features.cover_reference[feature]
            if reference == "service":
                top_m, place = _prove_service(scene, ledger, index, feature)
            elif reference == "bed":
                top_m, place = _prove_bed(scene, ledger, index, feature)
            else:
                continue
            if top_m is not None:
                at_m = meeting.middle_m if math.isnan(place.chainage_m) else place.chainage_m
                dips.append(DippedCrossing(index, feature, meeting.section, at_m, top_m, place))
    return dips


def clear_height_m(pipes_m: tuple[float, float], service_m: tuple[float, float]) -> float:
    """Return the clear height between pipes and a service, 0 where their depths overlap.

    Parameters
    ----------
    pipes_m, service_m : tuple of two floats
        Depth of top and underside below the ground [m].

    Returns
    -------
    float
        [m]

    Examples
    --------
    >>> round(clear_height_m((1.4, 1.7), (0.6, 0.8)), 3), clear_height_m((1.4, 1.7), (1.6, 1.9))
    (0.6, 0.0)
    """
    return max(pipes_m[0] - service_m[1], service_m[0] - pipes_m[1], 0.0)


def dip_top_m(scene: Scene, index: int, feature: int) -> float:
    """Return how deep the tops of the pipes must lie below the ground to pass under one feature.

    Parameters
    ----------
    scene : Scene
    index : int
        Of a meeting in open cut.
    feature : int

    Returns
    -------
    float
        NaN where the trench needs no dip or what lies there isn't known [m].
    """
    features = scene.features
    reference = features.cover_reference[feature]
    if reference == "service" and not _not_recorded(scene, feature):
        top_m = float(features.service_depth_m[feature])
        service_m = top_m, top_m + float(features.service_diameter_m[feature])
        asked_m = float(features.service_clearance_m[feature])
        if clear_height_m(_pipes_m(scene), service_m) < asked_m - TOLERANCE_M:
            return service_m[1] + asked_m + float(features.record_uncertainty_m[feature])
    if reference == "bed":
        cover_m, below_m, _ = _least_bed_cover(scene, scene.meetings[index], feature)
        asked_m = float(features.cover_m[feature])
        if cover_m < asked_m - TOLERANCE_M:
            return below_m + asked_m
    return math.nan


def dip_bottom_m(top_m: float, a: Assumptions) -> float:
    """Return the depth of a dip's bottom by that of the pipes' tops, bedding included [m]."""
    return top_m + a.pipe.trench_outer_diameter_m + a.trench.bedding_below_m


def _prove_service(scene: Scene, ledger: Ledger, index: int, feature: int) -> tuple[float | None, Place]:
    """Enter a service; return how deep the tops of the pipes lie in a dip below it [m], and the place."""
    features, element, label = scene.features, scene.crossing_id(index), scene.label(feature)
    place = scene.feature_place(feature, meeting_place(scene, scene.meetings[index]))
    limit = Limit("trench_service_clearance", "m", SERVICE_SOURCE, str(features.confidence[feature]))
    top_m = float(features.service_depth_m[feature])
    service_m = top_m, top_m + float(features.service_diameter_m[feature])
    pipes_m = _pipes_m(scene)
    clear_m = clear_height_m(pipes_m, service_m)
    asked_m = float(features.service_clearance_m[feature])
    unsure_m = float(features.record_uncertainty_m[feature])
    missing = _not_recorded(scene, feature)
    if missing:
        ledger.not_evaluated(element, limit, place, _by_kind(label, missing, service_m, clear_m, asked_m))
        return None, place
    lies = (
        f"{label} lies from {service_m[0]:.2f} to {service_m[1]:.2f} m below the ground by its record, the "
        f"pipes of the trench from {pipes_m[0]:.2f} to {pipes_m[1]:.2f} m: {clear_m:.2f} m clear"
    )
    needed_m = asked_m + unsure_m
    if clear_m >= needed_m - limit.tolerance:
        ledger.finding(element, limit, needed_m, clear_m, place, lies)
        return None, place
    reason = f"{lies}; {needed_m:.2f} m are asked for, of them {unsure_m:.2f} m as the record is unsure"
    if clear_m >= asked_m - limit.tolerance:
        ledger.amber(
            element, limit, needed_m, clear_m, place, f"{reason}: expose it before the trench is dug"
        )
        return None, place
    top_m = service_m[1] + needed_m
    can_dip = _enter_dip(scene, ledger, (element, limit, place), (needed_m, clear_m), top_m, reason)
    return (top_m if can_dip else None), place


def _pipes_m(scene: Scene) -> tuple[float, float]:
    """Return the depths of top and underside of the pipes at the trench's normal depth [m]."""
    a = scene.assumptions
    return a.trench.cover_to_pipe_m, a.trench.cover_to_pipe_m + a.pipe.trench_outer_diameter_m


def _not_recorded(scene: Scene, feature: int) -> str:
    """Return what the input doesn't say of a service: its depth, its diameter, both or nothing."""
    row = scene.inp.crossings.iloc[feature]
    names = {"depth_m": "depth", "diameter_m": "diameter"}
    return " and ".join(word for column, word in names.items() if math.isnan(float(row[column])))


def _by_kind(label: str, missing: str, service_m: tuple[float, float], clear_m: float, asked_m: float) -> str:
    """Say what is missing, and what services of the kind would come to."""
    fits = "would be too near: ask its owner first" if clear_m < asked_m else "would be clear of the pipes"
    return (
        f"no {missing} of {label} is given; one as its kind mostly lies, from {service_m[0]:.2f} to "
        f"{service_m[1]:.2f} m below the ground, is {clear_m:.2f} m from the pipes and {fits}"
    )


def _prove_bed(scene: Scene, ledger: Ledger, index: int, feature: int) -> tuple[float | None, Place]:
    """Enter a bed; return how deep the tops of the pipes lie in a dip below it [m], and the place."""
    features, meeting = scene.features, scene.meetings[index]
    limit = Limit("trench_bed_cover", "m", BED_SOURCE, str(features.confidence[feature]))
    cover_m, below_m, place = _least_bed_cover(scene, meeting, feature)
    asked_m, element = float(features.cover_m[feature]), scene.crossing_id(index)
    reason = f"how deep the bed of {scene.label(feature)} lies isn't known: no terrain there"
    if math.isnan(cover_m):
        ledger.not_evaluated(element, limit, place, reason)
        return None, place
    pipe_m = scene.assumptions.trench.cover_to_pipe_m
    reason = (
        f"the scoured bed of {scene.label(feature)} lies {below_m:.2f} m below the level from which "
        f"the trench's pipes are {pipe_m:.2f} m deep: {_of_cover(cover_m)}"
    )
    if features.confidence[feature] == "assumed":
        reason += " (depth of water as its kind has it)"
    if cover_m >= asked_m - limit.tolerance:
        ledger.finding(element, limit, asked_m, cover_m, place, reason)
        return None, place
    reason += f", {asked_m:.2f} m are asked for"
    top_m = below_m + asked_m
    can_dip = _enter_dip(scene, ledger, (element, limit, place), (asked_m, cover_m), top_m, reason)
    return (top_m if can_dip else None), place


def _of_cover(cover_m: float) -> str:
    if cover_m < 0.0:
        return f"the pipes stand {-cover_m:.2f} m above it"
    return f"{cover_m:.2f} m of cover"


def _least_bed_cover(scene: Scene, meeting: Meeting, feature: int) -> tuple[float, float, Place]:
    """Return the least cover below a bed, the bed's depth below the terrain there [m], and the place."""
    at_m = meeting.from_m + stations(max(meeting.to_m - meeting.from_m, 0.0), scene.step_m)
    xy_m = np.array([scene.route.point_at(float(chainage)) for chainage in at_m])
    outline = scene.features.outline[feature]
    inside = np.asarray(shapely.intersects_xy(outline, xy_m[:, 0], xy_m[:, 1]))
    inside[:] |= not inside.any()  # a crossing thinner than the step
    below_m = _bed_below_m(scene, feature, xy_m[inside])
    worst = int(np.argmax(np.where(np.isnan(below_m), np.inf, below_m)))
    chosen = np.flatnonzero(inside)[worst]
    x_m, y_m = map(float, xy_m[chosen])
    place = replace(meeting_place(scene, meeting), chainage_m=float(at_m[chosen]), xy_m=(x_m, y_m))
    deepest_m = float(below_m[worst])
    cover_m = scene.assumptions.trench.cover_to_pipe_m - deepest_m
    return cover_m, deepest_m, scene.feature_place(feature, place)


def _bed_below_m(scene: Scene, feature: int, xy_m: Array) -> Array:
    """Return how far the scoured bed lies below the terrain, from which the trench's depth counts [m]."""
    rules = CoverRules(
        method_cover_m=0.0,
        deviation_frac=0.0,
        base_search_m=scene.assumptions.frame.base_search_m,
        terrain_is_bed=scene.inp.terrain_is_bed,
        step_m=scene.step_m,
    )
    bed_m = reference_level_m(scene.ground, scene.features, feature, xy_m, rules)
    return np.asarray(scene.ground.level_m(xy_m) - bed_m)


def _enter_dip(
    scene: Scene,
    ledger: Ledger,
    row: tuple[str, Limit, Place],
    values: tuple[float, float],
    top_m: float,
    reason: str,
) -> bool:
    """Enter where the trench must dip: amber if its faces need no proof at that depth, else a failure.

    Returns whether it can dip.
    """
    a, (element, limit, place) = scene.assumptions, row
    depth_m = dip_bottom_m(top_m, a)
    moved = " or the service be moved" if limit.check == "trench_service_clearance" else ""
    if depth_m <= a.trench.deepest_sloped_m:
        told = (
            f"{reason}: the trench must dip until the pipes' tops lie {top_m:.2f} m deep{moved}; {NOT_PRICED}"
        )
        ledger.amber(element, limit, *values, place, told)
        return True
    told = (
        f"{reason}: a dip below would be {depth_m:.2f} m deep, more than the {a.trench.deepest_sloped_m:g} m "
        f"to which faces need no proof; go below by a drive{moved}"
    )
    ledger.finding(element, limit, *values, place, told)
    return False
