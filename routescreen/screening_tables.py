"""The tables of one screened corridor, from the audit and the take-off.

Room: beside ``screen``. Tables in, tables out; reckons nothing itself.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.audit.report import MOST_UTILISATION
from routescreen.counted import grouped
from routescreen.drives.course import drawn_points_m, true_length_m
from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.money.bill import bill_lines
from routescreen.money.measure import PlanTotals, afterwards
from routescreen.plan import vertex_chainage_m
from routescreen.schema import PARTS
from routescreen.screened import DriveData

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit import AuditReport
    from routescreen.plan import Drive, Plan
    from routescreen.sites import SiteConflict
    from routescreen.takeoff import TakeOff

ELEMENT_OF_LETTER = {"S": "section", "D": "drive", "H": "shaft", "C": "crossing"}
LINK = "link"


def drive_data(plan: Plan, audit: AuditReport, assumptions: Assumptions) -> tuple[DriveData, ...]:
    """Return what each drive's row needs: its bores, least cover, thrust and pull as the audit measured."""
    found = []
    for index, drive in enumerate(plan.drives):
        geometry = method_geometry(assumptions, drive.method)
        plan_m = float(
            np.hypot(*np.diff(plan.alignment_xy_m[[drive.from_vertex, drive.to_vertex]], axis=0)[0])
        )
        own = audit.checks[audit.checks["element_id"] == f"{plan.corridor_id}-D{index + 1:03d}"]
        cover = own[(own["check"] == "cover") & own["capacity"].notna()].sort_values("capacity")
        cover_m, at_m = _first(cover, "capacity", "governing_chainage_m")
        thrust_kN, thrust_frac = _first(own[own["check"] == "thrust"], "demand", "utilisation")
        pull_kN, pull_frac = _first(own[own["check"] == "pull_in"], "demand", "utilisation")
        found.append(
            DriveData(
                n_bores=geometry.n_bores,
                bore_diameter_m=geometry.bore_diameter_m,
                bore_spacing_m=geometry.spacing_m,
                cover_min_m=cover_m,
                cover_min_chainage_m=at_m,
                thrust_kN=thrust_kN,
                thrust_utilisation=thrust_frac,
                pull_in_kN=pull_kN,
                pull_in_utilisation=pull_frac,
                true_length_m=true_length_m(drive, plan_m) if _is_curved(drive) else np.nan,
                course_m=drawn_points_m(drive, plan_m) if _is_curved(drive) else (),
            )
        )
    return tuple(found)


def _is_curved(drive: Drive) -> bool:
    """Return whether a drive's bores aren't straight lines."""
    return drive.curve is not None or drive.arc_radius_m is not None


def _first(rows: pd.DataFrame, *columns: str) -> tuple[float, ...]:
    """Return values of the first row, NaN where there is none."""
    if len(rows) == 0:
        return (np.nan,) * len(columns)
    return tuple(float(rows[column].iloc[0]) for column in columns)


def crossing_rows(audit: AuditReport) -> pd.DataFrame:
    """Return the crossing schedule without what the results name themselves."""
    columns = [
        "feature_id",
        "kind",
        "name",
        "chainage_m",
        "width_m",
        "angle_deg",
        "treatment",
        "cover_m",
        "required_cover_m",
        "clearance_m",
        "passage",
        "confidence",
        "remark",
    ]
    return audit.crossings[columns].reset_index(drop=True)


