"""Ground, plan and look-ups for the tests of the findings on shafts.

Launch at x 520, 8 m by 21 m inside; reception at x 800, 5 m by 21 m. Crown 6.0 m deep, bore 0.56 m, sump
0.6 m: 7.16 m, built 7.25 m deep. Dense sand: 18.5 and 20.5 kN/m3, 35 degrees, k 1e-4 m/s. The 100-year
groundwater stands 1.5 m higher than given.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.money.measure import bill_items
from tests.audit.place import Run, place, plan, with_ground
from tests.audit.proving import prove_plan

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.audit.proofs import Proofs
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
STRAIGHT = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
LAUNCH, RECEPTION = "H001", "H002"
LEVEL = Run(1)


def ground(water_m: float, soil: str = "sand_dense", **more: object) -> CorridorInput:
    inp = with_ground(place(), WHOLE, soil=soil, groundwater_depth_m=water_m, **more)
    return replace(inp, crossings=inp.crossings.iloc[:0])


def proved(inp: CorridorInput, text: str = "", run: Run = LEVEL) -> Proofs:
    return prove_plan(plan(STRAIGHT, run), inp, load_assumptions(text) if text else DEFAULTS)


def rows(proofs: Proofs, check: str, element: str = LAUNCH) -> pd.DataFrame:
    checks = proofs.checks
    return checks[(checks["check"] == check) & checks["element_id"].str.endswith(element)]


def row(proofs: Proofs, check: str, element: str = LAUNCH) -> pd.Series:
    found = rows(proofs, check, element)
    assert len(found) == 1, (check, found)
    return found.iloc[0]


def quantity(proofs: Proofs, code: str) -> list[float]:
    return proofs.shaft_quantities[:, bill_items(DEFAULTS).index[code]].tolist()
