"""The audit as one function.

Room: ``audit``. Uses the audit's own modules and ``money``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.audit.bill import section_quantities
from routescreen.audit.drive_checks import check_drives
from routescreen.audit.force_checks import check_forces
from routescreen.audit.ground_known import without_passes_on_unknown_ground
from routescreen.audit.layout_checks import check_layouts
from routescreen.audit.report import AuditReport, Ledger, checks_table
from routescreen.audit.route_checks import check_route
from routescreen.audit.scene import set_scene
from routescreen.audit.schedule import crossing_table, section_table
from routescreen.audit.shaft_checks import check_shafts
from routescreen.audit.trench_checks import check_trenches
from routescreen.money.measure import rates_eur

if TYPE_CHECKING:
    from shapely import LineString

    from routescreen.assumptions import Assumptions
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput


def audit_plan(
    plan: Plan,
    inp: CorridorInput,
    assumptions: Assumptions,
    *,
    axis: LineString | None = None,
    carried_feature_ids: frozenset[str] | None = None,
) -> AuditReport:
    """Check a finished plan against every limit and measure its bill, from its geometry alone.

    Parameters
    ----------
    plan : Plan
    inp : CorridorInput
        What was read: the true features and rasters.
    assumptions : Assumptions
    axis : LineString, optional
        Line against which the direction of drives is measured; by default the input's own axis or
        fixed line. Without any, the direction is not evaluated.
    carried_feature_ids : frozenset of str, optional
        Ids of the features that the search worked with. Given, each crossing that is met must
        stand in it; without it that check is not evaluated.

    Returns
    -------
    AuditReport
        With every breach named; nothing is raised for a plan in breach.
    """
    scene = set_scene(plan, inp, assumptions, axis=axis)
    ledger = Ledger()
    check_route(scene, ledger, carried_feature_ids)
    check_drives(scene, ledger)
    check_forces(scene, ledger)
    check_layouts(scene, ledger)
    check_shafts(scene, ledger)
    check_trenches(scene, ledger)
    quantities = section_quantities(scene)
    amounts_eur = quantities @ rates_eur(assumptions)
    return AuditReport(
        corridor_id=plan.corridor_id,
        crossings=crossing_table(scene),
        checks=checks_table(plan.corridor_id, without_passes_on_unknown_ground(scene, ledger.checks)),
        breaches=tuple(ledger.breaches),
        sections=section_table(scene),
        section_quantities=quantities,
        section_amounts_eur=amounts_eur,
        bill_total_eur=float(amounts_eur.sum()),
    )
