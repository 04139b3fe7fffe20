"""The report in a real browser: pointing, choosing, sorting, filtering, paper, nothing from outside."""

from __future__ import annotations

import io
from html import escape
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely
from PIL import Image

from routescreen.answers.compare import NamedPlan, compare_plans
from routescreen.report.compared import compared_html
from tests.answers import pair
from tests.report.test_report_page import NASTY, page
from tests.results import example

CHROMIUM = Path("/usr/bin/chromium")
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
ARGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason="needs the package chromium")


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=str(CHROMIUM), args=list(ARGS))
        yield started
        started.close()


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    tables = {name: table.copy() for name, table in example.tables().items()}
    rows = tables["crossing_schedule"]
    rows["name"] = [NASTY[at % len(NASTY)] for at in range(len(rows))]
    tables["alternatives"] = other_plan(tables)
    file = tmp_path_factory.mktemp("report") / "report.html"
    file.write_text(page(tables), encoding="utf-8")
    return file


def other_plan(tables):
    """Return one other plan 40 m beside the first alignment, about the second crossing of the schedule."""
    line = shapely.transform(
        shapely.force_2d(tables["alignment"].geometry.iloc[0]), lambda xy: xy + np.array([0.0, 40.0])
    )
    own = {"corridor_id": "west", "alternative_id": "west-A001", "rank": 1, "instead": "Track in open cut"}
    own |= {"about_id": tables["crossing_schedule"]["crossing_id"].iloc[1], "n_otherwise": 1, "breaches": 2}
    own |= {"cost_eur": 9.0e6, "extra_eur": 123_400.0, "measured_eur": 9.1e6, "measured_extra_eur": 98_700.0}
    own |= {"overlap_frac": 0.9, "departure_overlap_frac": 0.0, "length_m": 2000.0, "drives": 1, "shafts": 2}
    return gpd.GeoDataFrame([own], geometry=[line], crs=tables["alignment"].crs)


@pytest.fixture
def opened(browser, report):
    """Return the open page; nothing may have been asked for, and nothing said on the console, at its end."""
    context = browser.new_context(viewport={"width": 1400, "height": 1000}, offline=True)
    opened = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    opened.on("request", lambda request: asked.append(request.url))
    opened.on("console", lambda message: said.append(message.text))
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.goto(report.as_uri())
    for _ in range(100):
        if opened.evaluate("window.__ready === true"):
            break
        opened.wait_for_timeout(100)
    yield opened
    assert opened.evaluate("window.hit") is None
    assert said == []
    assert [url for url in asked if not url.startswith(("file:", "data:", "blob:"))] == []
    context.close()


def _status(opened) -> str:
    return opened.locator("#status").inner_text()


def test_pointing_at_the_section_marks_the_plan(opened):
    box = opened.locator("#profile .u-over").bounding_box()
    opened.mouse.move(box["x"] + box["width"] / 2, box["y"] + 60)
    opened.wait_for_timeout(150)
    # the example's profile is 2 000 m long
    assert opened.evaluate("rs.marked") == pytest.approx(1000.0, abs=5.0)
    assert "Chainage 0+99" in _status(opened) or "Chainage 1+00" in _status(opened)
    west_m, east_m = 0.0, 2000.0
    shown = opened.evaluate("rs.marked_at")  # [north, east] of the mark in the plan
    assert west_m < shown[1] < east_m
    assert shown == pytest.approx([0.0, 1000.0], abs=5.0)


def test_pointing_at_the_plan_marks_the_section(opened):
    box = opened.locator("#plan").bounding_box()
    opened.mouse.move(box["x"] + box["width"] * 0.75, box["y"] + box["height"] / 2)
    opened.wait_for_timeout(150)
    marked_m = opened.evaluate("rs.marked")
    assert 1200.0 < marked_m < 1800.0
    left = opened.evaluate("document.querySelector('#profile .u-cursor-x').style.transform")
    assert "translate" in left


def test_choosing_a_drive_shows_its_sheet(opened):
    opened.locator("#drives button.name").first.click()
    sheet = opened.locator("#sheet").inner_text()
    assert "D001" in sheet
    assert "Launch shaft" in sheet
    opened.evaluate("rs.choose(rs.corridor.tables.shafts.rows[1][0], true)")
    assert "H002" in opened.locator("#sheet h2").inner_text()


