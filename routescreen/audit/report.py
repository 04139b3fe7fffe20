"""What the audit hands back: checks, crossings, breaches and quantities as tables.

Room: ``audit``. Pure data; may import ``errors``, numpy and pandas.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Literal

import pandas as pd

from routescreen.errors import Problem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Status = Literal["pass", "amber", "fail", "not_evaluated"]

TOLERANCE_M = 0.001
"""Lengths and levels are compared to the millimetre, the rounding of coordinates [m]."""

MOST_UTILISATION = 1000.0
"""Stands where something is asked for and nothing is there: tables hold no infinite numbers [-]."""

CONFIDENCE_ORDER = ("assumed", "record", "surveyed")


@dataclass(frozen=True, slots=True)
class Check:
    """One check of one element: one row of the table of checks.

    `demand` and `capacity` stand in `unit`; `utilisation` above 1 fails, `MOST_UTILISATION` stands
    for a capacity of nothing. Where nothing is known all three are NaN and the status is ``not_evaluated``.
    """

    element_id: str
    check: str
    demand: float
    capacity: float
    unit: str
    utilisation: float
    status: Status
    reason: str
    governing_chainage_m: float
    confidence: str
    source: str

    @property
    def margin(self) -> float:
        """Capacity less demand, in `unit`."""
        return self.capacity - self.demand


@dataclass(frozen=True, slots=True)
class Breach:
    """A limit that the plan breaks: who, what, where and by how much.

    `drive` and `shaft` are indices into the plan, `section` into the audit's sections, -1 where the
    breach has none. `xy_m` is the point where it is worst [m], None where there is no place.
    """

    element_id: str
    check: str
    chainage_m: float
    demand: float
    capacity: float
    unit: str
    reason: str
    drive: int = -1
    shaft: int = -1
    section: int = -1
    xy_m: tuple[float, float] | None = None
    feature_id: str | None = None

    def as_problem(self) -> Problem:
        """Return the breach in the form in which every fault is told."""
        place = "" if math.isnan(self.chainage_m) else f" at chainage {self.chainage_m:.1f} m"
        return Problem(
            problem=f"{self.element_id}: {self.check} is in breach{place}: {self.reason}.",
            remedy="Search again with this drive, shaft or trench piece closed, or relax the limit in the "
            "assumptions if the owner agrees.",
            feature=self.feature_id,
            column=self.check,
            value=f"{self.demand:.3f} against {self.capacity:.3f} {self.unit}",
        )


@dataclass(frozen=True, slots=True)
class Place:
    """Where a check was made: the indices and the point that a breach carries on."""

    chainage_m: float = math.nan
    drive: int = -1
    shaft: int = -1
    section: int = -1
    xy_m: tuple[float, float] | None = None
    feature_id: str | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """What is asked, by whom, and how well its inputs are known."""

    check: str
    unit: str
    source: str
    confidence: str = "assumed"
    tolerance: float = TOLERANCE_M


@dataclass(slots=True)
class Ledger:
    """Collects checks and breaches while the audit walks through the plan."""

    checks: list[Check] = field(default_factory=list)
    breaches: list[Breach] = field(default_factory=list)
    unpriced_eur: list[float] = field(default_factory=list)

    def unpriced(self, eur: float) -> None:
        """Note what a check says that a measure would cost which no item of the bill holds [EUR]."""
        if eur > 0.0:
            self.unpriced_eur.append(eur)

    def at_least(
        self, element_id: str, limit: Limit, required: float, actual: float, place: Place, reason: str
    ) -> Status:
        """Check that `actual` reaches `required`: demand is the required value."""
        is_met = actual >= required - limit.tolerance
        return self._enter(element_id, limit, (required, actual), is_met, place, reason)

    def at_most(
        self, element_id: str, limit: Limit, actual: float, allowed: float, place: Place, reason: str
    ) -> Status:
        """Check that `actual` stays within `allowed`: demand is the actual value."""
        is_met = actual <= allowed + limit.tolerance
        return self._enter(element_id, limit, (actual, allowed), is_met, place, reason)

    def finding(
        self, element_id: str, limit: Limit, demand: float, capacity: float, place: Place, reason: str
    ) -> Status:
        """Check that `demand` stays within `capacity`, for what the search does not look at.

        A failure stands in the table of checks and is told as a warning; it is no breach, since closing
        the drive or trench and searching again may not mend what is asked for here.
        """
        if math.isnan(demand) or math.isnan(capacity):
            self.not_evaluated(element_id, limit, place, f"{reason}; a value is missing")
            return "not_evaluated"
        is_met = demand <= capacity + limit.tolerance
        status: Status = "pass" if is_met else "fail"
        values = (demand, capacity, _met(demand, capacity) if is_met else _ratio(demand, capacity))
        self.checks.append(_check(element_id, limit, values, status, place, reason))
        return status

    def amber(
        self,
        element_id: str,
        limit: Limit,
        demand: float,
        capacity: float,
        place: Place,
        reason: str,
    ) -> None:
        """Enter a second limit that is passed: a warning, no breach."""
        values = (demand, capacity, _ratio(demand, capacity))
        self.checks.append(_check(element_id, limit, values, "amber", place, reason))

    def not_evaluated(self, element_id: str, limit: Limit, place: Place, reason: str) -> None:
        """Enter a check whose input is missing; it is no pass."""
        values = (math.nan, math.nan, math.nan)
        self.checks.append(_check(element_id, limit, values, "not_evaluated", place, reason))

    def _enter(
        self,
        element_id: str,
        limit: Limit,
        demand_and_capacity: tuple[float, float],
        is_met: bool,
        place: Place,
        reason: str,
    ) -> Status:
        demand, capacity = demand_and_capacity
        if math.isnan(demand) or math.isnan(capacity):
            self.not_evaluated(element_id, limit, place, f"{reason}; a value is missing")
            return "not_evaluated"
        status: Status = "pass" if is_met else "fail"
        values = (demand, capacity, _met(demand, capacity) if is_met else _ratio(demand, capacity))
        self.checks.append(_check(element_id, limit, values, status, place, reason))
        if not is_met:
            self.breaches.append(_breach(element_id, limit, values, place, reason))
        return status


def _ratio(demand: float, capacity: float) -> float:
    """Return demand / capacity, at most `MOST_UTILISATION`; 0 where nothing is asked.

    Examples
    --------
    >>> _ratio(2.0, 4.0), _ratio(0.0, 0.0), _ratio(1.0, 0.0)
    (0.5, 0.0, 1000.0)
    """
    if math.isnan(demand) or math.isnan(capacity):
        return math.nan
    if demand <= 0.0:
        return 0.0
    return min(demand / capacity, MOST_UTILISATION) if capacity > 0.0 else MOST_UTILISATION


def _met(demand: float, capacity: float) -> float:
    """Return the utilisation of a limit that is met: at most 1, as far as the tolerance may reach.

    Where there is no capacity at all, a demand within the tolerance is none.

    Examples
    --------
    >>> _met(2.0, 4.0), _met(4.0005, 4.0), _met(0.0005, 0.0)
    (0.5, 1.0, 0.0)
    """
    return min(_ratio(demand, capacity), 1.0) if capacity > 0.0 else 0.0


def _check(
    element_id: str,
    limit: Limit,
    values: tuple[float, float, float],
    status: Status,
    place: Place,
    reason: str,
) -> Check:
    demand, capacity, utilisation = values
    return Check(
        element_id=element_id,
        check=limit.check,
        demand=demand,
        capacity=capacity,
        unit=limit.unit,
        utilisation=utilisation,
        status=status,
        reason=reason,
        governing_chainage_m=place.chainage_m,
        confidence=limit.confidence,
        source=limit.source,
    )


def _breach(
    element_id: str, limit: Limit, values: tuple[float, float, float], place: Place, reason: str
) -> Breach:
    return Breach(
        element_id=element_id,
        check=limit.check,
        chainage_m=place.chainage_m,
        demand=values[0],
        capacity=values[1],
        unit=limit.unit,
        reason=reason,
        drive=place.drive,
        shaft=place.shaft,
        section=place.section,
        xy_m=place.xy_m,
        feature_id=place.feature_id,
    )


def worst_confidence(*confidences: str) -> str:
    """Return the least of the given confidences: assumed, then record, then surveyed.

    Examples
    --------
    >>> worst_confidence("surveyed", "record")
    'record'
    """
    return min(confidences, key=CONFIDENCE_ORDER.index)


def checks_table(corridor_id: str, checks: list[Check]) -> pd.DataFrame:
    """Return the checks as a table, one row a check, numbered in the order they were made."""
    columns = [column.name for column in fields(Check)]
    rows = [[getattr(check, name) for name in columns] for check in checks]
    table = pd.DataFrame(rows, columns=columns)
    table.insert(0, "check_id", [f"{corridor_id}-K{index + 1:04d}" for index in range(len(table))])
    table.insert(0, "corridor_id", corridor_id)
    table.insert(list(table.columns).index("status"), "margin", [check.margin for check in checks])
    return table


def checks_of(table: pd.DataFrame) -> list[Check]:
    """Return the rows of a table of checks, as `checks_table` gives it."""
    columns = [column.name for column in fields(Check)]
    return [Check(*row) for row in table[columns].itertuples(index=False, name=None)]


@dataclass(frozen=True, slots=True)
class AuditReport:
    """The audit of one plan.

    Attributes
    ----------
    corridor_id : str
    crossings : DataFrame
        One row for each time the alignment meets a crossing, in order of chainage: `corridor_id`,
        `crossing_id`, `feature_id` (joined by ``;``), `kind`, `name`, `point` (shapely, where the
        alignment is in the middle of it), `chainage_m`, `from_chainage_m`, `to_chainage_m`,
        `width_m`, `angle_deg`, `treatment` (``open_cut`` or ``trenchless``), `cover_m`,
        `required_cover_m`, `clearance_m`, `passage`, `section_index`, `section_id`, `drive_index` (-1 in open
        cut), `confidence`, `remark`.
    checks : DataFrame
        The columns of the results' table of checks.
    breaches : tuple of Breach
        Every failed check; empty when the plan may stand.
    sections : DataFrame
        `section_id`, `construction`, `method`, `drive_index`, `from_chainage_m`, `to_chainage_m`,
        `length_m`.
    section_quantities : ndarray of shape (n_sections, n_items)
        Quantities of the bill's items, measured on the exact geometry, in item units.
    section_amounts_eur : ndarray of shape (n_sections,)
        Unrounded price of each section at the expected rates [EUR].
    bill_total_eur : float
        Sum over the sections: what the search's objective is compared with [EUR].
    """

    corridor_id: str
    crossings: pd.DataFrame
    checks: pd.DataFrame
    breaches: tuple[Breach, ...]
    sections: pd.DataFrame
    section_quantities: NDArray[np.float64]
    section_amounts_eur: NDArray[np.float64]
    bill_total_eur: float
