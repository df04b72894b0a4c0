"""The models of ``trial.yaml`` (the definition) and ``diary.yaml`` (the diary)."""

from __future__ import annotations

from math import prod
from typing import Annotated, Any, Literal

from pydantic import Field, Tag, ValidationInfo, field_validator, model_validator

from wintersward.trial.parts import (
    WRITTEN_OUT,
    ArealMass,
    Country,
    Day,
    Days,
    Depth,
    Distance,
    Gap,
    Name,
    Number,
    Part,
    PlotName,
    Range,
    Share,
    Text,
    When,
    Whole,
    only_word,
    wrong_field,
)
from wintersward.trial.questions import Analysis, Primary
from wintersward.units import KINDS, kind_of_unit

__all__ = [
    "MISSING",
    "Analysis",
    "CoverSpell",
    "Definition",
    "Deviation",
    "Diary",
    "Exclusion",
    "Factor",
    "Layout",
    "Level",
    "Lost",
    "Measure",
    "Person",
    "PhotoMeasure",
    "Primary",
    "Sheet",
    "SheetMeasure",
    "Site",
    "Tine",
    "Turf",
    "Window",
]


class Person(Part):
    """Someone who takes part; ratings carry the initials."""

    name: Text
    role: Text
    initials: Annotated[Text, Field(max_length=4)]


class Turf(Part):
    """What grows on the site and how it is kept."""

    species: Annotated[list[Text], Field(min_length=1)]
    established: Text | None = None
    root_zone: Text | None = None
    mowing_height: Depth | None = None


