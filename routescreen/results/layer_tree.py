"""How the results stand in a desktop GIS: which groups, in which order, what each layer is called.

Room: ``results``. Imports ``schema``. Topmost first, which is also the order of drawing: what must be seen
above the rest (shafts, joints, crossings) comes before the route, and land lies lowest.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Group:
    """A group of the layer tree.

    Attributes
    ----------
    title : str
    layers : tuple of str
        Result layers and tables by name, topmost first.
    is_open : bool
        Whether its layers are listed when the project is opened.
    is_shown : bool
        Whether it is drawn when the project is opened.
    """

    title: str
    layers: tuple[str, ...]
    is_open: bool = True
    is_shown: bool = True


GROUPS: tuple[Group, ...] = (
    Group("Shafts and joints", ("shafts", "joint_bays")),
    Group("Crossings", ("crossing_schedule", "crossing_ways", "agreements")),
    Group("Route", ("drives", "bores", "sections", "alignment")),
    Group("Ground investigation", ("investigation_plan",), is_open=False),
    Group(
        "Other plans and what they cost",
        ("alternatives", "shaft_tolerance", "binding_limits"),
        is_open=False,
        is_shown=False,
    ),
    Group("Land and earthworks", ("compounds", "layout_strips", "parcels_used", "earthworks")),
    Group("Checks, hazards, seasons", ("checks", "hazards", "constraints"), is_open=False),
    Group(
        "Long section and curves",
        ("long_section", "drive_curves", "cable_curve", "cable_sections"),
        is_open=False,
    ),
    Group("Costs", ("bill", "costs_apart"), is_open=False),
    Group("Record of the run", ("run_record",), is_open=False),
)


@dataclass(frozen=True, slots=True)
class Relation:
    """Rows of a table that are about a feature of a layer: shown in its form when it is asked for.

    Attributes
    ----------
    table, table_column : str
        The rows, and the column in which they name the feature.
    layer, layer_column : str
        The features, and the column that holds their names.
    """

    table: str
    table_column: str
    layer: str
    layer_column: str


_ELEMENTS = (("sections", "section_id"), ("drives", "drive_id"), ("shafts", "shaft_id"))

RELATIONS: tuple[Relation, ...] = (
    *(Relation("checks", "element_id", *element) for element in _ELEMENTS),
    Relation("checks", "element_id", "crossing_schedule", "crossing_id"),
    Relation("hazards", "section_id", "sections", "section_id"),
    Relation("hazards", "drive_id", "drives", "drive_id"),
    Relation("hazards", "shaft_id", "shafts", "shaft_id"),
    Relation("bill", "section_id", "sections", "section_id"),
    Relation("crossing_ways", "crossing_id", "crossing_schedule", "crossing_id"),
    Relation("agreements", "crossing_id", "crossing_schedule", "crossing_id"),
    Relation("drive_curves", "drive_id", "drives", "drive_id"),
)


def title_of(layer: str) -> str:
    """Return what a layer is called in the tree.

    >>> title_of("crossing_schedule")
    'Crossing schedule'
    """
    return layer.replace("_", " ").capitalize()
