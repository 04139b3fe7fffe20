"""The drives of a problem, settled one by one in plain Python from the definitions.

A drive is straight in plan between two nodes. In a column it touches every cell that it enters, and
those within `EDGE_CELLS` of it. The least ceiling of a column's touched cells holds along the whole
column. The crown's line is chosen by the family's rule, see ``_choose``.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from benchmarks.oracles.cells import Node, Track, touched
from benchmarks.oracles.courses import Arc, Drilled, Straight, drilled_course
from benchmarks.oracles.fine_cut import fine_pieces
from benchmarks.oracles.forces import can_be_built
from benchmarks.oracles.hulls import NEAR_M, lower_hull_slope
from benchmarks.oracles.layout import LayoutOracle

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchmarks.oracles.courses import Course
    from routescreen.search.arrays import SearchArrays

GAP_EDGE_M = 1e-6
CLOSED_M = -1e8  # a ceiling below this lets no drive pass
LIMITING_SHARE = 0.10  # a soil of more than this share limits the length
NO_SHARE = 1e-6


@dataclass(frozen=True, slots=True)
class OracleDrive:
    """A drive that can be built: nodes, roles and depth levels at both ends, its price [EUR]."""

    lower: Node
    upper: Node
    method: int
    is_launched_at_lower: bool
    lower_role: int
    upper_role: int
    lower_level: int
    upper_level: int
    eur: float
    slope_frac: float
    crown_m: float


@dataclass(frozen=True, slots=True)
class _Profile:
    """Points that the crown's line must stay below, and the drive's ends."""

    x_m: tuple[float, ...]
    v_m: tuple[float, ...]

    def start_m(self, slope: float) -> float:
        """Return the level at x = 0 of the highest line of a slope [m]."""
        return min(v - slope * x for x, v in zip(self.x_m, self.v_m, strict=True))


class DriveOracle:
    """Settles drives of one problem."""

    def __init__(self, arrays: SearchArrays) -> None:
        self.s = arrays
        xy = arrays.drive.segment_xy_m
        self._segments = np.asarray(shapely.linestrings(xy.reshape(-1, 2, 2)))
        self._layouts = LayoutOracle(arrays)
        self._banned = {int(key) for key in arrays.drive.banned}
        self._longest_m = arrays.drive.longest_m.max(axis=1)

    def all_drives(self) -> Iterator[OracleDrive]:
        """Yield every drive that can be built, between any two nodes."""
        nx = self.s.ground.ground_m.shape[0]
        for a in range(nx):
            for b in range(a + 1, nx):
                xy = self.s.frame.node_xy_m
                gaps = np.linalg.norm(xy[b][None, :, :] - xy[a][:, None, :], axis=-1)
                for ja, jb in np.argwhere(gaps <= self._longest_m.max()):
                    yield from self.drives_between((a, int(ja)), (b, int(jb)))

    def drives_between(self, lower: Node, upper: Node) -> list[OracleDrive]:
        """Return the drives of all methods and orientations between two nodes."""
        bins = self.heading_bins(lower, upper)
        if bins is None:
            return []
        wanted = [
            (method, is_lower)
            for method in range(len(self.s.drive.bore_m))
            for is_lower in (False, True)
            if self.may_stand(lower, upper, method, is_lower, bins)
        ]
        if not wanted:
            return []
        track = self._track(lower, upper)
        if track is None:
            return []
        met = {method: self._met(lower, upper, method) for method, _ in wanted}
        found = (
            self._settle(lower, upper, method, is_lower, track, met[method]) for method, is_lower in wanted
        )
        return [drive for drive in found if drive is not None]

    def heading_bins(self, lower: Node, upper: Node) -> tuple[int, int] | None:
        """Return the bin of the heading against the axis at both ends; None where it is too steep.

        Too steep is a drive over the frame's rows and columns, or against the axis at an end.
        """
        chord = self.s.frame.node_xy_m[upper] - self.s.frame.node_xy_m[lower]
        widest = math.atan(self.s.max_tan)
        n_bins = self.s.shaft.is_allowed.shape[4]
        edges = np.linspace(-widest, widest, n_bins + 1)[1:-1]
        bins = []
        across_m = abs(upper[1] - lower[1]) * self.s.frame.cell_m
        if across_m > self.s.max_tan * (upper[0] - lower[0]) * self.s.frame.column_m + 1e-8:
            return None
        for node in (lower, upper):
            tangent = self.s.frame.tangent[node[0]]
            to_left = math.atan2(chord[1], chord[0]) - math.atan2(tangent[1], tangent[0])
            to_right = -math.remainder(to_left, 2.0 * math.pi)
            if abs(to_right) > widest + 1e-9:
                return None
            bins.append(int(np.searchsorted(edges, to_right, side="right")))
        return bins[0], bins[1]

    def may_stand(self, lower: Node, upper: Node, method: int, is_lower: bool, bins: tuple[int, int]) -> bool:
        """Return whether both shafts may stand and nobody has banned the drive."""
        allowed = self.s.shaft.is_allowed
        roles = (0, 1) if is_lower else (1, 0)
        if not allowed[(*lower, method, roles[0], bins[0])]:
            return False
        if not allowed[(*upper, method, roles[1], bins[1])]:
            return False
        nx, ny = self.s.ground.ground_m.shape
        one, other = lower[0] * ny + lower[1], upper[0] * ny + upper[1]
        key = ((one * nx * ny + other) * len(self.s.drive.bore_m) + method) * 2 + int(is_lower)
        return key not in self._banned

    def _track(self, lower: Node, upper: Node) -> Track | None:
        """Cut the line at the boundaries between columns and collect the touched cells."""
        frame = self.s.frame
        ny = self.s.ground.ground_m.shape[1]
        start, end = frame.node_xy_m[lower], frame.node_xy_m[upper]
        length = float(np.linalg.norm(end - start))
        unit = (end - start) / length
        at = slice(lower[0] + 1, upper[0] + 1)
        point, tangent = frame.boundary_xy_m[at], frame.boundary_tangent[at]
        x = np.sum((point - start) * tangent, axis=1) / (tangent @ unit)
        crossing = start + x[:, None] * unit
        right = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)
        rows = (np.sum((crossing - point) * right, axis=1) - frame.offset0_m) / frame.cell_m
        places = [0.0, *x.tolist(), length]
        if any(q <= p for p, q in itertools.pairwise(places)):
            return None
        ys = [float(lower[1]), *rows.tolist(), float(upper[1])]
        cells = []
        for k, column in enumerate(range(lower[0], upper[0] + 1)):
            low, high = min(ys[k : k + 2]), max(ys[k : k + 2])
            if low < -frame.aside_rows or high > ny - 1.0 + frame.aside_rows:
                return None
            cells.append(touched(column, ny, places[k], places[k + 1], ys[k], ys[k + 1]))
        return Track(length, tuple(places), tuple(ys), tuple(cells))

    def _met(self, lower: Node, upper: Node, method: int) -> frozenset[int] | None:
        """Return the crossings that the drive meets or starts in; None where an angle is too flat.

        The drive meets what its centre line or the axis of any bore meets.
        """
        drive, ny = self.s.drive, self.s.ground.ground_m.shape[1]
        met: set[int] = set()
        for node in (lower, upper):
            flat = node[0] * ny + node[1]
            met.update(
                drive.inside_crossing[drive.inside_start[flat] : drive.inside_start[flat + 1]].tolist()
            )
        if not len(self._segments):
            return None if drive.is_closed[method, sorted(met)].any() else frozenset(met)
        ends = self.s.frame.node_xy_m[lower], self.s.frame.node_xy_m[upper]
        unit = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
        aside = float(drive.outer_bore_m[method]) * np.array([unit[1], -unit[0]])
        offsets = (0.0, *np.linspace(-1.0, 1.0, int(drive.n_bores[method])))
        bores = shapely.multilinestrings([np.array(ends) + k * aside for k in offsets])
        hit = np.flatnonzero(shapely.intersects(self._segments, bores))
        for k in hit:
            tx, ty = drive.segment_tangent[k]
            if abs(unit[0] * ty - unit[1] * tx) < drive.segment_sin_min_angle[k]:
                return None
            if drive.segment_is_outline[k]:
                met.add(int(drive.segment_crossing[k]))
        return None if drive.is_closed[method, sorted(met)].any() else frozenset(met)

    def _settle(
        self, lower: Node, upper: Node, method: int, is_lower: bool, track: Track, met: frozenset[int] | None
    ) -> OracleDrive | None:
        profile = self._profile(track, method)
        if profile is None or met is None:
            return None
        roles = (1 + 2 * method, 2 + 2 * method) if is_lower else (2 + 2 * method, 1 + 2 * method)
        course: Arc | Drilled | Straight | None
        if self.s.drilled.is_drilled[method]:
            course = drilled_course(
                self.s, method, (lower, upper), is_lower, track, (profile.x_m, profile.v_m)
            )
            levels = tuple(int(self.s.shaft.least_level[role]) for role in roles)
            slope, crown = 0.0, math.nan if course is None else course.bottom_m
        else:
            for tried in (profile, self._below_gaps(track, method, profile)):
                line = _Chooser(self.s, lower, upper, method, roles, is_lower, tried).choose()
                if line is None:
                    return None
                slope, levels = line
                crown = tried.start_m(slope)
                course = self._straight_or_arc(
                    method, (lower, upper), slope, crown, track.length_m, max(levels)
                )
                if not self._meets_gap(track, method, course):
                    break
        ends = (lower, upper)
        eur = None if course is None else self._drive_eur(track, ends, levels, method, course, is_lower)
        if eur is None:
            return None
        eur += sum(float(self.s.drive.drive_fee_eur[c]) for c in met)
        return OracleDrive(lower, upper, method, is_lower, *roles, *levels, eur, slope, crown)

    def _straight_or_arc(
        self, method: int, ends: tuple[Node, Node], slope: float, crown_m: float, length_m: float, level: int
    ) -> Arc | Straight:
        """Return the crown of a chord's slope: it, or the arc that starts flatter and ends steeper."""
        shaft_m = level * self.s.shaft.step_m
        bend = self._bend_per_m(method)
        if bend == 0.0:
            return Straight(slope, crown_m, length_m, shaft_m)
        arc = Arc(slope - 0.5 * bend * length_m, bend, crown_m, length_m, 0.0)
        ground_m = max(float(self.s.ground.ground_m[end]) for end in ends)
        invert_m = arc.lowest_m(0.5 * length_m, 0.5 * length_m) - float(self.s.drive.bore_m[method])
        return replace(arc, deeper_m=max(shaft_m, ground_m - invert_m))

    def _bend_per_m(self, method: int) -> float:
        """Return by how much the slope of a method's drives grows a metre, 1/R [1/m]."""
        return 2.0 * float(self.s.drive.arc_per_m[method])

    def _profile(self, track: Track, method: int) -> _Profile | None:
        drive = self.s.drive
        steepest = max(abs(drive.slope_min_frac[method]), abs(drive.slope_max_frac[method]))
        deviation = drive.deviation_frac[method] * track.length_m * math.hypot(1.0, steepest)
        ceilings = []
        for column in track.cells:
            at = [(method, *cell.node) for cell in column]
            least = min(
                min(float(drive.ceiling_m[k]), float(drive.service_ceiling_m[k]) - deviation) for k in at
            )
            if least < CLOSED_M:
                return None
            ceilings.append(least)
        # an arc may stand higher with its chord by what it hangs below it: of a parabola its slopes' half
        hang = [0.5 * self._bend_per_m(method) * x * (track.length_m - x) for x in track.boundary_m]
        inner = [min(p, q) for p, q in itertools.pairwise(ceilings)]
        lowest = (ceilings[0], *inner, ceilings[-1])
        return _Profile(track.boundary_m, tuple(v + h for v, h in zip(lowest, hang, strict=True)))

    def _gaps(self, track: Track, method: int) -> list[tuple[float, float]]:
        """Return the gap of each column: above or below all of which a crown must be."""
        gap = self.s.drive.gap
        return [
            (
                max(float(gap.dry_floor_m[(method, *cell.node)]) for cell in column),
                min(float(gap.wet_ceiling_m[(method, *cell.node)]) for cell in column),
            )
            for column in track.cells
        ]

    def _below_gaps(self, track: Track, method: int, profile: _Profile) -> _Profile:
        """Return the ceiling lowered under all gaps, at a boundary under the lower of both."""
        ends = [wet for _, wet in self._gaps(track, method)]
        lowest = (ends[0], *(min(p, q) for p, q in itertools.pairwise(ends)), ends[-1])
        hang = [0.5 * self._bend_per_m(method) * x * (track.length_m - x) for x in track.boundary_m]
        lowered = [min(v, w + h) for v, w, h in zip(profile.v_m, lowest, hang, strict=True)]
        return _Profile(profile.x_m, tuple(lowered))

    def _meets_gap(self, track: Track, method: int, course: Course) -> bool:
        """Return whether a crown lies in a gap in some column."""
        for (dry, wet), (x0, x1) in zip(
            self._gaps(track, method), itertools.pairwise(track.boundary_m), strict=True
        ):
            lowest = course.lowest_m(0.5 * (x0 + x1), 0.5 * (x1 - x0))
            highest = max(course.level_m(x0), course.level_m(x1))
            if lowest < dry - GAP_EDGE_M and highest > wet + GAP_EDGE_M:
                return True
        return False

    def _is_too_warm(self, track: Track, method: int, course: Course) -> bool:
        """Return whether a crown lies below a floor or in a gap."""
        floor_m = self.s.drive.floor_m
        return self._meets_gap(track, method, course) or any(
            course.lowest_m(cell.middle_m, cell.length_m / 2.0) < floor_m[(method, *cell.node)]
            for column in track.cells
            for cell in column
        )

    def _drive_eur(
        self,
        track: Track,
        ends: tuple[Node, Node],
        levels: tuple[int, ...],
        method: int,
        course: Course,
        is_lower: bool,
    ) -> float | None:
        """Price the drive without its shafts and crossings; None where a limit forbids it."""
        s, drive = self.s, self.s.drive
        true_m = course.true_m
        stretch = true_m / track.length_m
        if true_m < drive.least_length_m[method]:
            return None
        eur, by_soil = 0.0, dict.fromkeys(range(drive.longest_m.shape[1]), 0.0)
        if self._is_too_warm(track, method, course):
            return None
        for cell in (cell for column in track.cells for cell in column):
            axis = course.level_m(cell.middle_m) - drive.bore_m[method] / 2.0
            if s.ground.water_level_m[cell.node] - axis > drive.head_limit_m[method]:
                return None
        for place, length, fine_cell in fine_pieces(s, track, ends[0][0]):
            kind = int(s.fine.kind[fine_cell])
            is_rock = course.level_m(place) - drive.bore_m[method] / 2.0 < s.fine.rock_level_m[fine_cell]
            rate = (drive.rock_eur_per_m if is_rock else drive.soil_eur_per_m)[method, kind]
            eur += length * stretch * float(rate)
            by_soil[int((s.fine.rock_soil if is_rock else s.fine.soil)[kind])] += length
        launch, reception = ends if is_lower else ends[::-1]
        if not can_be_built(s, track, method, course, is_lower, by_soil):
            return None
        for soil, metres in by_soil.items():
            longest, share = drive.longest_m[method, soil], metres / track.length_m
            if (share > LIMITING_SHARE and true_m > longest) or (share > NO_SHARE and longest <= 0.0):
                return None
        n_pieces = self._layouts.n_pieces(method, launch, reception, true_m)
        if n_pieces is None:
            return None
        n_boreholes = max(0, math.ceil(true_m / drive.borehole_spacing_m - 1e-9) - 1)
        borehole_m = course.deeper_m + drive.borehole_below_m
        n_wet = sum(level >= int(s.shaft.wet_level[end]) for level, end in zip(levels, ends, strict=True))
        pump = sum(m * float(drive.pump_eur_per_m[method, soil]) for soil, m in by_soil.items())
        return (
            eur
            + n_wet * (float(drive.pump_eur[method]) + stretch * pump)
            + float(drive.fixed_eur[method])
            + float(drive.piece_eur[method]) * math.ceil(true_m / drive.piece_m - 1e-9)
            + n_boreholes * borehole_m * drive.borehole_eur_per_m
            + float(drive.layout_eur[(method, *reception)])
            + float(drive.layout_eur_per_m[(method, *reception)]) * true_m / n_pieces
            + (n_pieces - 1) * float(s.layout.tie_in_eur[method])
        )


