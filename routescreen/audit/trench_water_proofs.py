"""Water in open cut at its highest: how far lowering it reaches, and what more than is priced it asks for.

Room: ``audit``. The formulae are those of ``engineering.dewatering``, the quantities those of ``money``. The
bill prices the groundwater as given, lowered to the bottom; here it stands at its 100-year level and is
lowered to below the bottom, as a trench that is dug in wet years needs.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.neighbour_proofs import Neighbours, neighbours
from routescreen.audit.report import Limit, Place
from routescreen.audit.shaft_site import soil_name, soil_of
from routescreen.audit.trench_checks import trench_cells
from routescreen.counted import grouped
from routescreen.engineering.dewatering import reach_m
from routescreen.money import measure

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.project import GroundSamples

    Array = NDArray[np.float64]

SOURCE = "assumptions, [checks.shaft], [trench], [soil], [groundwater]; Sichardt, from memory"
ITEMS = ("TR30", "TR31", "TR40", "TR41")  # bracing, and keeping dry by sumps and well points
MOST_RUN_M = 500.0  # what lies beside a longer stretch is looked up in parts
NO_MORE = 1e-9
AT_ONCE = 4096  # cells priced at once: bounds the memory of all items


@dataclass(frozen=True, slots=True)
class _Water:
    """Water over the bottom of one open cut, at cells along it; arrays of shape (n,).

    `given_m` and `highest_m` are the heights above the bottom of the water as given and of the highest, 0
    where it doesn't reach it; `lowered_m` from the highest water to below the bottom, likewise [m]; `soil`
    the more permeable of those that are cut.
    """

    at_m: Array
    step_m: Array
    xy_m: Array
    samples: GroundSamples
    is_narrow: NDArray[np.bool_]
    given_m: Array
    highest_m: Array
    lowered_m: Array
    soil: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Reach:
    """One stretch of trench whose lowered water reaches the same distance [m], and what lies there."""

    first: int
    last: int
    reach_m: float
    near: Neighbours

    @property
    def is_met(self) -> bool:
        """Whether something that is listed lies within, or what lies there wasn't read."""
        return self.near.nearest_m < self.reach_m or self.near.is_beyond_input


def prove_trench_water(scene: Scene, ledger: Ledger) -> None:
    """Prove the water of every open cut.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.
    """
    for section in range(scene.route.n_sections):
        if not scene.route.is_drive[scene.route.pieces_of_section(section)[0]]:
            water = _water(scene, section)
            _prove_reach(scene, ledger, section, water)
            _prove_priced(scene, ledger, section, water)


def _water(scene: Scene, section: int) -> _Water:
    a = scene.assumptions
    xy_m, step_m, piece = trench_cells(scene, section)
    samples = scene.ground.samples(xy_m)
    above_m = a.trench_depth_m - samples.groundwater_depth_m
    highest_m = np.maximum(above_m + a.groundwater.highest_rise_m, 0.0)
    k = np.array([soil.permeability_m_per_s for soil in a.soil.values()])
    above, rock = samples.soil_class.astype(np.int64), samples.rock_soil_class.astype(np.int64)
    is_rock_more = (samples.rock_depth_m < a.trench_depth_m) & (k[rock] > k[above])
    return _Water(
        at_m=scene.route.chainage_along(piece, xy_m),
        step_m=step_m,
        xy_m=xy_m,
        samples=samples,
        is_narrow=scene.route.is_narrow[piece],
        given_m=np.maximum(above_m, 0.0),
        highest_m=highest_m,
        lowered_m=np.where(highest_m > 0.0, highest_m + a.checks.shaft.lowered_below_base_m, 0.0),
        soil=np.where(is_rock_more, rock, above),
    )


