"""Scripts that run from the right to the left: their signs joined and in the order in which they are seen.

Room: ``sheets``. Imports nothing but the standard library.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

FORMS = ("isolated", "final", "initial", "medial")
FORM_BLOCKS = (range(0xFB50, 0xFBB2), range(0xFBD3, 0xFC00), range(0xFE80, 0xFEF5))
MIRRORED = str.maketrans("()[]{}<>", ")(][}{><")
RIGHT_TO_LEFT = ("R", "AL")


def visual(text: str) -> str:
    """Return a text in the order in which it stands on the paper, from the left.

    Notes
    -----
    A part of the bidirectional algorithm of the Unicode standard (annex 9), enough for one line within a
    left-to-right frame: a run from the first to the last right-to-left sign, or to the number behind it, is
    turned; numbers and words in other scripts within it keep their order.

    Examples
    --------
    >>> visual("C7 abc")
    'C7 abc'
    >>> visual("C7 \u05d0\u05d1\u05d2 12") == "C7 12 \u05d2\u05d1\u05d0"
    True
    """
    kinds = [unicodedata.bidirectional(sign) for sign in text]
    first = next((at for at, kind in enumerate(kinds) if kind in RIGHT_TO_LEFT), None)
    if first is None:
        return text
    last = max(at for at, kind in enumerate(kinds) if kind in RIGHT_TO_LEFT)
    behind = re.match(r"[^\w]*\d[\d.,:/]*", text[last + 1 :])
    end = last + 1 + (behind.end() if behind else 0)
    n_open = sum(text[first:end].count(sign) for sign in "([{") - sum(text[first:end].count(s) for s in ")]}")
    while n_open > 0 and end < len(text) and text[end] in ")]}":  # what was opened within it
        n_open, end = n_open - 1, end + 1
    return text[:first] + _turned(joined(text[first:end])) + text[end:]


def _turned(run: str) -> str:
    """Return a run from the right to the left; what runs to the right within it keeps its order."""
    pieces: list[list[str]] = []
    for sign in run:
        kind = unicodedata.bidirectional(sign)
        is_onward = kind in ("L", "EN", "AN") or (
            kind in ("CS", "ES") and bool(pieces) and len(pieces[-1]) > 1
        )
        if (is_onward and pieces and pieces[-1][0] == "on") or kind == "NSM":
            pieces[-1].append(sign)
        else:
            pieces.append(["on" if is_onward else "back", sign])
    return "".join("".join(piece[1:]).translate(_mirror(piece[0])) for piece in reversed(pieces))


def _mirror(way: str) -> dict[int, int]:
    return MIRRORED if way == "back" else {}


@cache
def _forms() -> dict[str, dict[str, str]]:
    """Return the joined forms of each letter, as the Unicode database has them."""
    found: dict[str, dict[str, str]] = {}
    for code in (code for block in FORM_BLOCKS for code in block):
        parts = unicodedata.decomposition(chr(code)).split()
        if len(parts) == 2 and (form := parts[0].strip("<>")) in FORMS:
            found.setdefault(chr(int(parts[1], 16)), {})[form] = chr(code)
    return found


def joined(text: str) -> str:
    """Return a text with letters in the forms in which they join their neighbours.

    Examples
    --------
    >>> joined("\u0628\u0627") == "\ufe91\ufe8e"  # beh begins, alef ends
    True
    """
    forms = _forms()
    bare = [at for at, sign in enumerate(text) if unicodedata.category(sign) != "Mn"]
    shaped = list(text)
    for number, at in enumerate(bare):
        own = forms.get(text[at])
        if own is None:
            continue
        before = forms.get(text[bare[number - 1]], {}) if number else {}
        after = forms.get(text[bare[number + 1]], {}) if number + 1 < len(bare) else {}
        takes, gives = "initial" in before and "final" in own, "initial" in own and "final" in after
        form = ("medial" if gives else "final") if takes else ("initial" if gives else "isolated")
        shaped[at] = own.get(form, text[at])
    return "".join(shaped)
