"""The alignments as LandXML 1.2: plan, ground and inverts.

Room: ``tender``. Tables in, text out.

Notes
-----
LandXML-1.2.xsd, landxml.org (2008) [from memory; well-formedness and order are tested, the schema itself is
not at hand]: ``LandXML`` holds ``Units``, ``CoordinateSystem``, ``Project``, ``Application``, ``Alignments``;
an ``Alignment`` its ``CoordGeom`` of elements end to end and its ``Profile``. A point is northing, then
easting. The alignment is a chain of straight lines with corners, as it was planned: no curve is invented at a
corner. The profile of the ground is one ``ProfSurf``; inverts step at shafts and pits, so each section has a
``ProfAlign`` of its own, with a ``PVI`` at each point.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import shapely

from routescreen.schema import CAUTION
from routescreen.tender.exchange import plain
from routescreen.tender.places import short_id
from routescreen.tender.profiles import invert_lines, rising

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    import pandas as pd
    from numpy.typing import NDArray
    from pyproj import CRS

    Points = NDArray[np.float64]

NAMESPACE = "http://www.landxml.org/schema/LandXML-1.2"


def landxml_text(tables: Mapping[str, pd.DataFrame], crs: CRS, *, made: datetime, version: str) -> str:
    """Return the alignments of all corridors as one LandXML document.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The result tables.
    crs : CRS
        Their projected coordinate reference system.
    made : datetime
        Time of the run, in UTC.
    version : str
        Of this program.
    """
    stamp = {"date": f"{made:%Y-%m-%d}", "time": f"{made:%H:%M:%S}"}
    root = ET.Element("LandXML", {"xmlns": NAMESPACE, "version": "1.2", "language": "English", **stamp})
    root.set("readOnly", "false")
    units = ET.SubElement(root, "Units")
    metric = {"areaUnit": "squareMeter", "linearUnit": "meter", "volumeUnit": "cubicMeter"}
    metric |= {"temperatureUnit": "celsius", "pressureUnit": "HPA"}
    metric |= {"angularUnit": "decimal degrees", "directionUnit": "decimal degrees"}
    ET.SubElement(units, "Metric", metric)
    authority = crs.to_authority()
    system = {"desc": plain(crs.name), **({"epsgCode": authority[1]} if _is_epsg(authority) else {})}
    ET.SubElement(root, "CoordinateSystem", system)
    ET.SubElement(root, "Project", name="routescreen", desc=plain(CAUTION))
    ET.SubElement(root, "Application", name="routescreen", version=version)
    alignments = ET.SubElement(root, "Alignments")
    for name in tables["alignment"]["corridor_id"]:
        own = {key: table[table["corridor_id"] == name] for key, table in tables.items()}
        _alignment(alignments, own, str(name))
    ET.indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _is_epsg(authority: tuple[str, str] | None) -> bool:
    return authority is not None and authority[0] == "EPSG"


def _alignment(parent: ET.Element, own: Mapping[str, pd.DataFrame], name: str) -> None:
    xy_m = shapely.get_coordinates(own["alignment"].geometry.iloc[0])
    steps_m = np.hypot(*np.diff(xy_m, axis=0).T)
    length_m = float(steps_m.sum())
    alignment = ET.SubElement(
        parent, "Alignment", name=plain(name), length=_number(length_m), staStart="0.000"
    )
    geometry = ET.SubElement(alignment, "CoordGeom", name=plain(name))
    starts_m = np.concatenate([[0.0], np.cumsum(steps_m)])
    for number, step_m in enumerate(steps_m):
        line = ET.SubElement(geometry, "Line", length=_number(step_m), staStart=_number(starts_m[number]))
        ET.SubElement(line, "Start").text = _point(xy_m[number])
        ET.SubElement(line, "End").text = _point(xy_m[number + 1])
    _profile(ET.SubElement(alignment, "Profile", name=plain(name), staStart="0.000"), own, name)


def _profile(profile: ET.Element, own: Mapping[str, pd.DataFrame], name: str) -> None:
    section = own["long_section"]
    at_m = section["chainage_m"].to_numpy(dtype=float)
    ground = ET.SubElement(profile, "ProfSurf", name="ground")
    ground_line = rising(at_m, section["ground_m"].to_numpy(dtype=float))
    points = " ".join(_pair(*pair) for pair in zip(*ground_line, strict=True))
    ET.SubElement(ground, "PntList2D").text = points
    for invert in invert_lines(own):
        kind = "bores" if invert.is_drive else "trench"
        line = ET.SubElement(
            profile, "ProfAlign", name=f"{short_id(invert.section_id, name)} invert of the {kind}"
        )
        for pair in zip(invert.at_m, invert.level_m, strict=True):
            ET.SubElement(line, "PVI").text = _pair(*pair)


def _point(xy_m: Points) -> str:
    return f"{xy_m[1]:.4f} {xy_m[0]:.4f}"


def _pair(at_m: float, level_m: float) -> str:
    return f"{at_m:.3f} {level_m:.3f}"


def _number(value: float) -> str:
    return f"{value:.4f}"
