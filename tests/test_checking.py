"""What a check of the inputs tells before anything is searched."""

from __future__ import annotations

import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.checking import closed_terminals
from routescreen.groundwork import lay_out
from tests.audit.place import WATER, crossing, with_cover
from tests.search.test_otherwise import TWENTY_M, corridor


@pytest.mark.parametrize(
    ("inp", "expected"),
    [
        pytest.param(corridor(), [], id="open ground"),
        pytest.param(
            with_cover(corridor(), box(-50, -50, 50, 50), WATER), ["start"], id="water at the start"
        ),
        pytest.param(
            corridor(crossing("building", box(1480.0, -20.0, 1520.0, 20.0), name="Mill", feature_id="b7")),
            ["end"],
            id="a building at the end",
        ),
        pytest.param(
            corridor(crossing("building", box(700.0, -20.0, 720.0, 20.0))), [], id="a building on the way"
        ),
    ],
)
def test_an_end_where_nothing_may_stand_is_told(inp, expected) -> None:
    a = load_assumptions(TWENTY_M)
    frame, _, ground = lay_out(inp, a)
    texts = closed_terminals(inp, a, frame, ground)
    assert [text.split()[1] for text in texts] == expected
    if expected == ["end"]:
        assert "lies in building Mill (b7) where" in texts[0]
    assert all("neither a trench nor a shaft may stand" in text for text in texts)
