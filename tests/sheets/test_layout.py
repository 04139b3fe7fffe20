"""Where things stand: windows, names, stations. Reckoned by hand or by another way."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from routescreen.sheets.band import stations
from routescreen.sheets.book import chapter_sheets, listed
from routescreen.sheets.crossing_sheet import crossing_window, numbers_of
from routescreen.sheets.furniture import EDGE
from routescreen.sheets.key_sheet import MAP, map_window
from routescreen.sheets.lettering import corners_mm, fitted, shown, width_mm, wrapped
from routescreen.sheets.marks import Area, Box, Stroke, Text
from routescreen.sheets.places import Places, spread
from routescreen.sheets.plan_view import Plan
from routescreen.sheets.scene import Run
from routescreen.sheets.scripts import visual
from routescreen.sheets.strip_sheet import PAPER_OF_PLAN, PLAN
from routescreen.sheets.windows import Paper, Way, Window, cut, cut_to_number, exaggeration
from tests.sheets.conftest import chapter

PAPER = Paper(250.0, 60.0, 10.0)


def _way(*points: tuple[float, float]) -> Way:
    return Way.of(np.array(points, dtype=float))


def test_a_straight_kilometre_at_1_to_2000_on_250_mm_is_two_halves():
    # 250 mm at 1 : 2000 are 500 m; the overlap of 10 mm is 20 m
    windows = cut(_way((0, 0), (1000, 0)), PAPER, 2000)
    assert [(w.from_m, w.to_m) for w in windows] == [(0.0, 500.0), (500.0, 1000.0)]
    assert [(w.shown_from_m, w.shown_to_m) for w in windows] == [(0.0, 520.0), (480.0, 1000.0)]


def test_a_length_that_just_does_not_fit_is_shared_evenly():
    windows = cut(_way((0, 0), (0, 1010)), PAPER, 2000)
    assert [w.to_m for w in windows] == pytest.approx([1010 / 3, 2020 / 3, 1010])


def test_a_hairpin_is_cut_until_each_part_stays_on_its_paper():
    way = _way((0, 0), (400, 0), (400, 300), (0, 300))
    for window in cut(way, PAPER, 2000):
        points = window.on_paper(way.part(window.from_m, window.to_m), (0.0, 0.0))
        assert np.all(np.abs(points[:, 1]) <= 30.0 + 1e-6)


@given(
    st.lists(st.tuples(st.integers(-500, 500), st.integers(-500, 500)), min_size=2, max_size=8, unique=True),
    st.sampled_from([500, 2000, 5000]),
)
def test_windows_follow_one_another_and_hold_their_part(points, denominator):
    way = _way(*points)
    windows = cut(way, PAPER, denominator)
    assert windows[0].from_m == 0.0
    assert windows[-1].to_m == pytest.approx(way.length_m)
    assert all(a.to_m == b.from_m for a, b in itertools.pairwise(windows))
    for window in windows:
        on_paper = window.on_paper(way.part(window.from_m, window.to_m), (0.0, 0.0))
        assert np.all(np.abs(on_paper) <= np.array([125.0, 30.0]) + 1e-6)
        back = window.on_ground(on_paper, (0.0, 0.0))
        assert back == pytest.approx(way.part(window.from_m, window.to_m), abs=1e-6)


def test_700_km_take_a_coarser_scale_not_thousands_of_sheets():
    way = _way((0, 0), (700_000, 0))
    windows = cut_to_number(way, PAPER, 2000, 120)
    # 250 mm hold 2.5 km at 1 : 10 000 (280 sheets), 5 km at 1 : 20 000 (140), 6.25 km at 1 : 25 000 (112)
    assert (len(windows), windows[0].denominator) == (112, 25_000)


def test_exaggeration_is_the_steepest_that_most_spans_bear():
    # at 1 : 2000 on 60 mm: 12 m ten times, 24 m five times
    assert exaggeration([5.0, 6.0, 11.0, 12.0, 60.0], 2000, 60.0) == 10.0
    assert exaggeration([5.0, 6.0, 13.0, 24.0, 60.0], 2000, 60.0) == 5.0


@given(st.lists(st.floats(-50.0, 150.0), max_size=20))
def test_spread_keeps_order_pitch_and_ends(wanted):
    placed = spread(sorted(wanted), 0.0, 100.0, 3.0)
    assert placed is not None
    assert all(b - a >= 3.0 - 1e-6 for a, b in itertools.pairwise(placed))
    assert all(-1e-6 <= at <= 100.0 + 1e-6 for at in placed)


def test_spread_says_when_there_is_no_room():
    assert spread([0.0] * 6, 0.0, 10.0, 3.0) is None


def test_a_slanted_name_blocks_its_own_ground_only():
    places = Places(Box(0.0, 0.0, 100.0, 100.0))
    assert places.put([Text("a name of some length", 50.0, 50.0, 1.8, "middle", 45.0)])
    # inside the upright box round the slanted name, clear of the name
    assert places.put([Text("x", 42.0, 58.0)])
    assert places.put([Text("x", 50.0, 50.0)]) is None
    assert places.put([Text("x", 99.5, 50.0)]) is None


def test_names_are_text_and_cut_to_their_room():
    assert shown("a\r\n\tb\u202e") == "a b"
    assert fitted("W" * 500, 40.0).endswith("…")
    assert width_mm(fitted("W" * 500, 40.0)) <= 40.0
    assert wrapped("one two three", 10.0, 3) == ["one two", "three"]
    assert wrapped("one two three four", 10.0, 2)[-1].endswith("…")


def test_stations_keep_the_seams_and_stand_apart():
    # at 0.5 mm a metre 10 mm are 20 m; 3 mm are 6 m, 4.6 mm beside a seam 9.2 m
    found = stations((0.0, 100.0), [45.0], 0.5)
    assert [s.chainage_m for s in found] == [0.0, 20.0, 45.0, 60.0, 80.0, 100.0]
    assert [s.is_seam for s in found] == [False, False, True, False, False, False]


def test_a_run_is_cut_with_interpolated_ends():
    along = np.array([0.0, 10.0])
    run = Run(True, along, along, along, along, along, np.array([np.nan, np.nan]))
    part = run.part(2.5, 7.5)
    assert part is not None
    assert part.ground_m.tolist() == [2.5, 7.5]
    assert run.part(10.0, 20.0) is None


@pytest.mark.parametrize(
    ("length_m", "denominator"),
    [
        pytest.param(11_800.0, 40_000, id="295 mm of 298 mm at 1 : 40 000"),
        pytest.param(12_000.0, 50_000, id="300 mm at 1 : 40 000 are too long"),
        pytest.param(1_100.0, 4_000, id="short"),
    ],
)
def test_the_key_map_has_the_largest_scale_at_which_the_corridor_fits(length_m, denominator):
    assert MAP.width - 18.0 == pytest.approx(298.0, abs=1.0)
    scene = chapter().scene
    outline = shapely.box(0.0, 0.0, length_m, 100.0)
    own = replace(scene, way=_way((0, 50), (length_m, 50)), features=replace(scene.features, outline=outline))
    window, is_round = map_window(own)
    assert (window.denominator, is_round) == (denominator, True)


def test_crossing_numbers_follow_from_the_tables():
    """Railway, its middle at 450 m, 14 m wide; drive from 300 to 600 m, launch shaft of 8 m at its start."""
    own = chapter()
    railway = next(c for c in own.crossings if c.row["kind"] == "railway")
    told = [value for _, value in numbers_of(own.scene, own.works, railway)]
    assert "0+450.00" in told
    assert "143.00 m; 139.00 m" in told  # 443 - 300, less half a shaft
    assert "143.00 m; 140.50 m" in told  # 600 - 457, less half of 5 m
    # crown from 14 to 13 m over 300 m: at 443, 450, 457 m
    assert "13.52; 13.50; 13.48" in told
    assert "12.96; 12.94; 12.92" in told


def test_a_crossing_is_shown_with_its_nearer_shaft_where_the_drive_is_too_long():
    """Drive from 300 to 600 m; the paper holds 271 m at 1 : 1000."""
    own = chapter()
    railway = next(c for c in own.crossings if c.row["kind"] == "railway")
    assert PAPER_OF_PLAN.along_mm == 271.0
    shown = crossing_window(own.scene, railway)
    assert shown.denominator == 1000
    # to the launch 143 m, to the reception 143 m: the tie goes up the chainage; 443 to 600 m and 10 m beside
    assert (shown.from_m + shown.to_m) / 2.0 == pytest.approx((443.0 + 600.0) / 2.0)
    main_road = next(c for c in own.crossings if c.row["kind"] == "main_road")
    # a drive of 250 m with 10 m beside fits the same scale as a whole
    shown = crossing_window(own.scene, main_road)
    assert shown.from_m <= main_road.drive.from_m - 0.5
    assert shown.to_m >= main_road.drive.to_m + 0.5


def test_only_driven_crossings_of_the_kinds_asked_for_get_a_sheet():
    assert [c.row["kind"] for c in chapter().crossings] == ["railway", "river", "gas_pipeline", "main_road"]
    assert [c.row["kind"] for c in chapter(crossing_kinds='["river", "track"]').crossings] == ["river"]
    limited = chapter(n_most_crossing_sheets=1)
    assert (len(limited.crossings), limited.n_left_out) == (1, 3)


def test_the_list_says_how_many_crossings_have_no_sheet():
    """What is left out for its number must not look as if it weren't there."""
    limited = chapter(n_most_crossing_sheets=1)
    *sheets, last = listed(limited, 1)
    assert len(sheets) == limited.n_sheets
    assert (last.number, last.title) == (None, "3 more driven crossings: no sheet of their own")
    assert all(entry.number is not None for entry in listed(chapter(), 1))
    drawn = [text.text for text in _texts(next(chapter_sheets(limited, 1, limited.n_sheets)))]
    assert last.title in drawn


