"""Ground that dries out where it gets too warm by finite differences in two dimensions: independent.

Half of the ground, symmetric about x = 0, its surface held at 0 K. A cell whose temperature is above the
boundary takes the dried resistivity; solved anew until none changes any more. No formula of the tool is used.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Resistivity = Callable[[Array, Array], Array]

FAR_M = 90.0  # where the ground ends, insulated
PIPE_K_M_PER_W = 1e-3  # so that each pipe is of one temperature
ROUNDS = 40


@dataclass(frozen=True)
class Solved:
    """Rise of each pipe with all ground moist and with what dries out, and at the cells above them [K]."""

    moist_K: Array
    K: Array
    is_settled: bool
    n_dry: int


def edges(fine_m: Sequence[tuple[float, float]], least_m: float, growth: float) -> Array:
    """Lay out edges of cells: `least_m` apart in the fine ranges, growing with the distance from them."""
    at, found = 0.0, [0.0]
    while at < FAR_M:
        away_m = min(0.0 if low <= at < high else min(abs(at - low), abs(at - high)) for low, high in fine_m)
        step_m = max(least_m, growth * away_m)
        ahead = [low for low, _ in fine_m if at < low - 1e-9 < at + step_m]
        at = min(ahead) if ahead else at + step_m
        found.append(at)
    return np.array(found)


def solve(
    axes_m: Sequence[tuple[float, float]],
    diameter_m: float,
    heat_W_per_m: float,
    *,
    moist: Resistivity,
    dry: Resistivity,
    boundary_K: float,
    x_m: Array,
    z_m: Array,
) -> Solved:
    """Solve for pipes at (depth, place aside) that each give off the same heat."""
    width, height = np.diff(x_m), np.diff(z_m)
    x, z = np.meshgrid((x_m[1:] + x_m[:-1]) / 2.0, (z_m[1:] + z_m[:-1]) / 2.0, indexing="ij")
    pipes = [(x - aside) ** 2 + (z - depth) ** 2 <= (diameter_m / 2.0) ** 2 for depth, aside in axes_m]
    area, heat = width[:, np.newaxis] * height, np.zeros(x.shape)
    for pipe in pipes:
        heat += np.where(pipe, heat_W_per_m * area / area[pipe].sum(), 0.0)
    is_pipe = np.any(pipes, axis=0)
    wet, dried = moist(x, z), dry(x, z)
    can_dry = (dried > wet) & ~is_pipe
    is_dry, first, is_settled = np.zeros(x.shape, dtype=bool), None, False
    for _ in range(ROUNDS):
        rho = np.where(is_pipe, PIPE_K_M_PER_W, np.where(is_dry, dried, wet))
        rise = _rise(rho, heat, width, height)
        first = rise if first is None else first
        now = can_dry & (rise > boundary_K)
        # on the isotherm itself a cell may go to and fro
        is_settled = int((now != is_dry).sum()) <= 2 + now.sum() // 100
        is_dry = now
        if is_settled:
            break
    assert first is not None
    return Solved(
        np.array([first[pipe].mean() for pipe in pipes]),
        np.array([rise[pipe].mean() for pipe in pipes]),
        is_settled,
        int(is_dry.sum()),
    )


def _rise(rho: Array, heat: Array, width: Array, height: Array) -> Array:
    """Solve one linear state: in series from middle to middle of cells, half a cell up to the surface."""
    aside = height / ((width[:-1, np.newaxis] * rho[:-1] + width[1:, np.newaxis] * rho[1:]) / 2.0)
    down = width[:, np.newaxis] / ((height[:-1] * rho[:, :-1] + height[1:] * rho[:, 1:]) / 2.0)
    out = np.zeros(rho.shape)
    out[:-1] += aside
    out[1:] += aside
    out[:, :-1] += down
    out[:, 1:] += down
    out[:, 0] += width / (height[0] * rho[:, 0] / 2.0)
    at = np.arange(rho.size).reshape(rho.shape)
    rows = [at, at[:-1], at[1:], at[:, :-1], at[:, 1:]]
    columns = [at, at[1:], at[:-1], at[:, 1:], at[:, :-1]]
    values = [out, -aside, -aside, -down, -down]
    matrix = csc_matrix(
        (
            np.concatenate([v.ravel() for v in values]),
            (np.concatenate([r.ravel() for r in rows]), np.concatenate([c.ravel() for c in columns])),
        ),
        shape=(rho.size, rho.size),
    )
    return np.asarray(splu(matrix).solve(heat.ravel()).reshape(rho.shape))
