"""``routescreen assumptions`` writes a file that says the defaults."""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.assumptions import load_assumptions

if TYPE_CHECKING:
    from collections.abc import Callable

    from click.testing import Result


def test_the_file_given_back_changes_nothing(invoke: Callable[..., Result]) -> None:
    result = invoke("assumptions")
    assert result.exit_code == 0
    assert load_assumptions(result.stdout) == load_assumptions()
    assert "placeholder" in result.stdout
