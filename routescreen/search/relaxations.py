"""What would open a gap: each family of constraints lifted alone, in the window round the gap.

Room: ``search``. Where a family is a number, the least change that opens a way is found by halving;
where it is a place, every use of a forbidden place is penalised, so that the plan found uses as few as
can be. Shafts are tried on a lattice of nodes, not on every one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from routescreen.search.arrays import BLOCKED_M, SearchArrays, SiteArrays
from routescreen.search.forces import with_any_grout, without_limits
from routescreen.search.gap_names import beside_node, closed_to_trench, crossing_title
from routescreen.search.layout import any_land
from routescreen.search.side_by_side import run_side_by_side
from routescreen.search.solve import (
    DriveStep,
    FramePlan,
    layout_of_step,
    optimum_eur,
    run_with_progress,
    settle_drive,
)
from routescreen.search.trace import trace_plan

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.search.problem import FrameProblem

PENALTY_EUR = 1e9  # of each use of a forbidden place, above any plan's price
HALVINGS = 3
_CLOSED_OTHERWISE = "an outer trench of the band would run along inside something, or at too small an angle"
WIDEST_FACTOR = 2.5  # how far a number is stretched at most
LATTICE_M = 100.0  # between places tried for a shaft where none may stand


@dataclass(frozen=True, slots=True)
class Relaxation:
    """One lifted constraint that opens a way: a sentence, and the price of the plan it allows."""

    text: str
    eur: float


@dataclass(frozen=True, slots=True)
class Gap:
    """The problem, its window as arrays, the window's first column in the whole."""

    problem: FrameProblem
    arrays: SearchArrays
    first_column: int

    @property
    def columns(self) -> slice:
        """The window's columns in the whole problem."""
        return slice(self.first_column, self.first_column + len(self.arrays.pin_shaft))

    def node(self, node: tuple[int, int]) -> tuple[int, int]:
        """Return a node of the window as one of the whole problem."""
        return node[0] + self.first_column, node[1]

    def chainage_m(self, column: int) -> float:
        """Return the axis chainage of a column of the window [m]."""
        return (column + self.first_column) * self.problem.frame.column_spacing_m


def relaxations(gap: Gap) -> list[Relaxation]:
    """Return what opens the gap, cheapest first."""
    families: tuple[Callable[[Gap], Relaxation | None], ...] = (
        _longer_drives,
        _any_grout,
        _more_shaft_places,
        _land_for_compounds,
        _trench_anywhere,
        _flatter_angles,
        _steeper_grades,
        _drives_anywhere,
        _shorter_trench,
        _strings_anywhere,
    )
    waiting = iter(families)  # hands each out once, whichever of the two threads asks

    def look() -> list[Relaxation]:
        return [relaxation for family in waiting if (relaxation := family(gap)) is not None]

    found = [relaxation for part in run_side_by_side([look, look]) for relaxation in part]
    return sorted(found, key=lambda relaxation: (relaxation.eur, relaxation.text))


def _title(gap: Gap, method: int) -> str:
    """Return how a method is spoken of."""
    return gap.problem.assumptions.methods[gap.problem.methods[method].name].title


def chainages(from_m: float, to_m: float) -> str:
    """Write a stretch of the axis, one chainage where both ends round to the same metre."""
    one, other = f"{from_m:.0f}", f"{to_m:.0f}"
    return f"axis chainage {one} m" + ("" if one == other else f" to {other} m")


def place_text(problem: FrameProblem, node: tuple[int, int]) -> str:
    """Say where a node lies: chainage, offset and coordinates."""
    x, y = problem.frame.node_xy_m[node]
    offset_m = problem.frame.offset0_m + node[1] * problem.frame.cell_m
    chainage_m = node[0] * problem.frame.column_spacing_m
    return f"axis chainage {chainage_m:.0f} m, offset {offset_m:.0f} m (x {x:.0f}, y {y:.0f})"


def solve_freed(arrays: SearchArrays) -> FramePlan | None:
    """Return the cheapest plan of a problem with something lifted, None where there is none."""
    result = run_with_progress(arrays)
    if not math.isfinite(optimum_eur(arrays, result)):
        return None
    return trace_plan(arrays, result)


def _least_factor(
    change: Callable[[float], SearchArrays], used: Callable[[FramePlan], float]
) -> tuple[float, FramePlan] | None:
    """Return the least factor above 1 that opens a way, found by halving, and its plan.

    `used` tells which factor a plan really needs, so that halving starts from there.
    """
    best = solve_freed(change(WIDEST_FACTOR))
    if best is None:
        return None
    low, high = 1.0, min(WIDEST_FACTOR, max(used(best), 1.0))
    for _ in range(HALVINGS):
        if high - low < 0.05:
            break
        middle = 0.5 * (low + high)
        plan = solve_freed(change(middle))
        if plan is None:
            low = middle
        else:
            high, best = min(middle, max(used(plan), low)), plan
    return high, best


