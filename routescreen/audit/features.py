"""What each feature asks of the works: the assumptions of its kind under its own overrides.

Room: ``audit``. May use ``project``, ``assumptions``, numpy, scipy and shapely. Treatments and the
merging of split features are resolved here a second time, on purpose, from the input alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

if TYPE_CHECKING:
    from collections.abc import Callable

    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions, Treatment

QUARTER_CIRCLE_SEGMENTS = 16


@dataclass(frozen=True, slots=True)
class Features:
    """All features of one corridor with what they ask; every array has shape (n,).

    Attributes
    ----------
    feature_id, kind, name : ndarray of object
        As in the input; `name` may be None.
    geometry : ndarray of object
        As drawn in the input.
    outline : ndarray of object
        The geometry widened by its half width; as drawn where it has an area of its own, or no width.
    has_known_kind : ndarray of bool
        Whether the assumptions have a treatment for the kind.
    crossing : ndarray of int64
        Features of one kind that touch, or nearly, share a number: they are one crossing.
    trench_ok, drive_ok, shaft_ok : ndarray of bool
        What may go through. Consent counts as yes for trench and drive, as no for shafts.
    needs_consent : ndarray of bool
        Whether trench or drive is allowed by the owner's consent only.
    clearance_m : ndarray
        From the outline to a shaft, or to the edge of a trench that may not go through [m].
    drive_clearance_m : ndarray
        Sideways, from the outline to a bore that may not go under it [m].
    cover_m : ndarray
        Cover under the reference level: the feature's own where it states one, else its kind's; the
        larger of both where the kind names no reference. Services have their clearance instead [m].
    stated_cover_m : ndarray
        Cover as the feature states it, of services below their underside; NaN where it does not [m].
    cover_reference : ndarray of object
    reference_depth_m : ndarray
        Depth of a formation under the terrain [m].
    least_angle_deg : ndarray
        0 where there is none.
    is_wet_all_year, has_trial_hole : ndarray of bool
        Whether water stands on the bed all the year; whether the service is exposed before work.
    half_width_m, service_clearance_m, record_uncertainty_m, exposed_clearance_m, water_depth_m, scour_m,
    service_depth_m, service_diameter_m, base_level_m : ndarray
        [m]; the base level NaN where it is not known.
    confidence : ndarray of object
        ``assumed``, ``record`` or ``surveyed``.
    """

    feature_id: NDArray[np.object_]
    kind: NDArray[np.object_]
    name: NDArray[np.object_]
    geometry: NDArray[np.object_]
    outline: NDArray[np.object_]
    has_known_kind: NDArray[np.bool_]
    crossing: NDArray[np.int64]
    trench_ok: NDArray[np.bool_]
    drive_ok: NDArray[np.bool_]
    shaft_ok: NDArray[np.bool_]
    needs_consent: NDArray[np.bool_]
    clearance_m: NDArray[np.float64]
    drive_clearance_m: NDArray[np.float64]
    cover_m: NDArray[np.float64]
    stated_cover_m: NDArray[np.float64]
    cover_reference: NDArray[np.object_]
    reference_depth_m: NDArray[np.float64]
    least_angle_deg: NDArray[np.float64]
    half_width_m: NDArray[np.float64]
    service_clearance_m: NDArray[np.float64]
    record_uncertainty_m: NDArray[np.float64]
    exposed_clearance_m: NDArray[np.float64]
    is_wet_all_year: NDArray[np.bool_]
    has_trial_hole: NDArray[np.bool_]
    water_depth_m: NDArray[np.float64]
    scour_m: NDArray[np.float64]
    service_depth_m: NDArray[np.float64]
    heat_W_per_m: NDArray[np.float64]
    has_given_heat: NDArray[np.bool_]
    service_diameter_m: NDArray[np.float64]
    base_level_m: NDArray[np.float64]
    confidence: NDArray[np.object_]

    def __len__(self) -> int:
        """Return the number of features."""
        return len(self.kind)

    @property
    def n_crossings(self) -> int:
        """Number of merged crossings."""
        return int(self.crossing.max()) + 1 if len(self.crossing) else 0

    def members(self, crossing: int) -> NDArray[np.int64]:
        """Return the features that make up one crossing."""
        return np.flatnonzero(self.crossing == crossing).astype(np.int64)


def resolve_features(table: gpd.GeoDataFrame, assumptions: Assumptions) -> Features:
    """Resolve what each feature asks for, and which features are one crossing.

    Parameters
    ----------
    table : GeoDataFrame
        The crossings of the input.
    assumptions : Assumptions

    Returns
    -------
    Features
    """
    kinds = np.asarray(table["kind"], dtype=object)
    by_kind = [assumptions.treatments.get(kind) for kind in kinds]
    geometry = np.asarray(table.geometry.array, dtype=object)
    half_width_m = _number(table, "half_width_m", by_kind, lambda t: t.half_width_m)
    outline = widen(geometry, half_width_m)
    trench, drive = _allowed(table, by_kind)
    shaft = _text(table, "shaft_allowed", by_kind, lambda t: t.shaft_allowed)
    return Features(
        feature_id=_feature_ids(table),
        kind=kinds,
        name=_names(table),
        geometry=geometry,
        outline=outline,
        has_known_kind=np.array([treatment is not None for treatment in by_kind], dtype=np.bool_),
        crossing=_merged(kinds, outline, by_kind, assumptions.frame.merge_gap_m),
        trench_ok=trench != "no",
        drive_ok=drive != "no",
        shaft_ok=shaft == "yes",
        needs_consent=(trench == "consent") | (drive == "consent"),
        clearance_m=_default(by_kind, lambda t: t.shaft_clearance_m),
        drive_clearance_m=_default(by_kind, lambda t: t.drive_clearance_m),
        cover_m=_covers(table, by_kind),
        stated_cover_m=_column(table, "min_cover_m"),
        cover_reference=np.array([t.cover_reference if t else "surface" for t in by_kind], dtype=object),
        reference_depth_m=_default(by_kind, lambda t: t.reference_depth_m),
        least_angle_deg=_number(table, "min_angle_deg", by_kind, lambda t: t.min_angle_deg),
        half_width_m=np.where(shapely.get_dimensions(geometry) < 2, half_width_m, 0.0),
        service_clearance_m=_default(by_kind, lambda t: t.service_clearance_m),
        record_uncertainty_m=_default(by_kind, lambda t: t.record_uncertainty_m),
        exposed_clearance_m=_default(by_kind, lambda t: t.exposed_clearance_m),
        is_wet_all_year=np.array(
            [word == "yes" for word in _text(table, "wet_all_year", by_kind, _wet_by_kind)], dtype=np.bool_
        ),
        has_trial_hole=np.array([t is not None and t.has_trial_hole for t in by_kind], dtype=np.bool_),
        water_depth_m=_number(table, "water_depth_m", by_kind, lambda t: t.water_depth_m),
        scour_m=_number(table, "scour_m", by_kind, lambda t: t.scour_m),
        service_depth_m=_number(table, "depth_m", by_kind, lambda t: t.service_depth_m),
        service_diameter_m=_number(table, "diameter_m", by_kind, lambda t: t.service_diameter_m),
        heat_W_per_m=_number(table, "heat_W_per_m", by_kind, lambda t: t.service_heat_W_per_m),
        has_given_heat=~np.isnan(_column(table, "heat_W_per_m")),
        base_level_m=_column(table, "base_level_m"),
        confidence=_confidence(table, by_kind),
    )


Defaults = list["Treatment | None"]


def _default(by_kind: Defaults, read: Callable[[Treatment], float | None]) -> NDArray[np.float64]:
    """Return one figure of each feature's kind, 0 where it has none."""
    return np.array([(read(t) or 0.0) if t else 0.0 for t in by_kind], dtype=np.float64)


