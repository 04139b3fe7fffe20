"""Fundamentals of Transportation, an open text book: earthwork, problem with its solution.

[seen] (wikibooks.org): end areas 60, 50, 25, 5, 0 m2 of fill at 0, 50, 75, 100, 115 m and 0, 10, 15, 30 m2
of cut at 75, 100, 115, 150 m; pyramids where one end is 0: fill 4 087.5, cut 1 058.3, short by 3 029.2 m3.
"""

import pytest

from routescreen.engineering.spoil import end_area_m3, prismoid_m3


def pyramid_m3(length_m, area_m2):
    return prismoid_m3(length_m, area_m2, area_m2 / 4.0, 0.0)


def test_fill_and_cut():
    fill = end_area_m3([0.0, 50.0, 75.0, 100.0], [60.0, 50.0, 25.0, 5.0]).sum() + pyramid_m3(15.0, 5.0)
    cut = pyramid_m3(25.0, 10.0) + end_area_m3([100.0, 115.0, 150.0], [10.0, 15.0, 30.0]).sum()
    assert fill == pytest.approx(4087.5)  # [seen]
    assert cut == pytest.approx(1058.3, abs=0.05)  # [seen]
    assert fill - cut == pytest.approx(3029.2, abs=0.05)  # [seen]