def audit_checks(
    audit: AuditReport,
    conflicts: Sequence[SiteConflict] = (),
    proved: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Return the checks with their elements by position, and the sites' conflicts.

    `proved` holds the checks that were made once on the finished plan.
    """
    is_proved = proved is not None and len(proved) > 0
    table = pd.concat([audit.checks, proved], ignore_index=True) if is_proved else audit.checks
    table = table.drop(columns=["corridor_id", "check_id"])
    elements = [_element_of(str(name), audit.corridor_id) for name in table.pop("element_id")]
    table.insert(0, "element", [element for element, _ in elements])
    table.insert(1, "element_index", [index for _, index in elements])
    land = [_site_check(conflict) for conflict in conflicts]
    return pd.DataFrame([*table.to_dict("records"), *land], columns=list(table.columns))


def _site_check(conflict: SiteConflict) -> dict[str, object]:
    """Return the row of a compound or layout strip without a place clear of other land."""
    return {
        "element": conflict.element,
        "element_index": conflict.index,
        "check": "site_land",
        "demand": conflict.overlap_m2,
        "capacity": 0.0,
        "unit": "m2",
        "utilisation": MOST_UTILISATION,
        "margin": -conflict.overlap_m2,
        "status": "amber",
        "reason": conflict.text,
        "governing_chainage_m": np.nan,
        "confidence": "assumed",
        "source": "sites placed beside the plan; to be agreed or moved",
    }


def _element_of(name: str, corridor_id: str) -> tuple[str, int]:
    """Return what an element's name means: its kind and its position, -1 for the link."""
    tail = name.removeprefix(f"{corridor_id}-")
    if tail == name or tail[0] not in ELEMENT_OF_LETTER:
        return LINK, -1
    return ELEMENT_OF_LETTER[tail[0]], int(tail[1:]) - 1


def bill_table(
    plan: Plan,
    exact: TakeOff,
    audit: AuditReport,
    assumptions: Assumptions,
    shaft_quantities: NDArray[np.float64],
    *,
    section_quantities: NDArray[np.float64] | None = None,
    n_joint_bays: int | None = None,
) -> pd.DataFrame:
    """Return the bill: the take-off's lines, what the proofs of shafts ask for, then the whole link's.

    Only the take-off's lines steer the search. `shaft_quantities` (n_shafts, n_items) are measured
    afterwards; each shaft's lines stand in the section that holds it. So are `section_quantities`
    (n_sections, n_items). Running of the sites and the owner's share are not part of the bill: they are shown
    apart. `n_joint_bays` are those of one system as placed along the route; None counts them by the drums.
    """
    met = _rows_by_feature(audit)
    rows = [_crossing_row(met, exact, number) for number in range(len(exact.element))]
    elements = [f"{element}:{index}" for element, index in rows]
    searched = bill_lines(
        [str(section) for section in exact.section], elements, exact.quantities, assumptions
    )
    section_of = {
        int(exact.index[row]): str(exact.section[row])
        for row, element in enumerate(exact.element)
        if element == "shaft"
    }
    shafts = range(len(plan.shafts))
    proved = bill_lines(
        [section_of[index] for index in shafts],
        [f"shaft:{index}" for index in shafts],
        shaft_quantities,
        assumptions,
    )
    later = () if section_quantities is None else section_quantities
    registered = bill_lines(
        [str(index) for index in range(len(later))],
        [f"section:{index}" for index in range(len(later))],
        np.reshape(later, (len(later), shaft_quantities.shape[1])),
        assumptions,
    )
    totals = replace(_totals(plan, assumptions), n_joint_bays=n_joint_bays)
    link = afterwards(totals, assumptions)
    whole = bill_lines([None], [None], link[None], assumptions)
    table = pd.concat([searched, proved, registered, whole], ignore_index=True)
    table["section_index"] = [-1 if text is None else int(text) for text in table.pop("section_id")]
    pairs = [(LINK, "-1") if text is None else tuple(text.split(":")) for text in table.pop("element_id")]
    table["element"] = [element for element, _ in pairs]
    table["element_index"] = [int(index) for _, index in pairs]
    return table.drop(columns="amount_cents")


def cost_record(bill: pd.DataFrame, apart: pd.DataFrame, assumptions: Assumptions) -> dict[str, str]:
    """Return how the bill's total parts and ranges, and what stands beside it, for the run record [EUR]."""
    amounts = {"expected": "amount_eur", "low": "amount_low_eur", "high": "amount_high_eur"}
    record = {
        f"bill_{level}_eur": f"{(100.0 * bill[name]).round().sum() / 100.0:.2f}"
        for level, name in amounts.items()
    }
    report = assumptions.report
    tax = "with" if report.is_with_vat else "without"
    record["bill_prices"] = f"{report.currency} of {report.price_base_year}, {tax} value-added tax"
    for part in PARTS:
        of_part = bill.loc[bill["part"] == part, "amount_eur"]
        record[f"bill_{part}_eur"] = f"{(100.0 * of_part).round().sum() / 100.0:.2f}"
    for line in apart.itertuples():
        quantity, rate_eur = float(str(line.quantity)), float(str(line.rate_eur))
        how = f", {_bare(quantity)} {line.unit} at {_bare(rate_eur)} EUR"
        if line.unit == "%":
            how = f", {rate_eur:g} % of {grouped(100.0 * quantity, 2)} EUR"
        elif line.unit == "EUR":
            how = ""
        record[f"apart {line.item}"] = (
            f"{line.amount_eur:.2f} ({line.amount_low_eur:.2f} to {line.amount_high_eur:.2f}): "
            f"{line.description}{how}"
        )
    return record


def _bare(value: float) -> str:
    """Write a number with two decimals where it has any."""
    return grouped(value, 0 if value == round(value) else 2)


def _rows_by_feature(audit: AuditReport) -> dict[tuple[int, str], int]:
    """Return the first row of the schedule in which a section meets a feature, by both."""
    found: dict[tuple[int, str], int] = {}
    columns = zip(audit.crossings["section_index"], audit.crossings["feature_id"], strict=True)
    for row, (section, ids) in enumerate(columns):
        for feature in str(ids).split(";"):
            found.setdefault((int(section), feature), row)
    return found


def _crossing_row(met: dict[tuple[int, str], int], exact: TakeOff, number: int) -> tuple[str, int]:
    """Return the element of a row of the take-off; a crossing by its row in the schedule."""
    element, index, section = exact.element[number], int(exact.index[number]), int(exact.section[number])
    if element != "crossing":
        return element, index
    ids = exact.crossing_feature_ids[index].split(";")
    rows = [met[section, feature] for feature in ids if (section, feature) in met]
    return ("crossing", min(rows)) if rows else ("section", section)


def _totals(plan: Plan, assumptions: Assumptions) -> PlanTotals:
    """Measure what the items of the whole link depend on."""
    vertex_m = vertex_chainage_m(plan)
    climbs = sum(
        true_length_m(drive, length) - length
        for drive in plan.drives
        for length in [float(vertex_m[drive.to_vertex] - vertex_m[drive.from_vertex])]
    )
    counts = [sum(d.method == name for d in plan.drives) for name in enabled_methods(assumptions)]
    return PlanTotals(float(vertex_m[-1]), float(vertex_m[-1]) + climbs, tuple(counts))
