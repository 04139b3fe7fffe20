"""How the tool works and judges: frame, search, explanations, audit, checks, tags, ranges, time.

Room: assumptions. Pure data; the meaning and the source of each key stand in ``defaults.toml``.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from routescreen.assumptions.base import (
    Angle,
    Count,
    CountOrNone,
    Factor,
    Frac,
    Group,
    Name,
    Names,
    NotNegative,
    Percent,
    Positive,
    PositiveRange,
    Text,
)
from routescreen.languages import languages


class FrameSettings(Group):
    """The corridor frame, and what the ground is where nothing is given."""

    cell_m: Positive
    fine_cell_m: Positive
    works_margin_m: NotNegative
    fixed_alignment_tolerance_m: NotNegative
    merge_gap_m: NotNegative
    tangent_window_m: Positive
    base_search_m: NotNegative
    default_soil: Name
    default_rock_soil: Name
    default_ground_counts: bool
    default_cover: Name
    cover_code_list: Name


class SearchSettings(Group):
    """The search."""

    max_drive_angle_deg: Annotated[float, Field(gt=0.0, lt=60.0)]
    n_ray_columns: Count
    compounds_need_land: bool
    rating_steers: bool
    below_groundwater_m: NotNegative
    window_steers: bool
    grout_steers: bool
    dip_rating_steers: bool
    shaft_fill_steers: bool


class PolishSettings(Group):
    """What is made better on the finished plan, off the frame."""

    is_enabled: bool
    vertex_spacing_m: Positive
    n_span: Annotated[int, Field(ge=2, le=200)]
    finest_step_m: Positive
    margin_m: NotNegative


class RefineSettings(Group):
    """Local finer frames round chains of drives, once the plan stands."""

    cell_m: Positive
    aside_m: Positive
    trench_m: NotNegative
    n_most_nodes: CountOrNone


class ExplainSettings(Group):
    """The explanations."""

    crossing_ways: bool
    n_most_crossings: CountOrNone
    explain_budget_eur: NotNegative
    shaft_tolerance: bool
    n_most_shafts: CountOrNone
    tolerance_percent: Percent
    tolerance_classes_percent: Annotated[tuple[Percent, ...], Field(strict=False)]
    n_alternatives: CountOrNone
    alternative_overlap_frac: Frac
    limit_prices: bool


class AuditSettings(Group):
    """The audit and its limits."""

    profile_step_m: Positive
    max_rounds: CountOrNone
    frame_error_percent: Percent
    drive_frame_error_percent: Percent


class ThrustChecks(Group):
    """Thrust of the driven string."""

    restart_friction_factor: Annotated[float, Field(ge=1.0)]
    stop_h: Positive
    silo_width_diameters: Positive
    silo_friction_frac: Frac
    silo_k: Positive
    no_silo_below_diameters: NotNegative
    bend_friction: NotNegative


class PullInChecks(Group):
    """Pull-in of the protection pipe."""

    annulus_drag_kPa: NotNegative
    roller_friction: NotNegative
    grout_friction: NotNegative
    speed_m_per_min: PositiveRange
    ovality_factor: Frac
    collapse_factor: Annotated[float, Field(ge=1.0)]


class PressureChecks(Group):
    """The pressure window along a drive."""

    water_factor: Annotated[float, Field(ge=1.0)]
    earth_factor: Annotated[float, Field(ge=1.0)]
    grout_above_water_kPa: NotNegative
    tan_phi_factor: Annotated[float, Field(ge=1.0)]
    c_factor: Annotated[float, Field(ge=1.0)]
    g_factor: Annotated[float, Field(ge=1.0)]
    plastic_radius_clay_frac: Frac
    plastic_radius_sand_frac: Frac
    strain_limit_frac: Frac
    amber_overburden_frac: Frac
    lift_overburden_frac: Frac
    no_lift_kinds: Names
    bed_survey_tolerance_m: NotNegative


class SlurryChecks(Group):
    """The slurry circuit."""

    unit_weight_kN_per_m3: PositiveRange
    grain_specific_gravity: Positive
    mass_concentration_frac: PositiveRange
    line_diameter_m: Positive
    limit_velocity_factor: Positive
    line_roughness_m: NotNegative
    viscosity_m2_per_s: Positive
    pump_kPa: Positive


class SettlementChecks(Group):
    """Settlement over the bores."""

    grouted_frac: Frac
    rail_alarm_mm: Positive
    rail_stop_mm: Positive
    road_limit_mm: Positive
    ground_limit_mm: Positive


class ShaftChecks(Group):
    """Base, thrust wall, eyes, flood rim, pumping; the factor on weight stands with the shafts."""

    water_factor: Annotated[float, Field(ge=1.0)]
    anchor_kN: Positive
    anchor_spacing_m: Positive
    has_plug_anchors: bool
    heave_lifting_factor: Annotated[float, Field(ge=1.0)]
    heave_holding_factor: Annotated[float, Field(gt=0.0, le=1.0)]
    wall_embedment_m: NotNegative
    thrust_wall_factor: Annotated[float, Field(ge=1.0)]
    thrust_wall_mobilised_frac: Annotated[float, Field(gt=0.0, le=1.0)]
    thrust_block_width_m: Positive
    thrust_block_height_m: Positive
    thrust_block_most_height_m: Positive
    thrust_block_most_width_m: Positive | None = None
    eye_length_m: NotNegative
    eye_length_diameters: NotNegative
    eye_margin_m: NotNegative
    flood_rim_above_m: NotNegative
    flood_rim_most_m: NotNegative
    drawdown_radius_factor: Positive
    drawdown_trench_factor: Positive
    lowered_below_base_m: NotNegative
    aquifer_below_base_m: Positive
    leak_l_per_s_per_1000_m2: NotNegative
    treated_water_m3_per_h: Positive
    drawdown_kinds: Names
    drawdown_cover: Names
    drawdown_soils: Names


class RatingChecks(Group):
    """Ground round the cables and the heat limits."""

    ground_shallow_degC: float
    ground_deep_degC: float
    deep_from_m: Positive
    damping_depth_m: Positive
    bed_water_degC: float
    drying_rise_K: Positive
    pipe_resistivity_Km_per_W: Positive
    report_depths_m: Annotated[tuple[Positive, ...], Field(strict=False)]


class LandChecks(Group):
    """Neighbours: steel pipelines, magnetic field, compasses."""

    steel_parallel_m: Positive
    is_free_of_steel_pipelines: bool
    steel_crossing_clear_m: Positive
    steel_crossing_angle_deg: Angle
    field_limit_uT: Positive
    field_height_m: NotNegative
    compass_height_m: NotNegative
    earth_horizontal_uT: Positive


class InvestigationChecks(Group):
    """Where and how deep the ground is to be looked into."""

    offset_m: NotNegative
    close_kinds: Names
    clear_m: NotNegative
    below_diameters: NotNegative
    base_frac: NotNegative
    probing_spacing_m: Positive


class TrackingChecks(Group):
    """Where nobody walks to track a bore from the surface."""

    no_walk_kinds: Names


class SoilChecks(Group):
    """Heaps of soil beside the trench."""

    topsoil_heap_m: Positive
    subsoil_heap_m: Positive
    heap_slope_deg: Annotated[float, Field(gt=0.0, lt=90.0)]
    gap_m: NotNegative
    subsoil_to_m: NotNegative


class Checks(Group):
    """Limits and factors of the engineering checks."""

    thrust: ThrustChecks
    pull_in: PullInChecks
    pressure: PressureChecks
    slurry: SlurryChecks
    settlement: SettlementChecks
    shaft: ShaftChecks
    rating: RatingChecks
    land: LandChecks
    investigation: InvestigationChecks
    tracking: TrackingChecks
    soil: SoilChecks


class TagRule(Group):
    """One line of an OpenStreetMap table: the first rule of the table that fits wins.

    A feature fits when its tag `key` has one of `values` (``"*"``: any but ``no``), when every tag in
    `also` has one of its values, and when no tag in `unless` has one of its values. `geometry` is one
    word or a list of them.
    """

    geometry: Annotated[
        tuple[Literal["line", "polygon", "point"], ...],
        BeforeValidator(lambda value: [value] if isinstance(value, str) else value),
        Field(strict=False, min_length=1),
    ]
    key: Text
    values: Annotated[tuple[Text, ...], Field(strict=False, min_length=1)]
    also: dict[str, Names] = Field(default_factory=dict)
    unless: dict[str, Names] = Field(default_factory=dict)

    @property
    def keys(self) -> frozenset[str]:
        """Every tag key that the rule looks at."""
        return frozenset({self.key, *self.also, *self.unless})

    def fits(self, tags: dict[str, str], geometry: str) -> bool:
        """Tell whether a feature with these tags and this geometry fits the rule.

        Parameters
        ----------
        tags : dict
            Tags of one feature.
        geometry : str
            ``line``, ``polygon`` or ``point``.

        Returns
        -------
        bool
        """
        return (
            geometry in self.geometry
            and _has(tags, self.key, self.values)
            and all(_has(tags, key, values) for key, values in self.also.items())
            and not any(_has(tags, key, values) for key, values in self.unless.items())
        )


def _has(tags: dict[str, str], key: str, values: tuple[str, ...]) -> bool:
    value = tags.get(key)
    return value is not None and (value in values or ("*" in values and value != "no"))


class KindRule(TagRule):
    """Tag to kind of crossing."""

    kind: Name


class CoverRule(TagRule):
    """Tag to cover class."""

    cover: Name


class OsmTables(Group):
    """Which OpenStreetMap tags become crossings and ground cover.

    `own_kinds` and `own_cover` are a project's rules; they are tried before `kinds` and `cover`.
    """

    own_kinds: Annotated[tuple[KindRule, ...], Field(strict=False)]
    own_cover: Annotated[tuple[CoverRule, ...], Field(strict=False)]
    kinds: Annotated[tuple[KindRule, ...], Field(strict=False)]
    cover: Annotated[tuple[CoverRule, ...], Field(strict=False)]
    name_keys: Names
    owner_keys: Names
    access_keys: Names
    remark_keys: Names

    @property
    def kind_rules(self) -> tuple[KindRule, ...]:
        """Rules for crossings in the order in which they are tried."""
        return self.own_kinds + self.kinds

    @property
    def cover_rules(self) -> tuple[CoverRule, ...]:
        """Rules for ground cover in the order in which they are tried."""
        return self.own_cover + self.cover

    @property
    def tag_keys(self) -> tuple[str, ...]:
        """Every tag key that is looked at, sorted: what a reader must ask for."""
        keys = set(self.name_keys) | set(self.owner_keys) | set(self.remark_keys)
        for rule in (*self.kind_rules, *self.cover_rules):
            keys |= rule.keys
        return tuple(sorted(keys))


class SpreadRules(Group):
    """Ranges of what has one value only, and the samples drawn from all ranges."""

    phi_half_width_deg: NotNegative
    g_low_factor: Frac
    g_high_factor: Annotated[float, Field(ge=1.0)]
    permeability_low_factor: Frac
    permeability_high_factor: Annotated[float, Field(ge=1.0)]
    n_samples: Count
    seed: CountOrNone


class ClosedSeason(Group):
    """One closed season, from day to day of the year, both included."""

    title: Text
    from_month_day: Annotated[str, Field(pattern=r"^[01][0-9]-[0-3][0-9]$")]
    to_month_day: Annotated[str, Field(pattern=r"^[01][0-9]-[0-3][0-9]$")]


class Programme(Group):
    """Calendar and outputs."""

    shift_h: Positive
    shifts_per_day: Count
    second_shift_factor: Factor
    days_per_week: Annotated[float, Field(gt=0.0, le=7.0)]
    trench_days_per_year: PositiveRange
    drive_days_per_year: PositiveRange
    trench_m_per_day: PositiveRange
    wet_trench_factor: Frac
    shaft_days: PositiveRange
    shaft_m3_per_day: PositiveRange
    plug_cure_days: PositiveRange
    block_frame_days: PositiveRange
    pull_in_prepare_days: PositiveRange
    tie_in_weld_h: Positive
    neighbour_wait_h: NotNegative
    weekend_stand_days: NotNegative
    cable_sections_per_day: PositiveRange
    joint_days_per_bay: PositiveRange
    standing_h_per_drive: NotNegative
    launch_serves_drives: Count
    lot_length_km: Positive
    lot_months: PositiveRange
    quiet_from_h: Annotated[float, Field(ge=0.0, le=24.0)]
    quiet_to_h: Annotated[float, Field(ge=0.0, le=24.0)]
    seasons: dict[str, ClosedSeason]

    @model_validator(mode="after")
    def _seasons_known(self) -> Self:
        if set(self.seasons) != {"F", "B", "Q", "D"}:
            raise PydanticCustomError("seasons", "must hold exactly the seasons F, B, Q and D")
        return self


def _spoken(language: str) -> str:
    if language not in languages():
        raise PydanticCustomError("language", "must be one of {known}", {"known": ", ".join(languages())})
    return language


Language = Annotated[str, AfterValidator(_spoken)]


class ReportSettings(Group):
    """How results are labelled."""

    language: Language
    currency: Text
    price_base_year: Annotated[int, Field(ge=1990, le=2100)]
    is_with_vat: bool
    region: Text
    lorry_load_m3: Positive


class SheetSettings(Group):
    """The plan-and-profile sheets."""

    is_enabled: bool
    project: Text
    scale_denominator: Annotated[int, Field(ge=100, le=200_000)]
    n_most_sheets: Count
    n_most_crossing_sheets: CountOrNone
    crossing_kinds: Names
