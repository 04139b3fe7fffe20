"""What checks say that measures would cost, and no item holds, is added up and told."""

from __future__ import annotations

import re

import pytest

from tests.audit.register_place import ground, proved


def told_eur(proofs) -> float:
    """Every sum that a reason tells as more than is priced, as a reader would add them up."""
    text = " | ".join(str(reason) for reason in proofs.checks["reason"])
    found = re.findall(
        r"about (\d[\d ]*) EUR more|would cost (\d[\d ]*) EUR more|(\d[\d ]*) EUR more, in no bill", text
    )
    return sum(float(next(filter(None, groups)).replace(" ", "")) for groups in found)


def test_the_total_is_that_of_the_reasons() -> None:
    """Water given 2.5 m down, 1 m at its highest: the trench, 1.88 m deep, is priced as dry."""
    proofs = proved(ground(groundwater_depth_m=2.5))
    assert proofs.unpriced_eur > 10_000.0
    assert proofs.unpriced_eur == pytest.approx(told_eur(proofs), abs=5.0)
    assert any("GE04" in warning for warning in proofs.warnings)


def test_where_all_is_priced_nothing_is_told() -> None:
    proofs = proved(ground(groundwater_depth_m=30.0))
    assert proofs.unpriced_eur == told_eur(proofs) == 0.0
    assert not any("GE04" in warning for warning in proofs.warnings)
