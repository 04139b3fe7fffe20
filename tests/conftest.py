"""What holds for all tests."""

from __future__ import annotations

import gc
import os

import pytest
from hypothesis import settings

from routescreen.cli import SELDOM

# On a build machine the same examples each time, so that a change is judged by what it changes;
# elsewhere new ones at every run.
settings.register_profile("build", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("build")

# As the command itself does: looks for circular garbage go through all that the libraries and the tests hold.
gc.set_threshold(*SELDOM)

# Several workers with nothing compiled yet would all compile the search at once, each for itself. The first
# file has it compiled, the folders after it need none of it; the rest find it on disk.
FIRST = "tests/laws/test_whole_corridors.py"
WITHOUT_SEARCH = tuple(
    f"tests/{folder}/"
    for folder in (
        "assumptions",
        "drives",
        "engineering",
        "inputs",
        "languages",
        "published",
        "report",
        "results",
        "sheets",
        "tender",
    )
)
# Files of more than 15 s of processor, the longest first: no worker is left alone with one at the end.
LONG = (
    "tests/worked/test_worked_crossing.py",
    "tests/search/test_proof.py",
    "tests/laws/test_compounds.py",
    "tests/search/test_laws.py",
    "tests/laws/test_rating_steers.py",
    "tests/laws/test_bill.py",
    "tests/search/test_through.py",
    "tests/corridor/test_burn_never_misses.py",
    "tests/cli/test_run.py",
    "tests/laws/test_smoothing.py",
    "tests/corridor/test_burn_compounds.py",
    "tests/demo/test_staging.py",
    "tests/laws/test_fills_steer.py",
    "tests/laws/test_arc_plans.py",
    "tests/search/test_otherwise.py",
    "tests/search/test_halves.py",
    "tests/search/test_settle.py",
    "tests/cli/test_whole_command.py",
    "tests/refine/test_judged.py",
    "tests/audit/test_cable_proofs.py",
    "tests/audit/test_shaft_proofs.py",
    "tests/cli/test_answers.py",
    "tests/laws/test_drilled_plans.py",
    "tests/cli/test_late_writers.py",
    "tests/audit/test_shaft_water_proofs.py",
)


def _turn(file: str) -> int:
    """Return when a file's turn comes among all."""
    if file == FIRST:
        return 0
    if file.startswith(WITHOUT_SEARCH):
        return 1
    return 2 + (LONG.index(file) if file in LONG else len(LONG))


def pytest_configure(config: pytest.Config) -> None:
    """Let workers take the files in this order, not those of most tests first."""
    config.option.loadscopereorder = False


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Order the files; tests of a file stay as they are."""
    items.sort(key=lambda item: _turn(item.nodeid.partition("::")[0]))
