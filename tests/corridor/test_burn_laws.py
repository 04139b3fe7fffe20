"""Laws of all that is burnt: mirrors, turned axes, wider clearances."""

import numpy as np
import shapely
from shapely import LineString

from routescreen.assumptions import load_assumptions
from routescreen.corridor.stencil import MOVES
from tests.corridor.cases import across, burnt_case, corridor, crossing, straight, strip

AHEAD = 0  # index of the move (1, 0)


def mirror(geometry):
    return shapely.transform(geometry, lambda xy: xy * [1.0, -1.0])


def test_mirrored_corridor_gives_mirrored_arrays():
    rows = [
        crossing("river", LineString([(150, -150), (180, 20), (260, 150)])),
        crossing("building", shapely.box(60, 30, 80, 50)),
        crossing("road", LineString([(300, -120), (330, 130)])),
    ]
    _, _, burnt = burnt_case(straight(*rows))
    _, _, other = burnt_case(straight(*({**row, "geometry": mirror(row["geometry"])} for row in rows)))
    flipped_move = [MOVES.tolist().index([columns, -rows]) for columns, rows in MOVES.tolist()]
    np.testing.assert_array_equal(other.move_ok[:, ::-1][..., flipped_move], burnt.move_ok)
    np.testing.assert_array_equal(other.move_narrow[:, ::-1][..., flipped_move], burnt.move_narrow)
    np.testing.assert_allclose(other.ceiling_m[:, :, ::-1], burnt.ceiling_m)
    np.testing.assert_array_equal(other.shaft_ok[:, :, ::-1, :, ::-1], burnt.shaft_ok)
    assert len(other.pair_move) == len(burnt.pair_move)


def test_reversed_axis_gives_reversed_ceilings_and_shafts():
    rows = [crossing("river", LineString([(150, -150), (180, 20), (260, 150)]))]
    _, _, burnt = burnt_case(straight(*rows))
    back = corridor(strip(400.0, 200.0), axis=LineString([(400, 0), (0, 0)]), crossings=rows)
    _, _, other = burnt_case(back)
    np.testing.assert_allclose(other.ceiling_m[:, ::-1, ::-1], burnt.ceiling_m)
    # a heading to the right stays one to the right when walked backwards
    np.testing.assert_array_equal(other.shaft_ok[..., ::-1, ::-1], burnt.shaft_ok)


def test_fixed_line_burns_in_one_row():
    inp = corridor(
        fixed_line=LineString([(0, 0), (250, 0), (400, 60)]), crossings=[crossing("railway", across(150))]
    )
    frame, _, burnt = burnt_case(inp)
    assert frame.shape[1] == 1
    assert not burnt.move_ok[..., 1:].any()
    np.testing.assert_array_equal(
        np.flatnonzero(~burnt.move_ok[:, 0, AHEAD]), [12, 13, 14, 15, 16, 17, frame.shape[0] - 1]
    )
    assert burnt.shaft_ok[:, :, 2, 5, 0].all()


def test_a_wider_clearance_only_takes_moves_away():
    wide = load_assumptions("[treatments.railway]\nshaft_clearance_m = 25.0\n")
    row = crossing("railway", LineString([(120, -150), (260, 150)]))
    _, _, burnt = burnt_case(straight(row))
    _, _, less = burnt_case(straight(row), assumptions=wide)
    assert not (less.move_ok & ~burnt.move_ok).any()
    assert less.move_ok.sum() < burnt.move_ok.sum()
    assert not (less.shaft_ok & ~burnt.shaft_ok).any()
