"""States and labels of a pass, compiled: what a node keeps, and what a newcomer must beat.

Room: ``search``. The rules by which a label may be dropped stand in ``pass_kernel``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routescreen.compiled import by_reference, compiled, no_literal
from routescreen.search.arrays import BLOCKED_M, Floats, Integers, SearchArrays
from routescreen.search.drive_price_kernel import Work, new_work
from routescreen.search.shaft_kernel import (
    depth_level,
    shaft_eur,
    shaft_ground,
    shaft_in_ground_eur,
    shaft_site_eur,
)
from routescreen.search.wedge_fan import Fan, new_fan

if TYPE_CHECKING:
    from numpy.typing import NDArray


class PassResult(NamedTuple):
    """All states' least costs after a pass.

    `trench_eur` (K + 1, nx, ny), inf where unreachable, with the move and the state it came from
    (`trench_move`, -1 a closed shaft or the terminal; `trench_from`); labels of node n (flat) at
    `label_start[n]` .. `label_start[n] + label_count[n]`: `label_eur`, `label_level`, `label_role`,
    `label_other` (flat node at the drive's other end), `label_drive` (2 method + launched at the
    lower end). `n_scans`, `n_pairs` count the work done. Open cut of columns that the pass did not visit
    holds anything.
    """

    trench_eur: Floats
    trench_move: NDArray[np.int8]
    trench_from: NDArray[np.int32]
    label_start: Integers
    label_count: NDArray[np.int32]
    label_eur: Floats
    label_level: Integers
    label_role: Integers
    label_other: Integers
    label_drive: Integers
    n_scans: int
    n_pairs: int


class Ring(NamedTuple):
    """Start costs of the columns that a drive can still reach, by column modulo the ring's size.

    `start_eur` (ring, ny, nr, nl): least cost with a shaft for an outgoing role at a depth;
    `least_eur` (ring, ny, nr) the same at the least depth the node allows, `least_level` that depth.
    """

    start_eur: Floats
    least_eur: Floats
    least_level: Integers


class Found(NamedTuple):
    """Candidates at one node by role and level, and what a newcomer must beat.

    `eur`, `threshold` (nr, nl); `other`, `drive` (nr, nl); `least` (nr,) least level of a role here;
    `spare_eur` (ns, 2, nr, nl), `drop_eur`, `slack_eur` (nr,) see there.
    """

    eur: Floats
    threshold: Floats
    other: Integers
    drive: Integers
    least: Integers
    spare_eur: Floats
    drop_eur: Floats
    slack_eur: Floats


class Scratch(NamedTuple):
    """All work space of a pass, handed on by reference."""

    ring: Ring
    found: Found
    work: Work
    fan: Fan


@compiled
def least_levels(s: SearchArrays, column: int, row: int, out: Integers) -> None:
    """Fill the least depth level that the node's own ceiling allows for each role."""
    n_methods = s.drive.bore_m.shape[0]
    for method in range(n_methods):
        ceiling = min(s.drive.ceiling_m[method, column, row], s.drive.service_ceiling_m[method, column, row])
        for role in (1 + 2 * method, 2 + 2 * method):
            if ceiling < BLOCKED_M:
                out[role] = s.shaft.table_eur.shape[4]
            elif s.drilled.is_drilled[method]:
                out[role] = s.shaft.least_level[role]
            else:
                out[role] = depth_level(
                    s, s.ground.ground_m[column, row], ceiling, s.drive.bore_m[method], role
                )


@compiled
def start_eur(
    s: SearchArrays, r: PassResult, column: int, row: int, role: int, level: int
) -> tuple[float, int]:
    """Return the least cost of a drive's start at a node and depth, and its source.

    The source is -1 for the free open cut, else the index of the label that shares its shaft.
    """
    k = s.trench.fresh_columns
    best = r.trench_eur[k, column, row] + shaft_eur(s, column, row, no_literal(0), role, level)
    source = -1
    node = column * s.ground.ground_m.shape[1] + row
    for index in range(r.label_start[node], r.label_start[node] + r.label_count[node]):
        deeper = max(level, r.label_level[index])
        eur = r.label_eur[index] + shaft_eur(s, column, row, r.label_role[index], role, deeper)
        if eur < best:
            best, source = eur, index
    return best, source


@compiled
def start_of(
    s: SearchArrays, r: PassResult, column: int, row: int, role: int, level: int
) -> tuple[float, int]:
    """Return what ``start_eur`` does, for callers that are not compiled."""
    return start_eur(by_reference(s), r, column, row, role, level)


