"""Rows of quantities, one column a bill item, filled item by item.

Room: ``money``. May import ``assumptions``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.money.items import BillItems, bill_items

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions, Soil


@dataclass(frozen=True, slots=True)
class Quantities:
    """Quantities under construction.

    Attributes
    ----------
    items : BillItems
    values : ndarray of float64, shape (n, n_items)
        Quantity of each item in its unit, 0 to begin with.
    """

    items: BillItems
    values: NDArray[np.float64]

    def row(self) -> NDArray[np.float64]:
        """Return the first row, shape (n_items,)."""
        return np.asarray(self.values[0])

    def add(self, code: str, quantity: ArrayLike) -> None:
        """Add a quantity, one value a row or one for all, to an item."""
        self.values[:, self.items.index[code]] += np.asarray(quantity, dtype=np.float64)

    def add_each(self, codes: Sequence[str], quantity: ArrayLike) -> None:
        """Add the same quantity to several items; an item named twice gets it twice."""
        for code in codes:
            self.add(code, quantity)

    def add_by_index(self, index: NDArray[np.int64], quantity: ArrayLike) -> None:
        """Add to each row's own item, given by its position."""
        self.values[np.arange(len(self.values)), index] += np.asarray(quantity, dtype=np.float64)

    def add_by_cover(self, prefix: str, cover_class: NDArray[np.integer], quantity: ArrayLike) -> None:
        """Add to the item of each row's cover class."""
        self.add_by_index(self.items.first_class_item(prefix) + cover_class.astype(np.int64), quantity)


def empty_quantities(n_rows: int, a: Assumptions) -> Quantities:
    """Return rows of zeros."""
    items = bill_items(a)
    return Quantities(items, np.zeros((n_rows, len(items)), dtype=np.float64))


def add_temporary_land(
    q: Quantities, cover_class: NDArray[np.integer], area_m2: ArrayLike, a: Assumptions
) -> None:
    """Add temporary land with what follows from it: lost crops and compensation of nature [m2]."""
    area = np.broadcast_to(np.asarray(area_m2, dtype=np.float64), cover_class.shape)
    has_crops = np.array([cover.has_crop_follow_up for cover in a.cover.values()])
    nature = np.array([cover.nature_factor for cover in a.cover.values()])
    q.add_by_cover("LA10", cover_class, area)
    q.add("LA12", area * has_crops[cover_class])
    q.add("LA13", area * nature[cover_class])


def add_site_soil(
    q: Quantities, cover_class: NDArray[np.integer], area_m2: ArrayLike, a: Assumptions
) -> None:
    """Add what the soil of land beside the working strip needs: compounds, layout strips, access roads.

    Topsoil, reinstatement by cover class, and what is paid by the metre of strip: an area counts as many
    metres as the working strip would be long on it. Where only the trench is reinstated no topsoil is
    stripped and nothing but a hole is opened, which is measured apart.
    """
    area = np.broadcast_to(np.asarray(area_m2, dtype=np.float64), cover_class.shape)
    over_trench = np.array([cover.is_reinstated_over_trench_only for cover in a.cover.values()])
    opened = np.where(over_trench[cover_class], 0.0, area)
    q.add_by_cover("TR70", cover_class, opened)
    q.add("TR10", opened * a.trench.topsoil_m)
    q.add_each(SITE_WATCH_ITEMS, opened / a.working_strip_m)


SITE_WATCH_ITEMS = ("UX11", "AR10", "SV10")


def add_surplus(q: Quantities, soil_class: NDArray[np.integer], volume_m3: ArrayLike, a: Assumptions) -> None:
    """Add surplus soil, measured in place, by the soil's shares of clean to loaded [m3]."""
    volume = np.asarray(volume_m3, dtype=np.float64)
    for code, shares in zip(SURPLUS_ITEMS, surplus_shares(list(a.soil.values())), strict=True):
        q.add(code, volume * shares[soil_class])


SURPLUS_ITEMS = ("TR60", "TR61", "TR62")


def surplus_shares(soils: Sequence[Soil]) -> NDArray[np.float64]:
    """Shares of clean, slightly loaded and loaded surplus, shape (3, n_soils) [-]."""
    rows = [(soil.spoil_clean_frac, soil.spoil_slight_frac, soil.spoil_loaded_frac) for soil in soils]
    return np.array(rows, dtype=np.float64).T


def add_cables(q: Quantities, a: Assumptions) -> None:
    """Add one metre of every cable of the link, supplied and pulled, to each row [m]."""
    pairs = (
        (a.cable, a.link.n_systems * a.link.poles_per_system),
        (a.cable.metallic_return, a.link.n_systems * a.link.returns_per_system),
    )
    for cable, n_cables in pairs:
        q.add(cable.supply_item, n_cables * (1.0 + cable.supply_waste_frac))
        q.add(cable.pull_item, n_cables)


def add_pipes(q: Quantities, outer_diameter_m: float, n_pipes: int, a: Assumptions) -> None:
    """Add one metre of so many protection pipes, supplied, tested and filled, to each row [m, kg]."""
    mass = a.pipe.size(outer_diameter_m).mass_kg_per_m
    q.add("PI10", n_pipes * mass * (1.0 + a.pipe.supply_waste_frac))
    q.add("PI14", n_pipes)
    if a.pipe.fill != "air":
        q.add(a.cable.fill_item, n_pipes)
