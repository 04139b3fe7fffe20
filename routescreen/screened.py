"""One screened corridor as plain data: what the result tables are made from.

Room: pure data between ``screen`` (which assembles it) and ``results`` (which names, places and sums it).
May import ``plan``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray
    from shapely import Geometry, LineString, Polygon

    from routescreen.plan import Plan


@dataclass(frozen=True, slots=True)
class DriveData:
    """What a drive's row needs beside the plan.

    Attributes
    ----------
    n_bores : int
    bore_diameter_m, bore_spacing_m : float
        Diameter of each bore and distance between neighbouring axes [m].
    cover_min_m, cover_min_chainage_m : float
        Least cover over any bore and where it is, along the alignment [m]; NaN if not measured.
    thrust_kN, pull_in_kN : float
        Thrust and pull on the pipe after a stop, at expected friction [kN]; NaN if not measured.
    thrust_utilisation, pull_in_utilisation : float
        The same by what frame, string and pipe bear [-].
    true_length_m : float
        Of each bore [m]; NaN where it is straight from end to end of the plan's drive.
    course_m : tuple of (float, float)
        Points of the crown: distance in plan from the lower-chainage end, and level [m]; empty where it is
        straight.
    """

    n_bores: int
    bore_diameter_m: float
    bore_spacing_m: float
    cover_min_m: float
    cover_min_chainage_m: float
    thrust_kN: float = float("nan")
    thrust_utilisation: float = float("nan")
    pull_in_kN: float = float("nan")
    pull_in_utilisation: float = float("nan")
    true_length_m: float = float("nan")
    course_m: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Site:
    """An area on the ground that belongs to a shaft or a drive.

    Attributes
    ----------
    owner : int
        Index of the shaft (a compound) or of the drive (a layout strip) in the plan.
    outline : Polygon
    """

    owner: int
    outline: Polygon


@dataclass(frozen=True, slots=True)
class LongSection:
    """The profile along the alignment; every array has shape (n,), NaN where there is no value.

    Attributes
    ----------
    chainage_m : ndarray
        Along the alignment, not falling [m].
    ground_m, invert_m, groundwater_m : ndarray
        Levels [m].
    cover_m, required_cover_m : ndarray
        Cover over the crown of the bore, or over the pipes in the trench [m].
    is_drive : ndarray of bool
    """

    chainage_m: NDArray[np.float64]
    ground_m: NDArray[np.float64]
    invert_m: NDArray[np.float64]
    cover_m: NDArray[np.float64]
    required_cover_m: NDArray[np.float64]
    groundwater_m: NDArray[np.float64]
    is_drive: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Backdrop:
    """What lies in a corridor, to draw the plan on.

    Attributes
    ----------
    outline : Polygon or None
        The corridor; None where a line is given instead.
    shapes : tuple of Geometry
        Features that were looked at, as given.
    kinds, names, feature_ids : tuple of str
        One for each shape; a name may be empty.
    """

    outline: Polygon | None
    shapes: tuple[Geometry, ...] = ()
    kinds: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    feature_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ScreenedCorridor:
    """One corridor, planned, audited and priced, ready to be written.

    Tables point to parts of the plan by two columns: `element` is ``"link"``, ``"section"``,
    ``"drive"``, ``"shaft"`` or ``"crossing"``, and `element_index` is the position among the sections
    (as `section_runs` gives them), the plan's drives, its shafts, or the rows of `crossings`; it is
    -1 for the link.

    Attributes
    ----------
    plan : Plan
    axis : LineString
        Axis of the frame, from which `axis_chainage_m` and `offset_m` are measured.
    drives : tuple of DriveData
        One for each of the plan's drives.
    reasons : tuple of str
        One sentence for each section.
    crossings : DataFrame
        Columns of the layer `crossing_schedule` without `corridor_id`, `crossing_id` and
        `section_id`, in any order of rows; nullable columns may be missing.
    checks : DataFrame
        Columns of the table `checks` without `corridor_id`, `check_id` and `element_id`, with
        `element` and `element_index` instead; `margin` may be missing and is then reckoned.
    bill : DataFrame
        Columns of the table `bill` without `corridor_id`, `section_id` and `element_id`, with
        `section_index` (-1 for items of the whole link), `element` and `element_index` instead.
    long_section : LongSection
    compounds, strips : tuple of Site
    run_record : mapping of str to str
        Entries in the order in which they are written, after the versions and the caution, which need
        not be given.
    curves : mapping of str to DataFrame
        By result layer: its columns without `corridor_id`, with `drive_index` or `section_index` in place
        of `drive_id` and `section_id`; spatial layers with `geometry`; what is not there has no rows.
    backdrop : Backdrop or None
        Without it the report's plan shows the works alone.
    shaft_columns : DataFrame or None
        Nullable columns of the layer ``shafts``, one row a shaft; those not there are NULL.
    """

    plan: Plan
    axis: LineString
    drives: tuple[DriveData, ...]
    reasons: tuple[str, ...]
    crossings: pd.DataFrame
    checks: pd.DataFrame
    bill: pd.DataFrame
    long_section: LongSection
    compounds: tuple[Site, ...]
    strips: tuple[Site, ...]
    run_record: Mapping[str, str]
    curves: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    backdrop: Backdrop | None = None
    shaft_columns: pd.DataFrame | None = None