def _longer_drives(gap: Gap) -> Relaxation | None:
    arrays = gap.arrays

    def change(factor: float) -> SearchArrays:
        drive = arrays.drive._replace(longest_m=arrays.drive.longest_m * factor)
        columns = min(int(arrays.longest_columns * factor) + 1, len(arrays.pin_shaft) - 1)
        force = without_limits(arrays.force)
        return arrays._replace(drive=drive, force=force, longest_columns=columns)

    # open cut is cheaper by the metre, so the cheapest plan takes a drive hardly longer than it must be;
    # halving would cost far more: a drive that only just reaches leaves little to pass over
    plan = solve_freed(change(WIDEST_FACTOR))
    if plan is None:
        return None
    drives = [step for step in plan.steps if isinstance(step, DriveStep)]
    texts = [text for step in drives if (text := _beyond_limits(gap, change(WIDEST_FACTOR), step))]
    return Relaxation(", and ".join(texts), plan.objective_eur) if texts else None


def _any_grout(gap: Gap) -> Relaxation | None:
    """Let grout press as it likes; the switch is named, since the finished plan then tells what fails."""
    arrays = gap.arrays
    if not arrays.force.grout.is_limited.any():
        return None
    plan = solve_freed(arrays._replace(force=with_any_grout(arrays.force)))
    if plan is None:
        return None
    text = (
        "drives that can't be grouted in one go within what the ground bears (search.grout_steers = false: "
        "only told; stages or a deeper line may mend it)"
    )
    return Relaxation(text, plan.objective_eur)


def _beyond_limits(gap: Gap, longer: SearchArrays, step: DriveStep) -> str:
    """Say what a drive is too long or too heavy for, nothing where it keeps all limits."""
    allowed_m = _allowed_m(gap.arrays, step)
    forced = longer._replace(force=gap.arrays.force)
    is_heavy = settle_drive(forced, step.lower, step.upper, step.method, step.is_launched_at_lower) is None
    if step.length_m <= allowed_m and not is_heavy:
        return ""
    length = f" instead of {allowed_m:.0f} m" if step.length_m > allowed_m else ""
    force = ", pushed or pulled harder than frame, string or pipe bear" if is_heavy else ""
    return f"a {_title(gap, step.method)} drive of {step.length_m:.0f} m{length}{force}"


def _allowed_m(arrays: SearchArrays, step: DriveStep) -> float:
    """Return the least length that a soil on a drive's way allows its method [m]."""
    soils = np.unique(arrays.ground.soil[step.cells[:, 0], step.cells[:, 1]])
    limits = arrays.drive.longest_m[step.method, soils]
    return float(limits[limits > 0.0].min(initial=arrays.drive.longest_m[step.method].max()))


def _more_shaft_places(gap: Gap) -> Relaxation | None:
    arrays = gap.arrays
    is_closed = ~arrays.shaft.is_allowed.any(axis=(2, 3, 4)) & _on_lattice(gap)
    site = _penalised(arrays.shaft.site, is_closed)
    allowed = arrays.shaft.is_allowed | is_closed[:, :, None, None, None]
    shaft = arrays.shaft._replace(is_allowed=allowed, site=site)
    plan = solve_freed(arrays._replace(shaft=shaft))
    if plan is None:
        return None
    places = [step.node for step in plan.shafts if is_closed[step.node]]
    if not places:
        return None
    text = "a shaft allowed at " + " and at ".join(
        _shaft_place(gap.problem, gap.node(node)) for node in places
    )
    return Relaxation(text, plan.objective_eur - PENALTY_EUR * len(places))


def _land_for_compounds(gap: Gap) -> Relaxation | None:
    """Let shafts stand where only their compounds lack land, at a penalty each."""
    arrays = gap.arrays
    room = np.moveaxis(gap.problem.burnt.shaft_room, (0, 1, 2), (2, 3, 4))[gap.columns]
    is_short = np.asarray((room & ~arrays.shaft.is_allowed).any(axis=(2, 3, 4)))
    if not is_short.any():
        return None
    site = _penalised(arrays.shaft.site, is_short)
    shaft = arrays.shaft._replace(is_allowed=np.ascontiguousarray(room), site=site)
    plan = solve_freed(arrays._replace(shaft=shaft))
    nodes = [step.node for step in plan.shafts if is_short[step.node]] if plan is not None else []
    if plan is None or not nodes:
        return None
    where = " and at ".join(place_text(gap.problem, gap.node(node)) for node in nodes)
    text = f"land for the compound of a shaft at {where}"
    return Relaxation(text, plan.objective_eur - PENALTY_EUR * len(nodes))


