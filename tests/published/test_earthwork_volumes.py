"""Bulking and shrinkage: worked examples of a public text on earthwork volumes.

[seen]: 10 m3 in place make 13 m3 loose at 30 %; of 200 m3 in place that bulk by 40 %, a fill of 90 m3
at 10 % shrinkage keeps 100 m3 in place, and the other 100 are hauled as 140 m3 loose.
"""

import pytest

from routescreen.engineering.trench import bank_volume_for_fill_m3, loose_volume_m3


def test_bulking():
    assert loose_volume_m3(10.0, 0.30) == pytest.approx(13.0)  # [seen]


def test_fill_and_haul():
    kept = bank_volume_for_fill_m3(90.0, 0.10)
    assert kept == pytest.approx(100.0)  # [seen]
    assert loose_volume_m3(200.0 - kept, 0.40) == pytest.approx(140.0)  # [seen]
