"""Soil in the ground, in the lorry and in the fill (tools.gera.services, earthwork spoil).

[seen]: 100 cubic yards in place at 25 % swell and 12 % shrinkage are 125 loose, about 7 loads of 20, and 88
compacted; 100 compacted need about 114 in place.
"""

import pytest

from routescreen.engineering.spoil import lorry_loads, spoil_balance
from routescreen.engineering.trench import bank_volume_for_fill_m3, loose_volume_m3


def test_loose_and_loads():
    assert loose_volume_m3(100.0, 0.25) == pytest.approx(125.0)  # [seen]
    assert lorry_loads(125.0, 20.0) == 7.0  # [seen]


def test_fill():
    assert bank_volume_for_fill_m3(88.0, 0.12) == pytest.approx(100.0)  # [seen]
    assert bank_volume_for_fill_m3(100.0, 0.12) == pytest.approx(114.0, abs=0.5)  # [seen]
    assert spoil_balance(
        100.0, 88.0, usable_frac=1.0, swell=0.25, shrinkage=0.12
    ).surplus_m3 == pytest.approx(0.0, abs=1e-9)
