"""Shafts and bends on local finer frames, once the plan on the frame stands.

Room: ``refine``. Pure computation: above ``search`` and ``takeoff``, below ``screen``.
"""

from routescreen.refine.frame_error import drive_errors_percent, error_percent
from routescreen.refine.passes import Judge, Standing
from routescreen.refine.run import Gains, refine_plan

__all__ = ["Gains", "Judge", "Standing", "drive_errors_percent", "error_percent", "refine_plan"]
