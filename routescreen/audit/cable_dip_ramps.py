"""What the cables may carry on the ramps of dips, from the trench's own depth down to that of the dip.

Room: ``audit``. May use ``drives``, numpy and the audit's own modules.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import ground_at, samples_at
from routescreen.audit.cable_ratings import rate_places
from routescreen.audit.cable_spots import placed
from routescreen.audit.cable_told import SOURCE, CablePart, place_of, reason_at, why_not
from routescreen.audit.dip_rules import crossing_dip
from routescreen.audit.report import Limit
from routescreen.audit.trench_dips import section_dips
from routescreen.drives.cable_make import asked_A
from routescreen.drives.dip import Dip
from routescreen.drives.dip_ramp import RAMP_PIECES, dip_ramp
from routescreen.drives.open_cut import trench_section
from routescreen.drives.ramp import trench_axis_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.trench_dips import Dip as LaidDip

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Lowest:
    """Where the cables on the ramps of one dip may carry least."""

    part: CablePart
    at: int

    @property
    def rating_A(self) -> float:
        return float(self.part.rating.rating_A[self.at])


def prove_dip_ramps_rating(scene: Scene, ledger: Ledger) -> list[CablePart]:
    """Compare the lowest rating on the ramps of each dip of the open cut with the link's current.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.

    Returns
    -------
    list of CablePart
        The ramps as they were rated, for the link's hottest place.
    """
    a, parts = scene.assumptions, []
    for section in range(scene.route.n_sections):
        is_driven = scene.route.is_drive[scene.route.pieces_of_section(section)[0]]
        dips = [] if is_driven else section_dips(scene, section)
        if not dips:
            continue
        dip_of, at_m, built = _laid(scene, section, dips)
        lowest: dict[int, _Lowest] = {}
        for there, rows in _alike(built):
            part = _rated(scene, section, at_m[rows], there)
            parts.append(part)
            for at, number in enumerate(dip_of[rows].tolist()):
                here = _Lowest(part, at)
                if number not in lowest or not lowest[number].rating_A <= here.rating_A:
                    lowest[number] = here
        for number, dip in enumerate(dips):
            _enter(scene, ledger, dip, lowest[number], asked_A(a))
    return parts


def _laid(
    scene: Scene, section: int, dips: list[LaidDip]
) -> tuple[NDArray[np.int64], Array, list[Assumptions]]:
    """Return of each part of each ramp whose it is, where it lies [m], and how the trench is built there."""
    shares = (np.arange(RAMP_PIECES) + 0.5) / RAMP_PIECES
    dip_of, built = [], []
    down_m = [dip.from_m - dip.run_m * (1.0 - shares) for dip in dips]
    up_m = [dip.to_m + dip.run_m * (1.0 - shares) for dip in dips]
    at_m = np.concatenate([each for pair in zip(down_m, up_m, strict=True) for each in pair])
    at_m = np.clip(at_m, *scene.route.bounds_of_section(section))
    samples = samples_at(scene, at_m)
    for k in range(len(at_m)):
        number, step = k // (2 * RAMP_PIECES), k % RAMP_PIECES
        ground = (
            int(samples.soil_class[k]),
            float(samples.groundwater_depth_m[k]),
            float(samples.rock_depth_m[k]),
            int(samples.rock_soil_class[k]),
        )
        dip = _asked(scene, dips[number])
        built.append(dip_ramp(scene.assumptions, dip, ground).built(scene.assumptions)[step])
        dip_of.append(number)
    return np.array(dip_of), at_m, built


def _asked(scene: Scene, laid: LaidDip) -> Dip:
    """Return the dip at the foot of its ramps: as deep as it is laid, else as it is priced."""
    top_m = scene.assumptions.trench.cover_to_pipe_m + laid.below_m
    priced = [crossing_dip(scene, scene.meetings[index].crossing) for index in laid.crossings]
    dips = [each.dip for each in priced if each is not None]
    if not dips:
        return Dip(top_m, top_m, is_wet=False)
    deepest = max(dips, key=lambda dip: dip.below_ground_m)
    return replace(deepest, below_ground_m=top_m)


def _alike(built: list[Assumptions]) -> list[tuple[Assumptions, NDArray[np.int64]]]:
    """Return the ways in which parts are built, with the parts that are built so."""
    rows = defaultdict(list)
    for k, there in enumerate(built):
        rows[id(there)].append(k)
    return [(built[of[0]], np.array(of)) for of in rows.values()]


def _rated(scene: Scene, section: int, at_m: Array, there: Assumptions) -> CablePart:
    """Rate the cables in parts of ramps that are built alike."""
    axis_m = np.full(len(at_m), trench_axis_m(there))
    heat, soil = ground_at(scene, at_m, axis_m, there.pipe.trench_outer_diameter_m / 2.0)
    cut = trench_section(samples_at(scene, at_m), there)
    places = placed(section, at_m, (heat, soil), cut, there)
    return CablePart(places, rate_places(there, places), np.arange(len(at_m)), None, np.zeros((len(at_m), 0)))


def _enter(scene: Scene, ledger: Ledger, dip: LaidDip, lowest: _Lowest, current_A: float) -> None:
    """Enter the place on both ramps where the cables may carry least."""
    limit, element = Limit("cable_rating_dip_ramp", "A", SOURCE), scene.crossing_id(dip.crossings[0])
    place = place_of(scene, lowest.part.places, lowest.at)
    if np.isnan(lowest.rating_A):
        ledger.not_evaluated(element, limit, place, why_not(scene))
        return
    reason = (
        "where least is borne on the ramps of the dip: "
        f"{reason_at(scene, lowest.part.places, lowest.part.rating, lowest.at)}"
    )
    if lowest.rating_A < current_A:
        reason += ": go below by a drive, or lay it elsewhere"
    ledger.finding(element, limit, current_A, lowest.rating_A, place, reason)
