"""Small places and plans of open cut for the tests of this room."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from shapely import LineString, Point, box

from routescreen.corridor.burn import BurnInput
from routescreen.corridor.frame import build_frame
from routescreen.corridor.ground import GroundSampler, ground_on_frame
from routescreen.corridor.treatment import resolve_crossings
from routescreen.corridor.trench_judge import TrenchJudge
from routescreen.polish.prices import PiecePrices
from tests.audit.place import crossings, layer, place
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

# Clays too: what bands and pieces are held to here are widths, not what heat makes of them.
ASSUMPTIONS = load_assumptions(
    "[soil.clay_soft]\nresistivity_moist_Km_per_W = 1.1\n"
    "[soil.clay_stiff]\nresistivity_moist_Km_per_W = 1.0\n"
)
STRIP_M = ASSUMPTIONS.working_strip_m


def open_field(*features: tuple[dict[str, object], object], length_m: float = 600.0) -> CorridorInput:
    """Return level cropland along the x axis, 400 m wide, with some features only."""
    return replace(
        place(),
        outline=box(0.0, -200.0, length_m, 200.0),
        axis=LineString([(0.0, 0.0), (length_m, 0.0)]),
        start=Point(0.0, 0.0),
        end=Point(length_m, 0.0),
        crossings=crossings(*features) if features else layer("crossings", [], []),
    )


def judge_and_prices(
    inp: CorridorInput, *, margin_m: float = 0.0, cell_m: float = 20.0
) -> tuple[TrenchJudge, PiecePrices]:
    """Return what judges and what prices pieces of open cut in a place."""
    frame = build_frame(inp, cell_m=cell_m)
    sampler = GroundSampler(inp, ASSUMPTIONS)
    found = resolve_crossings(inp.crossings, ASSUMPTIONS)
    what = BurnInput(frame, inp, found, sampler, ground_on_frame(frame, sampler), ASSUMPTIONS)
    return TrenchJudge(what, margin_m=margin_m), PiecePrices(sampler, found, ASSUMPTIONS)


def piece(*xy_m: float) -> np.ndarray:
    """Return one piece as an array of shape (1, 4)."""
    return np.array([xy_m], dtype=float)
