"""A part of a frame cut finer: its nodes, its rows, and what of the corridor lies near it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, box

from benchmarks.corridors import random_corridor
from routescreen.assumptions import load_assumptions
from routescreen.corridor.finer import Cut, finer_frame, part_near
from routescreen.corridor.frame import Frame, build_frame
from routescreen.corridor.ground import GroundSampler
from routescreen.corridor.treatment import resolve_crossings
from tests.audit.place import across, crossing, place

DEFAULTS = load_assumptions()
STRAIGHT = build_frame(place(), cell_m=10.0)  # 151 columns, 41 rows, row 20 on the axis


def cut(n_parts: int, *nodes: tuple[int, int], aside_m: float | None) -> Cut:
    return Cut(n_parts, np.array(nodes, np.int64), aside_m)


def test_straight_frame_by_hand() -> None:
    """From (300, 0) to (500, -20): rows run to the right, so 20 m to the right are two rows of 10 m."""
    fine = finer_frame(STRAIGHT, place(), cut(5, (30, 20), (50, 22), aside_m=20.0))
    assert fine.cell_m == pytest.approx(2.0)
    assert fine.column_spacing_m == pytest.approx(2.0)
    assert fine.shape == (101, 31)  # 200 m and 20 m + 2 x 20 m
    assert fine.node_xy_m[fine.start] == pytest.approx((300.0, 0.0))
    assert fine.node_xy_m[fine.end] == pytest.approx((500.0, -20.0))
    assert fine.node_xy_m[0, 0] == pytest.approx((300.0, 20.0))
    assert fine.node_xy_m[1, 1] == pytest.approx((302.0, 18.0))
    assert fine.is_valid[0, 0]  # 20 m aside
    assert not fine.is_valid[100, 0]  # 40 m from the end, which lies 20 m to the right


def test_rows_go_as_far_as_the_corridor() -> None:
    """At 195 m to the left of the axis 5 m are left to the edge, two rows of 2 m."""
    narrow = replace(place(), outline=box(0.0, -200.0, 1500.0, 195.0))
    frame = build_frame(narrow, cell_m=10.0)
    row = int(frame.start[1]) - 19  # 190 m to the left
    fine = finer_frame(frame, narrow, cut(5, (30, row), (50, row), aside_m=20.0))
    left_m = fine.node_xy_m[10, fine.is_valid[10], 1]
    assert left_m.max() == pytest.approx(194.0)
    assert left_m.min() == pytest.approx(170.0)


@pytest.mark.parametrize("n_parts", [2, 3, 5])
@pytest.mark.parametrize("seed", [2, 14, 28])
def test_every_node_of_a_bent_frame_is_a_node_of_the_finer_one(seed: int, n_parts: int) -> None:
    corridor = random_corridor(seed)
    frame = build_frame(corridor, cell_m=10.0)
    last = min(20, frame.shape[0] - 1)
    rows = frame.start[1], frame.start[1]
    fine = finer_frame(frame, corridor, cut(n_parts, (3, rows[0]), (last, rows[1]), aside_m=None))
    first_row = fine.start[1] % n_parts
    base_row = rows[0] - fine.start[1] // n_parts
    shared = fine.node_xy_m[::n_parts, first_row::n_parts]
    assert shared == pytest.approx(
        frame.node_xy_m[3 : last + 1, base_row : base_row + shared.shape[1]], abs=1e-9
    )
    is_valid = fine.is_valid[::n_parts, first_row::n_parts]
    assert np.array_equal(is_valid, frame.is_valid[3 : last + 1, base_row : base_row + shared.shape[1]])
    assert shared.shape[1] == frame.shape[1] - base_row


def test_fixed_line_keeps_its_one_row() -> None:
    line = replace(place(), outline=None, axis=None, fixed_line=LineString([(0.0, 0.0), (1500.0, 0.0)]))
    frame = build_frame(line, cell_m=10.0)
    fine = finer_frame(frame, line, cut(5, (30, 0), (50, 0), aside_m=20.0))
    assert fine.shape == (101, 1)
    assert fine.node_xy_m[:, 0, 0] == pytest.approx(np.linspace(300.0, 500.0, 101))


def near(frame: Frame, *extra: object) -> tuple[object, object]:
    corridor = place(*extra)  # type: ignore[arg-type]
    crossings = resolve_crossings(corridor.crossings, DEFAULTS)
    sampler = GroundSampler(corridor, DEFAULTS)
    return corridor, part_near(frame, corridor, crossings, sampler, assumptions=DEFAULTS)


def test_part_holds_what_is_near_under_new_numbers() -> None:
    """The nodes lie between x = 560 and 640: the river at 600 and the pipeline at 760 are near, no other.

    Of the pipeline 120 m away: 100 m and the widest clearance of the place, which is above 20 m.
    """
    fine = finer_frame(STRAIGHT, place(), cut(5, (56, 20), (64, 20), aside_m=20.0))
    again = crossing("river", across(612.0), feature_id="river2")
    _, part = near(fine, again)
    assert part.crossings.kind == ("river", "gas_pipeline")
    assert part.crossings.feature_ids == ("river;river2", "gas_pipeline")
    assert part.crossings.features.crossing.tolist() == [0, 1, 0]
    assert len(part.crossings.outline) == len(part.crossings.min_angle_deg) == 2


def test_part_holds_what_a_compound_reaches() -> None:
    """A compound of 400 m beside a shaft between x = 560 and 640: road and building at 200 and 1000 count."""
    text = "[methods.two_pass]\nlaunch_compound_length_m = 400.0\n"
    fine = finer_frame(STRAIGHT, place(), cut(5, (56, 20), (64, 20), aside_m=20.0))
    corridor = place()
    crossings = resolve_crossings(corridor.crossings, DEFAULTS)
    sampler = GroundSampler(corridor, DEFAULTS)
    part = part_near(fine, corridor, crossings, sampler, assumptions=load_assumptions(text))
    assert part.crossings.kind == ("road", "river", "gas_pipeline", "building")


def test_part_of_the_rasters_says_the_same_as_the_whole() -> None:
    corridor = random_corridor(14)
    frame = build_frame(corridor, cell_m=10.0)
    row = frame.start[1]
    fine = finer_frame(frame, corridor, cut(5, (10, row), (20, row), aside_m=10.0))
    sampler = GroundSampler(corridor, DEFAULTS)
    crossings = resolve_crossings(corridor.crossings, DEFAULTS)
    part = part_near(fine, corridor, crossings, sampler, assumptions=DEFAULTS)
    assert part.corridor.terrain is not None
    assert corridor.terrain is not None
    assert part.corridor.terrain.values.size < 0.7 * corridor.terrain.values.size
    xy = fine.node_xy_m[fine.is_valid]
    whole, own = sampler.sample(xy), part.sampler.sample(xy)
    assert own.ground_m == pytest.approx(whole.ground_m, abs=1e-6)
    assert np.array_equal(own.cover_class, whole.cover_class)
    assert np.array_equal(own.access_distance_m, whole.access_distance_m)
