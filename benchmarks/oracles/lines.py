"""The drives of a problem, settled one by one in plain Python from the definitions.

A drive is straight in plan between two nodes. In a column it touches every cell that it enters, and
those within `EDGE_CELLS` of it. The least ceiling of a column's touched cells holds along the whole
column. The crown's line is chosen by the family's rule, see ``chooser``.
"""

from __future__ import annotations

import functools
import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from benchmarks.oracles.cells import Node, Track, touched
from benchmarks.oracles.chooser import Chooser, Profile, shaft_without_site_eur
from benchmarks.oracles.courses import Arc, Drilled, Straight, drilled_course
from benchmarks.oracles.fine_cut import FinePiece, fine_pieces
from benchmarks.oracles.forces import can_be_built
from benchmarks.oracles.layout import LayoutOracle

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchmarks.oracles.courses import Course
    from routescreen.search.arrays import SearchArrays

GAP_EDGE_M = 1e-6
NO_GAP_M = 1e8  # no gap begins so high
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
class _Line:
    """What holds for a method's drives on one line, whichever end they start from.

    The crossings they meet, the highest floor of each column and its gap: above or below all of which a
    crown must be.
    """

    track: Track
    pieces: tuple[FinePiece, ...]
    profile: Profile
    met: frozenset[int]
    floors_m: tuple[float, ...]
    gaps_m: tuple[tuple[float, float], ...]


