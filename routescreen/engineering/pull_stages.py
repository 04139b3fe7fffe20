"""Pull-in of the protection pipe stage by stage, with the driven string that is still in the ground.

Room: ``engineering``. Pure arrays in SI units; the pull on the pipe's head is that of ``pull_in``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.pull_in import pipe_pull_kN
from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PullStages:
    """Pulls when so much of the pipe is in the bore.

    Attributes
    ----------
    pipe_kN : ndarray of float64
        On the pipe's head [kN].
    string_kN : ndarray of float64
        Friction of the string that is still in the ground [kN].
    """

    pipe_kN: Array
    string_kN: Array

    @property
    def rig_kN(self) -> Array:
        """What the rig pulls: pipe and string [kN]."""
        return np.asarray(self.pipe_kN + self.string_kN)


def string_left_kN(pulled_m: ArrayLike, run_m: ArrayLike, run_friction_kN_per_m: ArrayLike) -> Array:
    """Friction of the string that is still in the ground when so much of it has been drawn back.

    Parameters
    ----------
    pulled_m : array_like of shape (...)
        Drawn back towards the launch, whence the pipe lies in the last metres before the reception [m].
    run_m, run_friction_kN_per_m : array_like of shape (..., n_runs)
        Lengths of the ground's runs from the launch on [m], and tau pi OD in each [kN/m].

    Returns
    -------
    ndarray of float64, shape (...)
        [kN]
    """
    run, friction = not_negative("a run", run_m), np.asarray(run_friction_kN_per_m, dtype=np.float64)
    end = np.cumsum(run, axis=-1)
    left = end[..., -1] - np.asarray(pulled_m, dtype=np.float64)
    kept = np.clip(left[..., np.newaxis] - (end - run), 0.0, run)
    return np.asarray(np.sum(friction * kept, axis=-1))


def pull_stages(
    pulled_m: ArrayLike,
    run_m: ArrayLike,
    run_friction_kN_per_m: ArrayLike,
    *,
    in_bore_kN_per_m: ArrayLike,
    outside_kN_per_m: ArrayLike,
    drag_kN: ArrayLike,
    restart_factor: ArrayLike = 1.0,
) -> PullStages:
    """Return the pulls of pipe and rig at given stages.

    Parameters
    ----------
    pulled_m, run_m, run_friction_kN_per_m
        See `string_left_kN`.
    in_bore_kN_per_m, outside_kN_per_m, drag_kN : array_like of shape (...)
        See `pipe_pull_kN`.
    restart_factor : array_like of shape (...)
        On all friction, of string and pipe, after a stop: 1.5; the fluid's drag is no friction [-].

    Returns
    -------
    PullStages
        Of shape (...).
    """
    pulled = np.asarray(pulled_m, dtype=np.float64)
    factor = positive("the restart factor", restart_factor)
    length = np.sum(np.asarray(run_m, dtype=np.float64), axis=-1)
    in_bore, on_rollers = factor * np.asarray(in_bore_kN_per_m), factor * np.asarray(outside_kN_per_m)
    pipe = pipe_pull_kN.py_func(pulled, length, in_bore, on_rollers, np.asarray(drag_kN))  # type: ignore[attr-defined]
    string = string_left_kN(pulled, run_m, run_friction_kN_per_m)
    return PullStages(np.asarray(pipe), np.asarray(factor * string))


def most_pull(
    run_m: ArrayLike,
    run_friction_kN_per_m: ArrayLike,
    *,
    in_bore_kN_per_m: ArrayLike,
    outside_kN_per_m: ArrayLike,
    drag_kN: ArrayLike,
    restart_factor: ArrayLike = 1.0,
) -> PullStages:
    """Largest pulls over all stages, each where it is largest: `rig_kN` of the result is that of its stage.

    Parameters
    ----------
    run_m, run_friction_kN_per_m, in_bore_kN_per_m, outside_kN_per_m, drag_kN, restart_factor
        See `pull_stages`.

    Returns
    -------
    PullStages
        Of shape (..., 2): the stage with the largest pull on the pipe, that with the largest on the rig.

    Notes
    -----
    Both pulls change evenly within a run, so that only the runs' ends need be looked at.
    """
    run = not_negative("a run", run_m)
    friction = np.asarray(run_friction_kN_per_m, dtype=np.float64)
    factor = positive("the restart factor", restart_factor)[..., np.newaxis]
    run, friction = np.broadcast_arrays(run, friction)
    nothing = np.zeros((*run.shape[:-1], 1))
    outside = np.concatenate([nothing, np.cumsum(run, axis=-1)], axis=-1)
    string = factor * np.concatenate([nothing, np.cumsum(run * friction, axis=-1)], axis=-1)
    length = outside[..., -1:]
    in_bore = factor * np.asarray(in_bore_kN_per_m, dtype=np.float64)[..., np.newaxis]
    on_rollers = factor * np.asarray(outside_kN_per_m, dtype=np.float64)[..., np.newaxis]
    drag = np.asarray(drag_kN, dtype=np.float64)[..., np.newaxis]
    pipe = pipe_pull_kN.py_func(length - outside, length, in_bore, on_rollers, drag)  # type: ignore[attr-defined]
    pipe, string = np.broadcast_arrays(pipe, string)
    at = np.stack([np.argmax(pipe, axis=-1), np.argmax(pipe + string, axis=-1)], axis=-1)
    return PullStages(np.take_along_axis(pipe, at, axis=-1), np.take_along_axis(string, at, axis=-1))
