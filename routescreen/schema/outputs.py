"""Every layer, table and column that is written.

Room: ``schema``. Pure data. Columns that are not yet filled hold NULL.
"""

from __future__ import annotations

from routescreen.schema.curves import (
    CABLE_CURVE_COLUMNS,
    CABLE_SECTION_COLUMNS,
    DRIVE_CURVE_COLUMNS,
    JOINT_BAY_COLUMNS,
)
from routescreen.schema.model import Column, Layer, real, text
from routescreen.schema.registers import REGISTERS
from routescreen.schema.words import CONFIDENCES, CONSTRUCTIONS, PARTS, SHAFT_FILLS, SHAFT_ROLES, STATUSES

SCHEMA_VERSION = "2.3"
"""Version of the results. Only results of this very version are read back.

The first number rises when a layer, a column or an allowed value goes, is renamed, or changes its type, unit
or meaning; the second when one is added. ``tests/test_schema.py`` holds each version to one fingerprint.
"""

_CORRIDOR = text("corridor_id", "The corridor it belongs to.")
_SECTION_ID = text("section_id", "Section it lies in.")


def _length(meaning: str) -> Column:
    return real("length_m", "m", meaning, 0.0)


def _chainage(meaning: str, name: str = "chainage_m", *, null: bool = False) -> Column:
    return real(name, "m", meaning, 0.0, null=null)


def _amount(meaning: str, name: str = "amount_eur", *, null: bool = False) -> Column:
    return real(name, "EUR", meaning, null=null)


def _force(name: str, meaning: str) -> Column:
    return real(name, "kN", meaning, 0.0, null=True)


def _share(name: str, meaning: str) -> Column:
    return real(name, "-", meaning, 0.0, null=True)


def _move(name: str, way: str) -> Column:
    meaning = (
        f"How far it may move {way} to a node of the frame, all else planned anew, for "
        "`explain.tolerance_percent` of its drives with their shafts; NULL where it wasn't looked for."
    )
    return real(name, "m", meaning, 0.0, null=True)


_DRIVE_COLUMNS = (
    _CORRIDOR,
    text("drive_id", "Name of the drive."),
    _SECTION_ID,
    text("method", "Method of the assumptions."),
    text("launch_shaft_id", "Shaft it starts from."),
    text("reception_shaft_id", "Shaft it arrives in."),
    _length("True length of one bore, middle of shaft to middle of shaft."),
    real("grade_percent", "%", "Slope from launch to reception, rising positive.", -100.0, 100.0),
    Column("bores", "integer", "-", "Number of parallel bores.", minimum=1),
    real("bore_diameter_m", "m", "Diameter of each bore.", 0.0),
    real(
        "bore_spacing_m",
        "m",
        "Between the axes of neighbouring bores; NULL for a single one.",
        0.0,
        null=True,
    ),
    real(
        "cover_min_m",
        "m",
        "Least cover over the crown of any bore; under water from its scoured bed.",
        null=True,
    ),
    _chainage("Where that is.", "cover_min_chainage_m", null=True),
    _force("thrust_kN", "Thrust that starts the string again after a stop, at expected friction."),
    _share("thrust_utilisation", "Thrust by what frame and string can bear."),
    _force("pull_in_kN", "Greatest pull on the protection pipe after a stop."),
    _share("pull_in_utilisation", "That pull by what the pipe can bear."),
    Column(
        "layout_pieces",
        "integer",
        "-",
        "Pieces in which each pipe string is laid out; 0 where the method lays out none.",
        minimum=0,
    ),
    text("status", "Worst status of the checks of the drive, its shafts and its crossings.", *STATUSES),
    _amount("Amount of the bill lines of the drive itself, shafts apart."),
    text("reason", "What forced it, and what passing otherwise would cost: the reason of its section."),
)

_SHAFT_COLUMNS = (
    _CORRIDOR,
    text("shaft_id", "Name of the shaft."),
    text("role", "What it serves, that of the incoming drive first.", *SHAFT_ROLES),
    _chainage("Along the alignment."),
    _chainage("Along the axis.", "axis_chainage_m"),
    real("offset_m", "m", "From the axis, right positive looking up-chainage."),
    real("depth_m", "m", "Ground less bore invert plus sump, rounded up to the depth step.", 0.0),
    text("fill", "Its backfill: what was dug, or conducting fill for its cables (item SH29).", *SHAFT_FILLS),
    _amount("Amount of its bill lines, its site included."),
    _move("move_along_back_m", "back along the axis"),
    _move("move_along_on_m", "on along the axis"),
    _move("move_left_m", "to the left"),
    _move("move_right_m", "to the right"),
    text(
        "reason",
        "What asks for its depth, what holds it where it is on the frame, how far it may move.",
        null=True,
    ),
)

