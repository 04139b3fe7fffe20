"""One window of a plan planned again on a finer frame of its own.

Room: ``refine``. Uses the rooms that plan a whole corridor, on a part of it.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from routescreen.corridor import shapes
from routescreen.corridor.burn import BurnInput, burn
from routescreen.corridor.finer import Cut, part_near
from routescreen.corridor.ground import ground_on_frame
from routescreen.search.depths import choose_depths
from routescreen.search.halves import find_plan
from routescreen.search.problem import build_problem
from routescreen.search.solve import DriveStep
from routescreen.search.stretches import Stretch, nodes_along

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.burn import Burnt
    from routescreen.corridor.frame import Frame
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

MOST_STRETCH = 1.1  # true length of a drive over that in plan, at most


def cut_of(part: Stretch, n_parts: int, aside_m: float | None) -> Cut:
    """Return how the frame under a part of a plan is cut."""
    return Cut(n_parts, np.array(nodes_along(part.plan.steps), np.int64), aside_m)


def n_nodes_about(frame: Frame, cut: Cut) -> int:
    """Return about how many nodes a finer frame will have: the area within reach over that of a cell."""
    cell_m = frame.cell_m / cut.n_parts
    if frame.shape[1] == 1 or cut.aside_m is None:
        n_columns = int(cut.nodes[-1, 0] - cut.nodes[0, 0]) * cut.n_parts
        return n_columns * (1 if frame.shape[1] == 1 else frame.shape[1] * cut.n_parts)
    xy_m = frame.node_xy_m[cut.nodes[:, 0], cut.nodes[:, 1]]
    length_m = float(np.hypot(*np.diff(xy_m, axis=0).T).sum())
    return int(length_m * 2.0 * cut.aside_m / cell_m**2)


def plan_again(part: Stretch, frame: Frame, cut: Cut, corridor: CorridorInput) -> Stretch | None:
    """Plan a part of a plan again between its own ends.

    Pins stay at the nodes that the first plan gave them. With `Cut.aside_m` shafts and open cut are looked
    for only so far from the part's own.

    Parameters
    ----------
    part : Stretch
        With at least one drive.
    frame : Frame
        ``finer_frame`` of the part's frame by `cut`.
    cut : Cut
    corridor : CorridorInput
        The whole corridor.

    Returns
    -------
    Stretch or None
        None where no plan is found.

    Raises
    ------
    InputError
        Where the terrain has a gap at a node of the finer frame.
    """
    problem = _problem(part, frame, cut, corridor)
    found = find_plan(problem.arrays)
    return None if found is None else Stretch(problem, choose_depths(problem.arrays, found))


def _problem(part: Stretch, frame: Frame, cut: Cut, corridor: CorridorInput) -> FrameProblem:
    """Bring everything near the window onto its frame and price it."""
    whole, a = part.problem, part.problem.assumptions
    near = part_near(frame, corridor, whole.crossings, whole.sampler, assumptions=a)
    ground = ground_on_frame(frame, near.sampler)
    asked = (None, None) if cut.aside_m is None else _near_works(part, frame, cut.aside_m)
    burnt = burn(BurnInput(frame, near.corridor, near.crossings, near.sampler, ground, a, *asked))
    burnt = _with_pins(burnt, part, frame, cut)
    land = whole.land.near(_strips_reach(frame, whole))
    shaft = whole.arrays.shaft
    prices_eur = (shaft.table_eur, shaft.ramp_eur, shaft.fill_eur)
    return build_problem(
        frame, ground, burnt, near.crossings, near.sampler, a, land, shaft_prices_eur=prices_eur
    )


def _strips_reach(frame: Frame, whole: FrameProblem) -> Polygon:
    """Return how far the strips of any drive on a frame reach: far beyond the window itself."""
    layout = whole.arrays.layout
    longest_m = max((method.longest_m for method in whole.methods), default=0.0)
    beside_m = float((layout.ahead_m + 2.0 * layout.half_width_m).max(initial=0.0))
    xy_m = frame.node_xy_m[frame.is_valid]
    far_m = longest_m * MOST_STRETCH + beside_m
    (west, south), (east, north) = xy_m.min(axis=0) - far_m, xy_m.max(axis=0) + far_m
    return Polygon([(west, south), (east, south), (east, north), (west, north)])


def _near_works(part: Stretch, frame: Frame, within_m: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return the nodes near the shafts of a part, and those near its shafts or its open cut."""
    xy_m = part.problem.frame.node_xy_m
    places = [shapely.Point(xy_m[shaft.node]) for shaft in part.plan.shafts]
    ends = pairwise(nodes_along(part.plan.steps))
    trench = [
        shapely.LineString([xy_m[lower], xy_m[upper]])
        for (lower, upper), step in zip(ends, part.plan.steps, strict=True)
        if not isinstance(step, DriveStep)
    ]
    nodes = shapes.points(frame.node_xy_m.reshape(-1, 2))
    works = [shapely.union_all(found) for found in (places, [*places, *trench])]
    for found in works:
        shapely.prepare(found)
    shaft, both = (shapely.dwithin(found, nodes, within_m).reshape(frame.shape) for found in works)
    return shaft, both


def _with_pins(burnt: Burnt, part: Stretch, frame: Frame, cut: Cut) -> Burnt:
    """Put the pins of the part's columns where they stand on its own frame."""
    first, last = int(cut.nodes[0, 0]), int(cut.nodes[-1, 0])
    first_row = cut.nodes[0, 1] * cut.n_parts - frame.start[1]
    found = []
    for rows in (part.problem.burnt.pin_shaft, part.problem.burnt.pin_via):
        pinned = np.full(frame.shape[0], -1, np.int64)
        column = first + np.flatnonzero(rows[first : last + 1] >= 0)
        pinned[(column - first) * cut.n_parts] = rows[column] * cut.n_parts - first_row
        found.append(pinned)
    return replace(burnt, pin_shaft=found[0], pin_via=found[1])