def _column(table: gpd.GeoDataFrame, name: str) -> NDArray[np.float64]:
    return np.asarray(pd.to_numeric(table[name]), dtype=np.float64)


def _number(
    table: gpd.GeoDataFrame,
    column: str,
    by_kind: Defaults,
    read: Callable[[Treatment], float | None],
) -> NDArray[np.float64]:
    """Return the feature's own figure where it has one, else that of its kind."""
    own = _column(table, column)
    return np.where(np.isnan(own), _default(by_kind, read), own)


def _covers(table: gpd.GeoDataFrame, by_kind: Defaults) -> NDArray[np.float64]:
    """Return the cover that each feature asks for.

    What names no reference, such as a building, is passed under by its owner's word only: the word may
    ask for more than the kind, never for less.
    """
    own_m = _number(table, "min_cover_m", by_kind, lambda t: t.required_cover_m)
    names_none = np.array([t is not None and t.cover_reference == "none" for t in by_kind], dtype=np.bool_)
    return np.where(names_none, np.fmax(own_m, _default(by_kind, lambda t: t.required_cover_m)), own_m)


def _text(
    table: gpd.GeoDataFrame, column: str, by_kind: Defaults, read: Callable[[Treatment], str]
) -> NDArray[np.object_]:
    own = table[column].tolist()
    defaults = [read(t) if t else "no" for t in by_kind]
    pairs = zip(own, defaults, strict=True)
    return np.array([value if isinstance(value, str) else default for value, default in pairs], dtype=object)


