"""What pins and limits cost, as rows.

Room: beside ``screen``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from routescreen.search.limit_prices import limit_prices, price_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.search.problem import FrameProblem

COLUMNS = ("limit", "binds", "saving_eur", "reason")


def limits_table(
    problem: FrameProblem,
    optimum_eur: float,
    *,
    progress: Callable[[float], None] | None = None,
) -> pd.DataFrame:
    """Return what each pin and each limit costs, the dearest first.

    Parameters
    ----------
    problem : FrameProblem
    optimum_eur : float
        Of the search with all of them [EUR].
    progress : callable or None
        Called with the share of the work done [-].

    Returns
    -------
    DataFrame
        Columns of the layer ``binding_limits``.
    """
    found = limit_prices(problem, optimum_eur, progress=progress)
    rows = [
        (price.limit, "yes" if price.binds else "no", price.saving_eur, price_words(price, optimum_eur))
        for price in found
    ]
    return pd.DataFrame(rows, columns=list(COLUMNS))
