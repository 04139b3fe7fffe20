"""A. Bond and A. Harris, Decoding Eurocode 7, 2008: basements that may float, a weir that may heave.

[seen] in excerpts (eurocode.us, scribd.com 184794924). Basement 18 m wide: superstructure 540 kN/m; one
storey, 4.5 m deep, weighs 418 kN/m; two storeys, 7.5 m deep, 528 kN/m. Factors 1.1 and 0.9.
Weir: seepage force 9.2 kN and submerged weight 31 kN of a column, factors 1.35 and 0.9.
"""

import pytest

from routescreen.engineering.base_uplift import (
    heave_utilisation,
    held_force_kN,
    highest_head_m,
    upl_utilisation,
)


@pytest.mark.parametrize(
    ("depth_m", "pressure_kPa", "uplift_kN", "weight_kN", "design_uplift_kN", "design_weight_kN"),
    [
        pytest.param(4.5, 44.1, 795.0, 540.0 + 418.0, 874.1, 0.9 * 958.0, id="one storey"),  # [seen]
        pytest.param(7.5, 73.6, 1324.0, 540.0 + 528.0, 1456.8, 960.8, id="two storeys"),  # [seen]
    ],
)
def test_basement(depth_m, pressure_kPa, uplift_kN, weight_kN, design_uplift_kN, design_weight_kN):
    pressure = 9.81 * highest_head_m(-depth_m, [0.0])
    assert pressure == pytest.approx(pressure_kPa, abs=0.05)
    uplift = held_force_kN(pressure, 18.0, 1.0)
    assert uplift == pytest.approx(uplift_kN, abs=0.6)
    factors = {"destabilising_factor": 1.1, "stabilising_factor": 0.9}
    used = upl_utilisation(uplift, weight_kN, **factors)
    # weights are printed rounded to 1 kN/m
    assert used == pytest.approx(design_uplift_kN / design_weight_kN, rel=1e-3)
    left = design_uplift_kN - design_weight_kN
    assert upl_utilisation(uplift, weight_kN, left, **factors) == pytest.approx(1.0, rel=1e-3)


def test_weir():
    used = heave_utilisation(9.2, 31.0, lifting_factor=1.35, holding_factor=0.9)
    assert used == pytest.approx(12.4 / 27.9, rel=3e-3)  # [seen], both rounded to 0.1 kN