def _wet_by_kind(treatment: Treatment) -> str:
    return "yes" if treatment.is_wet_all_year else "no"


def _allowed(table: gpd.GeoDataFrame, by_kind: Defaults) -> tuple[NDArray[np.object_], NDArray[np.object_]]:
    """Return whether trench and drive may go through, with the feature's own treatment first."""
    own = _text(table, "treatment", by_kind, lambda _: "")
    trench = np.array([t.trench if t else "no" for t in by_kind], dtype=object)
    drive = np.array([t.drive_under if t else "no" for t in by_kind], dtype=object)
    trench = np.where(own == "open_cut", "yes", np.where(np.isin(own, ("trenchless", "avoid")), "no", trench))
    drive = np.where(own == "trenchless", "yes", np.where(own == "avoid", "no", drive))
    return trench, drive


def _names(table: gpd.GeoDataFrame) -> NDArray[np.object_]:
    return np.array([v if isinstance(v, str) else None for v in table["name"].tolist()], dtype=object)


def _feature_ids(table: gpd.GeoDataFrame) -> NDArray[np.object_]:
    ids = table["feature_id"].tolist()
    return np.array(
        [v if isinstance(v, str) else f"crossings/{index}" for index, v in enumerate(ids)], dtype=object
    )


def _confidence(table: gpd.GeoDataFrame, by_kind: Defaults) -> NDArray[np.object_]:
    """Return how well the level that the cover counts from is known: by record where it is stated."""
    base_m, water_m, service_m = (_column(table, c) for c in ("base_level_m", "water_depth_m", "depth_m"))
    found = []
    for index, treatment in enumerate(by_kind):
        reference = treatment.cover_reference if treatment else "surface"
        own_m = {"service": [service_m[index]], "bed": [base_m[index], water_m[index]]}
        is_known = not np.isnan(own_m.get(reference, [base_m[index]])).all()
        found.append("record" if is_known else "assumed")
    return np.array(found, dtype=object)


def widen(geometry: NDArray[np.object_], half_width_m: NDArray[np.float64]) -> NDArray[np.object_]:
    """Widen lines and points by half their width; areas, and what has no width, stay as drawn.

    Parameters
    ----------
    geometry : ndarray of object, shape (n,)
    half_width_m : ndarray of shape (n,)

    Returns
    -------
    ndarray of object, shape (n,)
        Polygons, or the geometry itself where there is nothing to widen by.
    """
    outline = geometry.copy()
    to_widen = (shapely.get_dimensions(geometry) < 2) & (half_width_m > 0.0)
    outline[to_widen] = shapely.buffer(
        geometry[to_widen], half_width_m[to_widen], quad_segs=QUARTER_CIRCLE_SEGMENTS
    )
    return outline


def _merged(
    kinds: NDArray[np.object_], outline: NDArray[np.object_], by_kind: Defaults, gap_m: float
) -> NDArray[np.int64]:
    """Return each feature's crossing: outlines of one kind within the gap are one, if the kind merges."""
    n = len(kinds)
    if n == 0:
        return np.zeros(0, dtype=np.int64)
    may_merge = np.array([t.merges if t else False for t in by_kind], dtype=np.bool_)
    left, right = shapely.STRtree(outline).query(outline, predicate="dwithin", distance=gap_m)
    is_link = (kinds[left] == kinds[right]) & may_merge[left] & may_merge[right]
    links = coo_array((np.ones(int(is_link.sum())), (left[is_link], right[is_link])), shape=(n, n))
    _, label = connected_components(links, directed=False)
    return np.asarray(label, dtype=np.int64)
