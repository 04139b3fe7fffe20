"""What pins, limits and bans cost, as rows.

Room: beside ``screen``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from routescreen.explained.bans import ban_prices
from routescreen.explained.works_bans import works_ban_prices
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
    has_open_cut_bans: bool = True,
    has_works_bans: bool = True,
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
    has_open_cut_bans, has_works_bans : bool
        Whether bans on open cut, and those on shafts and drives, are looked for.
    progress : callable or None
        Called with the share of the work done [-].

    Returns
    -------
    DataFrame
        Columns of the layer ``binding_limits``.
    """
    found = list(limit_prices(problem, optimum_eur, progress=progress))
    if corridor is not None and has_open_cut_bans:
        found += ban_prices(problem, corridor, optimum_eur, progress=progress)
    if corridor is not None and has_works_bans:
        found += works_ban_prices(problem, corridor, optimum_eur, progress=progress)
    found.sort(key=lambda price: -price.rank_eur)
    rows = [(price.limit, price.binds, price.saving_eur, price_words(price, optimum_eur)) for price in found]
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    return table.astype({"saving_eur": "float64"})
