"""The models of ``trial.yaml`` (the definition) and ``diary.yaml`` (the diary)."""

from __future__ import annotations

from math import prod
from typing import Annotated, Any, Literal, get_args

from pydantic import (
    Field,
    Tag,
    ValidationInfo,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from wintersward.trial.aerating import Aerating, AerationOption, Tine
from wintersward.trial.catalogue import CATALOGUE, filled, measure_kind
from wintersward.trial.climate import Climate, DegreeDays, Reaching
from wintersward.trial.decided import Decisions
from wintersward.trial.diary import (
    ClockCheck,
    CoverEvent,
    CoverSpell,
    Deviation,
    Diary,
    Exclusion,
    ForecastDay,
    LoggerFile,
    LoggerValue,
    Lost,
    Management,
    Mishap,
    Normals,
    Sheet,
    Weather,
)
from wintersward.trial.layout import AreaLeftOut, LaidByHand, Layout
from wintersward.trial.logger_measure import LoggerMeasure
from wintersward.trial.parts import (
    MISSING,
    WRITTEN_OUT,
    ArealMass,
    Days,
    Distance,
    Mass,
    Name,
    Number,
    Part,
    Range,
    Share,
    Switch,
    Text,
    When,
    Whole,
    only_word,
    wrong_field,
)
from wintersward.trial.questions import Analysis, Planning, Primary
from wintersward.trial.shade import Shade
from wintersward.trial.site import Site, Turf
from wintersward.units import KINDS, kind_of_unit

__all__ = [
    "Aerating",
    "AerationOption",
    "MISSING",
    "Analysis",
    "AreaLeftOut",
    "Climate",
    "ClockCheck",
    "CoverEvent",
    "CoverSpell",
    "Definition",
    "DegreeDays",
    "Deviation",
    "Diary",
    "Exclusion",
    "Factor",
    "ForecastDay",
    "Instrument",
    "LaidByHand",
    "Layout",
    "Level",
    "LoggerFile",
    "LoggerMeasure",
    "LoggerValue",
    "Lost",
    "Management",
    "Measure",
    "Mishap",
    "Normals",
    "Person",
    "PhotoMeasure",
    "Planning",
    "Primary",
    "Reaching",
    "Shade",
    "Sheet",
    "SheetMeasure",
    "Site",
    "Tine",
    "Turf",
    "Weather",
    "Window",
    "WindowName",
]


class Person(Part):
    """Someone who takes part; ratings carry the initials."""

    name: Text
    role: Text
    initials: Annotated[Text, Field(max_length=4)]


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


WindowName = Literal["default", "richardson 2001"]
"""Windows that have a name; what they are stands in `wintersward.photos.named_windows`."""

_window_names = get_args(WindowName)
_named_window = only_word(
    _window_names, f"{', '.join(_window_names)}, or limits such as {{hue: [50, 170]}}"
)


class PhotoMeasure(Part):
    """A measure that is scored from photos."""

    from_: Literal["photos"] = Field(alias="from")
    label: Text | None = None
    score: Literal["cover", "colour_index"] = "cover"
    per_plot: Annotated[Whole, Field(ge=1)] = 1
    dates: Annotated[list[When], Field(min_length=1)]
    window: Annotated[
        Annotated[WindowName, _named_window, Tag("word")] | Annotated[Window, Tag("written out")],
        WRITTEN_OUT,
    ] = "default"
    quadrat: Annotated[list[Distance], Field(min_length=2, max_length=2)] | None = None

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


class Instrument(Part):
    """How surface hardness was taken: values of another missile, height or drop do not compare."""

    missile: Mass
    drop_height: Distance
    drops: Annotated[Whole, Field(ge=1)]


_KINDS = WithJsonSchema({"type": "string", "enum": [*CATALOGUE]})


class SheetMeasure(Part):
    """A measure that is written on sheets, as a rating on a scale or in a unit."""

    from_: Literal["sheet"] = Field(alias="from")
    kind: Annotated[str, _KINDS] | None = None
    label: Text | None = None
    scale: Range | None = None
    acceptable: Number | None = None
    anchors: dict[Number, Text] = {}
    unit_written: Text | None = Field(default=None, alias="unit")
    raters: list[Text] = []
    repeats: Annotated[Share, Field(le=50)] | None = None
    destructive: Switch = False
    per_plot: Annotated[Whole, Field(ge=1)] = 1
    instrument: Instrument | None = None
    settings: Text | None = None
    dates: Annotated[list[When], Field(min_length=1)]

    @model_validator(mode="before")
    @classmethod
    def _filled_by_kind(cls, data: Any, info: ValidationInfo) -> Any:
        system = (info.context or {}).get("units")
        return filled(data, system) if isinstance(data, dict) else data

    @field_validator("kind")
    @classmethod
    def _known_kind(cls, kind: str | None) -> str | None:
        if kind is not None:
            measure_kind(kind)
        return kind

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

    @model_validator(mode="after")
    def _agrees_with_itself(self) -> SheetMeasure:
        if self.anchors and self.scale is None:
            raise wrong_field("anchors", "words for marks", "only beside a scale")
        if self.settings is not None and self.scale is not None:
            hint = "a mark is given by eye; say what marks mean under 'anchors'"
            raise wrong_field("settings", "words", "only beside a unit", hint)
        if self.destructive and self.repeats:
            rule = "none beside 'destructive: true'"
            hint = "what takes turf away cannot be looked at twice; remove one of the two"
            raise wrong_field("repeats", f"'{self.repeats:g} %'", rule, hint)
        low, high = self.scale or (0.0, 0.0)
        for mark in self.anchors:
            if not low <= mark <= high:
                rule = f"marks from {low:g} to {high:g}"
                raise wrong_field("anchors", f"words for {mark:g}", rule)
        return self

    @property
    def repeat_share(self) -> float:
        """Share of the plots that each rater looks at twice [%]; a rating has 10 unless said."""
        if self.destructive or self.repeats is not None:
            return self.repeats or 0.0
        return 10.0 if self.scale is not None and self.raters else 0.0

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

    @property
    def readings(self) -> tuple[float | None, float | None]:
        """Lowest and highest value that may stand on a sheet: as the kind has it, or any."""
        if self.kind is None or self.scale is not None:
            return self.limits
        return measure_kind(self.kind).range


Measure = Annotated[PhotoMeasure | SheetMeasure | LoggerMeasure, Field(discriminator="from_")]


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
    planning: Planning | None = None
    climate: Climate | None = None
    decisions: Decisions | None = None

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
        return treatments * (layout.replicates or layout.block_count or 1)

    @property
    def replication(self) -> str:
        """How often everything is there, for a reader: ``6 blocks``."""
        layout, treatments = self.layout, self.combinations
        if layout.kind == "latin square":
            return f"{treatments} rows and {treatments} columns"
        if layout.kind == "completely random":
            return f"{layout.replicates} plots of each treatment"
        if layout.kind == "demonstration":
            return "one area of each treatment"
        if layout.grounds:
            return f"{layout.blocks} blocks on each of {len(layout.grounds)} grounds"
        return f"{layout.blocks} blocks"

    def factor_of(self, level: str) -> str:
        """Name the factor that a treatment belongs to; no two factors share a treatment's name."""
        return next(name for name, factor in self.treatments.items() if level in factor.levels)
