"""What screening a corridor will take: nodes, time and memory, reckoned before anything is done.

Room: ``corridor``. Rough, from measured runs; it keeps a run that can't end from being begun.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

from routescreen.counted import grouped
from routescreen.errors import InputError, Problem

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

# A corridor of 4.8 km by 100 m with 18 crossings took 126 s, compiled before, where 12 s are reckoned:
# 94 s of them told other ways, which depends on crossings and their surroundings and isn't reckoned here.
# Measured on two cores, all files included, compiled before: the demo (12 km, 400 m wide) 52 s and 910 MB;
# invented corridors 500 m wide with a feature every 400 m (``benchmarks.long_corridors``): 100 km 302 s and
# 1 759 MB; 700 km, before search and explanations grew faster, 51 min and 7.3 GB, too long a link for other
# ways and tolerances. Search and explanations took 46 (the demo) to 65 % (100 km) of the stages. Corridors of
# 1 km with cells of 10, 5 and 2.5 m: the search of a node takes 0.8 to 3.3 and 1.5 to 19 times as long.
REST_S_PER_NODE, SEARCH_S_PER_NODE = 420e-6, 450e-6
SEARCH_GROWS = 1.5  # power of 10 m / cell
MB_PER_NODE, BASE_MB, BASE_S = 1.75e-3, 840.0, 8.0
CELL_M = 10.0
LONG_S = 60.0  # what takes longer is worth a word


@dataclass(frozen=True, slots=True)
class Effort:
    """What a corridor will take; time at the least, memory good to a factor of about two.

    `n_nodes` nodes of the frame, `seconds` [s] and `memory_mb` [MB].
    """

    n_nodes: float
    seconds: float
    memory_mb: float

    @property
    def is_long(self) -> bool:
        """Whether it takes long enough to say so beforehand."""
        return self.seconds > LONG_S

    def text(self) -> str:
        """Say it in a sentence."""
        minutes = self.seconds / 60.0
        span = f"{self.seconds:.0f} s" if not self.is_long else f"{minutes:.0f} min"
        if minutes > 120.0:
            span = f"{minutes / 60.0:.0f} h"
        return (
            f"about {grouped(self.n_nodes)} nodes: expect {span} or more and {self.memory_mb / 1000.0:.1f} GB"
        )


def expected_effort(corridor: CorridorInput, *, cell_m: float) -> Effort:
    """Reckon what screening a corridor will take.

    Parameters
    ----------
    corridor : CorridorInput
    cell_m : float
        Spacing of the frame's nodes [m].

    Returns
    -------
    Effort
    """
    if corridor.outline is not None:
        n_nodes = float(corridor.outline.area) / cell_m**2
    else:
        n_nodes = float(corridor.fixed_line.length) / cell_m if corridor.fixed_line is not None else 0.0
    search_s = SEARCH_S_PER_NODE * max(CELL_M / cell_m, 1.0) ** SEARCH_GROWS
    return Effort(n_nodes, BASE_S + n_nodes * (REST_S_PER_NODE + search_s), BASE_MB + MB_PER_NODE * n_nodes)


def check_memory(corridor: CorridorInput, effort: Effort, memory_mb: float | None) -> None:
    """Refuse a corridor that needs more memory than the machine has.

    Parameters
    ----------
    corridor : CorridorInput
    effort : Effort
    memory_mb : float or None
        What the machine has, None where it isn't known [MB].

    Raises
    ------
    InputError
    """
    if memory_mb is None or effort.memory_mb <= memory_mb:
        return
    text = (
        f"Screening takes {effort.text()}; this machine has {memory_mb / 1000.0:.1f} GB. It would fail or "
        "never end."
    )
    remedy = "Take larger cells (frame.cell_m), split the corridor, or use a larger machine."
    raise InputError(
        [
            Problem(
                problem=text,
                remedy=remedy,
                layer="corridor",
                feature=corridor.corridor_id,
                value=f"{grouped(effort.n_nodes)} nodes",
            )
        ]
    )


def machine_memory_mb() -> float | None:
    """Return the memory of the machine [MB], None where the system doesn't tell."""
    try:
        return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / 1e6
    except (AttributeError, OSError, ValueError):
        return None
