"""Bill items of the site, the trench, crossings, land and investigation.

Room: ``money``. Pure data; codes, descriptions and rules are routescreen's own.
"""

from __future__ import annotations

from routescreen.money.item import afterwards_item, later_item, searched_item

GENERAL = (
    afterwards_item(
        "GE01",
        "Setting up and clearing the site of one contract lot",
        "lot",
        "Contract lots of the link: length / length of a lot, rounded half up, at least 1.",
    ),
    afterwards_item(
        "GE02",
        "Running the site of a lot",
        "month",
        "Months that a lot takes by assumption x contract lots; shown apart, not in the total.",
    ),
    afterwards_item(
        "GE03",
        "Owner's engineering, permits, supervision and insurance",
        "%",
        "Hundredths of the works' amount without cable supply; shown apart, not in the total.",
    ),
    later_item(
        "GE04",
        "Provisional sum: measures that checks ask for and no item holds",
        "EUR",
        "What the checks say that they would cost: keeping the trench dry at the 100-year groundwater, "
        "sealed eyes, tight shafts, larger shafts for joints; shown apart, not in the total.",
    ),
    afterwards_item(
        "MO10", "Two-pass rig to and from the project", "set", "Rigs of the method, no more than its drives."
    ),
    afterwards_item(
        "MO20",
        "Guided thrust boring rig to and from the project",
        "set",
        "Rigs of the method, no more than its drives.",
    ),
    afterwards_item(
        "MO30",
        "Drilling rig to and from the project",
        "set",
        "Rigs of the method, no more than its drives.",
    ),
    afterwards_item(
        "MO40",
        "Pipe-jacking plant to and from the project",
        "set",
        "Rigs of the method, no more than its drives.",
    ),
    searched_item(
        "MO11",
        "Moving a two-pass rig to a launch shaft and erecting it",
        "launch",
        "Launches; both ways from one shaft count once times the both-ways factor.",
    ),
    searched_item(
        "MO21",
        "Moving a guided thrust boring rig to a launch pit and erecting it",
        "launch",
        "Launches; both ways from one pit count once times the both-ways factor.",
    ),
    searched_item("MO31", "Erecting the drilling rig for the first bore of a drive", "each", "Drives."),
    searched_item("MO32", "Shifting the drilling rig to a further bore", "each", "Bores of a drive less 1."),
    searched_item(
        "MO41",
        "Moving the pipe-jacking plant to a launch shaft and erecting it",
        "launch",
        "Launches; both ways from one shaft count once times the both-ways factor.",
    ),
)

_SECTION_RULE = (
    "Area of the sloped or braced section below the topsoil that item TR10 strips, in this class, x length; "
    "deeper slices, cramped ground cover and the narrow strip by their factors. Ramps behind shafts: what is "
    "dug beyond the trench."
)

TRENCH = (
    searched_item(
        "TR10",
        "Stripping, storing and re-spreading topsoil",
        "m3",
        "Width of the strip x share stripped x thickness x length, and area of compounds, layout strips and "
        "access roads x thickness; none where only the trench is reinstated.",
    ),
    searched_item("TR20", "Digging the trench in sand or gravel, three heaps", "m3", _SECTION_RULE),
    searched_item("TR21", "Digging the trench in silt or clay, three heaps", "m3", _SECTION_RULE),
    searched_item("TR22", "Digging the trench in till with boulders", "m3", _SECTION_RULE),
    searched_item("TR23", "Digging the trench in weak rock", "m3", _SECTION_RULE),
    searched_item("TR24", "Digging the trench in hard rock", "m3", _SECTION_RULE),
    searched_item("TR25", "Digging the trench in peat, from mats", "m3", _SECTION_RULE),
    searched_item("TR26", "Digging the trench in made ground", "m3", _SECTION_RULE),
    searched_item(
        "TR30",
        "Trench boxes",
        "m2",
        "Both faces of each trench where no slope fits and the bottom is dry; space factors as for digging.",
    ),
    searched_item(
        "TR31",
        "Sheet piles driven and drawn",
        "m2",
        "Both faces of each trench with embedment where no slope fits and water stands above the bottom.",
    ),
    searched_item(
        "TR40",
        "Keeping the trench dry by pumped sumps",
        "m",
        "Trenches x length with little water above the bottom, or in ground too tight for well points; space "
        "factors as for digging.",
    ),
    searched_item(
        "TR41",
        "Lowering the groundwater by well points",
        "m",
        "Trenches x length with more water above the bottom in pervious ground, twice where it is too coarse "
        "for one row; space factors as for digging.",
    ),
    searched_item(
        "TR50",
        "Bedding of thermally checked sand",
        "m3",
        "Bedding zone over the full width of the section less the pipes; space factors as for digging.",
    ),
    searched_item(
        "TR51",
        "Bedding of flowable thermal fill",
        "m3",
        "Bedding zone over the full width of the section less the pipes; space factors as for digging.",
    ),
    searched_item(
        "TR52",
        "Backfilling in layers, compacted",
        "m3",
        "Section below the topsoil of item TR10 less the bedding zone, by the soil's backfill factor; space "
        "factors as for digging. Ramps behind shafts: what is dug for them beyond the trench.",
    ),
    searched_item(
        "TR60",
        "Hauling and disposing of clean surplus soil",
        "m3",
        "In place: bedding zone with its pipes, base plugs, conducting fill of shafts, soil bored dry; by "
        "the soil's share.",
    ),
    searched_item(
        "TR61", "Hauling and disposing of slightly loaded surplus soil", "m3", "As TR60, by the soil's share."
    ),
    searched_item(
        "TR62", "Hauling and disposing of loaded surplus soil", "m3", "As TR60, by the soil's share."
    ),
    later_item(
        "TR63",
        "Hauling and disposing of hazardous surplus soil",
        "m3",
        "As TR60, where an investigation names it.",
    ),
    searched_item(
        "TR80",
        "Haul road of stone on geotextile, laid and removed",
        "m2",
        "Width of the haul road x length; none on paved ground.",
    ),
    searched_item(
        "TR81", "Fences, temporary drains, restored field drains", "m", "Length of the working strip."
    ),
    searched_item(
        "TR82", "Upgrades, junctions and repairs of public roads", "m", "Length of the working strip."
    ),
    searched_item(
        "TR90",
        "Laying pipe in the trench: stringing, welding, lowering",
        "m",
        "Pipes x length, in a trench with space factors as for digging, and in an entered tunnel.",
    ),
    searched_item("TR91", "Cover plates, warning tape, duct for optical fibres", "m", "Trenches x length."),
)

