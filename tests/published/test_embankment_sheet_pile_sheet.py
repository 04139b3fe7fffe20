"""A sheet for cantilever sheet piles beside an embankment (scribd.com, 482985883).

[seen]: passive coefficient 3 at 30 degrees, no wall friction.
"""

import pytest

from routescreen.engineering.thrust_wall import passive_coefficient


def test_coefficient():
    assert passive_coefficient(30.0) == pytest.approx(3.0)  # [seen]
