"""What each crossing allows and asks for, and which features are one crossing.

Room: ``corridor``. Tables in, arrays out; imports ``assumptions`` only. Treatment values belong to
single features, because any of them may be overridden; a crossing is what is named, counted and paid
for, and takes the strictest of its features' values.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions, Treatment
    from routescreen.drives.dip import CrossingDip, Dip

QUAD_SEGS = 16  # of a quarter circle, in every outline
WIDER = 1.0 / math.cos(math.pi / (4 * QUAD_SEGS))  # so that no round end cuts the true circle: 0.12 %
LEAST_HALF_WIDTH_M = 0.05  # of a line or point without width, so that it has an outline at all

_STRICTNESS = ("yes", "consent", "no")
_DECIMALS = 6  # of coordinates in metres
_AREA_DIMENSION = 2


@dataclass(frozen=True, slots=True)
class Features:
    """The single features with their treatment after overrides; every array has shape (n,).

    Attributes
    ----------
    crossing : ndarray of int32
        Index of the crossing that the feature belongs to.
    name : ndarray of object
        Empty where there is none.
    geometry, outline : ndarray of object
        As drawn, and widened by the half-width (lines and points only): polygons.
    trench, drive_under, shaft_allowed : ndarray of object
        ``yes``, ``no`` or ``consent``.
    cover_reference : ndarray of object
        What the required cover counts from: ``surface``, ``formation``, ``bed``, ``base``, ``service``
        or ``none``.
    level_confidence : ndarray of object
        ``record`` where the feature states the level that the cover counts from, else ``assumed``.
    half_width_m : ndarray
        Of lines and points; for areas the radius of the largest circle inside [m].
    shaft_clearance_m, drive_clearance_m : ndarray
        From the outline to a shaft or to the edge of a trench that must not cross; sideways to a bore
        that must not pass under it [m].
    half_width_given_m : ndarray
        Of lines and points as given, 0 of areas [m].
    required_cover_m, reference_depth_m, water_depth_m, scour_m, service_depth_m, service_diameter_m,
    service_clearance_m, record_uncertainty_m, exposed_clearance_m : ndarray
        [m].
    is_wet_all_year, has_trial_hole : ndarray of bool
        Whether water stands on the bed all the year; whether the service is exposed before work.
    stated_cover_m : ndarray
        Required cover as the feature itself states it, NaN where it does not [m].
    base_level_m : ndarray
        Level from which cover counts as the feature itself states it, NaN where it does not [m].
    min_angle_deg : ndarray
        Least crossing angle; 0 where there is none [deg].
    """

    crossing: NDArray[np.int32]
    name: NDArray[np.object_]
    geometry: NDArray[np.object_]
    outline: NDArray[np.object_]
    trench: NDArray[np.object_]
    drive_under: NDArray[np.object_]
    shaft_allowed: NDArray[np.object_]
    cover_reference: NDArray[np.object_]
    level_confidence: NDArray[np.object_]
    half_width_m: NDArray[np.float64]
    shaft_clearance_m: NDArray[np.float64]
    drive_clearance_m: NDArray[np.float64]
    required_cover_m: NDArray[np.float64]
    reference_depth_m: NDArray[np.float64]
    water_depth_m: NDArray[np.float64]
    scour_m: NDArray[np.float64]
    service_depth_m: NDArray[np.float64]
    service_diameter_m: NDArray[np.float64]
    service_clearance_m: NDArray[np.float64]
    record_uncertainty_m: NDArray[np.float64]
    exposed_clearance_m: NDArray[np.float64]
    half_width_given_m: NDArray[np.float64]
    is_wet_all_year: NDArray[np.bool_]
    has_trial_hole: NDArray[np.bool_]
    stated_cover_m: NDArray[np.float64]
    base_level_m: NDArray[np.float64]
    min_angle_deg: NDArray[np.float64]

    def __len__(self) -> int:
        """Return the number of features."""
        return len(self.crossing)


@dataclass(frozen=True, slots=True)
class Crossings:
    """The crossings: features of one kind whose outlines touch or nearly touch are one.

    Attributes
    ----------
    kind, name, owner, feature_ids : tuple of str, length m
        Distinct names, owners and ids of the features are joined by ``;``; empty where there is none.
    outline : ndarray of object, shape (m,)
        Union of the features' outlines: half-width only, no clearance.
    trench, drive_under, shaft_allowed : tuple of str, length m
        The strictest of the features' values.
    required_cover_m, min_angle_deg : ndarray of shape (m,)
        The largest of the features' values [m], [deg].
    features : Features
    dips : tuple of CrossingDip or None
        What open cut asks for below each; empty where that wasn't looked for.
    """

    kind: tuple[str, ...]
    name: tuple[str, ...]
    owner: tuple[str, ...]
    feature_ids: tuple[str, ...]
    outline: NDArray[np.object_]
    trench: tuple[str, ...]
    drive_under: tuple[str, ...]
    shaft_allowed: tuple[str, ...]
    required_cover_m: NDArray[np.float64]
    min_angle_deg: NDArray[np.float64]
    features: Features
    dips: tuple[CrossingDip | None, ...] = ()

    def __len__(self) -> int:
        """Return the number of crossings."""
        return len(self.kind)

    def dip(self, crossing: int) -> CrossingDip | None:
        """Return the dip below one crossing, None where the trench goes on at its own depth."""
        return self.dips[crossing] if self.dips else None

    def inside_keys(self) -> list[tuple[str, Dip | None]]:
        """Return what the price of a metre inside each crossing depends on: its kind, the dip below it."""
        dips = [self.dip(crossing) for crossing in range(len(self))]
        inside = [None if dip is None else dip.dip for dip in dips]
        return list(zip(self.kind, inside, strict=True))


def resolve_crossings(table: gpd.GeoDataFrame, assumptions: Assumptions) -> Crossings:
    """Resolve the treatment of each feature and merge features into crossings.

    Parameters
    ----------
    table : GeoDataFrame
        The layer ``crossings``: every kind known to the assumptions, all columns present.
    assumptions : Assumptions

    Returns
    -------
    Crossings
        In order of their first feature.
    """
    geometry = table.geometry.to_numpy()
    table = table[~(shapely.is_missing(geometry) | shapely.is_empty(geometry))]
    kinds = [str(kind) for kind in table["kind"]]
    features = _features(table, [assumptions.treatments[kind] for kind in kinds])
    merges = np.array([assumptions.treatments[kind].merges for kind in kinds], dtype=np.bool_)
    crossing = _merge(np.array(kinds, dtype=object), features.outline, merges, assumptions.frame.merge_gap_m)
    members = [np.flatnonzero(crossing == k) for k in range(int(crossing.max(initial=-1)) + 1)]
    return Crossings(
        kind=tuple(kinds[group[0]] for group in members),
        name=_joined(table, "name", members),
        owner=_joined(table, "owner", members),
        feature_ids=_joined(table, "feature_id", members),
        outline=_unions(features.outline, members),
        trench=_strictest(features.trench, members),
        drive_under=_strictest(features.drive_under, members),
        shaft_allowed=_strictest(features.shaft_allowed, members),
        required_cover_m=_largest(features.required_cover_m, members),
        min_angle_deg=_largest(features.min_angle_deg, members),
        features=replace(features, crossing=crossing),
    )


def chosen_crossings(crossings: Crossings, chosen: NDArray[np.int64]) -> Crossings:
    """Return some of the crossings with their features, numbered anew in the order given."""
    place = np.full(len(crossings), -1, dtype=np.int32)
    place[chosen] = np.arange(len(chosen), dtype=np.int32)
    features = crossings.features
    is_member = place[features.crossing] >= 0
    columns = {field.name: getattr(features, field.name)[is_member] for field in fields(features)}
    columns["crossing"] = place[features.crossing[is_member]]
    names = ("kind", "name", "owner", "feature_ids", "trench", "drive_under", "shaft_allowed")
    words = {name: tuple(getattr(crossings, name)[k] for k in chosen) for name in names}
    return Crossings(
        kind=words["kind"],
        name=words["name"],
        owner=words["owner"],
        feature_ids=words["feature_ids"],
        outline=crossings.outline[chosen],
        trench=words["trench"],
        drive_under=words["drive_under"],
        shaft_allowed=words["shaft_allowed"],
        required_cover_m=crossings.required_cover_m[chosen],
        min_angle_deg=crossings.min_angle_deg[chosen],
        features=replace(features, **columns),
        dips=tuple(crossings.dips[k] for k in chosen) if crossings.dips else (),
    )


def _features(table: gpd.GeoDataFrame, treatments: list[Treatment]) -> Features:
    """Read the features' own values over those of their kinds; the crossings are numbered later."""
    geometry = np.asarray(table.geometry.to_numpy(), dtype=object)
    geometry = mended(geometry)
    half_width_m = _own_number(table, "half_width_m", treatments, lambda t: t.half_width_m)
    trench, drive_under = _permissions(table, treatments)
    return Features(
        crossing=np.zeros(len(table), dtype=np.int32),
        name=_own_text(table, "name", [""] * len(table)),
        geometry=geometry,
        outline=outlines(geometry, half_width_m),
        trench=trench,
        drive_under=drive_under,
        shaft_allowed=_own_text(table, "shaft_allowed", [t.shaft_allowed for t in treatments]),
        cover_reference=_texts([t.cover_reference for t in treatments]),
        level_confidence=_level_confidence(table, treatments),
        half_width_m=_half_widths(geometry, half_width_m),
        shaft_clearance_m=_of_kind(treatments, lambda t: t.shaft_clearance_m),
        drive_clearance_m=_of_kind(treatments, lambda t: t.drive_clearance_m),
        required_cover_m=_required_covers(table, treatments),
        reference_depth_m=_of_kind(treatments, lambda t: t.reference_depth_m),
        water_depth_m=_own_number(table, "water_depth_m", treatments, lambda t: t.water_depth_m),
        scour_m=_own_number(table, "scour_m", treatments, lambda t: t.scour_m),
        service_depth_m=_own_number(table, "depth_m", treatments, lambda t: t.service_depth_m),
        service_diameter_m=_own_number(table, "diameter_m", treatments, lambda t: t.service_diameter_m),
        service_clearance_m=_of_kind(treatments, lambda t: t.service_clearance_m),
        record_uncertainty_m=_of_kind(treatments, lambda t: t.record_uncertainty_m),
        exposed_clearance_m=_of_kind(treatments, lambda t: t.exposed_clearance_m),
        half_width_given_m=np.where(shapely.get_dimensions(geometry) < _AREA_DIMENSION, half_width_m, 0.0),
        is_wet_all_year=_wet_all_year(table, treatments),
        has_trial_hole=np.array([t.has_trial_hole for t in treatments], dtype=np.bool_),
        stated_cover_m=_numbers(table, "min_cover_m"),
        base_level_m=_numbers(table, "base_level_m"),
        min_angle_deg=_own_number(table, "min_angle_deg", treatments, lambda t: t.min_angle_deg),
    )


