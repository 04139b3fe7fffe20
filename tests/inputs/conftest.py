"""Fixtures of the tests of the readers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from routescreen.assumptions import Assumptions, load_assumptions
from tests.inputs.site import Site

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="session")
def assumptions() -> Assumptions:
    return load_assumptions()


@pytest.fixture
def site(tmp_path: Path, assumptions: Assumptions) -> Site:
    return Site(tmp_path, assumptions)
