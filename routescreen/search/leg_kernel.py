"""Passes that know what is still to come, compiled: into the other's half, and over again for shafts.

Room: ``search``. Two kinds of leg, with the same walk over the columns:

* *Going on*: a pass that has ended at a column goes on from there, into columns where the other pass has
  been. With the other's values ahead it drops what no plan within a limit has; see ``ahead_kernel``.
* *Again*: over columns whose least costs are known in both directions the drives that arrive are judged
  again, for their own sake: which plans have a shaft here? A label that open cut makes superfluous is
  then kept. ``pass_kernel`` may drop it, since the free trench at the node does as cheaply whatever
  it can do; but the plan that does so has no shaft there, or one that no drive arrives at. Between labels of
  one role the rules of ``label_kernel`` stay: they hold for every role that may follow, none included, at
  every depth, so the label that takes the other's place serves the same pair of roles.

  The start costs of drives are those of the pass before. Labels that free open cut makes superfluous are not
  missed in them: with the node's free trench in their place, every plan through *other* nodes costs no
  more and has the same roles there.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from routescreen.compiled import by_reference, compiled
from routescreen.search.ahead_kernel import limit_drives, limit_trench
from routescreen.search.arrival_kernel import judge_all, judge_in_wedges
from routescreen.search.join_kernel import best_in_column
from routescreen.search.label_kernel import (
    PassResult,
    clear_column,
    keep_labels,
    open_starts,
    reset,
    sharpen,
    with_room,
)
from routescreen.search.pass_kernel import columns_in_reach, count_pins, keeps_pins, relax_trench
from routescreen.search.wedge_kernel import is_hopeless
from routescreen.search.wedge_ways import look_ahead, open_column, run_on

if TYPE_CHECKING:
    from routescreen.search.arrays import Integers, SearchArrays
    from routescreen.search.label_kernel import Scratch


class Rules(NamedTuple):
    """What a leg drops early; each rule changes no value within the limit and can be turned off.

    `limits_trench`, `limits_drives`: open cut and drives by the value ahead, see ``ahead_kernel``;
    `uses_open_cut`: drives that free open cut makes superfluous, see ``pass_kernel`` (never where they are
    judged again for their own sake); `uses_wedges`: pairs that can't win are not scanned.
    """

    limits_trench: bool = True
    limits_drives: bool = True
    uses_open_cut: bool = True
    uses_wedges: bool = True


NO_COLUMN = 2**31  # beyond every corridor


class Walk(NamedTuple):
    """The columns of a leg in its direction, and whether they are judged again.

    A forward leg that goes on into columns from `joins_from` on, where the other pass's values hold for what
    it looks for, finds whole plans there: the cheapest of a column becomes the limit for the columns behind
    it. Nothing cheaper is lost, since a limit keeps all that costs no more. Each plan is found at the first
    of its nodes there, which it reaches by a drive or a move from a column before them. So no drive need
    start in them: labels there are those of drives from before alone, and open cut that only others lead to
    is missing.
    """

    first_column: int
    n_columns: int
    is_forward: bool
    is_again: bool
    joins_from: int = NO_COLUMN


@compiled
def run_leg(
    s: SearchArrays,
    scratch: Scratch,
    before: PassResult,
    kept: PassResult,
    other: PassResult,
    walk: Walk,
    rules: Rules,
    limit_eur: float,
    reached: Integers,
) -> PassResult:
    """Run one leg over its columns.

    Parameters
    ----------
    s : SearchArrays
    scratch : Scratch
    before : PassResult
        What the pass of the leg's direction knows of the columns before the leg, and of its own where they
        are judged again.
    kept : PassResult
        Takes the leg's labels, with room at its end; where the pass goes on, `before` with that room. Its
        open cut is written in place: all states where the pass goes on, else only the least cost of a closed
        shaft, in the one state that it has.
    other : PassResult
        The pass of the other direction, with values for the leg's columns.
    walk : Walk
    rules : Rules
    limit_eur : float
        Most that a plan may cost; inf drops nothing.
    reached : ndarray of int64, shape (1,)
        Counts the visited columns, for progress.

    Returns
    -------
    PassResult
        `kept` with its labels; `n_scans` and `n_pairs` count this leg's work.
    """
    return _run(by_reference(s), by_reference(scratch), before, kept, other, walk, rules, limit_eur, reached)


@compiled
def _run(
    s: SearchArrays,
    scratch: Scratch,
    before: PassResult,
    kept: PassResult,
    other: PassResult,
    walk: Walk,
    rules: Rules,
    limit_eur: float,
    reached: Integers,
) -> PassResult:
    """Run a leg; see ``run_leg``."""
    ny = s.ground.ground_m.shape[1]
    most_labels = ny * s.shaft.table_eur.shape[2] * s.shaft.table_eur.shape[4]
    pins = count_pins(s)
    _look_back(s, scratch, by_reference(before), walk)
    n_labels = 0 if walk.is_again else before.label_eur.shape[0]
    n_scans, n_pairs = 0, 0
    for step in range(walk.n_columns):
        column = walk.first_column + (step if walk.is_forward else -step)
        reached[0] = step
        if n_labels + most_labels > kept.label_eur.shape[0]:
            kept = with_room(kept)
        n_labels, pairs, scans = _visit_column(
            s,
            scratch,
            by_reference(before),
            by_reference(kept),
            by_reference(other),
            pins,
            column,
            walk,
            rules,
            limit_eur,
            n_labels,
        )
        n_pairs += pairs
        n_scans += scans
        if column >= walk.joins_from:
            limit_eur = min(limit_eur, best_in_column(s, kept, other, column).eur)
    reached[0] = walk.n_columns
    return PassResult(
        kept.trench_eur,
        kept.trench_move,
        kept.trench_from,
        kept.label_start,
        kept.label_count,
        kept.label_eur[:n_labels],
        kept.label_level[:n_labels],
        kept.label_role[:n_labels],
        kept.label_other[:n_labels],
        kept.label_drive[:n_labels],
        n_scans,
        n_pairs,
    )


@compiled
def _visit_column(
    s: SearchArrays,
    scratch: Scratch,
    before: PassResult,
    kept: PassResult,
    other: PassResult,
    pins: Integers,
    column: int,
    walk: Walk,
    rules: Rules,
    limit_eur: float,
    n_labels: int,
) -> tuple[int, int, int]:
    """Bring the leg over one column; return how many labels there are now, pairs judged and lines scanned."""
    ring, found, fan = scratch.ring, scratch.found, scratch.fan
    nx, ny = s.ground.ground_m.shape
    first = 0 if walk.is_forward else nx - 1
    n_pairs, n_scans = 0, 0
    clear_column(kept, column)
    open_column(s, fan.ways, column)
    reach = columns_in_reach(s, pins, column, walk.is_forward)
    is_bounded = rules.uses_wedges and fan.ways.is_bounded[column]
    if is_bounded:
        look_ahead(s, fan.ways, column, walk.is_forward, reach)
    for row in range(ny):
        kept.label_start[column * ny + row] = n_labels
        kept.label_count[column * ny + row] = 0
        if column != first and keeps_pins(s, column, row):
            if not walk.is_again:
                relax_trench(s, kept, pins, column, row, walk.is_forward, first)
            pairs, scans = _judge_arrivals(
                s, scratch, kept, other, (column, row, reach), walk, rules, is_bounded, limit_eur
            )
            n_pairs += pairs
            n_scans += scans
            n_labels = keep_labels(s, kept, found, column, row, n_labels)
            if rules.limits_trench and not walk.is_again:
                limit_trench(s, kept, other, column, row, limit_eur)
        opened = before if walk.is_again else kept
        # what starts where whole plans are found is in them: the other pass's values hold from there on
        is_start = keeps_pins(s, column, row) and column < walk.joins_from
        open_starts(s, opened, ring, found, column, row, is_start)
    run_on(s, fan.ways, ring, column, walk.is_forward)
    return n_labels, n_pairs, n_scans


@compiled
def _look_back(s: SearchArrays, scratch: Scratch, before: PassResult, walk: Walk) -> None:
    """Open the starts of the columns before the leg from which a drive can still reach it."""
    nx, ny = s.ground.ground_m.shape
    back = walk.first_column if walk.is_forward else nx - 1 - walk.first_column
    for n in range(min(s.longest_columns, back), 0, -1):
        column = walk.first_column - n if walk.is_forward else walk.first_column + n
        for row in range(ny):
            is_here = keeps_pins(s, column, row)
            open_starts(s, before, scratch.ring, scratch.found, column, row, is_here)
        run_on(s, scratch.fan.ways, scratch.ring, column, walk.is_forward)


@compiled
def _judge_arrivals(
    s: SearchArrays,
    scratch: Scratch,
    kept: PassResult,
    other: PassResult,
    at: tuple[int, int, int],
    walk: Walk,
    rules: Rules,
    is_bounded: bool,
    limit_eur: float,
) -> tuple[int, int]:
    """Judge the drives that arrive at a node, at column, row and with the columns in reach of `at`.

    Returns how many pairs and how many scans. What is to beat is lowered by open cut first: its rule
    looks at what free open cut costs, not at what the limit leaves.
    """
    found, ways = scratch.found, scratch.fan.ways
    column, row, reach = at
    uses_open_cut = rules.uses_open_cut and not walk.is_again
    free_eur = math.inf
    if uses_open_cut and s.pin_shaft[column] < 0:
        free_eur = kept.trench_eur[s.trench.fresh_columns, column, row]
    if not reset(s, found, column, row, free_eur):
        return 0, 0
    if is_bounded:
        if is_hopeless(s, ways, found.threshold, found.least, column, row, walk.is_forward):
            return 0, 0
        if uses_open_cut:
            sharpen(s, found, column, row)
    if rules.limits_drives:
        limit_drives(s, found, other, column, row, limit_eur)
    if not is_bounded:
        return judge_all(
            s, scratch.ring, found, scratch.work, ways, column, row, reach, walk.is_forward, rules.uses_wedges
        )
    if is_hopeless(s, ways, found.threshold, found.least, column, row, walk.is_forward):
        return 0, 0
    return judge_in_wedges(s, kept, scratch, column, row, reach, walk.is_forward)