def outlines(geometry: NDArray[np.object_], half_width_m: NDArray[np.float64]) -> NDArray[np.object_]:
    """Return the ground that features stand on: lines and points widened by their half-width.

    Parameters
    ----------
    geometry : ndarray of object, shape (n,)
    half_width_m : ndarray of shape (n,)
        Ignored for areas [m].

    Returns
    -------
    ndarray of object, shape (n,)
        Polygons or multipolygons, never empty.
    """
    outline = mended(geometry)
    is_thin = shapely.get_dimensions(outline) < _AREA_DIMENSION
    width_m = WIDER * np.maximum(half_width_m[is_thin], LEAST_HALF_WIDTH_M)
    outline[is_thin] = shapely.buffer(outline[is_thin], width_m, quad_segs=QUAD_SEGS)
    return outline


def mended(geometry: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return geometries in the plane, rounded to a micrometre, those that cross themselves made valid.

    Nothing of their ground is lost. The rounding lies far below any drawing's accuracy; it keeps the
    arithmetic of distances away from numbers whose squares vanish.
    """
    plain = shapely.transform(geometry, lambda xy: np.round(xy, _DECIMALS))
    return np.where(shapely.is_valid(plain), plain, shapely.make_valid(plain))


def _half_widths(geometry: NDArray[np.object_], half_width_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the half-width of lines and points as given, of areas the largest circle's radius [m]."""
    is_area = shapely.get_dimensions(geometry) >= _AREA_DIMENSION
    values = np.maximum(half_width_m, LEAST_HALF_WIDTH_M)
    values[is_area] = [shapely.length(shapely.maximum_inscribed_circle(area)) for area in geometry[is_area]]
    return values


def _permissions(
    table: gpd.GeoDataFrame, treatments: list[Treatment]
) -> tuple[NDArray[np.object_], NDArray[np.object_]]:
    """Return whether trench and drive are allowed; a feature's own treatment decides before its kind."""
    trench = _texts([t.trench for t in treatments])
    drive_under = _texts([t.drive_under for t in treatments])
    own = _own_text(table, "treatment", [""] * len(treatments))
    trench[own == "open_cut"] = "yes"
    trench[(own == "trenchless") | (own == "avoid")] = "no"
    drive_under[own == "trenchless"] = "yes"
    drive_under[own == "avoid"] = "no"
    return trench, drive_under


def _required_covers(table: gpd.GeoDataFrame, treatments: list[Treatment]) -> NDArray[np.float64]:
    """Return each feature's own cover, else that of its kind; the larger where a kind knows no level [m].

    What knows no level, such as a building, may be passed by its own word only, and asks for the more.
    """
    own_m = _own_number(table, "min_cover_m", treatments, lambda t: t.required_cover_m)
    kind_m = _of_kind(treatments, lambda t: t.required_cover_m)
    knows_none = np.array([t.cover_reference == "none" for t in treatments], dtype=np.bool_)
    return np.where(knows_none, np.maximum(own_m, kind_m), own_m)


def _wet_all_year(table: gpd.GeoDataFrame, treatments: list[Treatment]) -> NDArray[np.bool_]:
    """Return whether water stands on each feature's bed all the year, by its own word or its kind's."""
    words = ["yes" if t.is_wet_all_year else "no" for t in treatments]
    return np.asarray(_own_text(table, "wet_all_year", words) == "yes", dtype=np.bool_)


def _level_confidence(table: gpd.GeoDataFrame, treatments: list[Treatment]) -> NDArray[np.object_]:
    """Return ``record`` where a feature states the level its cover counts from, else ``assumed``."""
    base_m, water_m, service_m = (
        _numbers(table, name) for name in ("base_level_m", "water_depth_m", "depth_m")
    )
    reference = _texts([t.cover_reference for t in treatments])
    is_stated = np.where(reference == "service", ~np.isnan(service_m), ~np.isnan(base_m))
    is_stated = is_stated | ((reference == "bed") & ~np.isnan(water_m))
    return np.where(is_stated, "record", "assumed").astype(object)


def _merge(
    kinds: NDArray[np.object_], outline: NDArray[np.object_], merges: NDArray[np.bool_], gap_m: float
) -> NDArray[np.int32]:
    """Give the crossings their numbers, in order of their first feature."""
    n = len(kinds)
    if n == 0:
        return np.zeros(0, dtype=np.int32)
    first, second = shapely.STRtree(outline).query(outline, predicate="dwithin", distance=gap_m)
    is_one = (kinds[first] == kinds[second]) & merges[first] & merges[second]
    pairs = (np.ones(int(is_one.sum()), dtype=np.int8), (first[is_one], second[is_one]))
    _, label = connected_components(coo_array(pairs, shape=(n, n)), directed=False)
    _, at, group = np.unique(label, return_index=True, return_inverse=True)
    rank = np.empty(len(at), dtype=np.int32)
    rank[np.argsort(at, kind="stable")] = np.arange(len(at))
    return rank[group]


def _unions(outline: NDArray[np.object_], members: Sequence[NDArray[np.int64]]) -> NDArray[np.object_]:
    """Return the union of each group of outlines."""
    unions = np.empty(len(members), dtype=object)
    for k, group in enumerate(members):
        unions[k] = outline[group[0]] if len(group) == 1 else shapely.union_all(outline[group])
    return unions


def _strictest(values: NDArray[np.object_], members: Sequence[NDArray[np.int64]]) -> tuple[str, ...]:
    """Return the strictest permission of each group."""
    return tuple(max((str(v) for v in values[group]), key=_STRICTNESS.index) for group in members)


def _largest(values: NDArray[np.float64], members: Sequence[NDArray[np.int64]]) -> NDArray[np.float64]:
    """Return the largest value of each group."""
    return np.array([values[group].max() for group in members], dtype=np.float64)


def _joined(table: gpd.GeoDataFrame, column: str, members: Sequence[NDArray[np.int64]]) -> tuple[str, ...]:
    """Return the distinct texts of each group, in order, joined by a semicolon."""
    texts = _own_text(table, column, [""] * len(table))
    return tuple(";".join(dict.fromkeys(text for text in texts[group] if text)) for group in members)


def _texts(values: Sequence[str]) -> NDArray[np.object_]:
    """Return texts as an array of objects, also when there is none."""
    return np.array(values, dtype=object).reshape(len(values))


def _own_text(table: gpd.GeoDataFrame, column: str, defaults: Sequence[str]) -> NDArray[np.object_]:
    """Return a text column with a default for each missing value."""
    if column not in table:
        return _texts(defaults)
    pairs = zip(table[column], defaults, strict=True)
    return _texts([default if pd.isna(own) else str(own) for own, default in pairs])


def _numbers(table: gpd.GeoDataFrame, column: str) -> NDArray[np.float64]:
    """Return a column of numbers; NaN where a value is missing."""
    if column not in table:
        return np.full(len(table), np.nan)
    values: NDArray[np.float64] = pd.to_numeric(table[column]).to_numpy(dtype=np.float64, na_value=np.nan)
    return values


def _of_kind(treatments: Sequence[Treatment], read: Callable[[Treatment], float]) -> NDArray[np.float64]:
    """Return one value of each feature's kind."""
    return np.array([read(treatment) for treatment in treatments], dtype=np.float64)


def _own_number(
    table: gpd.GeoDataFrame, column: str, treatments: Sequence[Treatment], read: Callable[[Treatment], float]
) -> NDArray[np.float64]:
    """Return each feature's own value, else that of its kind."""
    own = _numbers(table, column)
    return np.where(np.isnan(own), _of_kind(treatments, read), own)
