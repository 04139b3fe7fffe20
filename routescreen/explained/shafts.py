"""How far each shaft of the finished plan may move, as rows and areas.

Room: beside ``screen``. Brings what the search found for the plan on the frame to the finished plan's shafts,
which the refinement may have moved off the frame's nodes.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from routescreen.counted import counted
from routescreen.search.reasons import in_thousands
from routescreen.search.shaft_tolerance import shaft_tolerances

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from routescreen.corridor.frame import Frame
    from routescreen.plan import Plan
    from routescreen.search.problem import FrameProblem
    from routescreen.search.shaft_tolerance import ShaftTolerance
    from routescreen.search.solve import FramePlan
    from routescreen.search.through import Passages

AREA_COLUMNS = ("shaft_index", "extra_cost_percent", "extra_eur", "places", "area_m2", "geometry")
MOVE_COLUMNS = ("move_along_back_m", "move_along_on_m", "move_left_m", "move_right_m")
HALF_WIDTH_FRAC = 0.1  # of a cell: what a single place or a row of places is drawn as, on either side
NEAREST_CELLS = 1.5  # a shaft of the finished plan further from its node, beyond `refine.aside_m`, has none


def found_tolerances(
    problem: FrameProblem,
    passages: Passages,
    frame_plan: FramePlan,
    plan: Plan,
    *,
    progress: Callable[[float], None] | None = None,
) -> list[ShaftTolerance | None]:
    """Return for each shaft of the finished plan how far its own on the frame may move.

    None where the finished plan has a shaft that the plan on the frame has not.
    """
    percent = problem.assumptions.explain.tolerance_percent
    on_frame = shaft_tolerances(problem, passages, frame_plan, percent, progress=progress)
    return [None if at < 0 else on_frame[at] for at in shafts_on_frame(problem, frame_plan, plan)]


def shafts_on_frame(problem: FrameProblem, frame_plan: FramePlan, plan: Plan) -> list[int]:
    """Return which shaft of the plan on the frame each of the finished plan's is, -1 for none.

    It is the nearest that serves drives on the same sides, as far as the refinement may move a shaft.
    """
    reach_m = problem.assumptions.refine.aside_m + NEAREST_CELLS * problem.frame.cell_m
    nodes = np.array([problem.frame.node_xy_m[shaft.node] for shaft in frame_plan.shafts]).reshape(-1, 2)
    sides = [(shaft.incoming_role > 0, shaft.outgoing_role > 0) for shaft in frame_plan.shafts]
    found = []
    for shaft in plan.shafts:
        own = (shaft.incoming is not None, shaft.outgoing is not None)
        away_m = np.hypot(*(nodes - np.array(shaft.xy_m)).T)
        away_m[[at for at, of in enumerate(sides) if of != own]] = math.inf
        nearest = int(np.argmin(away_m)) if len(away_m) else -1
        found.append(nearest if nearest >= 0 and away_m[nearest] <= reach_m else -1)
    return found


def tolerance_table(
    problem: FrameProblem, plan: Plan, found: Sequence[ShaftTolerance | None]
) -> pd.DataFrame:
    """Return the areas within which each shaft may stand, the widest first.

    Returns
    -------
    DataFrame
        Columns of the layer ``shaft_tolerance`` with `shaft_index` in place of names.
    """
    explain = problem.assumptions.explain
    percents = sorted({*explain.tolerance_classes_percent, explain.tolerance_percent}, reverse=True)
    records = []
    for index, tolerance in enumerate(found):
        if tolerance is None:
            continue
        for percent in percents:
            if percent > explain.tolerance_percent:
                continue
            places = tolerance.within(percent)
            outline = area_of(problem.frame, places, plan.shafts[index].xy_m)
            extra_eur = min(tolerance.base_eur * percent / 100.0, tolerance.limit_eur)
            records.append((index, percent, extra_eur, len(places), outline.area, outline))
    return pd.DataFrame(records, columns=list(AREA_COLUMNS))


def area_of(frame: Frame, places: NDArray[np.int64], shaft_xy_m: tuple[float, float]) -> shapely.Polygon:
    """Return the area between places of the frame, never beyond them but for the breadth of a line.

    Squares whose four corners are places are filled; places next to each other are joined by a line; the
    shaft, which may stand off the frame, is joined to its own place, the first.

    Raises
    ------
    ValueError
        When the places do not hang together.
    """
    node_xy_m = frame.node_xy_m
    known = {(int(column), int(row)) for column, row in places}
    own = (int(places[0, 0]), int(places[0, 1]))
    pieces: list[shapely.Geometry] = [shapely.Point(node_xy_m[own])]
    if np.hypot(*(node_xy_m[own] - np.array(shaft_xy_m))) > 0.0:
        pieces.append(shapely.LineString([node_xy_m[own], shaft_xy_m]))
    for column, row in sorted(known):
        for beside in ((column + 1, row), (column, row + 1)):
            if beside in known:
                pieces.append(shapely.LineString([node_xy_m[column, row], node_xy_m[beside]]))
        square = [(column, row), (column + 1, row), (column + 1, row + 1), (column, row + 1)]
        if known.issuperset(square):
            pieces.append(shapely.Polygon([node_xy_m[corner] for corner in square]))
    half_m = HALF_WIDTH_FRAC * frame.cell_m
    broad = shapely.buffer(shapely.union_all(pieces), half_m, join_style="mitre", cap_style="square")
    if not isinstance(broad, shapely.Polygon):
        raise ValueError("places that can't be walked to from the shaft's own")
    return broad


def moves_table(problem: FrameProblem, plan: Plan, found: Sequence[ShaftTolerance | None]) -> pd.DataFrame:
    """Return how far each shaft may move along and across, to the furthest place in its own row and column.

    Returns
    -------
    DataFrame
        One row a shaft, `MOVE_COLUMNS` [m]; NaN where it isn't known.
    """
    rows = [
        (math.nan,) * 4
        if tolerance is None
        else moves_m(problem.frame, tolerance.places, plan.shafts[index].xy_m)
        for index, tolerance in enumerate(found)
    ]
    return pd.DataFrame(rows, columns=list(MOVE_COLUMNS))


def moves_m(
    frame: Frame, places: NDArray[np.int64], shaft_xy_m: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Return how far a shaft may move back and on along the axis, to the left and to the right [m].

    From where it stands to the furthest place that is reached from its own without a gap in the same row, or
    in the same column; 0 where it stands beyond that already.
    """
    own = (int(places[0, 0]), int(places[0, 1]))
    known = {(int(column), int(row)) for column, row in places}
    tx, ty = (float(value) for value in frame.tangent[own[0]])

    def reach_m(step: tuple[int, int], ux: float, uy: float) -> float:
        at = own
        while (at[0] + step[0], at[1] + step[1]) in known:
            at = (at[0] + step[0], at[1] + step[1])
        dx, dy = frame.node_xy_m[at] - np.array(shaft_xy_m)
        return max(float(dx) * ux + float(dy) * uy, 0.0) + 0.0  # no minus before a 0

    right = (ty, -tx)
    return (
        reach_m((-1, 0), -tx, -ty),
        reach_m((1, 0), tx, ty),
        reach_m((0, -1), -right[0], -right[1]),
        reach_m((0, 1), *right),
    )


def tolerance_record(problem: FrameProblem, found: Sequence[ShaftTolerance | None]) -> dict[str, str]:
    """Return what the run record says of the shafts' tolerances."""
    known = [tolerance for tolerance in found if tolerance is not None]
    if not known:
        return {}
    percent = problem.assumptions.explain.tolerance_percent
    cell_m, column_m = problem.frame.cell_m, problem.frame.column_spacing_m
    text = (
        f"{percent:g} % of the drives at a shaft with all their shafts, "
        f"{in_thousands(min(t.limit_eur for t in known))} to "
        f"{in_thousands(max(t.limit_eur for t in known))} EUR; all else planned anew, on the frame's nodes, "
        f"{column_m:.1f} m apart along and {cell_m:g} m across, as far as one leads to the next; what lies "
        "between nodes, and the frame's plan once refined, is not looked at"
    )
    n_cut = sum(tolerance.is_cut for tolerance in known)
    if n_cut:
        text += f"; {n_cut} of {counted(len(known), 'shaft')} at no more than explain.explain_budget_eur"
    n_none = len(found) - len(known)
    if n_none:
        text += f"; {counted(n_none, 'shaft')} of the refined plan not on the frame and without tolerance"
    return {"shaft_tolerance": text}
