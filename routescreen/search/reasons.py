"""Why each section is what it is, in one sentence from the plan's own numbers.

Room: ``search``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.search.solve import DriveStep, FramePlan, TrenchStep, settle_drive

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.search.problem import FrameProblem

MOST_NAMED = 4  # crossings named in one sentence


def section_reasons(problem: FrameProblem, plan: FramePlan) -> tuple[str, ...]:
    """Return one sentence for each section of the plan, in order.

    A drive names what may not be cut open, else what makes it the cheaper construction, and why its
    method was taken; open cut names what it opens.
    """
    reasons: list[str] = []
    run: list[TrenchStep] = []
    for step in plan.steps:
        if isinstance(step, TrenchStep):
            run.append(step)
            continue
        if run:
            reasons.append(_open_cut_reason(problem, run))
            run = []
        reasons.append(_drive_reason(problem, step))
    if run:
        reasons.append(_open_cut_reason(problem, run))
    return tuple(reasons)


def title(problem: FrameProblem, crossing: int) -> str:
    """Return what a crossing is called: its kind and name."""
    kind = problem.crossings.kind[crossing].replace("_", " ")
    name = problem.crossings.name[crossing]
    return f"{kind} {name}" if name else f"{kind} {problem.crossings.feature_ids[crossing].split(';')[0]}"


def _listed(problem: FrameProblem, crossings: Sequence[int]) -> str:
    names = list(dict.fromkeys(title(problem, crossing) for crossing in crossings))
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def _drive_reason(problem: FrameProblem, step: DriveStep) -> str:
    crossings = [int(c) for c in step.crossings]
    closed = [c for c in crossings if problem.crossings.trench[c] == "no"]
    others = [c for c in crossings if problem.crossings.trench[c] != "no"]
    if closed:
        text = f"Drive, because no trench is allowed through {_listed(problem, closed)}"
        if others:
            text += f"; it passes under {_listed(problem, others)} on the way"
    elif others:
        text = f"Drive, because passing under {_listed(problem, others)} costs less than any open trench"
    else:
        text = "Drive, because the ground on this line is closed to a trench or dearer to trench"
    return f"{text}. {_method_reason(problem, step)}"


def _method_reason(problem: FrameProblem, step: DriveStep) -> str:
    """Say why the drive's method was taken and not another of the catalogue."""
    own = problem.methods[step.method]
    texts = []
    for index, method in enumerate(problem.methods):
        if index == step.method:
            continue
        name = problem.assumptions.methods[method.name].title
        if step.length_m > method.longest_m:
            texts.append(f"{name} reaches {method.longest_m:.0f} m, this drive is {step.length_m:.0f} m long")
            continue
        other = settle_drive(problem.arrays, step.lower, step.upper, index, step.is_launched_at_lower)
        if other is None:
            texts.append(f"{name} can't be built on this line")
        else:
            texts.append(
                f"{name} would cost {abs(other.line.eur - step.line.eur):,.0f} EUR ".replace(",", " ")
                + ("more" if other.line.eur > step.line.eur else "less, without its shafts and their ground")
            )
    title_ = problem.assumptions.methods[own.name].title
    return f"{title_}: " + "; ".join(texts) + "." if texts else f"{title_}."


def _open_cut_reason(problem: FrameProblem, run: list[TrenchStep]) -> str:
    burnt, ny = problem.burnt, problem.frame.node_xy_m.shape[1]
    keys = {(step.start[0] * ny + step.start[1]) * burnt.move_ok.shape[2] + step.move for step in run}
    opened = [
        int(crossing)
        for move, crossing in zip(burnt.pair_move, burnt.pair_crossing, strict=True)
        if int(move) in keys
    ]
    text = "Open cut, because nothing on this line forbids a trench and it costs least"
    return f"{text}; it opens {_listed(problem, opened)}." if opened else f"{text}."
