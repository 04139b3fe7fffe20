"""What stands in the way at a gap: the features and the ground cover that lines there really meet.

Room: ``search``. Names in sentences, from the frame's exact outlines.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor.burn import trench_band_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.search.problem import FrameProblem

MOST_LINES = 3000  # looked at in a gap
MOST_OF = 0.5  # share of a gap's lines that a feature must meet to be what keeps shafts out [-]
NEAR_COLUMNS = 30  # on either side of a gap, in which the shafts of a drive across it would stand
BESIDE_M = 12.0  # beyond a feature's clearance, for half of a shaft


@dataclass(frozen=True, slots=True)
class Stops:
    """What closes a gap: a sentence, and the ids of the features that close it to a trench.

    `needed_width_m` is the width that open cut takes where the corridor is too narrow for it, else None.
    """

    text: str
    feature_ids: tuple[str, ...]
    needed_width_m: float | None = None


def what_stops(problem: FrameProblem, first: int, last: int) -> Stops:
    """Name what closes the straight moves of some columns to a trench, and their nodes to shafts."""
    lines = _closed_lines(problem, first, last)
    features = problem.crossings.features
    barred = _met(problem, lines, features.trench == "no", problem.assumptions.working_strip_m / 2.0)
    covers = cover_classes(problem, first, last)
    classes = problem.assumptions.cover
    names = [feature_title(problem, k) for k in barred]
    names += [f"ground cover {_spoken(c)}" for c in covers if not classes[c].trench_allowed]
    texts = [f"Closed to trench there: {_joined(names)}."] if names else []
    no_shaft = [_cover_words(problem, c) for c in covers if classes[c].shaft_allowed != "yes"]
    no_shaft += [
        feature_title(problem, k) for k in _met(problem, lines, features.shaft_allowed != "yes", 0.0, MOST_OF)
    ]
    if no_shaft:
        texts.append(f"Closed to shafts there: {_joined(no_shaft)}.")
    if _lacks_compounds(problem, first, last):
        texts.append("There is no land for the compounds of most shafts there.")
    edges = _edges(problem)
    width_m = _free_width_m(problem, edges, first, last)
    is_narrow = width_m < 2.0 * _band_m(problem)
    if is_narrow:
        texts.append(
            f"The corridor is {width_m:.1f} m wide there; the band of trenches side by side takes "
            f"{2.0 * _band_m(problem):.1f} m."
        )
    if len(lines) and len(edges):  # what the corridor's edge closes, no feature need close
        lines = lines[shapely.distance(shapely.multilinestrings(edges), lines) >= _band_m(problem)]
    along = _met(problem, lines, (features.trench != "no") & (features.min_angle_deg > 0.0), _band_m(problem))
    if along:
        what = _joined([feature_title(problem, k) for k in along])
        texts.append(
            f"A trench there would meet at too small an angle, or an outer trench of the band would run "
            f"along inside: {what}."
        )
    if not texts:
        texts = ["Nothing mapped forbids a trench there: the corridor's edge, a pin or the least run does."]
    ids = tuple(dict.fromkeys(feature_id(problem, k) for k in barred))
    return Stops(" ".join(texts), ids, 2.0 * _band_m(problem) if is_narrow else None)


def lacks_compound(problem: FrameProblem) -> NDArray[np.bool_]:
    """Return the nodes where some method would have a shaft if only its compound had land, shape (nx, ny)."""
    has_room = problem.burnt.shaft_room.any(axis=(1, 2))
    return np.asarray((has_room & ~problem.burnt.shaft_ok.any(axis=(1, 2))).any(axis=0))


def _lacks_compounds(problem: FrameProblem, first: int, last: int) -> bool:
    """Return whether most nodes about a gap where a shaft's own plan has room have none for its compound."""
    columns = slice(max(0, first - NEAR_COLUMNS), max(last, first) + NEAR_COLUMNS + 1)
    has_room = problem.burnt.shaft_room[..., columns, :].any(axis=(0, 1, 2))
    n_lacking = np.count_nonzero(lacks_compound(problem)[columns])
    return bool(n_lacking > MOST_OF * np.count_nonzero(has_room))


