"""Register of agreements of a finished plan: who must agree to what, how long it takes.

Room: ``audit``. One row a crossing, and one for each feature that a drive's strings are laid out across.
Leads, monitoring and seasons are those of the treatment of the kind.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.audit.covers import cover_under
from routescreen.audit.dip_rules import passage
from routescreen.audit.report import Limit, Place
from routescreen.audit.scene import cover_rules
from routescreen.audit.strip_constraints import laid_across, what_it_takes
from routescreen.counted import counted
from routescreen.engineering.agreements import NOT_KNOWN, KindTerms, agreements_register
from routescreen.money.measure import bill_items

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions, Treatment
    from routescreen.audit.crossings import Meeting
    from routescreen.audit.land_use import Sites
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

RAILS = ("railway", "tram")
ROADS = ("motorway", "main_road", "road")
MOST_NAMED = 5
BELOW = {
    "surface": "below the ground",
    "formation": "below its formation",
    "bed": "below its scoured bed",
    "base": "below its base",
    "service": "clear of it, outside to outside",
}


def list_agreements(scene: Scene, ledger: Ledger, sites: Sites) -> pd.DataFrame:
    """Fill the register, and say whose owner is missing.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.
    sites : Sites
        Where layout strips lie.

    Returns
    -------
    DataFrame
        The columns of the layer ``agreements``, with `crossing_index`, `section_index` and `drive_index`.
    """
    crossings = _of_crossings(scene)
    strings = _of_strings(scene, sites)
    _prove_owners(scene, ledger, crossings["owner"].tolist())
    return pd.concat([crossings, strings], ignore_index=True) if len(strings) else crossings


def _of_crossings(scene: Scene) -> pd.DataFrame:
    """Return the rows of the crossings, in their order."""
    a = scene.assumptions
    kinds = [str(scene.features.kind[meeting.features[0]]) for meeting in scene.meetings]
    owners = [owner_of(scene, meeting) for meeting in scene.meetings]
    terms = {
        f"{kind}/{way}": _terms(a, a.treatments[kind], is_driven=way == "trenchless")
        for kind in set(kinds) & set(a.treatments)
        for way in ("open_cut", "trenchless")
    }
    ways = ["open_cut" if meeting.drive < 0 else "trenchless" for meeting in scene.meetings]
    keys = [f"{kind}/{way}" for kind, way in zip(kinds, ways, strict=True)]
    names = [scene.crossing_id(index) for index in range(len(scene.meetings))]
    register = agreements_register(names, owners, keys, terms)
    expected = [
        a.treatments[kind].lead_months.expected if kind in a.treatments else math.nan for kind in kinds
    ]
    return pd.DataFrame(
        {
            "crossing_index": np.arange(len(kinds)),
            "drive_index": np.full(len(kinds), -1),
            "feature_id": [_ids(scene, meeting) for meeting in scene.meetings],
            "kind": kinds,
            "name": [_names(scene, meeting) for meeting in scene.meetings],
            "owner": register.owner,
            "chainage_m": [meeting.middle_m for meeting in scene.meetings],
            "section_index": [meeting.section for meeting in scene.meetings],
            "treatment": ways,
            "lead_low_months": register.lead_low_months,
            "lead_expected_months": expected,
            "lead_high_months": register.lead_high_months,
            "monitoring": [text or None for text in register.monitoring],
            "to_agree": [_to_agree(scene, meeting) for meeting in scene.meetings],
        }
    )


def _of_strings(scene: Scene, sites: Sites) -> pd.DataFrame:
    """Return the rows of what the strings of drives are laid out across, beside the alignment."""
    rows = []
    for laid in laid_across(scene, sites):
        feature = laid.feature
        kind = str(scene.features.kind[feature])
        owner = scene.inp.crossings["owner"].iloc[feature]
        lead = (
            scene.assumptions.treatments[kind].lead_months if kind in scene.assumptions.treatments else None
        )
        rows.append(
            {
                "crossing_index": -1,
                "drive_index": laid.drive,
                "feature_id": str(scene.features.feature_id[feature]),
                "kind": kind,
                "name": scene.features.name[feature] or None,
                "owner": owner.strip() if isinstance(owner, str) and owner.strip() else NOT_KNOWN,
                "chainage_m": laid.at_m,
                "section_index": laid.section,
                "treatment": "strings",
                "lead_low_months": math.nan if lead is None else lead.low,
                "lead_expected_months": math.nan if lead is None else lead.expected,
                "lead_high_months": math.nan if lead is None else lead.high,
                "monitoring": None,
                "to_agree": f"pipe strings of {scene.drive_id(laid.drive)} laid out on {laid.area_m2:.0f} m2 "
                f"of it: {what_it_takes(scene, feature)}",
            }
        )
    return pd.DataFrame(rows)


def owner_of(scene: Scene, meeting: Meeting) -> str:
    """Return the owners of a crossing as the input gives them, empty where it gives none for a member."""
    given = [scene.inp.crossings["owner"].iloc[f] for f in meeting.features]
    known = [owner.strip() for owner in given if isinstance(owner, str) and owner.strip()]
    named = "; ".join(dict.fromkeys(known))
    return f"{named}; {NOT_KNOWN}" if named and len(known) < len(given) else named


def _ids(scene: Scene, meeting: Meeting) -> str:
    return ";".join(str(scene.features.feature_id[f]) for f in meeting.features)


def _names(scene: Scene, meeting: Meeting) -> str | None:
    names = dict.fromkeys(scene.features.name[f] for f in meeting.features if scene.features.name[f])
    return "; ".join(names) or None


def _terms(a: Assumptions, treatment: Treatment, *, is_driven: bool) -> KindTerms:
    """Return leads and monitoring; what is monitored are the bill's items for a drive underneath."""
    items = bill_items(a)
    codes = [code for code in treatment.drive_items if code.startswith("MN")] if is_driven else []
    watched = "; ".join(items.items[items.index[code]].description for code in codes)
    return KindTerms(treatment.lead_months.low, treatment.lead_months.high, watched)


