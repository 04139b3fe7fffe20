"""Numbers in sentences: thousands set apart by a space in every language, never by a comma or a point.

Room: ground floor; imports nothing of the package.
"""

from __future__ import annotations

__all__ = ["counted", "grouped"]


def counted(count: int, one: str, many: str | None = None) -> str:
    """Count things, thousands set apart.

    Parameters
    ----------
    count : int
    one : str
        What a single one is called.
    many : str, optional
        What several, or none, are called; `one` with an s where it isn't given.

    Examples
    --------
    >>> counted(1, "bay"), counted(0, "bay"), counted(1200, "trench", "trenches")
    ('1 bay', '0 bays', '1 200 trenches')
    """
    return f"{grouped(count)} {one if count == 1 else many or one + 's'}"


def grouped(value: float, digits: int = 0) -> str:
    """Write a number, thousands set apart: a comma is what German has before decimals.

    Parameters
    ----------
    value : float
    digits : int, optional
        After the decimal point.

    Examples
    --------
    >>> grouped(9015874.706, 2), grouped(-0.001, 1), grouped(48240)
    ('9 015 874.71', '0.0', '48 240')
    """
    return f"{round(value, digits) + 0.0:,.{digits}f}".replace(",", " ")
