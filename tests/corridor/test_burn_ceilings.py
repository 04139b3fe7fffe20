"""How high a drive may pass, in cases that can be checked by hand."""

import numpy as np
import pytest
import shapely

from routescreen.assumptions import load_assumptions
from routescreen.drives.methods import method_geometry
from tests.corridor.cases import ASSUMPTIONS, AXIS, across, burnt_case, corridor, crossing, flat, straight


@pytest.mark.parametrize(
    ("row", "level_m"),
    [
        pytest.param(crossing("motorway", across(200)), 50.0, id="surface-is-the-terrain"),
        pytest.param(crossing("railway", across(200)), 49.2, id="formation-0.8-below-the-terrain"),
        pytest.param(crossing("railway", across(200), base_level_m=47.0), 47.0, id="formation-as-stated"),
        pytest.param(crossing("river", across(200)), 46.5, id="bed-2.5-below-water-and-1.0-scour"),
        pytest.param(
            crossing("river", across(200), water_depth_m=5.0, scour_m=0.0), 45.0, id="bed-as-stated"
        ),
        pytest.param(crossing("dyke", across(200), base_level_m=44.0), 44.0, id="base-as-stated"),
        pytest.param(crossing("dyke", across(200), base_level_m=58.0), 50.0, id="never-above-the-terrain"),
        pytest.param(crossing("dyke", across(200)), 50.0, id="base-on-level-ground"),
        pytest.param(crossing("motorway", across(200), base_level_m=46.0), 46.0, id="road-in-a-cutting"),
        pytest.param(crossing("river", across(200), base_level_m=43.0), 43.0, id="bed-level-as-stated"),
        pytest.param(
            crossing("graveyard", across(200), treatment="trenchless", half_width_m=5.0),
            50.0,
            id="no-level-of-its-own-by-override",
        ),
    ],
)
@pytest.mark.parametrize("own_cover_m", [None, 6.0])
def test_ceiling_by_reference_level(row, level_m, own_cover_m):
    row = {**row, "min_cover_m": own_cover_m}
    loose = load_assumptions("[checks.settlement]\nrail_stop_mm = 1e3\nroad_limit_mm = 1e3\n")  # asks nothing
    _, _, burnt = burnt_case(straight(row, terrain=flat(50.0)), assumptions=loose)
    kind_m = own_cover_m or ASSUMPTIONS.treatments[row["kind"]].required_cover_m
    for k, name in enumerate(burnt.method_names):
        cover_m = method_geometry(ASSUMPTIONS, name).cover_m
        expected = min(50.0 - cover_m, level_m - max(kind_m, cover_m))
        assert burnt.ceiling_m[k, 20, 10] == pytest.approx(expected)
        assert burnt.ceiling_m[k, 5, 10] == pytest.approx(50.0 - cover_m)
    assert (burnt.service_ceiling_m == 1e9).all()


def test_terrain_that_is_the_bed_already():
    inp = straight(crossing("river", across(200)), terrain=flat(50.0), terrain_is_bed=True)
    _, _, burnt = burnt_case(inp)
    cover_m = method_geometry(ASSUMPTIONS, burnt.method_names[0]).cover_m
    assert burnt.ceiling_m[0, 20, 10] == pytest.approx(50.0 - 1.0 - max(2.5, cover_m))


def test_base_of_a_dyke_is_the_lowest_ground_beside_it():
    terrain = flat(50.0)
    terrain.values[:, 43] = 41.0  # a strip with its middle at x = 235, 23 m from the dyke's foot at 212
    _, _, burnt = burnt_case(straight(crossing("dyke", across(200)), terrain=terrain))
    cover_m = method_geometry(ASSUMPTIONS, burnt.method_names[0]).cover_m
    assert burnt.ceiling_m[0, 20, 10] == pytest.approx(41.0 - max(4.0, cover_m))


def test_service_ceiling_is_its_underside_less_clearance_and_record():
    pipe = crossing("gas_pipeline", across(200), depth_m=1.5, diameter_m=0.9)
    _, _, burnt = burnt_case(straight(pipe, terrain=flat(50.0)))
    kind = ASSUMPTIONS.treatments["gas_pipeline"]
    expected = 50.0 - 1.5 - 0.9 - kind.service_clearance_m - kind.record_uncertainty_m
    np.testing.assert_allclose(burnt.service_ceiling_m[:, 20, 10], expected)
    cover_m = method_geometry(ASSUMPTIONS, burnt.method_names[0]).cover_m
    assert burnt.ceiling_m[0, 20, 10] == pytest.approx(50.0 - cover_m)


