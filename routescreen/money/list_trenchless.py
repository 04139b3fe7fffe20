"""Bill items of drives, pipes, shafts, compounds and cable.

Room: ``money``. Pure data; codes, descriptions and rules are routescreen's own.
"""

from __future__ import annotations

from routescreen.money.item import afterwards_item, searched_item

DRIVES = (
    searched_item("DR10", "Two-pass: setting up frame and guidance, machine into the eye", "bore", "Bores."),
    searched_item(
        "DR11",
        "Two-pass: driving the bore",
        "m",
        "True length of the bores x soil factor x (bore diameter / reference)^exponent.",
    ),
    searched_item("DR12", "Two-pass: taking the machine out and back", "bore", "Bores."),
    searched_item("DR13", "Two-pass: wear of the jacking string", "m", "True length of the bores."),
    searched_item("DR14", "Two-pass: pulling in the protection pipe", "m", "True length of the bores."),
    searched_item(
        "DR15",
        "Grouting the annulus",
        "m3",
        "Area between bore and pipe x true length of the bores x (1 + loss).",
    ),
    searched_item(
        "DR16", "Two-pass: lubrication, steering, surface guide cable, gyro", "m", "True length of the bores."
    ),
    searched_item(
        "DR17",
        "Separating the slurry and disposing of the spoil",
        "m3",
        "In place: area of the bore x true length of the bores.",
    ),
    afterwards_item("DR19", "Standing time that is ordered", "h", "Allowance of hours x drives."),
    searched_item("DR20", "Guided thrust boring: setting up", "bore", "Bores."),
    searched_item(
        "DR21",
        "Guided thrust boring: pilot, augering, thrusting",
        "m",
        "True length of the bores x soil factor.",
    ),
    afterwards_item(
        "DR22",
        "Lowering the groundwater along a drive by well points",
        "m",
        "Both sides x true length of the drive where the groundwater as given stands further above its axis "
        "than the method drives through, in as many rows as TR41, at its rate.",
        rate_code="TR41",
    ),
    searched_item(
        "DR30",
        "Drilling: pilot, reaming, pulling in",
        "m",
        "True length of the bores x soil factor x diameter / reference.",
    ),
    searched_item(
        "DR31",
        "Drilling: treating and disposing of mud and cuttings",
        "m3",
        "Multiple of area of the bore x true length of the bores.",
    ),
    searched_item(
        "DR40",
        "Pipe jacking with entry, pipe included",
        "m",
        "True length of the tunnel x soil factor x (diameter / reference)^exponent.",
    ),
    searched_item("DR41", "Pipe jacking: setting up, seal, intermediate stations", "launch", "Launches."),
    searched_item(
        "DR42", "Pipe jacking: fitting out with pipes on saddles, filling", "m", "True length of the tunnel."
    ),
    searched_item(
        "PR01",
        "Provisional sum: rescue shaft or obstruction",
        "event",
        "Events per 1 000 m of bore in the soil x true length of the bores.",
    ),
    afterwards_item(
        "PR02",
        "Provisional sum: bore driven anew where no rescue shaft can stand, besides PR01",
        "m",
        "Events along the bores under what bears no rescue shaft, gaps too short for one included, x true "
        "length of the drive; none where the bore can be entered.",
    ),
    searched_item(
        "PI10", "Protection pipe, supplied", "kg", "Mass per metre x length of the pipes x (1 + waste)."
    ),
    searched_item(
        "PI11",
        "Butt weld of the pipe string, bead removed",
        "joint",
        "Pieces of pipe, length / piece rounded up, x pipes x factor by diameter.",
    ),
    searched_item(
        "PI12", "Tie-in weld while the rig stands", "weld", "Pieces of the string less 1, x bores."
    ),
    searched_item(
        "PI13",
        "Layout strip: rollers, matting",
        "m2",
        "Width of the strip x (string piece + working length) x bores; its topsoil is TR10.",
    ),
    searched_item("PI14", "Calibrating and pressure-testing the pipe", "m", "Length of the pipes."),
    searched_item(
        "PI15", "Filling the pipe round the cable", "m", "Length of the pipes, where the fill is not air."
    ),
)

_DUG = "Inside plan area x depth within the band x soil factor; the band's factor below its items."
_PLUG_DUG = (
    "Inside plan area x thickness of the wet base plug within the band x soil factor, at the rate of the "
    "wet band."
)

_RAMP_WALL = (
    "Both faces of each dig on the ramp from the ground to below its bottom, within the band, where slopes "
    "do not stand, have no room, would need deep lowering of the water, or cost more; tight below the "
    "highest groundwater."
)

