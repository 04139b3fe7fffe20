"""Reach of a lowered water, formula of Sichardt as Fileccia prints it.

G. Fileccia, Acque Sotterranee, Italian Journal of Groundwater, 2015, AS-117-15-0144, quoted in a public
manual of groundwater formulae (gopalpenny.github.io). [seen]: 1e-4 m/s, 10 m: 300 m.
"""

import pytest

from routescreen.engineering.dewatering import reach_m


def test_reach():
    assert reach_m(10.0, 1e-4) == pytest.approx(300.0)  # [seen]
