"""What it costs the search that forces, land for strings and the cable's heat steer it.

The corridors of `joint`, once free of all that, once with each and once with all together: processor time a
node of one whole pass, in one run. What steers is invented so that it matters: forces that give out at nine
tenths of the longest drive, fields that bear no string, a band of depths at which cables would be too warm.
"""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.clock import timed
from benchmarks.figures import Figure
from benchmarks.instances import no_forces
from benchmarks.joint import COLUMNS_PER_KM
from benchmarks.proof import run
from benchmarks.proof_gaps import with_band
from benchmarks.proof_land import proof_land
from benchmarks.straight import Straight, straight_arrays
from routescreen.search.solve import optimum_eur

if TYPE_CHECKING:
    from routescreen.search.arrays import ForceArrays, LayoutArrays, SearchArrays

KM = 5
MOST_TIMES = 1.5
N_RUNS = 3
HELD_SHARE = 0.9  # of the longest drive that forces allow
BAND_SEED = 3  # band with a depth below which nothing may lie, without columns free of it


def steering(*, is_quick: bool = False) -> list[Figure]:
    """Measure both kinds of corridor with and without what steers."""
    figures = []
    for kind in ("typical", "dense"):
        n_columns = 60 if is_quick else KM * COLUMNS_PER_KM
        size = Straight(n_columns, is_dense=kind == "dense")
        free = straight_arrays(size)
        land = _land(free, size)
        ways = {
            "free": free,
            "forces": free._replace(force=_forces(size.longest_m)),
            "land": free._replace(layout=land),
            "heat": with_band(free, BAND_SEED),
            "all": with_band(free, BAND_SEED)._replace(force=_forces(size.longest_m), layout=land),
        }
        figures += _compared(kind, size, ways)
    return figures


def _compared(kind: str, size: Straight, ways: dict[str, SearchArrays]) -> list[Figure]:
    """Run each in turn, so that what else the machine does falls on all of them."""
    run(ways["free"])
    rounds = [{name: timed(partial(run, a)) for name, a in ways.items()} for _ in range(N_RUNS)]
    figures = []
    for name, arrays in ways.items():
        result = rounds[-1][name][0]
        seconds = min(each[name][2] for each in rounds)
        if math.isinf(optimum_eur(arrays, result)):
            raise AssertionError(f"{kind}, {name}: no plan, which would be no measure of the search")
        figures += [
            Figure(f"steering_{kind}_{name}", 1e6 * seconds / size.n_nodes, "us a node"),
            Figure(f"steering_{kind}_{name}_pairs", result.n_pairs / size.n_nodes, "a node"),
            Figure(f"steering_{kind}_{name}_optimum", optimum_eur(arrays, result), "EUR"),
        ]
    free_s = min(each["free"][2] for each in rounds)
    for name in ways:
        if name != "free":
            times = min(each[name][2] for each in rounds) / free_s
            target = MOST_TIMES if name == "all" else None
            figures.append(Figure(f"steering_{kind}_{name}_times_free", times, "times", target, is_most=True))
    return figures


def _forces(longest_m: float) -> ForceArrays:
    """Let both the thrust and the pull of one method give out below its longest drive."""
    held_m, restart, friction, in_bore, drag = HELD_SHARE * longest_m, 1.5, 4.0, 0.4, 2.0
    return no_forces(1, 1)._replace(
        friction_kN_per_m=np.full((1, 1), friction),
        cut_m=np.array([0.6]),
        has_face_pressure=np.ones(1, np.bool_),
        control_kPa=np.full(1, 10.0),
        string_kN_per_m=np.full(1, 5.0),
        capacity_kN=np.array([30.0 + restart * friction * held_m]),
        in_bore_kN_per_m=np.array([in_bore]),
        outside_kN_per_m=np.array([0.1]),
        drag_kN=np.array([drag]),
        safe_pull_kN=np.array([drag + restart * in_bore * 1.2 * held_m]),
        gamma_kN_per_m3=np.array([19.0]),
        gamma_sat_kN_per_m3=np.array([20.5]),
        phi_deg=np.array([30.0]),
        restart=restart,
        water_factor=1.05,
        earth_factor=1.5,
    )


def _land(arrays: SearchArrays, size: Straight) -> LayoutArrays:
    """Return the first land that hinders a string of one method."""
    for seed in range(100):
        land = proof_land(np.random.default_rng([seed, 97]), arrays.frame.node_xy_m, 1, size.longest_m)
        if land.most_pieces[0] > 0 and len(land.segment_xy_m) > 0:
            return land
    raise AssertionError("no land hinders a string")