_CROSSING_COLUMNS = (
    _CORRIDOR,
    text("crossing_id", "Name of the crossing."),
    text("feature_id", "Features of the input that make it up, joined by `;`."),
    text("kind", "Kind of the feature."),
    text("name", "Its name.", null=True),
    _chainage("Where the alignment meets it: the middle of the stretch inside."),
    real(
        "width_m", "m", "Length inside it along the alignment; in a drive the longest way of one bore.", 0.0
    ),
    real(
        "angle_deg",
        "deg",
        "Least angle between alignment and feature; NULL where it has none.",
        0.0,
        90.0,
        null=True,
    ),
    text("treatment", "How the alignment crosses it.", "open_cut", "trenchless"),
    _SECTION_ID,
    real("cover_m", "m", "Least cover under it over the reference that counts; NULL in open cut.", null=True),
    real("required_cover_m", "m", "Required cover there; NULL in open cut.", 0.0, null=True),
    real("clearance_m", "m", "Clear distance to a buried service, outside to outside; else NULL.", null=True),
    text(
        "passage",
        "In open cut whether the trench passes over a service, under it at its own depth, or dips below what "
        "it crosses; else NULL.",
        "over",
        "under",
        "dip",
        null=True,
    ),
    _amount(
        "What the cheapest plan on the frame costs more that passes it in another way or goes round it; "
        "NULL where none lies within `explain.explain_budget_eur`, or it wasn't asked for.",
        "extra_if_otherwise_eur",
        null=True,
    ),
    text("confidence", "The worst of its inputs.", *CONFIDENCES, null=True),
    text("remark", "What to know before work, such as owner's consent or exposing a service.", null=True),
)

_CROSSING_WAY_COLUMNS = (
    _CORRIDOR,
    text("crossing_id", "Line of the crossing schedule."),
    text("way", "`open_cut` or the method of a drive."),
    text(
        "status",
        "Whether the plan takes it, another plan can, going round is cheaper, it costs more than the budget, "
        "or it can't be built.",
        "chosen",
        "possible",
        "goes_round",
        "beyond_budget",
        "impossible",
    ),
    _amount(
        "What the cheapest plan on the frame costs more that passes the crossing so, wherever it is met, or "
        "goes round it; NULL beyond the budget, where there is none, and where the plan on the frame doesn't "
        "meet the crossing.",
        "extra_eur",
        null=True,
    ),
    text("reason", "How it is passed, or what stands against it."),
)

_CHECK_COLUMNS = (
    _CORRIDOR,
    text("check_id", "Name of the check."),
    text("element_id", "Drive, shaft, section or crossing that is checked."),
    text("check", "What is checked: length, cover, grade, depth, crossing_angle, clearance and others."),
    real("demand", "-", "What is asked for, in `unit`.", null=True),
    real("capacity", "-", "What there is, in `unit`.", null=True),
    text("unit", "Unit of demand and capacity."),
    _share(
        "utilisation",
        "Demand by capacity; above 1 fails; 1000 stands for a capacity of nothing, or for more than that.",
    ),
    real("margin", "-", "Capacity less demand, in `unit`.", null=True),
    text("status", "`not_evaluated` is never a pass.", *STATUSES),
    text("reason", "Why it has that status."),
    _chainage("Where it is worst.", "governing_chainage_m", null=True),
    text("confidence", "The worst of its inputs.", *CONFIDENCES),
    text("source", "Where the limit comes from."),
)

_BILL_COLUMNS = (
    _CORRIDOR,
    text("item", "Code of the bill item."),
    text("description", "What is paid for."),
    text("unit", "Unit of the quantity."),
    real("quantity", "-", "To 0.001, in `unit`."),
    real("rate_eur", "EUR", "For one unit."),
    _amount("Quantity x rate, rounded half up to the cent."),
    text("section_id", "Section it belongs to; NULL for items of the whole link.", null=True),
    text("element_id", "Section, drive, shaft or crossing it measures; NULL for the whole link.", null=True),
    text("carried_by", "Whether it steered the search or was measured afterwards.", "search", "afterwards"),
    text("part", "Works, a provisional sum, or an allowance of hours.", *PARTS),
    _amount("The same quantity at the low rate.", "amount_low_eur"),
    _amount("The same quantity at the high rate.", "amount_high_eur"),
)

