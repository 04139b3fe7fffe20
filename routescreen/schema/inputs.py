"""Every layer, column and raster that is read.

Room: ``schema``. Pure data.
"""

from __future__ import annotations

from routescreen.schema.model import Layer, Raster, number, option, real, text

_WHICH = option("corridor_id", "The corridor it belongs to; needed only when there are several.")

INPUT_LAYERS: tuple[Layer, ...] = (
    Layer(
        "corridor",
        ("Polygon", "LineString"),
        "Where the cables may lie: polygons, or a line for a fixed alignment. Several ids are several "
        "candidates.",
        (option("corridor_id", "Name of the candidate; `corridor` where the column is missing."),),
        is_required=True,
    ),
    Layer(
        "axis",
        ("LineString",),
        "Direction and start of the chainage; else derived from the corridor.",
        (_WHICH,),
    ),
    Layer(
        "terminals",
        ("Point",),
        "Start and end of the alignment; else the ends of the axis.",
        (text("role", "Which end of the alignment it is.", "start", "end"), _WHICH),
    ),
    Layer(
        "crossings",
        ("Point", "LineString", "Polygon"),
        "Everything that the route must cross or keep away from; may be empty. Columns other than `kind` "
        "override the assumptions of the kind for one feature.",
        (
            text("kind", "Kind of the feature, one of the assumptions' treatments."),
            option("feature_id", "The owner's or planner's own id; else `layer/fid`."),
            option("name", "Name for the schedule."),
            option("owner", "Who must agree."),
            option("treatment", "What it allows.", "open_cut", "trenchless", "avoid"),
            option("shaft_allowed", "Whether a shaft may stand in it.", "yes", "no", "consent"),
            number(
                "min_cover_m",
                "m",
                "Required cover over the crown; below its underside for a buried service.",
                0.0,
                100.0,
            ),
            number("min_angle_deg", "deg", "Least crossing angle.", 0.0, 90.0),
            number("half_width_m", "m", "Half the width of a feature drawn as a line or point.", 0.0, 2000.0),
            number("depth_m", "m", "Depth of the top of a buried service below ground.", 0.0, 100.0),
            number("diameter_m", "m", "Outer diameter of a buried service.", 0.0, 20.0),
            number(
                "heat_W_per_m",
                "W/m",
                "Heat that a buried service, such as a power cable or a district heating pipe, gives off all "
                "the year.",
                0.0,
                5000.0,
            ),
            number("water_depth_m", "m", "Depth of the water.", 0.0, 200.0),
            number("scour_m", "m", "Depth to which the bed may be scoured.", 0.0, 50.0),
            option(
                "wet_all_year",
                "Whether water stands on the bed all the year, so that the ground below can't dry out.",
                "yes",
                "no",
            ),
            number(
                "base_level_m",
                "m",
                "Level that the cover counts from, such as base or formation, of a water its scoured bed; "
                "not for services.",
                -500.0,
                9000.0,
            ),
        ),
        is_required=True,
    ),
    Layer(
        "ground",
        ("Polygon",),
        "What the ground is made of; elsewhere the assumptions hold.",
        (
            option("soil", "Soil class, one of the assumptions' soils."),
            number("groundwater_depth_m", "m", "Depth of the groundwater below ground.", 0.0, 500.0),
            number("rock_depth_m", "m", "Depth of the rock head below ground.", 0.0, 1000.0),
            option("rock_soil", "Soil class below the rock head; `rock_weak` where missing."),
        ),
    ),
    Layer(
        "access",
        ("LineString",),
        "Roads that can carry plant; else the crossings that are roads or tracks.",
        (),
    ),
    Layer(
        "parcels",
        ("Polygon",),
        "Land parcels: the land that the works take is measured by parcel and owner.",
        (text("parcel_id", "Number of the parcel."), option("owner", "Its owner.")),
    ),
    Layer(
        "investigations",
        ("Point",),
        "Boreholes: one feature a soil layer, those of one borehole sharing its id. "
        "The hazards of drives ask whether an old borehole stands near a bore; soils along the route "
        "come from the layer `ground` alone.",
        (
            text("borehole_id", "Name of the borehole."),
            text("soil", "Soil class, one of the assumptions' soils."),
            real("top_m", "m", "Depth of the layer's top below ground.", 0.0, 1000.0),
            real("base_m", "m", "Depth of the layer's base below ground.", 0.0, 1000.0),
        ),
    ),
    Layer(
        "flood_zones",
        ("Polygon",),
        "What a flood with a return period of 100 years reaches. Where the layer is given, the rest counts "
        "as out of its reach; without it floods are not evaluated.",
        (number("level_m", "m", "Level of the water in that flood.", -500.0, 9000.0),),
    ),
    Layer(
        "pins",
        ("Point",),
        "What the planner has already agreed.",
        (
            text(
                "role",
                "`via`: the alignment passes here; `shaft`: a shaft stands here; `no_shaft`: none stands "
                "within the radius.",
                "via",
                "shaft",
                "no_shaft",
            ),
            number("radius_m", "m", "How far the pin reaches, or may be moved.", 0.0, 5000.0),
            _WHICH,
        ),
    ),
)

INPUT_RASTERS: tuple[Raster, ...] = (
    Raster("terrain", "m", "Elevation of the ground; over water the water level.", True, -500.0, 9000.0),
    Raster(
        "ground_cover", "-", "Integer codes, mapped to cover classes by a code list.", False, 0.0, 32767.0
    ),
)

INPUTS_BY_NAME: dict[str, Layer] = {layer.name: layer for layer in INPUT_LAYERS}
