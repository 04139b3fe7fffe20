"""Steel pipelines beside and under the link: where a study of interference is to be asked for.

Room: ``audit``. It flags, it does not judge; limits and flags are those of ``engineering.pipelines``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.covers import cover_under
from routescreen.audit.report import Limit, Place
from routescreen.audit.scene import cover_rules, meeting_place
from routescreen.engineering.pipelines import (
    PipelineLimits,
    crossing_angle_deg,
    distance_to_line_m,
    parallel_length_m,
    pipeline_flags,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.crossings import Meeting
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

STEEL = ("gas_pipeline", "pipeline")
SOURCE = "assumptions, [checks.land]; common practice, no source"
STEP_M = 5.0
TANGENT_M = 20.0  # direction of a pipeline over this length either way
STUDY = "taken as steel: have interference studied (EN 50162)"


def prove_pipelines(scene: Scene, ledger: Ledger) -> None:
    """Enter each pipeline that lies beside the link, and clearance and angle where one is crossed.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    """
    given = scene.assumptions.checks.land
    limits = PipelineLimits(
        given.steel_parallel_m, given.steel_crossing_clear_m, given.steel_crossing_angle_deg
    )
    n_before = len(ledger.checks)
    for index, meeting in enumerate(scene.meetings):
        for feature in meeting.features:
            if scene.features.kind[feature] in STEEL:
                _prove_crossing(scene, ledger, index, feature, limits)
    line = scene.route.line()
    for feature in scene.near(line, limits.parallel_m):
        away_m = float(shapely.distance(scene.features.geometry[feature], line))
        if scene.features.kind[feature] in STEEL and away_m < limits.parallel_m:
            _prove_parallel(scene, ledger, int(feature), limits)
    if len(ledger.checks) == n_before:
        _tell_none(scene, ledger, limits)


def _tell_none(scene: Scene, ledger: Ledger, limits: PipelineLimits) -> None:
    """Enter that none is near: a pass only if somebody looked, as the input's pipelines or a setting say."""
    limit, element = Limit("pipeline_parallel", "m", SOURCE, "record"), scene.plan.corridor_id
    has_some = bool(np.isin(scene.features.kind.astype(str), STEEL).any())
    is_stated = scene.assumptions.checks.land.is_free_of_steel_pipelines
    if not (has_some or is_stated):
        reason = (
            "the input has no gas or product pipeline, which may be for want of asking; if the operators "
            "have none, state checks.land.is_free_of_steel_pipelines"
        )
        ledger.not_evaluated(element, limit, Place(), reason)
        return
    reason = f"no gas or product pipeline within {limits.parallel_m:g} m in the input"
    if not has_some:
        reason = f"no gas or product pipeline within {limits.parallel_m:g} m by the project's own word"
    ledger.finding(element, limit, 0.0, limits.parallel_m, Place(), reason)


def _prove_crossing(scene: Scene, ledger: Ledger, index: int, feature: int, limits: PipelineLimits) -> None:
    meeting, element = scene.meetings[index], scene.crossing_id(index)
    place = scene.feature_place(feature, meeting_place(scene, meeting))
    clear_m, angle_deg = _clear_m(scene, meeting, feature), meeting.angle.angle_deg
    flags = pipeline_flags(math.nan, clear_m, angle_deg, is_crossed=True, limits=limits)
    label = scene.label(feature)
    clear = Limit("pipeline_clear", "m", SOURCE, "record")
    if math.isnan(clear_m):
        ledger.not_evaluated(element, clear, place, f"the depth of {label} isn't known")
    else:
        reason = f"{label} is crossed {clear_m:.2f} m clear, outside to outside, by its record"
        if clear_m == 0.0:
            reason = f"{label} lies at the depth of the pipes in the trench: one must go deeper there"
        _enter(
            ledger, element, clear, (limits.clear_m, clear_m), place, reason, is_flagged=bool(flags.is_low)
        )
    angle = Limit("pipeline_angle", "deg", SOURCE, "record")
    if math.isnan(angle_deg):
        ledger.not_evaluated(element, angle, place, f"{label} has no direction where it is crossed")
        return
    reason = f"{label} is crossed at {angle_deg:.0f} deg"
    _enter(
        ledger, element, angle, (limits.angle_deg, angle_deg), place, reason, is_flagged=bool(flags.is_flat)
    )


def _enter(
    ledger: Ledger,
    element: str,
    limit: Limit,
    values: tuple[float, float],
    place: Place,
    reason: str,
    *,
    is_flagged: bool,
) -> None:
    """Enter a flag as amber: it asks for a study, it bars nothing."""
    if is_flagged:
        ledger.amber(element, limit, *values, place, f"{reason}; {STUDY}")
    else:
        ledger.finding(element, limit, *values, place, reason)