_MET = "Crossings entered by the trench, once for all trenches."
_UNDER = "Crossings passed by trench or drive."
_DRIVEN = "Crossings with a drive underneath."

CROSSINGS = (
    searched_item("CR10", "Open cut of a minor road with its traffic", "each", _MET),
    searched_item("CR11", "Open cut of a track", "each", _MET),
    searched_item("CR12", "Open cut of a path", "each", _MET),
    searched_item("CR13", "Open cut of a ditch, dammed and pumped over", "each", _MET),
    searched_item("CR14", "Open cut of a stream, led through a flume", "each", _MET),
    searched_item(
        "CR15", "Exposing and supporting a water main, sewer, power cable or telecom line", "each", _MET
    ),
    searched_item("CR16", "Exposing and supporting a gas or product pipeline", "each", _MET),
    searched_item("CR17", "Goal posts and watch under a power line", "each", _MET),
    searched_item("CR18", "Opening and replanting a hedge", "each", _MET),
    searched_item("AG10", "Agreement and possession: railway", "each", _UNDER),
    searched_item("AG11", "Agreement: motorway, waterway, dyke", "each", _UNDER),
    searched_item("AG12", "Agreement: road, pipeline, water or nature area", "each", _UNDER),
    searched_item("AG13", "Agreement: other owners", "each", _UNDER),
    searched_item("MN10", "Monitoring of a railway", "each", _DRIVEN),
    searched_item("MN11", "Monitoring of a motorway, tram or dyke", "each", _DRIVEN),
    searched_item("MN12", "Survey of the bed of a river, canal or lake", "each", _DRIVEN),
)

_BESIDE = (
    ", and area of compounds, layout strips and access roads / width of the working strip; none of these "
    "where only the trench is reinstated."
)

LAND = (
    searched_item("LA12", "Crop follow-up and lost time of farms", "m2", "Temporary land on farmed classes."),
    searched_item(
        "LA13",
        "Compensation of nature, planting, early measures",
        "m2",
        "Temporary land x the class's nature factor.",
    ),
    searched_item(
        "GI10",
        "Borehole, sampled, tested, grouted",
        "m",
        "One at each shaft and those between, to the shaft's depth and below it.",
    ),
    later_item("GI11", "Cone test", "m", "Between boreholes; the investigation plan has none yet."),
    searched_item("GI12", "Piezometer", "each", "Shafts."),
    afterwards_item(
        "GI14",
        "Further boreholes of the investigation plan, sampled, tested, grouted",
        "m",
        "What the plan asks for beyond item GI10, section by section, at the rate of GI10.",
        rate_code="GI10",
    ),
    searched_item("GI13", "Probing and soil map of the strip", "m", "Length of the working strip."),
    searched_item("UX10", "Survey for explosives and clearance at a shaft", "each", "Shafts."),
    searched_item(
        "UX11", "Survey for explosives along the strip", "m", "Length of the working strip" + _BESIDE
    ),
    searched_item(
        "UX12",
        "Survey for explosives along the bores under a crossing",
        "each",
        "Crossings with a drive underneath whose treatment asks for it.",
    ),
    searched_item(
        "AR10",
        "Archaeological watch",
        "m",
        "Length of the working strip, on a known site by the site's factor" + _BESIDE,
    ),
    searched_item("SV10", "Soil supervision", "m", "Length of the working strip" + _BESIDE),
    searched_item("TE10", "As-built survey, markers, register", "m", "Length of open cut."),
    searched_item("TE11", "Survey of a bore before the next one", "m", "True length of the bores."),
)
