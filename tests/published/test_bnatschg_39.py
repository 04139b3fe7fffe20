"""Federal Nature Conservation Act (BNatSchG), section 39(5): no felling from 1 March to 30 September.

[seen] as a town prints it (gronau.de, March 2021); the law's current text rules.
"""

import numpy as np

from routescreen.assumptions import load_assumptions
from routescreen.engineering.seasons import Season, is_in_season

A = load_assumptions()


def test_first_and_last_day():
    no_felling = A.programme.seasons["F"]
    ends = [
        int(part) for day in (no_felling.from_month_day, no_felling.to_month_day) for part in day.split("-")
    ]
    days = np.array(["2025-02-28", "2025-03-01", "2025-09-30", "2025-10-01"], dtype="datetime64[D]")
    assert is_in_season(days, Season(*ends)).tolist() == [False, True, True, False]  # [seen]
