"""The search's problem as plain arrays, in the form that the compiled code reads.

Room: ``search``. Pure data; imports nothing of the package.

Everywhere: nx columns, ny rows, nm methods, ns soil classes, nr = 1 + 2 nm shaft roles (0 none, then
launch and reception of each method), nl depth levels of one depth step, nc crossings, nv moves.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Booleans = NDArray[np.bool_]

BLOCKED_M = -1e8
N_BINS = 5


class FrameArrays(NamedTuple):
    """Where nodes and cell boundaries lie in plan.

    `node_xy_m` (nx, ny, 2); `tangent` (nx, 2) the axis' direction at each column; `boundary_xy_m`,
    `boundary_tangent` (nx + 1, 2); `offset0_m` the offset of row 0, `cell_m` the row spacing,
    `column_m` the column spacing, `width_m` (nx,) the least distance of each column's two
    boundaries within the frame, `gap_m` the least of all [m]; `aside_rows` how far a line may leave
    the outer rows, in rows.
    """

    node_xy_m: Floats
    tangent: Floats
    boundary_xy_m: Floats
    boundary_tangent: Floats
    offset0_m: float
    cell_m: float
    column_m: float
    gap_m: float
    width_m: Floats
    aside_rows: float


class TrenchArrays(NamedTuple):
    """Open cut: moves between nodes and their prices.

    `moves` (nv, 2) columns and rows; `move_eur` (nx, ny, nv), inf where forbidden, without
    crossings; `entry_eur` the crossings' items paid when the move meets a crossing that its start
    node does not lie in, `entry_back_eur` the same seen from its end node; `inside_eur` (nx, ny) the
    items of the crossings that a node lies in; `fresh_columns` the least run of trench between
    shafts in columns.
    """

    moves: Integers
    move_eur: Floats
    entry_eur: Floats
    entry_back_eur: Floats
    inside_eur: Floats
    fresh_columns: int


class GroundArrays(NamedTuple):
    """What lies at each node, all (nx, ny): levels [m], soils as class indices."""

    ground_m: Floats
    water_level_m: Floats
    soil: Integers
    rock_soil: Integers


class FineArrays(NamedTuple):
    """What drives pass through, on a finer lattice: each cell is cut na times along and nb times across.

    `kind` (nx na, ny nb) the kind of ground, of nk kinds that have one soil, rock and ground cover each;
    `rock_level_m` (nx na, ny nb) the rock head [m]; `soil`, `rock_soil` (nk,) as class indices.
    """

    kind: NDArray[np.int32]
    rock_level_m: Floats
    soil: Integers
    rock_soil: Integers


class DriveArrays(NamedTuple):
    """Drives: ceilings, prices and limits.

    `ceiling_m`, `service_ceiling_m` (nm, nx, ny) [m]; `soil_eur_per_m`, `rock_eur_per_m`
    (nm, nk) by the kind of ground [EUR per m of true length]; segments of features with their cells in
    compressed rows; `drive_fee_eur` (nc,), `passed_eur` (nx, ny) the fees of the crossings that part a
    node from the start; `inside_start` (nx ny + 1,) and `inside_crossing` in compressed rows;
    `longest_m` (nm, ns), 0 where a soil can't be driven; per method (nm,): `least_length_m`,
    `slope_min_frac`, `slope_max_frac`, `bore_m`, `outer_bore_m` from the centre line to the outermost of
    the `n_bores` bores' axes, `deviation_frac`, `head_limit_m`, `fixed_eur`, `piece_eur` by started
    `piece_m` of pipe; boreholes every `borehole_spacing_m`, deeper than the deeper shaft by
    `borehole_below_m`; `layout_eur_per_m`, `layout_eur` (nm, nx, ny) by the ground at the reception;
    `banned` sorted keys of drives that must not be used.
    """

    ceiling_m: Floats
    service_ceiling_m: Floats
    soil_eur_per_m: Floats
    rock_eur_per_m: Floats
    segment_xy_m: Floats
    segment_tangent: Floats
    segment_sin_min_angle: Floats
    segment_is_outline: Booleans
    segment_crossing: Integers
    cell_segment_start: Integers
    cell_segment: Integers
    drive_fee_eur: Floats
    passed_eur: Floats
    inside_start: Integers
    inside_crossing: Integers
    longest_m: Floats
    least_length_m: Floats
    slope_min_frac: Floats
    slope_max_frac: Floats
    bore_m: Floats
    outer_bore_m: Floats
    n_bores: Integers
    deviation_frac: Floats
    head_limit_m: Floats
    fixed_eur: Floats
    piece_eur: Floats
    piece_m: float
    borehole_eur_per_m: float
    borehole_spacing_m: float
    borehole_below_m: float
    layout_eur_per_m: Floats
    layout_eur: Floats
    banned: Integers


class ShaftArrays(NamedTuple):
    """Shafts: where they may stand and what they cost.

    `is_allowed` (nx, ny, nm, 2, N_BINS) by role (0 launch, 1 reception) and heading of the drive;
    `table_eur` (ns, 2, nr, nr, nl) by soil, dry or wet, roles and depth level, inf beyond a limit;
    `site_eur` (nx, ny, nr, nr) what depends on the place; `wet_level` (nx, ny) the least level whose
    bottom lies below groundwater, `rock_level` (nx, ny) the level of the rock head; `least_level`,
    `most_level` (nr,); `weight_eur_per_m` (nr, ns) the slope of the price with depth that chooses a
    drive's line.
    """

    is_allowed: Booleans
    table_eur: Floats
    site_eur: Floats
    wet_level: Integers
    rock_level: Integers
    least_level: Integers
    most_level: Integers
    weight_eur_per_m: Floats
    sump_m: float
    step_m: float


class ForceArrays(NamedTuple):
    """Forces on drives; ns soil classes, nm methods.

    `friction_kN_per_m` (nm, ns) of the string at the expected friction; per method (nm,): `cut_m`,
    `has_face_pressure`, `control_kPa`, `string_kN_per_m`, `capacity_kN` (inf where no limit holds),
    `in_bore_kN_per_m`, `outside_kN_per_m`, `drag_kN`, `safe_pull_kN` (inf without pull-in); per soil (ns,):
    `gamma_kN_per_m3`, `gamma_sat_kN_per_m3`, `phi_deg`; the factors `restart`, `water_factor` and
    `earth_factor`.
    """

    friction_kN_per_m: Floats
    cut_m: Floats
    has_face_pressure: Booleans
    control_kPa: Floats
    string_kN_per_m: Floats
    capacity_kN: Floats
    in_bore_kN_per_m: Floats
    outside_kN_per_m: Floats
    drag_kN: Floats
    safe_pull_kN: Floats
    gamma_kN_per_m3: Floats
    gamma_sat_kN_per_m3: Floats
    phi_deg: Floats
    restart: float
    water_factor: float
    earth_factor: float


class SearchArrays(NamedTuple):
    """The whole problem: one optimum, one plan.

    `pin_shaft`, `pin_via` (nx,): row of the pinned node in a column, else -1; `start_row`,
    `end_row`: rows of the terminals in the first and the last column; `longest_columns`: columns
    that the longest drive can span; `max_tan` the steepest heading of a drive, against the axis at both
    of its ends and over the frame's rows and columns.
    """

    frame: FrameArrays
    trench: TrenchArrays
    ground: GroundArrays
    fine: FineArrays
    drive: DriveArrays
    force: ForceArrays
    shaft: ShaftArrays
    pin_shaft: Integers
    pin_via: Integers
    start_row: int
    end_row: int
    longest_columns: int
    max_tan: float
