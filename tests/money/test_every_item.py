"""No item is forgotten: each one said to be measured gets a quantity somewhere, the others nowhere."""

import numpy as np
import pytest

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.money.apart import shown_apart
from routescreen.money.bill import bill_lines
from routescreen.money.measure import (
    LaterMeasures,
    PlanTotals,
    ShaftGround,
    ShaftMeasures,
    afterwards,
    bill_items,
    crossing_drive,
    crossing_trench,
    drive_fixed,
    drive_per_m,
    later_sections,
    shaft,
    shaft_in_ground,
    shaft_measures,
    shaft_site,
    trench_per_m,
)
from tests.money.places import SAND_BEDDING, place

EVERY_METHOD = "[methods.enterable]\nis_enabled = true\n[methods.hdd]\nis_enabled = true\n"
SETTINGS = (
    EVERY_METHOD,
    SAND_BEDDING,
    "[link]\nreturns_per_system = 1\n",
    '[link]\nprofile = "ac110"\n',
)


def measured_codes(a: Assumptions) -> set[str]:
    """Measure everything that the settings allow; return the items that got a quantity."""
    quantities = [*_trenches(a), *_drives(a), *_shafts(a)]
    quantities += [measure(kind, a) for kind in a.kind_names for measure in (crossing_trench, crossing_drive)]
    n_methods = sum(m.is_enabled for m in a.methods.values())
    quantities.append(afterwards(PlanTotals(60000.0, 60100.0, (3,) * n_methods), a))
    quantities.append(shaft_measures(ShaftMeasures(*np.ones((3, 1))), a))
    later = LaterMeasures(*np.ones((3, 1)))
    quantities.append(later_sections(later, np.zeros((1, len(bill_items(a)))), a))
    table = np.vstack([np.atleast_2d(one) for one in quantities])
    bill = bill_lines([None] * len(table), [None] * len(table), table, a)
    got = {bill_items(a).items[column].code for column in np.flatnonzero(table.any(axis=0))}
    return got | set(shown_apart(bill, 60000.0, a)["item"])


def _trenches(a):
    for cover in a.cover_names:
        for soil in a.soil_names:
            for groundwater_m in (0.5, 1.5, 10.0):
                ground = place(a, cover=cover, soil=soil, groundwater_m=groundwater_m)
                yield trench_per_m(ground, np.array([False]), a)


def _drives(a):
    cover = np.array([0])
    for name, method in a.methods.items():
        if method.is_enabled:
            yield drive_per_m(name, np.array([0]), cover, a)
            yield drive_fixed(name, [250.0], [8.0], [8.0], cover, a, n_pieces=2)


def _shafts(a):
    n_roles = 1 + 2 * sum(m.is_enabled for m in a.methods.values())
    for role in range(1, n_roles):
        for depth_m in (2.0, 6.0, 10.0):
            for is_wet in (False, True):
                yield shaft(role, 0, 0, is_wet, depth_m, a)
        for depth_m, water_m in ((6.0, 100.0), (10.0, 0.0), (16.0, 0.0), (16.0, 100.0)):
            ground = ShaftGround([0], [0], [np.inf], [water_m])
            yield shaft_in_ground(role, 0, ground, [water_m < depth_m], [depth_m], a)
        yield shaft_site(role, 0, 100.0, 0, a)


@pytest.fixture(scope="module")
def reached() -> set[str]:
    return set().union(*(measured_codes(load_assumptions(text)) for text in SETTINGS))


@pytest.mark.parametrize("item", bill_items(load_assumptions()).items, ids=lambda item: item.code)
def test_item_is_measured_as_it_says(item, reached):
    # a class without its own land rate is measured all the same; its rate is zero
    assert (item.code in reached) == item.is_measured
