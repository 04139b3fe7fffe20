"""The link and what is built for it: cable, pipe, grout, shaft, trench, land, groundwater.

Room: assumptions. Pure data; the meaning and the source of each key stand in ``defaults.toml``.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from routescreen.assumptions.base import (
    Count,
    CountOrNone,
    Factor,
    Frac,
    Group,
    ItemCode,
    ItemCodes,
    Name,
    NotNegative,
    NotNegativeRange,
    Numbers,
    Positive,
    PositiveRange,
)


class Link(Group):
    """How many systems and cables, what they must carry, how far apart their trenches lie."""

    profile: Name
    n_systems: Count
    poles_per_system: Count
    returns_per_system: CountOrNone
    current_A: Positive
    trench_spacing_m: Positive

    @property
    def n_cables(self) -> int:
        """Cables of all systems, return cables included."""
        return self.n_systems * (self.poles_per_system + self.returns_per_system)

    @property
    def n_trenches(self) -> int:
        """Open trenches side by side: one a system."""
        return self.n_systems


class CableType(Group):
    """One kind of cable: make-up, mass, limits, drum, bill items."""

    conductor_area_mm2: Positive
    conductor_diameter_mm: Positive
    insulation_diameter_mm: Positive
    screen_diameter_mm: Positive
    outer_diameter_mm: Positive
    mass_kg_per_m: PositiveRange
    resistance_20degC_ohm_per_m: Positive
    resistance_coefficient_per_K: Positive
    insulation_resistivity_Km_per_W: Positive
    jacket_resistivity_Km_per_W: Positive
    conductor_limit_degC: Positive
    insulation_drop_limit_K: Positive | None = None
    rating_model: Literal["dc", "dc_cold", "none"]
    pull_stress_N_per_mm2: Positive
    pull_limit_kN: Positive | None = None
    side_wall_kN_per_m: Positive
    side_wall_upper_kN_per_m: Positive
    bend_radius_laid_m: Positive
    bend_radius_pulled_m: Positive
    pipe_friction: PositiveRange
    drum_gross_t: PositiveRange
    drum_empty_t: Positive
    longest_section_m: Positive
    supply_waste_frac: Frac
    supply_item: ItemCode
    pull_item: ItemCode
    joint_item: ItemCode

    @property
    def outer_diameter_m(self) -> float:
        """Outside diameter of the cable [m]."""
        return self.outer_diameter_mm / 1000.0

    @property
    def eye_limit_kN(self) -> float:
        """Pull that the eye on the conductor may take: as given, else stress x section [kN]."""
        return self.stress_limit_kN if self.pull_limit_kN is None else self.pull_limit_kN

    @property
    def stress_limit_kN(self) -> float:
        """Stress allowed in the conductor's metal x its section [kN]."""
        return self.pull_stress_N_per_mm2 * self.conductor_area_mm2 / 1000.0

    @property
    def conductor_ohm_m(self) -> float:
        """Resistivity that resistance and section come to at 20 degC [ohm m]."""
        return self.resistance_20degC_ohm_per_m * self.conductor_area_mm2 * 1e-6

    @property
    def section_length_m(self) -> float:
        """Length from joint to joint by the expected drum and mass, at most the longest section [m]."""
        by_drum = (self.drum_gross_t.expected - self.drum_empty_t) * 1000.0 / self.mass_kg_per_m.expected
        return min(by_drum, self.longest_section_m)

    @model_validator(mode="after")
    def _layers_nest(self) -> Self:
        rings = (
            self.conductor_diameter_mm,
            self.insulation_diameter_mm,
            self.screen_diameter_mm,
            self.outer_diameter_mm,
        )
        if not rings[0] < rings[1] < rings[2] < rings[3]:
            raise PydanticCustomError(
                "cable_layers",
                "the diameters must grow outwards: conductor < insulation < screen < outer",
            )
        return self

    @model_validator(mode="after")
    def _drum_carries(self) -> Self:
        if self.drum_empty_t >= self.drum_gross_t.low:
            raise PydanticCustomError("drum_mass", "drum_empty_t must be less than the low drum_gross_t")
        if self.side_wall_kN_per_m > self.side_wall_upper_kN_per_m:
            raise PydanticCustomError("side_wall", "side_wall_kN_per_m must not exceed the upper limit")
        return self


