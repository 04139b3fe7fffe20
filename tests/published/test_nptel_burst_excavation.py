"""An excavation that burst, worked example 2 of a national course (nptel.ac.in, 105103097, chapter 5).

[seen]: clay of 2 t/m3, 10.5 m thick over water-bearing sand, burst at 7.5 m depth: head 6 m.
"""

import pytest

from routescreen.engineering.base_uplift import deepest_cut_m


def test_depth_at_which_it_bursts():
    # in tonnes: water weighs 1 t/m3; all factors 1, since it did burst
    depth = deepest_cut_m(10.5, 6.0, 2.0, water_kN_per_m3=1.0, weight_factor=1.0, water_factor=1.0)
    assert depth == pytest.approx(7.5)  # [seen]
