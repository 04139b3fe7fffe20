"""Register of agreements: who must agree to which crossing, how long it takes, what is monitored.

Room: ``engineering``. A table as columns, filled from plain values; no plan is read here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
    Texts = NDArray[np.object_]

DAYS_PER_MONTH = 365.2425 / 12.0
NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class KindTerms:
    """What an agreement takes for one kind of crossing.

    Attributes
    ----------
    lead_low_months, lead_high_months : float
        From the application to the agreement, e.g. 6 to 18 for a railway, 6 to 12 for a waterway (common
        practice, no source) [months].
    monitoring : str
        What is watched while the drive passes; empty for nothing.

    Raises
    ------
    ValueError
        If the leads are not 0 or above, or the low one is above the high one.
    """

    lead_low_months: float
    lead_high_months: float
    monitoring: str = ""

    def __post_init__(self) -> None:
        if not 0.0 <= self.lead_low_months <= self.lead_high_months:
            raise ValueError("the leads must be 0 or above, the low one at most the high one")


@dataclass(frozen=True, slots=True)
class AgreementsRegister:
    """One row a crossing, in the order given.

    Attributes
    ----------
    crossing, owner, kind, monitoring : ndarray of str, shape (n,)
    lead_low_months, lead_high_months : ndarray of float64, shape (n,)
        NaN where the kind's terms aren't known [months].
    """

    crossing: Texts
    owner: Texts
    kind: Texts
    lead_low_months: Array
    lead_high_months: Array
    monitoring: Texts

    @property
    def slowest(self) -> NDArray[np.int64]:
        """Rows from the longest lead to the shortest, those not known first."""
        return np.asarray(np.argsort(-np.nan_to_num(self.lead_high_months, nan=np.inf), kind="stable"))


def agreements_register(
    crossing: Sequence[str], owner: Sequence[str], kind: Sequence[str], terms: Mapping[str, KindTerms]
) -> AgreementsRegister:
    """Fill the register.

    Parameters
    ----------
    crossing, owner, kind : sequence of str, each of length n
        Name of the crossing, its owner (empty where not known), its kind.
    terms : mapping of str to KindTerms
        By kind.

    Raises
    ------
    ValueError
        If the columns differ in length.
    """
    if not len(crossing) == len(owner) == len(kind):
        raise ValueError("crossing, owner and kind must have one entry a row")
    found = [terms.get(name) for name in kind]
    return AgreementsRegister(
        crossing=_texts(crossing),
        owner=_texts([name or NOT_KNOWN for name in owner]),
        kind=_texts(kind),
        lead_low_months=np.array([np.nan if term is None else term.lead_low_months for term in found]),
        lead_high_months=np.array([np.nan if term is None else term.lead_high_months for term in found]),
        monitoring=_texts([NOT_KNOWN if term is None else term.monitoring for term in found]),
    )


def latest_application(work_start: ArrayLike, lead_months: ArrayLike) -> NDArray[np.datetime64]:
    """Day by which an agreement must be applied for, so that works may start on theirs.

    Parameters
    ----------
    work_start : array_like of datetime64
    lead_months : array_like
        The high lead, to be safe; not-a-time comes of NaN [months].
    """
    lead = not_negative("the lead", lead_months)
    days = np.where(np.isnan(lead), 0.0, np.ceil(lead * DAYS_PER_MONTH - 1e-9)).astype(np.int64)
    start = np.asarray(work_start, dtype="datetime64[D]")
    return np.where(np.isnan(lead), np.datetime64("NaT", "D"), start - days.astype("timedelta64[D]"))


def _texts(values: Sequence[str]) -> Texts:
    return np.array(list(values), dtype=object)
