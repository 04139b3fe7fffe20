"""Tables that break the schema are refused with layer, column and row, all at once."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
from shapely import LineString, Point, Polygon, force_2d

from routescreen.results.check import ResultFaultError, conform
from tests.results import example


def _problems(tables):
    with pytest.raises(ResultFaultError) as caught:
        conform(tables, example.METRES)
    return caught.value.problems


def _set(layer, column, row, value):
    tables = example.tables()
    table = tables[layer].copy()
    table[column] = table[column].astype(object)
    table.loc[row, column] = value
    tables[layer] = table
    return tables


@pytest.mark.parametrize(
    ("layer", "column", "value", "text"),
    [
        pytest.param("sections", "reason", None, "A value is missing", id="text-missing"),
        pytest.param("drives", "grade_percent", np.nan, "A value is missing", id="number-missing"),
        pytest.param("drives", "length_m", "long", "not real", id="text-for-a-number"),
        pytest.param("drives", "bores", 2.5, "not integer", id="fraction-for-a-count"),
        pytest.param("drives", "bores", True, "not integer", id="truth-for-a-count"),
        pytest.param("shafts", "role", 3, "not text", id="number-for-a-text"),
        pytest.param("shafts", "role", "start", "none of launch", id="unknown-word"),
        pytest.param("crossing_schedule", "angle_deg", 91.0, "within 0 and 90", id="above-the-limit"),
        pytest.param("shafts", "depth_m", -0.25, "within 0 and inf", id="below-the-limit"),
        pytest.param("checks", "utilisation", np.inf, "infinite", id="infinite"),
        pytest.param("bill", "description", ["a", "list"], "not text", id="list-in-a-cell"),
        pytest.param("crossing_schedule", "name", "a\0b", "can't be stored", id="end-mark-in-a-text"),
        pytest.param("crossing_schedule", "name", "\ud800", "can't be stored", id="half-character"),
    ],
)
def test_bad_value(layer, column, value, text):
    tables = example.tables()
    table = tables[layer].copy()
    cells = table[column].astype(object).tolist()
    cells[1] = value
    tables[layer] = table.assign(**{column: np.array([*cells, None], dtype=object)[:-1]})
    (problem,) = _problems(tables)
    assert (problem.layer, problem.column, problem.feature) == (layer, column, "row 2")
    assert text in problem.problem


def test_what_rounding_brought_below_a_limit_is_the_limit():
    tables = _set("shafts", "depth_m", 1, -3.6e-15)
    done = conform(tables, example.METRES)
    assert done["shafts"]["depth_m"].tolist()[1] == 0.0
    (problem,) = _problems(_set("shafts", "depth_m", 1, -1e-9))
    assert "within 0 and inf" in problem.problem


def _with_geometry(layer, shape):
    tables = example.tables()
    table = tables[layer].copy()
    shapes = table.geometry.tolist()
    shapes[0] = shape
    tables[layer] = table.set_geometry(gpd.GeoSeries(shapes, crs=table.crs))
    return tables


BOW_TIE = Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])


@pytest.mark.parametrize(
    ("layer", "shape", "text"),
    [
        pytest.param("alignment", None, "missing or empty", id="missing"),
        pytest.param("alignment", LineString(), "missing or empty", id="empty"),
        pytest.param("alignment", Point(0, 0), "not a LineString", id="another-type"),
        pytest.param("compounds", BOW_TIE, "not valid", id="crosses-itself"),
        pytest.param("shafts", Point(0, 0), "not a Point Z", id="flat-in-a-layer-with-levels"),
        pytest.param(
            "alignment", LineString([(0, 0, 1), (1, 1, 1)]), "not a LineString", id="level-too-much"
        ),
        pytest.param(
            "alignment", LineString([(0, 0), (np.inf, 1)]), "not a finite", id="infinite-coordinate"
        ),
    ],
)
def test_bad_geometry(layer, shape, text):
    problems = _problems(_with_geometry(layer, shape))
    assert [problem.feature for problem in problems] == ["row 1"]
    assert text in problems[0].problem


def test_another_reference_system():
    tables = example.tables()
    tables["shafts"] = tables["shafts"].set_crs(25832, allow_override=True)
    (problem,) = _problems(tables)
    assert problem.layer == "shafts"
    assert "reference system" in problem.problem


def test_everything_wrong_is_listed_at_once():
    tables = example.tables()
    del tables["bill"]
    tables["notes"] = tables["checks"]
    tables["alignment"] = tables["alignment"].drop(columns="length_m").assign(width_m=1.0)
    tables["bores"] = tables["bores"].set_geometry(force_2d(tables["bores"].geometry.array))
    found = {(problem.layer, problem.column) for problem in _problems(tables)}
    assert found == {
        ("bill", None),
        ("notes", None),
        ("alignment", "width_m"),
        ("alignment", "length_m"),
        ("bores", "geometry"),
    }


def test_layer_without_geometry():
    tables = example.tables()
    tables["shafts"] = tables["shafts"].drop(columns="geometry")
    (problem,) = _problems(tables)
    assert problem.problem == "The layer has no geometry."


def test_columns_come_in_the_schemas_order_and_arguments_stay():
    tables = example.tables()
    turned = tables["bill"][tables["bill"].columns[::-1]]
    before = turned.copy(deep=True)
    done = conform(tables | {"bill": turned}, example.METRES)["bill"]
    assert done.columns.tolist()[:3] == ["corridor_id", "item", "description"]
    assert turned.equals(before)


def test_it_is_a_fault_of_ours():
    with pytest.raises(ResultFaultError, match="report it") as caught:
        conform({}, example.METRES)
    assert caught.value.exit_code == 1