def _edges(problem: FrameProblem) -> NDArray[np.object_]:
    """Return the pieces of the corridor's edge, holes included; none of a fixed alignment."""
    if problem.frame.is_line:  # what limits its drives is no edge that a band of trenches keeps from
        return np.zeros(0, dtype=object)
    ends = problem.burnt.segment_xy_m[problem.burnt.segment_sin_min_angle > 1.0]
    return np.asarray(shapely.linestrings(ends.reshape(-1, 2, 2)), dtype=object)


def _free_width_m(problem: FrameProblem, edges: NDArray[np.object_], first: int, last: int) -> float:
    """Return the width of the widest strip of corridor where it is least, square to the axis [m].

    It is inf where no edge is near, as on a fixed alignment.
    """
    frame = problem.frame
    if len(edges) == 0:
        return float("inf")
    columns = np.arange(first, max(last, first) + 1)
    normal = np.stack([frame.tangent[columns, 1], -frame.tangent[columns, 0]], axis=-1)
    reach_m = 2.0 * frame.cell_m * (len(frame.offset_m) + 1)
    ends = [frame.station_xy_m[columns] + side * reach_m * normal for side in (-1.0, 1.0)]
    tree = shapely.STRtree(edges)
    widths_m = []
    for start, end in zip(*ends, strict=True):
        section = shapely.LineString([start, end])
        near = edges[tree.query(section, predicate="intersects")]
        widths_m.append(_widest_gap_m(shapely.intersection(section, near), start))
    return min(widths_m)


