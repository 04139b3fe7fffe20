"""The vertical line of a drive against linear programmes, and drawn by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import linprog

from routescreen.drives.profile import (
    flattest_to_end,
    hull_slope,
    lower_hull,
    slopes_above,
    start_level_m,
    steepest_from_start,
)

Floats = NDArray[np.float64]
close = {"abs": 1e-6, "rel": 1e-6}
quick = settings(max_examples=150, deadline=None)


@st.composite
def ceilings(draw: st.DrawFn) -> tuple[Floats, Floats]:
    """Draw points of a ceiling: places that rise from 0, levels to the millimetre."""
    n = draw(st.integers(2, 12))
    gaps = draw(st.lists(st.integers(1, 100), min_size=n - 1, max_size=n - 1))
    levels = draw(st.lists(st.integers(-9000, 9000), min_size=n, max_size=n))
    return np.concatenate([[0.0], np.cumsum(gaps)]) * 0.5, np.array(levels) / 1000.0


def highest_line(
    x: Floats, v: Floats, gain: tuple[float, float], slopes: tuple[float | None, float | None] = (None, None)
) -> tuple[float, float]:
    """Return start level and slope of the line below all points with the greatest weighted gain."""
    result = linprog(
        [-gain[0], -gain[1]],
        A_ub=np.stack([np.ones_like(x), x], axis=1),
        b_ub=v,
        bounds=[(None, None), slopes],
        method="highs",
    )
    assert result.status == 0
    return float(result.x[0]), float(result.x[1])


def slope_at(x: Floats, v: Floats, at: float) -> float:
    return hull_slope(x, v, len(x), at, np.zeros(len(x) + 1, np.int64))


@quick
@given(points=ceilings(), slope=st.integers(-200, 200))
def test_start_level_is_the_highest(points: tuple[Floats, Floats], slope: int) -> None:
    x, v = points
    m = slope / 1000.0
    level, _ = highest_line(x, v, (1.0, 0.0), (m, m))
    assert start_level_m(x, v, len(x), m) == pytest.approx(level, **close)


@quick
@given(points=ceilings(), share=st.floats(0.001, 0.999))
def test_hull_slope_supports_where_depths_balance(points: tuple[Floats, Floats], share: float) -> None:
    """Highest at x* = L w_B / (w_A + w_B) is the same as the least w_A depth A + w_B depth B."""
    x, v = points
    weight_a, weight_b = 1.0 - share, share
    level, slope = highest_line(x, v, (weight_a + weight_b, weight_b * x[-1]))
    expected = weight_a * level + weight_b * (level + slope * x[-1])
    own = slope_at(x, v, share * x[-1])
    start = start_level_m(x, v, len(x), own)
    assert weight_a * start + weight_b * (start + own * x[-1]) == pytest.approx(expected, **close)


@quick
@given(
    points=ceilings(),
    share=st.floats(0.001, 0.999),
    limits=st.tuples(st.integers(-50, 50), st.integers(0, 50)),
)
def test_clamping_the_slope_is_exact(
    points: tuple[Floats, Floats], share: float, limits: tuple[int, int]
) -> None:
    """Between limits on the grade the clamped slope of the free optimum is the optimum."""
    x, v = points
    low, high = limits[0] / 1000.0, (limits[0] + limits[1]) / 1000.0
    at = share * x[-1]
    level, slope = highest_line(x, v, (1.0, at), (low, high))
    own = min(max(slope_at(x, v, at), low), high)
    assert start_level_m(x, v, len(x), own) + own * at == pytest.approx(level + slope * at, **close)


@quick
@given(points=ceilings(), share=st.floats(0.001, 0.999))
def test_the_mirror_image_has_the_opposite_slope(points: tuple[Floats, Floats], share: float) -> None:
    x, v = points
    mirrored = slope_at((x[-1] - x)[::-1].copy(), v[::-1].copy(), x[-1] * (1.0 - share))
    assert mirrored == pytest.approx(-slope_at(x, v, share * x[-1]), abs=1e-9)


@quick
@given(points=ceilings(), below=st.integers(0, 5000))
def test_steepest_and_flattest(points: tuple[Floats, Floats], below: int) -> None:
    x, v = points
    level = float(v[0]) - below / 1000.0
    steepest = linprog([-1.0], A_ub=x[1:, None], b_ub=v[1:] - level, bounds=[(None, None)], method="highs")
    assert steepest_from_start(x, v, len(x), level) == pytest.approx(float(steepest.x[0]), **close)
    level = float(v[-1]) - below / 1000.0
    back = (x[-1] - x)[:-1]
    flattest = linprog([1.0], A_ub=-back[:, None], b_ub=v[:-1] - level, bounds=[(None, None)], method="highs")
    assert flattest_to_end(x, v, len(x), level) == pytest.approx(float(flattest.x[0]), **close)


VALLEY = (np.array([0.0, 10.0, 20.0]), np.array([0.0, -1.0, 1.0]))  # edges -0.1 and +0.2


@pytest.mark.parametrize(
    ("at", "slope"),
    [
        pytest.param(4.0, -0.1, id="first-edge"),
        pytest.param(13.0, 0.2, id="second-edge"),
        pytest.param(10.0, 0.05, id="at-the-vertex-the-mean"),
        pytest.param(10.0 - 1e-12, 0.05, id="a-rounding-error-before-the-vertex"),
        pytest.param(10.0 + 1e-12, 0.05, id="a-rounding-error-beyond-the-vertex"),
    ],
)
def test_hull_of_a_valley(at: float, slope: float) -> None:
    assert slope_at(*VALLEY, at) == pytest.approx(slope)


def test_hull_passes_below_a_hill() -> None:
    x, v = np.array([0.0, 10.0, 20.0]), np.array([0.0, 3.0, 1.0])
    assert slope_at(x, v, 4.0) == pytest.approx(1.0 / 20.0)


def test_points_on_one_line_are_one_edge() -> None:
    x = np.array([0.0, 5.0, 10.0, 40.0])
    assert slope_at(x, 3.0 - 0.02 * x, 5.0) == pytest.approx(-0.02)


@pytest.mark.parametrize(
    ("level", "slope"),
    [
        pytest.param(-2.0, 0.1, id="the-valley-binds"),  # (-1 - -2) / 10
        pytest.param(0.0, -0.1, id="from-the-first-point"),  # (-1 - 0) / 10
        pytest.param(0.1, -np.inf, id="above-the-first-point-none"),
    ],
)
def test_steepest_by_hand(level: float, slope: float) -> None:
    assert steepest_from_start(*VALLEY, 3, level) == pytest.approx(slope)


@pytest.mark.parametrize(
    ("level", "slope"),
    [
        pytest.param(1.0, 0.2, id="from-the-last-point"),  # (1 - -1) / 10
        pytest.param(-1.0, 0.0, id="the-valley-binds"),
        pytest.param(1.1, np.inf, id="above-the-last-point-none"),
    ],
)
def test_flattest_by_hand(level: float, slope: float) -> None:
    assert flattest_to_end(*VALLEY, 3, level) == pytest.approx(slope)


def slopes_between(x: Floats, v: Floats, floor: Floats) -> tuple[float, float]:
    hull = np.zeros(len(x) + 1, np.int64)
    return slopes_above(x, v, floor, len(x), hull, lower_hull(x, v, len(x), hull))


@quick
@given(points=ceilings(), below=st.lists(st.integers(0, 9000), min_size=12, max_size=12))
def test_slopes_between_floors_and_ceilings(points: tuple[Floats, Floats], below: list[int]) -> None:
    """The least and the greatest slope of the lines that lie between both, by a linear programme."""
    x, v = points
    floor = v - np.array(below[: len(x)]) / 1000.0
    low, high = slopes_between(x, v, floor)
    found = [
        linprog(
            [0.0, sign],
            A_ub=np.concatenate(
                [np.stack([np.ones_like(x), x], axis=1), -np.stack([np.ones_like(x), x], axis=1)]
            ),
            b_ub=np.concatenate([v, -floor]),
            bounds=[(None, None), (None, None)],
            method="highs",
        )
        for sign in (1.0, -1.0)
    ]
    if low > high + 1e-6:
        assert [result.status for result in found] == [2, 2]
    elif low < high - 1e-6:
        assert [float(result.x[1]) for result in found] == pytest.approx([low, high], **close)


def test_slopes_between_by_hand() -> None:
    # under (0, 0) and (10, 0), above -1 at 0 and -0.5 at 10: (0, -1) to (10, 0), (0, 0) to (10, -0.5)
    x, v = np.array([0.0, 5.0, 10.0]), np.array([0.0, 3.0, 0.0])
    low, high = slopes_between(x, v, np.array([-1.0, -np.inf, -0.5]))
    assert (low, high) == (pytest.approx(-0.05), pytest.approx(0.1))
