"""One corridor screened: frame, ground, treatments, search, audit, bill.

Room: above ``search`` and ``audit``, below ``results``. Reads as the job itself; every step is one call
into the room that does it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from shapely import LineString

from routescreen.audit import AuditReport, Breach, Sites, audit_plan, count_warnings, prove_plan
from routescreen.backdrop import backdrop_of
from routescreen.corridor.burn import BurnInput, burn
from routescreen.corridor.compounds import refused_ground
from routescreen.corridor.dips import dipped_crossings
from routescreen.corridor.drive_reach import drive_reach_warnings
from routescreen.corridor.effort import Effort, check_memory, expected_effort, machine_memory_mb
from routescreen.corridor.frame import check_cell_size, reference_axis
from routescreen.corridor.layout_ground import layout_ground
from routescreen.counted import counted, grouped
from routescreen.drives.cable_make import asked_A
from routescreen.drives.trench_spacing import spacings_m
from routescreen.explained import Finished, Measure, explain, explanations_asked, least_extra_eur
from routescreen.groundwork import lay_out
from routescreen.longsection import DriveCells, long_section
from routescreen.money.apart import shown_apart
from routescreen.plan import trench_length_m, vertex_chainage_m
from routescreen.polish.smooth import Ends, Smoother, smoothed_runs
from routescreen.refine import Gains, Judge, Standing, error_percent, refine_plan
from routescreen.refine import drive_errors_percent as price_errors_percent
from routescreen.runlog import Progress, no_progress
from routescreen.schema import NEVER_PRICED, NOT_IN_BILL
from routescreen.screened import ScreenedCorridor, Site
from routescreen.screening_tables import audit_checks, bill_table, cost_record, crossing_rows, drive_data
from routescreen.search.blockage import no_plan_error
from routescreen.search.depths import choose_depths
from routescreen.search.drive_kernel import drive_key
from routescreen.search.geometry import plan_geometry
from routescreen.search.halves import find_plan_and_halves
from routescreen.search.problem import FrameProblem, build_problem
from routescreen.search.solve import DriveStep, FramePlan
from routescreen.search.stretches import Stretch, drives_of, measure_stretches
from routescreen.search.stuck import stuck_at
from routescreen.search.warm_dips import lift_dips, too_warm_warnings
from routescreen.search.warm_drives import lift_floors
from routescreen.sites import place_sites
from routescreen.takeoff import Scope, TakeOff, take_off, wider_trenches

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.corridor.ground import GroundSampler
    from routescreen.errors import Problem
    from routescreen.explained import Explanations
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput
    from routescreen.search.frame_bill import FrameBill
    from routescreen.search.halves import Halves

NO_GAINS = Gains()
WHY = "no plan so far: looking why"  # the stage of a run that may end without one
# The stages in order, with about the share of the time that each takes [-]: measured on corridors of 12 km.
STAGE_SHARES = {
    "frame": 0.01,
    "ground": 0.03,
    "crossings": 0.27,
    "prices": 0.05,
    "search": 0.21,
    WHY: 0.0,
    "solve again": 0.0,
    "refine": 0.05,
    "polish": 0.05,
    "audit": 0.04,
    "explain": 0.26,
    "measure": 0.03,
}


@dataclass(frozen=True, slots=True)
class Screening:
    """What came of one corridor.

    `breaches` is empty when the plan may stand; `frame_error_percent` compares the bill of the exact
    geometry, before it is smoothed, with the bill on the frame, which the search minimised.
    """

    corridor: ScreenedCorridor
    breaches: tuple[Problem, ...]
    frame_error_percent: float
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Solved:
    """A plan on the frame, as the same geometry, and polished, with the audit of the polished one.

    `frame_plan` is the optimum on the corridor's frame; `stretches` are the frames and steps that `on_frame`
    was laid out from: one, until it is refined. `halves` are the passes that found
    it, None on short corridors. `plan` is `on_frame` until it is smoothed.
    """

    problem: FrameProblem
    frame_plan: FramePlan
    on_frame: Plan
    plan: Plan
    audit: AuditReport
    n_rounds: int
    stretches: tuple[Stretch, ...]
    halves: Halves | None = None
    gains: Gains = NO_GAINS


def reckon_effort(corridor: CorridorInput, assumptions: Assumptions) -> Effort:
    """Reckon what screening a corridor will take, and refuse what the machine can't hold.

    Raises
    ------
    InputError
        When the cell size does not fit, or it would need more memory than there is.
    """
    check_cell_size(corridor, assumptions.frame.cell_m)
    effort = expected_effort(corridor, cell_m=assumptions.frame.cell_m)
    check_memory(corridor, effort, machine_memory_mb())
    return effort


def screen_corridor(
    corridor: CorridorInput, assumptions: Assumptions, progress: Progress = no_progress
) -> Screening:
    """Find, audit and price the plan of one corridor.

    Parameters
    ----------
    corridor : CorridorInput
    assumptions : Assumptions
    progress : callable
        Told what is being done and the share of it that is done.

    Returns
    -------
    Screening

    Raises
    ------
    InputError
        When the corridor can't be framed or a pin can't be served.
    NoPlanError
        When no plan keeps the constraints; names where, what stops it and what would open it.
    """
    problem, sampler = prepare(corridor, assumptions, progress)
    solved = _without_idle_halves(solve_and_audit(problem, corridor, progress))
    solved = smoothed(refined(solved, corridor, progress), corridor, progress)
    progress("explain", 0.0)
    explained = explain(
        solved.problem,
        solved.halves,
        solved.frame_plan,
        Finished(solved.plan, solved.stretches, solved.audit),
        corridor=corridor,
        measure=Measure(
            lambda plan: take_off(Scope(plan, sampler, solved.problem.crossings, assumptions)).total_eur(
                assumptions
            ),
            lambda plan: len(_audit(plan, solved.problem, corridor).breaches),
        ),
        progress=lambda share: progress("explain", share),
    )
    progress("measure", 0.0)
    return _assemble(solved, corridor, sampler, explained)


def _without_idle_halves(solved: Solved) -> Solved:
    """Let go of the search's passes, most of the memory, where the link is too long to be explained."""
    a, n_crossings = solved.problem.assumptions, len(solved.audit.crossings)
    is_asked = explanations_asked(a, n_crossings, len(solved.plan.shafts)).any
    return solved if is_asked else replace(solved, halves=None)


