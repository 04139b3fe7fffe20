"""A hole in the corridor's polygon lies outside it: neither open cut nor a drive of the plan enters it."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely import Polygon, box

from routescreen.search.geometry import plan_geometry
from routescreen.search.halves import find_plan
from tests.search.test_otherwise import corridor, problem_of

TOLERANCE_M = 2e-3  # what the frame and the audit allow along the corridor's edge


@pytest.mark.parametrize(
    ("hole", "is_in_drive"),
    [
        pytest.param(box(300.0, -25.0, 420.0, 25.0), False, id="on the way of the open cut"),
        pytest.param(box(560.0, -25.0, 640.0, 25.0), True, id="over the drive under the river"),
    ],
)
def test_the_alignment_keeps_out_of_a_hole_in_the_corridor(hole: Polygon, *, is_in_drive: bool) -> None:
    """Without the hole the straight line on the axis, which enters it, is the cheapest."""
    inp = corridor()
    assert inp.outline is not None
    pierced = replace(inp, outline=inp.outline.difference(hole))
    kept = hole.buffer(-TOLERANCE_M)
    lines = []
    for case in (inp, pierced):
        problem = problem_of(case)
        found = find_plan(problem.arrays)
        assert found is not None
        plan = plan_geometry(problem, found)
        lines.append(shapely.LineString(plan.alignment_xy_m))
        middle_m = hole.centroid.x
        ends = [plan.alignment_xy_m[d.from_vertex : d.from_vertex + 2] for d in plan.drives]
        assert any(a[0] < middle_m < b[0] for a, b in ends) is is_in_drive
    assert lines[0].intersects(kept)
    assert not lines[1].intersects(kept)
