"""What a corridor will take, reckoned beforehand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import LineString, box

from routescreen.corridor.effort import Effort, check_memory, expected_effort, machine_memory_mb
from routescreen.errors import InputError
from tests.audit.place import place


def test_nodes_are_those_of_the_area_or_the_line() -> None:
    wide = replace(place(), outline=box(0.0, 0.0, 1500.0, 400.0))
    assert expected_effort(wide, cell_m=10.0).n_nodes == pytest.approx(6000.0)
    fixed = replace(place(), outline=None, fixed_line=LineString([(0.0, 0.0), (1500.0, 0.0)]))
    assert expected_effort(fixed, cell_m=10.0).n_nodes == pytest.approx(150.0)


def test_it_grows_with_length_and_faster_with_finer_cells() -> None:
    short = replace(place(), outline=box(0.0, 0.0, 10_000.0, 500.0))
    long = replace(place(), outline=box(0.0, 0.0, 20_000.0, 500.0))
    one, two = (expected_effort(corridor, cell_m=10.0) for corridor in (short, long))
    assert two.seconds - one.seconds == pytest.approx(one.seconds - expected_effort_of_nothing().seconds)
    fine = expected_effort(short, cell_m=5.0)
    assert fine.n_nodes == pytest.approx(4.0 * one.n_nodes)
    assert fine.seconds > 4.0 * one.seconds


def expected_effort_of_nothing() -> Effort:
    return expected_effort(replace(place(), outline=None, fixed_line=None), cell_m=10.0)


def test_what_the_machine_can_not_hold_is_refused_with_what_would_help() -> None:
    effort = Effort(7.5e6, 3600.0, 13_800.0)
    check_memory(place(), effort, 16_000.0)
    check_memory(place(), effort, None)
    with pytest.raises(InputError) as caught:
        check_memory(place(), effort, 8_000.0)
    (problem,) = caught.value.problems
    assert "13.8 GB" in problem.problem
    assert "8.0 GB" in problem.problem
    assert "larger cells" in problem.remedy


@pytest.mark.parametrize(
    ("seconds", "text"), [(12.0, "12 s"), (240.0, "4 min"), (3.0 * 3600.0, "3 h")], ids=["s", "min", "h"]
)
def test_time_is_said_in_fit_units(seconds: float, text: str) -> None:
    assert text in Effort(1e5, seconds, 500.0).text()


def test_the_machine_tells_its_memory() -> None:
    memory_mb = machine_memory_mb()
    assert memory_mb is None or memory_mb > 500.0
