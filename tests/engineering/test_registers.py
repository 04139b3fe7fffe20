"""Registers of agreements and of hazards: by hand, limits, laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.agreements import KindTerms, agreements_register, latest_application
from routescreen.engineering.hazard_rules import HAZARD_RULES
from routescreen.engineering.hazards import (
    Condition,
    HazardRule,
    condition_holds,
    hazard_register,
    quantities_needed,
    rule_applies,
)

TERMS = {
    "railway": KindTerms(6.0, 18.0, "track levels"),  # common practice, no source
    "river": KindTerms(6.0, 12.0, "bed survey"),
    "track": KindTerms(1.0, 3.0),
}
YES, NO, UNKNOWN = 1.0, 0.0, np.nan
truth = st.sampled_from([YES, NO, UNKNOWN])


def test_agreements_by_hand():
    found = agreements_register(
        ["line", "brook", "farm lane", "mast"],
        ["rail owner", "", "parish", "network"],
        ["railway", "river", "track", "radio mast"],
        TERMS,
    )
    assert found.owner.tolist() == ["rail owner", "not known", "parish", "network"]
    assert found.lead_low_months[:3].tolist() == [6.0, 6.0, 1.0]
    assert found.lead_high_months[:3].tolist() == [18.0, 12.0, 3.0]
    assert found.monitoring.tolist() == ["track levels", "bed survey", "", "not known"]
    assert np.isnan(found.lead_low_months[3])
    assert found.slowest.tolist() == [3, 0, 1, 2]


def test_empty_and_uneven_registers():
    assert agreements_register([], [], [], TERMS).lead_high_months.size == 0
    with pytest.raises(ValueError, match="one entry a row"):
        agreements_register(["line"], [], ["railway"], TERMS)
    for leads in ((-1.0, 2.0), (3.0, 2.0), (np.nan, 2.0)):
        with pytest.raises(ValueError, match="leads"):
            KindTerms(*leads)


def test_applications_by_hand():
    # 12 months are 365.2425 days, rounded up 366; none for 0
    found = latest_application(np.datetime64("2027-05-01"), [12.0, 0.0, np.nan])
    assert found[:2].tolist() == np.array(["2026-04-30", "2027-05-01"], dtype="datetime64[D]").tolist()
    assert np.isnat(found[2])


@given(st.floats(0.0, 36.0), st.floats(0.0, 12.0))
def test_longer_leads_need_earlier_applications(lead, more):
    start = np.datetime64("2027-05-01")
    assert latest_application(start, lead + more) <= latest_application(start, lead) <= start


@pytest.mark.parametrize(
    ("relation", "below", "same", "beyond"),
    [
        ("above", NO, NO, YES),
        ("at least", NO, YES, YES),
        ("below", YES, NO, NO),
        ("at most", YES, YES, NO),
    ],
)
def test_conditions(relation, below, same, beyond):
    found = condition_holds(Condition("head_m", relation, 2.0), {"head_m": [1.9, 2.0, 2.1, np.nan]})
    assert found[:3].tolist() == [below, same, beyond]
    assert np.isnan(found[3])


def test_yes_or_no_and_missing_quantities():
    wet = Condition("is_wet", "holds")
    assert condition_holds(wet, {"is_wet": [True, False]}).tolist() == [1.0, 0.0]
    assert np.isnan(condition_holds(wet, {}))


def rule(all_of=(), any_of=()):
    return HazardRule(
        "test",
        "both",
        "designer",
        "look",
        all_of=tuple(Condition(name, "holds") for name in all_of),
        any_of=tuple(Condition(name, "holds") for name in any_of),
    )


@pytest.mark.parametrize(
    ("a", "b", "both", "either"),
    [
        (YES, YES, YES, YES),
        (YES, NO, NO, YES),
        (NO, NO, NO, NO),
        (YES, UNKNOWN, UNKNOWN, YES),
        (NO, UNKNOWN, NO, UNKNOWN),
        (UNKNOWN, UNKNOWN, UNKNOWN, UNKNOWN),
    ],
)
def test_three_values(a, b, both, either):
    known = {"a": a, "b": b}
    assert np.array_equal(rule_applies(rule(all_of="ab"), known), both, equal_nan=True)
    assert np.array_equal(rule_applies(rule(any_of="ab"), known), either, equal_nan=True)


@given(a=truth, b=truth, c=truth)
def test_all_and_any_together_and_in_arrays(a, b, c):
    known = {"a": a, "b": b, "c": c}
    found = rule_applies(rule(all_of="a", any_of="bc"), known)
    # by enumeration: every way to settle what isn't known
    ways = [
        x and (y or z)
        for x in ([a] if a == a else [0.0, 1.0])
        for y in ([b] if b == b else [0.0, 1.0])
        for z in ([c] if c == c else [0.0, 1.0])
    ]
    expected = ways[0] if len(set(ways)) == 1 else np.nan
    assert np.array_equal(found, expected, equal_nan=True)
    many = rule_applies(rule(all_of="a", any_of="bc"), {key: [value, YES] for key, value in known.items()})
    assert np.array_equal(many, [expected, YES], equal_nan=True)


def test_register_of_two_shafts():
    shafts = {
        "depth_m": [1.0, 11.25],
        "head_above_base_m": [-1.0, 9.0],
        "uplift_utilisation": [np.nan, 1.2],
        "heave_utilisation": [np.nan, np.nan],
    }
    found = hazard_register(HAZARD_RULES, "shaft", shafts)
    rows = {rule.hazard: list(values) for rule, values in zip(found.rules, found.applies, strict=True)}
    assert rows["uplift"] == [0.0, 1.0]
    assert rows["confined space"] == [0.0, 1.0]
    assert np.isnan(rows["flood"]).all()
    assert "obstruction" not in rows
    assert found.is_open[[r.hazard for r in found.rules].index("flood")].all()


def test_the_usual_hazards_are_ruled_on_and_each_rule_is_complete():
    named = {rule.hazard for rule in HAZARD_RULES}
    usual = {
        "flood",
        "gas",
        "obstruction",
        "uplift",
        "breakthrough",
        "services",
        "high pressure",
        "high voltage",
    }
    assert usual <= named
    assert len(named) == len(HAZARD_RULES)
    for one in HAZARD_RULES:
        assert one.who_signs
        assert one.what_to_do
        assert one.all_of or one.any_of


def test_each_rule_can_apply_and_can_fail_to():
    for one in HAZARD_RULES:
        parts = (*one.all_of, *one.any_of)
        fires = {part.quantity: _value(part, holds=True) for part in parts}
        rests = {part.quantity: _value(part, holds=False) for part in parts}
        assert rule_applies(one, fires) == 1.0
        assert rule_applies(one, rests) == 0.0


def _value(part, *, holds):
    if part.relation == "holds":
        return holds
    return part.limit + (1.0 if (part.relation in ("above", "at least")) == holds else -1.0)


def test_quantities_are_listed_once():
    rules = [rule(all_of="b", any_of="ab")]
    assert quantities_needed(rules) == ("a", "b")
    assert hazard_register([], "drive", {"a": [1.0, 2.0]}).applies.shape == (0, 2)


@given(st.floats(0.1, 10.0))
def test_units_do_not_matter(k):
    base = rule_applies(HazardRule("x", "both", "a", "b", (Condition("h", "above", 2.0),)), {"h": 2.5})
    other = rule_applies(
        HazardRule("x", "both", "a", "b", (Condition("h", "above", 2.0 * k),)), {"h": 2.5 * k}
    )
    assert base == other == 1.0
