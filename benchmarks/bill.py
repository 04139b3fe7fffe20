"""One price, four ways: the search's objective, the bill on the frame, two bills of the exact geometry.

On each invented corridor (``corridors``) the whole job is run and compared:

- the objective with the bill that ``money`` measures of the plan on the frame, within half a cent;
- the forward with the backward pass;
- the take-off of the exact geometry with the audit's own bill of it: two measures of one thing;
- both with the bill on the frame: the frame error, in all and by drive;
- the audit's breaches before and after mending.

``bill`` does it on 200 corridors that have a plan, from seed 0, none picked.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.corridors import random_corridor
from benchmarks.figures import Figure
from routescreen.assumptions import load_assumptions
from routescreen.errors import InputError, NoPlanError
from routescreen.money.measure import bill_items, rates_eur
from routescreen.screen import Solved, drive_errors_percent, prepare, smoothed, solve_and_audit
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.pass_kernel import run_pass
from routescreen.takeoff import Scope, TakeOff, take_off

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

N_CORRIDORS, N_QUICK = 200, 15
SAME_EUR = 0.005
FRAME_PERCENT, DRIVE_PERCENT = 1.0, 3.0  # what the frame's prices may be off, in all and by drive
MEASURE_PERCENT = 0.1  # take-off and audit apart by more than this are printed


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one corridor.

    All prices in EUR, errors in percent against the bill on the frame; `first_breaches` are the checks
    in breach of the plan before any mending, `breaches` of the plan that stands. Prices are NaN where
    there is no plan; `is_refused` where a pin could not be served, so that the input was refused.
    """

    seed: int
    n_columns: int
    n_rows: int
    n_features: int
    has_plan: bool
    is_refused: bool = False
    n_drives: int = 0
    n_rounds: int = 0
    objective_eur: float = float("nan")
    frame_eur: float = float("nan")
    backward_eur: float = float("nan")
    takeoff_eur: float = float("nan")
    audit_eur: float = float("nan")
    frame_error_percent: float = float("nan")
    drive_errors_percent: tuple[float, ...] = ()
    first_breaches: tuple[str, ...] = ()
    breaches: tuple[str, ...] = ()
    differing_items: tuple[tuple[str, float], ...] = ()
    elapsed_s: float = 0.0

    @property
    def frame_gap_eur(self) -> float:
        """Distance of the objective from the bill on the frame [EUR]."""
        return abs(self.objective_eur - self.frame_eur)

    @property
    def pass_gap_eur(self) -> float:
        """Distance between the optima of the two passes [EUR]."""
        return abs(self.objective_eur - self.backward_eur)

    @property
    def measure_gap_percent(self) -> float:
        """Distance between the two bills of the exact geometry [%]."""
        return 100.0 * abs(self.takeoff_eur - self.audit_eur) / self.audit_eur


def judge(corridor: CorridorInput, assumptions: Assumptions, *, seed: int = -1) -> Outcome:
    """Screen one corridor and measure its plan every way.

    Parameters
    ----------
    corridor : CorridorInput
    assumptions : Assumptions
    seed : int
        Noted with the outcome.

    Returns
    -------
    Outcome

    Raises
    ------
    InputError
        When the corridor can't be framed or a pin can't be served.
    """
    began = time.perf_counter()
    problem, sampler = prepare(corridor, assumptions)
    n_columns, n_rows = problem.arrays.ground.ground_m.shape
    size = (seed, n_columns, n_rows, len(corridor.crossings))
    first = solve_once(problem, corridor)
    if first is None:
        return Outcome(*size, has_plan=False, elapsed_s=time.perf_counter() - began)
    solved = solve_and_audit(problem, corridor) if first.audit.breaches else first
    solved = smoothed(solved, corridor)
    on_frame = measure_on_frame(solved.problem, solved.frame_plan)
    exact = take_off(Scope(solved.plan, sampler, problem.crossings, assumptions))
    takeoff_eur = exact.total_eur(assumptions)
    unpolished = take_off(Scope(solved.on_frame, sampler, problem.crossings, assumptions))
    unpolished_eur = unpolished.total_eur(assumptions)
    return Outcome(
        *size,
        has_plan=True,
        n_drives=len(solved.plan.drives),
        n_rounds=solved.n_rounds,
        objective_eur=solved.plan.objective_eur,
        frame_eur=on_frame.total_eur,
        backward_eur=backward_eur(solved) - solved.frame_plan.depth_gain_eur,
        takeoff_eur=takeoff_eur,
        audit_eur=solved.audit.bill_total_eur,
        frame_error_percent=100.0 * (unpolished_eur - on_frame.total_eur) / on_frame.total_eur,
        drive_errors_percent=tuple(drive_errors_percent(solved, unpolished, on_frame)),
        first_breaches=tuple(breach.check for breach in first.audit.breaches),
        breaches=tuple(breach.check for breach in solved.audit.breaches),
        differing_items=_differing_items(solved, exact, assumptions),
        elapsed_s=time.perf_counter() - began,
    )


def solve_once(problem: FrameProblem, corridor: CorridorInput) -> Solved | None:
    """Solve and audit without any mending; None where there is no plan."""
    audit = problem.assumptions.audit.model_copy(update={"max_rounds": 0})
    unmended = replace(problem, assumptions=problem.assumptions.model_copy(update={"audit": audit}))
    try:
        return solve_and_audit(unmended, corridor)
    except NoPlanError:
        return None


