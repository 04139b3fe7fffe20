"""How numbers and names are put into sentences.

Room: ``answers``. Pure.
"""

from __future__ import annotations

import math
import re
import textwrap
from typing import TYPE_CHECKING

from routescreen.counted import grouped

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "chainage",
    "euros",
    "is_number",
    "listed",
    "metres",
    "more_or_less",
    "number",
    "plain",
    "sentence",
    "times",
    "wrapped",
]

WIDTH = 100
# A space between digits of one number, or between a number and its unit.
_APART = re.compile(r"(?<=\d) (?=\d{3}(?!\d)|(?:m|m2|m3|km|mm|EUR|kN|kPa|A|deg|degC|%|h|t|months?)\b)")

_METHODS = {
    "two_pass": "two-pass microtunnelling with pull-in",
    "guided_thrust": "guided thrust boring",
    "enterable": "enterable pipe jacking",
    "directional": "horizontal directional drilling",
    "open_cut": "open cut",
}


def is_number(value: object) -> bool:
    """Return whether a cell of a table holds a finite number."""
    return isinstance(value, int | float) and math.isfinite(value)


def number(value: float, digits: int = 0) -> str:
    """Write a number with thousands apart.

    >>> number(9015874.706, 2), number(-0.001, 1)
    ('9 015 874.71', '0.0')
    """
    return grouped(value, digits)


def metres(value: object) -> str:
    """Write a length, finer where it is short.

    >>> metres(755.13), metres(4.5), metres(None)
    ('755 m', '4.50 m', 'not known')
    """
    if not isinstance(value, int | float) or not math.isfinite(value):
        return "not known"
    return f"{number(value, 0 if abs(value) >= 100.0 else 2)} m"


def level(value: object) -> str:
    """Write a level: always to the centimetre, since levels are taken from one another.

    >>> level(441.7125), level(-0.001), level(None)
    ('441.71 m', '0.00 m', 'not known')
    """
    if not isinstance(value, int | float) or not math.isfinite(value):
        return "not known"
    return f"{number(value, 2)} m"


def chainage(at_m: float) -> str:
    """Write a chainage as kilometres + metres.

    >>> chainage(4961.04), chainage(999.96), chainage(12.3)
    ('4+961.0', '1+000.0', '0+012.3')
    """
    tenths = round(at_m * 10.0)
    km, rest = divmod(tenths, 10_000)
    return f"{km}+{rest // 10:03d}.{rest % 10}"


def euros(value: object, digits: int = 2) -> str:
    """Write an amount.

    >>> euros(264175.947), euros(float("nan"))
    ('264 175.95 EUR', 'not known')
    """
    if not isinstance(value, int | float) or not math.isfinite(value):
        return "not known"
    return f"{number(value, digits)} EUR"


def more_or_less(value: float, unit: str = "EUR", digits: int = 2) -> str:
    """Write a difference.

    >>> more_or_less(1200.5), more_or_less(-3, "m", 0), more_or_less(0.0)
    ('1200.50 EUR more', '3 m less', 'the same')
    """
    rounded = round(value, digits)
    if rounded == 0.0:
        return "the same"
    return f"{number(abs(rounded), digits)} {unit} {'more' if rounded > 0.0 else 'less'}"


def times(count: int, one: str, many: str | None = None) -> str:
    """Count things.

    >>> times(1, "drive"), times(2, "crossing of it", "crossings of it")
    ('1 drive', '2 crossings of it')
    """
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Join words.

    >>> listed(["a", "b", "c"]), listed(["a"]), listed(["a", "b"], "or")
    ('a, b and c', 'a', 'a or b')
    """
    return f" {last} ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def plain(word: str) -> str:
    """Put the name of a method, kind or check into words.

    >>> plain("two_pass"), plain("trench_service_clearance")
    ('two-pass microtunnelling with pull-in', 'trench service clearance')
    """
    return _METHODS.get(word, word.replace("_", " "))


def sentence(text: str) -> str:
    """Begin with a capital, unless it begins with an id, and end with a full stop.

    >>> sentence("thrust after a stop"), sentence("demo-D004 rises")
    ('Thrust after a stop.', 'demo-D004 rises.')
    """
    text = text.strip()
    ended = text if text.endswith((".", "!", "?")) else f"{text}."
    first = ended.split(" ", 1)[0]
    is_id = any(sign.isdigit() for sign in first)
    return ended if is_id else ended[:1].upper() + ended[1:]


def wrapped(text: str, indent: str = "") -> list[str]:
    """Break a text into lines, never within a number or between it and its unit.

    Parameters
    ----------
    text : str
    indent : str
        What the first line begins with; the others begin as far in.

    Returns
    -------
    list of str
    """
    held = _APART.sub("\u00a0", text)
    lines = textwrap.wrap(
        held, WIDTH, initial_indent=indent, subsequent_indent=" " * len(indent), break_on_hyphens=False
    )
    return [line.replace("\u00a0", " ") for line in lines]