def _to_agree(scene: Scene, meeting: Meeting) -> str:
    """Say what the owner must agree to."""
    a, features = scene.assumptions, scene.features
    kind = str(features.kind[meeting.features[0]])
    treatment = a.treatments.get(kind)
    items = bill_items(a)
    told = [_way(scene, meeting)]
    if treatment is not None:
        # "Agreement and possession: railway": what is bought, without for whom
        titles = [items.items[items.index[code]].description for code in treatment.agreement_items]
        told += [text.partition(":")[0].lower() for text in titles]
    if any(features.needs_consent[f] for f in meeting.features):
        told.append("allowed by the owner's consent only")
    if meeting.drive >= 0 and kind in RAILS:
        limits = a.checks.settlement
        told.append(f"settlement: alarm at {limits.rail_alarm_mm:g} mm, stop at {limits.rail_stop_mm:g} mm")
    elif meeting.drive >= 0 and kind in ROADS:
        told.append(f"settlement of at most {a.checks.settlement.road_limit_mm:g} mm")
    unsure_m = max(float(features.record_uncertainty_m[f]) for f in meeting.features)
    if unsure_m > 0.0:
        told.append(f"exposing it before work: known by record, +-{unsure_m:g} m")
    if treatment is not None and meeting.drive < 0:
        told += [
            f"{a.programme.seasons[s].title} from {a.programme.seasons[s].from_month_day} to "
            f"{a.programme.seasons[s].to_month_day}"
            for s in treatment.seasons
        ]
    return "; ".join(told)


def _in_open_cut(scene: Scene, meeting: Meeting) -> str:
    """Say how open cut passes: over or under a service, else through."""
    is_service = any(scene.features.cover_reference[f] == "service" for f in meeting.features)
    how, width = passage(scene, meeting) if is_service else None, f"{meeting.width_m:.1f} m"
    if how == "over":
        return f"open cut of {width} over it"
    if how == "under":
        return f"open cut of {width} under it"
    return f"open cut of {width} under it in a dip" if how == "dip" else f"open cut of {width} through it"


def _way(scene: Scene, meeting: Meeting) -> str:
    angle = "" if math.isnan(meeting.angle.angle_deg) else f", at {meeting.angle.angle_deg:.0f} deg"
    if meeting.drive < 0:
        return _in_open_cut(scene, meeting) + angle
    drive, line = scene.plan.drives[meeting.drive], scene.lines[meeting.drive]
    rules = cover_rules(scene, drive)
    found = [cover_under(line, scene.ground, scene.features, f, rules) for f in meeting.features]
    known = [d for d in found if d is not None and not math.isnan(d.actual_m)]
    bores = f"{len(line.offsets_m)} bores" if len(line.offsets_m) > 1 else "a bore"
    told = f"{bores} of {2.0 * line.radius_m:g} m under {meeting.width_m:.1f} m of it{angle}"
    if known:
        least = min(known, key=lambda d: d.actual_m - d.required_m)
        told += f", {least.actual_m:.2f} m {_below(scene, meeting)} ({least.required_m:.2f} m asked for)"
    return f"{told}, by {scene.method_title(drive)}"


def _below(scene: Scene, meeting: Meeting) -> str:
    """Say what the cover under a crossing counts from."""
    return BELOW.get(str(scene.features.cover_reference[meeting.features[0]]), "below it")


def _prove_owners(scene: Scene, ledger: Ledger, owners: list[str]) -> None:
    """Enter whether each crossing has an owner who can be asked."""
    limit = Limit("owners_known", "crossings", "input, layer crossings, column owner", "record")
    missing = [i for i, owner in enumerate(owners) if not owner or owner.endswith(NOT_KNOWN)]
    if not missing:
        reason = (
            "the only crossing has an owner"
            if len(owners) == 1
            else f"each of the {len(owners)} crossings has an owner"
        )
        ledger.finding(scene.plan.corridor_id, limit, 0.0, 0.0, Place(), reason)
        return
    labels = [scene.label(scene.meetings[i].features[0]) for i in missing[:MOST_NAMED]]
    more = f" and {len(missing) - MOST_NAMED} more" if len(missing) > MOST_NAMED else ""
    place = Place(scene.meetings[missing[0]].middle_m)
    n_all = counted(len(owners), "crossing")
    reason = f"the owner is missing of {len(missing)} of {n_all}: {', '.join(labels)}{more}"
    ledger.not_evaluated(scene.plan.corridor_id, limit, place, reason)
