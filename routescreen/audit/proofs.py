"""What must hold beyond the limits that steer the search, worked out once on the finished plan.

Room: ``audit``. Its checks are findings: a failure is told and stands in the table of checks, but sends
nothing back to the search.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from routescreen.audit.cable_proofs import prove_cable
from routescreen.audit.ground_proofs import prove_ground
from routescreen.audit.joint_proofs import prove_joints
from routescreen.audit.report import Ledger, checks_table
from routescreen.audit.scene import set_scene

if TYPE_CHECKING:
    import pandas as pd
    from shapely import LineString

    from routescreen.assumptions import Assumptions
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput


@dataclass(frozen=True, slots=True)
class Proofs:
    """What was found on a plan.

    Attributes
    ----------
    checks : DataFrame
        The columns of the audit's own checks.
    curves : dict of str to DataFrame
        By name of the result layer: its columns without `corridor_id`, with `drive_index` or
        `section_index` in place of the names of drives and sections.
    n_joint_bays : int or None
        Bays of one system as placed; None where no plan of them was found.
    """

    checks: pd.DataFrame
    curves: dict[str, pd.DataFrame]
    n_joint_bays: int | None = None


def prove_plan(
    plan: Plan, inp: CorridorInput, assumptions: Assumptions, *, axis: LineString | None = None
) -> Proofs:
    """Work out everything on a finished plan that no search has looked at.

    Parameters
    ----------
    plan : Plan
    inp : CorridorInput
        What was read: the true features and rasters.
    assumptions : Assumptions
    axis : LineString, optional
        Line that the directions of the plan are measured against.

    Returns
    -------
    Proofs
    """
    scene, ledger = set_scene(plan, inp, assumptions, axis=axis), Ledger()
    curves: dict[str, pd.DataFrame] = {
        "drive_curves": prove_ground(scene, ledger),
        "cable_curve": prove_cable(scene, ledger),
    }
    n_joint_bays, tables = prove_joints(scene, ledger)
    return Proofs(checks_table(plan.corridor_id, ledger.checks), curves | tables, n_joint_bays)