def _prove_reach(scene: Scene, ledger: Ledger, section: int, water: _Water) -> None:
    """Enter the stretch of an open cut whose lowered water comes nearest to what it harms."""
    limit, element = Limit("trench_dewatering_reach", "m", SOURCE), scene.section_id(section)
    reaches = list(_reaches(scene, water))
    if not reaches:
        reason = "the 100-year groundwater does not reach the bottom of the trench"
        ledger.finding(element, limit, 0.0, 0.0, _place(section, water, 0), reason)
        return
    worst = max(reaches, key=lambda r: (r.near.is_beyond_input, r.reach_m - r.near.nearest_m))
    place = _place(section, water, (worst.first + worst.last) // 2)
    met_m = sum(float(water.step_m[r.first : r.last + 1].sum()) for r in reaches if r.is_met)
    tail = "; the reach goes beyond what was read of the input" if worst.near.is_beyond_input else ""
    tail += f"; something lies within reach of {met_m:.0f} m of this open cut" if met_m > 0.0 else ""
    cells = slice(worst.first, worst.last + 1)
    from_m, to_m = scene.route.span_of_cells(section, water.at_m[cells], water.step_m[cells])
    reason = (
        f"from the 100-year groundwater by {water.lowered_m[worst.first]:.2f} m to "
        f"{scene.assumptions.checks.shaft.lowered_below_base_m:g} m below the bottom in "
        f"{soil_name(scene, int(water.soil[worst.first]))} from chainage {from_m:.0f} to {to_m:.0f} m, "
        f"{water.given_m[worst.first]:.2f} m above the bottom as given, reach "
        f"{worst.reach_m:.0f} m; within it: {worst.near.text}{tail}"
    )
    enter = ledger.amber if worst.is_met else ledger.finding
    enter(element, limit, worst.reach_m, worst.near.nearest_m, place, reason)


def _place(section: int, water: _Water, cell: int) -> Place:
    x_m, y_m = map(float, water.xy_m[cell])
    return Place(float(water.at_m[cell]), section=section, xy_m=(x_m, y_m))


def _reaches(scene: Scene, water: _Water) -> Iterator[_Reach]:
    """Yield the stretches in which the highest water is lowered, each of one drawdown and soil."""
    checks = scene.assumptions.checks.shaft
    for first, last in _runs(water):
        k = soil_of(scene, int(water.soil[first])).permeability_m_per_s
        far_m = float(reach_m(water.lowered_m[first], k, checks.drawdown_trench_factor))
        xy_m = water.xy_m[first : last + 1]
        line = shapely.LineString(xy_m) if len(xy_m) > 1 else shapely.Point(xy_m[0])
        yield _Reach(first, last, far_m, neighbours(scene, line, far_m))


def _runs(water: _Water) -> Iterator[tuple[int, int]]:
    """Yield first and last cell of each stretch of one drawdown and soil, none where nothing is lowered."""
    is_new = (np.diff(water.lowered_m) != 0.0) | (np.diff(water.soil) != 0)
    part = np.floor((np.cumsum(water.step_m) - water.step_m / 2.0) / MOST_RUN_M)
    starts = np.concatenate([[0], 1 + np.flatnonzero(is_new | (np.diff(part) != 0.0))])
    for first, last in zip(starts, np.append(starts[1:], len(water.lowered_m)) - 1, strict=True):
        if water.lowered_m[first] > 0.0:
            yield int(first), int(last)


def _prove_priced(scene: Scene, ledger: Ledger, section: int, water: _Water) -> None:
    """Enter where the highest water asks for more than the bill holds to keep the trench dry."""
    limit, element = Limit("trench_dewatering", "m", SOURCE), scene.section_id(section)
    costs = _more_eur_per_m(scene, water)
    asks = costs > NO_MORE
    at = int(np.argmax(np.where(asks | ~asks.any(), water.highest_m, -1.0)))
    highest_m, place = float(water.highest_m[at]), _place(section, water, at)
    if not asks.any():
        reason = "what the bill pays for keeping the trench dry is enough at the 100-year groundwater as well"
        ledger.finding(element, limit, highest_m, highest_m, place, reason)
        return
    length_m, eur = float(water.step_m[asks].sum()), float(water.step_m[asks] @ costs[asks])
    reason = (
        f"the bill keeps the trench dry at the groundwater as given, {water.given_m[at]:.2f} m above the "
        f"bottom here; the 100-year groundwater stands {highest_m:.2f} m above it: {length_m:.0f} m of this "
        "open cut then need sumps, well points or tight bracing that aren't priced, about "
        f"{grouped(eur)} EUR more"
    )
    ledger.amber(element, limit, highest_m, float(water.given_m[at]), place, reason)
    ledger.unpriced(eur)


def _more_eur_per_m(scene: Scene, water: _Water) -> Array:
    """Return what the highest water adds to each metre in `ITEMS`, shape (n,) [EUR/m]."""
    a = scene.assumptions
    at = [measure.bill_items(a).index[code] for code in ITEMS]
    rates, more = measure.rates_eur(a)[at], np.zeros(len(water.at_m))
    depth_m = np.maximum(water.samples.groundwater_depth_m - a.groundwater.highest_rise_m, 0.0)
    for start in range(0, len(more), AT_ONCE):
        cells = slice(start, start + AT_ONCE)
        given = _part(water.samples, cells)
        higher = replace(given, groundwater_depth_m=depth_m[cells])
        is_narrow = water.is_narrow[cells]
        added = measure.trench_per_m(higher, is_narrow, a) - measure.trench_per_m(given, is_narrow, a)
        more[cells] = added[:, at] @ rates
    return more


def _part(samples: GroundSamples, cells: slice) -> GroundSamples:
    return replace(samples, **{field.name: getattr(samples, field.name)[cells] for field in fields(samples)})