def test_tables_sort_and_filter(opened):
    depths = "[...document.querySelectorAll('#shafts tbody tr')].map(r => r.cells[5].innerText)"
    opened.locator("#shafts thead button", has_text="Depth").click()
    # the depths of the example's shafts, in order
    assert opened.evaluate(depths) == ["4.75", "5.25", "5.25", "7.25", "12.25", "12.25"]
    opened.locator("#shafts thead button", has_text="Depth").click()
    assert opened.evaluate(depths)[0] == "12.25"
    opened.locator("#crossing_schedule input").fill("railway trenchless")
    assert opened.locator("#crossing_schedule tbody tr").count() == 1
    opened.locator("#crossing_schedule input").fill("")
    assert opened.locator("#crossing_schedule tbody tr").count() == 6


def test_keys_move_the_mark_and_open_the_sheet(opened):
    opened.locator("#profile").focus()
    before_m = opened.evaluate("rs.marked")
    opened.keyboard.press("ArrowRight")
    assert opened.evaluate("rs.marked") > before_m
    opened.keyboard.press("End")
    opened.keyboard.press("Enter")
    last = opened.evaluate("rs.corridor.tables.sections.rows.at(-1)[0]")
    assert opened.locator("#sheet h2").inner_text().startswith(last.rsplit("-", 1)[1])


def drawn_in_pink(opened) -> int:
    """Return how many points of the plan, as it is seen, have the colour of another plan."""
    seen = Image.open(io.BytesIO(opened.locator("#plan").screenshot())).convert("RGB")
    return int((np.asarray(seen) == np.array([194, 24, 91])).all(axis=-1).sum())


def test_another_plan_is_drawn_and_taken_away_by_its_button_and_by_the_keyboard(opened):
    about = opened.evaluate("rs.corridor.tables.crossing_schedule.rows[1][0]")
    opened.evaluate("(id) => rs.choose(id)", about)
    told = opened.locator("#sheet").inner_text().replace("\xa0", " ")
    assert "123 400 EUR more on the frame" in told
    assert "98 700 EUR more measured on its exact line" in told
    assert "2 checks in breach" in told
    button = opened.locator("#sheet button.draw")
    assert button.get_attribute("aria-pressed") == "false"
    assert drawn_in_pink(opened) == 0
    key = opened.locator(".legend #legend-other")
    assert not key.is_visible()
    button.click()
    opened.wait_for_timeout(200)
    assert key.is_visible()
    assert key.inner_text().strip().startswith("Other plan ")
    assert button.get_attribute("aria-pressed") == "true"
    assert drawn_in_pink(opened) > 50
    button.focus()
    opened.keyboard.press("Enter")
    opened.wait_for_timeout(200)
    assert button.get_attribute("aria-pressed") == "false"
    assert drawn_in_pink(opened) == 0
    assert not key.is_visible()
    opened.keyboard.press(" ")
    opened.wait_for_timeout(200)
    assert drawn_in_pink(opened) > 50
    # the section that meets the crossing tells of it too, with the button still pressed
    opened.evaluate(
        "rs.choose(rs.corridor.tables.crossing_schedule.rows[1][rs.table_of('crossing_schedule').section_id])"
    )
    assert opened.locator("#sheet button.draw").get_attribute("aria-pressed") == "true"
    # a crossing that no other plan is about tells of none
    opened.evaluate(
        "(id) => rs.choose(id)", opened.evaluate("rs.corridor.tables.crossing_schedule.rows[0][0]")
    )
    assert opened.locator("#sheet button.draw").count() == 0


def test_a_nasty_name_is_shown_as_text(opened):
    body = opened.locator("#crossing_schedule tbody").inner_text()
    assert NASTY[0] in body
    copied = opened.evaluate(
        """() => { let got = null; rs.copy = (text) => { got = text; };
        document.querySelector('#crossing_schedule button.copy').click(); return got; }"""
    )
    assert "'" + NASTY[1] in copied.split("\n", 1)[1]  # an apostrophe: no spreadsheet runs it


def test_paper_holds_drawings_and_tables(opened):
    opened.emulate_media(media="print")
    opened.evaluate("rs.before_print()")
    assert opened.locator("main .paper svg").first.is_visible()
    assert not opened.locator("#plan").is_visible()
    assert opened.locator("#crossing_schedule table").is_visible()
    width = opened.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert width <= 0


