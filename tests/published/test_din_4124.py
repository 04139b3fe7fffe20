"""DIN 4124, Excavations and trenches: slopes, braces, widths of the working space.

[seen]: read in excerpts, not in the whole standard; a licensed copy rules. Exact values, no tolerance.
"""

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.engineering.trench import face_deg, narrow_width_m, pipe_width_m, stepped_width_m

A = load_assumptions()


@pytest.mark.parametrize(
    ("depth_m", "sloped_m", "braced_m"),
    [
        pytest.param(1.75, 0.60, 0.70, id="vertical to 1.75 m"),  # [seen]
        pytest.param(1.76, 0.80, 0.80, id="beyond"),  # [seen]
        pytest.param(4.00, 0.80, 0.80, id="to 4.00 m"),  # [seen]
        pytest.param(4.01, 1.00, 1.00, id="deeper"),  # [seen]
    ],
)
def test_width_with_working_space(depth_m, sloped_m, braced_m):
    steps = A.trench.width_steps
    bases = [step.to_depth_m for step in steps]
    for widths, expected in (
        ([step.sloped_width_m for step in steps], sloped_m),
        ([step.braced_width_m for step in steps], braced_m),
    ):
        assert stepped_width_m(depth_m, bases, widths, A.trench.deepest_width_m) == expected


@pytest.mark.parametrize(
    ("soil", "slope_deg"),
    [
        pytest.param("sand_loose", 45.0, id="non-cohesive or soft soil"),  # [seen]
        pytest.param("sand_dense", 45.0, id="dense sand is non-cohesive too"),  # [seen]
        pytest.param("clay_soft", 45.0, id="soft cohesive soil"),  # [seen]
        pytest.param("clay_stiff", 60.0, id="stiff cohesive soil"),  # [seen]
        pytest.param("rock_weak", 80.0, id="rock"),  # [seen]
    ],
)
def test_slope_without_proof(soil, slope_deg):
    assert A.soil[soil].slope_deg == slope_deg


def test_upright_face_and_edge_strip():
    assert A.trench.vertical_limit_m == 1.25  # [seen]
    assert A.trench.edge_strip_m == 0.60  # [seen]


@pytest.mark.parametrize(
    ("cover_m", "expected_m"),
    [
        pytest.param(0.70, 0.30, id="to 0.70 m"),  # [seen]
        pytest.param(0.71, 0.40, id="beyond"),
        pytest.param(0.90, 0.40, id="to 0.90 m"),  # [seen]
        pytest.param(1.00, 0.50, id="to 1.00 m"),  # [seen]
        pytest.param(1.25, 0.60, id="to 1.25 m"),  # [seen]
    ],
)
def test_width_without_working_space(cover_m, expected_m):
    assert narrow_width_m(cover_m) == expected_m


@pytest.mark.parametrize(
    ("outer_m", "depth_m", "slope_deg", "expected_m"),
    [
        pytest.param(0.10, 1.75, 60.0, 0.60, id="by depth, sloped"),  # [seen]
        pytest.param(0.10, 1.75, 90.0, 0.70, id="by depth, braced"),  # [seen]
        pytest.param(0.10, 1.76, 60.0, 0.80, id="beyond 1.75 m"),
        pytest.param(0.10, 4.00, 90.0, 0.80, id="to 4.00 m"),  # [seen]
        pytest.param(0.10, 4.01, 60.0, 1.00, id="deeper"),  # [seen]
        pytest.param(0.40, 1.50, 60.0, 0.80, id="OD + 0.40"),  # [seen]
    ],
)
def test_width_with_one_pipe(outer_m, depth_m, slope_deg, expected_m):
    assert pipe_width_m(outer_m, depth_m, slope_deg=slope_deg) == pytest.approx(expected_m)


def test_faces_without_proof():
    # upright to 1.25 m, sloped to 5 m [seen]
    faces = face_deg([1.25, 1.26, 5.00], 60.0, vertical_limit_m=A.trench.vertical_limit_m, deepest_m=5.0)
    assert faces.tolist() == [90.0, 60.0, 60.0]
