"""Columns of the tables along drives and cables.

Room: ``schema``. Pure data.
"""

from __future__ import annotations

from routescreen.schema.model import Column, real, text

_CORRIDOR = text("corridor_id", "The corridor it belongs to.")
_SECTION_ID = text("section_id", "Section it lies in.")


def _chainage(meaning: str, name: str = "chainage_m") -> Column:
    return real(name, "m", meaning, 0.0)


DRIVE_CURVE_COLUMNS = (
    _CORRIDOR,
    text("drive_id", "The drive, its points in order from the launch on."),
    _chainage("Along the alignment."),
    real("from_launch_m", "m", "True distance from the launch.", 0.0),
    real("ground_m", "m", "Level of the terrain, over the bore with least cover there.", null=True),
    real("bed_m", "m", "What the cover counts from: terrain, or bed less its survey's tolerance.", null=True),
    real("crown_m", "m", "Level of the bore's crown."),
    real("cover_m", "m", "From bed_m to the crown; below 0 the bore lies bare.", null=True),
    real("water_kPa", "kPa", "Pressure of the groundwater at the crown.", 0.0, null=True),
    real("total_stress_kPa", "kPa", "Weight of ground and water on the crown.", 0.0, null=True),
    real("least_face_kPa", "kPa", "Least pressure that holds the face, at the axis.", 0.0, null=True),
    real("face_kPa", "kPa", "Highest pressure at the crown while the face advances.", null=True),
    real("mud_kPa", "kPa", "Pressure of the mud at rest at the crown.", 0.0, null=True),
    real(
        "grout_kPa", "kPa", "Pressure of the grout at the crown, its vent as low as may be.", 0.0, null=True
    ),
    real("limit_kPa", "kPa", "Pressure at the crown at which the ground breaks out.", null=True),
    real("amber_kPa", "kPa", "Pressure at the crown beyond which it is near being lifted.", 0.0, null=True),
    real("thrust_low_kN", "kN", "Thrust after a stop with the face there, at low friction.", null=True),
    real("thrust_kN", "kN", "The same at expected friction.", null=True),
    real("thrust_high_kN", "kN", "The same at high friction.", null=True),
    real("pull_pipe_kN", "kN", "Pull on the pipe after a stop with its head there.", 0.0, null=True),
    real("pull_rig_kN", "kN", "Pull of the rig then: pipe, and string still in the ground.", 0.0, null=True),
    real("settlement_mm", "mm", "Largest settlement over the bores.", 0.0, null=True),
)

CABLE_CURVE_COLUMNS = (
    _CORRIDOR,
    _chainage("Along the alignment; at the seam of two parts a point for each."),
    text("section_id", "Section it lies in; a ramp lies in the open cut it leads to."),
    text("construction", "Open cut, ramp between bore and trench, or drive.", "open_cut", "ramp", "drive"),
    real("depth_m", "m", "Of the deepest cable's axis below ground, under water below the bed.", null=True),
    real("spacing_m", "m", "Least distance between neighbouring cables, across.", 0.0, null=True),
    real("ground_degC", "degC", "Highest temperature of the year there, without the cables.", null=True),
    real("rating_A", "A", "What the hottest cable lets all of them carry.", 0.0, null=True),
    text(
        "ruled_by",
        "Ground that stays moist, or dries out where it gets too warm; the others in older results only.",
        "moist",
        "drying",
        "dried",
        "neighbours",
        null=True,
    ),
    real("conductor_degC", "degC", "Of the hottest cable at the link's current.", null=True),
    real(
        "field_uT", "uT", "Largest magnetic field across, over all returns and pole orders.", 0.0, null=True
    ),
    real("field_both_poles_uT", "uT", "The same with both poles of all systems.", 0.0, null=True),
    real(
        "field_metallic_return_uT",
        "uT",
        "The same with one pole out and its current back through metal.",
        0.0,
        null=True,
    ),
    real(
        "compass_error_deg",
        "deg",
        "Largest angle by which a compass turns there, over all returns and pole orders.",
        0.0,
        180.0,
        null=True,
    ),
    real("soil_rise_first_K", "K", "Soil's rise at the first depth of report_depths_m.", 0.0, null=True),
    real("soil_rise_second_K", "K", "The same at the second depth.", 0.0, null=True),
)

_DRUM_SIDES = ("lower", "higher")


def _pulled(name: str, unit: str, suffix: str, meaning: str) -> tuple[Column, ...]:
    """Return a column for each end of the drum and each friction."""
    return tuple(
        real(
            f"{name}_from_{side}_{friction}{suffix}",
            unit,
            f"{meaning}, drum at the {side} chainage, {of}.",
            0.0,
        )
        for side in _DRUM_SIDES
        for friction, of in (("", "expected friction"), ("high_", "high friction"))
    )


JOINT_BAY_COLUMNS = (
    _CORRIDOR,
    text("bay_id", "Name of the bay; each system has one there."),
    _chainage("Along the alignment."),
    real("level_m", "m", "Level of the cables' axes."),
    text(
        "kind",
        "In the trench, in a shaft, or in a shaft that has to be made larger for it.",
        "in_trench",
        "in_shaft",
        "in_longer_shaft",
    ),
    _SECTION_ID,
    text("shaft_id", "Shaft it lies in; NULL in the trench.", null=True),
    real("cable_length_m", "m", "Length of one cable from the start of the link to it.", 0.0),
    real("section_back_m", "m", "Length of cable to the joint before, or to the start.", 0.0),
    real("section_on_m", "m", "Length of cable to the joint behind, or to the end.", 0.0),
    real(
        "pull_from_lower_kN",
        "kN",
        "Largest pull if the pole cable before it is pulled up to it, at expected friction.",
        0.0,
    ),
    real(
        "pull_from_higher_kN",
        "kN",
        "Largest pull if the pole cable behind it is pulled back to it, at expected friction.",
        0.0,
    ),
    real(
        "side_wall_kN_per_m",
        "kN/m",
        "Largest side wall of the pole cables on both sides of it, each pulled its better way.",
        0.0,
    ),
    text("cover", "Class of the ground cover there."),
)

CABLE_SECTION_COLUMNS = (
    _CORRIDOR,
    text("cable_section_id", "Name of the section of cable."),
    text("cable", "Cable of a pole or phase, or return cable.", "pole", "return"),
    _chainage("Joint or terminal where it begins.", "from_chainage_m"),
    _chainage("Joint or terminal where it ends.", "to_chainage_m"),
    real("length_m", "m", "Length of cable, ramps and slopes included.", 0.0),
    real("drum_t", "t", "Drum with this cable, at its expected mass.", 0.0),
    text("drum_at", "End at which the drum stands, so that least of the limits is used.", *_DRUM_SIDES),
    *_pulled("pull", "kN", "kN", "Largest pull"),
    *_pulled("side_wall", "kN/m", "kN_per_m", "Largest side wall"),
    text("governed_by", "Which uses more of its limit, drum where it should be.", "pull", "side_wall"),
    _chainage("Where that is largest.", "governing_chainage_m"),
    text("status", "Amber where a limit is passed at high friction.", "pass", "amber"),
)
