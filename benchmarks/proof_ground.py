"""The ground of the proof's instances: at the nodes, and on the finer lattice that drives pass through."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from routescreen.search.arrays import FineArrays, GroundArrays

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import Floats

OTHER_KIND_SHARE = 0.15  # of the fine cells that are not of their node's kind


def proof_ground(rng: np.random.Generator, nx: int, ny: int) -> tuple[GroundArrays, Floats]:
    """Make hilly ground with patches of soil, water near the depth of shafts and some rock.

    Returns
    -------
    GroundArrays
    ndarray of shape (nx, ny)
        Level of the rock head at the nodes, -inf where there is none [m].
    """
    along = np.cumsum(rng.normal(0.0, 0.5, nx))
    ground = 40.0 + along[:, None] + rng.normal(0.0, 0.3, (nx, ny))
    soil = np.where(
        rng.random((nx, ny)) < 0.02, 2, rng.integers(0, 2, (nx, 1)) * (rng.random((nx, ny)) < 0.8)
    )
    rock_depth = np.where(rng.random((nx, ny)) < 0.25, rng.uniform(2.0, 6.0, (nx, ny)), np.inf)
    water = ground - rng.uniform(1.5, 6.0, (nx, ny))
    arrays = GroundArrays(ground, water, soil.astype(np.int64), np.ones((nx, ny), np.int64))
    return arrays, ground - rock_depth


def fine_ground(rng: np.random.Generator, ground: GroundArrays, rock_level_m: Floats) -> FineArrays:
    """Cut the cells finer: each node a kind of its own, some fine cells of another node's kind."""
    n_along, n_across = int(rng.integers(1, 4)), int(rng.integers(1, 4))
    node = np.arange(ground.soil.size).reshape(ground.soil.shape)
    kind = _cut(node, n_along, n_across)
    is_other = rng.random(kind.shape) < OTHER_KIND_SHARE
    kind = np.where(is_other, rng.integers(0, node.size, kind.shape), kind)
    level_m = _cut(rock_level_m, n_along, n_across) + rng.normal(0.0, 0.3, kind.shape)
    return FineArrays(
        kind.astype(np.int32), level_m.astype(np.float32), ground.soil.ravel(), ground.rock_soil.ravel()
    )


def _cut(values: NDArray[Any], n_along: int, n_across: int) -> NDArray[Any]:
    return np.repeat(np.repeat(values, n_along, axis=0), n_across, axis=1)


def turn_ground(ground: GroundArrays) -> GroundArrays:
    """Return the ground seen from the other end, rows kept."""
    return GroundArrays(
        ground_m=np.ascontiguousarray(ground.ground_m[::-1]),
        water_level_m=np.ascontiguousarray(ground.water_level_m[::-1]),
        soil=np.ascontiguousarray(ground.soil[::-1]),
        rock_soil=np.ascontiguousarray(ground.rock_soil[::-1]),
    )


def turn_fine(fine: FineArrays) -> FineArrays:
    """Return the fine lattice seen from the other end, rows kept."""
    return fine._replace(
        kind=np.ascontiguousarray(fine.kind[::-1]),
        rock_level_m=np.ascontiguousarray(fine.rock_level_m[::-1]),
    )


def rock_levels(
    ground: GroundArrays, rock_level_m: Floats, *, step_m: float, n_levels: int
) -> NDArray[np.int64]:
    """Return the depth level of the rock head, beyond all where there is none."""
    depth = np.minimum(ground.ground_m - rock_level_m, n_levels * step_m)
    return np.floor(depth / step_m).astype(np.int64)