def test_on_paper_headings_are_text_which_a_browser_repeats_on_the_next_sheet(opened):
    headings = "[...document.querySelectorAll('#crossing_schedule th')]"
    asked = f"{headings}.filter((th) => th.offsetWidth).map((th) => th.innerText)"
    on_screen = opened.evaluate(asked)
    opened.emulate_media(media="print")
    assert not opened.locator("#crossing_schedule th button").first.is_visible()
    on_paper = opened.evaluate(asked)
    assert "Angle (deg)" in on_paper
    assert set(on_paper) < set(on_screen)


def test_a_number_and_its_unit_break_over_no_line(opened):
    made = opened.evaluate("rs.el('p', {}, 'up to 1 443 000 EUR, 4 miles, 4 cables in 12 m').textContent")
    assert made == "up to 1\xa0443\xa0000\xa0EUR, 4 miles, 4 cables in 12\xa0m"
    assert opened.evaluate("rs.number(9015874.706, 2)") == "9\xa0015\xa0874.71"
    assert opened.evaluate("rs.number(9999.5, 1)") == "9999.5"


def test_a_sentence_that_begins_with_the_name_of_a_drive_keeps_it(browser, tmp_path):
    tables = {name: table.copy() for name, table in example.tables().items()}
    tables["checks"]["reason"] = [
        "west-D001: the usual block" if k % 2 else "no room" for k in range(len(tables["checks"]))
    ]
    (tmp_path / "report.html").write_text(page(tables), encoding="utf-8")
    opened = browser.new_page()
    opened.goto((tmp_path / "report.html").as_uri())
    opened.wait_for_function("window.__ready")
    told = opened.locator("#sheet").inner_text()
    assert "west-D001: the usual block" in told
    assert "No room" in told
    opened.close()


def test_no_serious_fault_for_those_who_see_or_point_otherwise(browser, report):
    context = browser.new_context(viewport={"width": 1400, "height": 1000}, offline=True, bypass_csp=True)
    opened = context.new_page()
    opened.goto(report.as_uri())
    opened.wait_for_function("window.__ready")
    opened.evaluate("rs.choose(rs.corridor.tables.drives.rows[0][0], true)")
    opened.add_script_tag(content=AXE.read_text(encoding="utf-8"))
    found = opened.evaluate("axe.run()")
    serious = [v for v in found["violations"] if v["impact"] in ("serious", "critical")]
    assert [(v["id"], [node["html"][:120] for node in v["nodes"]][:3]) for v in serious] == []
    assert len(found["passes"]) > 10
    context.close()


def test_a_comparison_s_page_speaks_german_and_keeps_names():
    a, b = pair.pair()
    schedule = b.tables["crossing_schedule"].assign(name=NASTY[0])
    nasty = NamedPlan(NASTY[2], "west", {**b.tables, "crossing_schedule": schedule})
    made = {"crs_name": example.METRES.name, "stamp_utc": example.STAMP}
    english = compared_html([compare_plans(a, nasty)], **made)
    german = compared_html([compare_plans(a, nasty)], **made, language="de")
    assert '<html lang="de">' in german
    assert "Kosten nach Positionen" in german
    assert "Cost by item" not in german
    assert german.count("<td") == english.count("<td")
    assert escape(NASTY[2]) in german
    assert "<script" not in german.lower()


def test_a_comparison_s_page_runs_nothing_says_nothing_and_can_be_read_by_all(browser, tmp_path):
    a, b = pair.pair()
    schedule = b.tables["crossing_schedule"].assign(name=NASTY[0])
    nasty = NamedPlan(NASTY[2], "west", {**b.tables, "crossing_schedule": schedule})
    html = compared_html([compare_plans(a, nasty)], crs_name=example.METRES.name, stamp_utc=example.STAMP)
    file = tmp_path / "compared.html"
    file.write_text(html, encoding="utf-8")
    context = browser.new_context(viewport={"width": 1300, "height": 900}, offline=True, bypass_csp=True)
    opened = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    opened.on("request", lambda request: asked.append(request.url))
    opened.on("console", lambda message: said.append(message.text))
    opened.goto(file.as_uri())
    assert NASTY[2] in opened.locator("h2").first.inner_text()
    opened.add_script_tag(content=AXE.read_text(encoding="utf-8"))
    found = opened.evaluate("axe.run()")
    assert [(v["id"], v["nodes"][0]["html"][:200]) for v in found["violations"]] == []
    assert opened.evaluate("window.hit") is None
    assert said == []
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    context.close()
