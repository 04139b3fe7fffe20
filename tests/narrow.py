"""Assumptions of tests that aren't about heat: dense sand that asks for no wider trench when it dries out."""

from __future__ import annotations

from routescreen.assumptions import Assumptions, load_assumptions

TABLE = "[soil.sand_dense]\n"
NARROW = f"{TABLE}resistivity_moist_Km_per_W = 0.75\n"


def load_narrow(text: str = "") -> Assumptions:
    """Return the defaults and a text, with the pipes of a trench in dense sand 0.5 m apart."""
    if TABLE in text:
        return load_assumptions(text.replace(TABLE, NARROW))
    return load_assumptions(f"{text}\n{NARROW}")
