"""A method that drives on arcs beside a straight one, for the invented corridors of the proof."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays

CHEAPER = 0.9  # so that arcs are among the optima
STEEPEST = 0.25  # on short drives an arc that turns little is hardly one


def with_arcs(s: SearchArrays, seed: int) -> SearchArrays:
    """Let the last method of a problem drive on arcs, and give it forces that a bend can be too much for.

    Parameters
    ----------
    s : SearchArrays
        As `proof_arrays` makes it.
    seed : int
    """
    rng = np.random.default_rng([seed, 78])
    n_methods, method = len(s.drive.bore_m), len(s.drive.bore_m) - 1
    is_arc = np.arange(n_methods) == method
    longest_m = float(s.drive.longest_m.max())
    low, high = s.drive.slope_min_frac.copy(), s.drive.slope_max_frac.copy()
    low[method], high[method] = -rng.uniform(0.1, STEEPEST), rng.uniform(0.1, STEEPEST)
    # from arcs that may turn over the longest drive down to some that reach two thirds of it
    radius_m = rng.uniform(0.7, 2.5) * longest_m / (high[method] - low[method])
    cheaper = np.where(is_arc, CHEAPER, 1.0)
    drive = s.drive._replace(
        arc_per_m=np.where(is_arc, 0.5 / radius_m, 0.0),
        slope_min_frac=low,
        slope_max_frac=high,
        fixed_eur=s.drive.fixed_eur * cheaper,
        soil_eur_per_m=s.drive.soil_eur_per_m * cheaper[:, None],
        rock_eur_per_m=s.drive.rock_eur_per_m * cheaper[:, None],
    )
    force = s.force._replace(string_bend=float(rng.uniform(0.1, 0.6)), pipe_bend=float(rng.uniform(0.1, 0.6)))
    return s._replace(drive=drive, force=force)
