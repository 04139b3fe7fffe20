"""Crossings: who pays what by construction."""

import numpy as np
import pytest

from routescreen.money.measure import bill_items, crossing_drive, crossing_trench, crossing_trench_per_m
from tests.money.places import DEFAULTS, by_code, place
from tests.narrow import load_narrow as load_assumptions

WIDE = np.array([False])


@pytest.mark.parametrize(
    ("kind", "trench", "drive"),
    [
        pytest.param("road", {"CR10", "AG12"}, {"AG12"}, id="minor road"),
        pytest.param("track", {"CR11", "AG13"}, {"AG13"}, id="track"),
        pytest.param("path", {"CR12", "AG13"}, {"AG13"}, id="path"),
        pytest.param("ditch", {"CR13", "AG13"}, {"AG13"}, id="ditch"),
        pytest.param("stream", {"CR14", "AG12"}, {"AG12"}, id="stream"),
        pytest.param("telecom", {"CR15", "AG13"}, {"AG13"}, id="service"),
        pytest.param("gas_pipeline", {"CR16", "AG12"}, {"AG12"}, id="pipeline"),
        pytest.param("power_line", {"CR17", "AG13"}, {"AG13"}, id="power line"),
        pytest.param("railway", {"AG10"}, {"AG10", "MN10", "UX12"}, id="railway, monitored when driven"),
        pytest.param("motorway", {"AG11"}, {"AG11", "MN11"}, id="motorway"),
        pytest.param("dyke", {"AG11"}, {"AG11", "MN11"}, id="dyke"),
    ],
)
def test_items_by_construction(kind, trench, drive):
    assert by_code(crossing_trench(kind, DEFAULTS)) == dict.fromkeys(trench, 1.0)
    assert by_code(crossing_drive(kind, DEFAULTS)) == dict.fromkeys(drive, 1.0)


@pytest.mark.parametrize("kind", ["river", "canal", "lake"])
def test_bed_is_surveyed_when_driven(kind):
    assert by_code(crossing_drive(kind, DEFAULTS)) == {"AG11": 1.0, "MN12": 1.0, "UX12": 1.0}
    assert "MN12" not in by_code(crossing_trench(kind, DEFAULTS))


def test_explosives_are_looked_for_under_a_crossing_only_where_its_treatment_asks_for_it():
    asked = load_assumptions('[treatments.road]\ndrive_items = ["UX12"]\n')
    assert by_code(crossing_drive("road", asked), asked) == {"AG12": 1.0, "UX12": 1.0}
    assert "UX12" not in by_code(crossing_drive("road", DEFAULTS))
    assert "UX12" not in by_code(crossing_trench("river", DEFAULTS))


def test_hedge_is_opened_and_replanted():
    assert by_code(crossing_trench("hedge", DEFAULTS))["CR18"] == 1.0
    assert "CR18" not in by_code(crossing_drive("hedge", DEFAULTS))


@pytest.mark.parametrize("kind", DEFAULTS.kind_names)
def test_every_kind_has_one_vector_a_construction(kind):
    for measure in (crossing_trench, crossing_drive):
        assert measure(kind, DEFAULTS).shape == (len(bill_items(DEFAULTS)),)


def test_site_of_finds_is_watched_eight_times():
    # one share stands in the metre of trench already
    extra = crossing_trench_per_m("archaeological_site", place(), WIDE, DEFAULTS)[0]
    assert by_code(extra) == {"AR10": 7.0}


def test_contaminated_ground_turns_all_surplus_into_loaded():
    # default bedding zone 1.2648 m2 a trench, 95 % clean and 5 % slight in sand
    extra = by_code(crossing_trench_per_m("contaminated_ground", place(), WIDE, DEFAULTS)[0])
    both = 2 * 1.2648
    assert extra == pytest.approx({"TR60": -0.95 * both, "TR61": -0.05 * both, "TR62": both})


def test_plain_kinds_add_nothing_by_the_metre():
    assert not crossing_trench_per_m("road", place(n=3), np.zeros(3, dtype=bool), DEFAULTS).any()
