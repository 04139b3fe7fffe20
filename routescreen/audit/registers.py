"""Registers of a finished plan: investigation, agreements, land, earthworks, constraints, hazards.

Room: ``audit``. Each is worked out in a module of its own; the hazards last, as they read the others' checks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.audit.agreements_list import list_agreements
from routescreen.audit.bill import section_quantities
from routescreen.audit.constraint_list import list_constraints
from routescreen.audit.earth_proofs import prove_earthworks, with_loads
from routescreen.audit.hazard_list import list_hazards
from routescreen.audit.investigation_plan import plan_investigation
from routescreen.audit.land_use import measure_land
from routescreen.audit.later_measures import measured_later
from routescreen.audit.pipeline_proofs import prove_pipelines
from routescreen.audit.trench_crossing_proofs import prove_trench_crossings
from routescreen.audit.trench_water_proofs import prove_trench_water

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    from routescreen.audit.land_use import Sites
    from routescreen.audit.report import Check, Ledger
    from routescreen.audit.scene import Scene


def fill_registers(
    scene: Scene, ledger: Ledger, sites: Sites, curves: pd.DataFrame, audited: Sequence[Check] = ()
) -> tuple[dict[str, pd.DataFrame], NDArray[np.float64]]:
    """Fill all registers.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        What was found so far; takes the findings.
    sites : Sites
        Where compounds and layout strips lie.
    curves : DataFrame
        The numbers along the drives.
    audited : sequence of Check
        What the audit checked besides.

    Returns
    -------
    dict of str to DataFrame
        By name of the result layer.
    ndarray of float64, shape (n_sections, n_items)
        What they ask for in items of the bill that the search does not weigh.
    """
    prove_pipelines(scene, ledger)
    prove_trench_crossings(scene, ledger)
    prove_trench_water(scene, ledger)
    by_section = section_quantities(scene)
    billed = by_section.sum(axis=0)
    tables = {
        "investigation_plan": plan_investigation(scene, ledger, billed),
        "agreements": list_agreements(scene, ledger, sites),
        "parcels_used": measure_land(scene, ledger, sites, billed),
        "earthworks": with_loads(prove_earthworks(scene, ledger), scene.assumptions),
        "constraints": list_constraints(scene, ledger, sites),
    }
    tables |= {"hazards": list_hazards(scene, ledger, sites, curves, audited)}
    return tables, measured_later(scene, tables["investigation_plan"], by_section)