@dataclass(frozen=True, slots=True)
class _Chooser:
    """Chooses a drive's line by the family's rule."""

    s: SearchArrays
    lower: Node
    upper: Node
    method: int
    roles: tuple[int, int]
    is_lower: bool
    profile: _Profile

    def choose(self) -> tuple[float, tuple[int, int]] | None:
        """Return the slope and the depth levels of both ends.

        Candidates: the supporting line of the ceiling's lower hull where the prices of depth
        balance, clamped to the limits, and where a shaft reaches the water with it the two lines that
        just keep the lower and the upper shaft dry. The cheapest by the two shafts standing alone, the
        flattest when equal.
        """
        limits = self._limits()
        if limits is None:
            return None
        balanced = min(
            max(lower_hull_slope(self.profile.x_m, self.profile.v_m, self._balance_m()), limits[0]), limits[1]
        )
        slopes = [balanced, *self._dry_slopes(balanced, limits)]
        slope = min(slopes, key=lambda m: (self._alone_eur(self._levels(m)), abs(m)))
        levels = self._levels(slope)
        most = self.s.shaft.most_level
        if levels[0] > most[self.roles[0]] or levels[1] > most[self.roles[1]]:
            return None
        return slope, levels

    def _reach_m(self) -> float:
        """Return the height from the crown down to the shaft's bottom [m]."""
        return float(self.s.drive.bore_m[self.method]) + self.s.shaft.sump_m

    def _crown_at_level_m(self, end: int, level: int) -> float:
        ground = float(self.s.ground.ground_m[(self.lower, self.upper)[end]])
        return ground + self._reach_m() - level * self.s.shaft.step_m

    def _slopes_below(self, end: int, crown_m: float) -> tuple[float, float] | None:
        """Return the slopes whose highest line lies at or above a level at one end."""
        x, v = np.array(self.profile.x_m), np.array(self.profile.v_m)
        place = x[0] if end == 0 else x[-1]
        here = x == place
        if crown_m > v[here].min() + NEAR_M:
            return None
        slopes = (v[~here] - crown_m) / (x[~here] - place)
        return (-math.inf, float(slopes.min())) if end == 0 else (float(slopes.max()), math.inf)

    def _limits(self) -> tuple[float, float] | None:
        grades = (
            float(self.s.drive.slope_min_frac[self.method]),
            float(self.s.drive.slope_max_frac[self.method]),
        )
        seen = grades if self.is_lower else (-grades[1], -grades[0])
        # both ends of an arc keep the grades; they differ from the chord's by half of what it turns
        half = float(self.s.drive.arc_per_m[self.method]) * self.profile.x_m[-1]
        bounds = [(seen[0] + half, seen[1] - half)]
        for end in (0, 1):
            deepest = self._crown_at_level_m(end, int(self.s.shaft.most_level[self.roles[end]]))
            allowed = self._slopes_below(end, deepest)
            if allowed is None:
                return None
            bounds.append(allowed)
        low, high = max(b[0] for b in bounds), min(b[1] for b in bounds)
        return (low, high) if low <= high else None

    def _balance_m(self) -> float:
        weight, soil = self.s.shaft.weight_eur_per_m, self.s.ground.soil
        at_lower = float(weight[self.roles[0], soil[self.lower]])
        at_upper = float(weight[self.roles[1], soil[self.upper]])
        return self.profile.x_m[-1] * at_upper / (at_lower + at_upper)

    def _dry_slopes(self, balanced: float, limits: tuple[float, float]) -> list[float]:
        """Return the slopes that just keep each end dry; none where both are dry anyway."""
        wet_level = [int(self.s.shaft.wet_level[node]) for node in (self.lower, self.upper)]
        if all(level < wet for level, wet in zip(self._levels(balanced), wet_level, strict=True)):
            return []
        slopes = []
        for end in (0, 1):
            driest = wet_level[end] - 1
            if driest < self.s.shaft.least_level[self.roles[end]]:
                continue
            allowed = self._slopes_below(end, self._crown_at_level_m(end, driest))
            if allowed is None:
                continue
            slope = allowed[1] if end == 0 else allowed[0]
            if abs(slope) <= 1.0:
                slopes.append(min(max(slope, limits[0]), limits[1]))
        return slopes

    def _levels(self, slope: float) -> tuple[int, int]:
        crown = self.profile.start_m(slope)
        crowns = (crown, crown + slope * self.profile.x_m[-1])
        levels = []
        for end, node in enumerate((self.lower, self.upper)):
            depth = float(self.s.ground.ground_m[node]) - crowns[end] + self._reach_m()
            level = math.ceil(depth / self.s.shaft.step_m - 1e-9)
            levels.append(max(level, int(self.s.shaft.least_level[self.roles[end]])))
        return levels[0], levels[1]

    def _alone_eur(self, levels: tuple[int, int]) -> float:
        if max(levels) >= self.s.shaft.table_eur.shape[4]:
            return math.inf
        ends = zip((self.lower, self.upper), self.roles, levels, strict=True)
        return sum(shaft_without_site_eur(self.s, node, 0, role, level) for node, role, level in ends)


