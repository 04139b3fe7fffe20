"""Bulking and shrinkage: worked examples of a public text on earthwork volumes.

[seen]: 10 m3 in place make 13 m3 loose at 30 %; of 200 m3 in place that bulk by 40 %, a fill of 90 m3
at 10 % shrinkage keeps 100 m3 in place, and the other 100 are hauled as 140 m3 loose. The 200 are 280 m3
loose, whose 80 on top take 6 to 7 more lorries of 12; 200 m3 of dry clay at 50 % are 300 loose.
"""

import pytest

from routescreen.engineering.spoil import lorry_loads, spoil_balance
from routescreen.engineering.trench import bank_volume_for_fill_m3, loose_volume_m3


def test_bulking():
    assert loose_volume_m3(10.0, 0.30) == pytest.approx(13.0)  # [seen]


def test_fill_and_haul():
    kept = bank_volume_for_fill_m3(90.0, 0.10)
    assert kept == pytest.approx(100.0)  # [seen]
    assert loose_volume_m3(200.0 - kept, 0.40) == pytest.approx(140.0)  # [seen]


def test_balance_of_the_same():
    found = spoil_balance(200.0, 90.0, usable_frac=1.0, swell=0.40, shrinkage=0.10)
    assert found.kept_m3 == pytest.approx(100.0)  # [seen]
    assert found.surplus_loose_m3 == pytest.approx(140.0)  # [seen]


def test_lorries():
    loose = loose_volume_m3(200.0, 0.40)
    assert loose == pytest.approx(280.0)  # [seen]
    assert lorry_loads(loose, 12.0) - lorry_loads(200.0, 12.0) in (6.0, 7.0)  # [seen]
    assert loose_volume_m3(200.0, 0.50) == pytest.approx(300.0)  # [seen]
