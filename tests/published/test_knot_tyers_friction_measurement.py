"""Measured friction of a rope on a roller: forum of the International Guild of Knot Tyers, January 2021.

[seen]: force ratios 14 and 19 over one and a half turns give frictions 0.280012679 and 0.312414679.
"""

import pytest

from routescreen.engineering.cable_pull import bend_factor


@pytest.mark.parametrize(("friction", "ratio"), [(0.280012679, 14.0), (0.312414679, 19.0)])  # [seen]
def test_ratio(friction, ratio):
    assert bend_factor(540.0, friction) == pytest.approx(ratio, rel=1e-7)
