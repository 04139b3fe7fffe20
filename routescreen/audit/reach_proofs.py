"""From where a bore can be helped and tracked: stretches without a rescue shaft, and without tracking.

Room: ``audit``. May use ``engineering``, ``money``, numpy, shapely and the audit's own modules.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from routescreen.audit.bill import drive_quantities
from routescreen.audit.covers import LEAST_AREA_M2, unmapped_water
from routescreen.audit.report import Limit, Place, worst_confidence
from routescreen.audit.scene import words
from routescreen.counted import grouped
from routescreen.engineering.obstruction import is_enterable
from routescreen.money import measure

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Span = tuple[float, float]

MOST_NAMED = 4
ENTERABLE_M = 1.2  # DN 1200 (common practice, no source)
SOURCE = "input, layer crossings; assumptions, [methods], [treatments]; common practice, no source"
TRACKING_SOURCE = (
    "input, layer crossings; assumptions, [methods], [checks.tracking]; common practice, no source"
)


def prove_reach(scene: Scene, ledger: Ledger, index: int) -> None:
    """Compare the longest stretches that no rescue shaft reaches, and that nobody can track from above.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    index : int
        Of the drive.
    """
    _prove_unreachable(scene, ledger, index)
    _prove_tracking(scene, ledger, index)


def blocked_spans_m(scene: Scene, index: int, is_blocked: Callable[[int], bool]) -> list[Span]:
    """Return the stretches of a drive under features of some sort, and under water that no feature covers.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.
    is_blocked : callable
        Whether a feature, by its index, is of the sort.

    Returns
    -------
    list of (float, float)
        Chainages, in order; they may overlap [m].
    """
    spans = [
        (meeting.from_m, meeting.to_m)
        for meeting in scene.meetings
        if meeting.drive == index and any(is_blocked(feature) for feature in meeting.features)
    ]
    return sorted([*spans, *_open_water_spans_m(scene, index)])


def longest_span_m(spans_m: list[Span], least_gap_m: float) -> Span:
    """Return the longest stretch; a gap shorter than `least_gap_m` doesn't part two of them.

    Parameters
    ----------
    spans_m : list of (float, float)
        In order of where they begin [m].
    least_gap_m : float
        Length that a gap must have to be of use [m].

    Returns
    -------
    (float, float)
        (0, 0) of none [m].

    Examples
    --------
    >>> longest_span_m([(0.0, 10.0), (13.0, 20.0), (30.0, 45.0)], 5.0)
    (0.0, 20.0)
    >>> longest_span_m([(0.0, 10.0), (13.0, 20.0), (30.0, 45.0)], 3.0)
    (30.0, 45.0)
    """
    joined = joined_spans_m(spans_m, least_gap_m)
    return max(joined, key=lambda span: span[1] - span[0], default=(0.0, 0.0))


def joined_spans_m(spans_m: list[Span], least_gap_m: float) -> list[Span]:
    """Return the stretches with those joined that overlap or have too short a gap; see `longest_span_m`."""
    joined: list[Span] = []
    for from_m, to_m in spans_m:
        if joined and (from_m <= joined[-1][1] or from_m - joined[-1][1] < least_gap_m):
            joined[-1] = (joined[-1][0], max(joined[-1][1], to_m))
        else:
            joined.append((from_m, to_m))
    return joined


def _open_water_spans_m(scene: Scene, index: int) -> list[Span]:
    line = scene.lines[index]
    water = unmapped_water(line, scene.ground, scene.features, list(scene.assumptions.cover))
    if shapely.area(water) <= LEAST_AREA_M2:
        return []
    spans = []
    for bore in line.bore_lines():
        met = shapely.get_parts(shapely.intersection(bore, water))
        for part in met[~shapely.is_empty(met)]:  # not every bore need meet it
            along_m = [
                line.start_chainage_m + float(bore.project(shapely.Point(xy_m)))
                for xy_m in shapely.get_coordinates(part)
            ]
            spans.append((min(along_m), max(along_m)))
    return spans


def _prove_unreachable(scene: Scene, ledger: Ledger, index: int) -> None:
    line, drive = scene.lines[index], scene.plan.drives[index]
    way = scene.assumptions.methods[drive.method]
    limits_m = (way.unreachable_amber_m, way.unreachable_fail_m)
    if bool(is_enterable(2.0 * line.radius_m, ENTERABLE_M)):
        return
    spans = blocked_spans_m(scene, index, lambda feature: not bool(scene.features.shaft_ok[feature]))
    span = longest_span_m(spans, way.reception_length_m)
    where = ""
    if span[1] > span[0]:
        where = f" from chainage {span[0]:.0f} to {span[1]:.0f} m{_under(scene, index, span)}"
    what = (
        f"the longest stretch under what no rescue shaft may stand in is {span[1] - span[0]:.0f} m{where}; "
        "it is counted from outline to outline, the clearances beside them come on top"
    )
    if way.unreachable_amber_m is not None and span[1] - span[0] > way.unreachable_amber_m:
        eur = float(drive_quantities(scene, index) @ measure.rates_eur(scene.assumptions))
        what += (
            f"; a bore that sticks there is given up, about {grouped(eur / len(line.offsets_m))} EUR with "
            "its pipe: item PR01 pays for rescue shafts and not for that"
        )
    if way.unreachable_fail_m is not None and span[1] - span[0] > way.unreachable_fail_m:
        what += (
            "; agree beforehand on a place for a rescue shaft that parts the stretch (shaft_allowed of what "
            "is crossed), take a bore that can be entered or another way, or bear the loss knowingly"
        )
    _enter(scene, ledger, index, Limit("unreachable", "m", SOURCE, _confidence(spans)), span, limits_m, what)


def _under(scene: Scene, index: int, span_m: Span) -> str:
    """Name what lies over a stretch in which no shaft may stand, the first few."""
    names = dict.fromkeys(
        scene.label(feature)
        for meeting in scene.meetings
        if meeting.drive == index and meeting.from_m < span_m[1] and meeting.to_m > span_m[0]
        for feature in meeting.features
        if not bool(scene.features.shaft_ok[feature])
    )
    if not names:
        return ""
    told = list(names)[:MOST_NAMED]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f" under {', '.join(told)}{more}"


def _prove_tracking(scene: Scene, ledger: Ledger, index: int) -> None:
    way = scene.assumptions.methods[scene.plan.drives[index].method]
    limits_m = (way.tracking_gap_amber_m, way.tracking_gap_fail_m)
    kinds = scene.assumptions.checks.tracking.no_walk_kinds
    features = scene.features

    def is_barred(feature: int) -> bool:
        return features.kind[feature] in kinds or features.cover_reference[feature] == "bed"

    spans = blocked_spans_m(scene, index, is_barred)
    limit = Limit("tracking_gap", "m", TRACKING_SOURCE, _confidence(spans))
    what = (
        f"longest stretch under water, {', '.join(map(words, kinds))}: nobody walks there to track the bore"
    )
    _enter(scene, ledger, index, limit, longest_span_m(spans, 0.0), limits_m, what)


def _confidence(spans: list[Span]) -> str:
    """Return how well a stretch is known: the outlines are a record; that nothing lies above is assumed."""
    return worst_confidence("record", "record" if spans else "assumed")


def _enter(
    scene: Scene,
    ledger: Ledger,
    index: int,
    limit: Limit,
    span_m: Span,
    limits_m: tuple[float | None, float | None],
    what: str,
) -> None:
    """Enter one length against its second and its last limit; no row for a method that has neither."""
    amber_m, fail_m = limits_m
    most_m = fail_m if fail_m is not None else amber_m
    if most_m is None:
        return
    length_m, element = span_m[1] - span_m[0], scene.drive_id(index)
    where_m = (span_m[0] + span_m[1]) / 2.0 if length_m > 0.0 else scene.lines[index].start_chainage_m
    place = Place(where_m, drive=index)
    title = scene.method_title(scene.plan.drives[index])
    if amber_m is not None and length_m > amber_m and (fail_m is None or length_m <= fail_m):
        reason = f"{what}; {title} asks for a plan of its own beyond {amber_m:g} m"
        ledger.amber(element, limit, length_m, amber_m, place, reason)
        return
    ledger.finding(element, limit, length_m, most_m, place, f"{what}; {title} takes {most_m:g} m at most")
