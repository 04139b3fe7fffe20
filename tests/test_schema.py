"""The schema is a contract: the names that other people's scripts read, written out once more by hand."""

from __future__ import annotations

import copy
import hashlib
import subprocess
import sys

import jsonschema
import pytest

from routescreen import schema

# layer: geometry, and the columns that must stand in this order (others may stand between them)
PROMISED = {
    "alignment": ("LineString", "length_m total_eur"),
    "sections": (
        "LineString",
        "section_id construction method from_chainage_m to_chainage_m length_m reason amount_eur",
    ),
    "drives": (
        "LineString Z",
        (
            "drive_id section_id method launch_shaft_id reception_shaft_id length_m grade_percent bores "
            "bore_diameter_m bore_spacing_m cover_min_m cover_min_chainage_m thrust_kN thrust_utilisation "
            "pull_in_kN pull_in_utilisation status amount_eur reason"
        ),
    ),
    "bores": ("LineString Z", "bore_id drive_id length_m"),
    "shafts": (
        "Point Z",
        (
            "shaft_id role chainage_m axis_chainage_m offset_m depth_m amount_eur move_along_back_m "
            "move_along_on_m move_left_m move_right_m reason"
        ),
    ),
    "shaft_tolerance": ("Polygon", "shaft_id extra_cost_percent extra_eur places area_m2"),
    "compounds": ("Polygon", "compound_id shaft_id area_m2 length_m"),
    "layout_strips": ("Polygon", "strip_id shaft_id drive_id area_m2 length_m"),
    "crossing_schedule": (
        "Point",
        (
            "crossing_id feature_id kind name chainage_m width_m angle_deg treatment section_id cover_m "
            "required_cover_m clearance_m passage extra_if_otherwise_eur"
        ),
    ),
    "joint_bays": (
        "Point Z",
        (
            "bay_id chainage_m level_m kind section_id shaft_id cable_length_m section_back_m section_on_m "
            "pull_from_lower_kN pull_from_higher_kN side_wall_kN_per_m cover"
        ),
    ),
    "crossing_ways": (None, "crossing_id way status extra_eur reason"),
    "alternatives": (
        "LineString",
        (
            "alternative_id rank about_id instead n_otherwise cost_eur extra_eur measured_eur "
            "measured_extra_eur breaches overlap_frac departure_overlap_frac length_m drives shafts"
        ),
    ),
    "binding_limits": (None, "limit binds saving_eur reason"),
    "checks": (
        None,
        (
            "check_id element_id check demand capacity unit utilisation status reason governing_chainage_m "
            "confidence source"
        ),
    ),
    "bill": (
        None,
        (
            "item description unit quantity rate_eur amount_eur section_id carried_by part amount_low_eur "
            "amount_high_eur"
        ),
    ),
    "costs_apart": (
        None,
        "item description unit quantity rate_eur amount_eur amount_low_eur amount_high_eur",
    ),
    "long_section": (
        None,
        "chainage_m ground_m invert_m cover_m required_cover_m groundwater_m construction",
    ),
    "drive_curves": (
        None,
        (
            "drive_id chainage_m from_launch_m ground_m bed_m crown_m cover_m water_kPa total_stress_kPa "
            "least_face_kPa face_kPa mud_kPa grout_kPa limit_kPa amber_kPa thrust_low_kN thrust_kN "
            "thrust_high_kN pull_pipe_kN pull_rig_kN settlement_mm"
        ),
    ),
    "cable_curve": (
        None,
        (
            "chainage_m section_id construction depth_m spacing_m ground_degC rating_A ruled_by "
            "conductor_degC field_uT field_both_poles_uT field_metallic_return_uT compass_error_deg "
            "soil_rise_first_K soil_rise_second_K"
        ),
    ),
    "cable_sections": (
        None,
        (
            "cable_section_id cable from_chainage_m to_chainage_m length_m drum_t drum_at pull_from_lower_kN "
            "pull_from_lower_high_kN pull_from_higher_kN pull_from_higher_high_kN "
            "side_wall_from_lower_kN_per_m side_wall_from_lower_high_kN_per_m side_wall_from_higher_kN_per_m "
            "side_wall_from_higher_high_kN_per_m governed_by governing_chainage_m status"
        ),
    ),
    "investigation_plan": ("Point", "borehole_id kind chainage_m offset_m depth_m reason tests"),
    "agreements": (
        None,
        (
            "crossing_id feature_id kind name owner treatment lead_low_months lead_expected_months "
            "lead_high_months monitoring to_agree"
        ),
    ),
    "hazards": (None, "section_id drive_id shaft_id hazard state cause guard who_signs"),
    "parcels_used": (
        None,
        ("parcel_id owner cover temporary_m2 working_strip_m2 compounds_m2 layout_strips_m2 permanent_m2"),
    ),
    "earthworks": (
        None,
        (
            "works section_id drive_id shaft_id length_m width_rule topsoil_m3 dug_m3 subsoil_m3 parent_m3 "
            "kept_m3 hauled_m3 hauled_loose_m3 lorry_loads strip_needed_m strip_m"
        ),
    ),
    "constraints": (
        None,
        (
            "section_id drive_id shaft_id constraint title from_month_day to_month_day from_h to_h "
            "from_chainage_m to_chainage_m length_m low_h expected_h high_h reason"
        ),
    ),
    "run_record": (None, "key value"),
}
NOT_YET = {
    "drives": "thrust_kN thrust_utilisation pull_in_kN pull_in_utilisation",
    "shafts": "move_along_back_m move_along_on_m move_left_m move_right_m reason",
}
INPUTS = {
    "corridor": "corridor_id",
    "axis": "corridor_id",
    "terminals": "role corridor_id",
    "crossings": "kind feature_id name owner treatment shaft_allowed min_cover_m min_angle_deg half_width_m "
    "depth_m diameter_m heat_W_per_m water_depth_m scour_m wet_all_year base_level_m",
    "ground": "soil groundwater_depth_m rock_depth_m rock_soil",
    "access": "",
    "parcels": "parcel_id owner",
    "investigations": "borehole_id soil top_m base_m",
    "flood_zones": "level_m",
    "pins": "role radius_m corridor_id",
}


