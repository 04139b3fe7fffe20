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


class EntryArrays(NamedTuple):
    """Crossings' items paid on moves: few prices, since few moves meet anything.

    `price_eur` (n,) the prices that occur, 0 among them; `ahead`, `back` (nx, ny, nv) which of them a move
    pays, ahead and seen from its end node.
    """

    price_eur: Floats
    ahead: NDArray[np.uint16]
    back: NDArray[np.uint16]


class TrenchArrays(NamedTuple):
    """Open cut: moves between nodes and their prices.

    `moves` (nv, 2) columns and rows; `move_eur` (nx, ny, nv), inf where forbidden, without
    crossings; `entry` the crossings' items paid when the move meets a crossing that its start
    node does not lie in, and the same seen from its end node; `inside_eur` (nx, ny) the
    items of the crossings that a node lies in; `fresh_columns` the least run of trench between
    shafts in columns.
    """

    moves: Integers
    move_eur: Floats
    entry: EntryArrays
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
    `rock_level_m` (nx na, ny nb) the rock head [m], in single precision: good to a tenth of a millimetre;
    `soil`, `rock_soil` (nk,) as class indices.
    """

    kind: NDArray[np.int32]
    rock_level_m: NDArray[np.float32]
    soil: Integers
    rock_soil: Integers


class GapArrays(NamedTuple):
    """Levels at which the cables would be too warm, between two ranges in which they are not.

    Of every cell that a line touches its crown must lie above `dry_floor_m` or below `wet_ceiling_m`
    (nm, nx, ny) all through a column; -1e9 and 1e9 where there is no gap [m]; `has_gap` (nm,) whether a
    method has one anywhere.
    """

    dry_floor_m: NDArray[np.float32]
    wet_ceiling_m: NDArray[np.float32]
    has_gap: Booleans


def no_gaps(shape: tuple[int, ...]) -> GapArrays:
    """Return that no level is too warm in between, for (nm, nx, ny)."""
    return GapArrays(
        np.full(shape, -1e9, np.float32), np.full(shape, 1e9, np.float32), np.zeros(shape[0], np.bool_)
    )


class DriveArrays(NamedTuple):
    """Drives: ceilings, prices and limits.

    `ceiling_m`, `service_ceiling_m` (nm, nx, ny) [m]; `floor_m` (nm, nx, ny) below which the crown must not
    lie, for the cable's sake [m], and `gap` above it; `soil_eur_per_m`, `rock_eur_per_m`
    (nm, nk) by the kind of ground [EUR per m of true length]; segments of features with their cells in
    compressed rows; `drive_fee_eur` (nc,), `is_closed` (nm, nc) under which a
    method may not pass whatever its line; `passed_eur` (nm, nx, ny) the fees of the crossings that part a
    node from the start, more than any plan costs for one that is closed; `inside_start` (nx ny + 1,) and
    `inside_crossing` in compressed rows;
    `longest_m` (nm, ns), 0 where a soil can't be driven; per method (nm,): `least_length_m`,
    `slope_min_frac`, `slope_max_frac`, `arc_per_m` 1/(2 R) of a method that drives on an arc of radius R, 0
    of one that drives straight [1/m], `bore_m`, `outer_bore_m` from the centre line to the outermost of
    the `n_bores` bores' axes, `deviation_frac`, `head_limit_m`, `fixed_eur`, `piece_eur` by started
    `piece_m` of pipe; boreholes every `borehole_spacing_m`, deeper than the deeper shaft by
    `borehole_below_m`; for each end below the groundwater as given `pump_eur` (nm,) and `pump_eur_per_m`
    (nm, ns) by the soil on the way; `layout_eur_per_m`, `layout_eur` (nm, nx, ny) by the ground at the
    reception; `banned` sorted keys of drives that must not be used.
    """

    ceiling_m: Floats
    service_ceiling_m: Floats
    floor_m: NDArray[np.float32]
    gap: GapArrays
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
    is_closed: Booleans
    passed_eur: Floats
    inside_start: Integers
    inside_crossing: Integers
    longest_m: Floats
    least_length_m: Floats
    slope_min_frac: Floats
    slope_max_frac: Floats
    arc_per_m: Floats
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
    pump_eur: Floats
    pump_eur_per_m: Floats
    layout_eur_per_m: Floats
    layout_eur: Floats
    banned: Integers


class SiteArrays(NamedTuple):
    """What the place of a shaft adds to its price: near_eur + road_frac (far_eur - near_eur).

    `kind` (nx, ny) which of nk places a node is, `road_frac` (nx, ny) how far it is from a road; `near_eur`,
    `far_eur` (nk, nr, nr) by kind and roles, next to a road and furthest from one.
    """

    kind: NDArray[np.int32]
    road_frac: Floats
    near_eur: Floats
    far_eur: Floats


class ShaftArrays(NamedTuple):
    """Shafts: where they may stand and what they cost.

    `is_allowed` (nx, ny, nm, 2, N_BINS) by role (0 launch, 1 reception) and heading of the drive;
    `table_eur` (ns, 3, nr, nr, nl) by soil, water (0 dry, 1 reached by the highest water only, 2 below
    the groundwater as given), roles and depth level, inf beyond a limit; `ramp_eur` (ns, nw, nr, nl) the
    price of its ramps by soil, `wet_level` over `ramp_steps` rounded up (the last for all beyond), role
    and depth level: the larger of both roles counts; `fill_eur` (ns, nr, nr, nl) the price of conducting
    fill, `fill_level` (ns, ns, nr) the first level that asks for it by soil, soil round the bores and
    role, and `fill_below` (nr,) how many levels below the lowest water at least; `site` what depends on
    the place; `reached_level`, `wet_level` (nx, ny) the least levels whose bottom lies below the highest
    groundwater and below that as given, `lowest_level` (nx, ny) the depth of the lowest groundwater,
    rounded up, `rock_level` (nx, ny) the level of the rock head; `least_level`, `most_level` (nr,);
    `weight_eur_per_m` (nr, ns) the slope of the price with depth that chooses a drive's line.
    """

    is_allowed: Booleans
    table_eur: Floats
    ramp_eur: Floats
    ramp_steps: int
    fill_eur: Floats
    fill_level: Integers
    fill_below: Integers
    site: SiteArrays
    reached_level: Integers
    wet_level: Integers
    lowest_level: Integers
    rock_level: Integers
    least_level: Integers
    most_level: Integers
    weight_eur_per_m: Floats
    sump_m: float
    step_m: float


class GroutArrays(NamedTuple):
    """What the grout in the annulus must have and may have; ns soil classes, nm methods.

    `is_limited` (nm,) whether a method's annulus is grouted in one go; `bed_m`, `bed_water_m` (nx, ny) the
    lowest ground or bed over all bores, and the depth of water below it, negative where it stands on it [m];
    `cohesion_kPa`, `modulus_kPa`, `undrained_kPa` (NaN in drained soil), `depth_share` (ns,) see
    `engineering.grout_limit.CrownGround`; the unit weight of the grout, what it must have over the water, and
    the partial factors.
    """

    is_limited: Booleans
    bed_m: NDArray[np.float32]
    bed_water_m: NDArray[np.float32]
    cohesion_kPa: Floats
    modulus_kPa: Floats
    undrained_kPa: Floats
    depth_share: Floats
    grout_kN_per_m3: float
    above_water_kPa: float
    tan_phi_factor: float
    cohesion_factor: float
    modulus_factor: float
    strain_frac: float


NO_GROUT = GroutArrays(
    np.zeros(0, np.bool_),
    np.zeros((0, 0), np.float32),
    np.zeros((0, 0), np.float32),
    cohesion_kPa=np.zeros(0),
    modulus_kPa=np.zeros(0),
    undrained_kPa=np.zeros(0),
    depth_share=np.zeros(0),
    grout_kN_per_m3=1.0,
    above_water_kPa=0.0,
    tan_phi_factor=1.0,
    cohesion_factor=1.0,
    modulus_factor=1.0,
    strain_frac=1.0,
)


class ForceArrays(NamedTuple):
    """Forces on drives; ns soil classes, nm methods.

    `friction_kN_per_m` (nm, ns) of the string at the expected friction; per method (nm,): `cut_m`,
    `has_face_pressure`, `control_kPa`, `string_kN_per_m`, `capacity_kN` (inf where no limit holds),
    `frame_run_m` the length of string that the frame pushes itself (inf: all of it), `station_run_m`,
    `station_kN` what each intermediate station pushes and gives;
    `in_bore_kN_per_m`, `outside_kN_per_m`, `drag_kN`, `safe_pull_kN` (inf without pull-in); per soil (ns,):
    `gamma_kN_per_m3`, `gamma_sat_kN_per_m3`, `phi_deg`; the factors `restart`, `water_factor` and
    `earth_factor`; friction `string_bend`, `pipe_bend` of string and pipe on the wall of an arc; `grout` what
    its pressure may be.
    """

    friction_kN_per_m: Floats
    cut_m: Floats
    has_face_pressure: Booleans
    control_kPa: Floats
    string_kN_per_m: Floats
    capacity_kN: Floats
    frame_run_m: Floats
    station_run_m: Floats
    station_kN: Floats
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
    string_bend: float = 0.0
    pipe_bend: float = 0.0
    grout: GroutArrays = NO_GROUT


class DrilledArrays(NamedTuple):
    """Methods that drill from pit to pit; per method (nm,).

    `is_drilled`; `entry_rad`, `exit_rad` angles to the horizontal at the launch and the reception,
    `radius_m` of the bends; `cover_m` that the method needs where nothing else asks for more, `surface` which
    of the `surface_m` (nd, nx, ny) holds its lowest ground over all bores [m]; `pipe_kN_per_m` weight of the
    pipe, `uplift_kN_per_m` of it ballasted in the bore's mud, `roller_friction`, `bore_friction`.
    """

    is_drilled: Booleans
    entry_rad: Floats
    exit_rad: Floats
    radius_m: Floats
    cover_m: Floats
    surface: Integers
    surface_m: Floats
    pipe_kN_per_m: Floats
    uplift_kN_per_m: Floats
    roller_friction: Floats
    bore_friction: Floats


def none_drilled(n_methods: int) -> DrilledArrays:
    """Return that no method drills from pit to pit."""
    zero = np.zeros(n_methods)
    return DrilledArrays(
        is_drilled=np.zeros(n_methods, np.bool_),
        entry_rad=zero,
        exit_rad=zero,
        radius_m=zero,
        cover_m=zero,
        surface=np.zeros(n_methods, np.int64),
        surface_m=np.zeros((0, 0, 0)),
        pipe_kN_per_m=zero,
        uplift_kN_per_m=zero,
        roller_friction=zero,
        bore_friction=zero,
    )


class LayoutArrays(NamedTuple):
    """Ground for the pipe strings, which lie behind the reception before they are pulled in.

    `segment_xy_m` (ng, 4) the edges of all land that bears no string; which of them meet a square of
    `cell_m` in compressed rows: `cell_key` (nk,) sorted, `cell_start` (nk + 1,), `cell_segment`; `is_open`
    (nx, ny) whether a node itself bears one. Per method (nm,): `half_width_m` of all strings side by side,
    `ahead_m` from the shaft's middle to the string, working length included, `most_pieces` (0: no
    layout needed), `tie_in_eur`, `radius_m` of the strings' middle where they are laid in a bend.
    """

    segment_xy_m: Floats
    cell_m: float
    cell_key: Integers
    cell_start: Integers
    cell_segment: Integers
    is_open: Booleans
    half_width_m: Floats
    ahead_m: Floats
    most_pieces: Integers
    tie_in_eur: Floats
    radius_m: Floats


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
    drilled: DrilledArrays
    force: ForceArrays
    layout: LayoutArrays
    shaft: ShaftArrays
    pin_shaft: Integers
    pin_via: Integers
    start_row: int
    end_row: int
    longest_columns: int
    max_tan: float


def entry_arrays(ahead_eur: Floats, back_eur: Floats) -> EntryArrays:
    """Return the prices of entering crossings, numbered.

    Parameters
    ----------
    ahead_eur, back_eur : ndarray of shape (nx, ny, nv)
        [EUR]

    Returns
    -------
    EntryArrays

    Raises
    ------
    ValueError
        When there are more than 65 536 different ones.
    """
    paid = [np.flatnonzero(eur) for eur in (ahead_eur, back_eur)]  # few
    values = [eur.reshape(-1)[at] for eur, at in zip((ahead_eur, back_eur), paid, strict=True)]
    price_eur, number = np.unique(np.concatenate([[0.0], *values]), return_inverse=True)
    if len(price_eur) > np.iinfo(np.uint16).max + 1:
        raise ValueError("too many different prices of crossings in open cut")
    numbers = np.split(number[1:].astype(np.uint16), [len(paid[0])])
    free = np.uint16(number[0])
    tables = [np.full(ahead_eur.shape, free, np.uint16) for _ in range(2)]
    for table, at, of in zip(tables, paid, numbers, strict=True):
        table.reshape(-1)[at] = of
    return EntryArrays(price_eur, tables[0], tables[1])


def sites_of_nodes(site_eur: Floats) -> SiteArrays:
    """Return sites of which each has its own price by roles, shape (nx, ny, nr, nr) [EUR]."""
    nx, ny, n_roles, _ = site_eur.shape
    table = np.ascontiguousarray(site_eur.reshape(nx * ny, n_roles, n_roles))
    kind = np.arange(nx * ny, dtype=np.int32).reshape(nx, ny)
    return SiteArrays(kind, np.zeros((nx, ny)), table, table)
