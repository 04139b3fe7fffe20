"""One pass over the frame, compiled: least cost to every state of every node.

Room: ``search``. The same code runs forward from the start terminal and backward from the end
terminal; the backward pass is the forward pass of the mirrored corridor, and both price moves and
drives with the same functions on the same lines.

States of a node: open cut 0 .. K - 1 columns since a closed shaft (*fresh*, K =
``trench.fresh_columns``), open cut *free* (index K), and labels: a shaft whose drive has arrived but
which is not yet closed, with the cost without the shaft, the depth that drive needs and its role.

A label is dropped where the free open cut is no dearer than it and the shaft that it still has to pay
(whatever it can do, the free trench does as cheaply; see ``label_kernel.sharpen``), or where another
label of its role is as cheap at every depth and for every outgoing role. A pair is not scanned where
no line of its wedge can beat what is known here; see ``wedge_kernel``. Both rules lose no optimum;
without `is_pruned` every pair is scanned, and a label dropped only where it costs no less than the free
open cut itself.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from routescreen.compiled import by_reference, compiled, compiled_within, no_literal
from routescreen.search.arrival_kernel import judge_all, judge_in_wedges
from routescreen.search.label_kernel import (
    PassResult,
    Scratch,
    clear_column,
    keep_labels,
    new_result,
    new_scratch,
    open_starts,
    reset,
    sharpen,
    with_room,
)
from routescreen.search.wedge_kernel import is_hopeless
from routescreen.search.wedge_ways import look_ahead, open_column, run_on

if TYPE_CHECKING:
    from routescreen.search.arrays import Integers, SearchArrays


@compiled
def relax_trench(
    s: SearchArrays, r: PassResult, pins: Integers, column: int, row: int, is_forward: bool, first: int
) -> None:
    """Bring open cut to a node by every move that ends there in the pass's direction."""
    k = s.trench.fresh_columns
    nx, ny = s.ground.ground_m.shape
    for v in range(s.trench.moves.shape[0]):
        dc, dr = s.trench.moves[v, 0], s.trench.moves[v, 1]
        pc, pr = (column - dc, row - dr) if is_forward else (column + dc, row + dr)
        if pc < 0 or pc >= nx or pr < 0 or pr >= ny or _has_pin_between(pins, pc, column):
            continue
        if is_forward:
            eur = s.trench.move_eur[pc, pr, v] + s.trench.entry.price_eur[s.trench.entry.ahead[pc, pr, v]]
        else:
            eur = s.trench.move_eur[column, row, v]
            eur += s.trench.entry.price_eur[s.trench.entry.back[column, row, v]]
        if eur == math.inf:
            continue
        for state in range(k + 1):
            before = r.trench_eur[state, pc, pr]
            if before == math.inf or (state > 0 and s.pin_shaft[pc] >= 0):
                continue
            total = before + eur
            if state == 0 or pc == first:
                total += s.trench.inside_eur[pc, pr]
            after = min(state + dc, k)
            if total < r.trench_eur[after, column, row]:
                r.trench_eur[after, column, row] = total
                r.trench_move[after, column, row] = v
                r.trench_from[after, column, row] = state


@compiled
def keeps_pins(s: SearchArrays, column: int, row: int) -> bool:
    """Return whether a plan may have this node: no pin of its column lies in another row."""
    shaft, via = s.pin_shaft[column], s.pin_via[column]
    return bool((shaft < 0 or shaft == row) and (via < 0 or via == row))


@compiled
def _has_pin_between(pins: Integers, one: int, other: int) -> bool:
    """Return whether a pinned column lies strictly between two columns; `pins` counts up to each."""
    low, high = min(one, other), max(one, other)
    return bool(pins[high] - pins[low + 1] > 0)


def run_pass(
    s: SearchArrays, is_forward: bool, n_columns: int, is_pruned: bool, reached: Integers
) -> PassResult:
    """Run one pass over the first `n_columns` columns in its direction.

    Parameters
    ----------
    s : SearchArrays
    is_forward : bool
        From the start terminal upwards, else from the end terminal downwards.
    n_columns : int
        How many columns to visit.
    is_pruned : bool
        Whether pairs that can't win are passed over (no change of any optimum).
    reached : ndarray of int64, shape (1,)
        Counts the visited columns, for progress.

    Returns
    -------
    PassResult
    """
    return _pass(s, new_scratch(s), is_forward, n_columns, is_pruned, reached)