def prepare(
    corridor: CorridorInput, assumptions: Assumptions, progress: Progress = no_progress
) -> tuple[FrameProblem, GroundSampler]:
    """Bring everything onto the frame and price it."""
    frame, sampler, ground = lay_out(corridor, assumptions, progress)
    progress("crossings", 0.0)
    crossings = dipped_crossings(corridor, sampler, assumptions)
    burnt = burn(BurnInput(frame, corridor, crossings, sampler, ground, assumptions))
    progress("prices", 0.0)
    land = layout_ground(crossings, sampler, assumptions, corridor)
    return build_problem(frame, ground, burnt, crossings, sampler, assumptions, land), sampler


def solve_and_audit(
    problem: FrameProblem, corridor: CorridorInput, progress: Progress = no_progress
) -> Solved:
    """Solve, audit, and where the audit finds a breach close that drive or trench and solve again.

    Raises
    ------
    NoPlanError
    """
    n_rounds = 0
    last: Solved | None = None
    while True:
        frame_plan, halves = find_plan_and_halves(
            problem.arrays, progress=lambda share: progress("search", share)
        )
        if frame_plan is None:
            stuck = stuck_at(problem.arrays, progress=lambda share: progress(WHY, share))
            if (warmer := lift_floors(problem, stuck) or lift_dips(problem, corridor, stuck)) is not None:
                problem = warmer
                continue
            if last is not None:  # closing what was in breach leaves no way: tell the breach
                return last
            raise no_plan_error(problem, stuck)
        frame_plan = choose_depths(problem.arrays, frame_plan)
        plan = plan_geometry(problem, frame_plan)
        progress("audit", 0.0)
        audit = _audit(plan, problem, corridor)
        stretches = (Stretch(problem, frame_plan),)
        last = Solved(problem, frame_plan, plan, plan, audit, n_rounds, stretches, halves)
        if not audit.breaches or n_rounds >= problem.assumptions.audit.max_rounds:
            return last
        closed = _closed(problem, frame_plan, last.audit.breaches)
        if closed is None:
            return last
        problem, n_rounds = closed, n_rounds + 1


def _audit(plan: Plan, problem: FrameProblem, corridor: CorridorInput) -> AuditReport:
    """Audit a plan against the frame's own axis: drives were held to it, a given axis may have kinks."""
    axis = LineString(problem.frame.station_xy_m)
    carried = frozenset(f for ids in problem.crossings.feature_ids for f in ids.split(";"))
    return audit_plan(plan, corridor, problem.assumptions, axis=axis, carried_feature_ids=carried)


