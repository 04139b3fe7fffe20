"""Section, resistance and pull of a conductor fit together."""

from __future__ import annotations

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.errors import AssumptionsError


@pytest.mark.parametrize(
    ("text", "limit_kN"),
    [
        pytest.param("", 125.0, id="2 500 mm2 of copper at 50 N/mm2"),
        # 1.13e-5 x 1 600 mm2 = 1.81e-8 ohm m
        pytest.param(
            "[cable]\nconductor_area_mm2 = 1600.0\nresistance_20degC_ohm_per_m = 1.13e-5\n",
            80.0,
            id="1 600 mm2",
        ),
        pytest.param("[cable]\npull_stress_N_per_mm2 = 40.0\n", 100.0, id="less stress"),
        pytest.param("[cable]\npull_limit_kN = 90.0\n", 90.0, id="given"),
        pytest.param('[link]\nprofile = "ac110"\n', 48.0, id="1 600 mm2 of aluminium at 30 N/mm2"),
    ],
)
def test_the_eye_is_limited_by_stress_and_section(text: str, limit_kN: float) -> None:
    assert load_assumptions(text).cable.eye_limit_kN == pytest.approx(limit_kN)


@pytest.mark.parametrize(
    ("text", "column", "told"),
    [
        pytest.param(
            "[cable]\nconductor_area_mm2 = 1600.0\n",
            "cable.resistance_20degC_ohm_per_m",
            "1.15e-08 ohm m, less than copper",  # 7.2e-6 x 1 600e-6
            id="section without its resistance",
        ),
        pytest.param(
            "[cable.metallic_return]\nconductor_area_mm2 = 1600.0\n",
            "cable.metallic_return.resistance_20degC_ohm_per_m",
            "less than copper",
            id="return cable",
        ),
        pytest.param("[cable]\npull_limit_kN = 126.0\n", "cable.pull_limit_kN", "at most 125 kN", id="pull"),
    ],
)
def test_what_is_not_one_conductor_is_refused(text: str, column: str, told: str) -> None:
    with pytest.raises(AssumptionsError) as caught:
        load_assumptions(text)
    (problem,) = caught.value.problems
    assert problem.column == column
    assert told in problem.problem
