"""Janna, Engineering Heat Transfer, example 3.2 (page 134): a buried pipe.

[seen] in a public set of worked examples, author and title [memory]: OD 10.74 in, axis 18 in deep, 140 over
65 degF, 0.072 Btu/(h ft degR): 18.05 Btu/(h ft).
"""

import math

import pytest

from routescreen.engineering.heat import own_ground_log


def test_buried_pipe():
    logarithm = own_ground_log(18.0 / 12.0, 10.74 / 12.0)
    assert 0.072 * 2.0 * math.pi / logarithm * 75.0 == pytest.approx(18.05, abs=0.02)  # [seen]
