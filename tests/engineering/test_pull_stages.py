"""Pull-in by stages: by hand, the largest against every stage, and laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.pull_in import floating_weight_kN_per_m, most_pipe_pull_kN
from routescreen.engineering.pull_stages import most_pull, pull_stages, string_left_kN
from routescreen.engineering.uplift import net_uplift_kN_per_m

RUNS_M, PER_M = np.array([300.0, 80.0, 240.0]), np.array([1.0, 3.0, 2.0])
PIPE = {"in_bore_kN_per_m": 0.25, "outside_kN_per_m": 0.06, "drag_kN": 1.75}
lengths = st.lists(st.floats(0.0, 500.0), min_size=1, max_size=4)
positives = st.floats(0.1, 10.0)


@pytest.mark.parametrize(
    ("pulled_m", "left_kN"),
    [
        pytest.param(0.0, 300.0 + 240.0 + 480.0, id="nothing pulled: the whole string"),
        pytest.param(240.0, 300.0 + 240.0, id="the run at the reception is free first"),
        pytest.param(270.0, 300.0 + 3.0 * 50.0, id="within a run"),
        pytest.param(620.0, 0.0, id="all pulled"),
    ],
)
def test_string_left_by_hand(pulled_m, left_kN):
    assert string_left_kN(pulled_m, RUNS_M, PER_M) == pytest.approx(left_kN)


def test_stages_by_hand():
    # 310 m in: pipe 0.25 x 310 + 0.06 x 310 + 1.75; string 300 + 3 x 10
    stage = pull_stages(310.0, RUNS_M, PER_M, **PIPE)
    assert stage.pipe_kN == pytest.approx(97.85)
    assert stage.rig_kN == pytest.approx(97.85 + 330.0)


def test_restart_takes_all_friction_but_not_the_fluid_s_drag():
    stage = pull_stages(310.0, RUNS_M, PER_M, **PIPE, restart_factor=1.5)
    assert stage.pipe_kN == pytest.approx(1.5 * 96.1 + 1.75)
    assert stage.string_kN == pytest.approx(1.5 * 330.0)


@given(runs=lengths, in_bore=st.floats(0.0, 3.0), outside=st.floats(0.0, 3.0), factor=st.floats(1.0, 2.0))
def test_largest_pull_is_reached_and_never_passed(runs, in_bore, outside, factor):
    run = np.array(runs)
    friction = np.linspace(0.2, 2.0, len(runs))
    pipe = {
        "in_bore_kN_per_m": in_bore,
        "outside_kN_per_m": outside,
        "drag_kN": 2.0,
        "restart_factor": factor,
    }
    most = most_pull(run, friction, **pipe)
    ends = np.concatenate([[0.0], np.cumsum(run[::-1])])
    pulled = np.union1d(np.linspace(0.0, run.sum(), 51), np.minimum(ends, run.sum()))
    stages = pull_stages(pulled, run, friction, **pipe)
    assert most.pipe_kN[0] == pytest.approx(stages.pipe_kN.max(), abs=1e-6)
    assert most.rig_kN[1] == pytest.approx(stages.rig_kN.max(), abs=1e-6)


def test_largest_pull_on_one_run_is_the_compiled_formula():
    for in_bore, outside in ((0.25, 0.06), (0.01, 0.06)):
        most = most_pull([620.0], [1.57], in_bore_kN_per_m=in_bore, outside_kN_per_m=outside, drag_kN=1.75)
        assert most.pipe_kN[0] == pytest.approx(most_pipe_pull_kN(620.0, in_bore, outside, 1.75))


@given(k=positives, runs=lengths)
def test_pulls_scale_with_lengths_and_forces(k, runs):
    run, friction = np.array(runs), np.ones(len(runs))
    one = most_pull(run, friction, **PIPE)
    longer = most_pull(k * run, friction, **{**PIPE, "drag_kN": 1.75 * k})
    harder = most_pull(run, k * friction, **{name: k * value for name, value in PIPE.items()})
    assert longer.rig_kN == pytest.approx(k * one.rig_kN)
    assert harder.pipe_kN == pytest.approx(k * one.pipe_kN)
    half = pull_stages(0.5 * run.sum(), run, friction, **PIPE)
    assert pull_stages(0.5 * k * run.sum(), k * run, friction, **{**PIPE, "drag_kN": 1.75 * k}).rig_kN == (
        pytest.approx(k * half.rig_kN)
    )
    assert string_left_kN(0.0, k * run, friction) == pytest.approx(k * run.sum())


def test_many_drives_at_once_are_each_alone():
    runs = np.array([[300.0, 80.0, 240.0], [100.0, 0.0, 50.0]])
    per_m = np.array([[1.0, 3.0, 2.0], [0.5, 9.0, 1.0]])
    pipe = {"in_bore_kN_per_m": [0.25, 1.0], "outside_kN_per_m": [0.06, 0.1], "drag_kN": [1.75, 0.0]}
    together = most_pull(runs, per_m, **pipe)
    for i in range(2):
        alone = most_pull(runs[i], per_m[i], **{name: value[i] for name, value in pipe.items()})
        assert together.rig_kN[i] == pytest.approx(alone.rig_kN)


def test_net_uplift_is_the_floating_weight_turned_over():
    uplift = net_uplift_kN_per_m(0.5, 14.0, 0.608, inside_diameter_m=0.409, ballast_kN_per_m3=9.81)
    assert uplift == pytest.approx(-floating_weight_kN_per_m(0.608, 0.409, 0.5, 14.0))


def test_negative_run_is_refused():
    with pytest.raises(ValueError, match="a run must be 0 or above"):
        most_pull([-1.0], [1.0], **PIPE)
    with pytest.raises(ValueError, match="restart factor"):
        pull_stages(0.0, [1.0], [1.0], **PIPE, restart_factor=0.0)
