"""Classes into which a bill of civil engineering works is commonly parted, and what falls into each.

Room: ``tender``. Pure data. The letters and short titles of A to X are the general classes of the public
method of measurement CESMM4 (Institution of Civil Engineers, 2012) [from memory]; what falls into them,
the classes of two letters, the items and all texts are routescreen's own.
"""

from __future__ import annotations

from dataclasses import dataclass

OWNER = "XO"
PROVISIONAL, ALLOWANCES = "YP", "YA"


@dataclass(frozen=True, slots=True)
class BillClass:
    """A class of bill items.

    Attributes
    ----------
    code : str
        One letter where the class is a general one, two where it is our own.
    title : str
    prefixes : tuple of str
        Items whose code begins so fall into it; of all classes the longest beginning counts.
    """

    code: str
    title: str
    prefixes: tuple[str, ...] = ()

    @property
    def is_for_bidders(self) -> bool:
        """Whether a contractor is asked to price it: land and agreements are the owner's."""
        return self.code != OWNER


CLASSES = (
    BillClass("A", "General items", ("GE", "MO", "CO", "SV", "TE", "MN")),
    BillClass("B", "Ground investigation", ("GI", "UX", "AR")),
    BillClass(
        "C",
        "Geotechnical and other specialist processes",
        ("TR40", "TR41", "DR22", "SH21", "SH24", "SH28"),
    ),
    BillClass("E", "Earthworks", ("TR1", "TR2", "TR5", "TR6", "TR7", "CO13")),
    BillClass("I", "Pipework: pipes", ("PI", "TR90")),
    BillClass("K", "Pipework: ancillaries and crossings", ("CR",)),
    BillClass("L", "Pipework: supports, protection and ancillaries", ("TR30", "TR91", "PI13", "PI15")),
    BillClass("P", "Piles", ("TR31", "SH40", "SH41", "SH42", "SH43", "SH44", "SH45")),
    BillClass("R", "Roads and pavings", ("TR80", "TR82", "CO11")),
    BillClass("T", "Tunnels: drives and shafts", ("DR", "SH")),
    BillClass("X", "Miscellaneous work", ("",)),
    BillClass("XC", "Cable work", ("CA",)),
    BillClass(OWNER, "Owner's own: land, compensation, agreements", ("LA", "AG")),
    BillClass(PROVISIONAL, "Provisional sums"),
    BillClass(ALLOWANCES, "Allowances of hours and days"),
)
CLASSES_BY_CODE = {each.code: each for each in CLASSES}


def class_of(item: str, part: str = "works") -> BillClass:
    """Return the class of a bill item.

    Parameters
    ----------
    item : str
        Its code.
    part : {"works", "provisional", "allowance"}
        What isn't works has a class to itself, whatever the item.

    Examples
    --------
    >>> class_of("TR41").code, class_of("TR41", "provisional").code, class_of("own item").code
    ('C', 'YP', 'X')
    """
    if part != "works":
        return CLASSES_BY_CODE[PROVISIONAL if part == "provisional" else ALLOWANCES]
    fitting = [(len(prefix), each) for each in CLASSES for prefix in each.prefixes if item.startswith(prefix)]
    return max(fitting, key=lambda pair: pair[0])[1]
