"""The search against independent ways to the optimum: see ``benchmarks/proof.py``."""

from __future__ import annotations

import functools
import math

import pytest

from benchmarks.proof import Instance, Verdict, instances, judge

INSTANCES = tuple(instances(is_suite=True))


@functools.cache
def verdict_of(instance: Instance) -> Verdict:
    return judge(instance)


@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: instance.name)
def test_all_ways_agree_to_the_cent(instance: Instance) -> None:
    assert verdict_of(instance).failures == ()


def test_the_instances_ask_for_what_is_proved() -> None:
    """Without plans, drives and shared shafts of unequal depth the proof would be empty."""
    drilled = [verdict_of(instance) for instance in INSTANCES if instance.is_drilled]
    assert len(drilled) == 8
    assert any(verdict.n_drilled for verdict in drilled)
    on_arcs = [verdict_of(instance) for instance in INSTANCES if instance.has_arcs]
    assert len(on_arcs) == 11
    assert any(verdict.n_arcs for verdict in on_arcs)
    straight = [instance for instance in INSTANCES if instance.is_straight]
    verdicts = [verdict_of(instance) for instance in straight]
    plans = [verdict for verdict in verdicts if math.isfinite(verdict.optimum_eur)]
    assert len(verdicts) == 30
    assert len(plans) >= 20
    assert sum(bool(verdict.shared_shafts) for verdict in plans) >= len(plans) // 2
    assert sum(verdict.n_unequal > 0 for verdict in plans) >= 8
    assert any(verdict.is_held_by_forces for verdict in verdicts)
    assert sum(verdict_of(instance).is_held_by_water for instance in INSTANCES) >= 2
    assert any(verdict.is_turned_by_land for verdict in verdicts)
    assert any(verdict.n_in_pieces for verdict in verdicts)
    assert any(verdict.n_bent for verdict in verdicts)
    methods = [
        {(shaft.incoming_role - 1) // 2, (shaft.outgoing_role - 1) // 2}
        for verdict in plans
        for shaft in verdict.shared_shafts
    ]
    assert any(len(pair) == 2 for pair in methods)
