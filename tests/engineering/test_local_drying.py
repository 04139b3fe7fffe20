"""Ground that dries out where it gets too warm: rating formulae against finite differences."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from routescreen.engineering.bedding_rating import bedded_rating
from routescreen.engineering.heat import group_log
from routescreen.engineering.rating import Bedding, HeatPath, group_rating
from tests.engineering.local_drying import edges, solve

OHM = 8.6148e-6
BOUNDARY_K = 15.0
FAR_RISE_K = 55.0


def path(diameter_m: float, rho: float, **more: float) -> HeatPath:
    # without a resistance inside: the rise of the conductor is that of the ground at the pipe
    return HeatPath(OHM, 0.0, diameter_m, 70.0, 15.0, rho, drying_rise_K=BOUNDARY_K, **more)


def at_rating(depth_m: float, spacing_m: float, given: HeatPath) -> tuple[float, np.ndarray]:
    """Heat of four cables at which the inner ones reach their limit, and places of those at x > 0."""
    offsets = spacing_m * (np.arange(4) - 1.5)
    rating_A = float(group_rating(np.full(4, depth_m), offsets, given).rating_A)
    return rating_A**2 * OHM, offsets[2:]


@pytest.mark.parametrize(
    ("depth_m", "spacing_m", "rho", "dry_rho"),
    [
        pytest.param(6.0, 6.0, 1.0, 2.5, id="deep bores that heat each other by more than 7.5 K"),
        pytest.param(3.0, 2.0, 1.2, 3.0, id="near bores"),
        pytest.param(4.0, 1.0, 1.05, 1.8, id="neighbours alone are above the boundary"),
    ],
)
def test_in_uniform_ground_the_formula_is_exact(
    depth_m: float, spacing_m: float, rho: float, dry_rho: float
) -> None:
    """Each pipe's rise follows from that in moist ground as 15 K + v (rise - 15 K), by differences as well.

    At the rating's heat it is 55 K, as far as pipes of one temperature are line sources: near ones are less
    warm.
    """
    diameter_m = 0.56
    heat, places = at_rating(depth_m, spacing_m, path(diameter_m, rho, drying_ratio=dry_rho / rho))
    fine_x = [(place - diameter_m, place + diameter_m) for place in places]
    found = solve(
        [(depth_m, place) for place in places],
        diameter_m,
        heat,
        moist=lambda x, z: np.full_like(x, rho),
        dry=lambda x, z: np.full_like(x, dry_rho),
        boundary_K=BOUNDARY_K,
        x_m=edges(fine_x, 0.04, 0.12),
        z_m=edges([(depth_m - diameter_m, depth_m + diameter_m)], 0.04, 0.12),
    )
    assert found.is_settled
    assert found.n_dry > 100
    expected_K = BOUNDARY_K + dry_rho / rho * (found.moist_K - BOUNDARY_K)
    assert found.K.tolist() == pytest.approx(expected_K.tolist(), rel=0.01)
    assert 0.955 * FAR_RISE_K < found.K[0] < 1.005 * FAR_RISE_K


@pytest.mark.parametrize(
    ("depth_m", "spacing_m", "column_m", "rho", "moist_rho", "dry_rho"),
    [
        pytest.param(6.12, 6.0, 5.5, 0.75, 1.0, 2.5, id="bores just below the groundwater"),
        pytest.param(7.7, 6.0, 5.5, 0.75, 1.0, 2.5, id="further below it"),
        pytest.param(6.0, 5.0, 5.5, 1.0, 1.1, 2.2, id="silt"),
        pytest.param(12.0, 6.0, 11.0, 0.75, 1.0, 2.5, id="a deep groundwater"),
        pytest.param(3.5, 2.0, 2.5, 0.9, 1.6, 3.5, id="near bores, a worse layer"),
    ],
)
def test_below_a_layer_that_dries_out_the_formula_is_a_bound_and_near(
    depth_m: float, spacing_m: float, column_m: float, rho: float, moist_rho: float, dry_rho: float
) -> None:
    """What drying out adds by differences is at most what the rating counts, and above half of that.

    All of the layer dry it would be at least 1.8 times as much.
    """
    diameter_m = 0.56
    layer = {"column_m": column_m, "column_rho_K_m_per_W": moist_rho}
    given = path(diameter_m, rho, column_dry_K_m_per_W=dry_rho, **layer)
    heat, places = at_rating(depth_m, spacing_m, given)
    offsets, depths = spacing_m * (np.arange(4) - 1.5), np.full(4, depth_m)
    moist_A = group_rating(depths, offsets, replace(given, column_dry_K_m_per_W=0.0)).moist_A
    dried_A = group_rating(depths, offsets, given).dried_A
    moist_K = float((FAR_RISE_K * heat / (moist_A**2 * OHM)).max())
    dried_K = float((FAR_RISE_K * heat / (dried_A**2 * OHM)).max())
    counted_K = FAR_RISE_K - moist_K
    found = solve(
        [(depth_m, place) for place in places],
        diameter_m,
        heat,
        moist=lambda x, z: np.where(z < column_m, moist_rho, rho),
        dry=lambda x, z: np.where(z < column_m, dry_rho, rho),
        boundary_K=BOUNDARY_K,
        x_m=edges([(place - diameter_m, place + diameter_m) for place in places], 0.05, 0.12),
        z_m=on_edge(edges([(column_m - 0.3, depth_m + diameter_m)], 0.05, 0.12), column_m),
    )
    assert found.is_settled
    assert found.moist_K[0] == pytest.approx(moist_K, rel=0.03)
    added_K = float(found.K[0] - found.moist_K[0])
    assert 0.5 * counted_K < added_K <= counted_K
    assert dried_K - moist_K > 1.4 * counted_K


def on_edge(z_m: np.ndarray, level_m: float) -> np.ndarray:
    """Put an edge of cells on a level."""
    return np.sort(np.append(z_m[np.abs(z_m - level_m) > 0.02], level_m))


@pytest.mark.parametrize(
    ("spacing_m", "width_m", "rho", "dry_rho"),
    [
        pytest.param(0.8, 1.95, 1.0, 2.5, id="dense sand"),
        pytest.param(0.5, 1.86, 1.05, 1.8, id="stiff clay, close"),
        pytest.param(1.05, 2.03, 1.2, 3.0, id="loose sand, wide"),
        pytest.param(0.5, 1.86, 0.8, 1.6, id="till, which resists less than the bedding"),
    ],
)
def test_in_a_trench_the_formula_is_on_the_safe_side(
    spacing_m: float, width_m: float, rho: float, dry_rho: float
) -> None:
    """Two trenches 10 m apart, bedding of 1.0 K m/W and 0.68 m: warmest at the rating's own heat."""
    diameter_m, axis_m, height_m = 0.28, 1.54, 0.68
    places = np.array([5.0 - spacing_m / 2.0, 5.0 + spacing_m / 2.0])
    offsets = np.concatenate([-places[::-1], places])
    given = replace(path(diameter_m, rho, drying_ratio=dry_rho / rho), inside_K_m_per_W=0.5763)
    own_m = min(spacing_m, diameter_m + 0.4)
    found_A = bedded_rating(
        np.full(4, axis_m),
        offsets,
        given,
        together=Bedding([0, 0, 1, 1], axis_m, width_m, height_m, 1.0),
        apart=Bedding([0, 1, 2, 3], axis_m, own_m, height_m, 1.0),
    ).rating_A
    heat = float(found_A) ** 2 * OHM

    def ground(outside: float):
        return lambda x, z: np.where(
            (np.abs(x - 5.0) < width_m / 2.0) & (np.abs(z - axis_m) < height_m / 2.0), 1.0, outside
        )

    found = solve(
        [(axis_m, place) for place in places],
        diameter_m,
        heat,
        moist=ground(rho),
        dry=ground(dry_rho),
        boundary_K=BOUNDARY_K,
        x_m=edges([(5.0 - 1.1, 5.0 + 1.1)], 0.025, 0.12),
        z_m=edges([(axis_m - 0.4, axis_m + 0.4)], 0.025, 0.12),
    )
    assert found.is_settled
    assert found.n_dry > 100
    assert math.isclose(found.K.max() + 0.5763 * heat, FAR_RISE_K, abs_tol=8.0)
    assert found.K.max() + 0.5763 * heat <= FAR_RISE_K


