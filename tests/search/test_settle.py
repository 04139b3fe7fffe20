"""One drive at a time: the compiled scan and profile against the plain definitions."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest

from benchmarks.oracles.lines import DriveOracle
from benchmarks.proof_gaps import with_floors, with_gaps
from benchmarks.proof_instances import Size, bent_frame, proof_arrays
from benchmarks.proof_turned import turned_round
from routescreen.search.drive_kernel import scan
from routescreen.search.drive_price_kernel import new_work
from routescreen.search.solve import settle_drive

if TYPE_CHECKING:
    from collections.abc import Iterator

    from routescreen.search.arrays import SearchArrays

SIZE = Size(14, 4, 6)


def _scanned(
    arrays: SearchArrays, lower: tuple[int, int], upper: tuple[int, int]
) -> dict[tuple[int, int], float]:
    """Return the metres in each touched cell, by column and row."""
    work = new_work(upper[0] - lower[0], arrays.drive.drive_fee_eur.shape[0], 3)
    scan(arrays, work, 0, *lower, *upper)
    n, ny = int(work.tally[1]), arrays.ground.ground_m.shape[1]
    cells = (divmod(int(node), ny) for node in work.entry_node[:n])
    return dict(zip(cells, work.entry_m[:n].tolist(), strict=True))


@pytest.mark.parametrize("seed", range(4))
def test_every_drive_of_an_instance(seed: int) -> None:
    """All pairs, methods and orientations: the same drives can be built, at the same price."""
    n_built, n_not = _compare(proof_arrays(seed, SIZE))
    assert n_built > 200
    assert n_not > 200


@pytest.mark.parametrize("seed", range(4))
def test_every_drive_above_the_floors_of_its_cable_s_heat(seed: int) -> None:
    """The same where most cells have a floor: drives that serve with one slope and not with another."""
    arrays = proof_arrays(seed, SIZE)
    n_built, n_not = _compare(with_floors(arrays if seed < 2 else with_gaps(arrays, seed), seed))
    assert n_built > 20
    assert n_not > 200


def _compare(arrays: SearchArrays) -> tuple[int, int]:
    """Settle every drive both ways; return how many can be built and how many can't."""
    oracle = DriveOracle(arrays)
    n_built = n_not = 0
    for lower, upper in _pairs():
        expected = {(d.method, d.is_launched_at_lower): d for d in oracle.drives_between(lower, upper)}
        for key in _orientations(oracle, lower, upper):
            found, drive = settle_drive(arrays, lower, upper, *key), expected.get(key)
            if drive is None:
                assert found is None
                n_not += 1
                continue
            assert found is not None
            assert found.line.eur == pytest.approx(drive.eur, abs=1e-6)
            assert (found.line.lower_level, found.line.upper_level) == (drive.lower_level, drive.upper_level)
            assert found.line.crown_m == pytest.approx(drive.crown_m, abs=1e-9)
            n_built += 1
    return n_built, n_not


def _pairs() -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    nodes = list(itertools.product(range(SIZE.n_columns), range(SIZE.n_rows)))
    return (
        (lower, upper)
        for lower, upper in itertools.product(nodes, nodes)
        if 0 < upper[0] - lower[0] <= SIZE.longest_columns + 1
    )


def _orientations(
    oracle: DriveOracle, lower: tuple[int, int], upper: tuple[int, int]
) -> list[tuple[int, bool]]:
    """Return methods and orientations that headings, shaft places and bans allow; the scan comes after."""
    bins = oracle.heading_bins(lower, upper)
    if bins is None:
        return []
    ways = itertools.product(range(len(oracle.s.drive.bore_m)), (False, True))
    return [way for way in ways if oracle.may_stand(lower, upper, *way, bins)]


@pytest.mark.parametrize("seed", range(4))
def test_a_mirrored_drive_is_the_same_drive(seed: int) -> None:
    arrays = proof_arrays(seed, SIZE)
    mirrored = turned_round(arrays)
    last = SIZE.n_columns - 1
    for drive in DriveOracle(arrays).all_drives():
        lower, upper = ((last - node[0], node[1]) for node in (drive.upper, drive.lower))
        found = settle_drive(mirrored, lower, upper, drive.method, not drive.is_launched_at_lower)
        assert found is not None
        assert found.line.eur == pytest.approx(drive.eur, abs=1e-6)
        assert (found.line.upper_level, found.line.lower_level) == (drive.lower_level, drive.upper_level)


def test_metres_by_cell_add_up_to_the_line() -> None:
    arrays = proof_arrays(3, SIZE)
    for jb in range(SIZE.n_rows):
        cells = _scanned(arrays, (2, 1), (8, jb))
        length = float(np.linalg.norm(arrays.frame.node_xy_m[8, jb] - arrays.frame.node_xy_m[2, 1]))
        if cells:
            assert sum(cells.values()) == pytest.approx(length)


def test_a_line_through_a_corner_touches_all_four_cells() -> None:
    """One row over three columns crosses the row's edge in mid-column; over one column at the corner."""
    arrays = _flat(proof_arrays(0, Size(14, 4, 6)))
    # from (2, 1) to (3, 2): at the boundary the line is half a row up, at the corner of four cells
    assert set(_scanned(arrays, (2, 1), (3, 2))) == {(2, 1), (2, 2), (3, 1), (3, 2)}
    # from (2, 1) to (5, 2): at the boundaries 1/6, 1/2 and 5/6 of a row up; the corner lies at the second
    assert set(_scanned(arrays, (2, 1), (5, 2))) == {(2, 1), (3, 1), (3, 2), (4, 1), (4, 2), (5, 2)}


