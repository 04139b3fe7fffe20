"""The capstan equation in an encyclopedia: Wikipedia, "Capstan equation".

[seen]: the factor 153 552 935 (five turns, friction 0.6). The table of factors is recalled: two digits.
"""

import pytest

from routescreen.engineering.cable_pull import bend_factor


def test_five_turns():
    assert bend_factor(5.0 * 360.0, 0.6) == pytest.approx(153_552_935.0, rel=1e-8)  # [seen]


@pytest.mark.parametrize(
    ("turns", "factors"),
    [  # [memory], friction 0.1 / 0.2 / 0.3 / 0.4
        (1, (1.9, 3.5, 6.6, 12.0)),
        (2, (3.5, 12.0, 43.0, 152.0)),
        (3, (6.6, 43.0, 286.0, 1881.0)),
    ],
)
def test_table(turns, factors):
    assert bend_factor(360.0 * turns, [0.1, 0.2, 0.3, 0.4]) == pytest.approx(factors, rel=0.03)
