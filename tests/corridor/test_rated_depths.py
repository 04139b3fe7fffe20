"""Depths that the search reads: borne in ground laid out exactly, with any height of moist ground."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.corridor.rated_depths import COLUMNS_M, DEEPEST_M, RatedDepths, rated_depths
from routescreen.drives.cable_make import cable_make, current_shares, surround, undisturbed_degC
from routescreen.drives.methods import method_geometry
from routescreen.engineering.rating import HeatPath, group_rating

DEFAULTS = load_assumptions()
SOILS = list(DEFAULTS.soil)
METHOD = method_geometry(DEFAULTS, "two_pass")
DEPTHS = RatedDepths(DEFAULTS, METHOD)


def rating_A(axis_m: float, soil: int, above: int, column_m: float) -> float:
    """Put the rating of four bores together from its parts, by the worse of both soils."""
    way, classes = DEFAULTS.methods["two_pass"], list(DEFAULTS.soil.values())
    around = surround(DEFAULTS, way.pipe_outer_diameter_m, way.bore_diameter_m)
    path = HeatPath(
        cable_make(DEFAULTS).ohm_per_m,
        around.inside_K_m_per_W,
        around.outer_diameter_m,
        DEFAULTS.cable.conductor_limit_degC,
        undisturbed_degC(DEFAULTS, np.array(axis_m)),
        max(classes[soil].resistivity_saturated_Km_per_W, classes[above].resistivity_saturated_Km_per_W),
        column_m=column_m,
        drying_rise_K=15.0,
        column_rho_K_m_per_W=max(
            classes[soil].resistivity_moist_Km_per_W, classes[above].resistivity_moist_Km_per_W
        ),
        column_dry_K_m_per_W=max(
            classes[soil].resistivity_dry_Km_per_W, classes[above].resistivity_dry_Km_per_W
        ),
    )
    offsets = METHOD.spacing_m * (np.arange(4) - 1.5)
    return float(group_rating(np.full(4, axis_m), offsets, path, share=current_shares(DEFAULTS)).rating_A)


@settings(max_examples=15)
@given(st.sampled_from(range(len(SOILS))), st.sampled_from(range(len(SOILS))), st.floats(-2.0, 15.0))
def test_what_the_search_allows_is_borne_in_the_ground_as_it_is(
    soil: int, above: int, lowest_m: float
) -> None:
    deepest = float(DEPTHS.saturated_m(np.array([soil]), np.array([above]), np.array([lowest_m]))[0])
    radius_m = METHOD.bore_diameter_m / 2.0
    axis_m = min(deepest, DEEPEST_M)
    if axis_m - radius_m < max(lowest_m, METHOD.cover_m):
        return  # none below the groundwater, or above the least cover
    assert rating_A(axis_m, soil, above, max(lowest_m, 0.0)) >= DEFAULTS.link.current_A


def test_more_moist_ground_never_lets_bores_lie_deeper() -> None:
    soil = np.full(len(COLUMNS_M), SOILS.index("sand_dense"))
    found = DEPTHS.saturated_m(soil, soil, COLUMNS_M)
    assert (np.diff(found) <= 1e-3).all()
    assert found[0] > found[-1]


def test_groundwater_of_unknown_depth_counts_as_far_below() -> None:
    soil = np.array([SOILS.index("clay_stiff")])
    assert DEPTHS.saturated_m(soil, soil, np.array([np.nan])) == DEPTHS.saturated_m(
        soil, soil, np.array([70.0])
    )


@pytest.mark.parametrize("text", ["[cable]\nrating_model = 'none'\n"])
def test_cables_without_a_rating_have_no_depths(text: str) -> None:
    a = load_assumptions(text)
    assert rated_depths(a, method_geometry(a, "two_pass")) is None
