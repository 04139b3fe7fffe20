"""One price, four ways: the search's objective, the bill on the frame, two bills of the exact geometry.

On each invented corridor (``corridors``) the whole job is run and compared:

- the objective with the bill that ``money`` measures of the plan on the frame, within half a cent;
- the forward with the backward pass;
- the take-off of the exact geometry with the audit's own bill of it: two measures of one thing;
- both with the bill on the frame: the frame error, in all and by drive;
- the audit's breaches before and after mending.

``run(quick=False)`` does it on 200 corridors that have a plan and writes a table as JSON.
"""

from __future__ import annotations

import json
import time
from collections import Counter
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.corridors import random_corridor
from routescreen.assumptions import load_assumptions
from routescreen.errors import NoPlanError
from routescreen.money.measure import bill_items, rates_eur
from routescreen.screen import Solved, drive_errors_percent, prepare, solve_and_audit
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.pass_kernel import run_pass
from routescreen.takeoff import Scope, TakeOff, take_off

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

N_CORRIDORS, N_QUICK = 200, 15
SAME_EUR = 0.005
FOLDER = Path(__file__).parent / "results"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one corridor.

    All prices in EUR, errors in percent against the bill on the frame; `first_breaches` are the checks
    in breach of the plan before any mending, `breaches` of the plan that stands. Prices are NaN where
    there is no plan.
    """

    seed: int
    n_columns: int
    n_rows: int
    n_features: int
    has_plan: bool
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
    on_frame = measure_on_frame(solved.problem, solved.frame_plan)
    exact = take_off(Scope(solved.plan, sampler, problem.crossings, assumptions))
    takeoff_eur = exact.total_eur(assumptions)
    return Outcome(
        *size,
        has_plan=True,
        n_drives=len(solved.plan.drives),
        n_rounds=solved.n_rounds,
        objective_eur=solved.plan.objective_eur,
        frame_eur=on_frame.total_eur,
        backward_eur=backward_eur(solved),
        takeoff_eur=takeoff_eur,
        audit_eur=solved.audit.bill_total_eur,
        frame_error_percent=100.0 * (takeoff_eur - on_frame.total_eur) / on_frame.total_eur,
        drive_errors_percent=tuple(drive_errors_percent(solved, exact, on_frame)),
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


def outcomes(n_with_plan: int, *, first_seed: int = 0) -> list[Outcome]:
    """Judge corridors from a seed upwards until so many have a plan."""
    found: list[Outcome] = []
    assumptions, seed = load_assumptions(), first_seed
    while sum(outcome.has_plan for outcome in found) < n_with_plan:
        found.append(judge(random_corridor(seed), assumptions, seed=seed))
        seed += 1
    return found


def summary(found: list[Outcome]) -> dict[str, object]:
    """Return the figures that the bill is judged by."""
    planned = [outcome for outcome in found if outcome.has_plan]
    drives = [abs(error) for outcome in planned for error in outcome.drive_errors_percent]
    errors = [abs(outcome.frame_error_percent) for outcome in planned]
    return {
        "n_corridors": len(found),
        "n_with_plan": len(planned),
        "n_drives": len(drives),
        "n_with_drives": sum(outcome.n_drives > 0 for outcome in planned),
        "largest_frame_gap_eur": max(outcome.frame_gap_eur for outcome in planned),
        "largest_pass_gap_eur": max(outcome.pass_gap_eur for outcome in planned),
        "largest_measure_gap_percent": max(outcome.measure_gap_percent for outcome in planned),
        "frame_error_percent_median": float(np.median(errors)),
        "frame_error_percent_p95": float(np.percentile(errors, 95)),
        "frame_error_percent_largest": max(errors),
        "n_frame_errors_over_limit": sum(error > 1.0 for error in errors),
        "drive_error_percent_median": float(np.median(drives)),
        "drive_error_percent_p95": float(np.percentile(drives, 95)),
        "drive_error_percent_largest": max(drives),
        "n_drive_errors_over_limit": sum(error > 3.0 for error in drives),
        "n_mended": sum(outcome.n_rounds > 0 for outcome in planned),
        "n_in_breach": sum(bool(outcome.breaches) for outcome in planned),
        "checks_mended": dict(Counter(check for o in planned for check in set(o.first_breaches))),
        "checks_left": dict(Counter(check for o in planned for check in set(o.breaches))),
        "elapsed_s": sum(outcome.elapsed_s for outcome in found),
    }


def run(quick: bool = False) -> list[Outcome]:
    """Judge 200 corridors that have a plan (a few with `quick`), print the figures, write the table."""
    found = outcomes(N_QUICK if quick else N_CORRIDORS)
    figures = summary(found)
    for name, value in figures.items():
        print(f"{name:32s} {value}")
    FOLDER.mkdir(exist_ok=True)
    table = {"summary": figures, "corridors": [asdict(outcome) for outcome in found]}
    (FOLDER / "bill.json").write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")
    return found
