"""The depths of a found plan, chosen together along each chain of drives that share shafts.

Room: ``search``. The search gives each drive one line, by the prices of depth of stand-alone shafts. With
the plan's places and roles fixed, the lines of a chain are chosen anew here, all at once: a shared shaft is
as deep as the deeper of its two drives, so what one drive may sink for nothing may save depth at its other
end. Never dearer, since the search's own lines stay among the choices.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.depth_kernel import lines_by_level, shaft_prices_eur
from routescreen.search.drive_price_kernel import Settled, new_work
from routescreen.search.solve import DriveStep, FramePlan

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, Integers, SearchArrays
    from routescreen.search.solve import Node, TrenchStep


@dataclass(frozen=True, slots=True)
class _Choice:
    """Lines that a drive may have, the search's own last."""

    lines: tuple[Settled, ...]

    @property
    def eur(self) -> Floats:
        """Prices without shafts, shape (n,) [EUR]."""
        return np.array([line.eur for line in self.lines])

    @property
    def lower(self) -> Integers:
        """Levels at the lower end, shape (n,)."""
        return np.array([line.lower_level for line in self.lines])

    @property
    def upper(self) -> Integers:
        """Levels at the upper end, shape (n,)."""
        return np.array([line.upper_level for line in self.lines])


def choose_depths(arrays: SearchArrays, plan: FramePlan) -> FramePlan:
    """Return the plan with the depths of each chain of drives at their least cost together.

    Parameters
    ----------
    arrays : SearchArrays
    plan : FramePlan

    Returns
    -------
    FramePlan
        Same places, methods and roles; its objective is lower by ``depth_gain_eur``, which is at least 0.
    """
    steps: list[TrenchStep | DriveStep] = list(plan.steps)
    shafts = {shaft.node: shaft for shaft in plan.shafts}
    gain_eur = 0.0
    for chain in _chains(plan.steps):
        drives = [step for step in (steps[index] for index in chain) if isinstance(step, DriveStep)]
        found, less_eur = _best_lines(arrays, drives)
        if less_eur <= 0.0:
            continue
        gain_eur += less_eur
        for index, drive in zip(chain, found, strict=True):
            steps[index] = drive
        for node, level in _levels(found).items():
            shafts[node] = replace(shafts[node], level=level)
    return replace(
        plan,
        objective_eur=plan.objective_eur - gain_eur,
        steps=tuple(steps),
        shafts=tuple(shafts[shaft.node] for shaft in plan.shafts),
        depth_gain_eur=gain_eur,
    )


def _chains(steps: tuple[TrenchStep | DriveStep, ...]) -> list[list[int]]:
    """Return the runs of drives that follow each other without trench between, by their places."""
    chains: list[list[int]] = []
    for index, step in enumerate(steps):
        if not isinstance(step, DriveStep):
            continue
        if index > 0 and isinstance(steps[index - 1], DriveStep):
            chains[-1].append(index)
        else:
            chains.append([index])
    return chains


def _levels(drives: list[DriveStep]) -> dict[Node, int]:
    """Return the level of each shaft of a chain: the deeper of its drives."""
    levels: dict[Node, int] = {}
    for drive in drives:
        for node, level in ((drive.lower, drive.line.lower_level), (drive.upper, drive.line.upper_level)):
            levels[node] = max(levels.get(node, 0), level)
    return levels


def _roles(drive: DriveStep) -> tuple[int, int]:
    """Return the roles of the shafts at a drive's lower and upper end."""
    launch, reception = 1 + 2 * drive.method, 2 + 2 * drive.method
    return (launch, reception) if drive.is_launched_at_lower else (reception, launch)


def _best_lines(arrays: SearchArrays, drives: list[DriveStep]) -> tuple[list[DriveStep], float]:
    """Return the drives with the lines that cost least together, and what that saves [EUR]."""
    choices = [_choice(arrays, drive) for drive in drives]
    links = _links_eur(arrays, drives, choices)
    picked = _cheapest_chain([choice.eur for choice in choices], links)
    own = [len(choice.lines) - 1 for choice in choices]  # the search's own line stands last
    saved = _chain_eur(choices, links, own) - _chain_eur(choices, links, picked)
    if saved <= 0.0:
        return drives, 0.0
    chosen = [
        replace(drive, line=choice.lines[at])
        for drive, choice, at in zip(drives, choices, picked, strict=True)
    ]
    return chosen, saved


def _choice(arrays: SearchArrays, drive: DriveStep) -> _Choice:
    """Return the line of least depth at the upper end for each level at the lower end, and the own one."""
    n_levels = arrays.shaft.table_eur.shape[4]
    work = new_work(
        drive.upper[0] - drive.lower[0],
        arrays.drive.drive_fee_eur.shape[0],
        arrays.drive.longest_m.shape[1],
    )
    table = np.full((n_levels, 5), math.inf)
    lines_by_level(arrays, work, drive.method, *drive.lower, *drive.upper, drive.is_launched_at_lower, table)
    lines = {
        (int(lower), int(upper)): Settled(
            True, float(eur), int(lower), int(upper), float(slope), float(crown)
        )
        for eur, lower, upper, slope, crown in table
        if math.isfinite(eur)
    }
    return _Choice((*lines.values(), drive.line))


def _links_eur(arrays: SearchArrays, drives: list[DriveStep], choices: list[_Choice]) -> list[Floats]:
    """Return the price of each shaft of a chain by the lines on its two sides.

    The first has shape (1, n), the last (n, 1), those between (n, n').
    """
    links = []
    for index in range(len(drives) + 1):
        before, after = (
            (drives[index - 1] if index else None),
            (drives[index] if index < len(drives) else None),
        )
        node = after.lower if after is not None else drives[-1].upper
        roles = (0 if before is None else _roles(before)[1], 0 if after is None else _roles(after)[0])
        eur = shaft_prices_eur(arrays, node[0], node[1], *roles)
        incoming = np.zeros(1, int) if before is None else choices[index - 1].upper
        outgoing = np.zeros(1, int) if after is None else choices[index].lower
        links.append(eur[np.maximum(incoming[:, None], outgoing[None, :])])
    return links


def _cheapest_chain(drive_eur: list[Floats], links: list[Floats]) -> list[int]:
    """Return the choice of each drive with the least sum of drives and shafts."""
    cost, came_from = links[0][0] + drive_eur[0], []
    for eur, link in zip(drive_eur[1:], links[1:-1], strict=True):
        through = cost[:, None] + link
        came_from.append(through.argmin(axis=0))
        cost = through.min(axis=0) + eur
    picked = [int((cost + links[-1][:, 0]).argmin())]
    for source in reversed(came_from):
        picked.append(int(source[picked[-1]]))
    return picked[::-1]


def _chain_eur(choices: list[_Choice], links: list[Floats], picked: list[int]) -> float:
    """Return the price of a chain with given lines [EUR]."""
    ends = [0, *picked, 0]
    shafts = sum(float(link[ends[index], ends[index + 1]]) for index, link in enumerate(links))
    return shafts + sum(float(choice.eur[at]) for choice, at in zip(choices, picked, strict=True))
