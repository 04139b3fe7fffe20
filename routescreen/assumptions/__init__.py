"""Assumptions: every default with its source, a project's changes to them, one validated whole.

Room: assumptions. Reads nothing but the package's own default files; imports errors and
the formulae of ``engineering``.
"""

from routescreen.assumptions.base import Range
from routescreen.assumptions.catalogue import CoverClass, Drivability, Method, Soil, Treatment
from routescreen.assumptions.different import Difference, differences, differences_text
from routescreen.assumptions.explain import assumptions_text, flat_items, only_different
from routescreen.assumptions.loading import load_assumptions
from routescreen.assumptions.model import Assumptions

__all__ = [
    "Assumptions",
    "CoverClass",
    "Difference",
    "Drivability",
    "Method",
    "Range",
    "Soil",
    "Treatment",
    "assumptions_text",
    "differences",
    "differences_text",
    "flat_items",
    "load_assumptions",
    "only_different",
]