def test_results_are_the_promised_layers():
    assert [layer.name for layer in schema.RESULT_LAYERS] == list(PROMISED)


@pytest.mark.parametrize("name", PROMISED)
def test_promised_columns_stand_in_order(name):
    layer = schema.LAYERS_BY_NAME[name]
    geometry, columns = PROMISED[name]
    wanted = ["corridor_id", *columns.split()]
    assert [column for column in layer.column_names if column in wanted] == wanted
    assert layer.geometry == ((geometry,) if geometry else ())


@pytest.mark.parametrize("name", NOT_YET)
def test_columns_that_nothing_fills_yet_may_be_null(name):
    layer = schema.LAYERS_BY_NAME[name]
    assert all(layer.column(column).is_nullable for column in NOT_YET[name].split())


@pytest.mark.parametrize("name", INPUTS)
def test_input_columns(name):
    assert set(schema.INPUTS_BY_NAME[name].column_names) == set(INPUTS[name].split())
    assert len(schema.INPUTS_BY_NAME) == len(INPUTS)


def test_only_corridor_and_crossings_are_needed():
    needed = [layer.name for layer in schema.INPUT_LAYERS if layer.is_required]
    assert needed == ["corridor", "crossings"]


@pytest.mark.parametrize("layer", [*schema.INPUT_LAYERS, *schema.RESULT_LAYERS], ids=lambda layer: layer.name)
def test_names_carry_their_units(layer):
    endings = {
        "m": "_m",
        "m2": "_m2",
        "m3": "_m3",
        "h": "_h",
        "months": "_months",
        "EUR": "_eur",
        "kN": "_kN",
        "kPa": "_kPa",
        "mm": "_mm",
        "deg": "_deg",
        "%": "_percent",
        "A": "_A",
        "K": "_K",
        "degC": "_degC",
        "uT": "_uT",
        "kN/m": "_kN_per_m",
        "t": "_t",
        "W/m": "_W_per_m",
    }
    for column in layer.columns:
        if column.unit in endings:
            assert column.name.endswith(endings[column.unit])
        else:
            assert column.unit in ("", "-")
            assert not column.name.endswith(tuple(endings.values()))


@pytest.mark.parametrize(
    ("name", "column", "label"),
    [
        pytest.param("shafts", "depth_m", "Depth (m)", id="unit-in-brackets"),
        pytest.param("bill", "amount_eur", "Amount (EUR)", id="currency"),
        pytest.param("checks", "utilisation", "Utilisation", id="plain-number"),
        pytest.param("sections", "section_id", "Section id", id="text"),
    ],
)
def test_label(name, column, label):
    assert schema.LAYERS_BY_NAME[name].column(column).label == label


def test_unknown_column_is_a_key_error():
    with pytest.raises(KeyError, match="width"):
        schema.LAYERS_BY_NAME["alignment"].column("width")