@pytest.mark.parametrize(
    ("into_m", "is_told"),
    # 1 : 2000: what reaches 2 m into a corner has 4 mm of edge there; 1 m has 2 mm
    [(2.0, True), (1.0, False)],
)
def test_what_shows_no_more_than_a_tip_is_drawn_and_not_told_of(into_m: float, is_told: bool) -> None:
    window = Window(0.0, 100.0, 0.0, 100.0, np.array([0.0, 0.0]), 0.0, 2000)
    plan = Plan(None, window, Box(-25.0, -25.0, 25.0, 25.0), (0.0, 0.0))
    tip = shapely.box(50.0 - into_m, 50.0 - into_m, 90.0, 90.0)
    assert plan.draw(tip, "#ffffff", []) is is_told
    assert len(plan.marks) == 1


def _texts(sheet) -> list[Text]:
    return [mark for mark in sheet.marks if isinstance(mark, Text) and mark.text]


def test_nothing_leaves_the_border(laid_out):
    _, sheets = laid_out
    for sheet in sheets:
        for mark in sheet.marks:
            if isinstance(mark, Text):
                points = corners_mm(mark)
            else:
                points = np.concatenate(mark.rings if isinstance(mark, Area) else mark.chains)
            low, high = points.min(axis=0), points.max(axis=0)
            assert low[0] >= EDGE.left - 0.01, (sheet.title, mark)
            assert low[1] >= EDGE.bottom - 0.01, (sheet.title, mark)
            assert high[0] <= EDGE.right + 0.01, (sheet.title, mark)
            assert high[1] <= EDGE.top + 0.01, (sheet.title, mark)


