"""Numbers in sentences: thousands set apart by a space in every language, from five digits on.

Room: ground floor; imports nothing of the package.
"""

from __future__ import annotations

__all__ = ["counted", "grouped"]

LEAST_GROUPED = 10_000


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
    >>> counted(1, "bay"), counted(0, "bay"), counted(12_000, "trench", "trenches")
    ('1 bay', '0 bays', '12 000 trenches')
    """
    return f"{grouped(count)} {one if count == 1 else many or one + 's'}"


def grouped(value: float, digits: int = 0) -> str:
    """Write a number, thousands set apart: never by a comma, which German has before decimals.

    Four digits stand together, as ISO 80000-1 allows: so they do wherever a sentence writes a length.

    Parameters
    ----------
    value : float
    digits : int, optional
        After the decimal point.

    Examples
    --------
    >>> grouped(9015874.706, 2), grouped(-0.001, 1), grouped(48240), grouped(9999.5, 1)
    ('9 015 874.71', '0.0', '48 240', '9999.5')
    """
    rounded = round(value, digits) + 0.0
    return f"{rounded:,.{digits}f}".replace(",", " " if abs(rounded) >= LEAST_GROUPED else "")
