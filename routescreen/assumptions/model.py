"""The assumptions of one screening: all groups together, with what their parts ask of each other.

Room: assumptions. Pure data. Field by field the meaning and the source stand in ``defaults.toml``;
the groups' models stand in ``works``, ``catalogue`` and ``running``.
"""

# No postponed annotations here: pydantic reads them when the class is made.
from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from routescreen.assumptions.base import Group, NotNegativeRange
from routescreen.assumptions.catalogue import CoverClass, Method, Soil, Treatment
from routescreen.assumptions.running import (
    AuditSettings,
    Checks,
    ExplainSettings,
    FrameSettings,
    OsmTables,
    PolishSettings,
    Programme,
    RefineSettings,
    ReportSettings,
    SearchSettings,
    SheetSettings,
    SpreadRules,
)
from routescreen.assumptions.works import Cable, Groundwater, Grout, Land, Link, Pipe, ShaftWorks, Trench

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray


class Assumptions(Group):
    """Everything that is assumed, one attribute a group.

    The index of a cover class, a soil class or an enabled method is its position in its group; the
    defaults come first in their order, a project's own follow.
    """

    link: Link
    cable: Cable
    pipe: Pipe
    grout: Grout
    methods: Annotated[dict[str, Method], Field(min_length=1)]
    treatments: Annotated[dict[str, Treatment], Field(min_length=1)]
    cover: Annotated[dict[str, CoverClass], Field(min_length=1)]
    soil: Annotated[dict[str, Soil], Field(min_length=1)]
    groundwater: Groundwater
    shaft: ShaftWorks
    trench: Trench
    land: Land
    rates: dict[str, NotNegativeRange]
    frame: FrameSettings
    search: SearchSettings
    polish: PolishSettings
    refine: RefineSettings
    explain: ExplainSettings
    audit: AuditSettings
    checks: Checks
    osm: OsmTables
    ranges: SpreadRules
    programme: Programme
    report: ReportSettings
    sheets: SheetSettings
    cover_codes: dict[str, dict[int, str]]

    @cached_property
    def cover_names(self) -> tuple[str, ...]:
        """Cover classes in the order of their index."""
        return tuple(self.cover)

    @cached_property
    def soil_names(self) -> tuple[str, ...]:
        """Soil classes in the order of their index."""
        return tuple(self.soil)

    @cached_property
    def kind_names(self) -> tuple[str, ...]:
        """Kinds of crossing in the order of the treatments."""
        return tuple(self.treatments)

    @cached_property
    def enabled_methods(self) -> Mapping[str, Method]:
        """Methods that take part, in their order."""
        return {name: method for name, method in self.methods.items() if method.is_enabled}

    @property
    def default_soil(self) -> str:
        """Soil class where none is given."""
        return self.frame.default_soil

    @property
    def default_rock_soil(self) -> str:
        """Soil class of the rock where a rock depth is given without one."""
        return self.frame.default_rock_soil

    @property
    def default_cover(self) -> str:
        """Cover class where none is given."""
        return self.frame.default_cover

    @property
    def working_strip_m(self) -> float:
        """Width of the working strip of the open cut with this many systems [m]."""
        return self.trench.working_strip_by_n_systems_m[self.link.n_systems - 1]

    @property
    def narrow_strip_m(self) -> float:
        """Width of the narrow working strip with this many systems [m]."""
        return self.trench.narrow_strip_by_n_systems_m[self.link.n_systems - 1]

    @property
    def protective_strip_m(self) -> float:
        """Width of the protective strip of the open cut with this many systems [m]."""
        return self.trench.protective_strip_by_n_systems_m[self.link.n_systems - 1]

    @property
    def n_pipes_per_trench(self) -> int:
        """Pipes side by side in one trench."""
        return self.link.poles_per_system + self.link.returns_per_system

    @property
    def trench_depth_m(self) -> float:
        """Depth of the trench: cover, pipe and bedding below [m]."""
        trench = self.trench
        return trench.cover_to_pipe_m + self.pipe.trench_outer_diameter_m + trench.bedding_below_m

    def trench_bottom_width_m(
        self, slope_deg: "ArrayLike", pipe_spacing_m: "ArrayLike | None" = None
    ) -> "NDArray[np.float64]":
        """Return the bottom width of a trench by the inclination of its faces, 90 deg where braced [m].

        The pipes lie `trench.pipe_spacing_m` apart unless told otherwise.
        """
        # here, so that reading assumptions loads no numeric library
        from routescreen.engineering.trench import bottom_width_m, pipe_room_m, stepped_width_m

        trench, depth_m = self.trench, self.trench_depth_m
        to_depth_m = [step.to_depth_m for step in trench.width_steps]
        sloped_m, braced_m = (
            float(stepped_width_m(depth_m, to_depth_m, widths, trench.deepest_width_m))
            for widths in (
                [step.sloped_width_m for step in trench.width_steps],
                [step.braced_width_m for step in trench.width_steps],
            )
        )
        outer_m = self.pipe.trench_outer_diameter_m
        room_m = pipe_room_m(
            outer_m,
            n_pipes=self.n_pipes_per_trench,
            spacing_m=trench.pipe_spacing_m if pipe_spacing_m is None else pipe_spacing_m,
            margin_m=trench.side_margin_m,
        )
        return bottom_width_m(
            slope_deg,
            depth_m=depth_m,
            outer_diameter_m=outer_m,
            sloped_width_m=sloped_m,
            braced_width_m=braced_m,
            room_m=room_m,
        )

    def n_bores(self, method: str) -> int:
        """Return how many bores a drive of this method has.

        Parameters
        ----------
        method : str
            Name of the method.

        Returns
        -------
        int
        """
        return self.link.n_cables if self.methods[method].bores_per == "cable" else 1
