"""What a finished plan asks for beyond what steered the search: boreholes, lost bores, lowered water.

Room: ``audit``. Measured on the true lines; items of the bill that are carried afterwards.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.reach_proofs import ENTERABLE_M, blocked_spans_m, joined_spans_m
from routescreen.audit.route import cells_between
from routescreen.engineering.obstruction import is_enterable
from routescreen.engineering.trench import well_point_rows
from routescreen.money.measure import LaterMeasures, later_sections

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from routescreen.audit.scene import Scene


def measured_later(scene: Scene, boreholes: pd.DataFrame, billed: NDArray[np.float64]) -> NDArray[np.float64]:
    """Measure what stands in the bill of each section besides what the search has weighed.

    Parameters
    ----------
    scene : Scene
    boreholes : DataFrame
        The layer ``investigation_plan``.
    billed : ndarray of shape (n_sections, n_items)
        What the bill measures otherwise, shafts with their sections.

    Returns
    -------
    ndarray of float64, shape (n_sections, n_items)
    """
    asked_m, lost_m, lowered_m = np.zeros((3, len(billed)))
    if len(boreholes):
        holes = boreholes[boreholes["kind"] == "borehole"]
        np.add.at(asked_m, holes["section_index"].to_numpy(np.int64), holes["depth_m"].to_numpy(np.float64))
    for index, drive in enumerate(scene.plan.drives):
        section = scene.route.section_of_piece[drive.from_vertex]
        lost_m[section] += lost_bore_m(scene, index)
        lowered_m[section] += wells_along_m(scene, index)
    return later_sections(LaterMeasures(asked_m, lost_m, lowered_m), billed, scene.assumptions)


def lost_bore_m(scene: Scene, index: int) -> float:
    """Return the length of bore that must be expected to be driven anew, for want of a rescue shaft [m].

    Where a bore that nobody can enter sticks under what bears no rescue shaft it is given up whole. So it is
    events along its bores there x true length; a gap too short for a shaft between two such stretches counts
    to them.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.
    """
    line, drive = scene.lines[index], scene.plan.drives[index]
    if bool(is_enterable(2.0 * line.radius_m, ENTERABLE_M)):
        return 0.0
    spans = blocked_spans_m(scene, index, lambda feature: not bool(scene.features.shaft_ok[feature]))
    events = 0.0
    for from_m, to_m in joined_spans_m(spans, scene.assumptions.methods[drive.method].reception_length_m):
        ends = np.clip(np.array([from_m, to_m]) - line.start_chainage_m, 0.0, line.plan_length_m)
        events += _events(scene, index, float(ends[0]), float(ends[1]))
    return events * len(line.offsets_m) * line.true_length_m


def _events(scene: Scene, index: int, from_m: float, to_m: float) -> float:
    """Return the events along a stretch of one bore, by the soil that it lies in [-]."""
    if to_m <= from_m:
        return 0.0
    length_m, soil, _ = _along(scene, index, from_m, to_m)
    per_m = np.array([one.events_per_km / 1000.0 for one in scene.assumptions.soil.values()])[soil]
    return float(length_m @ per_m)


def wells_along_m(scene: Scene, index: int) -> float:
    """Return the length of well points along a drive whose method lowers the groundwater, both sides [m].

    They stand where the groundwater as given is higher above the bores' axis than the method drives through,
    in as many rows as a trench's there: none in tight ground.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.
    """
    a, line = scene.assumptions, scene.lines[index]
    head_limit_m = a.methods[scene.plan.drives[index].method].lowering_above_head_m
    if head_limit_m is None:
        return 0.0
    length_m, soil, head_m = _along(scene, index, 0.0, line.plan_length_m)
    rows = well_point_rows(
        head_m,
        np.array([one.permeability_m_per_s for one in a.soil.values()])[soil],
        sump_head_m=head_limit_m,
        least_m_per_s=a.trench.well_point_least_k_m_per_s,
        most_m_per_s=a.trench.well_point_most_k_m_per_s,
    )
    return float(2.0 * length_m @ rows)


def _along(
    scene: Scene, index: int, from_m: float, to_m: float
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.float64]]:
    """Return true length, soil and height of the groundwater above the axis along a stretch of a drive."""
    line = scene.lines[index]
    middle_m, width_m = cells_between(from_m, to_m, scene.step_m)
    samples = scene.ground.samples(line.lower_xy_m + middle_m[:, None] * line.direction)
    axis_depth_m = samples.ground_m - line.crown_m(middle_m) + line.radius_m
    soil = np.where(axis_depth_m > samples.rock_depth_m, samples.rock_soil_class, samples.soil_class)
    length_m = width_m * line.true_length_m / line.plan_length_m
    return length_m, soil.astype(np.int64), axis_depth_m - samples.groundwater_depth_m
