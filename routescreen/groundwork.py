"""The first steps of a corridor, before anything is searched: frame and ground.

Room: above ``corridor`` and ``drives``, below ``screen``. A run begins with them and a check of the inputs
ends with them, so that the two can't disagree.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.corridor.drive_reach import check_drive_reach
from routescreen.corridor.frame import build_frame
from routescreen.corridor.ground import GroundSampler, ground_on_frame
from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.runlog import Progress, no_progress

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import FrameGround
    from routescreen.project import CorridorInput

__all__ = ["lay_out"]


def lay_out(
    corridor: CorridorInput, assumptions: Assumptions, progress: Progress = no_progress
) -> tuple[Frame, GroundSampler, FrameGround]:
    """Lay the frame over a corridor and bring the ground onto it.

    Parameters
    ----------
    corridor : CorridorInput
    assumptions : Assumptions
    progress : callable
        Told what is being done.

    Raises
    ------
    InputError
        When the corridor can't be framed, no drive fits the frame, or the terrain has a gap.
    """
    progress("frame", 0.0)
    frame = build_frame(corridor, cell_m=assumptions.frame.cell_m)
    methods = [method_geometry(assumptions, name) for name in enabled_methods(assumptions)]
    check_drive_reach(frame, methods, max_drive_angle_deg=assumptions.search.max_drive_angle_deg)
    progress("ground", 0.0)
    sampler = GroundSampler(corridor, assumptions)
    return frame, sampler, ground_on_frame(frame, sampler)