@compiled
def open_starts(
    s: SearchArrays, r: PassResult, ring: Ring, found: Found, column: int, row: int, is_open: bool
) -> None:
    """Tabulate what drives that start at a node cost there, inf where nothing has reached it.

    `is_open`: whether a plan may have a shaft at the node at all.
    """
    for role in range(ring.least_eur.shape[2]):
        ring.least_eur[column % ring.least_eur.shape[0], row, role] = math.inf
    is_reached = r.label_count[column * s.ground.ground_m.shape[1] + row] > 0
    if is_open and (is_reached or r.trench_eur[s.trench.fresh_columns, column, row] < math.inf):
        least_levels(s, column, row, found.least)
        fill_ring(s, r, ring, column, row, found.least)


@compiled
def fill_ring(s: SearchArrays, r: PassResult, ring: Ring, column: int, row: int, least: Integers) -> None:
    """Tabulate the start costs of a node for all roles and levels, inf deeper than a role may go.

    What ``start_eur`` finds for one role and level, with the node's own facts looked up once.
    """
    slot = column % ring.least_eur.shape[0]
    n_roles, n_levels = ring.start_eur.shape[2], ring.start_eur.shape[3]
    ground, none = shaft_ground(s, column, row), no_literal(0)
    node = column * s.ground.ground_m.shape[1] + row
    free = r.trench_eur[s.trench.fresh_columns, column, row]
    for role in range(1, n_roles):
        ring.least_eur[slot, row, role] = math.inf
        ring.least_level[slot, row, role] = least[role]
        if least[role] >= n_levels or not _may_stand(s, column, row, role):
            continue
        most = min(s.shaft.most_level[role], n_levels - 1)
        for level in range(most + 1, n_levels):
            ring.start_eur[slot, row, role, level] = math.inf
        site = shaft_site_eur(s, column, row, none, role)
        for level in range(least[role], most + 1):
            eur = free + (shaft_in_ground_eur(s, ground, none, role, level) + site)
            ring.start_eur[slot, row, role, level] = eur
        for index in range(r.label_start[node], r.label_start[node] + r.label_count[node]):
            before, before_level, before_eur = r.label_role[index], r.label_level[index], r.label_eur[index]
            site = shaft_site_eur(s, column, row, before, role)
            for level in range(least[role], most + 1):
                deeper = max(level, before_level)
                eur = before_eur + (shaft_in_ground_eur(s, ground, before, role, deeper) + site)
                ring.start_eur[slot, row, role, level] = min(ring.start_eur[slot, row, role, level], eur)
        if least[role] <= most:
            ring.least_eur[slot, row, role] = ring.start_eur[slot, row, role, least[role]]


@compiled
def lower_threshold(s: SearchArrays, found: Found, column: int, row: int, role: int, level: int) -> None:
    """Tell later candidates of a role what this one already beats at every depth."""
    eur = found.eur[role, level]
    n_roles, n_levels = found.eur.shape
    for other in range(level, n_levels):
        if found.threshold[role, other] <= eur:
            break
        found.threshold[role, other] = eur
    for other in range(level - 1, found.least[role] - 1, -1):
        extra = 0.0
        for k in range(n_roles):
            deep = shaft_eur(s, column, row, role, k, level)
            if deep == math.inf and shaft_eur(s, column, row, role, k, other) == math.inf:
                continue
            extra = max(extra, deep - shaft_eur(s, column, row, role, k, other))
        found.threshold[role, other] = min(found.threshold[role, other], eur + extra)


@compiled
def _is_dominated(s: SearchArrays, found: Found, column: int, row: int, role: int, level: int) -> bool:
    """Return whether a deeper candidate of the role is no dearer whatever follows."""
    n_roles, n_levels = found.eur.shape
    for deeper in range(level + 1, n_levels):
        if found.eur[role, deeper] >= found.eur[role, level]:
            continue
        is_better = True
        for k in range(n_roles):
            mine = found.eur[role, level] + shaft_eur(s, column, row, role, k, level)
            if found.eur[role, deeper] + shaft_eur(s, column, row, role, k, deeper) > mine:
                is_better = False
                break
        if is_better:
            return True
    return False