def backward_eur(solved: Solved) -> float:
    """Return the optimum of the backward pass [EUR]."""
    arrays = solved.problem.arrays
    n_columns = arrays.ground.ground_m.shape[0]
    result = run_pass(arrays, False, n_columns, True, np.zeros(1, np.int64))
    n_states = 1 if arrays.pin_shaft[0] >= 0 else result.trench_eur.shape[0]
    return float(result.trench_eur[:n_states, 0, arrays.start_row].min())


def _differing_items(solved: Solved, exact: TakeOff, a: Assumptions) -> tuple[tuple[str, float], ...]:
    """Return the items whose quantities differ most in money between take-off and audit: code, EUR."""
    gap = (exact.quantities.sum(axis=0) - solved.audit.section_quantities.sum(axis=0)) * rates_eur(a)
    codes = [item.code for item in bill_items(a).items]
    worst = np.argsort(-np.abs(gap))[:4]
    return tuple((codes[k], float(gap[k])) for k in worst if abs(gap[k]) > 1.0)


def outcomes(n_with_plan: int, *, assumptions: Assumptions | None = None) -> list[Outcome]:
    """Judge corridors from seed 0 upwards until so many have a plan."""
    assumptions = assumptions or load_assumptions()
    found: list[Outcome] = []
    seed = 0
    while sum(outcome.has_plan for outcome in found) < n_with_plan:
        corridor = random_corridor(seed)
        try:
            found.append(judge(corridor, assumptions, seed=seed))
        except InputError:
            size = (0, 0, len(corridor.crossings))
            found.append(Outcome(seed, *size, has_plan=False, is_refused=True))
        seed += 1
    return found


def figures_of(found: list[Outcome]) -> list[Figure]:
    """Return the figures that the bill is judged by."""
    planned = [outcome for outcome in found if outcome.has_plan]
    errors = np.abs([outcome.frame_error_percent for outcome in planned])
    drives = np.abs([error for outcome in planned for error in outcome.drive_errors_percent])
    frame_eur, exact_eur = (sum(getattr(o, name) for o in planned) for name in ("frame_eur", "takeoff_eur"))
    rows: list[tuple[str, float, str, float | None]] = [
        ("corridors_with_a_plan", len(planned), "-", None),
        ("corridors_without_a_plan", sum(not o.has_plan and not o.is_refused for o in found), "-", None),
        ("corridors_refused", sum(outcome.is_refused for outcome in found), "-", None),
        ("plans_with_drives", sum(outcome.n_drives > 0 for outcome in planned), "-", None),
        ("drives", len(drives), "-", None),
        ("largest_objective_less_frame_bill", max(o.frame_gap_eur for o in planned), "EUR", SAME_EUR),
        ("largest_forward_less_backward", max(o.pass_gap_eur for o in planned), "EUR", SAME_EUR),
        ("largest_takeoff_less_audit", max(o.measure_gap_percent for o in planned), "%", None),
        ("frame_error_of_all_together", 100.0 * abs(exact_eur / frame_eur - 1.0), "%", FRAME_PERCENT),
        ("frame_error_median", float(np.median(errors)), "%", None),
        ("frame_error_95th_percentile", float(np.percentile(errors, 95)), "%", None),
        ("frame_error_largest", float(errors.max()), "%", FRAME_PERCENT),
        ("frame_errors_over_target", int((errors > FRAME_PERCENT).sum()), "-", None),
        ("drive_error_median", float(np.median(drives)), "%", None),
        ("drive_error_95th_percentile", float(np.percentile(drives, 95)), "%", None),
        ("drive_error_largest", float(drives.max()), "%", DRIVE_PERCENT),
        ("drive_errors_over_target", int((drives > DRIVE_PERCENT).sum()), "-", None),
        ("plans_mended", sum(outcome.n_rounds > 0 for outcome in planned), "-", None),
        ("plans_in_breach", sum(bool(outcome.breaches) for outcome in planned), "-", 0.0),
    ]
    return [Figure(name, float(value), unit, target, is_most=True) for name, value, unit, target in rows]


def bill(*, is_quick: bool = False) -> list[Figure]:
    """Judge 200 corridors that have a plan (a few where `is_quick`); print those that stand out."""
    found = outcomes(N_QUICK if is_quick else N_CORRIDORS)
    for outcome in found:
        if text := _remark(outcome):
            print(f"seed {outcome.seed} ({outcome.n_columns} x {outcome.n_rows}): {text}")
    return figures_of(found)


def _remark(outcome: Outcome) -> str:
    """Return what stands out of a corridor: mending, breaches, errors beyond the targets."""
    parts = []
    if outcome.n_rounds or outcome.breaches:
        left = f", left {', '.join(outcome.breaches)}" if outcome.breaches else ""
        parts.append(f"{outcome.n_rounds} rounds of mending for {', '.join(outcome.first_breaches)}{left}")
    if outcome.measure_gap_percent > MEASURE_PERCENT:
        worst = ", ".join(f"{code} {eur:+.0f} EUR" for code, eur in outcome.differing_items)
        parts.append(f"take-off and audit {outcome.measure_gap_percent:.2f} % apart ({worst})")
    if abs(outcome.frame_error_percent) > FRAME_PERCENT:
        parts.append(f"frame error {outcome.frame_error_percent:+.2f} %")
    parts += [f"drive error {e:+.2f} %" for e in outcome.drive_errors_percent if abs(e) > DRIVE_PERCENT]
    return "; ".join(parts)
