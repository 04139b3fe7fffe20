"""Two made-up plans that differ in one drive, small enough to reckon by hand.

Plan a is the example's: trench to 300 m, drives to 1 200 m, trench, the drive west-D004 under the main road
from chainage 1 540 m to 1 790 m, trench to 2 040 m. Plan b digs through the main road instead. What differs:

| | a | b |
| --- | --- | --- |
| drive west-D004 (section west-S006) | DR21 150 000, two pits SH31 at 40 000 | none |
| main road L 9 | under it | open cut, CR10 35 000 |
| TR90 at 100 a metre of the trench behind 1 200 m | 340 m and 250 m | 840 m |
| TR10 in west-S001 | 100.125 m3 at 12 | 150.125 m3 at 13 |
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.answers.compare import NamedPlan
from routescreen.results.check import conform
from routescreen.results.tables import result_tables
from tests.results import example

if TYPE_CHECKING:
    from routescreen.screened import ScreenedCorridor

DRIVE_FROM_M, DRIVE_TO_M, LENGTH_M = 1540.0, 1790.0, 2040.0
TR10_EUR = (1201.50, 1951.63)  # 100.125 x 12; 150.125 x 13 = 1951.625, rounded half up
OTHER_EUR = 780_000.0 + 28_000.1 + 28_000.2 + 50_000.0 + 1_250_000.0
TOTAL_EUR = (
    TR10_EUR[0] + OTHER_EUR + 150_000.0 + 80_000.0 + 59_000.0,
    TR10_EUR[1] + OTHER_EUR + 35_000.0 + 84_000.0,
)
EXTRA_EUR = 750.13 - 150_000.0 - 80_000.0 + 35_000.0 + 25_000.0


def _line(item: str, unit: str, quantity: float, rate: float, section: int, element: tuple[str, int]) -> dict:
    amount = quantity * rate
    return {
        "item": item,
        "description": f"Item {item}",
        "unit": unit,
        "quantity": quantity,
        "rate_eur": rate,
        "amount_eur": amount,
        "section_index": section,
        "element": element[0],
        "element_index": element[1],
        "carried_by": "search",
        "part": "works",
        "amount_low_eur": 0.5 * amount,
        "amount_high_eur": 2.0 * amount,
    }


def _bill(lines: list[dict], tr10: tuple[float, float, float]) -> pd.DataFrame:
    base = example.bill()
    base.loc[0, ["quantity", "rate_eur", "amount_eur"]] = tr10
    return pd.concat([base, pd.DataFrame(lines)], ignore_index=True)


def with_drive() -> ScreenedCorridor:
    corridor = example.corridor("west")
    lines = [
        _line("DR21", "m", 500.0, 300.0, 5, ("drive", 3)),
        _line("SH31", "each", 1.0, 40_000.0, 5, ("shaft", 4)),
        _line("SH31", "each", 1.0, 40_000.0, 5, ("shaft", 5)),
        _line("TR90", "m", 340.0, 100.0, 4, ("section", 4)),
        _line("TR90", "m", 250.0, 100.0, 6, ("section", 6)),
    ]
    record = {"input_file.a.gpkg.sha256": "1", "assumption rates.TR10": "12", "assumption rates.AG10": "5"}
    return replace(corridor, bill=_bill(lines, (100.125, 12.0, TR10_EUR[0])), run_record=record)


def without_drive() -> ScreenedCorridor:
    corridor = example.corridor("west")
    plan = corridor.plan
    plan = replace(
        plan,
        is_drive=np.array([False, True, True, True, False, False, False, False]),
        drives=plan.drives[:3],
        shafts=plan.shafts[:4],
    )
    crossings = corridor.crossings.copy()
    is_road = crossings["kind"] == "main_road"
    crossings.loc[is_road, "treatment"] = "open_cut"
    crossings.loc[is_road, ["cover_m", "required_cover_m"]] = np.nan
    checks = corridor.checks
    checks = checks[~((checks["element"] == "drive") & (checks["element_index"] == 3))].copy()
    newly = checks.iloc[[0]].assign(
        element="crossing",
        element_index=4,
        check="trench_allowed",
        status="fail",
        demand=2.0,
        utilisation=2.0,
    )
    lines = [
        _line("CR10", "each", 1.0, 35_000.0, 4, ("crossing", 4)),
        _line("TR90", "m", 840.0, 100.0, 4, ("section", 4)),
    ]
    record = {"input_file.a.gpkg.sha256": "1", "assumption rates.TR10": "13", "assumption rates.AG10": "5"}
    return replace(
        corridor,
        plan=plan,
        drives=corridor.drives[:3],
        reasons=(*corridor.reasons[:4], "Open cut, because the owner of L 9 agrees."),
        crossings=crossings,
        checks=pd.concat([checks, newly], ignore_index=True),
        bill=_bill(lines, (150.125, 13.0, TR10_EUR[1])),
        compounds=corridor.compounds[:4],
        run_record=record,
    )


def tables_of(corridor: ScreenedCorridor) -> dict[str, pd.DataFrame]:
    return conform(result_tables([corridor], example.METRES), example.METRES)


def pair() -> tuple[NamedPlan, NamedPlan]:
    return (
        NamedPlan("a", "west", tables_of(with_drive())),
        NamedPlan("b", "west", tables_of(without_drive())),
    )