def test_a_line_along_an_edge_counts_its_metres_once() -> None:
    """A frame moved by half a row: a level line runs along the edge of two rows."""
    arrays = _flat(proof_arrays(0, Size(14, 4, 6)))
    moved = arrays.frame.boundary_xy_m - np.array([0.0, 5.0])  # half a row to the right
    arrays = arrays._replace(frame=arrays.frame._replace(boundary_xy_m=moved))
    cells = _scanned(arrays, (2, 1), (6, 1))
    assert {(4, 0), (4, 1)} <= set(cells)
    assert cells[4, 0] + cells[4, 1] == pytest.approx(arrays.frame.column_m)


def _flat(arrays: SearchArrays) -> SearchArrays:
    """Return the arrays on a straight frame with every cell open."""
    nx, ny = arrays.ground.ground_m.shape
    column, cell, offset0 = 10.0, 10.0, arrays.frame.offset0_m
    x, y = np.arange(nx) * column, -(offset0 + np.arange(ny) * cell)
    frame = arrays.frame._replace(
        node_xy_m=np.stack(np.broadcast_arrays(x[:, None], y[None, :]), axis=-1).copy(),
        tangent=np.tile([1.0, 0.0], (nx, 1)),
        boundary_xy_m=np.stack([(np.arange(nx + 1) - 0.5) * column, np.zeros(nx + 1)], axis=1),
        boundary_tangent=np.tile([1.0, 0.0], (nx + 1, 1)),
        cell_m=cell,
        column_m=column,
    )
    ceiling = np.maximum(arrays.drive.ceiling_m, 0.0)
    return arrays._replace(frame=frame, drive=arrays.drive._replace(ceiling_m=ceiling))


def test_a_line_beside_a_fixed_alignment_keeps_its_ceiling() -> None:
    """One row bent so that the chord runs a row and more beside it: the row's cells still bind."""
    arrays = proof_arrays(1, Size(14, 1, 8))
    frame = bent_frame(14, 1, column_m=10.0, bend_per_m=1.0 / 60.0)._replace(aside_rows=2.0)
    # no feature in the way; column 5 open, then closed
    drive = arrays.drive._replace(segment_sin_min_angle=np.zeros_like(arrays.drive.segment_sin_min_angle))
    ceiling = np.full_like(drive.ceiling_m, 30.0)
    closed = ceiling.copy()
    closed[:, 5] = -1e9
    # eight columns on a radius of 60 m: the chord's middle lies 60 (1 - cos(40/60)) = 12.8 m inside
    for levels, passes in ((ceiling, True), (closed, False)):
        changed = arrays._replace(frame=frame, drive=drive._replace(ceiling_m=levels))
        work = new_work(8, drive.drive_fee_eur.shape[0], 3)
        assert scan(changed, work, 0, 1, 0, 9, 0) == passes


def test_a_drive_within_a_crossing_pays_it_once() -> None:
    """A drive that starts in a crossing and never meets its outline passes under it all the same."""
    arrays = proof_arrays(1, SIZE)
    n_nodes = arrays.ground.ground_m.size
    free = arrays.drive._replace(
        inside_start=np.zeros(n_nodes + 1, np.int64), inside_crossing=np.zeros(0, np.int64)
    )
    within = free._replace(inside_start=np.arange(n_nodes + 1), inside_crossing=np.zeros(n_nodes, np.int64))
    extra = {False: 0, True: 0}
    for drive in DriveOracle(arrays).all_drives():
        key = (drive.lower, drive.upper, drive.method, drive.is_launched_at_lower)
        before = settle_drive(arrays._replace(drive=free), *key)
        after = settle_drive(arrays._replace(drive=within), *key)
        assert before is not None
        assert after is not None
        is_met = 0 in before.crossings
        fee = 0.0 if is_met else float(free.drive_fee_eur[0])
        assert after.line.eur - before.line.eur == pytest.approx(fee, abs=1e-6)
        extra[is_met] += 1
    assert extra[True] > 0
    assert extra[False] > 0


def test_a_pond_over_an_inner_bore_alone_is_met() -> None:
    """Four bores 2 m apart lie 1 and 3 m to either side; what reaches from 0.8 to 1.2 m meets one of them."""
    arrays = proof_arrays(1, SIZE)
    n_cells, start, end = arrays.ground.ground_m.size, (2, 1), (8, 2)
    ends = arrays.frame.node_xy_m[start], arrays.frame.node_xy_m[end]
    along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    right = np.array([along[1], -along[0]])
    middle = 0.5 * (ends[0] + ends[1])
    for near_m, far_m, n_bores, is_met in (
        (0.8, 1.2, 4, True),
        (-1.2, -0.8, 4, True),
        (1.2, 2.8, 4, False),
        (0.8, 1.2, 2, False),
        (3.1, 9.0, 4, False),
        (2.9, 9.0, 4, True),
    ):
        segment = np.concatenate([middle + near_m * right, middle + far_m * right])[None]
        drive = arrays.drive._replace(
            n_bores=np.full_like(arrays.drive.n_bores, n_bores),
            outer_bore_m=np.full_like(arrays.drive.outer_bore_m, 3.0),
            ceiling_m=np.full_like(arrays.drive.ceiling_m, 30.0),
            segment_xy_m=segment,
            segment_tangent=right[None],
            segment_sin_min_angle=np.zeros(1),
            segment_is_outline=np.ones(1, bool),
            segment_crossing=np.zeros(1, np.int64),
            cell_segment_start=np.arange(n_cells + 1),
            cell_segment=np.zeros(n_cells, np.int64),
            inside_start=np.zeros(n_cells + 1, np.int64),
            inside_crossing=np.zeros(0, np.int64),
        )
        work = new_work(8, drive.drive_fee_eur.shape[0], 3)
        assert scan(arrays._replace(drive=drive), work, 0, *start, *end)
        assert bool(work.tally[2]) == is_met
