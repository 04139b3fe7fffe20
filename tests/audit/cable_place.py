"""Place and plan of the tests on the cable: a drive of 280 m in level ground; rows of its proofs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from shapely import box

from routescreen.assumptions import load_assumptions
from tests.audit.place import Run, place, plan, with_ground
from tests.audit.proving import prove_plan

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.assumptions import Assumptions
    from routescreen.audit.proofs import Proofs
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
STRAIGHT = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
DRY_M = 100.0
ONE_SYSTEM = "[link]\nn_systems = 1\n"
CLOSE = "[search]\nrating_steers = false\n"
LEVEL = Run(1)  # crowns at 44 m under ground at 50 m: axes 6.28 m deep, bores 6 m apart

# One conductor at 70 degC: 7.2e-6 (1 + 0.00393 x 50) ohm/m, at 1 905 A 31.263 W/m.
OHM = 8.6148e-6
WATT_PER_M = 1905.0**2 * OHM


def ground(soil: str = "sand_dense", water_m: float = DRY_M, **more: object) -> CorridorInput:
    inp = with_ground(place(), WHOLE, soil=soil, groundwater_depth_m=water_m, **more)
    return replace(inp, crossings=inp.crossings.iloc[:0])


def proved(run: Run = LEVEL, inp: CorridorInput | None = None, text: str = "") -> Proofs:
    a = load_assumptions(text) if text else DEFAULTS
    return prove_plan(plan(STRAIGHT, run), inp if inp is not None else ground(), a)


def close_assumptions(text: str = "") -> Assumptions:
    """Return assumptions that keep the pipes of a trench close, whatever heat asks for: 0.5 m apart."""
    return load_assumptions(CLOSE + text)


CLOSE_DEFAULTS = close_assumptions()


def proved_close(run: Run = LEVEL, inp: CorridorInput | None = None, text: str = "") -> Proofs:
    """Prove with the pipes of the trench close together, where heat isn't looked at."""
    return proved(run, inp, CLOSE + text)


def row(proofs: Proofs, check: str, element: str) -> pd.Series:
    table = proofs.checks
    rows = table[(table["check"] == check) & (table["element_id"] == element)]
    assert len(rows) == 1, (check, element)
    return rows.iloc[0]


def curve(proofs: Proofs, construction: str) -> pd.DataFrame:
    table = proofs.curves["cable_curve"]
    return table[table["construction"] == construction]