@compiled
def _may_stand(s: SearchArrays, column: int, row: int, role: int) -> bool:
    """Return whether a shaft of a role may stand at a node for any heading."""
    for heading in range(s.shaft.is_allowed.shape[4]):
        if s.shaft.is_allowed[column, row, (role - 1) // 2, (role - 1) % 2, heading]:
            return True
    return False


@compiled
def reset(s: SearchArrays, found: Found, column: int, row: int, free_eur: float) -> bool:
    """Prepare a node for its drives; return whether any could arrive."""
    found.eur[:] = math.inf
    is_open = False
    for role in range(1, found.eur.shape[0]):
        is_open = is_open or _may_stand(s, column, row, role)
    if not is_open:
        return False
    least_levels(s, column, row, found.least)
    found.threshold[:] = -math.inf
    is_open = False
    for role in range(1, found.eur.shape[0]):
        if found.least[role] < found.eur.shape[1] and _may_stand(s, column, row, role):
            head = s.shaft.rock_level[column, row]
            slack = found.slack_eur[role] if head < found.eur.shape[1] - 1 else 0.0
            found.threshold[role, found.least[role] :] = free_eur + slack
            is_open = True
    return is_open


@compiled
def sharpen(s: SearchArrays, found: Found, column: int, row: int) -> None:
    """Lower what is to beat by what an arrived drive must pay more than the free open cut at this node.

    Whatever follows, a drive that has arrived must pay for its shaft alone, or for a shaft that serves two
    drives where the open cut would pay for one that serves the second alone; see ``spare_eur``.
    """
    n_roles, n_levels = found.eur.shape
    soil, reached, wet, head = (
        s.ground.soil[column, row],
        s.shaft.reached_level[column, row],
        s.shaft.wet_level[column, row],
        s.shaft.rock_level[column, row],
    )
    for role in range(1, n_roles):
        if found.least[role] >= n_levels or abs(found.threshold[role, found.least[role]]) == math.inf:
            continue
        for level in range(found.least[role], n_levels):
            # below the rock head the extra is that at the head, whatever is wet there
            spare = found.spare_eur[soil, 2, role, min(max(level, wet), head, n_levels - 1)]
            if level < wet:
                damp = min(max(level, reached), head, n_levels - 1)
                spare = min(spare, found.spare_eur[soil, 1, role, damp])
            if level < reached:
                spare = min(spare, found.spare_eur[soil, 0, role, min(level, head, n_levels - 1)])
            if head < n_levels - 1:  # steps in rock may cost less in a shared shaft
                spare += found.slack_eur[role] - found.drop_eur[role]
            if spare < math.inf:
                found.threshold[role, level] -= spare


def shared_more_eur(table_eur: Floats) -> Floats:
    """Return what a shaft for two drives costs more than one for the second alone.

    Parameters
    ----------
    table_eur : ndarray of shape (ns, 3, nr, nr, nl)
        See ``arrays.ShaftArrays``.

    Returns
    -------
    ndarray of shape (ns, 3, nr, nr - 1, nl)
        By the roles of the first and the second drive, inf where there is no such shaft [EUR].

    Notes
    -----
    A shaft may be deeper for the first drive than the second could stand in alone: then the second alone has
    the dearest of its own shafts, since its drive asks for no more.
    """
    both, alone = table_eur[:, :, :, 1:], table_eur[:, :, :1, 1:]
    own = np.maximum.accumulate(np.where(np.isfinite(alone), alone, -math.inf), axis=-1)
    alone = np.where(np.isfinite(own), own, math.inf)
    is_known = np.isfinite(both) & np.isfinite(alone)
    return np.where(is_known, np.where(is_known, both, 0.0) - np.where(is_known, alone, 0.0), math.inf)


def spare_eur(s: SearchArrays) -> Floats:
    """Return the least that an arrived drive pays more than open cut for what follows, from a level on.

    The least over all deeper levels of a shaft for two drives less one for the second alone, and the shaft
    of the drive alone; shape (ns, 3, nr, nl).
    """
    table = s.shaft.table_eur
    least = np.minimum(shared_more_eur(table).min(axis=3, initial=math.inf), table[:, :, :, 0])
    deeper = np.minimum.accumulate(least[..., ::-1], axis=-1)[..., ::-1]
    return np.ascontiguousarray(np.maximum(deeper, 0.0))


def drop_eur(s: SearchArrays) -> Floats:
    """Return by how much that can fall below a rock head, where steps of any soil may follow, (nr,) [EUR]."""
    return np.asarray(largest_drop_eur(s.shaft.table_eur).max(axis=(0, 1, 3)))


def slack_eur(s: SearchArrays) -> Floats:
    """Return how much cheaper than a single shaft a shared one could come out in rock, (nr,) [EUR].

    Free open cut may then cost that much more than a label and still not be the worse for it; usually 0.
    """
    least = shared_more_eur(s.shaft.table_eur).min(axis=(0, 1, 3, 4), initial=math.inf)
    return np.asarray(np.maximum(drop_eur(s) - least, 0.0))


def largest_drop_eur(table_eur: Floats) -> Floats:
    """Return by how much a shared shaft's extra cost falls at most from a level to a deeper one.

    Shape (ns, 3, nr, nr - 1) [EUR].
    """
    more = shared_more_eur(table_eur)
    known = np.where(np.isfinite(more), more, -math.inf)
    highest = np.maximum.accumulate(known, axis=-1)
    fall = np.where(np.isfinite(more), highest - np.where(np.isfinite(more), more, 0.0), 0.0)
    return np.asarray(fall.max(axis=-1, initial=0.0))


@compiled
def _longer(values: Floats) -> Floats:
    out = np.empty(2 * values.shape[0])
    for index in range(values.shape[0]):  # no slices: they make compiling slow
        out[index] = values[index]
    return out


@compiled
def _longer_whole(values: Integers) -> Integers:
    out = np.empty(2 * values.shape[0], np.int64)
    for index in range(values.shape[0]):
        out[index] = values[index]
    return out


@compiled
def new_result(s: SearchArrays, capacity: int) -> PassResult:
    """Return a result in which nothing is reached yet, with room for some labels.

    Open cut is cleared column by column as the pass comes there: what it never visits takes no memory.
    """
    nx, ny = s.ground.ground_m.shape
    k = s.trench.fresh_columns
    return PassResult(
        np.empty((k + 1, nx, ny)),
        np.empty((k + 1, nx, ny), np.int8),
        np.empty((k + 1, nx, ny), np.int32),
        np.zeros(nx * ny, np.int64),
        np.zeros(nx * ny, np.int32),
        np.empty(capacity),
        np.empty(capacity, np.int64),
        np.empty(capacity, np.int64),
        np.empty(capacity, np.int64),
        np.empty(capacity, np.int64),
        0,
        0,
    )


@compiled
def clear_column(r: PassResult, column: int) -> None:
    """Set the open cut of a column to what nothing has reached."""
    for state in range(r.trench_eur.shape[0]):
        for row in range(r.trench_eur.shape[2]):
            r.trench_eur[state, column, row] = math.inf
            r.trench_move[state, column, row] = -1
            r.trench_from[state, column, row] = -1


@compiled
def with_room(r: PassResult) -> PassResult:
    """Return the result with twice the room for labels."""
    return PassResult(
        r.trench_eur,
        r.trench_move,
        r.trench_from,
        r.label_start,
        r.label_count,
        _longer(r.label_eur),
        _longer_whole(r.label_level),
        _longer_whole(r.label_role),
        _longer_whole(r.label_other),
        _longer_whole(r.label_drive),
        r.n_scans,
        r.n_pairs,
    )


@compiled
def keep_labels(s: SearchArrays, r: PassResult, found: Found, column: int, row: int, n_labels: int) -> int:
    """Store the labels that nothing dominates and close their shafts; return the new total."""
    node = column * s.ground.ground_m.shape[1] + row
    r.label_start[node] = n_labels
    for role in range(1, found.eur.shape[0]):
        least = math.inf
        for level in range(found.eur.shape[1]):
            eur = found.eur[role, level]
            if eur >= least:
                continue
            least = eur
            if _is_dominated(s, found, column, row, role, level):
                continue
            r.label_eur[n_labels] = eur
            r.label_level[n_labels] = level
            r.label_role[n_labels] = role
            r.label_other[n_labels] = found.other[role, level]
            r.label_drive[n_labels] = found.drive[role, level]
            closed = eur + shaft_eur(s, column, row, role, no_literal(0), level)
            if closed < r.trench_eur[0, column, row]:
                r.trench_eur[0, column, row] = closed
                r.trench_move[0, column, row] = -1
                r.trench_from[0, column, row] = n_labels
            n_labels += 1
    r.label_count[node] = n_labels - r.label_start[node]
    return n_labels


def new_scratch(s: SearchArrays) -> Scratch:
    """Make the work space of a pass."""
    ny = s.ground.ground_m.shape[1]
    n_roles, n_levels = s.shaft.table_eur.shape[2], s.shaft.table_eur.shape[4]
    size = s.longest_columns + 1
    ring = Ring(
        np.full((size, ny, n_roles, n_levels), math.inf),
        np.full((size, ny, n_roles), math.inf),
        np.zeros((size, ny, n_roles), np.int64),
    )
    found = Found(
        np.full((n_roles, n_levels), math.inf),
        np.full((n_roles, n_levels), math.inf),
        np.zeros((n_roles, n_levels), np.int64),
        np.zeros((n_roles, n_levels), np.int64),
        np.zeros(n_roles, np.int64),
        spare_eur(s),
        drop_eur(s),
        slack_eur(s),
    )
    work = new_work(s.longest_columns, s.drive.drive_fee_eur.shape[0], s.drive.longest_m.shape[1])
    return Scratch(ring, found, work, new_fan(s))
