"""Public reports on underground high-voltage DC links: strips and laying depth.

[seen]: working strip 35 and 55 m, protective strip 15 and 34 m for two and four cables; laid 1.3 to
1.5 m deep. Exact values.
"""

import pytest

from routescreen.assumptions import load_assumptions


@pytest.mark.parametrize(
    ("n_systems", "working_m", "protective_m"),
    [
        pytest.param(1, 35.0, 15.0, id="one system, two cables"),  # [seen]
        pytest.param(2, 55.0, 34.0, id="two systems, four cables"),  # [seen]
    ],
)
def test_strips(n_systems, working_m, protective_m):
    a = load_assumptions(f"[link]\nn_systems = {n_systems}\n")
    assert (a.working_strip_m, a.protective_strip_m) == (working_m, protective_m)


def test_laying_depth():
    assert 1.3 <= load_assumptions().trench.cover_to_pipe_m <= 1.5  # [seen]