class Cable(CableType):
    """The cable of the poles (or phases), the return cable, joint bays and ramps."""

    metallic_return: CableType
    rating_reserve_frac: NotNegative
    pull_reserve_frac: NotNegative
    joint_bay_length_m: Positive
    joint_bay_width_m: Positive
    crane_pad_m2: NotNegative
    ramp_angle_deg: Annotated[float, Field(gt=0.0, lt=90.0)]
    ramp_radius_m: Positive | None = None
    ramp_spacing_most_m: Positive
    ramp_item: ItemCode
    fill_item: ItemCode
    joint_bay_item: ItemCode
    test_item: ItemCode
    test_length_km: Positive

    @model_validator(mode="after")
    def _ramps_bend_no_closer(self) -> Self:
        least_m = max(self.bend_radius_pulled_m, self.metallic_return.bend_radius_pulled_m)
        if self.ramp_radius_m is not None and self.ramp_radius_m < least_m:
            raise PydanticCustomError(
                "ramp_radius", "ramp_radius_m must not be less than bend_radius_pulled_m of any cable"
            )
        return self


class PipeSize(Group):
    """One outside diameter of the protection pipe."""

    outer_diameter_m: Positive
    wall_mm: Positive
    mass_kg_per_m: Positive
    safe_pull_kN: Positive
    weld_factor: Factor

    @property
    def inside_diameter_m(self) -> float:
        """Inside diameter [m]."""
        return self.outer_diameter_m - 2.0 * self.wall_mm / 1000.0

    @model_validator(mode="after")
    def _wall_fits(self) -> Self:
        if self.wall_mm / 1000.0 >= self.outer_diameter_m / 2.0:
            raise PydanticCustomError("pipe_wall", "wall_mm must be thinner than the pipe's radius")
        return self


class JackingString(Group):
    """The steel string of the two-pass method."""

    outer_diameter_m: Positive
    wall_mm: Positive
    weight_kN_per_m: Positive
    piece_length_m: Positive
    axial_capacity_kN: PositiveRange
    n_uses: Count

    @model_validator(mode="after")
    def _wall_fits(self) -> Self:
        if self.wall_mm / 1000.0 >= self.outer_diameter_m / 2.0:
            raise PydanticCustomError("pipe_wall", "wall_mm must be thinner than the string's radius")
        return self


class Pipe(Group):
    """The protection pipe in trench and drive."""

    trench_outer_diameter_m: Positive
    standard_dimension_ratio: Annotated[float, Field(gt=2.0)]
    density_kg_per_m3: Positive
    e_short_MPa: Positive
    e_long_MPa: Positive
    poisson: Annotated[float, Field(ge=0.0, lt=0.5)]
    hot_wall_degC: Positive
    hot_stiffness_factor: Factor
    safe_pull_stress_MPa: Positive
    safe_pull_h: Positive
    piece_length_m: Positive
    cold_bend_diameters: Positive
    least_inside_cable_diameters: Factor
    supply_waste_frac: Frac
    fill: Literal["air", "water", "grout"]
    sizes: Annotated[tuple[PipeSize, ...], Field(strict=False, min_length=1)]
    jacking_string: JackingString

    def size(self, outer_diameter_m: float) -> PipeSize:
        """Return the listed size with this outside diameter.

        Parameters
        ----------
        outer_diameter_m : float
            Outside diameter [m].

        Returns
        -------
        PipeSize

        Raises
        ------
        KeyError
            If no size of that diameter is listed (never for a diameter of the loaded assumptions).
        """
        for size in self.sizes:
            if abs(size.outer_diameter_m - outer_diameter_m) < 1e-6:
                return size
        raise KeyError(outer_diameter_m)


class Grout(Group):
    """The annulus grout."""

    unit_weight_kN_per_m3: PositiveRange
    resistivity_Km_per_W: PositiveRange
    strength_MPa: PositiveRange
    loss_frac: NotNegativeRange
    injection_kPa: PositiveRange
    vent: Literal["lowest", "ground"]
    rate_m3_per_h: Positive
    heat_peak_K: NotNegative


class Groundwater(Group):
    """The water where nothing is measured, and how it moves."""

    default_depth_m: NotNegative
    highest_rise_m: NotNegative
    lowest_fall_m: NotNegative
    unit_weight_kN_per_m3: Positive


