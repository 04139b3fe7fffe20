"""Every shaft of the finished plan, proved once: base, thrust wall, eyes, flood, pumping.

Room: ``audit``. Each proof stands in a module of its own; here their order, and what they ask for in items
of the bill that the search does not weigh.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.base_proofs import prove_base
from routescreen.audit.dewatering_proofs import prove_dewatering
from routescreen.audit.eye_proofs import prove_eyes
from routescreen.audit.flood_proofs import prove_flood
from routescreen.audit.open_dig_proofs import prove_open_digs
from routescreen.audit.shaft_site import shaft_site
from routescreen.audit.thrust_wall_proofs import prove_walls
from routescreen.money.measure import ShaftMeasures, shaft_measures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene


def prove_shafts(scene: Scene, ledger: Ledger) -> NDArray[np.float64]:
    """Prove every shaft of a plan.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.

    Returns
    -------
    ndarray of float64, shape (n_shafts, n_items)
        What the findings ask for in items that the search does not weigh.
    """
    asked = np.array([_prove_shaft(scene, ledger, i) for i in range(len(scene.plan.shafts))]).reshape(-1, 3)
    return shaft_measures(ShaftMeasures(*asked.T), scene.assumptions)


def _prove_shaft(scene: Scene, ledger: Ledger, index: int) -> tuple[float, float, float]:
    site = shaft_site(scene, index)
    anchors_kN = prove_base(scene, ledger, site)
    larger_blocks = prove_walls(scene, ledger, site)
    prove_eyes(scene, ledger, site)
    flood_rims = prove_flood(scene, ledger, site)
    prove_dewatering(scene, ledger, site)
    prove_open_digs(scene, ledger, site)
    return anchors_kN, larger_blocks, flood_rims
