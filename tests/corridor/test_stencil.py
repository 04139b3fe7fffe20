import numpy as np
import pytest
import shapely

from routescreen.corridor.stencil import (
    MOVE_CELL_SHARE,
    MOVE_CELL_START,
    MOVE_CELL_STEP,
    MOVE_CELLS,
    MOVES,
    touched_cells,
)


@pytest.mark.parametrize(
    ("move", "expected"),
    [
        pytest.param((1, 0), ((0, 0, 0.5), (1, 0, 0.5)), id="straight-ahead-halves"),
        pytest.param(
            (1, 1),
            ((0, 0, 0.5), (0, 1, 0.0), (1, 0, 0.0), (1, 1, 0.5)),
            id="diagonal-touches-the-corner-cells-without-length",
        ),
        pytest.param(
            (2, 1), ((0, 0, 0.25), (1, 0, 0.25), (1, 1, 0.25), (2, 1, 0.25)), id="one-row-in-two-columns"
        ),
        pytest.param(
            (1, -2),
            ((0, -1, 0.25), (0, 0, 0.25), (1, -2, 0.25), (1, -1, 0.25)),
            id="two-rows-to-the-left-in-one-column",
        ),
    ],
)
def test_touched_cells_by_hand(move, expected):
    assert touched_cells(*move) == expected


def test_moves_are_seventeen_in_the_agreed_order():
    expected = "1,0 5,1 5,-1 3,1 3,-1 2,1 2,-1 3,2 3,-2 1,1 1,-1 2,3 2,-3 1,2 1,-2 1,3 1,-3"
    assert " ".join(f"{columns},{rows}" for columns, rows in MOVES) == expected


@pytest.mark.parametrize("index", range(len(MOVES)))
def test_touched_cells_agree_with_exact_intersection(index):
    columns, rows = MOVES[index]
    line = shapely.LineString([(0, 0), (columns, rows)])
    found = {}
    for i in range(-1, columns + 2):
        for j in range(-4, 5):
            square = shapely.box(i - 0.5, j - 0.5, i + 0.5, j + 0.5)
            if line.intersects(square):
                found[i, j] = line.intersection(square).length / line.length
    cells = {(i, j): share for i, j, share in MOVE_CELLS[index]}
    assert cells == pytest.approx(found, abs=1e-12)
    assert sum(cells.values()) == pytest.approx(1.0, abs=1e-12)


def test_a_move_to_the_left_mirrors_the_one_to_the_right():
    by_move = dict(zip(map(tuple, MOVES.tolist()), MOVE_CELLS, strict=True))
    for (columns, rows), cells in by_move.items():
        mirrored = {(i, -j, share) for i, j, share in cells}
        assert set(by_move[columns, -rows]) == mirrored


def test_flat_arrays_hold_the_same_cells():
    for k, cells in enumerate(MOVE_CELLS):
        part = slice(MOVE_CELL_START[k], MOVE_CELL_START[k + 1])
        joined = np.column_stack([MOVE_CELL_STEP[part], MOVE_CELL_SHARE[part]])
        np.testing.assert_array_equal(joined, np.array(cells))


def test_worst_elongation_within_45_degrees():
    # any heading is made of its two neighbouring moves; 1.0049 is reached half way between the widest two
    angles = np.unique(np.concatenate([np.arctan2(MOVES[:, 1], MOVES[:, 0])]))
    angles = angles[np.abs(angles) <= np.pi / 4 + 1e-12]
    worst = 1.0 / np.cos(np.diff(angles).max() / 2.0)
    assert worst <= 1.00495
