"""Counts in sentences: one thing, or so many of it.

Room: ground floor; imports nothing of the package.
"""

from __future__ import annotations

__all__ = ["counted"]


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
    return f"{count:,d} {one if count == 1 else many or one + 's'}".replace(
        ",", " ", f"{count:,d}".count(",")
    )