def _penalised(site: SiteArrays, is_closed: NDArray[np.bool_]) -> SiteArrays:
    """Return the sites with a penalty on the closed nodes, as further kinds of places."""
    n_kinds = len(site.near_eur)
    return site._replace(
        kind=(site.kind + np.where(is_closed, n_kinds, 0)).astype(np.int32),
        near_eur=np.concatenate([site.near_eur, site.near_eur + PENALTY_EUR]),
        far_eur=np.concatenate([site.far_eur, site.far_eur + PENALTY_EUR]),
    )


def _on_lattice(gap: Gap) -> NDArray[np.bool_]:
    """Return the nodes at which a shaft is tried: time grows with the square of their number."""
    frame = gap.problem.frame
    is_tried = np.zeros(gap.arrays.ground.ground_m.shape, dtype=np.bool_)
    along = max(1, round(LATTICE_M / frame.column_spacing_m))
    across = max(1, round(LATTICE_M / frame.cell_m))
    is_tried[::along, gap.arrays.start_row % across :: across] = True
    return is_tried & frame.is_valid[gap.columns]


def _shaft_place(problem: FrameProblem, node: tuple[int, int]) -> str:
    near = beside_node(problem, node)
    return place_text(problem, node) + (f", in or beside {', '.join(near[:3])}" if near else "")


def _trench_anywhere(gap: Gap) -> Relaxation | None:
    """Let trenches go wherever both ends lie in the corridor, at a penalty a move.

    What is closed has no price of its own: the mean of the open moves of its kind stands for it, which
    only decides in which order the ways out are listed.
    """
    arrays, trench = gap.arrays, gap.arrays.trench
    is_open = np.isfinite(trench.move_eur)
    is_lifted = ~is_open & _stays_inside(gap)
    with_price = np.where(is_open, trench.move_eur, 0.0)
    mean_eur = with_price.sum(axis=(0, 1)) / np.maximum(is_open.sum(axis=(0, 1)), 1)
    eur = np.where(is_lifted, mean_eur + PENALTY_EUR, trench.move_eur)
    plan = solve_freed(arrays._replace(trench=trench._replace(move_eur=np.ascontiguousarray(eur))))
    if plan is None:
        return None
    bad = [s for s in plan.steps if not isinstance(s, DriveStep) and is_lifted[(*s.start, s.move)]]
    if not bad:
        return None
    nodes = [gap.node(step.start) for step in bad]
    last = (
        bad[-1].start[0] + int(trench.moves[bad[-1].move, 0]),
        bad[-1].start[1] + int(trench.moves[bad[-1].move, 1]),
    )
    what = ", ".join(closed_to_trench(gap.problem, [*nodes, gap.node(last)])[:4]) or _CLOSED_OTHERWISE
    text = (
        f"open cut allowed at {chainages(gap.chainage_m(bad[0].start[0]), gap.chainage_m(last[0]))} ({what})"
    )
    return Relaxation(text, plan.objective_eur - PENALTY_EUR * len(bad))


def _stays_inside(gap: Gap) -> NDArray[np.bool_]:
    """Return the moves between nodes of the corridor, shape (nx, ny, nv)."""
    is_valid = gap.problem.frame.is_valid[gap.columns]
    nx, ny = is_valid.shape
    stays = np.zeros(gap.arrays.trench.move_eur.shape, dtype=np.bool_)
    for v, (dc, dr) in enumerate(gap.arrays.trench.moves):
        low, high = max(0, -int(dr)), ny - max(0, int(dr))
        if dc < nx and low < high:
            starts = slice(0, nx - int(dc)), slice(low, high)
            ends = slice(int(dc), nx), slice(low + int(dr), high + int(dr))
            stays[(*starts, v)] = is_valid[starts] & is_valid[ends]
    return stays


def _flatter_angles(gap: Gap) -> Relaxation | None:
    arrays = gap.arrays
    sine = arrays.drive.segment_sin_min_angle
    free = arrays.drive._replace(segment_sin_min_angle=np.where(sine > 1.0, sine, 0.0))  # the edge stays
    plan = solve_freed(arrays._replace(drive=free))
    if plan is None:
        return None
    crossed = {int(c) for step in plan.steps if isinstance(step, DriveStep) for c in step.crossings}
    has_angle = [c for c in sorted(crossed) if gap.problem.crossings.min_angle_deg[c] > 0.0]
    names = ", ".join(crossing_title(gap.problem, c) for c in has_angle[:4])
    return Relaxation(f"a smaller crossing angle allowed at one of {names}", plan.objective_eur)


