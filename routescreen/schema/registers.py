"""The registers of the results: ground investigation, agreements, hazards, land, earthworks, constraints.

Room: ``schema``. Pure data.
"""

from __future__ import annotations

from routescreen.schema.model import Column, Layer, real, text

HAZARD_STATES = ("applies", "not_evaluated")
CONSTRAINTS = (
    "closed_season",
    "no_night_work",
    "uninterruptible",
    "must_not_stand",
    "strings_across",
    "dug_after_pull_in",
)
EARTHWORKS = ("open_cut", "drive", "shaft")

_CORRIDOR = text("corridor_id", "The corridor it belongs to.")
_SECTION = text("section_id", "Section it lies in.", null=True)
_DRIVE = text("drive_id", "Its drive, if any.", null=True)
_SHAFT = text("shaft_id", "Its shaft, if any.", null=True)


def _m(name: str, meaning: str, *, null: bool = False) -> Column:
    return real(name, "m", meaning, 0.0, null=null)


def _m2(name: str, meaning: str) -> Column:
    return real(name, "m2", meaning, 0.0)


def _m3(name: str, meaning: str, *, null: bool = False) -> Column:
    return real(name, "m3", meaning, 0.0, null=null)


def _months(name: str, meaning: str) -> Column:
    return real(name, "months", meaning, 0.0, null=True)


def _hours(name: str, meaning: str) -> Column:
    return real(name, "h", meaning, 0.0, null=True)


INVESTIGATION_PLAN = Layer(
    "investigation_plan",
    ("Point",),
    "Where to look into the ground before the design: boreholes at shafts and along drives, probings along "
    "the trench.",
    (
        _CORRIDOR,
        text("borehole_id", "Name of the borehole or probing, by chainage."),
        text("kind", "What is sunk there.", "borehole", "probing"),
        _SECTION,
        _DRIVE,
        _SHAFT,
        _m("chainage_m", "Along the alignment."),
        real("offset_m", "m", "From the alignment, right positive looking up-chainage."),
        _m("depth_m", "Below ground."),
        text("reason", "Why there, and why so deep."),
        text("tests", "What to find out."),
        text("remark", "What makes it hard to get at.", null=True),
    ),
    True,
)

AGREEMENTS = Layer(
    "agreements",
    (),
    "Who must agree to each crossing, and to strings laid out across something, to what, how long it takes.",
    (
        _CORRIDOR,
        text(
            "crossing_id",
            "The crossing in the schedule; NULL for strings laid out beside the alignment.",
            null=True,
        ),
        text("drive_id", "The drive whose strings lie across it, if that is to be agreed.", null=True),
        text("feature_id", "Features of the input that make it up, joined by `;`."),
        text("kind", "Kind of the feature."),
        text("name", "Its name.", null=True),
        text("owner", "Who must agree; `not known` where the input doesn't say."),
        _m("chainage_m", "Where the alignment meets it, or comes nearest to it."),
        _SECTION,
        text(
            "treatment",
            "How it is crossed; `strings`: laid out across it.",
            "open_cut",
            "trenchless",
            "strings",
        ),
        _months("lead_low_months", "From application to agreement, at best."),
        _months("lead_expected_months", "The same, expected."),
        _months("lead_high_months", "The same, to be safe."),
        text("monitoring", "What is watched while the works pass; NULL for nothing.", null=True),
        text("to_agree", "What must be agreed."),
    ),
    True,
)

HAZARDS = Layer(
    "hazards",
    (),
    "What may go wrong at each drive, shaft and open cut, why here, what guards against it, and who must "
    "sign.",
    (
        _CORRIDOR,
        text("section_id", "Its section, if it is an open cut.", null=True),
        _DRIVE,
        _SHAFT,
        text("hazard", "What may go wrong."),
        text("state", "Whether it applies here, or what decides it isn't known.", *HAZARD_STATES),
        text("cause", "Why here, with the numbers; or what isn't known."),
        text("guard", "What to do."),
        text("who_signs", "Roles that must sign before work starts."),
    ),
    True,
)