def test_docs_tables_name_every_column_and_limit():
    text = schema.markdown_tables()
    for key, layers in (("inputs", schema.INPUT_LAYERS), ("results", schema.RESULT_LAYERS)):
        for layer in layers:
            part = text[key].split(f"### `{layer.name}`\n")[1].split("\n### ")[0]
            assert all(f"| `{column}` |" in part for column in layer.column_names)
    assert "| `min_angle_deg` | real | deg | optional | 0 to 90 |" in text["inputs"]
    assert "| `status` | text |  | always | `pass`, `amber`, `fail`, `not_evaluated` |" in text["results"]
    assert "| `terrain` | m | yes | -500 to 9000 |" in text["inputs"]


def test_schema_is_light():
    heavy = ("numpy", "pandas", "shapely")
    code = f"import sys, routescreen.schema; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


SUMMARY = {
    "status": "done",
    "exit_code": 0,
    "corridors": [
        {
            "corridor_id": "west",
            "length_m": 2040.0,
            "open_cut_m": 890.0,
            "drive_m": 1150.0,
            "drives": 4,
            "shafts": 6,
            "crossings": 6,
            "total_eur": 2137201.8,
            "total_low_eur": 1500000.0,
            "total_high_eur": 3000000.0,
            "provisional_eur": 20000.0,
            "allowances_eur": 0.0,
            "overheads_apart_eur": 6600000.0,
            "owners_apart_eur": 400000.0,
            "objective_eur": 1000.0,
            "frame_error_percent": 0.2,
            "audit_breaches": 0,
        }
    ],
    "seconds": 1.5,
    "peak_memory_mb": 300.0,
    "stages": [
        {"corridor_id": None, "stage": "read input", "seconds": 0.5, "peak_memory_mb": 250.0},
        {"corridor_id": "west", "stage": "search", "seconds": 1.0, "peak_memory_mb": None},
    ],
    "files": ["screened.gpkg"],
    "warnings": [],
    "caution": schema.CAUTION,
}
PROBLEM = {
    "file": "corridor.gpkg",
    "layer": "crossings",
    "feature": "3",
    "column": "kind",
    "value": "rivr",
    "problem": "Unknown kind.",
    "remedy": "Use river.",
}


def _with(**changes):
    return copy.deepcopy(SUMMARY) | changes


@pytest.mark.parametrize(
    "summary",
    [
        pytest.param(SUMMARY, id="done"),
        pytest.param(
            _with(status="failed", exit_code=3, corridors=[], problems=[PROBLEM]), id="failed-with-problems"
        ),
        pytest.param(_with(problems=[PROBLEM | {"feature": None}]), id="problem-without-a-feature"),
    ],
)
def test_summary_is_accepted(summary):
    jsonschema.Draft202012Validator(schema.summary_json_schema()).validate(summary)


@pytest.mark.parametrize(
    "summary",
    [
        pytest.param(_with(exit_code=7), id="no-such-exit-code"),
        pytest.param(_with(caution=""), id="caution-left-out"),
        pytest.param({k: v for k, v in SUMMARY.items() if k != "seconds"}, id="missing-entry"),
        pytest.param(_with(extra=1), id="unknown-entry"),
        pytest.param(_with(problems=[{"problem": "x"}]), id="problem-without-remedy"),
    ],
)
def test_summary_is_refused(summary):
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema.summary_json_schema()).validate(summary)


@pytest.mark.parametrize("make", [schema.plan_json_schema, schema.summary_json_schema])
def test_json_schemas_are_schemas(make):
    jsonschema.Draft202012Validator.check_schema(make())


# One version, one schema: whoever changes a name, type, unit, bound or allowed value raises `SCHEMA_VERSION`
# by the rule that stands beside it, and enters the new fingerprint here.
FINGERPRINTS = {"2.0": "14eec3162d90", "2.1": "1d778c9c3f50", "2.2": "76dfefe0b2d0", "2.3": "7fc485d86dd4"}


def test_a_changed_schema_has_a_new_version() -> None:
    facts = [
        (
            layer.name,
            layer.geometry,
            layer.is_required,
            [(c.name, c.type, c.unit, c.is_nullable, c.minimum, c.maximum, c.allowed) for c in layer.columns],
        )
        for layer in schema.RESULT_LAYERS
    ]
    fingerprint = hashlib.sha256(repr(facts).encode()).hexdigest()[:12]
    assert FINGERPRINTS.get(schema.SCHEMA_VERSION) == fingerprint, (
        f"the schema has changed (fingerprint {fingerprint}): raise SCHEMA_VERSION"
    )
