"""Parts of the report that can be checked by hand: coded shapes, the answer, what is critical."""

from __future__ import annotations

import hashlib
import json
import re
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from routescreen.languages import languages, texts_of
from routescreen.report.answer import critical_checks
from routescreen.report.drawings import nice_step, profile_svg
from routescreen.report.outlines import PER_M, coded, parts, simple_shapes
from routescreen.report.page import script_json
from routescreen.report.payload import SHOWN
from routescreen.schema import LAYERS_BY_NAME
from routescreen.schema.words import CONFIDENCES, CONSTRUCTIONS, PARTS, STATUSES

ORIGIN = (400_000.0, 5_900_000.0)
REPORT = files("routescreen.report")


def _back(chain: list[int]) -> np.ndarray:
    return np.cumsum(np.array(chain).reshape(-1, 2), axis=0) / PER_M + np.array(ORIGIN)


@given(st.lists(st.tuples(st.floats(-9e5, 9e5), st.floats(-9e5, 9e5)), min_size=1, max_size=40))
def test_coded_points_come_back_within_half_a_decimetre(points):
    xy_m = np.array(points) + np.array(ORIGIN)
    # half a decimetre a point, whatever its place in the chain: roundings don't add up
    assert np.abs(_back(coded(xy_m, ORIGIN)) - xy_m).max() <= 0.05 + 1e-6


def test_an_area_keeps_its_hole_and_a_collection_comes_apart():
    hole = shapely.box(0, 0, 10, 10).difference(shapely.box(4, 4, 6, 6))
    form, chains = parts(shapely.transform(hole, lambda at: at + np.array(ORIGIN)), ORIGIN)
    assert (form, len(chains)) == ("area", 2)
    mixed = shapely.GeometryCollection([shapely.Point(1, 1), shapely.box(0, 0, 1, 1)])
    with pytest.raises(ValueError, match="must come apart"):
        parts(mixed, ORIGIN)
    assert [(n, parts(shape, (0, 0))[0]) for n, shape in simple_shapes([mixed])] == [
        (0, "point"),
        (0, "area"),
    ]


def _checks(*rows: tuple[str, str, str, str, float]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["check_id", "element_id", "check", "status", "utilisation"])


def test_what_fails_comes_first_then_the_most_used_one_an_element_and_check():
    checks = _checks(
        ("Q1", "D1", "thrust", "pass", 0.99),
        ("Q2", "D1", "cover", "fail", 1.2),
        ("Q3", "D2", "cover", "fail", float("nan")),  # fails without a figure: still the worst there is
        ("Q4", "D1", "pull", "amber", 0.95),
        ("Q5", "D1", "pull", "amber", 0.97),
        ("Q6", "D1", "head", "not_evaluated", float("nan")),
        ("Q7", "D1", "grade", "pass", float("nan")),
    )
    assert critical_checks(checks) == ("Q2", "Q3", "Q5", "Q1")
    assert critical_checks(checks, most=1) == ("Q2",)


def test_steps_are_one_two_or_five():
    assert [nice_step(span, 5) for span in (10.0, 26.0, 0.7, 4_800.0)] == [2.0, 5.0, 0.1, 1000.0]


@pytest.mark.parametrize("library", ["leaflet", "uplot"])
def test_libraries_are_the_published_files(library):
    told = json.loads((REPORT / "vendor" / "vendor.json").read_text(encoding="utf-8"))[library]
    folder = REPORT / "vendor" / library
    found = {f.name: hashlib.sha256(f.read_bytes()).hexdigest() for f in folder.iterdir()}
    assert found == told["files"]
    assert "LICENSE" in found


def _keys(node: object, at: str = "") -> set[str]:
    if not isinstance(node, dict):
        return {at}
    return {key for name, value in node.items() for key in _keys(value, f"{at}.{name}")}


def test_languages_say_the_same_things():
    texts = {name: texts_of(name)["report"] for name in languages()}
    assert {"en", "de"} <= set(texts)
    # English falls back on the schema's own words, and its caution is the schema's
    own = (".columns", ".values", ".caution", ".not_in_bill")
    keys = {name: {key for key in _keys(text) if not key.startswith(own)} for name, text in texts.items()}
    assert all(found == keys["en"] for found in keys.values())
    holes = {
        name: sorted(word for word in json.dumps(text["status"]).split() if "{" in word)
        for name, text in texts.items()
    }
    assert {len(found) for found in holes.values()} == {len(holes["en"])}


@pytest.mark.parametrize("language", [language for language in languages() if language != "en"])
def test_every_column_and_every_word_that_is_shown_has_one_in_each_language(language):
    texts = texts_of(language)["report"]
    shown = {c.name for name in SHOWN for c in LAYERS_BY_NAME[name].columns if c.name != "corridor_id"}
    assert shown - set(texts["columns"]) == set()
    words = {word for allowed in (STATUSES, CONFIDENCES, CONSTRUCTIONS, PARTS) for word in allowed}
    assert words - set(texts["values"]) == set()


def test_every_column_of_set_words_is_shown_in_the_pages_words():
    """Else German tables say ``dip`` and ``conducting``."""
    source = (REPORT / "assets" / "tables.js").read_text(encoding="utf-8")
    worded = set(re.findall(r'"(\w+)"', re.search(r"WORDED = new Set\((.*?)\)", source).group(1)))
    set_words = {c.name for name in SHOWN for c in LAYERS_BY_NAME[name].columns if c.allowed}
    assert {"passage", "fill"} <= set_words
    assert set_words - worded == set()


def test_data_cant_end_its_script():
    text = script_json({"name": "</script><script>alert(1)</script>\u2028", "n": 1.5})
    assert "</" not in text
    assert json.loads(text) == {"name": "</script><script>alert(1)</script>\u2028", "n": 1.5}


def test_profile_of_a_long_corridor_stays_small_and_keeps_its_peak():
    n = 70_000
    ground = np.full(n, 10.0)
    ground[43_210] = 35.0
    table = pd.DataFrame(
        {
            "chainage_m": np.arange(n) * 10.0,
            "ground_m": ground,
            "invert_m": ground - 2.0,
            "groundwater_m": np.nan,
            "construction": "open_cut",
        }
    )
    words = dict.fromkeys(("ground_m", "groundwater_m", "open_cut", "drive", "chainage"), "word")
    still = profile_svg(table, "title", words | {"exaggerated": "{n} times"})
    assert len(still) < 120_000
    # levels from 5 to 35: the peak touches the top of the drawing, 40 below its edge
    assert " 40.0" in still
