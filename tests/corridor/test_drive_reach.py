"""Frames that are too coarse for a method's drives."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Point, box

from routescreen.assumptions import load_assumptions
from routescreen.corridor.drive_reach import check_drive_reach, drive_reach_warnings
from routescreen.corridor.frame import Frame, build_frame
from routescreen.drives.methods import MethodGeometry, enabled_methods, method_geometry
from routescreen.errors import InputError
from tests.audit.place import place

DEFAULTS = load_assumptions()


def _frame(cell_m: float, length_m: float = 1500.0) -> Frame:
    inp = replace(place(), outline=box(0.0, -100.0, length_m, 100.0), axis=None, end=Point(length_m, 0.0))
    return build_frame(inp, cell_m=cell_m)


def _method(least_m: float, longest_m: float) -> MethodGeometry:
    return replace(
        method_geometry(DEFAULTS, "two_pass"), name="some_way", least_length_m=least_m, longest_m=longest_m
    )


@pytest.mark.parametrize(
    ("cell_m", "least_m", "longest_m"),
    [
        pytest.param(10.0, 40.0, 1200.0, id="as a rule"),
        pytest.param(50.0, 40.0, 50.0, id="exactly one cell"),
        # along 2 cells and across 1: hypot(100, 50) = 111.8 m at 26.6 degrees; 100 and 150 straight on
        pytest.param(50.0, 110.0, 115.0, id="only aslant"),
    ],
)
def test_drives_that_fit(cell_m: float, least_m: float, longest_m: float) -> None:
    check_drive_reach(_frame(cell_m), [_method(least_m, longest_m)], max_drive_angle_deg=30.0)


@pytest.mark.parametrize(
    ("cell_m", "least_m", "longest_m"),
    [
        pytest.param(50.0, 20.0, 49.0, id="longest shorter than the step"),
        pytest.param(50.0, 60.0, 90.0, id="between one cell and two; 70.7 m would be at 45 degrees"),
    ],
)
def test_a_method_that_would_drop_out_is_an_error(cell_m: float, least_m: float, longest_m: float) -> None:
    methods = [method_geometry(DEFAULTS, "two_pass"), _method(least_m, longest_m)]
    with pytest.raises(InputError) as caught:
        check_drive_reach(_frame(cell_m), methods, max_drive_angle_deg=30.0)
    (problem,) = caught.value.problems
    assert problem.column == "methods.some_way.longest_m"
    assert problem.value == f"{longest_m:g} m"
    assert "some way" in problem.problem
    assert "smaller cells" in problem.remedy


def test_a_corridor_shorter_than_every_drive_is_no_fault_of_the_cells() -> None:
    check_drive_reach(_frame(10.0, 300.0), [_method(400.0, 500.0)], max_drive_angle_deg=30.0)


def test_cells_that_leave_hardly_a_choice_are_worth_a_warning() -> None:
    (text,) = drive_reach_warnings(_frame(25.0), [_method(40.0, 114.0), _method(40.0, 115.0)])
    assert "Cells of 25 m are coarse for some way, whose drives are 40 m to 114 m long" in text


def test_the_default_methods_and_cells_go_well_together() -> None:
    methods = [method_geometry(DEFAULTS, name) for name in enabled_methods(DEFAULTS)]
    assert drive_reach_warnings(_frame(DEFAULTS.frame.cell_m), methods) == ()