@compiled
def _pass(
    s: SearchArrays,
    scratch: Scratch,
    is_forward: bool,
    n_columns: int,
    is_pruned: bool,
    reached: Integers,
) -> PassResult:
    """Run the pass; see ``run_pass``."""
    ny = s.ground.ground_m.shape[1]
    most_labels = ny * s.shaft.table_eur.shape[2] * s.shaft.table_eur.shape[4]
    r = new_result(by_reference(s), 4 * most_labels)
    pins = count_pins(by_reference(s))
    n_labels = no_literal(0)
    n_scans, n_pairs = 0, 0
    for step in range(n_columns):
        reached[0] = step
        if n_labels + most_labels > r.label_eur.shape[0]:
            r = with_room(r)
        n_labels, pairs, scans = _visit_column(
            by_reference(s),
            by_reference(scratch),
            by_reference(r),
            pins,
            step,
            is_forward,
            is_pruned,
            n_labels,
        )
        n_pairs += pairs
        n_scans += scans
    reached[0] = n_columns
    return PassResult(
        r.trench_eur,
        r.trench_move,
        r.trench_from,
        r.label_start,
        r.label_count,
        r.label_eur[:n_labels],
        r.label_level[:n_labels],
        r.label_role[:n_labels],
        r.label_other[:n_labels],
        r.label_drive[:n_labels],
        n_scans,
        n_pairs,
    )


@compiled
def _visit_column(
    s: SearchArrays,
    scratch: Scratch,
    r: PassResult,
    pins: Integers,
    step: int,
    is_forward: bool,
    is_pruned: bool,
    n_labels: int,
) -> tuple[int, int, int]:
    """Bring open cut and drives to the nodes of a column, `step` columns from the pass's terminal.

    Returns how many labels there are now, how many pairs were judged and how many lines scanned.
    """
    found, ways, k = scratch.found, scratch.fan.ways, s.trench.fresh_columns
    nx, ny = s.ground.ground_m.shape
    first, first_row = (0, s.start_row) if is_forward else (nx - 1, s.end_row)
    column = step if is_forward else nx - 1 - step
    n_pairs, n_scans = 0, 0
    clear_column(r, column)
    if step == 0 and keeps_pins(s, column, first_row):
        r.trench_eur[k, column, first_row] = 0.0
    open_column(s, ways, column)
    reach = columns_in_reach(s, pins, column, is_forward)
    is_bounded = is_pruned and ways.is_bounded[column]
    if is_bounded:
        look_ahead(s, ways, column, is_forward, reach)
    for row in range(ny):
        is_here = keeps_pins(s, column, row)
        if is_here and step > 0:
            relax_trench(s, r, pins, column, row, is_forward, first)
        node = column * ny + row
        r.label_start[node] = n_labels
        free_eur = math.inf if s.pin_shaft[column] >= 0 else r.trench_eur[k, column, row]
        is_open = is_here and reset(s, found, column, row, free_eur)
        if is_open and step > 0:
            pairs, scans = _judge_arrivals(
                s, r, scratch, column, row, reach, is_forward, is_pruned, is_bounded
            )
            n_pairs += pairs
            n_scans += scans
            n_labels = keep_labels(s, r, found, column, row, n_labels)
        open_starts(s, r, scratch.ring, found, column, row, is_open)
    run_on(s, ways, scratch.ring, column, is_forward)
    return n_labels, n_pairs, n_scans


@compiled
def count_pins(s: SearchArrays) -> Integers:
    """Return how many pinned columns lie before each column, shape (nx + 1,)."""
    nx = s.pin_shaft.shape[0]
    pins = np.zeros(nx + 1, np.int64)
    for column in range(nx):
        pins[column + 1] = pins[column] + (1 if s.pin_shaft[column] >= 0 or s.pin_via[column] >= 0 else 0)
    return pins


@compiled
def columns_in_reach(s: SearchArrays, pins: Integers, column: int, is_forward: bool) -> int:
    """Return how many columns a drive to a column can span: not over a pinned column, nor too far."""
    most = min(s.longest_columns, column if is_forward else s.ground.ground_m.shape[0] - 1 - column)
    if pins[s.ground.ground_m.shape[0]] == 0:
        return most
    for n in range(1, most + 1):
        if _has_pin_between(pins, column - n if is_forward else column + n, column):
            return n - 1
    return most


@compiled_within
def _judge_arrivals(
    s: SearchArrays,
    r: PassResult,
    scratch: Scratch,
    column: int,
    row: int,
    reach: int,
    is_forward: bool,
    is_pruned: bool,
    is_bounded: bool,
) -> tuple[int, int]:
    """Judge every drive that arrives at a node; return how many pairs and how many scans."""
    if is_bounded:
        found = scratch.found
        if is_hopeless(s, scratch.fan.ways, found.threshold, found.least, column, row, is_forward):
            return 0, 0
        sharpen(s, found, column, row)
        return judge_in_wedges(s, r, scratch, column, row, reach, is_forward)
    return judge_all(
        s,
        scratch.ring,
        scratch.found,
        scratch.work,
        scratch.fan.ways,
        column,
        row,
        reach,
        is_forward,
        is_pruned,
    )