def _steeper_grades(gap: Gap) -> Relaxation | None:
    arrays = gap.arrays

    def change(factor: float) -> SearchArrays:
        drive = arrays.drive._replace(
            slope_min_frac=arrays.drive.slope_min_frac * factor,
            slope_max_frac=arrays.drive.slope_max_frac * factor,
        )
        return arrays._replace(drive=drive)

    most = max(method.grade_max_frac for method in gap.problem.methods)

    def used(plan: FramePlan) -> float:
        return max(_steepest_frac(s) for s in plan.steps if isinstance(s, DriveStep)) / most

    found = _least_factor(change, used)
    if found is None:
        return None
    steepest = max((s for s in found[1].steps if isinstance(s, DriveStep)), key=_steepest_frac)
    name = _title(gap, steepest.method)
    limit = 100.0 * gap.problem.methods[steepest.method].grade_max_frac
    slope = 100.0 * _steepest_frac(steepest)
    return Relaxation(
        f"a {name} drive with a grade of {slope:.1f} % instead of {limit:.1f} %", found[1].objective_eur
    )


def _steepest_frac(step: DriveStep) -> float:
    """Return the steepest slope of a drive: of an arc that at its steeper end [-]."""
    return abs(step.line.slope_frac) + step.arc_per_m * step.length_m


def _drives_anywhere(gap: Gap) -> Relaxation | None:
    """Let drives pass what they must avoid, at the cover of the ground beside it."""
    problem, arrays, columns = gap.problem, gap.arrays, gap.columns
    is_blocked = (arrays.drive.ceiling_m < BLOCKED_M) & problem.frame.is_valid[columns]
    lowest = problem.ground.lowest_ground_m[columns]
    covers = np.array([method.cover_m for method in problem.methods])
    opened = np.where(is_blocked, lowest[None] - covers[:, None, None], arrays.drive.ceiling_m)
    freed = arrays._replace(drive=arrays.drive._replace(ceiling_m=opened))
    plan = solve_freed(_with_penalty(freed, is_blocked))
    if plan is None:
        return None
    cells = [
        tuple(cell)
        for step in plan.steps
        if isinstance(step, DriveStep)
        for cell in step.cells
        if is_blocked[(step.method, *cell)]
    ]
    if not cells:
        return None
    along = sorted(int(cell[0]) for cell in cells)
    where = chainages(gap.chainage_m(along[0]), gap.chainage_m(along[-1]))
    return Relaxation(f"a drive allowed under what it must avoid at {where}", plan.objective_eur)


def _with_penalty(arrays: SearchArrays, is_blocked: NDArray[np.bool_]) -> SearchArrays:
    """Make each metre dear where a method is blocked: a kind of ground for every set of methods.

    `is_blocked` has the shape (nm, nx, ny).
    """
    fine, drive = arrays.fine, arrays.drive
    n_methods, n_kinds = drive.soil_eur_per_m.shape
    methods = np.arange(n_methods)
    which = np.tensordot(2**methods, is_blocked, axes=1)
    for axis in (0, 1):
        which = np.repeat(which, fine.kind.shape[axis] // is_blocked.shape[axis + 1], axis=axis)
    is_dear = (np.arange(2**n_methods)[None, :] >> methods[:, None]) % 2
    extra = np.repeat(is_dear * PENALTY_EUR / 100.0, n_kinds, axis=1)

    def times(values: NDArray[Any]) -> NDArray[Any]:
        return np.tile(values, 2**n_methods)

    return arrays._replace(
        fine=fine._replace(
            kind=(fine.kind + n_kinds * which).astype(np.int32),
            soil=times(fine.soil),
            rock_soil=times(fine.rock_soil),
        ),
        drive=drive._replace(
            soil_eur_per_m=times(drive.soil_eur_per_m) + extra,
            rock_eur_per_m=times(drive.rock_eur_per_m) + extra,
        ),
    )


def _strings_anywhere(gap: Gap) -> Relaxation | None:
    """Let pipe strings lie in one piece wherever their drives end."""
    arrays = gap.arrays
    plan = solve_freed(arrays._replace(layout=any_land(arrays.layout)))
    if plan is None:
        return None
    drives = [step for step in plan.steps if isinstance(step, DriveStep)]
    homeless = [step for step in drives if layout_of_step(arrays, step).n_pieces == 0]
    if not homeless:
        return None
    ends = [place_text(gap.problem, gap.node(step.launch_and_reception[1])) for step in homeless]
    places = [
        f"a {_title(gap, step.method)} drive at {end}" for step, end in zip(homeless, ends, strict=True)
    ]
    return Relaxation(f"land for the pipe strings behind {' and '.join(places)}", plan.objective_eur)


def _shorter_trench(gap: Gap) -> Relaxation | None:
    arrays = gap.arrays
    if arrays.trench.fresh_columns <= 1:
        return None
    plan = solve_freed(arrays._replace(trench=arrays.trench._replace(fresh_columns=1)))
    if plan is None:
        return None
    least = gap.problem.assumptions.trench.min_trench_m
    return Relaxation(f"a run of trench between two shafts shorter than {least:.0f} m", plan.objective_eur)