def _widest_gap_m(met: NDArray[np.object_], start: NDArray[np.float64]) -> float:
    """Return the widest stretch inside, of a section that meets edges: from the first to the second, ..."""
    xy = shapely.get_coordinates(met)
    away_m = np.unique(np.round(np.hypot(*(xy - start).T), 6))
    inside_m = away_m[1::2] - away_m[: 2 * (len(away_m) // 2) : 2]
    return float(inside_m.max(initial=0.0))


def feature_id(problem: FrameProblem, feature: int) -> str:
    """Return the id of one feature; of its whole crossing where the parts' ids don't tell which it is."""
    of_crossing = problem.crossings.features.crossing
    ids = problem.crossings.feature_ids[int(of_crossing[feature])].split(";")
    members = np.flatnonzero(of_crossing == of_crossing[feature])
    if len(ids) != len(members):
        return ";".join(ids)
    return ids[int(np.searchsorted(members, feature))]


def _band_m(problem: FrameProblem) -> float:
    return 0.5 * trench_band_m(problem.sampler, problem.assumptions)


def _closed_lines(problem: FrameProblem, first: int, last: int) -> NDArray[np.object_]:
    """Return the straight moves without trench between columns, thinned where there are many."""
    frame = problem.frame
    last = min(max(last, first + 1), len(frame.node_xy_m) - 1)
    first = min(first, last - 1)  # where it stops at the end itself, the moves that lead there
    is_closed = ~problem.burnt.move_ok[first:last, :, 0]
    is_closed &= frame.is_valid[first:last] & frame.is_valid[first + 1 : last + 1]
    column, row = np.nonzero(is_closed)
    step = max(1, len(column) // MOST_LINES)
    column, row = column[::step] + first, row[::step]
    ends = np.stack([frame.node_xy_m[column, row], frame.node_xy_m[column + 1, row]], axis=1)
    return np.asarray(shapely.linestrings(ends), dtype=object)


def _met(
    problem: FrameProblem,
    lines: NDArray[np.object_],
    is_asked: NDArray[np.bool_],
    reach_m: float,
    least_share: float = 0.0,
) -> list[int]:
    """Return the features asked for that lines come within reach of, those met by most lines first."""
    asked = np.flatnonzero(is_asked)
    if len(lines) == 0 or len(asked) == 0:
        return []
    tree = shapely.STRtree(lines)
    hit, _ = tree.query(problem.crossings.features.outline[asked], predicate="dwithin", distance=reach_m)
    counts = np.bincount(hit, minlength=len(asked))
    order = np.argsort(-counts, kind="stable")
    return [int(asked[k]) for k in order if counts[k] > least_share * len(lines)]


def cover_classes(problem: FrameProblem, first: int, last: int) -> list[str]:
    """Return the classes of ground cover in some columns of the corridor, in the order of the assumptions."""
    columns = slice(first, max(last, first) + 1)
    cover = problem.ground.node.cover_class[columns][problem.frame.is_valid[columns]]
    found = np.unique(cover[cover >= 0])
    names = list(problem.assumptions.cover)
    return [names[int(k)] for k in found]


def closed_to_trench(problem: FrameProblem, nodes: Sequence[tuple[int, int]]) -> list[str]:
    """Name what closes a line over some nodes to a trench: ground cover, then features."""
    cover = {int(problem.ground.node.cover_class[node]) for node in nodes}
    classes = list(problem.assumptions.cover.items())
    names = [
        f"ground cover {_spoken(classes[k][0])}" for k in sorted(cover) if not classes[k][1].trench_allowed
    ]
    xy = problem.frame.node_xy_m
    line = shapely.LineString([xy[node] for node in nodes]) if len(nodes) > 1 else shapely.Point(xy[nodes[0]])
    reach_m = problem.assumptions.working_strip_m / 2.0
    is_barred = np.asarray(problem.crossings.features.trench == "no", dtype=np.bool_)
    met = _met(problem, np.array([line], dtype=object), is_barred, reach_m)
    return [*names, *(feature_title(problem, k) for k in met)]


def beside_node(problem: FrameProblem, node: tuple[int, int]) -> list[str]:
    """Name what closes a node to a shaft: ground cover, features within their clearance, want of land."""
    point = shapely.Point(problem.frame.node_xy_m[node])
    ring = shapely.get_coordinates(point.buffer(BESIDE_M, quad_segs=2))
    around = problem.sampler.cover_class(np.concatenate([problem.frame.node_xy_m[node][None], ring]))
    classes = list(problem.assumptions.cover.items())
    found = [classes[int(k)] for k in dict.fromkeys(around.tolist()) if k >= 0]
    closed = [_cover_words(problem, name) for name, cover in found if cover.shaft_allowed != "yes"]
    features = problem.crossings.features
    room_m = shapely.distance(features.outline, point) - features.shaft_clearance_m
    near = np.flatnonzero((features.shaft_allowed != "yes") & (room_m < BESIDE_M))
    near = near[np.argsort(room_m[near], kind="stable")]
    return [
        *closed,
        *(feature_title(problem, int(k)) for k in near),
        *(["land without room for the compound"] if lacks_compound(problem)[node] else []),
    ]


def feature_title(problem: FrameProblem, feature: int) -> str:
    """Return what a feature is called: kind, name and id, the name of its crossing where it has none."""
    crossing = int(problem.crossings.features.crossing[feature])
    kind = problem.crossings.kind[crossing].replace("_", " ")
    name = problem.crossings.features.name[feature] or problem.crossings.name[crossing].split(";")[0]
    text = f"{kind} {name}" if name else kind
    return f"{text} ({feature_id(problem, feature)})"


def _cover_words(problem: FrameProblem, cover: str) -> str:
    allowed = problem.assumptions.cover[cover].shaft_allowed
    why = "a shaft only by consent, which counts as no" if allowed == "consent" else "no shaft"
    return f"ground cover {_spoken(cover)} ({why})"


def _spoken(cover: str) -> str:
    return cover.replace("_", "-")


def _joined(names: Sequence[str]) -> str:
    names = list(dict.fromkeys(names))
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")


def crossing_title(problem: FrameProblem, crossing: int) -> str:
    """Return what a crossing is called: kind, first name, and the id of its first feature."""
    features = np.flatnonzero(problem.crossings.features.crossing == crossing)
    return feature_title(problem, int(features[0]))
