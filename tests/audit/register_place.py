"""The invented place as the tests of registers use it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from shapely import box

from tests.audit.place import (
    STRAIGHT,
    Run,
    correct_plan,
    crossings,
    place,
    plan,
    with_ground,
)
from tests.audit.proving import prove_plan
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.assumptions import Assumptions
    from routescreen.audit.proofs import Proofs
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)


def ground(inp: CorridorInput | None = None, **more: object) -> CorridorInput:
    rows = {"soil": "sand_dense", "groundwater_depth_m": 3.0} | more
    return with_ground(place() if inp is None else inp, WHOLE, **rows)


def proved(inp: CorridorInput | None = None, a: Assumptions = DEFAULTS, run: Run | None = None) -> Proofs:
    drawn = correct_plan() if run is None else plan(STRAIGHT, run)
    return prove_plan(drawn, ground() if inp is None else inp, a)


def only(*features: tuple[dict[str, object], object]) -> CorridorInput:
    return ground(replace(place(), crossings=crossings(*features)))  # type: ignore[arg-type]


def check(proofs: Proofs, name: str) -> pd.DataFrame:
    return proofs.checks[proofs.checks["check"] == name]
