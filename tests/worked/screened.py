"""Written results of the worked crossing, and how its figures are compared."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyogrio
import pytest

from tests.worked.make_worked_crossing import START_M

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

DRIVE = "D001"


def near(printed: str):
    """A figure as the example prints it."""
    digits = len(printed.partition(".")[2])
    return pytest.approx(float(printed), rel=0.005, abs=0.5 * 10.0**-digits)


def by_hand(value: float):
    return pytest.approx(value, rel=0.005)


@dataclass(frozen=True)
class Screened:
    """The written results of one run."""

    file: Path
    warnings: tuple[str, ...]

    def layer(self, name: str) -> pd.DataFrame:
        return pyogrio.read_dataframe(self.file, layer=name, read_geometry=False)

    def check(self, name: str, element: str = DRIVE) -> pd.Series:
        checks = self.layer("checks")
        found = checks[(checks["check"] == name) & checks["element_id"].str.endswith(element)]
        assert len(found) == 1, (name, element, len(found))
        return found.iloc[0]

    def named(self, status: str) -> set[tuple[str, str]]:
        checks = self.layer("checks")
        mine = checks[checks["status"] == status]
        return {(str(row.check), str(row.element_id)[-4:]) for row in mine.itertuples()}

    def along_drive(self, layer: str, column: str, x_m: float) -> float:
        """A value of a curve, from the launch on."""
        curve = self.layer(layer)
        if "construction" in curve:
            curve = curve[curve["construction"] == "drive"]
        return float(np.interp(x_m - START_M, curve["chainage_m"], curve[column]))

    def quantity(self, item: str) -> float:
        bill = self.layer("bill")
        mine = bill[(bill["item"] == item) & bill["element_id"].fillna("").str.contains("-D001|-H00")]
        return float(mine["quantity"].sum())