def refined(solved: Solved, corridor: CorridorInput, progress: Progress = no_progress) -> Solved:
    """Move shafts and bends on finer frames round each chain of drives; never dearer, never in breach."""
    judge = Judge(corridor, lambda plan: _audit(plan, solved.problem, corridor))
    base = Standing(solved.stretches, solved.on_frame, solved.audit)
    now, gains = refine_plan(base, judge, progress)
    return replace(
        solved, on_frame=now.plan, plan=now.plan, audit=now.audit, stretches=now.stretches, gains=gains
    )


def smoothed(solved: Solved, corridor: CorridorInput, progress: Progress = no_progress) -> Solved:
    """Smooth the open cut of a plan; runs that the audit then finds in breach go back, a round each time.

    A plan that is in breach as it was found is left as it is, and so is one whose breaches do not go with
    the runs that go back, or not within the audit's rounds.
    """
    if solved.audit.breaches:
        return solved
    progress("polish", 0.0)
    smoother = Smoother(solved.problem, corridor)
    kept: frozenset[Ends] = frozenset()
    n_rounds, most_rounds = solved.n_rounds, solved.problem.assumptions.audit.max_rounds
    while True:
        progress("polish", 0.5)
        plan = smoother.smooth(solved.on_frame, kept)
        progress("audit", 0.5)
        audit = _audit(plan, solved.problem, corridor)
        if not audit.breaches:
            return replace(solved, plan=plan, audit=audit, n_rounds=n_rounds)
        places = [(b.section, b.xy_m) for b in audit.breaches if b.drive < 0 and b.shaft < 0]
        back = smoothed_runs(solved.on_frame, plan, places)
        if not back or n_rounds - solved.n_rounds >= most_rounds:
            return solved
        kept, n_rounds = kept | back, n_rounds + 1


def _closed(problem: FrameProblem, plan: FramePlan, breaches: tuple[Breach, ...]) -> FrameProblem | None:
    """Return the problem without the drives and moves in breach; None where nothing can be closed."""
    arrays = problem.arrays
    drives = [step for step in plan.steps if isinstance(step, DriveStep)]
    keys = {int(key) for key in arrays.drive.banned}
    n_known = len(keys)
    move_eur = arrays.trench.move_eur
    for breach in breaches:
        if breach.drive >= 0:
            keys.add(_key(problem, drives[breach.drive]))
        elif breach.shaft >= 0:
            node = plan.shafts[breach.shaft].node
            keys |= {_key(problem, step) for step in drives if node in (step.lower, step.upper)}
        elif breach.xy_m is not None:
            move_eur = _without_moves_at(problem, plan, move_eur, breach.xy_m)
    if len(keys) == n_known and move_eur is arrays.trench.move_eur:
        return None
    drive = arrays.drive._replace(banned=np.array(sorted(keys), np.int64))
    trench = arrays.trench._replace(move_eur=move_eur)
    return replace(problem, arrays=arrays._replace(drive=drive, trench=trench))


def _key(problem: FrameProblem, step: DriveStep) -> int:
    nx, ny = problem.arrays.ground.ground_m.shape
    lower, upper = (node[0] * ny + node[1] for node in (step.lower, step.upper))
    return drive_key(nx * ny, len(problem.methods), lower, upper, step.method, step.is_launched_at_lower)


def _without_moves_at(
    problem: FrameProblem, plan: FramePlan, move_eur: np.ndarray, xy_m: tuple[float, float]
) -> np.ndarray:
    """Close the plan's open-cut move nearest to a point."""
    nodes = problem.frame.node_xy_m
    trench = [step for step in plan.steps if not isinstance(step, DriveStep)]
    if not trench:
        return move_eur
    moves = problem.arrays.trench.moves
    middles = np.array(
        [
            0.5 * (nodes[s.start] + nodes[s.start[0] + moves[s.move, 0], s.start[1] + moves[s.move, 1]])
            for s in trench
        ]
    )
    nearest = trench[int(np.argmin(np.hypot(*(middles - np.asarray(xy_m)).T)))]
    closed = move_eur.copy()
    closed[(*nearest.start, nearest.move)] = np.inf
    return closed


