"""Conical stockpiles at 37 degrees, a table of volumes (constructionwork.com, stockpile volume).

[seen]: diameter and height in feet, volume in cubic yards; the volumes are printed to the next 5 and some
to the next 10, heights to whole feet: within 0.5 %.
"""

import pytest

from routescreen.engineering.soil_heaps import cone_m3, heap_cone_m


@pytest.mark.parametrize(
    ("diameter_ft", "height_ft", "volume_yd3"),
    [
        (26.50, 10.0, 68.0),  # [seen]
        (39.83, 15.0, 230.0),  # [seen]
        (53.00, 20.0, 545.0),  # [seen]
        (66.30, 25.0, 1065.0),  # [seen]
        (79.50, 30.0, 1845.0),  # [seen]
        (92.83, 35.0, 2930.0),  # [seen]
        (106.00, 40.0, 4370.0),  # [seen]
        (132.66, 50.0, 8540.0),  # [seen]
        (159.16, 60.0, 14755.0),  # [seen]
        (186.00, 70.0, 23375.0),  # [seen]
        (212.16, 80.0, 34970.0),  # [seen]
        (238.83, 90.0, 49795.0),  # [seen]
        (265.30, 100.0, 68300.0),  # [seen]
    ],
)
def test_table(diameter_ft, height_ft, volume_yd3):
    assert cone_m3(height_ft, diameter_ft) / 27.0 == pytest.approx(volume_yd3, rel=5e-3)
    height, diameter = heap_cone_m(27.0 * volume_yd3, 37.0)
    assert height == pytest.approx(height_ft, rel=5e-3)
    assert diameter == pytest.approx(diameter_ft, rel=5e-3)
