"""Beer and Johnston, Vector Mechanics for Engineers: Statics, 10th edition, problem 8.104: a hawser.

[seen]: two turns, 80 lb hold 5 000 lb with friction 0.329; 20 000 lb need 2.67 turns. Three digits are
printed: 1 % of the force ratio, which grows with their exponential.
"""

import pytest

from routescreen.engineering.cable_pull import bend_factor


@pytest.mark.parametrize(("turns", "force_lb"), [(2.0, 5000.0), (2.67, 20_000.0)])  # [seen]
def test_hawser(turns, force_lb):
    assert 80.0 * bend_factor(360.0 * turns, 0.329) == pytest.approx(force_lb, rel=0.01)
