"""A pump maker's slurry manual, 2002: the worked example of sand in a 150 mm line.

[memory]: recalled, none read. 65 t/h of sand, S 2.65, C_w 30 %, F_L 1.04. The tolerance is half a unit of
each figure's last digit, and 0.2 % for the constants that the manual rounds.
"""

import pytest

from routescreen.engineering.slurry import (
    line_velocity_m_per_s,
    mixture_density,
    settling_velocity_m_per_s,
    slurry_flow_m3_per_s,
    volume_share,
)


def test_sand_in_a_line():
    assert mixture_density(2.65, 0.30) == pytest.approx(1.23, abs=0.005)  # [memory]
    assert 100.0 * volume_share(2.65, 0.30) == pytest.approx(13.9, abs=0.05)  # [memory]
    flow = slurry_flow_m3_per_s(65.0, 2.65, 0.30)
    assert 1000.0 * flow == pytest.approx(48.9, rel=2e-3, abs=0.05)  # [memory]
    assert line_velocity_m_per_s(flow, 0.150) == pytest.approx(2.77, abs=0.005)  # [memory]
    assert settling_velocity_m_per_s(1.04, 0.150, 2.65) == pytest.approx(2.29, abs=0.005)  # [memory]