@pytest.mark.parametrize("own_m", [0.5, 6.0])
def test_cover_stated_by_a_service_counts_from_its_underside(own_m):
    pipe = crossing(
        "gas_pipeline", across(200), depth_m=1.5, diameter_m=0.9, min_cover_m=own_m, base_level_m=9.0
    )
    _, _, burnt = burnt_case(straight(pipe, terrain=flat(50.0)))
    kind = ASSUMPTIONS.treatments["gas_pipeline"]
    np.testing.assert_allclose(
        burnt.service_ceiling_m[:, 20, 10], 47.6 - kind.service_clearance_m - kind.record_uncertainty_m
    )
    for k, name in enumerate(burnt.method_names):
        cover_m = method_geometry(ASSUMPTIONS, name).cover_m
        assert burnt.ceiling_m[k, 20, 10] == pytest.approx(min(50.0 - cover_m, 47.6 - own_m))


def test_what_knows_no_level_asks_for_the_largest_cover():
    more = load_assumptions("[treatments.building]\nrequired_cover_m = 7.0\n")
    for own_m, expected_m in ((None, 7.0), (5.0, 7.0), (9.0, 9.0)):
        house = crossing("building", shapely.box(195, -5, 205, 5), treatment="trenchless", min_cover_m=own_m)
        _, _, burnt = burnt_case(straight(house), assumptions=more)
        np.testing.assert_allclose(burnt.ceiling_m[:, 20, 10], -expected_m)


def test_overlapping_features_the_strictest_wins():
    rows = [crossing("river", across(200)), crossing("motorway", across(200), min_cover_m=20.0)]
    _, _, burnt = burnt_case(straight(*rows, terrain=flat(50.0)))
    np.testing.assert_allclose(burnt.ceiling_m[:, 20, 10], 30.0)


def test_no_drive_beside_what_bars_it():
    _, _, burnt = burnt_case(straight(crossing("building", shapely.box(195, -5, 205, 5))))
    for k, name in enumerate(burnt.method_names):
        reach_m = method_geometry(ASSUMPTIONS, name).half_width_m
        reach_m += ASSUMPTIONS.treatments["building"].drive_clearance_m
        rows = np.flatnonzero(burnt.ceiling_m[k, 20] == -1e9)
        # row 10 + n: the cell's near edge lies 10 n - 5 m from the middle, the wall at 5 m
        widest = max(n for n in range(11) if max(10 * n - 5 - 5, 0) <= reach_m)
        assert (rows.min(), rows.max()) == (10 - widest, 10 + widest)


def test_outside_the_corridor_no_drive_no_move_no_shaft():
    outline = shapely.Polygon([(0, -100), (400, -100), (400, 40), (0, 100)])
    inp = corridor(outline, axis=AXIS, start=(0, 0), end=(400, 0))
    frame, _, burnt = burnt_case(inp)
    assert not frame.is_valid.all()
    assert (burnt.ceiling_m[:, ~frame.is_valid] == -1e9).all()
    assert (burnt.ceiling_m[:, frame.is_valid] > -1e8).all()
    assert not burnt.move_ok[~frame.is_valid].any()
    assert not burnt.shaft_ok[..., ~frame.is_valid].any()


def test_outer_bores_count_their_own_ground():
    # a bank falls away to the right from y = -5: a drive centred on y = 0 has bores 9 m to the side
    terrain = flat(50.0, pixel_m=1.0, shape=(600, 800))
    terrain.values[306:, :] = 40.0  # pixels whose middle lies below y = -6
    _, _, burnt = burnt_case(straight(terrain=terrain))
    for k, name in enumerate(burnt.method_names):
        size = method_geometry(ASSUMPTIONS, name)
        low_m = 40.0 if size.half_width_m >= 1.0 else 50.0  # the cell ends at y = -5
        assert burnt.ceiling_m[k, 20, 10] == pytest.approx(low_m - size.cover_m)
        assert burnt.ceiling_m[k, 20, 7] == pytest.approx(50.0 - size.cover_m)
