"""The prices of open-cut moves, each along its true straight line.

Room: ``search``. May import ``corridor`` and ``money``. A move's price is exact: its line is cut wherever
soil, water, rock, ground cover or the inside of a crossing changes, whatever cells of the frame it runs
through, so that the search can win nothing by where the nodes happen to lie.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.assumptions.once import once_per_assumptions
from routescreen.corridor.stencil import MOVES
from routescreen.money.measure import (
    bill_items,
    crossing_drive,
    crossing_trench,
    crossing_trench_per_m,
    rates_eur,
    trench_eur_per_m,
)
from routescreen.search.arrays import TrenchArrays, entry_arrays
from routescreen.search.ground_lines import Pieces
from routescreen.search.pair_runs import count_runs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.burn import Burnt
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.treatment import Crossings
    from routescreen.drives.dip import Dip
    from routescreen.project import GroundSamples
    from routescreen.search.arrays import Booleans, Floats, Integers
    from routescreen.search.ground_lines import GroundLines, KeptPrices, NodeGround, PriceOf

NEAR_M = 1e-3  # beyond half its length a move's line is further from an edge than its nearer end less this


@dataclass(frozen=True, slots=True)
class _Family:
    """All open moves of one kind: flat index of the move, its line, of which ground its start is."""

    move: Integers
    xy_m: Floats
    start: Integers


def trench_arrays(
    frame: Frame,
    burnt: Burnt,
    crossings: Crossings,
    lines: GroundLines,
    at_nodes: NodeGround,
    assumptions: Assumptions,
) -> TrenchArrays:
    """Price every open move along its line; what a crossing costs whole stands apart.

    Returns
    -------
    TrenchArrays
    """
    nx, ny = frame.shape
    n_moves = burnt.move_ok.size
    fee = crossing_fees(crossings, assumptions, is_trench=True) @ rates_eur(assumptions)
    n_runs = _runs_of_pairs(frame, burnt, crossings, assumptions)
    entry, entry_back = np.zeros(n_moves), np.zeros(n_moves)
    # a run that begins where the move begins was paid before
    np.add.at(entry, burnt.pair_move, (n_runs - burnt.pair_start_inside) * fee[burnt.pair_crossing])
    np.add.at(entry_back, burnt.pair_move, (n_runs - burnt.pair_end_inside) * fee[burnt.pair_crossing])
    inside = np.zeros(nx * ny)
    np.add.at(inside, burnt.inside_node, fee[burnt.inside_crossing])
    return TrenchArrays(
        np.ascontiguousarray(MOVES, np.int64),
        _move_eur(frame, burnt, crossings, lines, at_nodes, assumptions),
        entry_arrays(entry.reshape(burnt.move_ok.shape), entry_back.reshape(burnt.move_ok.shape)),
        inside.reshape(nx, ny),
        fresh_columns(frame, assumptions),
    )


def _runs_of_pairs(frame: Frame, burnt: Burnt, crossings: Crossings, assumptions: Assumptions) -> Integers:
    """Count how often each move runs inside each crossing that it meets; 1 for forbidden moves."""
    count = np.ones(len(burnt.pair_move), np.int64)
    is_open = burnt.move_ok.reshape(-1)[burnt.pair_move]
    count[is_open] = count_runs(
        move_lines(frame, burnt.pair_move[is_open]),
        crossings.outline,
        burnt.pair_crossing[is_open].astype(np.int64),
        gap_m=assumptions.frame.merge_gap_m,
        is_end_inside=(burnt.pair_start_inside | burnt.pair_end_inside)[is_open],
    )
    return count


def _move_eur(
    frame: Frame,
    burnt: Burnt,
    crossings: Crossings,
    lines: GroundLines,
    at_nodes: NodeGround,
    assumptions: Assumptions,
) -> Floats:
    """Return the price of each move, inf where it is forbidden, shape (nx, ny, nv) [EUR]."""
    node_ground, edge_m = at_nodes.ground.ravel(), at_nodes.edge_m.ravel()
    narrow = burnt.move_narrow.ravel()
    # all grounds must be known before they are priced; what is not cut is collected again, not kept
    cut = []
    for v in range(len(MOVES)):
        family = _family(frame, burnt, v)
        near = _may_meet_edge(family, frame.shape[1], edge_m)
        pieces = lines.cut(family.xy_m[near])
        cut.append(Pieces(family.move[near][pieces.owner], pieces.xy_m, pieces.ground))
    inside = _pieces_inside(frame, burnt, crossings, lines, assumptions)

    table = lines.price_table(lambda samples, is_narrow: trench_eur_per_m(samples, is_narrow, assumptions))
    eur = np.full(narrow.size, np.inf)
    for v, pieces in enumerate(cut):
        family = _family(frame, burnt, v)
        near = _may_meet_edge(family, frame.shape[1], edge_m)
        whole = family.move[~near]
        eur[whole] = lines.eur(family.xy_m[~near], node_ground[family.start[~near]], narrow[whole], table)
        eur[family.move[near]] = 0.0
        np.add.at(eur, pieces.owner, lines.eur(pieces.xy_m, pieces.ground, narrow[pieces.owner], table))
    for key, pieces in inside.items():
        table = inside_table(lines, key, assumptions, pieces.ground)
        np.add.at(eur, pieces.owner, lines.eur(pieces.xy_m, pieces.ground, narrow[pieces.owner], table))
    return eur.reshape(burnt.move_ok.shape)


def _family(frame: Frame, burnt: Burnt, v: int) -> _Family:
    """Collect the open moves of one kind that stay within the frame."""
    nx, ny = frame.shape
    dc, dr = (int(step) for step in MOVES[v])
    column, row = np.nonzero(burnt.move_ok[:, :, v])
    is_inside = (column + dc < nx) & (row + dr >= 0) & (row + dr < ny)
    column, row = column[is_inside], row[is_inside]
    xy = np.concatenate([frame.node_xy_m[column, row], frame.node_xy_m[column + dc, row + dr]], axis=1)
    start = column * ny + row
    return _Family(start * len(MOVES) + v, xy, start)


def _may_meet_edge(family: _Family, n_rows: int, edge_m: Floats) -> Booleans:
    """Return which moves come near an edge of the ground: no point of a line is far from both ends."""
    dc, dr = MOVES[family.move % len(MOVES)].T
    nearest = np.minimum(edge_m[family.start], edge_m[family.start + dc * n_rows + dr])
    half = 0.5 * np.hypot(*(family.xy_m[:, 2:] - family.xy_m[:, :2]).T)
    return np.asarray(nearest <= half + NEAR_M)


def inside_table(
    lines: GroundLines, key: tuple[str, Dip | None], assumptions: Assumptions, only: Integers | None = None
) -> Floats:
    """Price what a metre adds inside a kind of crossing, a dip below it; each ground once a run.

    Parameters
    ----------
    lines : GroundLines
    key : tuple of str and Dip or None
        See `Crossings.inside_keys`.
    assumptions : Assumptions
    only : ndarray of int64, optional
        Rows of the grounds that are asked for.

    Returns
    -------
    ndarray of shape (2 * n_grounds, n_covers)
        See `GroundLines.price_table` [EUR/m].
    """
    return lines.price_table(_inside_price(key, assumptions), only, _kept_inside(assumptions, *key))


@once_per_assumptions
def _kept_inside(a: Assumptions, kind: str, dip: Dip | None) -> KeptPrices:  # noqa: ARG001
    """Return the prices inside a kind of crossing found so far: to lay out a dip takes long."""
    return {}


def _inside_price(key: tuple[str, Dip | None], assumptions: Assumptions) -> PriceOf:
    """Return the function that prices what a metre adds inside a kind of crossing, a dip below it."""
    kind, dip = key

    def price_of(samples: GroundSamples, is_narrow: NDArray[np.bool_]) -> Floats:
        per_m = crossing_trench_per_m(kind, samples, is_narrow, assumptions, dip)
        return np.asarray(per_m @ rates_eur(assumptions))

    return price_of


def _pieces_inside(
    frame: Frame, burnt: Burnt, crossings: Crossings, lines: GroundLines, assumptions: Assumptions
) -> dict[tuple[str, Dip | None], Pieces]:
    """Cut out what open moves run inside of each kind of crossing that costs more by the metre.

    Returns
    -------
    dict
        Pieces by kind and dip; the owner is the flat index of the move.
    """
    found = {}
    is_open = burnt.move_ok.reshape(-1)[burnt.pair_move]
    keys = crossings.inside_keys()
    for key in dict.fromkeys(keys):
        if key[1] is None and not inside_table(lines, key, assumptions).any():
            continue
        of_kind = is_open & np.array([k == key for k in keys])[burnt.pair_crossing]
        move = burnt.pair_move[of_kind]
        parts_xy, pair = inside_parts(
            move_lines(frame, move), crossings.outline[burnt.pair_crossing[of_kind]]
        )
        pieces = lines.cut(parts_xy)
        found[key] = Pieces(move[pair[pieces.owner]], pieces.xy_m, pieces.ground)
    return found


def move_lines(frame: Frame, move: Integers) -> Floats:
    """Return the lines of moves by flat index, shape (n, 4) [m]."""
    node, v = np.divmod(move, len(MOVES))
    column, row = np.divmod(node, frame.shape[1])
    start = frame.node_xy_m[column, row]
    return np.concatenate([start, frame.node_xy_m[column + MOVES[v, 0], row + MOVES[v, 1]]], axis=1)


def inside_parts(line_xy_m: Floats, outline: NDArray[np.object_]) -> tuple[Floats, Integers]:
    """Return the straight parts of lines inside outlines, and the line that each belongs to."""
    inside = shapely.intersection(shapely.linestrings(line_xy_m.reshape(-1, 2, 2)), outline)
    parts, line = shapely.get_parts(inside, return_index=True)
    xy, part = shapely.get_coordinates(parts, return_index=True)
    is_joined = part[1:] == part[:-1]  # a part that is only a point has nothing to join
    return np.concatenate([xy[:-1], xy[1:]], axis=1)[is_joined], line[part[:-1][is_joined]]


def fresh_columns(frame: Frame, assumptions: Assumptions) -> int:
    """Return the least run of trench between two shafts, in columns (at least one).

    Counted where columns lie closest, so that no run falls short on the inside of a bend.
    """
    least_m = float(gaps_m(frame, is_inside_only=True).min())
    return max(1, int(np.ceil(assumptions.trench.min_trench_m / least_m - 1e-6)))


def crossing_fees(crossings: Crossings, assumptions: Assumptions, *, is_trench: bool) -> Floats:
    """Return the items of each crossing by construction, shape (n_crossings, n_items)."""
    keys = [(kind, crossings.dip(k) if is_trench else None) for k, kind in enumerate(crossings.kind)]
    if is_trench:
        of_key = {key: crossing_trench(key[0], assumptions, key[1]) for key in dict.fromkeys(keys)}
    else:
        of_key = {key: crossing_drive(key[0], assumptions) for key in dict.fromkeys(keys)}
    vectors = [of_key[key] for key in keys]
    return np.array(vectors).reshape(len(vectors), len(bill_items(assumptions)))


def gaps_m(frame: Frame, *, is_inside_only: bool = False) -> Floats:
    """Return the least distance between the rows' nodes of neighbouring columns [m].

    Of nodes inside the corridor only, where asked; a column without a pair counts as the spacing.
    """
    gaps = np.linalg.norm(np.diff(frame.node_xy_m, axis=0), axis=-1)
    if is_inside_only:
        gaps = np.where(frame.is_valid[1:] & frame.is_valid[:-1], gaps, frame.column_spacing_m)
    return np.asarray(gaps.min(axis=1))