class DriveOracle:
    """Settles drives of one problem.

    Tables are held as lists, which plain Python reads several times as fast as an array's elements.
    """

    def __init__(self, arrays: SearchArrays) -> None:
        self.s = arrays
        drive = arrays.drive
        self._ceiling_m: list[list[list[float]]] = drive.ceiling_m.tolist()
        self._service_ceiling_m: list[list[list[float]]] = drive.service_ceiling_m.tolist()
        self._floor_m: list[list[list[float]]] = drive.floor_m.tolist()
        self._dry_floor_m: list[list[list[float]]] = drive.gap.dry_floor_m.tolist()
        self._wet_ceiling_m: list[list[list[float]]] = drive.gap.wet_ceiling_m.tolist()
        self._water_level_m: list[list[float]] = arrays.ground.water_level_m.tolist()
        self._fine_kind: list[list[int]] = arrays.fine.kind.tolist()
        self._fine_rock_level_m: list[list[float]] = arrays.fine.rock_level_m.tolist()
        self._fine_soils: tuple[list[int], list[int]] = (
            arrays.fine.soil.tolist(),
            arrays.fine.rock_soil.tolist(),
        )
        self._rates: tuple[list[list[float]], list[list[float]]] = (
            drive.soil_eur_per_m.tolist(),
            drive.rock_eur_per_m.tolist(),
        )
        xy = arrays.drive.segment_xy_m
        self._segments = np.asarray(shapely.linestrings(xy.reshape(-1, 2, 2)))
        self._layouts = LayoutOracle(arrays)
        self._banned = {int(key) for key in arrays.drive.banned}
        self._longest_m = arrays.drive.longest_m.max(axis=1)
        self._widest_rad = math.atan(arrays.max_tan)
        n_bins = arrays.shaft.is_allowed.shape[4]
        self._bin_edges_rad = np.linspace(-self._widest_rad, self._widest_rad, n_bins + 1)[1:-1]
        self._alone_eur = functools.cache(functools.partial(shaft_without_site_eur, arrays))

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
        lines = {
            method: self._line(track, lower, upper, method)
            for method in dict.fromkeys(method for method, _ in wanted)
        }
        found = (self._settle(lower, upper, method, is_lower, lines[method]) for method, is_lower in wanted)
        return [drive for drive in found if drive is not None]

    def _line(self, track: Track, lower: Node, upper: Node, method: int) -> _Line | None:
        """Return what holds for a method's drives from either end; None where none may pass."""
        profile = self._profile(track, method)
        if profile is None:
            return None
        met = self._met(lower, upper, method)
        if met is None:
            return None
        floors, gaps = self._column_floors(track, method), self._gaps(track, method)
        return _Line(track, tuple(fine_pieces(self.s, track, lower[0])), profile, met, floors, gaps)

    def heading_bins(self, lower: Node, upper: Node) -> tuple[int, int] | None:
        """Return the bin of the heading against the axis at both ends; None where it is too steep.

        Too steep is a drive over the frame's rows and columns, or against the axis at an end.
        """
        chord = self.s.frame.node_xy_m[upper] - self.s.frame.node_xy_m[lower]
        widest, bins = self._widest_rad, []
        across_m = abs(upper[1] - lower[1]) * self.s.frame.cell_m
        if across_m > self.s.max_tan * (upper[0] - lower[0]) * self.s.frame.column_m + 1e-8:
            return None
        for node in (lower, upper):
            tangent = self.s.frame.tangent[node[0]]
            to_left = math.atan2(chord[1], chord[0]) - math.atan2(tangent[1], tangent[0])
            to_right = -math.remainder(to_left, 2.0 * math.pi)
            if abs(to_right) > widest + 1e-9:
                return None
            bins.append(int(np.searchsorted(self._bin_edges_rad, to_right, side="right")))
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
        self, lower: Node, upper: Node, method: int, is_lower: bool, line: _Line | None
    ) -> OracleDrive | None:
        if line is None:
            return None
        track, profile = line.track, line.profile
        roles = (1 + 2 * method, 2 + 2 * method) if is_lower else (2 + 2 * method, 1 + 2 * method)
        course: Arc | Drilled | Straight | None
        if self.s.drilled.is_drilled[method]:
            course = drilled_course(
                self.s, method, (lower, upper), is_lower, track, (profile.x_m, profile.v_m)
            )
            levels = tuple(int(self.s.shaft.least_level[role]) for role in roles)
            slope, crown = 0.0, math.nan if course is None else course.bottom_m
        else:
            chosen = self._choose(line, method, (lower, upper), roles, is_lower)
            if chosen is None:
                return None
            slope, levels, crown, course = chosen
        ends = (lower, upper)
        eur = None if course is None else self._drive_eur(line, ends, levels, method, course, is_lower)
        if eur is None:
            return None
        eur += sum(float(self.s.drive.drive_fee_eur[c]) for c in line.met)
        return OracleDrive(lower, upper, method, is_lower, *roles, *levels, eur, slope, crown)

    def _choose(
        self,
        given: _Line,
        method: int,
        ends: tuple[Node, Node],
        roles: tuple[int, int],
        is_lower: bool,
    ) -> tuple[float, tuple[int, int], float, Arc | Straight] | None:
        """Return slope, levels, crown at the lower end and course.

        First the line by price alone; where the cable is too warm on it, the line by price of those above all
        floors; where that fails in a gap, the same below all gaps, and there the first if none lies above.
        """

        def line(
            tried: Profile, floors: tuple[float, ...] | None
        ) -> tuple[float, tuple[int, int], float, Arc | Straight] | None:
            found = Chooser(self.s, *ends, method, roles, is_lower, tried, floors, self._alone_eur).choose()
            if found is None:
                return None
            slope, levels = found
            crown = tried.start_m(slope)
            return (
                slope,
                levels,
                crown,
                self._straight_or_arc(method, ends, slope, crown, track.length_m, max(levels)),
            )

        track, profile = given.track, given.profile
        first = line(profile, None)
        if first is None:
            return None
        meets = _meets_gap(given, first[3])
        if not meets and not _is_below_columns(given, first[3]):
            return first
        above = line(profile, self._floors(given, method, is_dry=True))
        if above is not None:
            return above
        if not meets:
            return first
        lowered = self._below_gaps(given, method)
        below = line(lowered, None)
        if below is not None and _is_below_columns(given, below[3]):
            return line(lowered, self._floors(given, method, is_dry=False)) or below
        return below

    def _column_floors(self, track: Track, method: int) -> tuple[float, ...]:
        """Return the highest floor of the cells touched in each column [m]."""
        floor_m = self._floor_m[method]
        return tuple(max(floor_m[i][j] for i, j in column) for column in track.nodes)

    def _floors(self, given: _Line, method: int, *, is_dry: bool) -> tuple[float, ...]:
        """Return what a chord must reach at each boundary: the floors of both columns and the arc's hang.

        Above gaps too if asked for.
        """
        raised, track = [], given.track
        floors = given.floors_m
        if is_dry:
            floors = tuple(max(p, dry) for p, (dry, _) in zip(floors, given.gaps_m, strict=True))
        for floor, (x0, x1) in zip(floors, itertools.pairwise(track.boundary_m), strict=True):
            at = min(max(0.5 * track.length_m, x0), x1)
            hang = 0.5 * self._bend_per_m(method) * at * (track.length_m - at)
            raised.append(floor + hang + GAP_EDGE_M)
        return (raised[0], *(max(p, q) for p, q in itertools.pairwise(raised)), raised[-1])

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

    def _profile(self, track: Track, method: int) -> Profile | None:
        drive = self.s.drive
        steepest = max(abs(drive.slope_min_frac[method]), abs(drive.slope_max_frac[method]))
        deviation = drive.deviation_frac[method] * track.length_m * math.hypot(1.0, steepest)
        ceilings, ceiling_m, service_m = [], self._ceiling_m[method], self._service_ceiling_m[method]
        for column in track.nodes:
            least = min(min(ceiling_m[i][j], service_m[i][j] - deviation) for i, j in column)
            if least < CLOSED_M:
                return None
            ceilings.append(least)
        # an arc may stand higher with its chord by what it hangs below it: of a parabola its slopes' half
        hang = [0.5 * self._bend_per_m(method) * x * (track.length_m - x) for x in track.boundary_m]
        inner = [min(p, q) for p, q in itertools.pairwise(ceilings)]
        lowest = (ceilings[0], *inner, ceilings[-1])
        return Profile(track.boundary_m, tuple(v + h for v, h in zip(lowest, hang, strict=True)))

    def _gaps(self, track: Track, method: int) -> tuple[tuple[float, float], ...]:
        """Return the gap of each column: above or below all of which a crown must be."""
        dry_m, wet_m = self._dry_floor_m[method], self._wet_ceiling_m[method]
        return tuple(
            (max(dry_m[i][j] for i, j in column), min(wet_m[i][j] for i, j in column))
            for column in track.nodes
        )

    def _below_gaps(self, given: _Line, method: int) -> Profile:
        """Return the ceiling lowered under all gaps, at a boundary under the lower of both."""
        profile, track = given.profile, given.track
        ends = [wet for _, wet in given.gaps_m]
        lowest = (ends[0], *(min(p, q) for p, q in itertools.pairwise(ends)), ends[-1])
        hang = [0.5 * self._bend_per_m(method) * x * (track.length_m - x) for x in track.boundary_m]
        lowered = [min(v, w + h) for v, w, h in zip(profile.v_m, lowest, hang, strict=True)]
        return Profile(profile.x_m, tuple(lowered))

    def _is_too_warm(self, given: _Line, method: int, course: Course) -> bool:
        """Return whether a crown lies below a floor or in a gap."""
        floor_m = self._floor_m[method]
        return _meets_gap(given, course) or any(
            course.lowest_m(cell.middle_m, cell.length_m / 2.0) < floor_m[cell.node[0]][cell.node[1]]
            for column in given.track.cells
            for cell in column
        )

    def _drive_eur(
        self,
        line: _Line,
        ends: tuple[Node, Node],
        levels: tuple[int, ...],
        method: int,
        course: Course,
        is_lower: bool,
    ) -> float | None:
        """Price the drive without its shafts and crossings; None where a limit forbids it."""
        s, drive, track = self.s, self.s.drive, line.track
        true_m = course.true_m
        stretch = true_m / track.length_m
        if true_m < drive.least_length_m[method]:
            return None
        if self._is_too_warm(line, method, course):
            return None
        half_m, head_limit_m = float(drive.bore_m[method]) / 2.0, float(drive.head_limit_m[method])
        for cell in (cell for column in track.cells for cell in column):
            axis = course.level_m(cell.middle_m) - half_m
            if self._water_level_m[cell.node[0]][cell.node[1]] - axis > head_limit_m:
                return None
        eur, by_soil = self._bored(line, method, course, half_m)
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

    def _bored(
        self, line: _Line, method: int, course: Course, half_m: float
    ) -> tuple[float, dict[int, float]]:
        """Return the price of the metres bored [EUR] and the metres in plan by soil."""
        stretch = course.true_m / line.track.length_m
        in_soil, in_rock = (rates[method] for rates in self._rates)
        soils, rock_soils = self._fine_soils
        eur, by_soil = 0.0, dict.fromkeys(range(self.s.drive.longest_m.shape[1]), 0.0)
        for place, length, (i, j) in line.pieces:
            kind = self._fine_kind[i][j]
            is_rock = course.level_m(place) - half_m < self._fine_rock_level_m[i][j]
            eur += length * stretch * (in_rock if is_rock else in_soil)[kind]
            by_soil[(rock_soils if is_rock else soils)[kind]] += length
        return eur, by_soil


def _is_below_columns(given: _Line, course: Course) -> bool:
    """Return whether a crown lies below the highest floor of a column somewhere in it."""
    return any(
        course.lowest_m(0.5 * (x0 + x1), 0.5 * (x1 - x0)) < floor
        for floor, (x0, x1) in zip(given.floors_m, itertools.pairwise(given.track.boundary_m), strict=True)
    )


def _meets_gap(given: _Line, course: Course) -> bool:
    """Return whether a crown lies in a gap in some column."""
    for (dry, wet), (x0, x1) in zip(given.gaps_m, itertools.pairwise(given.track.boundary_m), strict=True):
        if wet >= NO_GAP_M:
            continue
        lowest = course.lowest_m(0.5 * (x0 + x1), 0.5 * (x1 - x0))
        highest = max(course.level_m(x0), course.level_m(x1))
        if lowest < dry - GAP_EDGE_M and highest > wet + GAP_EDGE_M:
            return True
    return False
