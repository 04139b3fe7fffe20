"""The proof of the search on small instances: independent ways to the optimum must agree to the cent.

``python -m benchmarks proof`` runs all instances, the test suite a part of them. See `oracles`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.figures import Figure
from benchmarks.oracles.brute_force import MOST_PLANS, count_plans, enumerate_plans
from benchmarks.oracles.milp import solve_milp
from benchmarks.oracles.pieces import Move, Pieces, RuleBreach, pieces_of, plan_eur, shafts_of
from benchmarks.oracles.state_graph import shortest_plan
from benchmarks.proof_arcs import with_arcs
from benchmarks.proof_drilled import turned_drilled, with_drilling
from benchmarks.proof_gaps import with_gaps
from benchmarks.proof_instances import Size, proof_arrays
from benchmarks.proof_turned import turned_round
from routescreen.search.forces import without_limits
from routescreen.search.halves import best_join_of, run_halves
from routescreen.search.join_kernel import joined_eur
from routescreen.search.layout import any_land
from routescreen.search.pass_kernel import run_pass
from routescreen.search.solve import DriveStep, FramePlan, layout_of_step, optimum_eur
from routescreen.search.trace import trace_plan

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from benchmarks.oracles.lines import OracleDrive
    from benchmarks.oracles.pieces import PlanShaft
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.label_kernel import PassResult
    from routescreen.search.layout_kernel import Layout

CENT_EUR = 0.005


@dataclass(frozen=True, slots=True)
class Family:
    """Instances of one size, the independent ways that solve them, and how many there are."""

    size: Size
    ways: tuple[str, ...]
    n_instances: int
    n_quick: int
    n_in_suite: int
    is_drilled: bool = False
    has_arcs: bool = False
    has_gaps: bool = False


FAMILIES = (
    Family(Size(8, 3, 4), ("enumeration", "integer programme", "graph of states"), 60, 15, 14),
    Family(Size(10, 1, 4), ("enumeration", "integer programme", "graph of states"), 20, 5, 5),
    Family(Size(15, 4, 5), ("integer programme", "graph of states"), 40, 3, 2),
    Family(Size(25, 6, 6), ("graph of states",), 60, 5, 8),
    Family(Size(60, 11, 6), ("graph of states",), 20, 2, 1),
    Family(Size(12, 3, 7), ("enumeration", "graph of states"), 40, 5, 5, is_drilled=True),
    Family(Size(25, 5, 9), ("graph of states",), 20, 3, 3, is_drilled=True),
    Family(Size(12, 3, 7), ("enumeration", "graph of states"), 40, 5, 5, has_arcs=True),
    Family(Size(25, 5, 9), ("graph of states",), 20, 3, 3, has_arcs=True),
    Family(Size(12, 3, 7), ("enumeration", "graph of states"), 40, 5, 5, has_gaps=True),
    Family(Size(25, 5, 9), ("graph of states",), 20, 3, 3, has_arcs=True, has_gaps=True),
)

WAYS: dict[str, Callable[[Pieces], tuple[float, object]]] = {
    "enumeration": lambda pieces: ((found := enumerate_plans(pieces)).eur, found.steps),
    "integer programme": solve_milp,
    "graph of states": shortest_plan,
}


@dataclass(frozen=True, slots=True)
class Instance:
    """One instance by its seed, and the ways that must agree on it."""

    seed: int
    size: Size
    ways: tuple[str, ...]
    is_drilled: bool = False
    has_arcs: bool = False
    has_gaps: bool = False

    @property
    def is_straight(self) -> bool:
        """Return whether nothing but straight drives without gaps is in it."""
        return not (self.is_drilled or self.has_arcs or self.has_gaps)

    @property
    def name(self) -> str:
        """Name the instance in a few signs."""
        kind = "d" * self.is_drilled + "a" * self.has_arcs + "g" * self.has_gaps
        return f"{self.size.n_columns}x{self.size.n_rows}-{self.seed}{kind}"

    @property
    def arrays(self) -> SearchArrays:
        """Make its corridor."""
        arrays = proof_arrays(self.seed, self.size)
        if self.has_gaps:
            arrays = with_gaps(arrays, self.seed)
        if self.has_arcs:
            return with_arcs(arrays, self.seed)
        return with_drilling(arrays, self.seed) if self.is_drilled else arrays


@dataclass(frozen=True, slots=True)
class Verdict:
    """What came out on one instance: the optimum, what disagrees, and what the plan holds.

    `ways`: the independent ones that solved it; `is_held_by_forces`: without the limits of thrust and pull
    there would be a cheaper plan; `is_held_by_water`: with machines that bear any head of water there would
    be; `is_turned_by_land`: on land that bears pipe strings everywhere there would be another; `n_in_pieces`
    drives with strings in several pieces, `n_bent` with bent ones, `n_drilled` from pit to pit, `n_arcs` on
    an arc.
    """

    instance: Instance
    optimum_eur: float
    failures: tuple[str, ...]
    shared_shafts: tuple[PlanShaft, ...]
    n_unequal: int
    n_drives: int
    is_held_by_forces: bool
    is_held_by_water: bool
    is_turned_by_land: bool
    n_in_pieces: int
    n_bent: int
    n_drilled: int
    n_arcs: int
    ways: tuple[str, ...]


def instances(*, is_quick: bool = False, is_suite: bool = False) -> Iterator[Instance]:
    """Yield the instances of the whole proof, of the quick one or of the test suite."""
    for family in FAMILIES:
        n = family.n_in_suite if is_suite else family.n_quick if is_quick else family.n_instances
        for seed in range(n):
            yield Instance(
                seed, family.size, family.ways, family.is_drilled, family.has_arcs, family.has_gaps
            )


def run(arrays: SearchArrays, *, is_forward: bool = True, is_pruned: bool = True) -> PassResult:
    """Run one whole pass of the search."""
    n_columns = arrays.ground.ground_m.shape[0]
    return run_pass(arrays, is_forward, n_columns, is_pruned, np.zeros(1, np.int64))


def agree(one_eur: float, other_eur: float) -> bool:
    """Return whether two optima are equal to the cent, or both without a plan."""
    return abs(one_eur - other_eur) <= CENT_EUR or (math.isinf(one_eur) and math.isinf(other_eur))


def judge(instance: Instance) -> Verdict:
    """Solve one instance every way and compare."""
    arrays = instance.arrays
    pieces = pieces_of(arrays)
    forward = run(arrays)
    optimum = optimum_eur(arrays, forward)
    ways = tuple(way for way in instance.ways if way != "enumeration" or count_plans(pieces) <= MOST_PLANS)
    found = {way: WAYS[way](pieces)[0] for way in ways} | _own_ways(arrays, forward)
    failures = [f"{way}: {eur:.4f}" for way, eur in found.items() if not agree(eur, optimum)]
    steps: list[Move | OracleDrive] = []
    layouts: list[Layout] = []
    if math.isfinite(optimum):
        plan = trace_plan(arrays, forward)
        layouts = [layout_of_step(arrays, step) for step in plan.steps if isinstance(step, DriveStep)]
        steps = steps_of(pieces, plan)
        failures += _plan_failures(pieces, plan, steps, optimum)
    both = tuple(shaft for shaft in shafts_of(steps) if shaft.incoming_role and shaft.outgoing_role)
    drives = [step for step in steps if not isinstance(step, Move)]
    arriving, leaving = {d.upper: d for d in drives}, {d.lower: d for d in drives}
    n_unequal = sum(arriving[s.node].upper_level != leaving[s.node].lower_level for s in both)
    free = arrays._replace(force=without_limits(arrays.force))
    is_held = optimum_eur(free, run(free)) < optimum - CENT_EUR
    any_head = np.full_like(arrays.drive.head_limit_m, np.inf)
    tight = arrays._replace(drive=arrays.drive._replace(head_limit_m=any_head))
    anywhere = arrays._replace(layout=any_land(arrays.layout))
    return Verdict(
        instance=instance,
        optimum_eur=optimum,
        failures=tuple(failures),
        shared_shafts=both,
        n_unequal=n_unequal,
        n_drives=len(drives),
        is_held_by_forces=is_held,
        is_held_by_water=optimum_eur(tight, run(tight)) < optimum - CENT_EUR,
        is_turned_by_land=not agree(optimum_eur(anywhere, run(anywhere)), optimum),
        n_in_pieces=sum(layout.n_pieces > 1 for layout in layouts),
        n_bent=sum(layout.n_kinks != 0 for layout in layouts),
        n_drilled=sum(bool(arrays.drilled.is_drilled[drive.method]) for drive in drives),
        n_arcs=sum(bool(arrays.drive.arc_per_m[drive.method] > 0.0) for drive in drives),
        ways=ways,
    )


def _own_ways(arrays: SearchArrays, forward: PassResult) -> dict[str, float]:
    """Return what the search itself says in other ways: it must not contradict itself."""
    backward = run(arrays, is_forward=False)
    mirrored = turned_round(arrays)._replace(drilled=turned_drilled(arrays.drilled))
    columns = range(arrays.ground.ground_m.shape[0])
    return {
        "backward": float(backward.trench_eur[:, 0, arrays.start_row].min()),
        "mirrored": optimum_eur(mirrored, run(mirrored)),
        "unpruned": optimum_eur(arrays, run(arrays, is_pruned=False)),
        "halves": float(best_join_of(arrays, run_halves(arrays)).eur),
        "joined": min(joined_eur(arrays, forward, backward, column) for column in columns),
    }


def steps_of(pieces: Pieces, plan: FramePlan) -> list[Move | OracleDrive]:
    """Return a plan of the search as pieces that were priced without it.

    Raises
    ------
    RuleBreach
        When the plan holds a piece that does not exist.
    """
    drives = {(d.lower, d.upper, d.method, d.is_launched_at_lower): d for d in pieces.all_drives()}
    moves = {(m.start, m.end): m for found in pieces.moves.values() for m in found}
    steps: list[Move | OracleDrive] = []
    for step in plan.steps:
        piece: Move | OracleDrive | None
        if isinstance(step, DriveStep):
            piece = drives.get((step.lower, step.upper, step.method, step.is_launched_at_lower))
        else:
            dc, dr = pieces.arrays.trench.moves[step.move].tolist()
            piece = moves.get((step.start, (step.start[0] + dc, step.start[1] + dr)))
        if piece is None:
            raise RuleBreach(f"{step} can't be built")
        steps.append(piece)
    return steps


def _plan_failures(
    pieces: Pieces, plan: FramePlan, steps: list[Move | OracleDrive], optimum: float
) -> list[str]:
    """Price the found plan piece by piece; hold its shafts against those that its drives need."""
    failures = []
    try:
        priced = plan_eur(pieces, steps)
    except RuleBreach as breach:
        return [f"plan: {breach}"]
    if not (agree(priced, optimum) and agree(plan.objective_eur, optimum)):
        failures.append(f"plan re-priced: {priced:.4f}")
    told = [(s.node, s.incoming_role, s.outgoing_role, s.level) for s in plan.shafts]
    needed = [(s.node, s.incoming_role, s.outgoing_role, s.level) for s in shafts_of(steps)]
    if told != needed:
        failures.append(f"shafts: {told} instead of {needed}")
    return failures


def proof(*, is_quick: bool) -> list[Figure]:
    """Judge all instances; print those that fail; return the figures."""
    verdicts = []
    for instance in instances(is_quick=is_quick):
        verdict = judge(instance)
        verdicts.append(verdict)
        for way in set(instance.ways) - set(verdict.ways):
            print(
                f"  {instance.name}: no {way}, it has more than {MOST_PLANS:,} plans; solved the other ways"
            )
        for failure in verdict.failures:
            print(f"  {instance.name}: search {verdict.optimum_eur:.4f}, {failure}")
    n, plans = len(verdicts), [v for v in verdicts if math.isfinite(v.optimum_eur)]
    n_failed = sum(bool(v.failures) for v in verdicts)
    shared = [v for v in plans if v.shared_shafts]
    mixed = [v for v in shared if any(_is_mixed(shaft) for shaft in v.shared_shafts)]
    return [
        Figure("proof_instances", n, "instances", None if is_quick else 200),
        Figure("proof_by_enumeration", _n_by(verdicts, "enumeration"), "instances", 1),
        Figure("proof_by_integer_programme", _n_by(verdicts, "integer programme"), "instances", 1),
        Figure("proof_by_graph_of_states", _n_by(verdicts, "graph of states"), "instances", 1),
        Figure("proof_disagreements", n_failed, "instances", 0, is_most=True),
        Figure("proof_with_plan", len(plans), "instances"),
        Figure("proof_with_drives", sum(v.n_drives > 0 for v in plans), "instances"),
        Figure("proof_with_shared_shafts", len(shared) / len(plans), "of those with a plan", 0.4),
        Figure("proof_with_unequal_depths", sum(v.n_unequal > 0 for v in plans), "instances", 1),
        Figure("proof_with_shafts_of_two_methods", len(mixed), "instances", 1),
        Figure("proof_held_by_forces", sum(v.is_held_by_forces for v in verdicts), "instances", 1),
        Figure("proof_held_by_water", sum(v.is_held_by_water for v in verdicts), "instances", 1),
        Figure("proof_turned_by_land", sum(v.is_turned_by_land for v in verdicts), "instances", 1),
        Figure("proof_strings_in_pieces", sum(v.n_in_pieces for v in verdicts), "drives", 1),
        Figure("proof_bent_strings", sum(v.n_bent for v in verdicts), "drives", 1),
        Figure("proof_drilled", sum(v.n_drilled for v in verdicts), "drives", 1),
        Figure("proof_arcs", sum(v.n_arcs for v in verdicts), "drives", 1),
    ]


def _n_by(verdicts: Sequence[Verdict], way: str) -> int:
    """Count the instances that an independent way solved."""
    return sum(way in verdict.ways for verdict in verdicts)


def _is_mixed(shaft: PlanShaft) -> bool:
    """Return whether a shared shaft serves two methods; roles 1 and 2 are the first method's."""
    return (shaft.incoming_role - 1) // 2 != (shaft.outgoing_role - 1) // 2
