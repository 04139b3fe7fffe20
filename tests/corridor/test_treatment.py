import numpy as np
import pytest
import shapely
from shapely import LineString, Point

from routescreen.corridor.treatment import outlines, resolve_crossings
from tests.corridor.cases import ASSUMPTIONS, burnt_case, corridor, crossing, strip, table

ACROSS = LineString([(50, -60), (50, 60)])


def resolve(*rows):
    return resolve_crossings(table("crossings", list(rows)), ASSUMPTIONS)


def test_a_kind_brings_its_defaults():
    crossings = resolve(crossing("river", ACROSS))
    kind = ASSUMPTIONS.treatments["river"]
    features = crossings.features
    assert (crossings.trench, crossings.drive_under) == ((kind.trench,), (kind.drive_under,))
    assert features.water_depth_m[0] == kind.water_depth_m
    assert features.required_cover_m[0] == kind.required_cover_m
    assert features.level_confidence[0] == "assumed"
    assert crossings.outline[0].area == pytest.approx(
        2 * kind.half_width_m * 120 + np.pi * kind.half_width_m**2, rel=0.01
    )


def test_own_values_win_over_the_kind():
    row = crossing(
        "river",
        ACROSS,
        min_cover_m=7.0,
        min_angle_deg=80.0,
        half_width_m=3.0,
        water_depth_m=9.0,
        name="Alder",
    )
    crossings = resolve(row)
    features = crossings.features
    own = features.required_cover_m[0], features.min_angle_deg[0], features.half_width_m[0]
    assert own == (7.0, 80.0, 3.0)
    assert features.water_depth_m[0] == 9.0
    assert features.level_confidence[0] == "record"
    assert crossings.name == ("Alder",)


@pytest.mark.parametrize(
    ("treatment", "trench", "drive"),
    [("open_cut", "yes", "yes"), ("trenchless", "no", "yes"), ("avoid", "no", "no"), (None, "no", "yes")],
)
def test_a_features_own_treatment_decides(treatment, trench, drive):
    crossings = resolve(crossing("river", ACROSS, treatment=treatment))
    assert (crossings.trench[0], crossings.drive_under[0]) == (trench, drive)


def test_split_ways_of_one_river_are_one_crossing():
    rows = [
        crossing("river", LineString([(50, -60), (50, 0)]), feature_id="way/1", name="Alder"),
        crossing("road", ACROSS, feature_id="way/9"),
        crossing("river", LineString([(50, 31), (50, 60)]), feature_id="way/2", name="Alder"),
    ]
    crossings = resolve(*rows)  # outlines: half-width 15 each, 31 m apart: a gap of 1 m
    assert crossings.kind == ("river", "road")
    assert crossings.feature_ids == ("way/1;way/2", "way/9")
    assert crossings.name == ("Alder", "")
    np.testing.assert_array_equal(crossings.features.crossing, [0, 1, 0])


def test_a_gap_wider_than_the_merge_gap_keeps_two():
    gap_m = 30.0 + ASSUMPTIONS.frame.merge_gap_m + 0.1
    rows = [
        crossing("river", LineString([(50, -60), (50, 0)])),
        crossing("river", LineString([(50, gap_m), (50, 90)])),
    ]
    assert len(resolve(*rows)) == 2


def test_parallel_services_stay_separate():
    rows = [crossing("telecom", ACROSS), crossing("telecom", LineString([(50.2, -60), (50.2, 60)]))]
    assert len(resolve(*rows)) == 2


def test_one_crossing_takes_the_strictest_of_its_features():
    rows = [
        crossing("track", ACROSS),
        crossing("track", LineString([(50, 0), (90, 0)]), treatment="trenchless", min_cover_m=9.0),
    ]
    crossings = resolve(*rows)
    assert (len(crossings), crossings.trench[0], crossings.required_cover_m[0]) == (1, "no", 9.0)
    np.testing.assert_array_equal(crossings.features.trench, ["yes", "no"])