PARCELS_USED = Layer(
    "parcels_used",
    (),
    "Land taken for the works and for good: by parcel where the input has parcels, else by ground cover.",
    (
        _CORRIDOR,
        text("parcel_id", "The parcel; NULL for land in none, or where no parcels are given.", null=True),
        text("owner", "Its owner; `not known` where the input doesn't say.", null=True),
        text("cover", "Class of ground cover, where no parcels are given.", null=True),
        _m2("temporary_m2", "Land used while building: the next three together, nothing counted twice."),
        _m2("working_strip_m2", "Of it the working strip of open cut."),
        _m2("compounds_m2", "Of it compounds outside the strip."),
        _m2("layout_strips_m2", "Of it layout strips outside strip and compounds."),
        _m2("permanent_m2", "Land under easement: protective strip of the trenches, and above the bores."),
    ),
    True,
)

EARTHWORKS_LAYER = Layer(
    "earthworks",
    (),
    "What is dug, heaped, filled again and hauled away: by open cut, drive and shaft. Volumes in place "
    "unless called loose; those of the bill's own rules, without its price factors.",
    (
        _CORRIDOR,
        text("works", "What is dug.", *EARTHWORKS),
        _SECTION,
        _DRIVE,
        _SHAFT,
        _m("length_m", "Plan length of open cut, true length of the drive; NULL for a shaft.", null=True),
        text("width_rule", "What the width of the trench's bottom follows; NULL elsewhere.", null=True),
        _m("bottom_width_m", "Largest bottom width of one trench.", null=True),
        _m("top_width_m", "Largest width of one trench at the ground.", null=True),
        _m3("topsoil_m3", "Topsoil stripped from the strip or the site and stored (bill: TR10)."),
        _m3(
            "dug_m3",
            "Dug: trench section below the topsoil, hole of a shaft with its approach cut, or bores.",
        ),
        _m3("subsoil_m3", "Of the trench: below the topsoil, to the subsoil's base.", null=True),
        _m3("parent_m3", "Of the trench: below the subsoil.", null=True),
        _m3("kept_m3", "Filled in again."),
        _m3("hauled_m3", "Hauled away (bill: TR60 to TR62, spoil of the bores)."),
        _m3("hauled_loose_m3", "The same, loose, by the bulking of the soil there."),
        real("lorry_loads", "-", "Loads that haul it away.", 0.0),
        _m("topsoil_heap_m", "Height of the topsoil's heap where the strip is fullest.", null=True),
        _m("subsoil_heap_m", "Height of the subsoil's heap there.", null=True),
        _m("parent_heap_m", "Height of the parent material's heap there.", null=True),
        _m("strip_needed_m", "Width that trenches, heaps and haul road ask for there.", null=True),
        _m("strip_m", "Width of the working strip there.", null=True),
        _m("strip_chainage_m", "Where that is.", null=True),
    ),
    True,
)

CONSTRAINTS_LAYER = Layer(
    "constraints",
    (),
    "What binds the programme: closed seasons, quiet nights, tasks without a break.",
    (
        _CORRIDOR,
        _SECTION,
        _DRIVE,
        _SHAFT,
        text("constraint", "What kind it is.", *CONSTRAINTS),
        text("title", "What it says."),
        text("from_month_day", "First closed day of the year, month and day.", null=True),
        text("to_month_day", "Last closed day of the year.", null=True),
        real("from_h", "h", "Hour of the day from which no work is allowed.", 0.0, 24.0, null=True),
        real("to_h", "h", "Hour of the day from which work is allowed again.", 0.0, 24.0, null=True),
        _m("from_chainage_m", "Where it begins."),
        _m("to_chainage_m", "Where it ends."),
        _m("length_m", "Length of works between that it binds."),
        _hours("low_h", "Hours that the task takes without a break, at best."),
        _hours("expected_h", "The same, expected."),
        _hours("high_h", "The same, at worst."),
        text("reason", "What brings it about."),
    ),
    True,
)

REGISTERS = (
    INVESTIGATION_PLAN,
    AGREEMENTS,
    HAZARDS,
    PARCELS_USED,
    EARTHWORKS_LAYER,
    CONSTRAINTS_LAYER,
)