def test_no_text_stands_on_another(laid_out):
    _, sheets = laid_out
    for sheet in sheets:
        texts = _texts(sheet)
        # the letters themselves, without the room below them for descenders
        shapes = np.array([shapely.Polygon(_letters(text)) for text in texts])
        pairs = shapely.STRtree(shapes).query(shapes, predicate="intersects").T
        on_top = [
            (texts[a].text, texts[b].text)
            for a, b in pairs
            if a < b and shapely.area(shapely.intersection(shapes[a], shapes[b])) > 0.05
        ]
        assert on_top == [], sheet.title


def _letters(text: Text) -> np.ndarray:
    corners = corners_mm(text)
    up = corners[3] - corners[0]
    whole = 1.6 * text.cap_mm  # from below the descenders to above the capitals
    low, high = corners[:2] + up * 0.35 * text.cap_mm / whole, corners[2:] - up * 0.25 * text.cap_mm / whole
    return np.concatenate([low, high])


def test_letters_are_no_smaller_than_1_8_mm(laid_out):
    _, sheets = laid_out
    assert min(text.cap_mm for sheet in sheets for text in _texts(sheet)) >= 1.8


def test_lines_are_no_thinner_than_a_plotter_draws(laid_out):
    _, sheets = laid_out
    inks = [mark.ink for sheet in sheets for mark in sheet.marks if isinstance(mark, Stroke)]
    assert min(ink.width_mm for ink in inks) >= 0.13


def test_the_alignment_stays_in_the_plan(laid_out):
    own, _ = laid_out
    assert PAPER_OF_PLAN.across_mm < PLAN.height
    for window in own.windows:
        on_paper = window.on_paper(own.scene.way.part(window.from_m, window.to_m), PLAN.middle)
        assert on_paper[:, 1].min() > PLAN.bottom
        assert on_paper[:, 1].max() < PLAN.top


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        pytest.param("plain (1) text", "plain (1) text", id="left-to-right"),
        pytest.param("\u05d0\u05d1 (\u05d2)", "(\u05d2) \u05d1\u05d0", id="brackets-turn-with-it"),
        pytest.param("\u05d0 1.25 \u05d1", "\u05d1 1.25 \u05d0", id="numbers-keep-their-order"),
        pytest.param("\u05d0 ab \u05d1", "\u05d1 ab \u05d0", id="other-script-within"),
        # lam, alef, beh: alef joins what stands before it alone
        pytest.param("\u0644\u0627\u0628", "\ufe8f\ufe8e\ufedf", id="arabic-joins"),
    ],
)
def test_scripts_from_the_right_are_turned(text, seen):
    assert visual(text) == seen
