"""The file: what a reader of the PDF sees, measured and read back from it."""

from __future__ import annotations

import io
import itertools
import math
import re

import pytest
from pypdf import PdfReader

from routescreen.assumptions import load_assumptions
from routescreen.languages import languages
from routescreen.results import write_results
from routescreen.schema import CAUTION
from routescreen.sheets.looks import LOOKS
from routescreen.sheets.words import words_of
from tests.results import example
from tests.sheets.conftest import NASTY, assumptions_of, chapter, pdf_of, tables_of

MM = 72.0 / 25.4


def _placed(page) -> list[tuple[str, float, float, float]]:
    """Return each text of a page with where it begins [pt] and its turn [deg]."""
    found = []

    def visit(text, cm, tm, _font, _size):
        if not text.strip():
            return
        a, b, c, d, e, f = cm
        x, y = tm[4] * a + tm[5] * c + e, tm[4] * b + tm[5] * d + f
        found.append((text.strip(), x, y, math.degrees(math.atan2(tm[1] * a, tm[0] * a))))

    page.extract_text(visitor_text=visit)
    return found


def _only(placed, text: str, turn_deg: float) -> tuple[float, float]:
    own = [(x, y) for told, x, y, turn in placed if told == text and abs(turn - turn_deg) < 1.0]
    assert own, text
    return own[0]


@pytest.fixture(scope="module")
def first_strip(pages):
    return _placed(pages[1])


def test_the_scale_bar_is_true(pages, first_strip):
    """Four parts of 20 m, each 10 mm at 1 : 2000, numbered over their ends."""
    points = re.findall(r"([\d.]+) ([\d.]+) m((?: [\d.]+ [\d.]+ l){4}) h", _content(pages[1]))
    boxes = [[(float(x), float(y)), *_pairs(rest)] for x, y, rest in points]
    line_pt = next(y for text, _, y, _ in first_strip if text == "80")
    below = [box for box in boxes if 0.0 < line_pt / MM - box[0][1] < 5.0]
    parts = [box for box in below if max(y for _, y in box) - min(y for _, y in box) == pytest.approx(1.4)]
    edges = sorted({round(x, 2) for box in parts for x, _ in box})
    assert [b - a for a, b in itertools.pairwise(edges)] == pytest.approx([10.0] * 4, abs=0.011)
    at = {text: x for text, x, y, _ in first_strip if y == line_pt}
    assert at.keys() == {"0", "20", "40", "60", "80", "m"}
    # numbers of two digits are of one width: their left ends lie as their middles do
    assert (at["80"] - at["20"]) / MM == pytest.approx(30.0, abs=0.01)
    assert at["80"] / MM == pytest.approx(edges[-1] - 1.31, abs=0.1)  # half of two digits


def _content(page) -> str:
    return " ".join(page.get_contents().get_data().decode("latin-1").split())


def _pairs(text: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+) l", text)]


def test_the_long_section_has_the_scale_it_states(pages, first_strip):
    assert "lengths 1 : 2000" in pages[1].extract_text()
    (a, _), (b, _) = (_only(first_strip, text, 90.0) for text in ("0+060", "0+200"))
    assert (b - a) / MM == pytest.approx(140.0 / 2.0, abs=0.01)


def test_heights_have_the_exaggeration_they_state(pages, first_strip):
    found = re.search(r"heights 1 : (\d+), exaggerated (\d+) times", pages[1].extract_text())
    assert found
    assert int(found[1]) * int(found[2]) == 2000
    (_, low), (_, high) = (_only(first_strip, text, 0.0) for text in ("14", "18"))
    assert (high - low) / MM == pytest.approx(4000.0 / int(found[1]), abs=0.01)


def test_seams_in_the_band_are_the_sections_chainages(pages):
    told = {text for page in pages[1:5] for text, _, _, turn in _placed(page) if abs(turn - 90.0) < 1.0}
    inner = tables_of()["sections"]["from_chainage_m"].to_list()[1:]
    assert len(inner) == 6
    for chainage_m in inner:
        assert f"{int(chainage_m // 1000)}+{chainage_m % 1000:06.2f}" in told


def test_levels_at_a_seam_are_those_of_both_sections(first_strip):
    """At 300 m the trench's bottom lies at 18.12 m, the bore's invert 0.56 m below its crown at 14 m."""
    x_seam, _ = _only(first_strip, "0+300.00", 90.0)
    near = {text for text, x, _, turn in first_strip if abs(x - x_seam) < 3.0 * MM and abs(turn - 90.0) < 1.0}
    assert {"20.00", "18.12", "13.44", "1.40", "6.00", "3.00"} <= near


