"""The blank bill as an exchange file by GAEB DA XML 3.3, phase 83 (request for bids, no prices).

Room: ``tender``. Tables in, text out.

Notes
-----
Structure, order of elements, lengths and enumerations follow the schemas GAEB_DA_XML_83_3.3_2021-05.xsd and
GAEB_DA_XML_Lib_3.3_2021-05.xsd, published by the Gemeinsamer Ausschuss Elektronik im Bauwesen [seen]. The
schemas are not part of this package: the tests hold the written file against a table of what is used of them
(element, children in order, how often, form of the value). No certified program has read it; that is for
whoever sends it out.

One item a position with its whole quantity; its parts by section, drive, shaft and crossing are partial
quantities assigned to a catalogue of places. Ids are short names without the corridor. What a bidder is not
asked to price (class of the owner) is not in it.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from routescreen.tender.bill_sheets import by_class, class_title

if TYPE_CHECKING:
    from collections.abc import Mapping

    from routescreen.tender.bill import Position, TenderBill
    from routescreen.tender.wording import About, Words

NAMESPACE = "http://www.gaeb.de/GAEB_DA_XML/DA83/3.3"
PLACES = "places"
_WHOLE = "link"
# tgNormalizedString4: a unit has four signs at most; the long text says it in full.
_UNITS: Mapping[str, str] = {
    "bore": "each",
    "launch": "each",
    "joint": "each",
    "weld": "each",
    "event": "each",
    "eye": "each",
    "month": "mon",
}
_NOT_IN_XML = re.compile("[\x00-\x1f\ud800-\udfff\ufffe\uffff]")


def exchange_text(bill: TenderBill, about: About) -> str:
    """Return the blank bill as a GAEB DA XML document.

    Parameters
    ----------
    bill : TenderBill
    about : About

    Returns
    -------
    str
        Well-formed XML whatever the names hold, with its declaration.
    """
    root = ET.Element("GAEB", xmlns=NAMESPACE)
    _info(root, about)
    project = _add(root, "PrjInfo")
    _add(project, "NamePrj", about.corridor_id, most=60)
    _add(project, "LblPrj", f"{about.words['cover_title']}: {about.corridor_id}", most=100)
    _paragraph(_add(project, "Descrip"), about.words["caution"])
    _currency(project, about)
    award = _add(root, "Award")
    _add(award, "DP", "83")
    _currency(_add(award, "AwardInfo"), about)
    boq = ET.SubElement(award, "BoQ", ID="B1")
    _boq_info(boq, about)
    _body(_add(boq, "BoQBody"), bill, about.words)
    ET.indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def plain(text: str, most: int | None = None) -> str:
    r"""Return a text on one line, without signs that XML has no place for, cut to a length.

    Examples
    --------
    >>> plain("two\nlines of text", 8)
    'two line'
    """
    return _NOT_IN_XML.sub(" ", text)[:most]


def unit_code(unit: str) -> str:
    """Return a unit in the four signs that the format has for it."""
    return _UNITS.get(unit, unit)[:4]


def _add(parent: ET.Element, tag: str, text: str | None = None, *, most: int | None = None) -> ET.Element:
    child = ET.SubElement(parent, tag)
    if text is not None:
        child.text = plain(text, most)
    return child


def _paragraph(parent: ET.Element, text: str) -> None:
    _add(_add(parent, "p"), "span", text)


def _info(root: ET.Element, about: About) -> None:
    info = _add(root, "GAEBInfo")
    _add(info, "Version", "3.3")
    _add(info, "VersDate", "2021-05")
    _add(info, "Date", f"{about.made:%Y-%m-%d}")
    _add(info, "Time", f"{about.made:%H:%M:%S}")
    _add(info, "ProgSystem", about.made_by, most=60)


def _currency(parent: ET.Element, about: About) -> None:
    _add(parent, "Cur", about.currency, most=4)
    _add(parent, "CurLbl", about.currency, most=50)


def _boq_info(boq: ET.Element, about: About) -> None:
    info = _add(boq, "BoQInfo")
    _add(info, "Name", about.corridor_id, most=20)
    _add(info, "LblBoQ", f"{about.words['title_bid']}: {about.corridor_id}", most=60)
    _add(info, "Date", f"{about.made:%Y-%m-%d}")
    _add(info, "OutlCompl", "AllTxt")
    for kind, label, length in (("BoQLevel", "class", 2), ("Item", "position", 4)):
        level = _add(info, "BoQBkdn")
        _add(level, "Type", kind)
        _add(level, "LblBoQBkdn", about.words[label], most=40)
        _add(level, "Length", str(length))
        _add(level, "Num", "Yes")
    catalogue = _add(info, "Ctlg")
    _add(catalogue, "CtlgID", PLACES)
    _add(catalogue, "CtlgType", "locality")
    _add(catalogue, "CtlgName", about.words["title_quantities"], most=80)


def _body(body: ET.Element, bill: TenderBill, words: Words) -> None:
    remark = ET.SubElement(body, "Remark", ID="R1")
    said = (words["exchange_note"], words["bid_owner"], words["caution"])
    _description(remark, words["caution_title"], said)
    parts: dict[int, dict[str, Decimal]] = {}
    for line in bill.lines:
        places = parts.setdefault(line.position, {})
        name = line.place.works or _WHOLE
        places[name] = places.get(name, Decimal()) + line.quantity
    for number, (code, members) in enumerate(by_class(bill, for_bidders=True), start=1):
        category = ET.SubElement(body, "BoQCtgy", ID=f"C{number:02d}", RNoPart=f"{number:02d}")
        _paragraph(_add(category, "LblTx"), class_title(code, words))
        items = _add(_add(category, "BoQBody"), "Itemlist")
        for row, member in enumerate(members, start=1):
            tag = f"{10 * row:04d}"
            item = ET.SubElement(items, "Item", ID=f"I{number:02d}{tag}", RNoPart=tag)
            _item(item, bill.positions[member], parts[member], words)


def _item(item: ET.Element, position: Position, parts: Mapping[str, Decimal], words: Words) -> None:
    if position.part != "works":
        _add(item, "Provis", "WithTotal")
    _add(item, "Qty", f"{sum(parts.values(), Decimal()):.3f}")
    for place, quantity in parts.items():
        split = _add(item, "QtySplit")
        _add(split, "Qty", f"{quantity:.3f}")
        assigned = _add(split, "CtlgAssign")
        _add(assigned, "CtlgID", PLACES)
        _add(assigned, "CtlgCode", place, most=100)
    _add(item, "QU", unit_code(position.unit))
    unit = words.units.get(position.unit, position.unit)
    detail = (
        position.description,
        f"{words['rule']}: {words.say(position.rule)}",
        f"{words['unit']}: {unit}. {words['position']} {position.number}, {words['item']} {position.item}.",
    )
    _description(item, position.description, detail)


def _description(parent: ET.Element, outline: str, detail: tuple[str, ...]) -> None:
    whole = _add(_add(parent, "Description"), "CompleteText")
    text = _add(_add(whole, "DetailTxt"), "Text")
    for paragraph in detail:
        _paragraph(text, paragraph)
    short = _add(_add(_add(whole, "OutlineText"), "OutlTxt"), "TextOutlTxt")
    _paragraph(short, outline)
