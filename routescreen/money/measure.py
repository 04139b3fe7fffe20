"""All measurements of the bill in one place, for whoever prices or measures a plan.

Room: ``money``. The functions stand in ``measure_trench``, ``measure_drive``, ``measure_shaft``,
``measure_crossing`` and ``measure_afterwards``. Each returns quantities in the order of
``items.bill_items``; a price is quantities @ `rates_eur`. A plan is measured the same way wherever it
is measured, on the frame or on its exact geometry.
"""

from routescreen.money.items import bill_items, rates_eur
from routescreen.money.measure_afterwards import (
    LaterMeasures,
    PlanTotals,
    ShaftMeasures,
    afterwards,
    later_sections,
    n_joint_bays,
    n_lots,
    shaft_measures,
)
from routescreen.money.measure_crossing import crossing_drive, crossing_trench, crossing_trench_per_m
from routescreen.money.measure_drive import (
    drive_fixed,
    drive_months,
    drive_months_per_m,
    drive_per_borehole_m,
    drive_per_m,
    drive_per_pipe_piece,
    drive_per_tie_in,
    drive_pumping,
    drive_set_up,
    layout_per_m,
    layout_working,
    n_boreholes_between,
    n_pipe_pieces,
)
from routescreen.money.measure_ramp import RampWorks, n_waters, ramp_steps, role_ramp_eur, work_out_ramps
from routescreen.money.measure_shaft import (
    ShaftGround,
    conducting_fill,
    has_conducting_fill,
    ramp_works_of,
    rock_head_level,
    shaft,
    shaft_in_ground,
    shaft_site,
)
from routescreen.money.measure_trench import trench_eur_per_m, trench_per_m

__all__ = [
    "LaterMeasures",
    "PlanTotals",
    "RampWorks",
    "ShaftGround",
    "ShaftMeasures",
    "afterwards",
    "bill_items",
    "conducting_fill",
    "crossing_drive",
    "crossing_trench",
    "crossing_trench_per_m",
    "drive_fixed",
    "drive_months",
    "drive_months_per_m",
    "drive_per_borehole_m",
    "drive_per_m",
    "drive_per_pipe_piece",
    "drive_per_tie_in",
    "drive_pumping",
    "drive_set_up",
    "has_conducting_fill",
    "later_sections",
    "layout_per_m",
    "layout_working",
    "n_boreholes_between",
    "n_joint_bays",
    "n_lots",
    "n_pipe_pieces",
    "n_waters",
    "ramp_steps",
    "ramp_works_of",
    "rates_eur",
    "rock_head_level",
    "role_ramp_eur",
    "shaft",
    "shaft_in_ground",
    "shaft_measures",
    "shaft_site",
    "trench_eur_per_m",
    "trench_per_m",
    "work_out_ramps",
]
