"""What there may be many of, by name: methods, treatments, cover classes, soil classes.

Room: assumptions. Pure data; the meaning and the source of each key stand in ``defaults.toml``.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from routescreen.assumptions.base import (
    Allowed,
    Angle,
    Count,
    Factor,
    Frac,
    Group,
    ItemCode,
    ItemCodes,
    NotNegative,
    NotNegativeRange,
    Positive,
    PositiveRange,
    Seasons,
    Text,
)


class Drivability(Group):
    """How one method gets through one soil.

    ``grade``: ``yes``, ``care`` (with a warning) or ``no``; the other keys are needed unless ``no``.
    """

    grade: Literal["yes", "care", "no"]
    cost_factor: Factor = 1.0
    longest_m: NotNegative = 0.0
    rate_m_per_day: PositiveRange | None = None

    @model_validator(mode="after")
    def _complete(self) -> Self:
        given = {"cost_factor", "longest_m", "rate_m_per_day"} & self.model_fields_set
        if self.grade != "no" and len(given) < 3:
            raise PydanticCustomError(
                "drivability", "needs cost_factor, longest_m and rate_m_per_day unless grade is 'no'"
            )
        return self


class SurfaceAngles(Group):
    """Entry and exit of a drilled bore at the surface; both ends stand in pits."""

    entry_deg: PositiveRange
    exit_deg: PositiveRange


class Method(Group):
    """One trenchless method as data."""

    title: Text
    geometry_kind: Literal["shaft_to_shaft", "surface_to_surface"]
    is_enabled: bool
    bores_per: Literal["cable", "link"]
    # geometry of the bore
    pipe_outer_diameter_m: Positive
    driven_outer_diameter_m: Positive
    bore_clearance_m: NotNegative
    least_length_m: NotNegative
    longest_m: Positive
    required_cover_m: NotNegative
    cover_diameters: NotNegative
    grade_min_percent: Annotated[float, Field(ge=-100.0, le=100.0)]
    grade_max_percent: Annotated[float, Field(ge=-100.0, le=100.0)]
    least_radius_m: Positive | None = None
    arc_radius_m: Positive | None = None
    surface_angles: SurfaceAngles | None = None
    deviation_frac: Frac
    deviation_untracked_frac: Frac
    least_deviation_m: NotNegative
    thermal_spacing_m: NotNegative
    least_spacing_m: NotNegative
    spacing_diameters: NotNegative
    # limits that need no formula; an absent pair means: no such limit
    thrust_capacity_kN: PositiveRange
    thrust_factor: Annotated[float, Field(ge=1.0)]
    stations_after_m: Positive | None = None
    station_spacing_m: Positive | None = None
    station_capacity_kN: PositiveRange | None = None
    string_weight_kN_per_m: Positive | None = None
    string_capacity_kN: PositiveRange | None = None
    inside_diameter_m: Positive | None = None
    tracking_gap_amber_m: Positive | None = None
    tracking_gap_fail_m: Positive | None = None
    unreachable_amber_m: Positive | None = None
    unreachable_fail_m: Positive | None = None
    head_above_axis_amber_m: Positive | None = None
    head_above_axis_fail_m: Positive | None = None
    lowering_above_head_m: NotNegative | None = None
    largest_grain_m: Positive
    face: Literal["slurry", "open", "mud"]
    face_control_kPa: NotNegative
    mud_kN_per_m3: Positive | None = None
    mud_loss_kPa_per_m: PositiveRange | None = None
    # shafts or pits; inside plan: length along the drive x ((n - 1) spacing + margin)
    launch_length_m: Positive
    reception_length_m: Positive
    width_margin_m: Positive
    least_shaft_depth_m: NotNegative
    amber_shaft_depth_m: Positive
    most_shaft_depth_m: Positive
    # land
    launch_compound_length_m: Positive
    launch_compound_width_m: Positive
    reception_compound_length_m: Positive
    reception_compound_width_m: Positive
    has_layout: bool
    layout_strip_width_m: NotNegative
    layout_working_length_m: NotNegative
    most_layout_pieces: Count
    # bill items
    rig_item: ItemCode
    launch_items: ItemCodes
    first_bore_items: ItemCodes
    further_bore_items: ItemCodes
    bore_length_item: ItemCode
    bore_length_item_diameter_m: Positive
    bore_length_item_exponent: NotNegative
    bore_length_item_by: Literal["bore", "pipe", "driven"]
    further_length_items: ItemCodes
    has_annulus_grout: bool
    annulus_is_held: bool
    spoil_item: ItemCode | None = None
    spoil_factor: Factor = 1.0
    shaft_pricing: Literal["bands", "pit", "each"]
    has_eyes: bool
    has_thrust_wall: bool
    # time
    mobilisation_days: PositiveRange
    erect_days: PositiveRange
    setup_days_per_bore: NotNegativeRange
    recovery_days_per_bore: NotNegativeRange
    crew_per_shift: PositiveRange
    n_rigs: Count
    drivability: dict[str, Drivability]

    @property
    def bore_diameter_m(self) -> float:
        """Diameter of the bore: what is driven and the clearance round it [m]."""
        return self.driven_outer_diameter_m + self.bore_clearance_m

    @property
    def cover_m(self) -> float:
        """Least cover over the crown that the method asks for, the larger of both rules [m]."""
        return max(self.required_cover_m, self.cover_diameters * self.bore_diameter_m)

    @model_validator(mode="after")
    def _pairs_in_order(self) -> Self:
        pairs = (
            ("least_length_m", "longest_m"),
            ("grade_min_percent", "grade_max_percent"),
            ("deviation_frac", "deviation_untracked_frac"),
            ("tracking_gap_amber_m", "tracking_gap_fail_m"),
            ("unreachable_amber_m", "unreachable_fail_m"),
            ("head_above_axis_amber_m", "head_above_axis_fail_m"),
            ("least_shaft_depth_m", "amber_shaft_depth_m"),
            ("amber_shaft_depth_m", "most_shaft_depth_m"),
        )
        for lower, upper in pairs:
            low, high = getattr(self, lower), getattr(self, upper)
            if low is not None and high is not None and low > high:
                raise PydanticCustomError("pair_order", f"{lower} must not exceed {upper}")
        return self

    @property
    def is_annulus_filled(self) -> bool:
        """Whether what the bore is wider than the pipe is kept from closing: grouted at once, or held."""
        return self.has_annulus_grout or self.annulus_is_held

    @model_validator(mode="after")
    def _arc_fits(self) -> Self:
        if self.arc_radius_m is None:
            return self
        if self.geometry_kind != "shaft_to_shaft":
            raise PydanticCustomError("arc", "arc_radius_m belongs to 'shaft_to_shaft', and only to it")
        if self.least_radius_m is None or self.arc_radius_m < self.least_radius_m:
            raise PydanticCustomError("arc", "arc_radius_m needs a least_radius_m and must not be below it")
        return self

    @model_validator(mode="after")
    def _fits_geometry_kind(self) -> Self:
        if (self.geometry_kind == "surface_to_surface") != (self.surface_angles is not None):
            raise PydanticCustomError(
                "geometry_kind", "surface_angles belong to 'surface_to_surface', and only to it"
            )
        is_drilled = self.surface_angles is not None
        if is_drilled and (self.least_radius_m is None or self.mud_kN_per_m3 is None):
            raise PydanticCustomError(
                "geometry_kind", "'surface_to_surface' needs least_radius_m and mud_kN_per_m3"
            )
        if is_drilled and self.has_annulus_grout:
            raise PydanticCustomError(
                "geometry_kind", "the annulus of a drilled bore holds its mud, no grout"
            )
        if (self.shaft_pricing == "each") != is_drilled:
            raise PydanticCustomError(
                "shaft_pricing", "'each' is for the pits of 'surface_to_surface', and only for them"
            )
        stations = (self.stations_after_m, self.station_spacing_m, self.station_capacity_kN)
        if len({value is None for value in stations}) > 1:
            raise PydanticCustomError(
                "stations", "stations_after_m, station_spacing_m and station_capacity_kN belong together"
            )
        if self.has_layout and self.stations_after_m is not None:
            raise PydanticCustomError("stations", "a string with stations can't be drawn back: no layout")
        if self.inside_diameter_m is not None and self.inside_diameter_m >= self.driven_outer_diameter_m:
            raise PydanticCustomError("inside", "inside_diameter_m must be less than driven_outer_diameter_m")
        if self.pipe_outer_diameter_m > self.driven_outer_diameter_m:
            raise PydanticCustomError(
                "pipe_in_bore", "pipe_outer_diameter_m must not exceed driven_outer_diameter_m"
            )
        return self


class Treatment(Group):
    """What one kind of crossing allows, asks for and costs."""

    trench: Allowed
    drive_under: Allowed
    shaft_allowed: Allowed
    layout_allowed: bool
    merges: bool
    # geometry
    half_width_m: NotNegative
    shaft_clearance_m: NotNegative
    drive_clearance_m: NotNegative
    min_angle_deg: Angle
    # cover
    required_cover_m: NotNegative
    cover_reference: Literal["surface", "formation", "bed", "base", "service", "none"]
    reference_depth_m: NotNegative
    water_depth_m: NotNegative
    scour_m: NotNegative
    is_wet_all_year: bool
    # buried services
    service_depth_m: NotNegative
    service_diameter_m: NotNegative
    service_clearance_m: NotNegative
    service_heat_W_per_m: NotNegative = 0.0
    record_uncertainty_m: NotNegative
    exposed_clearance_m: NotNegative
    has_trial_hole: bool
    # bill
    trench_items: ItemCodes
    drive_items: ItemCodes
    agreement_items: ItemCodes
    archaeology_factor: Factor
    nature_factor: Factor
    is_spoil_loaded: bool
    # agreements
    lead_months: NotNegativeRange
    seasons: Seasons
    confidence: Literal["map", "record", "decree", "unknown"]

    @model_validator(mode="after")
    def _services_are_whole(self) -> Self:
        if self.cover_reference == "service" and self.service_diameter_m <= 0.0:
            raise PydanticCustomError(
                "service_size", "cover_reference 'service' needs a service_diameter_m greater than 0"
            )
        if self.cover_reference == "none" and self.drive_under != "no":
            raise PydanticCustomError("cover_reference", "only a kind with drive_under 'no' may have 'none'")
        return self


class CoverClass(Group):
    """What one class of ground cover allows and costs."""

    trench_allowed: bool
    shaft_allowed: Allowed
    compound_allowed: Allowed
    layout_allowed: Allowed
    is_flagged: bool
    temporary_land_eur_per_m2: NotNegativeRange
    permanent_land_eur_per_m2: NotNegativeRange
    reinstate_eur_per_m2: NotNegativeRange
    is_reinstated_over_trench_only: bool
    has_haul_road: bool
    trench_factor: Factor
    crew_factor: Factor
    has_crop_follow_up: bool
    nature_factor: Factor
    seasons: Seasons


class Soil(Group):
    """One soil class."""

    gamma_kN_per_m3: Positive
    gamma_sat_kN_per_m3: Positive
    phi_deg: Annotated[float, Field(gt=0.0, lt=60.0)]
    c_kPa: NotNegative
    cu_kPa: Positive | None = None
    is_undrained_when_fast: bool
    g_MPa: Positive
    permeability_m_per_s: Positive
    tau_kPa: PositiveRange
    resistivity_saturated_Km_per_W: Positive
    resistivity_moist_Km_per_W: Positive
    resistivity_dry_Km_per_W: Positive
    diffusivity_m2_per_s: Positive
    dig_class: Literal["E1", "E2", "E3", "E4", "E5", "E6", "E7"]
    bulking: Annotated[float, Field(ge=1.0, le=3.0)]
    slope_deg: Annotated[float, Field(gt=0.0, le=90.0)]
    settlement_k: Positive
    largest_grain_m: Positive | None = None
    events_per_km: NotNegative
    spoil_clean_frac: Frac
    spoil_slight_frac: Frac
    spoil_loaded_frac: Frac
    shaft_factor: Factor
    backfill_factor: Factor
    crew_factor: Factor

    @model_validator(mode="after")
    def _shares_add_up(self) -> Self:
        total = self.spoil_clean_frac + self.spoil_slight_frac + self.spoil_loaded_frac
        if abs(total - 1.0) > 1e-9:
            raise PydanticCustomError("spoil_shares", "the three spoil_.._frac must add up to 1")
        return self

    @model_validator(mode="after")
    def _pairs_in_order(self) -> Self:
        if self.gamma_kN_per_m3 > self.gamma_sat_kN_per_m3:
            raise PydanticCustomError("pair_order", "gamma_kN_per_m3 must not exceed gamma_sat_kN_per_m3")
        drier = ("saturated", "moist", "dry")
        names = [f"resistivity_{state}_Km_per_W" for state in drier]
        values = [getattr(self, name) for name in names]
        if values != sorted(values):
            told = ", ".join(f"{name} = {value:g}" for name, value in zip(names, values, strict=True))
            raise PydanticCustomError(
                "pair_order",
                "drier ground must not lead heat better: saturated <= moist <= dry, given {told}",
                {"told": told},
            )
        if self.is_undrained_when_fast and self.cu_kPa is None:
            raise PydanticCustomError("undrained", "is_undrained_when_fast needs cu_kPa")
        return self
