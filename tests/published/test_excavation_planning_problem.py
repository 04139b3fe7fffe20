"""Planning a foundation's excavation, problem 3 of chapter 5 of a text on construction methods.

[seen] (coursepaper.com, solutions to 978-0815360827): 2 800 lb per cubic yard in place and 2 295 loose:
swell 22 %. [memory]: 3 256 compacted: shrinkage 14 %; 817 compacted need 950 in place.
"""

import pytest

from routescreen.engineering.spoil import shrinkage_frac, spoil_balance, swell_frac


def test_swell():
    assert swell_frac(2800.0, 2295.0) == pytest.approx(0.22, abs=0.005)  # [seen]


def test_shrinkage_and_fill():
    shrinkage = shrinkage_frac(2800.0, 3256.0)
    assert shrinkage == pytest.approx(0.14, abs=0.005)  # [memory]
    kept = spoil_balance(3000.0, 817.0, usable_frac=1.0, swell=0.22, shrinkage=shrinkage).kept_m3
    assert kept == pytest.approx(950.0, abs=0.5)  # [memory]
