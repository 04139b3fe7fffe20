"""Small corridors for the tests of refinement: one river, or two, off the frame's lattice."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.refine import Judge, Standing
from routescreen.screen import Solved, prepare, solve_and_audit
from tests.audit.place import crossing, crossings, place

if TYPE_CHECKING:
    import shapely

    from routescreen.assumptions import Assumptions
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
RIVER_M = (604.0, 636.0)  # banks along the corridor
SECOND_M = (1104.0, 1126.0)


def river(
    banks_m: tuple[float, float] = RIVER_M, name: str = "river"
) -> tuple[dict[str, object], shapely.Polygon]:
    """Return a river from side to side of the corridor."""
    return crossing("river", box(banks_m[0], -300.0, banks_m[1], 300.0), feature_id=name)


def corridor(*features: tuple[dict[str, object], shapely.Geometry]) -> CorridorInput:
    """Return flat cropland, 1 500 m by 80 m, with these features only."""
    return replace(place(), outline=box(0.0, -40.0, 1500.0, 40.0), crossings=crossings(*features))


@dataclass(frozen=True)
class Case:
    """A corridor and its plan before refinement."""

    corridor: CorridorInput
    solved: Solved

    @property
    def standing(self) -> Standing:
        """What refinement starts from."""
        return Standing(self.solved.stretches, self.solved.plan, self.solved.audit)


def solved(inp: CorridorInput, assumptions: Assumptions = DEFAULTS) -> Case:
    """Return a corridor with its plan on the frame."""
    problem, _ = prepare(inp, assumptions)
    return Case(inp, solve_and_audit(problem, inp))


__all__ = ["Case", "Judge", "corridor", "river", "solved"]
