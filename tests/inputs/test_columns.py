"""Numbers, words and ids in the columns of the layers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from routescreen.inputs.columns import likely
from routescreen.schema import INPUTS_BY_NAME
from tests.inputs.site import area, line, point

if TYPE_CHECKING:
    from tests.inputs.site import Site

ROAD, RAIL = line((500, -50), (500, 250)), line((700, -50), (700, 250))


@pytest.mark.parametrize(
    ("column", "value", "shown"),
    [
        pytest.param("depth_m", -1.2, "-1.2", id="negative-depth"),
        pytest.param("half_width_m", 99_999.0, "99999.0", id="absurd-width"),
        pytest.param("min_angle_deg", 91.0, "91.0", id="angle-over-90"),
        pytest.param("base_level_m", -9_999.0, "-9999.0", id="a-value-for-missing-taken-as-level"),
        pytest.param("water_depth_m", float("inf"), "inf", id="infinite"),
        pytest.param("diameter_m", "half a metre", "half a metre", id="text-for-a-number"),
        pytest.param("treatment", "bore", "bore", id="unknown-treatment"),
        pytest.param("shaft_allowed", "maybe", "maybe", id="unknown-permission"),
        pytest.param("kind", "road ways", "road ways", id="unknown-kind"),
    ],
)
def test_bad_value_of_a_crossing(site: Site, column: str, value: object, shown: str) -> None:
    columns: dict[str, Any] = {"kind": ["railway", "road"], column: [None, value]}
    if column == "kind":
        columns["kind"] = ["railway", value]
    site.layer("crossings", [RAIL, ROAD], **columns)
    problem = site.problem()
    assert (problem.file, problem.layer) == (str(site.gpkg), "crossings")
    assert (problem.feature, problem.column, problem.value) == ("crossings/2", column, shown)


def test_nan_means_not_given(site: Site) -> None:
    site.layer("crossings", [ROAD], kind=["road"], depth_m=[float("nan")])
    assert np.isnan(site.read().crossings["depth_m"][0])


def test_numbers_stored_as_text_are_numbers(site: Site) -> None:
    site.layer("crossings", [ROAD], kind=["road"], depth_m=[" 1.5 "])
    assert site.read().crossings["depth_m"].tolist() == [1.5]


def test_all_unknown_kinds_are_listed_at_once_with_their_features(site: Site) -> None:
    shapes = [line((x, -50), (x, 250)) for x in (100, 200, 300, 400)]
    site.layer("crossings", shapes, kind=["moat", "railwy", "moat", "road"])
    moat, railwy = site.problems()
    assert (moat.value, moat.feature) == ("moat", "crossings/1, crossings/3")
    assert (railwy.value, railwy.feature) == ("railwy", "crossings/2")
    assert "Perhaps railway?" in railwy.remedy


def test_faults_of_several_layers_and_columns_come_in_one_error(site: Site) -> None:
    site.layer("crossings", [ROAD, RAIL], kind=["road", None], depth_m=[-1.0, 1.0], treatment=["x", None])
    site.layer("ground", [area(0, 0, 500, 200)], soil=["mud"], groundwater_depth_m=[-2.0], rock_soil=["ice"])
    site.layer("pins", [point(100, 100)], role=["wish"])
    found = {(problem.layer, problem.column) for problem in site.problems()}
    assert found == {
        ("crossings", "kind"),
        ("crossings", "depth_m"),
        ("crossings", "treatment"),
        ("ground", "soil"),
        ("ground", "groundwater_depth_m"),
        ("ground", "rock_soil"),
        ("pins", "role"),
    }


def test_missing_column_that_is_needed(site: Site) -> None:
    site.layer("crossings", [ROAD], owner=["parish"])
    problem = site.problem()
    assert (problem.layer, problem.column) == ("crossings", "kind")


def test_column_in_other_letters_is_no_column_left_out_in_silence(site: Site) -> None:
    site.layer("crossings", [ROAD], kind=["gas_pipeline"], Depth_m=[3.0])
    problem = site.problem()
    assert (problem.layer, problem.column) == ("crossings", "Depth_m")
    assert "'depth_m'" in problem.remedy


def test_unknown_columns_are_said_and_left_out(site: Site) -> None:
    site.layer("crossings", [ROAD], kind=["road"], colour=["red"])
    assert "colour" in site.warning("columns that are not used")
    assert tuple(site.read().crossings.columns) == (*INPUTS_BY_NAME["crossings"].column_names, "geometry")


def test_unknown_columns_are_said_with_what_may_be_meant(site: Site) -> None:
    site.layer("ground", [area(0, 0, 500, 200)], soil=["silt"], groundwater_m=[1.5], colour=["red"])
    told = site.warning("columns that are not used")
    assert "groundwater_m (perhaps groundwater_depth_m is meant), colour." in told


def test_no_column_is_suggested_that_is_there_already(site: Site) -> None:
    site.layer("ground", [area(0, 0, 500, 200)], groundwater_m=[1.5], groundwater_depth_m=[2.0])
    assert "perhaps" not in site.warning("columns that are not used")


def test_a_soil_said_too_roughly_is_answered_with_its_classes(site: Site) -> None:
    site.layer("ground", [area(0, 0, 500, 200)], soil=["Sand"])
    assert site.problem().remedy.startswith("Perhaps sand_loose or sand_dense? Use one of: gravel, ")


@pytest.mark.parametrize(
    ("word", "guesses"),
    [
        ("gas pipeline", ["gas_pipeline"]),
        ("Railway", ["railway"]),
        ("gas", ["gas_pipeline"]),
        ("zebra", []),
        ("", []),
    ],
)
def test_what_a_word_may_stand_for(word: str, guesses: list[str]) -> None:
    assert likely(word, ("railway", "gas_pipeline", "pipeline", "road")) == guesses


@pytest.mark.parametrize(
    ("layer", "column", "extra"),
    [("crossings", "feature_id", {"kind": ["road", "railway"]}), ("parcels", "parcel_id", {})],
)
def test_duplicate_ids(site: Site, layer: str, column: str, extra: dict[str, list[str]]) -> None:
    shapes = [ROAD, RAIL] if layer == "crossings" else [area(0, 0, 10, 10), area(20, 0, 30, 10)]
    site.layer(layer, shapes, **{column: ["F1", "F1"]}, **extra)
    problem = site.problem()
    assert (problem.layer, problem.column, problem.value) == (layer, column, "F1")
    assert "Several features" in problem.problem


def test_feature_ids_are_those_of_the_column_else_layer_and_number(site: Site) -> None:
    site.layer("crossings", [ROAD, RAIL], kind=["road", "railway"], feature_id=["R7", None])
    assert site.read().crossings["feature_id"].tolist() == ["R7", "crossings/2"]


def test_whole_numbers_as_ids_stay_whole(site: Site) -> None:
    site.layer("crossings", [ROAD, RAIL], kind=["road", "railway"], feature_id=[7.0, 8.0])
    assert site.read().crossings["feature_id"].tolist() == ["7", "8"]


def test_layer_upside_down(site: Site) -> None:
    site.layer(
        "investigations", [point(100, 100)], borehole_id=["B1"], soil=["silt"], top_m=[3.0], base_m=[1.0]
    )
    problem = site.problem()
    assert (problem.layer, problem.column) == ("investigations", "base_m")


def test_tables_that_do_not_exist_have_their_columns_all_the_same(site: Site) -> None:
    result = site.read()
    for name in ("ground", "parcels", "investigations", "pins"):
        table = getattr(result, name)
        assert len(table) == 0
        assert tuple(table.columns) == (*INPUTS_BY_NAME[name].column_names, "geometry")
        assert table.crs == result.crs


def test_types_of_the_columns(site: Site) -> None:
    table = site.read().crossings
    for column in INPUTS_BY_NAME["crossings"].columns:
        assert str(table[column.name].dtype) == ("object" if column.type == "text" else "float64")
    assert table["name"][0] is None


def test_faults_come_in_the_order_of_their_features(site: Site) -> None:
    shapes = [line((x, -50), (x, 250)) for x in (100, 200, 300)]
    site.layer("crossings", shapes, kind=["zebra", "moat", "aqueduct"], depth_m=[-3.0, -1.0, -2.0])
    features = [(p.column, p.feature) for p in site.problems()]
    assert [f for column, f in features if column == "kind"] == [f"crossings/{k}" for k in (1, 2, 3)]
    assert [f for column, f in features if column == "depth_m"] == [f"crossings/{k}" for k in (1, 2, 3)]


def test_the_suggestion_stands_before_the_list_of_words(site: Site) -> None:
    site.layer("crossings", [ROAD], kind=["railwy"])
    assert site.problem().remedy.startswith("Perhaps railway? Use one of: ")


def test_flood_zones_are_known_only_where_their_layer_is_given(site: Site) -> None:
    assert site.read().flood_zones is None
    site.layer("flood_zones", [area(0, -100, 400, 100)], level_m=[7.5])
    zones = site.read().flood_zones
    assert zones is not None
    assert zones["level_m"].tolist() == [7.5]


def test_flood_zones_far_away_leave_a_layer_without_any(site: Site) -> None:
    site.layer("flood_zones", [area(50_000, 0, 50_100, 100)], level_m=[7.5])
    zones = site.read().flood_zones
    assert zones is not None
    assert len(zones) == 0