@pytest.mark.parametrize(("depth_m", "bottom_m", "water_m"), [(8.3, 9.2, 2.9), (6.1, 7.0, 5.5)])
def test_a_shaft_filled_with_what_does_not_dry_out_is_no_warmer_than_uniform_ground(
    depth_m: float, bottom_m: float, water_m: float
) -> None:
    """Fill of 1.0 K m/W, 21 m wide, in dense sand; below the groundwater nothing dries (0.75 K m/W)."""
    diameter_m, heat, places = 0.28, 31.263, (3.0, 9.0)
    x_m = on_edge(edges([(place - 0.4, place + 0.4) for place in places], 0.04, 0.12), 10.5)
    z_m = on_edge(edges([(depth_m - 0.5, depth_m + 0.5)], 0.04, 0.12), bottom_m)
    z_m = on_edge(z_m, water_m)

    def ground(above: float):
        return lambda x, z: np.where((x < 10.5) & (z < bottom_m), 1.0, np.where(z < water_m, above, 0.75))

    found = solve(
        [(depth_m, place) for place in places],
        diameter_m,
        heat,
        moist=ground(1.0),
        dry=ground(2.5),
        boundary_K=BOUNDARY_K,
        x_m=x_m,
        z_m=z_m,
    )
    depths, offsets = np.full(4, depth_m), 6.0 * (np.arange(4) - 1.5)
    uniform_K = heat / (2.0 * math.pi) * group_log(depths, offsets, diameter_m).sum(axis=1)
    assert found.is_settled
    assert np.all(uniform_K[2:] >= found.K)
    assert np.all(0.75 * uniform_K[2:] <= found.K)
