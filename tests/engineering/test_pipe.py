"""Pipes and bores: walls, masses and pulls of the listed sizes, volumes."""

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.engineering.pipe import (
    annulus_m2,
    circle_m2,
    mass_kg_per_m,
    safe_pull_kN,
    wall_area_m2,
    wall_m,
)

PIPE = load_assumptions().pipe


@pytest.mark.parametrize("size", PIPE.sizes, ids=lambda size: f"OD {size.outer_diameter_m}")
def test_listed_sizes_follow_from_diameter_and_ratio(size):
    outer, ratio = size.outer_diameter_m, PIPE.standard_dimension_ratio
    assert wall_m(outer, ratio) * 1000.0 == pytest.approx(size.wall_mm, abs=0.06)
    assert mass_kg_per_m(outer, ratio, PIPE.density_kg_per_m3) == pytest.approx(size.mass_kg_per_m, rel=0.005)
    assert safe_pull_kN(outer, ratio, PIPE.safe_pull_stress_MPa) == pytest.approx(
        size.safe_pull_kN, rel=0.005
    )


def test_wall_area_is_the_ring():
    # OD 0.50, wall 0.05 (ratio 10): pi (0.25^2 - 0.20^2) = 0.070686
    assert wall_area_m2(0.5, 10.0) == pytest.approx(0.0706858, abs=1e-6)


def test_solid_rod_in_the_limit():
    assert wall_area_m2(0.5, 2.0) == pytest.approx(circle_m2(0.5))


def test_volumes_of_the_worked_crossing():
    # 2 480 m of bore 0.56 m: spoil 610.8 m3; annulus to OD 0.50 x 1.25: 154.8 m3
    assert 2480.0 * circle_m2(0.56) == pytest.approx(610.8, abs=0.1)
    assert 2480.0 * annulus_m2(0.56, 0.50) * 1.25 == pytest.approx(154.8, abs=0.1)
