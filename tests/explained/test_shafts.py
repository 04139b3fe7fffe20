"""Areas and distances of shafts' tolerances on a square frame of 10 m, reckoned by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from routescreen.explained.shafts import area_of, moves_m, shafts_on_frame, tolerance_table
from routescreen.search.shaft_tolerance import ShaftTolerance

CELL_M = 10.0


def frame(*, turned: bool = False) -> SimpleNamespace:
    """Return 9 columns, 5 rows from (0, 0) eastwards, row 0 the northernmost; `turned`: northwards."""
    column, row = np.meshgrid(np.arange(9), np.arange(5), indexing="ij")
    xy_m = np.stack([CELL_M * column, -CELL_M * row], axis=-1).astype(float)
    tangent = np.tile([1.0, 0.0], (9, 1))
    if turned:
        xy_m, tangent = np.stack([-xy_m[..., 1], xy_m[..., 0]], axis=-1), np.tile([0.0, 1.0], (9, 1))
    return SimpleNamespace(node_xy_m=xy_m, tangent=tangent, cell_m=CELL_M, column_spacing_m=CELL_M)


def places(*nodes: tuple[int, int]) -> np.ndarray:
    return np.array(nodes, np.int64)


def test_a_square_of_places_is_filled_and_a_line_two_tenths_wide() -> None:
    """10 x 10 m, 1 m more on each side: 12 x 12; the line of 20 m ahead of it: 2 m wide, 19 m beyond."""
    own = (2, 2)
    square = places(own, (3, 2), (2, 3), (3, 3))
    assert area_of(frame(), square, (20.0, -20.0)).area == pytest.approx(144.0)
    longer = places(own, (3, 2), (2, 3), (3, 3), (4, 2), (5, 2))
    assert area_of(frame(), longer, (20.0, -20.0)).area == pytest.approx(144.0 + 20.0 * 2.0)


def test_a_single_place_is_a_dot_and_a_shaft_off_the_frame_is_joined_to_it() -> None:
    assert area_of(frame(), places((2, 2)), (20.0, -20.0)).area == pytest.approx(4.0)
    joined = area_of(frame(), places((2, 2)), (24.0, -20.0))
    assert joined.area == pytest.approx((4.0 + 2.0) * 2.0)
    assert joined.contains(shapely.Point(24.0, -20.0))


def test_places_that_do_not_hang_together_are_refused() -> None:
    with pytest.raises(ValueError, match="walked"):
        area_of(frame(), places((2, 2), (6, 2), (7, 2)), (20.0, -20.0))


@pytest.mark.parametrize("turned", [False, True], ids=["eastwards", "northwards"])
def test_moves_go_to_the_furthest_place_without_a_gap(turned: bool) -> None:
    """Row 2: columns 1 to 4 and 6; column 3: rows 1 and 2. The shaft 4 m on and 3 m right of its node."""
    found = places((3, 2), (2, 2), (1, 2), (4, 2), (6, 2), (3, 1))
    on, right = (20.0 + 3.0, 30.0 + 4.0), (30.0 + 4.0, -20.0 - 3.0)
    back_m, on_m, left_m, right_m = moves_m(frame(turned=turned), found, on if turned else right)
    assert (back_m, on_m, left_m, right_m) == pytest.approx((24.0, 6.0, 13.0, 0.0))


def test_a_shaft_beyond_its_furthest_place_moves_no_further() -> None:
    assert moves_m(frame(), places((3, 2)), (34.0, -20.0)) == pytest.approx((4.0, 0.0, 0.0, 0.0))


def _problem(percent: float = 5.0, classes: tuple[float, ...] = (1.0, 2.0, 9.0)) -> SimpleNamespace:
    explain = SimpleNamespace(tolerance_percent=percent, tolerance_classes_percent=classes)
    settings = SimpleNamespace(explain=explain, refine=SimpleNamespace(aside_m=20.0))
    return SimpleNamespace(frame=frame(), assumptions=settings)


def test_areas_lie_within_each_other_the_widest_first() -> None:
    """1, 2 and 5 % of 1 000 EUR; a class above the tolerance is no class."""
    tolerance = ShaftTolerance(
        (2, 2),
        (False, True),
        1000.0,
        50.0,
        False,
        places((2, 2), (3, 2), (4, 2)),
        np.array([0.0, 15.0, 50.0]),
    )
    plan = SimpleNamespace(shafts=(SimpleNamespace(xy_m=(20.0, -20.0)),) * 2)
    table = tolerance_table(_problem(), plan, [None, tolerance])
    assert table["shaft_index"].tolist() == [1, 1, 1]
    assert table["extra_cost_percent"].tolist() == [5.0, 2.0, 1.0]
    assert table["extra_eur"].tolist() == pytest.approx([50.0, 20.0, 10.0])
    assert table["places"].tolist() == [3, 2, 1]
    assert table["area_m2"].tolist() == pytest.approx([44.0, 24.0, 4.0])
    for wider, narrower in zip(table["geometry"][:-1], table["geometry"][1:], strict=True):
        assert wider.buffer(1e-9).contains(narrower)


def test_a_shaft_is_the_nearest_on_the_frame_that_serves_the_same_sides() -> None:
    """A launch 8 m off its node; a reception that the frame has not; one too far from its node."""
    launch = SimpleNamespace(node=(2, 2), incoming_role=0, outgoing_role=1)
    reception = SimpleNamespace(node=(6, 2), incoming_role=2, outgoing_role=0)
    on_frame = SimpleNamespace(shafts=(launch, reception))
    finished = SimpleNamespace(
        shafts=(
            SimpleNamespace(xy_m=(28.0, -20.0), incoming=None, outgoing=0),
            SimpleNamespace(xy_m=(28.0, -20.0), incoming=0, outgoing=1),
            SimpleNamespace(xy_m=(60.0, -56.0), incoming=0, outgoing=None),
        )
    )
    assert shafts_on_frame(_problem(), on_frame, finished) == [0, -1, -1]
