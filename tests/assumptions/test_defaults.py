"""Laws of the default file: each value says where it comes from, each name its unit, nothing is missing."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from routescreen.assumptions import Range, assumptions_text, flat_items, load_assumptions

KINDS = [
    "motorway",
    "main_road",
    "road",
    "track",
    "path",
    "railway",
    "tram",
    "river",
    "stream",
    "ditch",
    "canal",
    "lake",
    "sea_dyke",
    "gas_pipeline",
    "pipeline",
    "water_main",
    "sewer",
    "power_cable",
    "power_line",
    "telecom",
    "building",
    "protected_area",
    "water_protection_area",
    "forest",
    "wetland",
    "archaeological_site",
    "graveyard",
    "landfill",
    "contaminated_ground",
    "wind_turbine",
    "dyke",
    "hedge",
]
COVER = [
    "cropland",
    "grassland",
    "shrubland",
    "forest",
    "wetland",
    "peat",
    "built_up",
    "paved",
    "bare",
    "water",
    "unknown",
]
SOILS = [
    "gravel",
    "sand_loose",
    "sand_dense",
    "silt",
    "clay_soft",
    "clay_stiff",
    "till_boulders",
    "peat",
    "rock_weak",
    "rock_hard",
    "made_ground",
]
GROUPS = [
    "link",
    "cable",
    "pipe",
    "grout",
    "methods",
    "treatments",
    "cover",
    "soil",
    "groundwater",
    "shaft",
    "trench",
    "land",
    "rates",
    "frame",
    "search",
    "polish",
    "refine",
    "explain",
    "audit",
    "checks",
    "osm",
    "ranges",
    "programme",
    "report",
    "sheets",
]

SOURCES = (
    "placeholder",
    "common practice, no source",
    "from memory",
    "own arithmetic",
    "seen in",
    "open standard",
    "project setting",
)
UNITS = (
    *(
        "_eur",
        "_eur_per_m2",
        "_eur_per_kg",
        "_kN",
        "_kN_per_m",
        "_kN_per_m3",
        "_kg_per_m",
        "_kg_per_m3",
        "_t",
    ),
    *("_mm", "_mm2", "_m", "_m2", "_m3", "_km", "_deg", "_percent", "_kPa", "_MPa", "_kPa_per_m", "_per_km"),
    *("_degC", "_K", "_Km_per_W", "_per_K", "_ohm_per_m", "_A", "_uT", "_m_per_s", "_m2_per_s"),
    *("_h", "_days", "_months", "_year", "_h_per_drive", "_days_per_bore", "_days_per_bay", "_days_per_year"),
    *("days_per_week", "_per_day", "_per_shift", "_m_per_day", "_m3_per_day", "_m_per_min", "_m3_per_h"),
)
RATIOS = ["_frac", "_factor", "_factors", "_diameters", "_exponent", "_friction"]
PURE_NUMBERS = {
    "scale_denominator",
    "standard_dimension_ratio",
    "poisson",
    "bulking",
    "settlement_k",
    "silo_k",
    "grain_specific_gravity",
    "seed",
    "max_rounds",
    "most_layout_pieces",
    "launch_serves_drives",
    "poles_per_system",
    "returns_per_system",
}


def _keys_with_comments() -> list[tuple[str, str, str]]:
    """Return (table, key, all comments that speak of the key): behind it, above it, above its table."""
    found, table, table_note, above = [], "", "", ""
    for line in assumptions_text().splitlines():
        stripped = line.strip()
        if stripped.startswith("#"):
            above += " " + stripped.lstrip("# ")
            continue
        if match := re.match(r"\[([\w.]+)\]", stripped):
            table, table_note = match[1], above
        elif match := re.match(r"(\w+) = (.*)", line):
            behind = match[2].partition("  # ")[2]
            found.append((table, match[1], f"{behind} {above} {table_note}"))
        above = ""
    return found


def test_every_default_says_where_it_comes_from() -> None:
    keys = _keys_with_comments()
    silent = [f"{table}.{key}" for table, key, note in keys if not any(s in note.lower() for s in SOURCES)]
    assert len(keys) > 1500
    assert silent == []


def test_the_reader_of_comments_sees_every_table_of_the_file() -> None:
    tables = {table.split(".")[0] for table, _, _ in _keys_with_comments()}
    assert tables == {*GROUPS, "cover_codes"}


def test_every_number_has_its_unit_in_its_name() -> None:
    nameless = []
    for path, value in flat_items(load_assumptions()).items():
        if path.startswith(("rates.", "cover_codes.", "osm.")) or isinstance(value, bool | str):
            continue
        if isinstance(value, tuple) and not any(isinstance(part, int | float) for part in value):
            continue
        key = re.sub(r"\[\d+\]", "", path.rsplit(".", 1)[-1])
        plain = key.startswith("n_") or key in PURE_NUMBERS
        if not plain and not key.endswith((*UNITS, *RATIOS)):
            nameless.append(path)
    assert nameless == []


def test_every_rate_states_the_unit_of_its_item() -> None:
    notes = {key: note for table, key, note in _keys_with_comments() if table == "rates"}
    assert [code for code, note in notes.items() if not re.match(r"(EUR|percent)( |/)", note)] == []
    assert list(notes) == list(load_assumptions().rates)


def test_the_text_speaks_of_the_trade_alone() -> None:
    text = assumptions_text().lower()
    assert not re.search(r"\bpage \d|\bp\.\d|section \d|brief|prototype|\[plc\]|\bs[1-9]\b", text)


def test_every_known_kind_class_and_soil_is_there() -> None:
    a = load_assumptions()
    assert len(KINDS) == 32
    assert set(a.treatments) == set(KINDS)
    assert list(a.cover) == COVER, "the order is the index of the class"
    assert list(a.soil) == SOILS, "the order is the index of the class"
    assert set(type(a).model_fields) == {*GROUPS, "cover_codes"}


def test_code_lists_hold_every_code_of_their_standard() -> None:
    codes = load_assumptions().cover_codes
    assert set(codes["esa"]) == {10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100}
    three_digits = sorted(code for code in codes["clc"] if code > 100)
    assert len(three_digits) == 44
    for number, code in enumerate(three_digits, start=1):
        assert codes["clc"][number] == codes["clc"][code]


def test_avoided_kinds_allow_nothing() -> None:
    a = load_assumptions()
    avoided = {
        k for k, t in a.treatments.items() if (t.trench, t.drive_under, t.shaft_allowed) == ("no",) * 3
    }
    assert avoided == {"building", "graveyard", "landfill", "wind_turbine"}


def test_only_services_stay_apart_when_they_run_side_by_side() -> None:
    apart = {kind for kind, t in load_assumptions().treatments.items() if not t.merges}
    assert apart == {
        "gas_pipeline",
        "pipeline",
        "water_main",
        "sewer",
        "power_cable",
        "telecom",
        "power_line",
    }


def test_layout_strips_cross_only_what_can_be_driven_over() -> None:
    closed = {kind for kind, t in load_assumptions().treatments.items() if not t.layout_allowed}
    assert closed == {
        *("motorway", "main_road", "railway", "tram", "dyke", "sea_dyke", "building", "wind_turbine"),
        *("river", "stream", "canal", "lake", "wetland", "forest", "protected_area"),
        *("graveyard", "landfill", "contaminated_ground"),
    }


@pytest.mark.parametrize(
    ("kind", "below_surface_m"),
    [
        pytest.param("river", 2.5 + 1.0 + 2.5, id="water, scour, cover"),
        pytest.param("canal", 3.0 + 0.0 + 2.5, id="a canal's bed does not scour"),
        pytest.param("stream", 0.5 + 0.3 + 2.0, id="small water, small scour"),
        pytest.param("ditch", 0.3 + 0.0 + 1.5, id="from the ditch's bed"),
        pytest.param("railway", 0.8 + 3.0, id="from the formation"),
        pytest.param("road", 2.5, id="from the road's surface"),
    ],
)
def test_depth_of_the_crown_below_the_terrain(kind: str, below_surface_m: float) -> None:
    t = load_assumptions().treatments[kind]
    depth_m = t.reference_depth_m + t.water_depth_m + t.scour_m + t.required_cover_m
    assert depth_m == pytest.approx(below_surface_m)


def test_listed_pipes_obey_their_ratio_density_and_stress() -> None:
    pipe = load_assumptions().pipe
    ratio = pipe.standard_dimension_ratio
    for size in pipe.sizes:
        diameter_m = size.outer_diameter_m
        wall_m = diameter_m / ratio
        mass_kg_per_m = 3.14159265 * (diameter_m - wall_m) * wall_m * pipe.density_kg_per_m3
        steel_m2 = 3.14159265 * diameter_m**2 * (1.0 / ratio - 1.0 / ratio**2)
        assert size.wall_mm == pytest.approx(wall_m * 1000.0, rel=0.005)
        assert size.mass_kg_per_m == pytest.approx(mass_kg_per_m, rel=0.005)
        assert size.safe_pull_kN == pytest.approx(pipe.safe_pull_stress_MPa * 1000.0 * steel_m2, rel=0.005)


def test_ranges_are_in_order() -> None:
    a = load_assumptions()
    ranges = [rate for rate in a.rates.values() if isinstance(rate, Range)]
    assert len(ranges) == len(a.rates) > 100
    assert all(0.0 <= r.low <= r.expected <= r.high for r in ranges)


def test_no_heavy_package_is_imported() -> None:
    code = (
        "import sys; from routescreen.assumptions import load_assumptions; load_assumptions();"
        "print(sorted({'numpy', 'pandas', 'shapely', 'numba', 'rasterio', 'click'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
