"""What must hold beyond the limits that steer the search, worked out once on the finished plan.

Room: ``audit``. Its checks are findings: a failure is told and stands in the table of checks, but sends
nothing back to the search.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from routescreen.audit.cable_proofs import prove_cable
from routescreen.audit.ground_known import ground_warning, without_passes_on_unknown_ground
from routescreen.audit.ground_proofs import prove_ground
from routescreen.audit.joint_proofs import prove_joints
from routescreen.audit.land_use import Sites
from routescreen.audit.registers import fill_registers
from routescreen.audit.report import Ledger, checks_of, checks_table
from routescreen.audit.scene import set_scene, words
from routescreen.audit.shaft_proofs import prove_shafts
from routescreen.audit.trench_dips import section_dips
from routescreen.counted import counted, grouped

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray
    from shapely import LineString

    from routescreen.assumptions import Assumptions
    from routescreen.audit.scene import Scene
    from routescreen.audit.trench_dips import Dip
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

NO_SITES = Sites()


MOST_TOLD = 10
# status, and what one check and several do
_NO_PASS = (
    ("fail", "fails", "fail"),
    ("amber", "is amber", "are amber"),
    ("not_evaluated", "is not evaluated", "are not evaluated"),
)


@dataclass(frozen=True, slots=True)
class Proofs:
    """What was found on a plan.

    Attributes
    ----------
    checks : DataFrame
        The columns of the audit's own checks.
    curves : dict of str to DataFrame
        By name of the result layer: its columns without `corridor_id`, with `drive_index`,
        `section_index`, `shaft_index` and `crossing_index` in place of names, -1 for nothing; points
        under `geometry`.
    shaft_quantities : ndarray of float64, shape (n_shafts, n_items)
        What the findings on shafts ask for in items of the bill that the search does not weigh.
    n_joint_bays : int or None
        Bays of one system as placed; None where no plan of them was found.
    ground_warning : str
        What is not known of the ground, empty where all is given.
    section_quantities : ndarray of float64, shape (n_sections, n_items), or None
        What the registers ask for in such items.
    unpriced_eur : float
        What the checks say that measures would cost which no item of the bill holds [EUR].
    dips : tuple of Dip
        Of the open cut, in order.
    """

    checks: pd.DataFrame
    curves: dict[str, pd.DataFrame]
    shaft_quantities: NDArray[np.float64]
    n_joint_bays: int | None = None
    ground_warning: str = ""
    section_quantities: NDArray[np.float64] | None = None
    unpriced_eur: float = 0.0
    dips: tuple[Dip, ...] = ()

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a user must hear of: each failure, the worst first."""
        failed = self.checks[self.checks["status"] == "fail"]
        worst_first = failed.sort_values("utilisation", ascending=False, kind="stable")
        told = [
            f"{row.element_id} fails {words(str(row.check))}: {row.reason}."
            for row in worst_first.head(MOST_TOLD).itertuples()
        ]
        if len(failed) > MOST_TOLD:
            told.append(
                f"{len(failed) - MOST_TOLD} more checks on the finished plan fail: see the layer checks."
            )
        if self.unpriced_eur > 0.0:
            told.append(
                f"Measures that checks ask for and no item of the bill holds would cost about "
                f"{grouped(self.unpriced_eur)} EUR: they stand apart as item GE04, in no total."
            )
        return (self.ground_warning, *told) if self.ground_warning else tuple(told)


def count_warnings(checks: pd.DataFrame) -> tuple[str, ...]:
    """Say how many of all checks are no pass, failures first; nothing where all pass.

    Parameters
    ----------
    checks : DataFrame
        With a column `status`: the whole table as the results hold it.

    Returns
    -------
    tuple of str
        One sentence or none.
    """
    counts = checks["status"].value_counts()
    parts = [counted(int(counts[name]), one, many) for name, one, many in _NO_PASS if counts.get(name, 0)]
    if not parts:
        return ()
    listed = " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)
    return (f"Of {counted(len(checks), 'check')} {listed}: see the layer checks.",)


def prove_plan(
    plan: Plan,
    inp: CorridorInput,
    assumptions: Assumptions,
    *,
    axis: LineString | None = None,
    sites: Sites = NO_SITES,
    audited: pd.DataFrame | None = None,
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
    sites : Sites, optional
        Where compounds and layout strips lie.
    audited : DataFrame, optional
        The checks of the plan's audit, for the hazards that they decide on.

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
    quantities = prove_shafts(scene, ledger)
    known = [] if audited is None else checks_of(audited)
    registers, later = fill_registers(scene, ledger, sites, curves["drive_curves"], known)
    curves |= tables | registers
    checks = checks_table(plan.corridor_id, without_passes_on_unknown_ground(scene, ledger.checks))
    warning, unpriced = ground_warning(scene), sum(ledger.unpriced_eur)
    return Proofs(checks, curves, quantities, n_joint_bays, warning, later, unpriced, _dips(scene))


def _dips(scene: Scene) -> tuple[Dip, ...]:
    """Return the dips of all open cut in order."""
    route = scene.route
    cuts = [n for n in range(route.n_sections) if not route.is_drive[route.pieces_of_section(n)[0]]]
    return tuple(dip for section in cuts for dip in section_dips(scene, section))
