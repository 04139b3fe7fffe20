"""Administrative regulation on noise of construction (AVV Baulaerm, 19 August 1970): night from 20 to 7.

[seen] as a city prints it (stuttgart.de, 163698); the current text rules.
"""

import numpy as np

from routescreen.assumptions import load_assumptions
from routescreen.engineering.seasons import Night, is_in_night

A = load_assumptions()


def test_night():
    night = Night(int(A.programme.quiet_from_h), int(A.programme.quiet_to_h))
    hours = np.datetime64("2025-06-02T00", "h") + np.arange(24)
    by_day = ~is_in_night(hours, night)
    assert np.flatnonzero(by_day).tolist() == list(range(7, 20))  # [seen]