def shaft_without_site_eur(s: SearchArrays, node: Node, r: int, k: int, level: int) -> float:
    """Return the price of a shaft by soil, water, roles and depth [EUR].

    Down to the rock head it is priced in soil, each step below at the difference in rock.
    """
    water = int(level >= s.shaft.reached_level[node]) + int(level >= s.shaft.wet_level[node])
    head = int(s.shaft.rock_level[node])
    first_wet = math.ceil(max(int(s.shaft.wet_level[node]), 0) / s.shaft.ramp_steps)
    ramps = s.shaft.ramp_eur[:, min(first_wet, s.shaft.ramp_eur.shape[1] - 1)]
    soils = {int(s.ground.soil[node])} | ({int(s.ground.rock_soil[node])} if level > head else set())
    more = max(float(ramps[soil, role, level]) for soil in soils for role in (r, k))
    more += _fill_eur(s, node, (r, k), level)
    in_soil = s.shaft.table_eur[int(s.ground.soil[node]), water, r, k]
    if not math.isfinite(in_soil[level]):
        return math.inf
    in_rock = s.shaft.table_eur[int(s.ground.rock_soil[node]), water, r, k]
    steps = np.diff(in_rock[min(head, level) : level + 1])
    return float(in_soil[min(head, level)] + steps.sum()) + more


def _fill_eur(s: SearchArrays, node: Node, roles: tuple[int, int], level: int) -> float:
    """Return the price of conducting fill: by steps of the soil, then of the rock, once either role asks."""
    soil, rock, head = int(s.ground.soil[node]), int(s.ground.rock_soil[node]), int(s.shaft.rock_level[node])
    met = {soil, rock} if level > head else {soil}
    firsts = [
        max(
            min(int(s.shaft.fill_level[soil, below, role]) for below in met),
            int(s.shaft.lowest_level[node]) + int(s.shaft.fill_below[role]),
        )
        for role in roles
        if role > 0
    ]
    if not any(level >= first for first in firsts):
        return 0.0
    in_soil, in_rock = (s.shaft.fill_eur[one, roles[0], roles[1]] for one in (soil, rock))
    from_head = np.diff(in_rock[min(head, level) : level + 1]).sum()
    return float(in_soil[min(head, level)] + from_head)
