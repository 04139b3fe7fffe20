"""Covers that settlement asks for: at them a bore settles what it may, a step less it settles more."""

from __future__ import annotations

import math

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.corridor.burn_settlement import NO_COVER_DOES_M, STEP_M, needed_covers_m
from routescreen.drives.methods import method_geometry

A = load_assumptions("[methods.hdd]\nis_enabled = true\n")
DRILLED = method_geometry(A, "hdd")
SAND = list(A.soil).index("sand_dense")


def test_single_bore_by_hand() -> None:
    """An annulus of pi/4 (0.49 - 0.25) m2 is lost: 10 mm ask for i = A/(sqrt(2 pi) 0.01), z = i/K."""
    a = load_assumptions("[methods.hdd]\nis_enabled = true\n[link]\nn_systems = 1\npoles_per_system = 1\n")
    one = method_geometry(a, "hdd")
    assert one.n_bores == 1
    area = math.pi / 4.0 * (0.7**2 - 0.5**2)
    width = area / (math.sqrt(2.0 * math.pi) * 0.010)
    axis = width / a.soil["sand_dense"].settlement_k
    assert needed_covers_m(one, 10.0, a)[SAND] == pytest.approx(axis - 0.35, abs=STEP_M)


@pytest.mark.parametrize("limit_mm", [15.0, 20.0, 30.0])
def test_a_step_less_settles_too_much(limit_mm: float) -> None:
    """Bores beside each other add up; every trough by hand."""
    k = A.soil["sand_dense"].settlement_k
    area = math.pi / 4.0 * (0.7**2 - 0.5**2)
    offsets = (np.arange(DRILLED.n_bores) - (DRILLED.n_bores - 1) / 2.0) * DRILLED.spacing_m
    looked = np.linspace(offsets[0], offsets[-1], 401)

    def worst_mm(cover_m: float) -> float:
        i = k * (cover_m + 0.35)
        shape = np.exp(-((looked[:, None] - offsets) ** 2) / (2.0 * i * i)).sum(axis=1)
        return float(1000.0 * area / (math.sqrt(2.0 * math.pi) * i) * shape.max())

    cover_m = needed_covers_m(DRILLED, limit_mm, A)[SAND]
    assert worst_mm(cover_m) <= limit_mm * 1.001
    assert worst_mm(cover_m - 2.0 * STEP_M) > limit_mm


def test_four_ungrouted_bores_never_keep_a_railways_limit() -> None:
    """Deep down the four troughs are one: 80 m deep 4 A/(sqrt(2 pi) K z) alone is more than 10 mm."""
    k, area = A.soil["sand_dense"].settlement_k, math.pi / 4.0 * (0.7**2 - 0.5**2)
    assert 4000.0 * area / (math.sqrt(2.0 * math.pi) * k * 80.0) > 10.0
    assert needed_covers_m(DRILLED, 10.0, A)[SAND] == NO_COVER_DOES_M


def test_grouted_bores_ask_for_little() -> None:
    """A tenth of a thin annulus: 10 mm are kept at less than the method's own cover."""
    two_pass = method_geometry(A, "two_pass")
    assert (needed_covers_m(two_pass, 10.0, A) < two_pass.cover_m).all()
    assert (needed_covers_m(DRILLED, 10.0, A) > DRILLED.cover_m).all()
