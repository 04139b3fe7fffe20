"""Layers of the drawing: what each holds, and how it looks.

Room: ``tender``. Pure data; names and colours are routescreen's own, near those of the report.
"""

from __future__ import annotations

from routescreen.tender.drawing import DrawingLayer

_CUT, _DRIVE, _SHAFT, _TEAL = (168, 101, 27), (11, 60, 93), (90, 42, 130), (29, 111, 114)
_INK, _SOFT, _PALE, _GROUND, _WATER = (
    (29, 35, 41),
    (83, 92, 102),
    (150, 157, 164),
    (94, 74, 40),
    (30, 110, 180),
)

LAYERS = (
    DrawingLayer("PLAN_CORRIDOR", _PALE, "edge of the corridor", is_dashed=True),
    DrawingLayer("PLAN_FEATURES", _PALE, "features that are crossed, as given", weight_mm=0.18),
    DrawingLayer("PLAN_ALIGNMENT", _CUT, "alignment, from start to end terminal", weight_mm=0.5),
    DrawingLayer("PLAN_BORES", _DRIVE, "each bore, from launch to reception", weight_mm=0.35),
    DrawingLayer("PLAN_SHAFTS", _SHAFT, "shafts and pits", weight_mm=0.5),
    DrawingLayer("PLAN_COMPOUNDS", _SHAFT, "site area of each shaft", is_dashed=True),
    DrawingLayer("PLAN_STRIPS", _TEAL, "layout strips of the pipe strings", is_dashed=True),
    DrawingLayer("PLAN_CROSSINGS", _INK, "where the alignment meets a feature"),
    DrawingLayer("PLAN_JOINTS", _TEAL, "joint bays"),
    DrawingLayer("PLAN_LABELS", _INK, "names and chainages"),
    DrawingLayer("PROFILE_GRID", _PALE, "levels and chainages", weight_mm=0.13),
    DrawingLayer("PROFILE_GROUND", _GROUND, "ground", weight_mm=0.5),
    DrawingLayer("PROFILE_WATER", _WATER, "groundwater as given", is_dashed=True),
    DrawingLayer("PROFILE_REQUIRED", _SOFT, "crown no higher than this: required cover", is_dashed=True),
    DrawingLayer("PROFILE_TRENCH", _CUT, "bottom of the trench", weight_mm=0.5),
    DrawingLayer("PROFILE_BORES", _DRIVE, "invert and crown of the bores", weight_mm=0.5),
    DrawingLayer("PROFILE_SHAFTS", _SHAFT, "shafts from the ground to their base", weight_mm=0.5),
    DrawingLayer("PROFILE_CROSSINGS", _INK, "where the alignment meets a feature"),
    DrawingLayer("PROFILE_LABELS", _INK, "names, levels, chainages"),
)
