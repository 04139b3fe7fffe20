"""The rules of the hazard register for drives, shafts and open cut (common practice, no source).

Room: ``engineering``. Data only. Limits stand in the rules; a project may pass other rules.
"""

from __future__ import annotations

from routescreen.engineering.hazards import Condition, HazardRule

HAZARD_RULES = (
    HazardRule(
        "flood",
        "shaft",
        any_of=(
            Condition("flood_above_rim_m", "above", 0.0),
            Condition("is_in_flood_zone", "holds"),
            Condition("is_in_dyke_zone", "holds"),
        ),
        who_signs="water authority, site manager",
        what_to_do="Raise the rim above the flood, or set the level at which the shaft is left; move it out "
        "of a dyke's zone.",
    ),
    HazardRule(
        "gas",
        "both",
        any_of=(
            Condition("has_peat", "holds"),
            Condition("has_made_ground", "holds"),
            Condition("landfill_distance_m", "below", 250.0),
            Condition("gas_pipeline_distance_m", "below", 30.0),
        ),
        who_signs="safety coordinator",
        what_to_do="Measure gas before entry and all the time, ventilate, explosion-proof gear, rescue plan.",
    ),
    HazardRule(
        "confined space",
        "shaft",
        all_of=(Condition("depth_m", "above", 1.25),),
        who_signs="safety coordinator",
        what_to_do="Permit to enter, two ways out, rescue gear on site.",
    ),
    HazardRule(
        "obstruction",
        "drive",
        any_of=(
            Condition("has_obstacles", "holds"),
            Condition("obstruction_utilisation", "above", 1.0),
            Condition("event_probability", "above", 0.10),
        ),
        who_signs="geotechnical engineer",
        what_to_do="Look closer before the drive; hold land for a rescue shaft, or take an enterable method.",
    ),
    HazardRule(
        "no rescue shaft",
        "drive",
        all_of=(Condition("unreachable_m", "above", 0.0),),
        who_signs="designer, owner of the crossing",
        what_to_do="Say beforehand how a stuck machine is recovered, or that it is given up and the bore is "
        "drilled anew.",
    ),
    HazardRule(
        "uplift",
        "shaft",
        all_of=(Condition("head_above_base_m", "above", 0.0),),
        any_of=(
            Condition("uplift_utilisation", "above", 1.0),
            Condition("heave_utilisation", "above", 1.0),
        ),
        who_signs="designer of the shaft",
        what_to_do="Thicker plug, anchors or a deeper wall before the water is pumped out.",
    ),
    HazardRule(
        "water inrush at the eye",
        "shaft",
        all_of=(Condition("head_above_invert_m", "above", 0.0),),
        who_signs="designer of the shaft, site manager",
        what_to_do="Seal and treated block, probe them before the wall is opened, pumps stand by.",
    ),
    HazardRule(
        "thrust wall fails",
        "shaft",
        all_of=(Condition("thrust_wall_utilisation", "above", 1.0),),
        who_signs="designer of the shaft",
        what_to_do="Larger block or anchors; watch the wall while thrusting.",
    ),
    HazardRule(
        "breakthrough",
        "drive",
        any_of=(
            Condition("pressure_utilisation", "above", 1.0),
            Condition("cover_left_m", "below", 0.0),
            Condition("has_old_boreholes", "holds"),
        ),
        who_signs="geotechnical engineer, owner of the crossing",
        what_to_do="More cover, lower pressure or a lower vent; watch bed and ground; stop levels agreed.",
    ),
    HazardRule(
        "settlement",
        "drive",
        all_of=(Condition("settlement_utilisation", "above", 1.0),),
        who_signs="owner of the crossing",
        what_to_do="Fill the annulus at once, monitor with alarm and stop levels, possession if rail.",
    ),
    HazardRule(
        "services",
        "both",
        any_of=(
            Condition("n_services", "above", 0.0),
            Condition("service_distance_m", "below", 5.0),
        ),
        who_signs="owner of the service",
        what_to_do="Current records, expose by hand or suction before the works, marks on the ground.",
    ),
    HazardRule(
        "high pressure",
        "both",
        any_of=(
            Condition("has_high_pressure_pipeline", "holds"),
            Condition("grout_pressure_kPa", "above", 200.0),
        ),
        who_signs="owner of the pipeline, site manager",
        what_to_do="Owner's watch on site; keep clear of hoses and couplings under pressure, relief valves.",
    ),
    HazardRule(
        "high voltage",
        "both",
        any_of=(
            Condition("power_line_distance_m", "below", 20.0),
            Condition("has_power_cable", "holds"),
        ),
        who_signs="network operator",
        what_to_do="Limits of distance and height for cranes and strings, earthing, goal posts, switch off.",
    ),
    HazardRule(
        "ramp pit collapses",
        "shaft",
        all_of=(Condition("ramp_depth_m", "above", 1.25),),
        who_signs="designer of the ramp pit, site manager",
        what_to_do="Slopes or walls proven before it is dug, no load beside its edge, barriers, two ways "
        "out.",
    ),
    HazardRule(
        "water in the ramp pit",
        "shaft",
        all_of=(Condition("ramp_head_m", "above", 0.0),),
        who_signs="designer of the ramp pit, water authority",
        what_to_do="Wells run before it is dug, or walls and plug proven; pumps and power stand by, levels "
        "watched.",
    ),
    HazardRule(
        "trench collapses",
        "open_cut",
        all_of=(Condition("trench_depth_m", "above", 1.25),),
        who_signs="site manager",
        what_to_do="Slopes or bracing before anybody enters, heaps and plant off the edge, a look after "
        "rain.",
    ),
    HazardRule(
        "water in the trench",
        "open_cut",
        all_of=(Condition("head_above_trench_m", "above", 0.0),),
        who_signs="site manager, water authority",
        what_to_do="Water lowered before it is dug, pumps stand by, its discharge permitted.",
    ),
    HazardRule(
        "services in the trench",
        "open_cut",
        all_of=(Condition("n_services_crossed", "above", 0.0),),
        who_signs="owner of the service",
        what_to_do="Current records, expose by hand or suction before digging, support what is laid free.",
    ),
    HazardRule(
        "traffic",
        "open_cut",
        all_of=(Condition("n_ways_crossed", "above", 0.0),),
        who_signs="road authority, site manager",
        what_to_do="Traffic order, barriers and lights, a way round or half by half, marshals for plant.",
    ),
)