def _assemble(
    solved: Solved, corridor: CorridorInput, sampler: GroundSampler, explained: Explanations
) -> Screening:
    """Measure the exact bill and put everything together for the results."""
    problem, plan, a = solved.problem, solved.plan, solved.problem.assumptions
    exact, unpolished = (
        take_off(Scope(which, sampler, problem.crossings, a)) for which in (plan, solved.on_frame)
    )
    on_frame = measure_stretches(solved.stretches)
    sites = place_sites(
        plan,
        problem.crossings,
        a,
        sampler=sampler,
        outline=corridor.outline,
        refused=refused_ground(corridor.pins),
        axes=_axes_at_shafts(solved),
    )
    proofs = prove_plan(
        plan,
        corridor,
        a,
        axis=LineString(problem.frame.station_xy_m),
        sites=Sites(sites.compounds, sites.strips),
        audited=solved.audit.checks,
    )
    checks = audit_checks(solved.audit, sites.conflicts, proofs.checks)
    error = error_percent(unpolished.total_eur(a), on_frame.total_eur)
    warnings = drive_reach_warnings(problem.frame, problem.methods)
    warnings += sampler.warnings + sites.warnings + _error_warnings(solved, unpolished, on_frame, error)
    warnings += too_warm_warnings(problem) + proofs.warnings + count_warnings(checks) + explained.warnings
    bill = bill_table(
        plan,
        exact,
        solved.audit,
        a,
        proofs.shaft_quantities,
        section_quantities=proofs.section_quantities,
        n_joint_bays=proofs.n_joint_bays,
    )
    apart = shown_apart(bill, float(vertex_chainage_m(plan)[-1]), a, unpriced_eur=proofs.unpriced_eur)
    screened = ScreenedCorridor(
        plan=plan,
        axis=reference_axis(corridor, problem.frame),
        drives=drive_data(plan, solved.audit, a),
        reasons=explained.reasons,
        crossings=crossing_rows(solved.audit).assign(
            extra_if_otherwise_eur=least_extra_eur(explained.ways, len(solved.audit.crossings))
        ),
        checks=checks,
        bill=bill,
        long_section=long_section(plan, sampler, _cells_of_drives(solved), a, proofs.dips),
        compounds=tuple(Site(index, outline) for index, outline in enumerate(sites.compounds)),
        strips=tuple(Site(index, outline) for index, outline in sites.strips),
        run_record=_run_record(solved, corridor, (unpolished, exact), on_frame, error, warnings)
        | dict(explained.record)
        | cost_record(bill, apart, a),
        curves={**proofs.curves, **explained.layers, "costs_apart": apart},
        shaft_columns=explained.shaft_columns,
        backdrop=backdrop_of(corridor),
    )
    breaches = tuple(breach.as_problem() for breach in solved.audit.breaches)
    return Screening(screened, breaches, error, warnings)


def _axes_at_shafts(solved: Solved) -> np.ndarray:
    """Return the unit vector of the axis at each shaft, of the frame that the shaft was found on."""
    drives = drives_of(solved.stretches)
    axes = np.zeros((len(solved.plan.shafts), 2))
    for index, shaft in enumerate(solved.plan.shafts):
        if shaft.incoming is not None:
            problem, step = drives[shaft.incoming]
            axes[index] = problem.frame.tangent[step.upper[0]]
        elif shaft.outgoing is not None:
            problem, step = drives[shaft.outgoing]
            axes[index] = problem.frame.tangent[step.lower[0]]
    return axes


def _cells_of_drives(solved: Solved) -> list[DriveCells]:
    """Return the frame of each drive with what is burnt on it."""
    return [DriveCells(problem.frame, problem.burnt) for problem, _ in drives_of(solved.stretches)]


def drive_errors_percent(solved: Solved, exact: TakeOff, on_frame: FrameBill) -> list[float]:
    """Return the frame error of each drive with its crossings, without its shafts [%]."""
    return price_errors_percent(
        solved.stretches, solved.on_frame, exact, on_frame, solved.problem.assumptions
    )


def _error_warnings(solved: Solved, exact: TakeOff, on_frame: FrameBill, error: float) -> tuple[str, ...]:
    """Say where the frame's prices lie further from the exact ones than the audit's limits."""
    limits = solved.problem.assumptions.audit
    texts = []
    if abs(error) > limits.frame_error_percent:
        texts.append(f"The frame's bill is {error:+.2f} % off the exact one: use a smaller frame.cell_m.")
    for index, value in enumerate(drive_errors_percent(solved, exact, on_frame)):
        if abs(value) > limits.drive_frame_error_percent:
            texts.append(
                f"The frame's price of drive {index + 1} is {value:+.2f} % off: use a smaller frame.cell_m."
            )
    return tuple(texts)


