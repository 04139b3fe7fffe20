"""Why each section is what it is, in one sentence from the plan's own numbers.

Room: ``search``.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor.dips import barred_by_crossing
from routescreen.counted import grouped
from routescreen.engineering.string_layout import KINK_RAD
from routescreen.search.crossing_ways import soil_words
from routescreen.search.gap_names import feature_id
from routescreen.search.other_methods import Hindrance, extra_on_this_line
from routescreen.search.solve import DriveStep, FramePlan, Node, TrenchStep, layout_of_step
from routescreen.search.stretches import Stretch, drives_of, nodes_along

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.search.layout_kernel import Layout
    from routescreen.search.problem import FrameProblem

MOST_NAMED = 4  # crossings named in one sentence
MOST_NAMES = 2  # of one crossing


def section_reasons(problem: FrameProblem, plan: FramePlan) -> tuple[str, ...]:
    """Return one sentence for each section of a plan on one frame; see ``reasons_along``."""
    return reasons_along(problem, (Stretch(problem, plan),))


def reasons_along(problem: FrameProblem, stretches: Sequence[Stretch]) -> tuple[str, ...]:
    """Return one sentence for each section of a plan in stretches, in order.

    A drive names what may not be cut open, else what makes it the cheaper construction, and why its
    method was taken; open cut names what it goes round and what it opens. `problem` is that of the whole
    corridor.
    """
    driven = frozenset(
        owner.crossings.feature_ids[crossing]
        for owner, step in drives_of(stretches)
        for crossing in step.crossings
    )
    reasons: list[str] = []
    run: list[Stretch] = []
    for stretch in stretches:
        for is_drive, group in groupby(stretch.plan.steps, lambda step: isinstance(step, DriveStep)):
            if not is_drive:
                run.append(Stretch(stretch.problem, FramePlan(0.0, tuple(group), ())))
                continue
            reasons += [_open_cut_reason(problem, run, driven)] if run else []
            run = []
            reasons += [_drive_reason(stretch, step) for step in group if isinstance(step, DriveStep)]
    return (*reasons, _open_cut_reason(problem, run, driven)) if run else tuple(reasons)


def title(problem: FrameProblem, crossing: int, line: shapely.LineString | None = None) -> str:
    """Return what a crossing is called: its names with its kind, the kind alone where the name says it.

    Features that merge into one crossing may be many, such as the streets of a village: those that the line
    meets are named, or the nearest to it.
    """
    kind = problem.crossings.kind[crossing].replace("_", " ")
    names = _names_at(problem, crossing, line)
    if not names:
        return f"{kind} {_id_at(problem, crossing, line)}"
    name = " / ".join(names[:MOST_NAMES])
    name += f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return name if kind in name.lower() else f"{name} ({kind})"


def _names_at(problem: FrameProblem, crossing: int, line: shapely.LineString | None) -> list[str]:
    """Return the names of those features of a crossing that a line meets, of all where none is given."""
    features = problem.crossings.features
    members = np.flatnonzero(features.crossing == crossing)
    if line is not None and len(members) > 1:
        away_m = shapely.distance(features.outline[members], line)
        members = members[away_m <= away_m.min()]
    return list(dict.fromkeys(name for k in members if (name := features.name[k])))


def _id_at(problem: FrameProblem, crossing: int, line: shapely.LineString | None) -> str:
    """Return the id of the feature of a crossing that a line meets; of the first where none is given."""
    members = np.flatnonzero(problem.crossings.features.crossing == crossing)
    if line is None or len(members) < 2:
        return feature_id(problem, int(members[0]))
    away_m = shapely.distance(problem.crossings.features.outline[members], line)
    return feature_id(problem, int(members[int(np.argmin(away_m))]))


def listed(names: Sequence[str]) -> str:
    """Join names into a phrase, each once; what goes beyond the most that one sentence names is counted."""
    names = list(dict.fromkeys(names))
    n_more = len(names) - MOST_NAMED
    parts = [*names[:MOST_NAMED], f"{n_more} more"] if n_more > 0 else names
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _titles(problem: FrameProblem, crossings: Sequence[int], line: shapely.LineString | None = None) -> str:
    return listed([title(problem, crossing, line) for crossing in crossings])


def _line(problem: FrameProblem, pieces: Sequence[tuple[Node, Node]]) -> shapely.LineString:
    """Return the line through pieces that follow one another."""
    nodes = problem.frame.node_xy_m
    return shapely.LineString([nodes[pieces[0][0]], *(nodes[end] for _, end in pieces)])


def _drive_reason(stretch: Stretch, step: DriveStep) -> str:
    problem = stretch.problem
    crossings = [int(c) for c in step.crossings]
    line = _line(problem, [(step.lower, step.upper)])
    barring = _barring(problem, line)
    closed = [c for c in crossings if problem.crossings.trench[c] == "no" and c in barring]
    undipped = [] if closed else [c for c in _undipped(problem, line) if c in crossings]
    others = [c for c in crossings if c not in (*closed, *undipped)]
    if undipped:
        text = f"Drive, because no dip of open cut below {_titles(problem, undipped, line)} bears the current"
        if others:
            text += f"; it passes under {_titles(problem, others, line)}"
    elif closed:
        text = f"Drive, because no trench is allowed through {_titles(problem, closed, line)}"
        if others:
            text += f"; it passes under {_titles(problem, others, line)} on the way"
    else:
        text = f"Drive, because {_trench_reason(problem, step)}"
        if others:
            text += f"; it passes under {_titles(problem, others, line)}"
    parts = (f"{text}.", _method_reason(stretch, step), _layout_reason(problem, step))
    return " ".join(part for part in parts if part)


def _barring(problem: FrameProblem, line: shapely.LineString) -> frozenset[int]:
    """Return the crossings of which a drive's line comes upon a feature that itself allows no trench."""
    features = problem.crossings.features
    clear_m = features.shaft_clearance_m + problem.assumptions.working_strip_m / 2.0
    is_met = shapely.distance(features.outline, line) <= clear_m
    return frozenset(int(c) for c in features.crossing[is_met & (features.trench == "no")])


