"""A corridor small enough for a pencil: the depth of a shared shaft decides.

Six nodes in a line, columns 0 to 5, 100 m apart, one depth step a metre. A trench costs 1 a cell and
is closed on columns 2 to 4. A shaft for one drive costs 1 + D, for two drives 2 + D. Shafts may stand
at 1, 3 and 5. The ceiling of the crown lies at level 0, at column 5 at 0.6; the price of depth is four
times as steep at the reception, so a drive's line touches the ceiling's hull at 4/5 of its length.

- Drive 1-5: level line (4/5 of 400 m = 320 m, before the ceiling rises at 350 m). Depths 1.8 -> 2
  and 2.5 -> 3. It costs 1 + 2 + 1 = 4: set-up, first crossing, second crossing.
- Drive 1-3: level line. Depths 1.8 -> 2 and 2.8 -> 3. It costs 1 + 2 = 3.
- Drive 3-5: 4/5 of 200 m = 160 m lies where the ceiling rises from 150 m to 200 m by 0.6 m: slope
  0.012, 1.8 m below level 0 at column 3. Depths 2.8 + 1.8 = 4.6 -> 5 and 2.5 - 0.6 = 1.9 -> 2.
  It costs 1 + 1 = 2.

One drive:  trench 1 + shaft (1 + 2) + drive 4 + shaft (1 + 3) = 12.
Two drives: trench 1 + shaft (1 + 2) + drive 3 + shaft (2 + max(3, 5)) + drive 2 + shaft (1 + 2) = 19;
17 if the shaft at 3 is only as deep as the drive that arrives there.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.instances import MOVES, no_forces
from benchmarks.oracles.brute_force import enumerate_plans
from benchmarks.oracles.pieces import pieces_of
from benchmarks.proof import run
from routescreen.search.arrays import (
    N_BINS,
    DriveArrays,
    FineArrays,
    FrameArrays,
    GroundArrays,
    SearchArrays,
    ShaftArrays,
    TrenchArrays,
    entry_arrays,
    no_gaps,
    none_drilled,
    sites_of_nodes,
)
from routescreen.search.layout import open_land
from routescreen.search.solve import DriveStep, optimum_eur, settle_drive
from routescreen.search.trace import trace_plan

COLUMN_M = 100.0
LAUNCH, RECEPTION = 1, 2


def _key(lower: int, upper: int) -> int:
    """Name the drive between two columns launched at the lower one (six nodes, one method)."""
    return (lower * 6 + upper) * 2 + 1


def _frame() -> FrameArrays:
    along = np.stack([np.arange(6) * COLUMN_M, np.zeros(6)], axis=1)
    boundary = np.stack([(np.arange(7) - 0.5) * COLUMN_M, np.zeros(7)], axis=1)
    ahead = np.array([1.0, 0.0])
    return FrameArrays(
        node_xy_m=along[:, None, :].copy(),
        tangent=np.tile(ahead, (6, 1)),
        boundary_xy_m=boundary,
        boundary_tangent=np.tile(ahead, (7, 1)),
        offset0_m=0.0,
        cell_m=COLUMN_M,
        column_m=COLUMN_M,
        gap_m=COLUMN_M,
        width_m=np.full(6, COLUMN_M),
        aside_rows=0.52,
    )


def _drives(borehole_eur_per_m: float, banned: list[int]) -> DriveArrays:
    ceiling = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.6]).reshape(1, 6, 1)
    zero = np.zeros((1, 6, 1))
    return DriveArrays(
        ceiling_m=ceiling,
        service_ceiling_m=np.full((1, 6, 1), 1e9),
        floor_m=np.full((1, 6, 1), -1e9, np.float32),
        gap=no_gaps((1, 6, 1)),
        soil_eur_per_m=zero[0, :1],
        rock_eur_per_m=zero[0, :1],
        segment_xy_m=np.array([[130.0, -50.0, 130.0, 50.0], [430.0, -50.0, 430.0, 50.0]]),
        segment_tangent=np.array([[0.0, 1.0], [0.0, 1.0]]),
        segment_sin_min_angle=np.zeros(2),
        segment_is_outline=np.ones(2, bool),
        segment_crossing=np.arange(2),
        cell_segment_start=np.array([0, 0, 1, 1, 1, 2, 2]),
        cell_segment=np.array([0, 1]),
        drive_fee_eur=np.array([2.0, 1.0]),
        is_closed=np.zeros((1, 2), np.bool_),
        passed_eur=np.array([0.0, 0.0, 2.0, 2.0, 2.0, 3.0]).reshape(1, 6, 1),
        inside_start=np.zeros(7, np.int64),
        inside_crossing=np.zeros(0, np.int64),
        longest_m=np.array([[1000.0]]),
        least_length_m=np.zeros(1),
        slope_min_frac=np.array([-0.05]),
        slope_max_frac=np.array([0.05]),
        arc_per_m=np.zeros(1),
        bore_m=np.zeros(1),
        outer_bore_m=np.zeros(1),
        n_bores=np.ones(1, np.int64),
        deviation_frac=np.zeros(1),
        head_limit_m=np.array([99.0]),
        fixed_eur=np.ones(1),
        piece_eur=np.zeros(1),
        piece_m=12.0,
        borehole_eur_per_m=borehole_eur_per_m,
        borehole_spacing_m=250.0,
        borehole_below_m=0.0,
        pump_eur=np.zeros(1),
        pump_eur_per_m=np.zeros((1, 1)),
        layout_eur_per_m=zero,
        layout_eur=zero,
        banned=np.array(banned, np.int64),
    )


def _shafts() -> ShaftArrays:
    depth = np.arange(11.0)
    table = np.broadcast_to(1.0 + depth, (1, 3, 3, 3, 11)).copy()
    table[:, :, 1:, 1:] += 1.0
    table[:, :, 0, 0] = np.inf
    allowed = np.zeros((6, 1, 1, 2, N_BINS), bool)
    allowed[[1, 3], :, :, 0] = True  # launch
    allowed[[3, 5], :, :, 1] = True  # reception
    return ShaftArrays(
        is_allowed=allowed,
        table_eur=table,
        ramp_eur=np.zeros((1, 12, 3, 11)),
        ramp_steps=1,
        fill_eur=np.zeros((1, 3, 3, 11)),
        fill_level=np.full((1, 1, 3), 99),
        fill_below=np.zeros(3, np.int64),
        site=sites_of_nodes(np.zeros((6, 1, 3, 3))),
        reached_level=np.full((6, 1), 99),
        wet_level=np.full((6, 1), 99),
        lowest_level=np.full((6, 1), 99),
        rock_level=np.full((6, 1), 99),
        least_level=np.zeros(3, np.int64),
        most_level=np.full(3, 10),
        weight_eur_per_m=np.array([[1.0], [1.0], [4.0]]),
        sump_m=0.0,
        step_m=1.0,
    )


def corridor(*, borehole_eur_per_m: float = 0.0, banned: tuple[int, ...] = ()) -> SearchArrays:
    move_eur = np.full((6, 1, len(MOVES)), np.inf)
    move_eur[0, 0, 0] = 1.0
    nothing = np.zeros_like(move_eur)
    ground = np.array([[2.0], [1.8], [5.0], [2.8], [5.0], [2.5]])
    soil = np.zeros((6, 1), np.int64)
    dry = np.full((6, 1), -np.inf)
    return SearchArrays(
        frame=_frame(),
        trench=TrenchArrays(MOVES, move_eur, entry_arrays(nothing, nothing), np.zeros((6, 1)), 1),
        ground=GroundArrays(ground, dry, soil, soil),
        fine=FineArrays(np.zeros((6, 1), np.int32), dry.astype(np.float32), soil[0], soil[0]),
        drive=_drives(borehole_eur_per_m, sorted(banned)),
        drilled=none_drilled(1),
        force=no_forces(1, 1),
        layout=open_land(1, (6, 1)),
        shaft=_shafts(),
        pin_shaft=np.full(6, -1),
        pin_via=np.full(6, -1),
        start_row=0,
        end_row=0,
        longest_columns=5,
        max_tan=0.5,
    )


@pytest.mark.parametrize(
    ("lower", "upper", "eur", "levels"),
    [(1, 5, 4.0, (2, 3)), (1, 3, 3.0, (2, 3)), (3, 5, 2.0, (5, 2))],
    ids=["one-drive", "first-of-two", "second-of-two"],
)
def test_drives_as_drawn(lower: int, upper: int, eur: float, levels: tuple[int, int]) -> None:
    drive = settle_drive(corridor(), (lower, 0), (upper, 0), 0, True)
    assert drive is not None
    assert drive.line.eur == pytest.approx(eur)
    assert (drive.line.lower_level, drive.line.upper_level) == levels


def dipping(radius_m: float) -> SearchArrays:
    """The corridor with its ceiling 0.5 m lower at column 2, its drives on arcs of a radius, inf straight."""
    arrays = corridor()
    ceiling = arrays.drive.ceiling_m.copy()
    ceiling[0, 2, 0] = -0.5
    return arrays._replace(
        drive=arrays.drive._replace(ceiling_m=ceiling, arc_per_m=np.array([0.5 / radius_m]))
    )


def test_an_arc_dips_under_what_makes_a_straight_drive_deep() -> None:
    """Drive 1-3 under the dip from 50 m to 150 m, weights 1 to 4: it touches the hull at 160 m of 200 m.

    Straight: the edge from (150, -0.5) to (200, 0) rises by 0.01, from 2 m below at 1: 1.8 + 2 -> 4 levels.
    On an arc of 10 000 m the ceiling is raised by 50 x 150 / 20 000 = 0.375 at both edges of the dip: the
    hull's edge from (150, -0.125) rises by 0.0025, from 0.5 m below at 1: 2.3 -> 3 levels. The arc itself is
    0.5 m lower in the middle than its chord, level 25 m before it: -0.5 + 0.0025 x 75 - 75 x 125 / 20 000.
    """
    straight = settle_drive(dipping(np.inf), (1, 0), (3, 0), 0, True)
    arc = settle_drive(dipping(10_000.0), (1, 0), (3, 0), 0, True)
    assert straight is not None
    assert arc is not None
    assert (straight.line.lower_level, straight.line.upper_level) == (4, 3)
    assert (arc.line.lower_level, arc.line.upper_level) == (3, 3)
    assert arc.line.slope_frac == pytest.approx(0.0025)
    levels = arc.crowns_m(np.array([0.0, 50.0, 100.0, 150.0, 200.0]))
    assert levels == pytest.approx([-0.5, -0.75, -0.75, -0.5, 0.0])
    assert arc.lowest_crown_m == pytest.approx(-0.78125)
    # slopes from -0.0075 to 0.0125: their squares are 0.0025^2 + 0.01^2 / 3 in the mean
    assert arc.true_length_m == pytest.approx(200.0 * (1.0 + 0.5 * (0.0025**2 + 0.01**2 / 3.0)), abs=1e-5)


def test_both_ends_of_an_arc_keep_the_limits_of_grade() -> None:
    """5 % at either end: 200 m on 2 000 m take all of it with a level chord, any more bend is too much."""
    at_limit = settle_drive(dipping(2000.0), (1, 0), (3, 0), 0, True)
    assert at_limit is not None
    assert at_limit.line.slope_frac == pytest.approx(0.0, abs=1e-12)
    assert settle_drive(dipping(1990.0), (1, 0), (3, 0), 0, True) is None


@pytest.mark.parametrize(
    ("limit", "bend"),
    [("capacity_kN", "string_bend"), ("safe_pull_kN", "pipe_bend")],
    ids=["string-pushed", "pipe-pulled"],
)
def test_what_goes_through_an_arc_presses_on_its_wall(limit: str, bend: str) -> None:
    """200 kN of friction on the arc 1-3, which turns by 0.02: e^(5 x 0.02) makes 221 kN, e^(2 x 0.02) 208 kN.

    A limit of 215 kN lies between.
    """
    arrays = dipping(10_000.0)
    one = (
        {"friction_kN_per_m": np.ones((1, 1))} if limit == "capacity_kN" else {"in_bore_kN_per_m": np.ones(1)}
    )
    for friction, is_built in ((0.0, True), (2.0, True), (5.0, False)):
        force = arrays.force._replace(**one, **{limit: np.array([215.0]), bend: friction})
        drive = settle_drive(arrays._replace(force=force), (1, 0), (3, 0), 0, True)
        assert (drive is not None) == is_built


@pytest.mark.parametrize("is_pruned", [True, False])
@pytest.mark.parametrize(
    ("radius_m", "eur"),
    [
        pytest.param(np.inf, np.inf, id="straight-none"),
        pytest.param(10_000.0, 18.0, id="gentle"),
        pytest.param(200.0 / 0.09, 17.0, id="4.5-percent-at-the-ends"),
    ],
)
def test_shafts_too_shallow_for_a_straight_drive_serve_an_arc(
    radius_m: float, eur: float, is_pruned: bool
) -> None:
    """Shafts of 3 levels at most under the dip; drive 1-5 is banned, so 1-3 and 3-5 or nothing.

    Straight from 1.2 m below at 1 to 0.2 m below at 3 the crown lies at -0.45 at 150 m: above the dip.
    On 10 000 m: 1-3 needs 3 and 3 levels as above; 3-5 would start 0.3 m below, the shaft allows 0.2 m: from
    there by 0.575 m in 150 m, to 0.567 m: 3 and 2 levels. 1 + (1 + 3) + 3 + (2 + 3) + 2 + (1 + 2) = 18.
    With 4.5 % at the ends the dip, raised by 50 x 150 x 0.00045 / 2 = 1.69 m, asks for nothing: 1-3 is level,
    2 and 3 levels, 3-5 rises from 0 to 0.6 m by 0.3 %, 3 and 2: 17.
    """
    arrays = dipping(radius_m)
    shaft = arrays.shaft._replace(most_level=np.full(3, 3))
    drive = arrays.drive._replace(banned=np.array([_key(1, 5)], np.int64))
    shallow = arrays._replace(shaft=shaft, drive=drive)
    assert optimum_eur(shallow, run(shallow, is_pruned=is_pruned)) == pytest.approx(eur)


@pytest.mark.parametrize(
    ("arrays", "eur", "shafts"),
    [
        pytest.param(corridor(), 12.0, [(1, 0, LAUNCH, 2), (5, RECEPTION, 0, 3)], id="one-drive-is-cheaper"),
        pytest.param(
            corridor(banned=(_key(1, 5),)),
            19.0,
            [(1, 0, LAUNCH, 2), (3, RECEPTION, LAUNCH, 5), (5, RECEPTION, 0, 2)],
            id="the-deeper-drive-sets-the-shared-shaft",
        ),
        # one borehole of 3 m half way, 2 EUR/m, makes the one drive 10 and its plan 18: dearer than
        # the 17 of the forgotten depth, cheaper than the true 19
        pytest.param(
            corridor(borehole_eur_per_m=2.0),
            18.0,
            [(1, 0, LAUNCH, 2), (5, RECEPTION, 0, 3)],
            id="who-forgets-the-shared-depth-chooses-the-dearer-plan",
        ),
    ],
)
def test_plan_by_hand(arrays: SearchArrays, eur: float, shafts: list[tuple[int, int, int, int]]) -> None:
    forward = run(arrays)
    plan = trace_plan(arrays, forward)
    assert optimum_eur(arrays, forward) == pytest.approx(eur)
    assert [(s.node[0], s.incoming_role, s.outgoing_role, s.level) for s in plan.shafts] == shafts
    assert enumerate_plans(pieces_of(arrays)).eur == pytest.approx(eur)


def test_no_plan_without_any_drive() -> None:
    arrays = corridor(banned=(_key(1, 3), _key(1, 5)))
    forward = run(arrays)
    assert optimum_eur(arrays, forward) == np.inf
    with pytest.raises(ValueError, match="no plan"):
        trace_plan(arrays, forward)


def test_steps_run_from_terminal_to_terminal() -> None:
    arrays = corridor(banned=(_key(1, 5),))
    plan = trace_plan(arrays, run(arrays))
    drives = [step for step in plan.steps if isinstance(step, DriveStep)]
    assert [(drive.lower, drive.upper) for drive in drives] == [((1, 0), (3, 0)), ((3, 0), (5, 0))]
    assert len(plan.steps) == 3