def _gain_record(solved: Solved) -> dict[str, str]:
    """Return what the finer frames have brought."""
    gains = solved.gains
    return {
        "frame_optimum_eur": f"{solved.frame_plan.objective_eur:.4f}",
        "refine_gain_eur": f"{gains.gain_eur:.4f}",
        "refine": f"{counted(gains.n_windows, 'window')}, {gains.n_accepted} with a cheaper plan, "
        f"{gains.n_refused} refused by the audit, {gains.n_too_large} too large, "
        f"{gains.processor_s:.1f} s of the processor",
        "solved_again": f"{counted(gains.n_solved_again, 'window')} for their frame error, "
        f"{gains.n_accepted_again} with a cheaper plan",
    }


def _trench_record(solved: Solved) -> dict[str, str]:
    """Return where pipes lie further apart than the project asks for, and what that costs."""
    problem, a = solved.problem, solved.problem.assumptions
    wider = wider_trenches(Scope(solved.plan, problem.sampler, problem.crossings, a))
    most_m = float(spacings_m(a)[-1])
    return {
        f"wider trench {number}": f"{a.soil_names[part.soil]}: pipes {part.spacing_m:.2f} m apart instead of "
        f"{a.trench.pipe_spacing_m:.2f} m for {asked_A(a):g} A; {part.length_m:.0f} m, "
        f"{grouped(part.extra_eur)} EUR more"
        + ("" if part.spacing_m < most_m else "; the largest that is tried: see the check cable_rating")
        for number, part in enumerate(wider, start=1)
    }


def _run_record(
    solved: Solved,
    corridor: CorridorInput,
    before_after: tuple[TakeOff, TakeOff],
    on_frame: FrameBill,
    error: float,
    warnings: tuple[str, ...],
) -> dict[str, str]:
    """Return what must be known to trust or repeat the run."""
    from routescreen.assumptions import flat_items
    from routescreen.assumptions.explain import is_used

    a, audit, n_rounds = solved.problem.assumptions, solved.audit, solved.n_rounds
    drives = drive_errors_percent(solved, before_after[0], on_frame)
    before_eur, after_eur = (part.total_eur(a) for part in before_after)
    before_m, after_m = (trench_length_m(plan) for plan in (solved.on_frame, solved.plan))
    (nx, ny), frame = solved.problem.arrays.ground.ground_m.shape, solved.problem.frame
    record = {
        "crs": corridor.crs.to_string(),
        **corridor.provenance,
        "frame": f"{nx} columns x {ny} rows, cell {frame.cell_m:g} m, column {frame.column_spacing_m:.4f} m",
        "objective_eur": f"{solved.plan.objective_eur:.4f}",
        "depth_gain_eur": f"{solved.frame_plan.depth_gain_eur:.4f}",
        **_gain_record(solved),
        "frame_bill_eur": f"{on_frame.total_eur:.4f}",
        "exact_bill_before_smoothing_eur": f"{before_eur:.4f}",
        "smoothing_gain_eur": f"{before_eur - after_eur:.4f}",
        "trench_before_smoothing_m": f"{before_m:.3f}",
        "trench_m": f"{after_m:.3f}",
        "exact_bill_eur": f"{after_eur:.4f}",
        "audit_bill_eur": f"{audit.bill_total_eur:.4f}",
        "not_in_bill": NOT_IN_BILL,
        "never_priced": NEVER_PRICED,
        "frame_error_percent": f"{error:+.4f}",
        "drive_frame_error_percent": " ".join(f"{value:+.3f}" for value in drives),
        "audit": f"{counted(len(audit.crossings), 'crossing')}, {counted(len(drives), 'drive')}, "
        f"{counted(len(audit.breaches), 'breach', 'breaches')}, {counted(n_rounds, 'round')} of mending",
    }
    record.update(_trench_record(solved))
    for number, warning in enumerate((*corridor.warnings, *warnings), start=1):
        record[f"warning {number}"] = warning
    for key, value in flat_items(a).items():
        record[f"assumption {key}"] = str(value) if is_used(key) else f"{value} (not used yet)"
    return record