class Site(Part):
    """Where the trial lies."""

    name: Text
    country: Country
    latitude: Annotated[Number, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[Number, Field(ge=-180, le=180)] | None = None
    use: Text | None = None
    turf: Turf


class Tine(Part):
    """An aeration tine."""

    kind: Literal["solid", "hollow"]
    outside: Depth
    inside: Depth | None = None
    spacing: Annotated[list[Depth], Field(min_length=2, max_length=2)]
    depth: Depth

    @model_validator(mode="after")
    def _hollow_has_a_bore(self) -> Tine:
        rule = "for a hollow tine, a diameter smaller than the outside one"
        if self.kind == "hollow" and self.inside is None:
            raise wrong_field("inside", "nothing", rule, "add 'inside: ...'")
        if self.kind == "hollow" and self.inside is not None and self.inside >= self.outside:
            raise wrong_field("inside", "a diameter as large as the outside one or larger", rule)
        if self.kind == "solid" and self.inside is not None:
            raise wrong_field(
                "inside", "an inside diameter", "none for a solid tine", "remove the line"
            )
        return self


class Level(Part):
    """One treatment: a level of a factor."""

    label: Text
    description: Text | None = None
    mass: ArealMass | None = None
    light: Share | None = None
    tine: Tine | None = None


class Factor(Part):
    """One thing that was varied on purpose, with its control."""

    label: Text | None = None
    applied: When | None = None
    control: Name
    levels: Annotated[dict[Name, Level], Field(min_length=2)]


def _no_default(schema: dict[str, Any]) -> None:
    """Leave out of the JSON Schema that a count which is not there reads as 0."""
    schema.pop("default", None)


class Layout(Part):
    """How the plots lie and how the treatments were drawn."""

    kind: Literal[
        "completely random", "randomised blocks", "latin square", "split plot", "strip plot"
    ]
    whole_plot: Name | None = None
    subplot: Name | None = None
    row_strips: Name | None = None
    column_strips: Name | None = None
    # 0 stands for a layout without blocks, or without replicates of its own.
    blocks: Annotated[Whole, Field(ge=2, le=60, json_schema_extra=_no_default)] = 0
    replicates: Annotated[Whole, Field(ge=2, le=60, json_schema_extra=_no_default)] = 0
    plots_in_a_row: Annotated[Whole, Field(ge=1)] | None = None
    blocks_side_by_side: Annotated[Whole, Field(ge=1)] = 1
    blocks_follow: Text | None = None
    plot_size: Annotated[list[Distance], Field(min_length=2, max_length=2)]
    alley: Gap
    edge_left_out: Gap
    seed: Annotated[Whole, Field(ge=0)]

    @model_validator(mode="after")
    def _plots_hold_a_sample(self) -> Layout:
        if 2 * self.edge_left_out >= min(self.plot_size):
            raise wrong_field(
                "edge_left_out",
                "an edge that leaves nothing to sample",
                "less than half the shorter side of a plot",
                "make the plots larger or the edge smaller",
            )
        return self


class Window(Part):
    """Limits of hue [degrees], saturation and value [0 to 1] that count as green."""

    hue: tuple[float, float] = (50.0, 170.0)
    saturation: tuple[float, float] = (0.0, 1.0)
    value: tuple[float, float] = (0.0, 1.0)

    @field_validator("hue", "saturation", "value")
    @classmethod
    def _in_order(cls, limits: tuple[float, float], info: ValidationInfo) -> tuple[float, float]:
        top = 360 if info.field_name == "hue" else 1
        if not 0 <= limits[0] < limits[1] <= top:
            raise ValueError(f"two limits, the lower first, from 0 to {top}")
        return limits


_default_window = only_word("default", "default, or limits such as {hue: [50, 170]}")


class PhotoMeasure(Part):
    """A measure that is scored from photos."""

    from_: Literal["photos"] = Field(alias="from")
    label: Text | None = None
    score: Literal["cover", "colour_index"] = "cover"
    per_plot: Annotated[Whole, Field(ge=1)] = 1
    dates: Annotated[list[When], Field(min_length=1)]
    window: Annotated[
        Annotated[Literal["default"], _default_window, Tag("word")]
        | Annotated[Window, Tag("written out")],
        WRITTEN_OUT,
    ] = "default"

    @property
    def unit(self) -> str:
        """Unit of the observations."""
        return "%" if self.score == "cover" else "index"

    @property
    def difference_kind(self) -> str:
        """Kind of quantity of a difference between two values."""
        return "points" if self.score == "cover" else "bare"

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Lowest and highest value that can be."""
        return (0.0, 100.0) if self.score == "cover" else (None, None)


class SheetMeasure(Part):
    """A measure that is written on sheets, as a rating on a scale or in a unit."""

    from_: Literal["sheet"] = Field(alias="from")
    label: Text | None = None
    scale: Range | None = None
    acceptable: Number | None = None
    unit_written: Text | None = Field(default=None, alias="unit")
    raters: list[Text] = []
    per_plot: Annotated[Whole, Field(ge=1)] = 1
    dates: Annotated[list[When], Field(min_length=1)]

    @field_validator("unit_written")
    @classmethod
    def _known_unit(cls, unit: str | None) -> str | None:
        if unit is not None:
            kind_of_unit(unit)
        return unit

    @model_validator(mode="after")
    def _scale_or_unit(self) -> SheetMeasure:
        rule = "either a scale, such as 1-9, or a unit, such as lbf"
        if self.scale is None and self.unit_written is None:
            raise wrong_field("", "neither a scale nor a unit", rule)
        if self.scale is not None and self.unit_written is not None:
            raise wrong_field("unit", "a unit beside a scale", rule, "remove one of the two")
        if self.acceptable is not None:
            if self.scale is None:
                raise wrong_field("acceptable", f"'{self.acceptable:g}'", "only beside a scale")
            if not self.scale[0] <= self.acceptable <= self.scale[1]:
                raise wrong_field("acceptable", f"'{self.acceptable:g}'", "a value of the scale")
        return self

    @property
    def unit(self) -> str:
        """Unit of the observations: SI, or the scale."""
        if self.unit_written is not None:
            return KINDS[kind_of_unit(self.unit_written)].si
        low, high = self.scale or (0.0, 0.0)
        return f"rating {low:g}-{high:g}"

    @property
    def difference_kind(self) -> str:
        """Kind of quantity of a difference between two values."""
        if self.unit_written is None:
            return "bare"
        kind = kind_of_unit(self.unit_written)
        return "points" if kind == "share" else kind

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Lowest and highest value that can be."""
        if self.scale is not None:
            return self.scale
        if self.unit in ("degC", "points"):
            return None, None
        return (0.0, 100.0) if self.unit == "%" else (0.0, None)


Measure = Annotated[PhotoMeasure | SheetMeasure, Field(discriminator="from_")]


class Definition(Part):
    """A trial as it was decided before the first observation."""

    title: Annotated[Text, Field(description="the name of the trial")]
    question: Annotated[Text, Field(description="what the trial is to find out")]
    units: Annotated[Literal["us", "metric"], Field(description="us or metric")]
    people: Annotated[list[Person], Field(min_length=1, description="who takes part")]
    report_to: Text | None = None
    notice: Text | None = None
    site: Annotated[Site, Field(description="where the trial lies")]
    dates: Annotated[dict[Name, Days], Field(description="every date, named once")]
    treatments: Annotated[
        dict[Name, Factor], Field(min_length=1, max_length=2, description="what is compared")
    ]
    layout: Annotated[Layout, Field(description="how the plots lie")]
    measures: Annotated[dict[Name, Measure], Field(min_length=1, description="what is observed")]
    analysis: Annotated[Analysis, Field(description="the primary question")]

    @property
    def combinations(self) -> int:
        """Number of treatments, or of combinations where there are two factors."""
        return prod(len(factor.levels) for factor in self.treatments.values())

    @property
    def plot_count(self) -> int:
        """Number of the smallest plots that the layout asks for."""
        layout, treatments = self.layout, self.combinations
        if layout.kind == "latin square":
            return treatments**2
        return treatments * (layout.replicates or layout.blocks)

    @property
    def replication(self) -> str:
        """How often everything is there, for a reader: ``6 blocks``."""
        layout, treatments = self.layout, self.combinations
        if layout.kind == "latin square":
            return f"{treatments} rows and {treatments} columns"
        if layout.kind == "completely random":
            return f"{layout.replicates} plots of each treatment"
        return f"{layout.blocks} blocks"

    def factor_of(self, level: str) -> str:
        """Name the factor that a treatment belongs to; no two factors share a treatment's name."""
        return next(name for name, factor in self.treatments.items() if level in factor.levels)


_all_covered = only_word("all covered", "all covered, or a list of plots such as [101, 102]")


class CoverSpell(Part):
    """A time for which covers lay on plots."""

    on: Day
    off: Day | None = None
    plots: Annotated[
        Annotated[Literal["all covered"], _all_covered, Tag("word")]
        | Annotated[list[PlotName], Field(min_length=1), Tag("written out")],
        WRITTEN_OUT,
    ] = "all covered"
    note: Text | None = None


class Exclusion(Part):
    """Observations that are left out of the analysis, with the reason."""

    plot: PlotName
    measure: Name | None = None
    date: Day | None = None
    sample: Annotated[Whole, Field(ge=1)] | None = None
    rater: Text | None = None
    reason: Text


class Lost(Part):
    """Planned observations that were not made and never will be, with the reason."""

    plot: PlotName
    measure: Name
    date: Day
    sample: Annotated[Whole, Field(ge=1)] | None = None
    rater: Text | None = None
    reason: Text


class Deviation(Part):
    """Something that was not done as the definition says."""

    date: Day
    what: Text
    reason: Text


# What stands for a value that could not be taken, where the diary does not say otherwise.
MISSING = ("", "NA", "-", ".")


class Sheet(Part):
    """How one hand-filled table is read."""

    file: Text
    tab: Text | None = None
    columns: dict[Name, Text] = {}
    missing: list[str] = [*MISSING]


class Diary(Part):
    """What happened since the definition was written."""

    covers: list[CoverSpell] = []
    sheets: list[Sheet] = []
    exclusions: list[Exclusion] = []
    missing: list[Lost] = []
    deviations: list[Deviation] = []