@pytest.mark.parametrize(
    ("kind", "own", "expected"),
    [
        pytest.param("river", {}, "assumed", id="river-says-nothing"),
        pytest.param("river", {"water_depth_m": 2.0}, "record", id="depth-of-water"),
        pytest.param("river", {"base_level_m": 2.0}, "record", id="level-of-a-bed"),
        pytest.param("road", {"base_level_m": 2.0}, "record", id="level-of-a-road"),
        pytest.param("road", {"water_depth_m": 2.0}, "assumed", id="a-road-has-no-water"),
        pytest.param("gas_pipeline", {"base_level_m": 2.0}, "assumed", id="a-service-has-no-base"),
        pytest.param("gas_pipeline", {"depth_m": 2.0}, "record", id="depth-of-a-service"),
    ],
)
def test_a_level_is_of_record_only_where_the_feature_states_it(kind, own, expected):
    assert resolve(crossing(kind, ACROSS, **own)).features.level_confidence[0] == expected


def test_no_features_at_all():
    crossings = resolve()
    assert len(crossings) == len(crossings.features) == 0


def test_missing_and_empty_geometries_are_left_out():
    rows = [crossing("road", None), crossing("road", Point()), crossing("road", ACROSS)]
    assert len(resolve(*rows).features) == 1


GALLERY = [
    pytest.param(Point(50, 0), id="point"),
    pytest.param(ACROSS, id="line"),
    pytest.param(LineString([(50, 0), (50, 1e-6)]), id="line-of-a-micrometre"),
    pytest.param(LineString([(50, 0.5), (8.7e-235, 0), (50, 1)]), id="coordinates-whose-squares-vanish"),
    pytest.param(LineString([(50, 0), (50, 9), (50, 0)]), id="line-that-turns-back"),
    pytest.param(LineString([(45, 0), (55, 0), (50, 8), (45, 0)]), id="closed-line"),
    pytest.param(shapely.MultiPoint([(40, 0), (60, 0)]), id="two-points"),
    pytest.param(shapely.MultiLineString([ACROSS, [(80, -60), (80, 60)]]), id="two-lines"),
    pytest.param(shapely.box(40, -5, 60, 5), id="area"),
    pytest.param(shapely.box(40, -5, 60, 5).difference(shapely.box(45, -2, 55, 2)), id="area-with-hole"),
    pytest.param(shapely.box(40, -60, 40.001, 60), id="sliver-of-a-millimetre"),
    pytest.param(shapely.Polygon([(40, -5), (60, 5), (60, -5), (40, 5)]), id="bow-tie"),
    pytest.param(
        shapely.MultiPolygon([shapely.box(40, -5, 45, 5), shapely.box(55, -5, 60, 5)]), id="two-areas"
    ),
]


@pytest.mark.parametrize("geometry", GALLERY)
@pytest.mark.parametrize("half_width_m", [0.0, 3.0])
def test_every_shape_has_an_outline_that_holds_it(geometry, half_width_m):
    outline = outlines(np.array([geometry], dtype=object), np.array([half_width_m]))[0]
    assert outline.area > 0.0
    assert shapely.make_valid(outline).buffer(2e-6).covers(shapely.make_valid(geometry))


@pytest.mark.parametrize("geometry", GALLERY)
@pytest.mark.parametrize("kind", ["river", "building", "gas_pipeline"])
def test_every_shape_resolves(geometry, kind):
    crossings = resolve(crossing(kind, geometry))
    assert len(crossings) == 1
    assert shapely.is_valid(crossings.outline).all()


@pytest.mark.parametrize("geometry", GALLERY)
@pytest.mark.parametrize("kind", ["river", "building", "gas_pipeline"])
def test_every_shape_burns_and_is_met(geometry, kind):
    inp = corridor(
        strip(100.0, 60.0), axis=LineString([(0, 0), (100, 0)]), crossings=[crossing(kind, geometry)]
    )
    _, _, burnt = burnt_case(inp)
    assert len(burnt.pair_move) > 0
    assert burnt.segment_is_outline.any()
