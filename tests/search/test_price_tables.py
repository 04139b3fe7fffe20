"""Prices of a metre by ground and cover: each ground is priced once, whoever asks for it next."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.corridor.ground import GroundSampler
from routescreen.drives.dip import Dip
from routescreen.money.measure import crossing_trench_per_m
from routescreen.search import trench_prices
from routescreen.search.ground_lines import GroundLines
from routescreen.search.trench_prices import inside_table
from tests.audit.place import with_ground
from tests.narrow import load_narrow
from tests.polish.cases import open_field

if TYPE_CHECKING:
    from routescreen.project import GroundSamples

ASSUMPTIONS = load_narrow()
N_COVERS = len(ASSUMPTIONS.cover)
IN_CLAY, BESIDE = (50.0, 0.0), (300.0, 0.0)
DIP = Dip(3.0, 3.0, is_wet=False)


def lines(*places: tuple[float, float]) -> GroundLines:
    """Return lines over soft clay in the west and other soil in the east that met some places in order."""
    inp = with_ground(open_field(), box(0.0, -200.0, 100.0, 200.0), soil="clay_soft")
    found = GroundLines(GroundSampler(inp, ASSUMPTIONS), ASSUMPTIONS)
    for place in places:
        found.ground_of(np.array([place]))
    return found


class Priced:
    """Prices a metre at 1000 for the narrow strip, 100 a soil class, 1 a cover class; counts places."""

    def __init__(self) -> None:
        self.n_places = 0

    def __call__(self, samples: GroundSamples, is_narrow: np.ndarray) -> np.ndarray:
        self.n_places += len(is_narrow)
        return 1000.0 * is_narrow + 100.0 * samples.soil_class + samples.cover_class


def rows(ground: GroundLines, place: tuple[float, float]) -> tuple[int, np.ndarray]:
    """Return which ground lies at a place, and its two rows as `Priced` prices them."""
    number = int(ground.ground_of(np.array([place]))[0])
    wide = 100.0 * ground.grounds().soil_class[number] + np.arange(N_COVERS)
    return number, np.array([wide, 1000.0 + wide])


def test_a_table_by_hand() -> None:
    ground = lines(IN_CLAY, BESIDE)
    table = ground.price_table(Priced())
    assert table.shape == (4, N_COVERS)
    for place in (IN_CLAY, BESIDE):
        number, expected = rows(ground, place)
        assert table[2 * number : 2 * number + 2].tolist() == expected.tolist()


def test_only_the_grounds_asked_for_are_priced_and_none_twice() -> None:
    ground, priced, kept = lines(BESIDE, IN_CLAY), Priced(), {}
    clay, in_clay = rows(ground, IN_CLAY)
    beside, in_other = rows(ground, BESIDE)
    first = ground.price_table(priced, np.array([clay, clay]), kept)
    assert priced.n_places == 2 * N_COVERS
    assert first[2 * clay : 2 * clay + 2].tolist() == in_clay.tolist()
    assert not first[2 * beside : 2 * beside + 2].any()
    both = ground.price_table(priced, None, kept)
    assert priced.n_places == 4 * N_COVERS
    assert both[2 * beside : 2 * beside + 2].tolist() == in_other.tolist()
    assert both[2 * clay : 2 * clay + 2].tolist() == in_clay.tolist()
    # other lines meet the same grounds in another order
    other = lines(IN_CLAY, BESIDE).price_table(priced, None, kept)
    assert priced.n_places == 4 * N_COVERS
    assert other.tolist() == [*in_clay.tolist(), *in_other.tolist()]


def test_nothing_met_is_nothing_priced() -> None:
    assert lines().price_table(Priced()).tolist() == np.zeros((2, N_COVERS)).tolist()


@pytest.mark.parametrize("dip", [pytest.param(None, id="no dip"), pytest.param(DIP, id="dip")])
def test_inside_a_kind_of_crossing_each_ground_is_measured_once_a_run(
    dip: Dip | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    a = ASSUMPTIONS.model_copy()  # a run of its own
    measured = []

    def measure(kind, samples, *rest):
        measured.append(len(samples.soil_class))
        return crossing_trench_per_m(kind, samples, *rest)

    monkeypatch.setattr(trench_prices, "crossing_trench_per_m", measure)
    ground, key = lines(IN_CLAY, BESIDE), ("ditch", dip)
    assert key[0] in a.treatments
    first = inside_table(ground, key, a, np.array([0]))
    whole = inside_table(ground, key, a)
    again = inside_table(lines(BESIDE, IN_CLAY), key, a)
    assert measured == [2 * N_COVERS, 2 * N_COVERS]
    assert first[:2].tolist() == whole[:2].tolist()
    assert again.tolist() == [*whole[2:].tolist(), *whole[:2].tolist()]
    inside_table(ground, (key[0], Dip(4.0, 4.0, is_wet=False)), a)
    inside_table(ground, key, a.model_copy())
    assert measured == [2 * N_COVERS, 2 * N_COVERS, 4 * N_COVERS, 4 * N_COVERS]