def _clear_m(scene: Scene, meeting: Meeting, feature: int) -> float:
    """Return the clear distance between a pipeline and the link's pipes or bores, NaN where not known [m]."""
    features, a = scene.features, scene.assumptions
    if meeting.drive >= 0:
        drive = scene.plan.drives[meeting.drive]
        line, rules = scene.lines[meeting.drive], cover_rules(scene, drive)
        found = cover_under(line, scene.ground, features, feature, rules)
        return math.nan if found is None else float(found.actual_m)
    top_m = float(features.service_depth_m[feature])
    base_m = top_m + float(features.service_diameter_m[feature])
    pipe_m = a.trench.cover_to_pipe_m
    # one passes above the other; where their depths overlap one must be moved
    return max(pipe_m - base_m, top_m - (pipe_m + a.pipe.trench_outer_diameter_m), 0.0)


def beside(scene: Scene, feature: int, limits: PipelineLimits) -> tuple[Array, Array, float]:
    """Return points of the link that lie alongside a pipeline, their distances [m], and the length [m].

    Alongside means within the distance, and at less than the crossing angle to the pipeline's nearest
    part, so that a square crossing has no parallel. Own.

    Parameters
    ----------
    scene : Scene
    feature : int
    limits : PipelineLimits

    Returns
    -------
    chainage_m, distance_m : ndarray of shape (n,)
    length_m : float
    """
    route = scene.route
    edges = np.append(np.arange(0.0, route.length_m, STEP_M), route.length_m)
    at, step = (edges[:-1] + edges[1:]) / 2.0, np.diff(edges)
    points = np.stack([np.interp(at, route.chainage_m, route.xy_m[:, axis]) for axis in (0, 1)], axis=1)
    lines = _lines_of(scene.features.geometry[feature])
    if not lines:
        return np.zeros(0), np.zeros(0), 0.0
    # of a long link only what lies about the pipeline can lie alongside
    bounds = shapely.total_bounds(lines)
    is_about = np.all(
        (points >= bounds[:2] - limits.parallel_m) & (points <= bounds[2:] + limits.parallel_m), axis=1
    )
    if not is_about.any():
        return np.zeros(0), np.zeros(0), 0.0
    at, step, points = at[is_about], step[is_about], points[is_about]
    piece = np.clip(np.searchsorted(route.chainage_m, at, side="right") - 1, 0, route.n_pieces - 1)
    each = np.array([distance_to_line_m(points, shapely.get_coordinates(line)) for line in lines])
    nearest, distance = np.argmin(each, axis=0), np.min(each, axis=0)
    angle = np.full(len(at), np.nan)
    for k in np.flatnonzero(distance < limits.parallel_m):
        line = lines[nearest[k]]
        along = float(shapely.line_locate_point(line, shapely.Point(points[k])))
        ends = shapely.get_coordinates(
            [shapely.line_interpolate_point(line, max(along + way, 0.0)) for way in (-TANGENT_M, TANGENT_M)]
        )
        angle[k] = float(crossing_angle_deg(route.direction[piece[k]], ends[1] - ends[0]))
    is_beside = angle < limits.angle_deg
    length = parallel_length_m(step[is_beside], distance[is_beside], limits.parallel_m)
    return at[is_beside], distance[is_beside], length


def _lines_of(geometry: shapely.Geometry) -> list[shapely.LineString]:
    """Return the lines of a pipeline, the edges of one drawn as an area."""
    parts = shapely.get_parts(geometry)
    lines = [part.exterior if part.geom_type == "Polygon" else part for part in parts]
    return [line for line in lines if line.geom_type in ("LineString", "LinearRing") and line.length > 0.0]


def _prove_parallel(scene: Scene, ledger: Ledger, feature: int, limits: PipelineLimits) -> None:
    at, distance, length_m = beside(scene, feature, limits)
    limit, element = Limit("pipeline_parallel", "m", SOURCE, "record"), scene.plan.corridor_id
    label = scene.label(feature)
    if len(at) == 0:
        reason = f"{label} is only crossed: nowhere alongside within {limits.parallel_m:g} m"
        place = scene.feature_place(feature, Place())
        ledger.finding(element, limit, 0.0, limits.parallel_m, place, reason)
        return
    worst = int(np.argmin(distance))
    flags = pipeline_flags(distance[worst], math.nan, math.nan, is_crossed=False, limits=limits)
    place = Place(float(at[worst]), xy_m=scene.route.point_at(float(at[worst])))
    reason = f"{label} lies alongside over {length_m:.0f} m, {distance[worst]:.0f} m off at its nearest"
    values = (limits.parallel_m, float(distance[worst]))
    place = scene.feature_place(feature, place)
    _enter(ledger, element, limit, values, place, reason, is_flagged=bool(flags.is_near))