def test_names_are_text_whatever_stands_in_them(pages):
    text = "\n".join(page.extract_text() for page in pages)
    assert r"$\frac{1}{2}$ & <script>" in text
    assert "=cmd|' /C calc'!A0" in text
    assert 'Line "P 12" second' in text
    assert "Ü日本" in text
    # it stands on the paper as it is seen, and readers turn it back or don't
    assert "\u05dc\u05d7\u05e0" in text or "\u05e0\u05d7\u05dc" in text
    assert "…" in text
    assert NASTY["river"].strip() not in text


def test_each_sheet_says_its_number_and_the_caution(pages):
    own = chapter()
    assert len(pages) == own.n_sheets == 1 + len(own.windows) + 1 + 4
    for number, page in enumerate(pages, 1):
        text = page.extract_text()
        assert f"{number} of {len(pages)}" in text
        assert "Screening aid, not a design" in text
        assert CAUTION.split(".")[0] in text


def test_match_lines_name_the_sheet_that_takes_over(pages):
    own = chapter()
    for number, window in enumerate(own.windows):
        text = pages[1 + number].extract_text()
        at = f"{int(window.to_m // 1000)}+{window.to_m % 1000:06.2f}"
        if number + 1 < len(own.windows):
            assert f"Match line {at}, see sheet {number + 3}" in text
            assert "overlap by 18 m" in text
    assert "Start terminal 0+000.00" in pages[1].extract_text()


def test_fonts_are_embedded_and_the_file_says_what_it_is(data):
    reader = PdfReader(io.BytesIO(data))
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
    assert reader.metadata.title == "Plan and profile sheets: west"
    assert not reader.metadata.author
    assert reader.metadata.creation_date == example.STAMP
    width, height = (float(side) / MM for side in reader.pages[0].mediabox[2:])
    assert (width, height) == pytest.approx((420.0, 297.0), abs=0.01)


def test_same_plan_same_bytes(data):
    assert pdf_of(names=NASTY) == data


def test_german_sheets_have_german_words_and_numbers():
    pages = PdfReader(io.BytesIO(pdf_of("de"))).pages
    text = pages[1].extract_text()
    assert f"2 von {len(pages)}" in text
    assert "Längen 1 : 2000" in text
    assert "0+300,00" in text
    assert "01.03.2026" in text
    assert "Vorprüfung, kein Entwurf" in text


def test_languages_say_the_same_things():
    english, german = (words_of(name).texts for name in ("en", "de"))
    assert english.keys() == german.keys()
    for key, text in english.items():
        if isinstance(text, str):
            assert sorted(re.findall(r"\{\w+\}", text)) == sorted(re.findall(r"\{\w+\}", german[key])), key
        else:
            assert text.keys() == german[key].keys()


def test_every_kind_and_method_of_the_defaults_has_a_word_and_every_kind_a_look():
    defaults = load_assumptions()
    for language in languages():
        texts = words_of(language).texts
        assert set(defaults.treatments) <= texts["kinds"].keys()
        assert set(defaults.methods) <= texts["methods"].keys()
    assert set(defaults.treatments) <= LOOKS.keys()


def test_sheets_are_written_and_those_of_an_older_plan_go(tmp_path):
    def write(assumptions):
        return write_results(
            [example.corridor()],
            [],
            example.METRES,
            tmp_path,
            stamp_utc=example.STAMP,
            assumptions=assumptions,
        )

    assert tmp_path / "sheets.pdf" in write(assumptions_of())
    assert (tmp_path / "sheets.pdf").read_bytes().startswith(b"%PDF")
    assert tmp_path / "sheets.pdf" not in write(assumptions_of(is_enabled="false"))
    assert not (tmp_path / "sheets.pdf").exists()


def test_progress_is_told_sheet_by_sheet():
    from routescreen.sheets import write_sheets

    told: list[float] = []
    n_sheets = write_sheets(
        io.BytesIO(),
        tables_of(),
        {},
        assumptions_of(crossing_kinds="[]"),
        crs_name="metres",
        stamp_utc=example.STAMP,
        progress=lambda _what, done: told.append(done),
    )
    assert told == [number / n_sheets for number in range(n_sheets + 1)]