class ShaftWorks(Group):
    """How shafts are measured, whatever the method."""

    sump_m: NotNegative
    depth_step_m: Positive
    plug_thickness_m: NotNegative
    dry_slab_m: NotNegative
    wall_cut_m: NotNegative
    conducting_fill_Km_per_W: Positive
    band_base_m: Numbers
    dry_items: ItemCodes
    wet_items: ItemCodes
    band_factors: Numbers
    both_ways_factor: Factor
    dry_eye_factor: Annotated[float, Field(ge=0.0, le=1.0)]
    uplift_weight_factor: Frac
    concrete_kN_per_m3: Positive
    anchor_friction_frac: Frac
    approach_cut_width_m: Positive
    access_road_width_m: Positive
    open_months: PositiveRange
    pit_open_months: PositiveRange
    well_spacing_m: Positive
    well_below_base_m: NotNegative
    ramp_open_months: PositiveRange
    ramp_lowering_most_m: NotNegative
    ramp_embedment_frac: NotNegative
    ramp_plug_m: NotNegative
    borehole_below_shaft_m: NotNegative
    borehole_spacing_m: Positive
    borehole_critical_spacing_m: Positive
    drive_protective_margin_m: NotNegative

    @model_validator(mode="after")
    def _bands_match(self) -> Self:
        n = len(self.band_base_m)
        if not n == len(self.dry_items) == len(self.wet_items) == len(self.band_factors):
            raise PydanticCustomError(
                "shaft_bands", "band_base_m, dry_items, wet_items and band_factors must be equally long"
            )
        if list(self.band_base_m) != sorted(set(self.band_base_m)):
            raise PydanticCustomError("shaft_bands", "band_base_m must grow downwards")
        return self


class WidthStep(Group):
    """Least bottom width of a trench down to a depth."""

    to_depth_m: Positive
    sloped_width_m: Positive
    braced_width_m: Positive


class Trench(Group):
    """The open cut: section, strips, measurement."""

    cover_to_pipe_m: Positive
    pipe_spacing_m: Positive
    pipe_spacing_most_m: Positive
    corner_cut_m: Positive
    side_margin_m: NotNegative
    bedding_below_m: NotNegative
    bedding_above_m: NotNegative
    bedding_item: ItemCode
    bedding_resistivity_Km_per_W: Positive
    topsoil_m: NotNegative
    topsoil_width_frac: Frac
    width_steps: Annotated[tuple[WidthStep, ...], Field(strict=False, min_length=1)]
    deepest_width_m: Positive
    vertical_limit_m: NotNegative
    edge_strip_m: NotNegative
    dip_fill_above_m: NotNegative
    dip_fill_resistivity_Km_per_W: Positive
    dip_spacing_most_m: Positive
    deepest_sloped_m: Positive
    slice_base_m: Numbers
    slice_factors: Numbers
    working_strip_by_n_systems_m: Numbers
    protective_strip_by_n_systems_m: Numbers
    narrow_strip_by_n_systems_m: Numbers
    narrow_factor: Factor
    narrow_within_m: NotNegative
    min_trench_m: NotNegative
    haul_road_width_m: NotNegative
    reinstate_beside_trench_m: NotNegative
    sump_head_m: NotNegative
    well_point_least_k_m_per_s: Positive
    well_point_most_k_m_per_s: Positive

    @model_validator(mode="after")
    def _lists_match(self) -> Self:
        if len(self.slice_base_m) != len(self.slice_factors):
            raise PydanticCustomError("trench_slices", "slice_base_m and slice_factors must be equally long")
        if list(self.slice_base_m) != sorted(set(self.slice_base_m)):
            raise PydanticCustomError("trench_slices", "slice_base_m must grow downwards")
        if self.pipe_spacing_most_m < self.pipe_spacing_m:
            raise PydanticCustomError(
                "pipe_spacing", "pipe_spacing_most_m must not be less than pipe_spacing_m"
            )
        strips = (self.working_strip_by_n_systems_m, self.narrow_strip_by_n_systems_m)
        if any(narrow > full for full, narrow in zip(*strips, strict=False)):
            raise PydanticCustomError("narrow_strip", "narrow strips must not be wider than working strips")
        if self.well_point_least_k_m_per_s >= self.well_point_most_k_m_per_s:
            raise PydanticCustomError("well_points", "well_point_least_k must be less than well_point_most_k")
        return self


class Land(Group):
    """Land taken, paid and compensated."""

    drive_easement_factor: Frac
    night_quiet_m: NotNegative
    shadow_nature_eur_per_m2: NotNegative
    shadow_day_eur: NotNegative
    shadow_co2e_eur_per_kg: NotNegative
