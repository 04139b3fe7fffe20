"""The average end area method explained (boneyardtools.com, cut and fill).

[seen]: 50 and 70 square feet, 100 feet apart: 6 000 cubic feet, 222.22 cubic yards.
"""

import pytest

from routescreen.engineering.spoil import end_area_m3


def test_volume():
    # in feet
    volume = end_area_m3([0.0, 100.0], [50.0, 70.0])[0]
    assert volume == pytest.approx(6000.0)  # [seen]
    assert volume / 27.0 == pytest.approx(222.22, abs=0.005)  # [seen]