SHAFTS = (
    searched_item(
        "SH01",
        "Setting up a shaft: cranes, ladders, fence",
        "each",
        "Shafts; thrust-boring pits hold it in their rate.",
    ),
    searched_item("SH10", "Shaft in dry ground, 0 to 4 m", "m3", _DUG),
    searched_item("SH11", "Shaft in dry ground, 4 to 8 m", "m3", _DUG),
    searched_item("SH12", "Shaft in dry ground, below 8 m", "m3", _DUG),
    searched_item(
        "SH13",
        "Shaft below groundwater, tight wall, 0 to 4 m",
        "m3",
        _DUG + " The whole shaft once its bottom lies below the water.",
    ),
    searched_item(
        "SH14",
        "Shaft below groundwater, tight wall, 4 to 8 m",
        "m3",
        _DUG + " The whole shaft once its bottom lies below the water.",
    ),
    searched_item(
        "SH15",
        "Shaft below groundwater, tight wall, below 8 m",
        "m3",
        _DUG + " The whole shaft once its bottom lies below the water.",
    ),
    searched_item(
        "SH16", "Digging for the base plug under water, 0 to 4 m", "m3", _PLUG_DUG, rate_code="SH13"
    ),
    searched_item(
        "SH17", "Digging for the base plug under water, 4 to 8 m", "m3", _PLUG_DUG, rate_code="SH14"
    ),
    searched_item(
        "SH18", "Digging for the base plug under water, below 8 m", "m3", _PLUG_DUG, rate_code="SH15"
    ),
    searched_item(
        "SH20",
        "Base plug or slab of concrete",
        "m3",
        "Inside plan area x thickness, wet or dry; between the walls of wet ramps x the thickness of theirs.",
    ),
    afterwards_item(
        "SH21",
        "Anchors against uplift of the base",
        "kN",
        "Uplift under the base plug at the 100-year water that its weight does not hold, by the check of the "
        "base.",
    ),
    searched_item(
        "SH22",
        "Eye: seal and treated block",
        "eye",
        "Bores at the end of each drive, in dry ground x the dry factor; pits hold it in their rate.",
    ),
    searched_item(
        "SH23", "Thrust wall or block", "bore", "Bores launched; thrust-boring pits hold it in their rate."
    ),
    searched_item(
        "SH24",
        "Pumping, treating and discharging residual water",
        "month",
        "Shafts and pits below groundwater as given x months open besides their drives, and x months that "
        "each drive takes: bores x (set-up, recovery, pull-in, metres / metres a day); ramps below the "
        "highest groundwater x their months.",
    ),
    afterwards_item(
        "SH25",
        "Flood rim or evacuation plan",
        "each",
        "Shafts that a flood of 100 years with its freeboard reaches; none where no flood zones are given.",
    ),
    searched_item(
        "SH26",
        "Backfilling a shaft, cutting down its walls",
        "m3",
        "Inside plan area x depth, less the slab of a dry shaft; thrust-boring pits hold it in their rate.",
    ),
    afterwards_item(
        "SH27",
        "Larger thrust block, extra over",
        "bore",
        "Bores launched x (area that the check of the thrust wall asks for / usual area - 1), at the rate of "
        "the usual block.",
        rate_code="SH23",
    ),
    searched_item(
        "SH28",
        "Wells round a shaft or pit that isn't tight",
        "m",
        "Perimeter / distance of wells, rounded up, x (depth + length below the bottom): pits below the "
        "highest groundwater, shafts that only the highest reaches; along both sides of ramps with slopes "
        "below the highest groundwater; twice in very pervious ground, none in tight.",
    ),
    searched_item(
        "SH29",
        "Conducting flowable fill in a shaft instead of what was dug, extra over item SH26",
        "m3",
        "Inside plan area x (depth - depth to which walls are cut), less the pipes of all cables along it: "
        "shafts below groundwater whose cables would get too warm in backfill that dries out. What it "
        "displaces is hauled, items TR60 to TR62.",
    ),
    *(
        searched_item(code, f"Wall of a ramp behind a shaft, {where}, {band}", "m2", _RAMP_WALL)
        for code, where, band in (
            ("SH40", "dry ground", "0 to 4 m"),
            ("SH41", "dry ground", "4 to 8 m"),
            ("SH42", "dry ground", "below 8 m"),
            ("SH43", "tight", "0 to 4 m"),
            ("SH44", "tight", "4 to 8 m"),
            ("SH45", "tight", "below 8 m"),
        )
    ),
    searched_item("SH30", "Entry or exit pit of a drilled bore", "each", "Bores x 2."),
    searched_item("SH31", "Pit for thrust boring, complete", "m3", "Inside plan area x depth."),
    searched_item(
        "CO10",
        "Compound: geotextile, stone, removal",
        "m2",
        "Area of the larger compound of the shaft's roles; overlap with the trench strip is not taken off; "
        "its topsoil is TR10.",
    ),
    searched_item("CO11", "Temporary access road", "m", "Distance to the nearest road that carries plant."),
    searched_item(
        "CO12", "Power, water and noise screen at a launch", "each", "Launch shafts, once for both ways."
    ),
    searched_item(
        "CO13",
        "Approach cut for the pipe string",
        "m3",
        "In place, by the cold bend of the pipe: all strings behind each reception, overlaps once.",
    ),
)

CABLE = (
    searched_item("CA10", "DC cable, supplied to the drum place", "m", "Cables x true length x (1 + waste)."),
    searched_item("CA11", "Pulling the DC cable", "m", "Cables x true length."),
    afterwards_item(
        "CA12",
        "Joint of the DC cable",
        "each",
        "Joint bays a system, as placed by drum, pull and land, x systems x cables in a system.",
    ),
    afterwards_item(
        "CA13",
        "Joint bay: pit, slab, shelter, crane pad",
        "each",
        "Joint bays a system, as placed by drum, pull and land, x systems.",
    ),
    searched_item(
        "CA14",
        "Laying pipes in the bends of a ramp from bore to trench, extra over trench",
        "m",
        "Plan length of the ramp x cables, longer where the cables are held apart to bear the current; one "
        "ramp a shaft, the dearest with its dig by the shaft's roles and ground; between two drives it is a "
        "reserve for the way from bore to bore, none is dug.",
    ),
    afterwards_item(
        "CA15",
        "Tests of cable and outer sheath",
        "each",
        "Systems x tests along the link (length / length of a test, rounded up).",
    ),
    searched_item(
        "CA16", "Metallic return cable, supplied", "m", "Return cables x true length x (1 + waste)."
    ),
    searched_item("CA20", "AC cable, supplied to the drum place", "m", "Cables x true length x (1 + waste)."),
    searched_item("CA21", "Pulling the AC cable", "m", "Cables x true length."),
    afterwards_item(
        "CA22", "Joint of the AC cable", "each", "Joint bays a system x systems x cables in a system."
    ),
)
