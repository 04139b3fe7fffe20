"""A pipe maker's table of safe pulls over 12 h at 1 099.45 psi (PE pipe, inches and pounds).

[seen]: outer diameter, SDR 9 / 11 / 13.5, safe pull [lb]. The table is printed in whole pounds: 0.1 %.
"""

import pytest

from routescreen.engineering.pipe import safe_pull_kN

M_PER_IN = 0.0254
KN_PER_LB = 4.4482216152605e-3
MPA_PER_PSI = 6.894757293168e-3


@pytest.mark.parametrize(
    ("outer_in", "pulls_lb"),
    [
        (1.660, (940, 787, 653)),  # [seen]
        (2.375, (1924, 1610, 1336)),  # [seen]
        (3.500, (4179, 3497, 2902)),  # [seen]
        (4.500, (6908, 5780, 4797)),  # [seen]
        (6.625, (14973, 12529, 10398)),  # [seen]
    ],
)
def test_safe_pull(outer_in, pulls_lb):
    for ratio, expected_lb in zip((9.0, 11.0, 13.5), pulls_lb, strict=True):
        pull = safe_pull_kN(outer_in * M_PER_IN, ratio, 1099.45 * MPA_PER_PSI) / KN_PER_LB
        assert pull == pytest.approx(expected_lb, rel=1e-3)
