"""Methods that drill from pit to pit, for the invented corridors of the proof."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from routescreen.search.arrays import DrilledArrays, SearchArrays, ShaftArrays

NOTHING_M = 1e9
CHEAPER = 0.2  # so that drilled bores are among the optima
USUAL_COVER_M = 2.6  # what lies no deeper is the ground's cover alone


def with_drilling(s: SearchArrays, seed: int) -> SearchArrays:
    """Let the last method of a problem drill from pit to pit, under what asks for more than the usual cover.

    Parameters
    ----------
    s : SearchArrays
        As `proof_arrays` makes it.
    seed : int
    """
    rng = np.random.default_rng([seed, 77])
    n_methods, method = len(s.drive.bore_m), len(s.drive.bore_m) - 1
    ceiling_m = s.drive.ceiling_m.copy()
    is_usual = ceiling_m[method] > s.ground.ground_m - USUAL_COVER_M
    ceiling_m[method] = np.where(is_usual, NOTHING_M, ceiling_m[method])  # what is closed stays so
    is_drilled = np.zeros(n_methods, np.bool_)
    is_drilled[method] = True
    surface_m = s.ground.ground_m - rng.uniform(0.0, 0.4, s.ground.ground_m.shape)
    drilled = s.drilled._replace(
        is_drilled=is_drilled,
        entry_rad=np.full(n_methods, rng.uniform(0.2, 0.5)),
        exit_rad=np.full(n_methods, rng.uniform(0.2, 0.5)),
        radius_m=np.full(n_methods, rng.uniform(6.0, 25.0)),
        cover_m=np.full(n_methods, rng.uniform(0.3, 1.5)),
        surface_m=surface_m[None],
        pipe_kN_per_m=s.force.outside_kN_per_m / 0.1,
        uplift_kN_per_m=rng.choice([-1.0, 1.0]) * s.force.in_bore_kN_per_m / 0.3,
        roller_friction=np.full(n_methods, 0.1),
        bore_friction=np.full(n_methods, 0.3),
    )
    cheaper = np.where(is_drilled, CHEAPER, 1.0)
    drive = s.drive._replace(
        ceiling_m=ceiling_m,
        fixed_eur=s.drive.fixed_eur * cheaper,
        soil_eur_per_m=s.drive.soil_eur_per_m * cheaper[:, None],
        rock_eur_per_m=s.drive.rock_eur_per_m * cheaper[:, None],
    )
    return s._replace(drive=drive, drilled=drilled, shaft=_pits(s, method))


def _pits(s: SearchArrays, method: int) -> ShaftArrays:
    """Give a method pits of one depth that it shares with none."""
    roles = [1 + 2 * method, 2 + 2 * method]
    level = int(np.ceil((s.drive.bore_m[method] + s.shaft.sump_m) / s.shaft.step_m)) + 1
    least, most, table = s.shaft.least_level.copy(), s.shaft.most_level.copy(), s.shaft.table_eur.copy()
    least[roles] = most[roles] = level
    for role in roles:
        table[:, :, role, 1:] = table[:, :, 1:, role] = np.inf
        table[:, :, role, :, level + 1 :] = table[:, :, :, role, level + 1 :] = np.inf
    return s.shaft._replace(least_level=least, most_level=most, table_eur=table)


def turned_drilled(drilled: DrilledArrays) -> DrilledArrays:
    """Return the same seen from the corridor's other end."""
    return drilled._replace(surface_m=np.ascontiguousarray(drilled.surface_m[:, ::-1]))