_APART_COLUMNS = (
    _CORRIDOR,
    *_BILL_COLUMNS[1:7],
    _amount("Quantity and rate both at their low value.", "amount_low_eur"),
    _amount("Quantity and rate both at their high value.", "amount_high_eur"),
)

RESULT_LAYERS: tuple[Layer, ...] = (
    Layer(
        "alignment",
        ("LineString",),
        "One unbroken line a corridor, from start terminal to end terminal.",
        (_CORRIDOR, _length("Plan length."), _amount("Sum of its bill.", "total_eur")),
        True,
    ),
    Layer(
        "sections",
        ("LineString",),
        "Runs of one construction type; they follow one another without gap or overlap.",
        (
            _CORRIDOR,
            text("section_id", "Name of the section."),
            text("construction", "Open cut or drive.", *CONSTRUCTIONS),
            text("method", "Method of the drive; NULL in open cut.", null=True),
            _chainage("Where it begins.", "from_chainage_m"),
            _chainage("Where it ends.", "to_chainage_m"),
            _length("Plan length."),
            text("reason", "What forced it, as a sentence."),
            _amount("Amount of its bill lines."),
        ),
        True,
    ),
    Layer(
        "drives",
        ("LineString Z",),
        "Middle line of each drive at invert level, launch to reception.",
        _DRIVE_COLUMNS,
        True,
    ),
    Layer(
        "bores",
        ("LineString Z",),
        "Each bore at invert level, launch to reception; B1 is the leftmost looking up-chainage.",
        (
            _CORRIDOR,
            text("bore_id", "Name of the bore."),
            text("drive_id", "Its drive."),
            _length("True length."),
        ),
        True,
    ),
    Layer("shafts", ("Point Z",), "Middle of each shaft at ground level.", _SHAFT_COLUMNS, True),
    Layer(
        "shaft_tolerance",
        ("Polygon",),
        "Where each shaft may stand for some extra cost, all else planned anew; see `shaft_tolerance` in the "
        "run record.",
        (
            _CORRIDOR,
            text("shaft_id", "Its shaft."),
            real(
                "extra_cost_percent",
                "%",
                "Most extra cost, by the drives at the shaft with all their shafts on the frame.",
                0.0,
                100.0,
            ),
            _amount("The same as an amount, never more than `explain.explain_budget_eur`.", "extra_eur"),
            Column(
                "places", "integer", "-", "Nodes of the frame that lie within, its own among them.", minimum=1
            ),
            real(
                "area_m2",
                "m2",
                "Area between them; a line of places is drawn two tenths of a cell wide.",
                0.0,
            ),
        ),
        True,
    ),
    Layer(
        "compounds",
        ("Polygon",),
        "Site area of each shaft.",
        (
            _CORRIDOR,
            text("compound_id", "Name of the compound."),
            text("shaft_id", "Its shaft."),
            real("area_m2", "m2", "Its area.", 0.0),
            _length("Its longer side."),
        ),
        True,
    ),
    Layer(
        "layout_strips",
        ("Polygon",),
        "Ground on which the pipe strings lie before pull-in, behind the reception shaft.",
        (
            _CORRIDOR,
            text("strip_id", "Name of the strip."),
            text("shaft_id", "Reception shaft it leads to."),
            text("drive_id", "Drive whose pipe lies there."),
            Column("pieces", "integer", "-", "Pieces of the string, side by side in turn.", minimum=1),
            real("turn_deg", "deg", "Bend from the drive's line, to the left positive.", -90.0, 90.0),
            real("area_m2", "m2", "Its area.", 0.0),
            _length("Its length."),
        ),
        True,
    ),
    Layer(
        "crossing_schedule", ("Point",), "Where the alignment meets each feature.", _CROSSING_COLUMNS, True
    ),
    Layer(
        "joint_bays",
        ("Point Z",),
        "Where the cables are jointed: as few bays as drums, pulls and land allow.",
        JOINT_BAY_COLUMNS,
        True,
    ),
    Layer(
        "crossing_ways",
        (),
        "Every way to pass each crossing: what it would cost more, or why it can't be.",
        _CROSSING_WAY_COLUMNS,
        True,
    ),
    Layer(
        "alternatives",
        ("LineString",),
        "Other plans on the frame that really differ: each the cheapest that passes some crossing otherwise.",
        (
            _CORRIDOR,
            text("alternative_id", "Name of the alternative."),
            Column("rank", "integer", "-", "Place by cost, 1 the cheapest.", minimum=1),
            text(
                "about_id",
                "First crossing of the schedule that it passes otherwise; NULL where the plan meets none.",
                null=True,
            ),
            text("instead", "What it does otherwise, crossing by crossing."),
            Column("n_otherwise", "integer", "-", "Crossings that it passes otherwise.", minimum=1),
            _amount("What it costs on the frame.", "cost_eur"),
            _amount("What it costs more than the plan on the frame.", "extra_eur"),
            _amount(
                "Its items that steer the search, measured on its exact geometry; not refined, not smoothed.",
                "measured_eur",
                null=True,
            ),
            _amount(
                "The same, more than the plan on the frame before it was refined, measured alike.",
                "measured_extra_eur",
                null=True,
            ),
            Column("breaches", "integer", "-", "What the audit finds in breach on it.", minimum=0),
            real(
                "overlap_frac",
                "-",
                "Length of moves and drives that the plan has too, by the longer.",
                0.0,
                1.0,
            ),
            real(
                "departure_overlap_frac",
                "-",
                "The same of what the plan has not, with a cheaper alternative: the largest.",
                0.0,
                1.0,
            ),
            _length("Plan length on the frame."),
            Column("drives", "integer", "-", "Number of drives.", minimum=0),
            Column("shafts", "integer", "-", "Number of shafts.", minimum=0),
        ),
        True,
    ),
    Layer(
        "binding_limits",
        (),
        "What each pin, limit and ban costs: the optimum on the frame found anew without it; only with "
        "`explain.limit_prices`.",
        (
            _CORRIDOR,
            text(
                "limit",
                "Which kind.",
                "pin_shaft",
                "pin_via",
                "least_trench",
                "string_land",
                "forces",
                "grout",
                "crossing_angle",
                "compound_land",
                "crossing_ban",
                "land_ban",
                "drive_ban",
                "shaft_ban",
                "shaft_land_ban",
                "pin_no_shaft",
                "method_ban",
            ),
            text("binds", "Whether the plan on the frame costs less without it.", "yes", "no", "unknown"),
            _amount(
                "How much less; 0 where it does not bind, NULL where that was not looked for.",
                "saving_eur",
                null=True,
            ),
            text("reason", "The same as a sentence, with the place of a pin or the crossing."),
        ),
        True,
    ),
    Layer("checks", (), "Each check with demand, capacity, utilisation and status.", _CHECK_COLUMNS, True),
    Layer("bill", (), "Bill of quantities, line by line.", _BILL_COLUMNS, True),
    Layer("costs_apart", (), "What is not in the bill's total, by assumption.", _APART_COLUMNS, True),
    Layer(
        "long_section",
        (),
        "The profile along the alignment.",
        (
            _CORRIDOR,
            _chainage("Along the alignment."),
            real("ground_m", "m", "Level of the ground."),
            real("invert_m", "m", "Level of the bore's invert or the trench's bottom.", null=True),
            real("cover_m", "m", "Ground to crown of the bore, or to the pipes in the trench.", null=True),
            real("required_cover_m", "m", "Required cover.", 0.0, null=True),
            real("groundwater_m", "m", "Level of the groundwater.", null=True),
            text("construction", "Open cut or drive.", *CONSTRUCTIONS),
        ),
        True,
    ),
    Layer(
        "drive_curves", (), "Pressures, forces and settlement along each drive.", DRIVE_CURVE_COLUMNS, True
    ),
    Layer(
        "cable_curve",
        (),
        "The cables along the whole route: depth, rating, temperatures, field.",
        CABLE_CURVE_COLUMNS,
        True,
    ),
    Layer(
        "cable_sections",
        (),
        "The cables from joint to joint: drum, pulls from both ends, what governs.",
        CABLE_SECTION_COLUMNS,
        True,
    ),
    *REGISTERS,
    Layer(
        "run_record",
        (),
        "How the results came about: versions, input hashes, assumptions, frame error, warnings, cautions.",
        (_CORRIDOR, text("key", "Name of the entry."), text("value", "Its value as text.", null=True)),
        True,
    ),
)

LAYERS_BY_NAME: dict[str, Layer] = {layer.name: layer for layer in RESULT_LAYERS}
