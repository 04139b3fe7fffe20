"""What pins, limits and bans cost, as rows.

Room: beside ``screen``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from routescreen.explained.bans import ban_prices
from routescreen.search.limit_prices import limit_prices, price_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

COLUMNS = ("limit", "binds", "saving_eur", "reason")


def limits_table(
    problem: FrameProblem,
    optimum_eur: float,
    *,
    corridor: CorridorInput | None = None,
    progress: Callable[[float], None] | None = None,
) -> pd.DataFrame:
    """Return what each pin, each limit and each ban costs, the dearest first.

    Parameters
    ----------
    problem : FrameProblem
    optimum_eur : float
        Of the search with all of them [EUR].
    corridor : CorridorInput or None
        What the frame was laid over; without it bans are left out.
    progress : callable or None
        Called with the share of the work done [-].

    Returns
    -------
    DataFrame
        Columns of the layer ``binding_limits``.
    """
    found = list(limit_prices(problem, optimum_eur, progress=progress))
    if corridor is not None:
        found += ban_prices(problem, corridor, optimum_eur, progress=progress)
        found.sort(key=lambda price: -price.saving_eur)
    rows = [
        (price.limit, "yes" if price.binds else "no", price.saving_eur, price_words(price, optimum_eur))
        for price in found
    ]
    return pd.DataFrame(rows, columns=list(COLUMNS))