def _undipped(problem: FrameProblem, line: shapely.LineString) -> list[int]:
    """Return the crossings that a line meets where no dip of open cut below them would do."""
    areas = barred_by_crossing(problem.crossings, problem.sampler, problem.assumptions)
    return [crossing for crossing, of_one in areas.items() if shapely.intersects(of_one, line).any()]


def _trench_reason(problem: FrameProblem, step: DriveStep) -> str:
    """Say what speaks against a trench on the line of a drive under nothing that forbids one."""
    cells = step.cells[step.cells[:, 0] < step.upper[0]]
    straight_eur = problem.arrays.trench.move_eur[cells[:, 0], cells[:, 1], 0]
    is_closed = ~np.isfinite(straight_eur)
    cover = problem.ground.node.cover_class[cells[:, 0], cells[:, 1]]
    if is_closed.any():
        return _closed_reason(problem, step, cover[is_closed])
    eur_per_m = float(straight_eur.mean()) / problem.frame.column_spacing_m
    most = cover_title(problem, int(np.bincount(cover).argmax()))
    return (
        f"it costs less than the ways open to a trench, which on this line would cost about "
        f"{in_thousands(eur_per_m, 100)} EUR/m ({most} ground for the most part)"
    )


def _closed_reason(problem: FrameProblem, step: DriveStep, cover: NDArray[np.int16]) -> str:
    """Say what closes the line of a drive to a trench: ground cover, what stands beside it, or the edge."""
    classes = list(problem.assumptions.cover.values())
    barred = [int(c) for c in np.unique(cover) if not classes[c].trench_allowed]
    if barred:
        return f"no trench is allowed on {listed([cover_title(problem, c) for c in barred])} ground"
    line = _line(problem, [(step.lower, step.upper)])
    beside = _kept_clear_of(problem, line)
    if beside:
        titles = _titles(problem, beside, line)
        return f"the working strip has no room on this line beside {titles}"
    return (
        "along this line the trenches would leave the corridor, meet a crossing at too small an angle, "
        "or an outer trench of the band would run along inside a crossing, a service's clearance or "
        "ground without trench"
    )


def cover_title(problem: FrameProblem, cover: int) -> str:
    """Return how a class of ground cover is spoken of."""
    return list(problem.assumptions.cover)[cover].replace("_", "-")


def in_thousands(value: float, step: int = 1000) -> str:
    """Write a number rounded to whole steps, thousands set apart."""
    return grouped(round(value / step) * step)


