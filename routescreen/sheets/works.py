"""Shafts and drives as they are drawn: sizes in plan, directions, what serves what.

Room: ``sheets``. Sizes are those that the drives' methods ask for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from routescreen.drives.methods import method_geometry

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.drives.methods import MethodGeometry
    from routescreen.sheets.scene import Scene

    Array = NDArray[np.float64]
    Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class DriveWork:
    """A drive with its place along the alignment.

    Attributes
    ----------
    row : dict
        Of the table ``drives``.
    from_m, to_m : float
        Chainages of its section [m].
    geometry : MethodGeometry
    """

    row: Row
    from_m: float
    to_m: float
    geometry: MethodGeometry


@dataclass(frozen=True, slots=True)
class ShaftWork:
    """A shaft with its inside size.

    Attributes
    ----------
    row : dict
        Of the table ``shafts``.
    xy_m : ndarray of shape (2,)
    ground_m : float
        Level of the ground there [m].
    length_m, width_m : float
        Along its drive and across, inside [m].
    along : ndarray of shape (2,)
        Unit vector of its drive.
    outward : int
        Where no drive lies: -1 down the chainage, 1 up it, 0 where drives lie on both sides.
    """

    row: Row
    xy_m: Array
    ground_m: float
    length_m: float
    width_m: float
    along: Array
    outward: int = 0

    @property
    def chainage_m(self) -> float:
        """Its chainage [m]."""
        return float(self.row["chainage_m"])

    @property
    def depth_m(self) -> float:
        """Its depth [m]."""
        return float(self.row["depth_m"])

    @property
    def is_launch(self) -> bool:
        """Whether a drive starts from it."""
        return "launch" in str(self.row["role"])

    def corners_m(self) -> Array:
        """Return its outline, closed, of shape (5, 2) [m]."""
        ahead = self.along * self.length_m / 2.0
        aside = np.array([-self.along[1], self.along[0]]) * self.width_m / 2.0
        signs = ((1, 1), (-1, 1), (-1, -1), (1, -1), (1, 1))
        return np.stack([self.xy_m + a * ahead + b * aside for a, b in signs])


def drives_of(scene: Scene) -> list[DriveWork]:
    """Return the drives in order of chainage."""
    place = {row["section_id"]: row for row in scene.rows("sections")}
    found = [
        DriveWork(
            row,
            float(place[row["section_id"]]["from_chainage_m"]),
            float(place[row["section_id"]]["to_chainage_m"]),
            method_geometry(scene.assumptions, str(row["method"])),
        )
        for row in scene.rows("drives")
        if row["section_id"] in place and row["method"] in scene.assumptions.methods
    ]
    return sorted(found, key=lambda drive: drive.from_m)


def shafts_of(scene: Scene, drives: list[DriveWork]) -> list[ShaftWork]:
    """Return the shafts in order of chainage."""
    found = []
    table = scene.tables["shafts"]
    for row, point in zip(scene.rows("shafts"), list(table.geometry) if len(table) else [], strict=True):
        served = [
            d for d in drives if row["shaft_id"] in (d.row["launch_shaft_id"], d.row["reception_shaft_id"])
        ]
        sizes = [
            d.geometry.launch_plan_m
            if d.row["launch_shaft_id"] == row["shaft_id"]
            else d.geometry.reception_plan_m
            for d in served
        ]
        length, width = np.max(sizes, axis=0) if sizes else (0.0, 0.0)
        middle = (served[0].from_m + served[0].to_m) / 2.0 if served else float(row["chainage_m"])
        heading = scene.way.heading_rad(middle)
        found.append(
            ShaftWork(
                row,
                np.array([point.x, point.y]),
                float(point.z),
                float(length),
                float(width),
                np.array([np.cos(heading), np.sin(heading)]),
                _outward(served, float(row["chainage_m"])),
            )
        )
    return sorted(found, key=lambda shaft: shaft.chainage_m)


def _outward(served: list[DriveWork], chainage_m: float) -> int:
    sides = {1 if (drive.from_m + drive.to_m) / 2.0 < chainage_m else -1 for drive in served}
    return sides.pop() if len(sides) == 1 else 0
