"""The land for pipe strings as the search's arrays.

Room: ``search``. May import ``corridor`` and ``drives``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.layout import method_layout
from routescreen.money.measure import drive_per_tie_in, rates_eur
from routescreen.search.arrays import Booleans, Floats, Integers, LayoutArrays
from routescreen.search.layout_kernel import KEY_ROWS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.layout_ground import LayoutGround

CELL_M = 50.0  # squares by which edges are found


def layout_arrays(
    names: Sequence[str], land: LayoutGround, node_xy_m: Floats, is_valid: Booleans, a: Assumptions
) -> LayoutArrays:
    """Return the land for the strings of some methods and what they ask for.

    Parameters
    ----------
    names : sequence of str
        Names of the methods, in the search's order.
    land : LayoutGround
        Of the whole corridor, also where the frame is only of a part of it.
    node_xy_m : ndarray of shape (nx, ny, 2)
        [m]
    is_valid : ndarray of bool, shape (nx, ny)
    a : Assumptions

    Returns
    -------
    LayoutArrays
    """
    is_open = np.zeros(is_valid.shape, dtype=np.bool_)
    is_open[is_valid] = land.is_open(node_xy_m[is_valid])
    rates = rates_eur(a)
    rules = [method_layout(a, name) for name in names]
    return edges_by_square(land.edges_m())._replace(
        is_open=is_open,
        half_width_m=np.array([0.0 if rule is None else rule.half_width_m for rule in rules]),
        ahead_m=np.array([0.0 if rule is None else rule.ahead_m for rule in rules]),
        most_pieces=np.array([0 if rule is None else rule.most_pieces for rule in rules], np.int64),
        tie_in_eur=np.array([float(drive_per_tie_in(name, a) @ rates) for name in names]),
        radius_m=np.array([1.0 if rule is None else rule.radius_m for rule in rules]),
    )


def edges_by_square(edges_m: Floats, cell_m: float = CELL_M) -> LayoutArrays:
    """Return edges with the squares that they pass, for no method and no node yet.

    An edge is cut into pieces no longer than a square; each piece stands in every square that its box
    touches, so that an edge stands in all it passes and in few others.

    Parameters
    ----------
    edges_m : ndarray of shape (n, 4)
        [m]
    cell_m : float

    Returns
    -------
    LayoutArrays
    """
    key, edge = _squares_of(edges_m, cell_m)
    order = np.lexsort((edge, key))
    key, edge = key[order], edge[order]
    is_new = np.ones(len(key), dtype=np.bool_)
    is_new[1:] = (key[1:] != key[:-1]) | (edge[1:] != edge[:-1])
    key, edge = key[is_new], edge[is_new]
    keys, first = np.unique(key, return_index=True)
    return LayoutArrays(
        segment_xy_m=np.ascontiguousarray(edges_m, np.float64),
        cell_m=cell_m,
        cell_key=keys.astype(np.int64),
        cell_start=np.append(first, len(key)).astype(np.int64),
        cell_segment=edge.astype(np.int64),
        is_open=np.zeros((0, 0), np.bool_),
        half_width_m=np.zeros(0),
        ahead_m=np.zeros(0),
        most_pieces=np.zeros(0, np.int64),
        tie_in_eur=np.zeros(0),
        radius_m=np.zeros(0),
    )


def _squares_of(edges_m: Floats, cell_m: float) -> tuple[Integers, Integers]:
    """Return squares and the edges in them, with repeats."""
    start, end = edges_m[:, :2], edges_m[:, 2:]
    count = np.maximum(np.ceil(np.hypot(*(end - start).T) / cell_m), 1.0).astype(np.int64)
    edge = np.repeat(np.arange(len(edges_m)), count)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    ends = [start[edge] + ((place + more) / count[edge])[:, None] * (end - start)[edge] for more in (0, 1)]
    low = np.floor(np.minimum(*ends) / cell_m).astype(np.int64)
    high = np.floor(np.maximum(*ends) / cell_m).astype(np.int64)
    keys, edges = [], []
    for right in (0, 1):
        for up in (0, 1):
            is_there = (low[:, 0] + right <= high[:, 0]) & (low[:, 1] + up <= high[:, 1])
            keys.append(((low[:, 0] + right) * KEY_ROWS + low[:, 1] + up)[is_there])
            edges.append(edge[is_there])
    return np.concatenate(keys), np.concatenate(edges)


def any_land(layout: LayoutArrays) -> LayoutArrays:
    """Return the same methods' strings on land that bears them everywhere."""
    return layout._replace(most_pieces=np.zeros_like(layout.most_pieces))


def open_land(n_methods: int, shape: tuple[int, int]) -> LayoutArrays:
    """Return land where any string lies in one piece, wherever the reception."""
    return edges_by_square(np.zeros((0, 4)))._replace(
        is_open=np.ones(shape, np.bool_),
        half_width_m=np.zeros(n_methods),
        ahead_m=np.zeros(n_methods),
        most_pieces=np.zeros(n_methods, np.int64),
        tie_in_eur=np.zeros(n_methods),
        radius_m=np.ones(n_methods),
    )