def _method_reason(stretch: Stretch, step: DriveStep) -> str:
    """Say why the drive's method was taken and not another of the catalogue."""
    problem = stretch.problem
    own = problem.methods[step.method]
    texts = []
    for index, method in enumerate(problem.methods):
        if index == step.method:
            continue
        name = problem.assumptions.methods[method.name].title
        if step.length_m > method.longest_m:
            texts.append(
                f"{name} reaches {method.longest_m:.0f} m at most, the drive is {step.length_m:.0f} m long"
            )
            continue
        extra = extra_on_this_line(problem.arrays, stretch.plan, step, index)
        if isinstance(extra, Hindrance):
            heat = soil_words(problem, index, step.cells) if extra is Hindrance.LINE else ""
            texts.append(f"{name} is no way, {heat}" if heat else f"{name} {extra.value}")
        else:
            texts.append(
                f"{name} on this line would cost {in_thousands(abs(extra), 1000)} EUR "
                f"{'more' if extra > 0.0 else 'less'}, both its shafts included"
            )
    title_ = problem.assumptions.methods[own.name].title
    return f"By {title_}: " + "; ".join(texts) + "." if texts else f"By {title_}."


def _layout_reason(problem: FrameProblem, step: DriveStep) -> str:
    """Say how the pipe strings lie, and what became of them behind the drive's other shaft."""
    arrays = problem.arrays
    if arrays.layout.most_pieces[step.method] == 0:
        return ""
    own = layout_of_step(arrays, step)
    turned = replace(step, is_launched_at_lower=not step.is_launched_at_lower)
    here, there = ("second", "first") if step.is_launched_at_lower else ("first", "second")
    text = f"The pipe strings lie behind its {here} shaft, {_lie(own)}"
    other = layout_of_step(arrays, turned)
    if (other.n_pieces, abs(other.n_kinks)) == (own.n_pieces, abs(own.n_kinks)):
        return f"{text}."
    elsewhere = "they would have no room" if other.n_pieces == 0 else f"they would lie {_lie(other)}"
    return f"{text}; behind the {there} one {elsewhere}."


def _lie(layout: Layout) -> str:
    """Say how strings lie."""
    pieces = "in one piece" if layout.n_pieces == 1 else f"in {layout.n_pieces} pieces"
    if layout.n_kinks == 0:
        return f"{pieces} and straight"
    side = "left" if layout.n_kinks > 0 else "right"
    turn_deg = round(np.degrees(abs(layout.n_kinks) * KINK_RAD))
    return f"{pieces} with a bend of {turn_deg} degrees to the {side}"


def _open_cut_reason(problem: FrameProblem, run: Sequence[Stretch], driven: frozenset[str]) -> str:
    """Say what a run of open cut goes round and what it opens."""
    line = shapely.LineString(np.concatenate([_trench_xy_m(part) for part in run]))
    opened = [name for part in run for name in _opened_titles(part, line)]
    ids = problem.crossings.feature_ids
    beside = [crossing for crossing in _kept_clear_of(problem, line) if ids[crossing] not in driven]
    text = "Open cut, because nothing on this line forbids a trench and it costs least"
    text += f"; it keeps clear of {_titles(problem, beside, line)}" if beside else ""
    return f"{text}; it crosses {listed(opened)}." if opened else f"{text}."


def _trench_xy_m(part: Stretch) -> NDArray[np.float64]:
    """Return the nodes along a run of open cut [m]."""
    column, row = np.array(nodes_along(part.plan.steps), np.int64).T
    return np.asarray(part.problem.frame.node_xy_m[column, row])


def _opened_titles(part: Stretch, line: shapely.LineString) -> list[str]:
    """Return what the crossings are called that a run of open cut opens."""
    burnt, ny = part.problem.burnt, part.problem.frame.node_xy_m.shape[1]
    moves = [step for step in part.plan.steps if isinstance(step, TrenchStep)]
    keys = {(step.start[0] * ny + step.start[1]) * burnt.move_ok.shape[2] + step.move for step in moves}
    is_opened = np.isin(burnt.pair_move, np.array(sorted(keys), np.int64))
    return [title(part.problem, int(crossing), line) for crossing in burnt.pair_crossing[is_opened]]


def _kept_clear_of(problem: FrameProblem, line: shapely.LineString) -> list[int]:
    """Return the crossings without trench that leave the strip less than a cell and a half of play."""
    features = problem.crossings.features
    play_m = shapely.distance(features.outline, line) - features.shaft_clearance_m
    play_m -= problem.assumptions.working_strip_m / 2.0
    is_near = (play_m < 1.5 * problem.frame.cell_m) & (features.trench == "no")
    near = np.flatnonzero(is_near)
    first = shapely.line_locate_point(line, shapely.centroid(features.outline[near]))
    return list(dict.fromkeys(int(features.crossing[k]) for k in near[np.argsort(first, kind="stable")]))
