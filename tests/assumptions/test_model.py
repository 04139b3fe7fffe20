"""What follows from the assumptions: small sums that can be done by hand."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from routescreen.assumptions import load_assumptions


def test_assumptions_are_frozen() -> None:
    a = load_assumptions()
    with pytest.raises(ValidationError, match="frozen"):
        a.link.n_systems = 3  # type: ignore[misc]


def test_asking_for_names_leaves_equality_alone() -> None:
    asked, fresh = load_assumptions("[link]\nn_systems = 1"), load_assumptions("[link]\nn_systems = 1")
    assert asked.cover_names[0] == "cropland"
    assert asked == fresh


def test_two_systems_of_two_poles_are_four_cables_in_two_trenches() -> None:
    a = load_assumptions()
    assert (a.link.n_cables, a.link.n_trenches, a.n_pipes_per_trench) == (4, 2, 2)
    assert (a.n_bores("two_pass"), a.n_bores("enterable")) == (4, 1)


@pytest.mark.parametrize(("n_systems", "strips"), [(1, (35.0, 15.0, 22.0)), (2, (55.0, 34.0, 30.0))])
def test_strips_follow_the_number_of_systems(n_systems: int, strips: tuple[float, ...]) -> None:
    a = load_assumptions(f"[link]\nn_systems = {n_systems}")
    assert (a.working_strip_m, a.protective_strip_m, a.narrow_strip_m) == strips


def test_trench_depth_is_cover_pipe_and_bedding() -> None:
    assert load_assumptions().trench_depth_m == pytest.approx(1.40 + 0.28 + 0.20)


def test_section_length_by_the_drum() -> None:
    assert load_assumptions().cable.section_length_m == pytest.approx((60.0 - 7.5) * 1000.0 / 42.0)


def test_section_length_is_held_by_its_limit() -> None:
    returned = load_assumptions().cable.metallic_return
    assert (60.0 - 7.5) * 1000.0 / 30.0 > 1250.0
    assert returned.section_length_m == 1250.0


@pytest.mark.parametrize(
    ("method", "bore_m", "cover_m"),
    [
        pytest.param("two_pass", 0.56, 2.0, id="the fixed cover is more than 3 x 0.56"),
        pytest.param("guided_thrust", 0.34, 1.5, id="casing, not pipe, makes the bore"),
        pytest.param("enterable", 2.06, 1.5 * 2.06, id="diameters rule a large bore"),
        pytest.param("hdd", 0.70, 6.0, id="12 pipe diameters"),
    ],
)
def test_bore_and_cover_of_a_method(method: str, bore_m: float, cover_m: float) -> None:
    way = load_assumptions().methods[method]
    assert way.bore_diameter_m == pytest.approx(bore_m)
    assert way.cover_m == pytest.approx(cover_m)


def test_a_large_two_pass_bore_needs_three_diameters() -> None:
    text = (
        "[methods.two_pass]\npipe_outer_diameter_m = 0.63\ndriven_outer_diameter_m = 0.71\n"
        "[pipe.jacking_string]\nouter_diameter_m = 0.71\n"
    )
    assert load_assumptions(text).methods["two_pass"].cover_m == pytest.approx(3.0 * 0.77)


def test_every_listed_pipe_is_found_and_others_are_not() -> None:
    pipe = load_assumptions().pipe
    assert pipe.size(0.5).inside_diameter_m == pytest.approx(0.409)
    with pytest.raises(KeyError):
        pipe.size(0.45)
