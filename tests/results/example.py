"""An invented corridor with every kind of result, small enough to reckon by hand.

``python -m tests.results.example FILE.gpkg`` writes it for a look in a desktop GIS.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
from pyproj import CRS
from shapely import LineString, Polygon, box

from routescreen.plan import Drive, Plan, Shaft
from routescreen.results.geopackage import write_geopackage
from routescreen.results.tables import result_tables
from routescreen.screened import DriveData, LongSection, ScreenedCorridor, Site

METRES = CRS.from_epsg(25833)
STAMP = datetime(2026, 3, 1, 12, 0, 0, tzinfo=UTC)
WEST, SOUTH = 400_000.0, 5_900_000.0

# Eastward: 300 m of trench, drives of 300 m, 400 m and 200 m with shafts between, 300 m of trench with
# one bend, a drive of 250 m, trench. Ground is flat at 20 m.
VERTICES = [(0, 0), (300, 0), (600, 0), (1000, 0), (1200, 0), (1350, 80), (1500, 0), (1750, 0), (2000, 0)]
IS_DRIVE = [False, True, True, True, False, False, True, False]
GROUND_M = 20.0
BORE_M = 0.56


def plan(corridor_id: str = "west") -> Plan:
    """Return the plan; crown levels differ at the shared shafts."""
    layout = ((WEST + 605.0, SOUTH - 48.0), (WEST + 925.0, SOUTH - 48.0))
    drives = (
        Drive("two_pass", 0, 1, True, 14.0, 11.0, 1, 2, 1, layout),
        Drive("two_pass", 1, 2, False, 9.0, 9.0, 2, 3),
        Drive("two_pass", 2, 3, False, 12.0, 16.0, 3, 4),
        Drive("guided_thrust", 4, 5, True, 16.0, 16.5, 6, 7),
    )
    depths = (7.25, 12.25, 12.25, 5.25, 5.25, 4.75)
    vertices = (1, 2, 3, 4, 6, 7)
    serves = ((None, 0), (0, 1), (1, 2), (2, None), (None, 3), (3, None))
    shafts = tuple(
        Shaft((WEST + VERTICES[at][0], SOUTH + VERTICES[at][1]), GROUND_M, depth_m, *pair)
        for at, depth_m, pair in zip(vertices, depths, serves, strict=True)
    )
    xy_m = np.array(VERTICES, dtype=float) + np.array([WEST, SOUTH])
    return Plan(corridor_id, xy_m, np.array(IS_DRIVE), np.zeros(len(IS_DRIVE), bool), drives, shafts, 1000.0)


def crossings() -> pd.DataFrame:
    """Return five crossings, not in order of chainage."""
    rows = [
        ("way/31", "railway", "Old line", 450.0, 14.0, 88.0, "trenchless", 6.0, 3.0, np.nan, "assumed"),
        ("crossings/2", "track", None, 150.0, 4.0, 70.0, "open_cut", np.nan, np.nan, np.nan, "assumed"),
        ("way/7;way/8", "river", "Lower Ilm", 800.0, 30.0, 62.0, "trenchless", 8.0, 3.5, np.nan, "assumed"),
        ("crossings/4", "gas_pipeline", "P 12", 1100.0, 1.0, 75.0, "trenchless", 4.0, 2.0, 1.4, "record"),
        ("crossings/9", "main_road", "L 9", 1625.0, 12.0, 81.0, "trenchless", 3.4, 2.5, np.nan, "surveyed"),
        ("crossings/3", "ditch", None, 1900.0, 3.0, 85.0, "open_cut", np.nan, np.nan, np.nan, "assumed"),
    ]
    names = ["feature_id", "kind", "name", "chainage_m", "width_m", "angle_deg", "treatment", "cover_m"]
    return pd.DataFrame(rows, columns=[*names, "required_cover_m", "clearance_m", "confidence"])


def checks() -> pd.DataFrame:
    """Return checks of which each drive has another worst status."""
    rows = [
        ("drive", 0, "length", 300.0, 1000.0, "m", 0.3, "pass"),
        ("shaft", 1, "depth", 12.25, 16.0, "m", 0.765625, "pass"),
        ("drive", 1, "cover", 3.5, 8.0, "m", 0.4375, "pass"),
        ("crossing", 2, "crossing_angle", 60.0, 62.0, "deg", 60.0 / 62.0, "amber"),
        ("drive", 2, "grade", 9.0, 8.0, "%", 1.125, "fail"),
        ("drive", 3, "length", 250.0, 1000.0, "m", 0.25, "pass"),
        ("drive", 3, "clearance", np.nan, np.nan, "m", np.nan, "not_evaluated"),
        ("link", -1, "length", 1.0, 2.0, "m", 0.5, "pass"),
    ]
    names = ["element", "element_index", "check", "demand", "capacity", "unit", "utilisation", "status"]
    table = pd.DataFrame(rows, columns=names)
    return table.assign(
        reason="As reckoned.", governing_chainage_m=np.nan, confidence="assumed", source="assumed"
    )


def bill() -> pd.DataFrame:
    """Return a bill whose sums are easy: section 1 owns drive 0 and both its shafts."""
    rows = [
        ("TR10", "Topsoil", "m3", 100.125, 12.0, 1201.5, 0, "section", 0, "search"),
        ("DR11", "Drive", "m bore", 1200.0, 650.0, 780_000.0, 1, "drive", 0, "search"),
        ("SH01", "Shaft set-up", "each", 1.0, 28_000.1, 28_000.1, 1, "shaft", 0, "search"),
        ("SH01", "Shaft set-up", "each", 1.0, 28_000.2, 28_000.2, 1, "shaft", 1, "search"),
        ("AG10", "Agreement", "each", 1.0, 50_000.0, 50_000.0, 1, "crossing", 0, "search"),
        ("GE01", "Site set-up", "lot", 0.5, 2_500_000.0, 1_250_000.0, -1, "link", -1, "afterwards"),
    ]
    names = ["item", "description", "unit", "quantity", "rate_eur", "amount_eur", "section_index"]
    table = pd.DataFrame(rows, columns=[*names, "element", "element_index", "carried_by"])
    return table.assign(
        part="works", amount_low_eur=0.5 * table["amount_eur"], amount_high_eur=2.0 * table["amount_eur"]
    )


def long_section() -> LongSection:
    """Return three points of a profile, one without groundwater."""
    return LongSection(
        chainage_m=np.array([0.0, 450.0, 2000.0]),
        ground_m=np.array([20.0, 20.0, 20.0]),
        invert_m=np.array([18.22, 11.94, 18.22]),
        cover_m=np.array([1.4, 7.5, 1.4]),
        required_cover_m=np.array([1.4, 3.0, 1.4]),
        groundwater_m=np.array([17.0, 17.0, np.nan]),
        is_drive=np.array([False, True, False]),
    )


def _compound(x_m: float) -> Polygon:
    return box(WEST + x_m - 37.5, SOUTH + 12.0, WEST + x_m + 37.5, SOUTH + 52.0)


def corridor(corridor_id: str = "west") -> ScreenedCorridor:
    """Return the whole screened corridor."""
    four = DriveData(4, BORE_M, 6.0, 6.0, 450.0)
    two = DriveData(2, 0.34, 2.0, 3.4, 1625.0)
    axis = LineString([(WEST - 100.0, SOUTH + 10.0), (WEST + 2100.0, SOUTH + 10.0)])
    strips = (Site(0, box(WEST + 605, SOUTH - 60, WEST + 925, SOUTH - 36)),)
    return ScreenedCorridor(
        plan=plan(corridor_id),
        axis=axis,
        drives=(four, four, four, two),
        reasons=("Nothing forces a drive here.", "The railway allows no trench.", *["Reason."] * 5),
        crossings=crossings(),
        checks=checks(),
        bill=bill(),
        long_section=long_section(),
        compounds=tuple(Site(n, _compound(x)) for n, x in enumerate((300, 600, 1000, 1200, 1500, 1750))),
        strips=strips,
        run_record={"input": "invented", "frame_error_percent": "0.2"},
    )


def tables(corridor_id: str = "west") -> dict[str, pd.DataFrame]:
    """Return the result tables of the corridor."""
    return result_tables([corridor(corridor_id)], METRES)


if __name__ == "__main__":
    write_geopackage(tables(), METRES, Path(sys.argv[1]), stamp_utc=STAMP)
