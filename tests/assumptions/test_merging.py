"""Laying a project over the defaults."""

from __future__ import annotations

from copy import deepcopy

from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.assumptions.merging import merge

KEYS = st.sampled_from("abcd")
LEAVES = st.one_of(st.integers(-3, 3), st.lists(st.integers(0, 3), max_size=2))
TABLES = st.recursive(
    st.dictionaries(KEYS, LEAVES, max_size=3),
    lambda inner: st.dictionaries(KEYS, st.one_of(LEAVES, inner), max_size=3),
    max_leaves=8,
)


def leaves(table: dict, path: tuple[str, ...] = ()) -> dict[tuple[str, ...], object]:
    found: dict[tuple[str, ...], object] = {}
    for key, value in table.items():
        found |= leaves(value, (*path, key)) if isinstance(value, dict) else {(*path, key): value}
    return found


@given(TABLES)
def test_nothing_laid_over_changes_nothing(table: dict) -> None:
    assert merge(table, {}) == table
    assert merge({}, table) == table


@given(TABLES)
def test_laying_a_table_over_itself_changes_nothing(table: dict) -> None:
    assert merge(table, table) == table


@given(TABLES, TABLES)
def test_everything_the_project_says_stands(base: dict, over: dict) -> None:
    merged = leaves(merge(base, over))
    assert leaves(over).items() <= merged.items()


@given(TABLES, TABLES)
def test_what_it_does_not_touch_stays(base: dict, over: dict) -> None:
    merged = merge(base, over)
    for path, value in leaves(base).items():
        if not _touched(path, over):
            assert leaves(merged)[path] == value


def _touched(path: tuple[str, ...], over: object) -> bool:
    for key in path:
        if not isinstance(over, dict):
            return True
        if key not in over:
            return False
        over = over[key]
    return True


@given(TABLES, TABLES, TABLES)
def test_layers_may_be_joined_before(a: dict, b: dict, c: dict) -> None:
    if not _kinds_clash(b, c) and not _kinds_clash(a, b) and not _kinds_clash(a, c):
        assert merge(merge(a, b), c) == merge(a, merge(b, c))


def _kinds_clash(a: dict, b: dict) -> bool:
    return any(
        isinstance(a[key], dict) != isinstance(b[key], dict)
        or (isinstance(a[key], dict) and _kinds_clash(a[key], b[key]))
        for key in a.keys() & b.keys()
    )


@given(TABLES, TABLES)
def test_neither_table_is_changed(base: dict, over: dict) -> None:
    before = deepcopy((base, over))
    merged = merge(base, over)
    merged["new"] = 1
    for value in merged.values():
        if isinstance(value, dict):
            value.clear()
    assert (base, over) == before


@given(TABLES, TABLES)
def test_known_keys_keep_their_order_and_new_ones_follow(base: dict, over: dict) -> None:
    merged = list(merge(base, over))
    assert merged[: len(base)] == list(base)


@settings(max_examples=25)
@given(
    st.floats(0.1, 1000.0),
    st.integers(1, 2),
    st.sampled_from(["track", "road", "hedge"]),
    st.floats(0.0, 50.0),
)
def test_a_project_changes_exactly_what_it_says(
    current_A: float, n_systems: int, kind: str, half_width_m: float
) -> None:
    a = load_assumptions(
        f"[link]\ncurrent_A = {current_A!r}\nn_systems = {n_systems}\n"
        f"[treatments.{kind}]\nhalf_width_m = {half_width_m!r}"
    )
    expected = load_assumptions().model_dump()
    expected["link"] |= {"current_A": current_A, "n_systems": n_systems}
    expected["treatments"][kind]["half_width_m"] = half_width_m
    assert a.model_dump() == expected


def test_a_new_kind_like_a_known_one_states_only_the_difference() -> None:
    a = load_assumptions("[treatments.farm_track]\nlike = 'track'\nhalf_width_m = 1.5")
    known, new = a.treatments["track"], a.treatments["farm_track"]
    assert new == known.model_copy(update={"half_width_m": 1.5})
    assert a.kind_names[-1] == "farm_track"


def test_an_entry_may_be_like_one_further_up() -> None:
    a = load_assumptions(
        "[treatments.track]\nshaft_clearance_m = 9\n"
        "[treatments.lane]\nlike = 'track'\nhalf_width_m = 3\n"
        "[treatments.alley]\nlike = 'lane'\nmin_angle_deg = 80"
    )
    assert a.treatments["alley"].half_width_m == 3.0, "the project's lane, not only the track it is like"
    assert a.treatments["alley"].min_angle_deg == 80.0
    assert a.treatments["alley"].shaft_clearance_m == 9.0, "the project's track, not the default one"


def test_a_new_soil_like_a_known_one_can_be_driven_like_it() -> None:
    a = load_assumptions(
        "[soil.loess]\nlike = 'silt'\nphi_deg = 28\n[methods.two_pass.drivability.loess]\ncost_factor = 1.1"
    )
    two_pass, thrust = a.methods["two_pass"].drivability, a.methods["guided_thrust"].drivability
    assert a.soil_names[-1] == "loess"
    assert thrust["loess"] == thrust["silt"]
    assert two_pass["loess"] == two_pass["silt"].model_copy(update={"cost_factor": 1.1})


def test_a_new_method_like_a_known_one() -> None:
    a = load_assumptions("[methods.short_two_pass]\nlike = 'two_pass'\nlongest_m = 250")
    assert list(a.enabled_methods) == ["two_pass", "guided_thrust", "enterable", "short_two_pass"]
    assert a.methods["short_two_pass"].longest_m == 250.0
    assert a.methods["two_pass"].longest_m == 1200.0


def test_a_projects_own_bill_item_needs_a_rate_and_a_kind_that_names_it() -> None:
    a = load_assumptions("[rates]\nCR30 = [1, 2, 3]\n[treatments.tram]\ntrench_items = ['CR30']")
    assert a.rates["CR30"].expected == 2.0


def test_one_number_stands_for_a_range() -> None:
    rate = load_assumptions("[rates]\nTR20 = 14").rates["TR20"]
    assert (rate.low, rate.expected, rate.high) == (14.0, 14.0, 14.0)
