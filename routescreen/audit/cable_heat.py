"""Other sources of heat that the cables cross: how much less they may carry there.

Room: ``audit``. May use ``engineering``, ``drives``, numpy and the audit's own modules.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_dips import cables_in_dip
from routescreen.audit.cable_ratings import rate_places
from routescreen.audit.cable_spots import trench_at
from routescreen.audit.cable_told import SOURCE, UNKNOWN_HEAT, CablePart, reason_at, why_not
from routescreen.audit.report import Limit, Place
from routescreen.drives.cable_make import asked_A
from routescreen.engineering.crossing_heat import crossing_rise_K, equalising_length_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.audit.cable_places import CablePlaces
    from routescreen.audit.crossings import Meeting
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.trench_crossing_proofs import DippedCrossing

    Array = NDArray[np.float64]

LEAST_RADIUS_M = 0.02  # of a source of unknown size
HEAT_SOURCES = ("power_cable",)  # kinds that are warm although nobody says how much


def prove_other_heat(
    scene: Scene, ledger: Ledger, parts: Sequence[CablePart], dips: Sequence[DippedCrossing]
) -> list[CablePart]:
    """Compare the rating at each crossing of another source of heat with the link's current.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.
    parts : sequence of CablePart
        The cables along the route.
    dips : sequence of DippedCrossing

    Returns
    -------
    list of CablePart
        The crossings as they were rated with that heat, for the link's hottest place.
    """
    found = []
    for number, meeting in enumerate(scene.meetings):
        warm = [f for f in meeting.features if _W_per_m(scene, f) > 0.0]
        for feature in meeting.features:
            is_warm = feature in warm or scene.features.has_given_heat[feature]
            if scene.features.kind[feature] in HEAT_SOURCES and not is_warm:
                _tell_unknown(scene, ledger, number, feature)
        if warm:
            places = _at_crossing(scene, number, meeting, parts, dips)
            found += _prove(scene, ledger, number, warm, places)
    return found


def _W_per_m(scene: Scene, feature: int) -> float:
    """Return the heat that a feature gives off, that of its kind where nobody says, NaN for none [W/m]."""
    return float(scene.features.heat_W_per_m[feature])


def _place(scene: Scene, meeting: Meeting, feature: int) -> Place:
    at_m = meeting.middle_m
    place = Place(at_m, drive=meeting.drive, section=meeting.section, xy_m=scene.route.point_at(at_m))
    return scene.feature_place(feature, place)


def _tell_unknown(scene: Scene, ledger: Ledger, number: int, feature: int) -> None:
    limit = Limit("other_heat", "K", "input, layer crossings")
    reason = f"the heat of {scene.label(feature)} isn't known; where it crosses less can be carried"
    place = _place(scene, scene.meetings[number], feature)
    ledger.not_evaluated(scene.crossing_id(number), limit, place, reason)


def _at_crossing(
    scene: Scene, number: int, meeting: Meeting, parts: Sequence[CablePart], dips: Sequence[DippedCrossing]
) -> CablePlaces:
    """Lay out the cables where a meeting has its middle: in a drive, on a ramp, in a dip or in open cut."""
    at_m = meeting.middle_m
    for part in parts:
        places = part.places
        is_here = places.section == meeting.section and places.construction != "open_cut"
        if is_here and places.chainage_m.min() - 1e-6 <= at_m <= places.chainage_m.max() + 1e-6:
            return places.taken(np.array([int(np.argmin(np.abs(places.chainage_m - at_m)))]))
    here = [dip.dip for dip in dips if dip.crossing == number]
    if here:
        deepest = max(here, key=lambda dip: dip.below_ground_m)
        return cables_in_dip(scene, meeting.section, at_m, deepest).places
    return trench_at(scene, meeting.section, at_m)


def _prove(
    scene: Scene, ledger: Ledger, number: int, sources: list[int], places: CablePlaces
) -> list[CablePart]:
    a, meeting, features = scene.assumptions, scene.meetings[number], scene.features
    element, place = scene.crossing_id(number), _place(scene, meeting, sources[0])
    limit = Limit("cable_rating_crossing", "A", f"{SOURCE}; by analogy to IEC 60287-3-3")
    labels = " and ".join(scene.label(feature) for feature in sources)
    unplaced = [f for f in sources if math.isnan(float(features.service_depth_m[f]))]
    if unplaced:
        reason = f"how deep {scene.label(unplaced[0])} lies isn't known: its heat isn't in any rating"
        ledger.not_evaluated(element, limit, place, reason)
        return []
    rise_K = np.sum([_rise_K(scene, meeting, feature, places) for feature in sources], axis=0)
    column_K = np.sum([_column_rise_K(scene, feature, places) for feature in sources], axis=0)
    without = rate_places(a, places)
    heated = rate_places(a, places, other_rise_K=rise_K, other_column_K=column_K)
    if np.isnan(heated.rating_A[0]):
        why = why_not(scene) if np.isnan(without.rating_A[0]) else f"{labels} lies where the cables do"
        ledger.not_evaluated(element, limit, place, why)
        return []
    heat = " and ".join(f"{_W_per_m(scene, feature):g} W/m" for feature in sources)
    reason = (
        f"{labels} gives off {heat} and warms the cables by up to {float(rise_K.max()):.1f} K where it "
        f"crosses: {float(heated.rating_A[0]):.0f} A with it, {float(without.rating_A[0]):.0f} A without; "
        f"with it {reason_at(scene, places, heated, 0)}"
    )
    part = CablePart(places, heated, np.arange(1), None, np.zeros((1, 0)))
    assumed = [scene.label(feature) for feature in sources if not features.has_given_heat[feature]]
    if not assumed:
        ledger.finding(element, limit, asked_A(a), float(heated.rating_A[0]), place, reason)
        return [part]
    reason += (
        f"; how much {' and '.join(assumed)} gives off isn't known: it counts as its kind does, assumed; "
        "ask its owner (column heat_W_per_m)"
    )
    ledger.amber(element, limit, asked_A(a), float(heated.rating_A[0]), place, reason)
    return [replace(part, doubt=UNKNOWN_HEAT)]


def _rise_K(scene: Scene, meeting: Meeting, feature: int, places: CablePlaces) -> Array:
    """Return how much one source warms each cable in moist ground, shape (1, k) [K]."""
    angle_deg = float(meeting.angle.angle_deg)
    return crossing_rise_K(
        places.depth_m,
        source_depth_m=_middle_m(scene, feature),
        heat_W_per_m=_W_per_m(scene, feature),
        rho_K_m_per_W=_worse_rho(places),
        angle_deg=0.0 if math.isnan(angle_deg) else angle_deg,
        equalising_m=float(
            equalising_length_m(
                scene.assumptions.cable.resistance_20degC_ohm_per_m, places.surround.inside_K_m_per_W
            )
        ),
    )


def _middle_m(scene: Scene, feature: int) -> float:
    """Return the depth of a source's axis [m]."""
    features = scene.features
    return float(features.service_depth_m[feature] + features.service_diameter_m[feature] / 2.0)


def _worse_rho(places: CablePlaces) -> Array:
    """Return the larger resistivity of the ground above the groundwater and below it, as if everywhere."""
    over = np.where(places.column_m > 0.0, places.column_rho_K_m_per_W, 0.0)
    return np.asarray(np.maximum(places.rho_K_m_per_W, over))


def _column_rise_K(scene: Scene, feature: int, places: CablePlaces) -> Array:
    """Return how much a source warms the ground just above the lowest groundwater, shape (n, k) [K].

    Straight above or below it, as if it ran alongside: on the safe side. 0 where there is none above cables.
    """
    source_m, column_m = _middle_m(scene, feature), places.column_m
    near_m = np.maximum(np.abs(column_m - source_m), scene.features.service_diameter_m[feature] / 2.0)
    near_m = np.maximum(near_m, LEAST_RADIUS_M)
    log = np.log(np.maximum(column_m + source_m, near_m) / near_m)
    rise_K = _worse_rho(places) * _W_per_m(scene, feature) / (2.0 * math.pi) * log
    return np.where(column_m > 0.0, rise_K, 0.0)
