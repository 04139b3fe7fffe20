"""What the exchange file uses of GAEB DA XML 3.3, phase 83: elements in order, how often, form of the value.

From the published schemas GAEB_DA_XML_83_3.3_2021-05.xsd and GAEB_DA_XML_Lib_3.3_2021-05.xsd [seen]: the
children of each type in the order of its sequence, of those that the file may use; lengths, digits, patterns
and enumerations of simple types.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

SPACE = "{http://www.gaeb.de/GAEB_DA_XML/DA83/3.3}"
MANY = 10**9

# Children by type: name, type, least and most times. `CHOICE` types let them come in any order.
TYPES: dict[str, tuple[tuple[str, str, int, int], ...]] = {
    "GAEB": (("GAEBInfo", "GAEBInfo", 1, 1), ("PrjInfo", "PrjInfo", 0, 1), ("Award", "Award", 1, 1)),
    "GAEBInfo": (
        ("Version", "=3.3", 1, 1),
        ("VersDate", "=2021-05", 1, 1),
        ("Date", "date", 1, 1),
        ("Time", "time", 0, 1),
        ("ProgSystem", "text60", 0, 1),
        ("ProgName", "text60", 0, 1),
    ),
    "PrjInfo": (
        ("NamePrj", "text60", 0, 1),
        ("LblPrj", "text100", 0, 1),
        ("Descrip", "FText", 0, 1),
        ("Cur", "text4", 0, 1),
        ("CurLbl", "text50", 0, 1),
    ),
    "Award": (("DP", "=83", 1, 1), ("AwardInfo", "AwardInfo", 0, 1), ("BoQ", "BoQ", 0, 1)),
    "AwardInfo": (("Cur", "text4", 0, 1), ("CurLbl", "text50", 0, 1)),
    "BoQ": (("BoQInfo", "BoQInfo", 1, 1), ("BoQBody", "BoQBody", 1, 1)),
    "BoQInfo": (
        ("Name", "text20", 1, 1),
        ("LblBoQ", "text60", 1, 1),
        ("Date", "date", 0, 1),
        ("OutlCompl", "=AllTxt|OutTxt|DetailTxt", 1, 1),
        ("BoQBkdn", "BoQBkdn", 1, 7),
        ("Ctlg", "Ctlg", 0, MANY),
    ),
    "BoQBkdn": (
        ("Type", "=Lot|BoQLevel|Item|Index", 1, 1),
        ("LblBoQBkdn", "text40", 0, 1),
        ("Length", "to14", 1, 1),
        ("Num", "=Yes|No", 1, 1),
    ),
    "Ctlg": (("CtlgID", "text100", 1, 1), ("CtlgType", "text", 1, 1), ("CtlgName", "text80", 1, 1)),
    "BoQBody": (
        ("Remark", "Remark", 0, MANY),
        ("BoQCtgy", "BoQCtgy", 0, MANY),
        ("Itemlist", "Itemlist", 0, 1),
    ),
    "Remark": (("Description", "Description", 1, 1),),
    "BoQCtgy": (("LblTx", "MLText", 1, 1), ("BoQBody", "BoQBody", 0, 1)),
    "Itemlist": (("Item", "Item", 0, MANY),),
    "Item": (
        ("Provis", "=WithoutTotal|WithTotal", 0, 1),
        ("Qty", "digits11_3", 1, 1),
        ("QtySplit", "QtySplit", 0, MANY),
        ("QU", "text4", 1, 1),
        ("Description", "Description", 0, 1),
    ),
    "QtySplit": (("Qty", "digits11_3", 1, 1), ("CtlgAssign", "CtlgAssign", 0, MANY)),
    "CtlgAssign": (("CtlgID", "text100", 1, 1), ("CtlgCode", "text100", 1, 1)),
    "Description": (("CompleteText", "CompleteText", 1, 1),),
    "CompleteText": (("DetailTxt", "BoQText", 1, 1), ("OutlineText", "OutlineText", 0, 1)),
    "BoQText": (("Text", "FText", 1, MANY),),
    "OutlineText": (("OutlTxt", "OutlTxt", 1, 1),),
    "OutlTxt": (("TextOutlTxt", "MLText", 1, MANY),),
    "FText": (("p", "p", 0, MANY),),
    "MLText": (("p", "p", 0, MANY),),
    "p": (("span", "text", 0, MANY),),
}
ATTRIBUTES = {
    "BoQ": {"ID"},
    "Remark": {"ID"},
    "BoQCtgy": {"ID", "RNoPart"},
    "Item": {"ID", "RNoPart"},
}
FORMS = {
    "date": r"\d{4}-\d\d-\d\d",
    "time": r"\d\d:\d\d:\d\d",
    "to14": r"[1-9]|1[0-4]",
    "digits11_3": r"\d{1,8}\.\d{1,3}",
}


def faults(root: Element) -> list[str]:
    """Everything in a document that the schema would not have."""
    found = _element(root, "GAEB", "GAEB")
    names = [e.attrib["ID"] for e in root.iter() if "ID" in e.attrib]
    found += [f"ID {name} twice" for name in names if names.count(name) > 1]
    found += [f"ID {name} is no name" for name in names if not re.fullmatch(r"[A-Za-z_][\w.-]*", name)]
    parts = [e.attrib["RNoPart"] for e in root.iter() if "RNoPart" in e.attrib]
    found += [f"RNoPart {part}" for part in parts if not re.fullmatch(r"[_0-9A-Za-z]{1,14}", part)]
    return found


def _element(element: Element, name: str, kind: str) -> list[str]:
    if element.tag != SPACE + name:
        return [f"{element.tag} in place of {name}"]
    wanted = ATTRIBUTES.get(kind, set())
    found = [] if set(element.attrib) == wanted else [f"attributes of {name}: {sorted(element.attrib)}"]
    if kind not in TYPES:
        return found + _value(element, name, kind)
    if (element.text or "").strip():
        found.append(f"{name} holds text beside its elements")
    order = [child for child, _, _, _ in TYPES[kind]]
    kinds = {child: form for child, form, _, _ in TYPES[kind]}
    children = [child.tag.removeprefix(SPACE) for child in element]
    unknown = [child for child in children if child not in kinds]
    if unknown:
        return [*found, f"{name} holds {unknown[0]}"]
    if children != sorted(children, key=order.index):
        found.append(f"order in {name}: {children}")
    for child, _, least, most in TYPES[kind]:
        if not least <= children.count(child) <= most:
            found.append(f"{child} {children.count(child)} times in {name}")
    for child, child_name in zip(element, children, strict=True):
        found += _element(child, child_name, kinds[child_name])
    return found


def _value(element: Element, name: str, kind: str) -> list[str]:
    value = element.text or ""
    if len(element) or re.search(r"[\n\r\t]", value):
        return [f"{name} is no plain text on one line"]
    if kind.startswith("="):
        return [] if value in kind[1:].split("|") else [f"{name}: {value}"]
    if kind.startswith("text"):
        most = int(kind[4:] or MANY)
        return [] if len(value) <= most else [f"{name} has {len(value)} signs, {most} at most"]
    return [] if re.fullmatch(FORMS[kind], value) else [f"{name}: {value}"]
