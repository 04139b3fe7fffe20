"""Open cut at what it crosses: clear height to buried services, cover below the beds of ditches and streams.

Room: ``audit``. The plan lays the pipes at one depth all along; here it is told where that won't do and how
deep the trench dips. The dip's bends count in the pulling of the cables (``trench_dips``), its rating is
worked out by itself (``cable_dips``), its price by the bill (``dip_rules``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.covers import CoverRules, reference_level_m
from routescreen.audit.dip_rules import (
    asked_clear_m,
    below_bed_m,
    clear_height_m,
    crossing_dip,
    is_over,
    pipes_m,
    service_dip_top_m,
    service_m,
)
from routescreen.audit.report import TOLERANCE_M, Limit, Place
from routescreen.audit.route import stations
from routescreen.audit.scene import meeting_place
from routescreen.drives.dip import Dip

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.crossings import Meeting
    from routescreen.audit.features import Features
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

SERVICE_SOURCE = "assumptions, [treatments], [trench]; common practice, no source"
BED_SOURCE = "assumptions, [treatments], [trench]; by analogy to a bore's cover"


@dataclass(frozen=True, slots=True)
class DippedCrossing:
    """Where open cut dips below something that it crosses.

    Attributes
    ----------
    crossing, feature, section : int
        Index of the meeting, of the feature, of the section.
    chainage_m : float
        Where [m].
    dip : Dip
    place : Place
    """

    crossing: int
    feature: int
    section: int
    chainage_m: float
    dip: Dip
    place: Place


def prove_trench_crossings(scene: Scene, ledger: Ledger) -> list[DippedCrossing]:
    """Enter each buried service and each bed that open cut crosses: over it, under it, in a dip below it.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings: a failure where a dip would be too deep.

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
                dip = _dip(scene, feature, top_m)
                dips.append(DippedCrossing(index, feature, meeting.section, at_m, dip, place))
    return dips


def _dip(scene: Scene, feature: int, top_m: float) -> Dip:
    """Return a dip by how deep it is: under a bed the depth below that counts for heat."""
    features = scene.features
    if features.cover_reference[feature] != "bed":
        return Dip(top_m, top_m, is_wet=False)
    return Dip(top_m, min(below_bed_m(features, feature), top_m), bool(features.is_wet_all_year[feature]))


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
    if reference == "service":
        return service_dip_top_m(features, feature, scene.assumptions)
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
    lies_m, pipes = service_m(features, feature), pipes_m(scene.assumptions)
    clear_m, asked_m = clear_height_m(pipes, lies_m), asked_clear_m(features, feature)
    top_m = service_dip_top_m(features, feature, scene.assumptions)
    can_dip = not math.isnan(top_m) and _can_dip(top_m, scene.assumptions)
    missing = _not_recorded(scene, feature)
    if missing:
        told = _by_kind(label, missing, lies_m, clear_m)
        ledger.not_evaluated(element, limit, place, f"{told}, {_way(scene, feature, top_m)}: ask its owner")
        return (top_m if can_dip else None), place
    lies = (
        f"{label} lies from {lies_m[0]:.2f} to {lies_m[1]:.2f} m below the ground by its record, the "
        f"pipes of the trench from {pipes[0]:.2f} to {pipes[1]:.2f} m: {clear_m:.2f} m clear, "
        f"{_way(scene, feature, top_m)}{_of_record(features, feature)}"
    )
    if math.isnan(top_m):
        ledger.finding(element, limit, asked_m, clear_m, place, lies)
        return None, place
    reason = f"{lies}; {asked_m:.2f} m are asked for"
    can_dip = _enter_dip(scene, ledger, (element, limit, place), (index, asked_m, clear_m), top_m, reason)
    return (top_m if can_dip else None), place


def _way(scene: Scene, feature: int, top_m: float) -> str:
    """Say whether open cut passes over or under a service."""
    if not math.isnan(top_m):
        return "passed under in a dip"
    return "passed over" if is_over(scene.features, feature, scene.assumptions) else "passed under"


def _of_record(features: Features, feature: int) -> str:
    """Say what the doubt about a record means."""
    unsure_m = float(features.record_uncertainty_m[feature])
    if unsure_m <= 0.0:
        return ""
    if features.has_trial_hole[feature]:
        return f"; the record may be off by {unsure_m:.2f} m, which a trial hole settles before work"
    return f"; {unsure_m:.2f} m of what is asked for are for the doubt about the record"


def _not_recorded(scene: Scene, feature: int) -> str:
    """Return what the input doesn't say of a service: its depth, its diameter, both or nothing."""
    row = scene.inp.crossings.iloc[feature]
    names = {"depth_m": "depth", "diameter_m": "diameter"}
    return " and ".join(word for column, word in names.items() if math.isnan(float(row[column])))


def _by_kind(label: str, missing: str, service_m: tuple[float, float], clear_m: float) -> str:
    """Say what is missing, and what services of the kind would come to."""
    return (
        f"no {missing} of {label} is given; one as its kind mostly lies, from {service_m[0]:.2f} to "
        f"{service_m[1]:.2f} m below the ground, is {clear_m:.2f} m from the pipes"
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
    can_dip = _enter_dip(scene, ledger, (element, limit, place), (index, asked_m, cover_m), top_m, reason)
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


def _can_dip(top_m: float, a: Assumptions) -> bool:
    return dip_bottom_m(top_m, a) <= a.trench.deepest_sloped_m


def _enter_dip(
    scene: Scene,
    ledger: Ledger,
    row: tuple[str, Limit, Place],
    values: tuple[int, float, float],
    top_m: float,
    reason: str,
) -> bool:
    """Enter where the trench must dip: met in the dip if its faces need no proof at that depth, else not.

    Amber where the bill's dip is less deep. Returns whether it can dip.
    """
    a, (element, limit, place), (index, asked_m, actual_m) = scene.assumptions, row, values
    depth_m = dip_bottom_m(top_m, a)
    moved = " or have the service moved" if limit.check == "trench_service_clearance" else ""
    if not _can_dip(top_m, a):
        told = (
            f"{reason}: a dip below would be {depth_m:.2f} m deep, more than the "
            f"{a.trench.deepest_sloped_m:g} m to which faces need no proof; go below by a drive{moved}"
        )
        ledger.finding(element, limit, asked_m, actual_m, place, told)
        return False
    told = f"{reason}: the trench dips until the pipes' tops lie {top_m:.2f} m deep"
    priced = crossing_dip(scene, scene.meetings[index].crossing)
    priced_m = a.trench.cover_to_pipe_m if priced is None else priced.dip.below_ground_m
    if priced_m < top_m - TOLERANCE_M:
        told += f"; the bill has it {priced_m:.2f} m deep only, as its treatment and columns say"
        ledger.amber(element, limit, asked_m, asked_m, place, told)
        return True
    ledger.finding(element, limit, asked_m, asked_m, place, told)
    return True
