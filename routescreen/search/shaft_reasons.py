"""Why each shaft stands where it does and is as deep as it is, from the plan's own numbers.

Room: ``search``. Words and figures on the plan on the frame.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.search.gap_names import beside_node
from routescreen.search.reasons import in_thousands
from routescreen.search.solve import DriveStep

if TYPE_CHECKING:
    from routescreen.search.problem import FrameProblem
    from routescreen.search.shaft_tolerance import ShaftTolerance
    from routescreen.search.solve import FramePlan, Node, ShaftStep

MOST_NAMED = 2  # of what closes a place to a shaft
LEAST_EUR = 500.0  # an extra cost below rounds to nothing


def place_reason(problem: FrameProblem, tolerance: ShaftTolerance) -> str:
    """Say what holds the shaft of a plan on the frame where it is: what stands beside it, or the cost.

    Parameters
    ----------
    problem : FrameProblem
    tolerance : ShaftTolerance
        Of one of its shafts.

    Returns
    -------
    str
        One sentence for a step towards its drive, or for one each way where it serves two.
    """
    spacing_m = problem.frame.column_spacing_m
    back, on = (_step_words(problem, tolerance, side) for side in (-1, 1))
    if all(tolerance.has_drives):
        return f"On the frame {spacing_m:.0f} m back {back}, {spacing_m:.0f} m on {on}."
    return f"On the frame {spacing_m:.0f} m nearer to its drive {on if tolerance.has_drives[1] else back}."


def _step_words(problem: FrameProblem, tolerance: ShaftTolerance, side: int) -> str:
    """Say what a shaft one column back or on would meet or cost."""
    node = (tolerance.node[0] + side, tolerance.node[1])
    if not 0 <= node[0] < problem.frame.shape[0] or not problem.frame.is_valid[node]:
        return "the corridor ends"
    if not problem.arrays.shaft.is_allowed[node].any():
        names = beside_node(problem, node)[:MOST_NAMED]
        return f"no shaft may stand ({', '.join(names)})" if names else "no shaft may stand"
    extra_eur = tolerance.extra_at(node)
    if extra_eur is None:
        return f"it would cost over {in_thousands(tolerance.limit_eur)} EUR more, if it could be there"
    if extra_eur < LEAST_EUR:
        return "it would cost the same"
    return f"it would cost {in_thousands(extra_eur)} EUR more"


def depth_reason(problem: FrameProblem, plan: FramePlan, shaft: ShaftStep) -> str:
    """Say what asks for the depth of a shaft.

    Parameters
    ----------
    problem : FrameProblem
        Of the frame that the shaft was found on.
    plan : FramePlan
    shaft : ShaftStep

    Returns
    -------
    str
    """
    step_m = problem.arrays.shaft.step_m
    before, after = _levels(plan, shaft.node)
    depth = f"{shaft.level * step_m:.2f} m deep"
    if before is None or after is None:
        return f"{depth}, as its drive's line asks for."
    if before == after:
        return f"{depth}, as both its drives' lines ask for."
    deeper, other = ("lower", "higher") if before > after else ("higher", "lower")
    return (
        f"{depth}, as the drive to {deeper} chainage asks for; the one to {other} chainage alone would need "
        f"{min(before, after) * step_m:.2f} m."
    )


def _levels(plan: FramePlan, node: Node) -> tuple[int | None, int | None]:
    """Return the depth levels that the drives before and after a node ask for, None where there is none."""
    drives = [step for step in plan.steps if isinstance(step, DriveStep)]
    before = next((step.line.upper_level for step in drives if step.upper == node), None)
    after = next((step.line.lower_level for step in drives if step.lower == node), None)
    return before, after
