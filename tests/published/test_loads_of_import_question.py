"""Loads of imported fill, a student's question with its answer (qammunity.org, 6725372).

[seen]: 1 490 cubic yards in place at 95 % of the ground's own volume need 1 568.42 in place, 1 788 loose at
14 % swell, 149 loads of 12.
"""

import pytest

from routescreen.engineering.spoil import lorry_loads, spoil_balance
from routescreen.engineering.trench import loose_volume_m3


def test_loads():
    missing = spoil_balance(0.0, 1490.0, usable_frac=1.0, swell=0.14, shrinkage=0.05).missing_m3
    assert missing == pytest.approx(1568.42, abs=0.005)  # [seen]
    loose = loose_volume_m3(missing, 0.14)
    assert loose == pytest.approx(1788.0)  # [seen]
    assert lorry_loads(loose, 12.0) == 149.0  # [seen]
