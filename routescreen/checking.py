"""The inputs of a run looked at without running it: what was found, what is missing, what it will take.

Room: beside ``job``, whose reading it shares. Computes nothing of its own but counts and shares.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.answers.findings import CorridorFacts, Surface
from routescreen.corridor.effort import expected_effort
from routescreen.corridor.treatment import resolve_crossings
from routescreen.errors import InputError, Problem
from routescreen.groundwork import lay_out
from routescreen.job import read_job

if TYPE_CHECKING:
    from pathlib import Path

    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import FrameGround
    from routescreen.inputs import Sources
    from routescreen.project import CorridorInput, RasterGrid
    from routescreen.runlog import RunLog

__all__ = ["check_inputs"]

# Shares are counted on this many nodes of the frame at most.
MOST_COUNTED = 100_000


def check_inputs(
    sources: Sources, assumptions_file: Path | None, log: RunLog
) -> tuple[Assumptions, tuple[CorridorFacts, ...]]:
    """Read everything as a run does, lay out frame and ground, and stop there.

    Parameters
    ----------
    sources : Sources
    assumptions_file : Path or None
    log : RunLog
        Takes stages and warnings.

    Returns
    -------
    assumptions : Assumptions
    facts : tuple of CorridorFacts
        One for each corridor.

    Raises
    ------
    InputError
        What a run would raise, of all corridors together.
    """
    assumptions, corridors = read_job(sources, assumptions_file, log)
    facts: list[CorridorFacts] = []
    problems: list[Problem] = []
    for corridor in corridors:
        try:
            frame, sampler, ground = lay_out(corridor, assumptions)
        except InputError as error:
            problems.extend(error.problems)
            continue
        closed = closed_terminals(corridor, assumptions, frame, ground)
        warnings = tuple(dict.fromkeys((*corridor.warnings, *sampler.warnings, *closed)))
        facts.append(_facts(corridor, assumptions, frame, ground, warnings))
    if problems:
        raise InputError(problems)
    return assumptions, tuple(facts)


def closed_terminals(
    corridor: CorridorInput, assumptions: Assumptions, frame: Frame, ground: FrameGround
) -> tuple[str, ...]:
    """Return a sentence for each end of the alignment where neither a trench nor a shaft may stand.

    Parameters
    ----------
    corridor : CorridorInput
    assumptions : Assumptions
    frame : Frame
        Its ends are the terminals, or the ends of the axis where none are given.
    ground : FrameGround

    Returns
    -------
    tuple of str
        By the class of ground cover at the end, and by the features that it lies in, clearances left out.
    """
    crossings = resolve_crossings(corridor.crossings, assumptions)
    features = crossings.features
    is_closed = (features.trench == "no") & (features.shaft_allowed != "yes")
    texts = []
    for role, node in (("start", frame.start), ("end", frame.end)):
        name, cover = list(assumptions.cover.items())[int(ground.node.cover_class[node])]
        what = [] if cover.trench_allowed or cover.shaft_allowed == "yes" else [f"ground cover {name}"]
        x, y = frame.node_xy_m[node]
        met = features.crossing[shapely.intersects_xy(features.outline, x, y) & is_closed]
        for k in np.unique(met):
            title = f"{crossings.kind[k].replace('_', ' ')} {crossings.name[k]}".strip()
            what.append(f"{title} ({crossings.feature_ids[k]})")
        if what:
            place = f"The {role} of the alignment, x {x:.0f}, y {y:.0f}, lies in {' and '.join(what)}"
            texts.append(
                f"{place} where neither a trench nor a shaft may stand: a run will find no plan unless it "
                "lies elsewhere (layer terminals) or that is allowed"
            )
    return tuple(texts)


def _facts(
    corridor: CorridorInput,
    assumptions: Assumptions,
    frame: Frame,
    ground: FrameGround,
    warnings: tuple[str, ...],
) -> CorridorFacts:
    is_valid = frame.is_valid
    widths_m = frame.cell_m * is_valid.sum(axis=1)
    stride = max(1, int(is_valid.sum()) // MOST_COUNTED)
    points = np.atleast_1d(np.asarray(shapely.points(frame.node_xy_m[is_valid][::stride]), dtype=object))
    shape = corridor.outline if corridor.outline is not None else corridor.fixed_line
    assert shape is not None  # one of the two is always given
    effort = expected_effort(corridor, cell_m=assumptions.frame.cell_m)
    return CorridorFacts(
        corridor=corridor,
        length_m=frame.length_m,
        width_m=(0.0, 0.0) if corridor.outline is None else (float(widths_m.min()), float(widths_m.max())),
        area_m2=float(shape.area),
        bounds_m=tuple(float(value) for value in shape.bounds),
        terrain=_surface(corridor.terrain),
        ground_cover=_surface(corridor.ground_cover),
        level_m=(float(np.nanmin(ground.node.ground_m)), float(np.nanmax(ground.node.ground_m))),
        cover_frac=_shares(ground.node.cover_class[is_valid], assumptions.cover_names),
        soil_frac=_shares(ground.node.soil_class[is_valid], assumptions.soil_names),
        known_soil_frac=_covered(corridor.ground, "soil", points),
        known_water_frac=_covered(corridor.ground, "groundwater_depth_m", points),
        parcels_frac=_covered(corridor.parcels, "parcel_id", points),
        n_nodes=int(is_valid.sum()),
        seconds=effort.seconds,
        memory_mb=effort.memory_mb,
        warnings=warnings,
    )


def _surface(raster: RasterGrid | None) -> Surface | None:
    return None if raster is None else Surface(raster.pixel_width_m, raster.pixel_height_m)


def _shares(classes: NDArray[np.int16], names: tuple[str, ...]) -> dict[str, float]:
    """Return the share of the nodes in each class, the largest first."""
    counts = np.bincount(classes, minlength=len(names))
    order = np.argsort(-counts, kind="stable")
    return {names[k]: float(counts[k] / len(classes)) for k in order if counts[k]}


def _covered(table: gpd.GeoDataFrame, column: str, points: NDArray[np.object_]) -> float:
    """Return the share of points in polygons that have a value in a column."""
    given = table[table[column].notna()]
    if given.empty or not len(points):
        return 0.0
    found, _ = shapely.STRtree(given.geometry.to_numpy()).query(points, predicate="intersects")
    return len(np.unique(found)) / len(points)
