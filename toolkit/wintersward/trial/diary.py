"""The diary and its parts: covers, what happened to them, care, mishaps, sheets, weather."""

from __future__ import annotations

import datetime as dt
from collections.abc import Container
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, field_validator, model_validator

from wintersward.trial.diary_costs import Costs
from wintersward.trial.diary_counts import EstablishedTurf, PinCount
from wintersward.trial.diary_loggers import ClockCheck, ForecastDay, LoggerFile, LoggerValue
from wintersward.trial.happenings import CareWord, CoverWord
from wintersward.trial.parts import (
    MISSING,
    Day,
    Decimal,
    Name,
    Number,
    Part,
    PlotName,
    Temperature,
    Text,
    Whole,
    wrong_field,
)
from wintersward.trial.plot_lists import ALL_PLOTS, AnyPlots, CoveredPlots, EveryPlot
from wintersward.units import read_quantity

__all__ = [
    "MONTHS",
    "ClockCheck",
    "Costs",
    "CoverEvent",
    "CoverSpell",
    "Deviation",
    "Diary",
    "EstablishedTurf",
    "Exclusion",
    "ForecastDay",
    "LoggerFile",
    "LoggerValue",
    "Lost",
    "Management",
    "Mishap",
    "MonthNormal",
    "Normals",
    "PinCount",
    "Sheet",
    "Weather",
    "WeatherUnits",
]

# fmt: off
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)
# fmt: on


class CoverSpell(Part):
    """A time for which covers lay on plots."""

    on: Day
    off: Day | None = None
    plots: CoveredPlots = "all covered"
    note: Text | None = None


class CoverEvent(Part):
    """Something that befell covers while they lay, or snow, ice and water on plots."""

    date: Day
    what: CoverWord
    plots: AnyPlots = "all covered"
    note: Text | None = None

    @model_validator(mode="after")
    def _other_is_told(self) -> CoverEvent:
        if self.what == "other" and self.note is None:
            raise wrong_field("note", "nothing", "what happened, in words", "add 'note: ...'")
        return self

    @property
    def opens(self) -> bool:
        """Whether the plots lay open from this day on."""
        return self.what in ("lifted", "blown off")

    @property
    def closes(self) -> bool:
        """Whether the plots were covered again from this day on."""
        return self.what == "laid again"

    @property
    def on_covers(self) -> bool:
        """Whether it can befall only plots on which covers lie."""
        return self.opens or self.closes or self.loosens

    @property
    def loosens(self) -> bool:
        """Whether the cover lay on, but not whole; its plots count as covered."""
        return self.what in ("torn", "partly open")


class Management(Part):
    """Something that was done to the turf as part of its care."""

    date: Day
    what: CareWord
    plots: AnyPlots = "all plots"
    amount: Text | None = None
    note: Text | None = None

    @model_validator(mode="after")
    def _other_is_told(self) -> Management:
        if self.what == "other" and self.note is None:
            raise wrong_field("note", "nothing", "what was done, in words", "add 'note: ...'")
        return self


class Mishap(Part):
    """Something that went wrong on plots, and what it did to them."""

    date: Day
    plots: AnyPlots = "all plots"
    what: Text
    effect: Text


class Exclusion(Part):
    """Observations that are left out of the analysis, with the reason."""

    plot: PlotName
    measure: Name | None = None
    date: Day | None = None
    sample: Annotated[Whole, Field(ge=1)] | None = None
    rater: Text | None = None
    reason: Text


_SEVERAL = "for several write 'plots: [101, 102]', or 'plots: all plots'"


class Lost(Part):
    """Planned observations that were not made and never will be, with the reason."""

    plot: PlotName | None = None
    plots: EveryPlot | None = None
    measure: Name | None = None
    date: Day
    sample: Annotated[Whole, Field(ge=1)] | None = None
    rater: Text | None = None
    reason: Text

    @field_validator("plot", mode="before")
    @classmethod
    def _one_plot(cls, plot: object) -> object:
        if isinstance(plot, list) or plot == ALL_PLOTS:
            raise ValueError(f"the name of one plot, such as 101; {_SEVERAL}")
        return plot

    @model_validator(mode="after")
    def _plots_are_told_once(self) -> Lost:
        if self.plot is None and self.plots is None:
            rule = "'plot' with the name of a plot, or 'plots' with a list or 'all plots'"
            raise wrong_field("", "no plot", rule, "add 'plot: ...'")
        if self.plot is not None and self.plots is not None:
            raise wrong_field("plots", "plots beside a plot", "one of the two", "remove one")
        return self

    @property
    def named(self) -> tuple[str, ...]:
        """Plots and whole plots that are named; none where all plots are meant."""
        if self.plot is not None:
            return (self.plot,)
        return () if isinstance(self.plots, str) else tuple(self.plots or ())

    def means(
        self,
        measure: str,
        day: dt.date,
        names: Container[str],
        sample: int | None = None,
        rater: str = "",
    ) -> bool:
        """Tell whether a planned observation is declared missing here.

        Parameters
        ----------
        measure : str
            Name of its measure.
        day : date
            Day for which it is planned.
        names : container of str
            Names that its plot goes by: its own and that of its whole plot.
        sample : int, optional
            Its number within the plot; None asks for all samples together.
        rater : str
            Whose it is; empty for a measure that is taken without raters, of which a declaration
            holds whoever it names.

        Notes
        -----
        A declaration without a measure means every measure of the day; one that names a sample or
        a rater settles these alone, any other the whole plot.
        """
        return (
            self.date == day
            and self.measure in (None, measure)
            and self.sample in (None, sample)
            and (not rater or self.rater in (None, rater))
            and (self.plots == ALL_PLOTS or any(name in names for name in self.named))
        )


class Deviation(Part):
    """Something that was not done as the definition says."""

    date: Day
    what: Text
    reason: Text
    field: Text | None = None


DateOrder = Literal["year first", "month first", "day first"]


class Sheet(Part):
    """How one hand-filled table is read."""

    file: Text
    tab: Text | None = None
    columns: dict[Name, Text] = {}
    missing: list[str] = [*MISSING]
    date_order: DateOrder | None = None
    decimal: Decimal = "point"


def _rain(value: object) -> object:
    """Read a depth of rain into mm."""
    return 1000 * read_quantity(value, "depth")


def _month(value: object) -> object:
    if value in MONTHS:
        return value
    said = str(value).strip(". ").casefold()
    meant = [month for month in MONTHS if len(said) > 2 and month.casefold().startswith(said)]
    if said.isascii() and said.isdigit() and 1 <= int(said[:3]) <= 12:
        meant = [MONTHS[int(said[:3]) - 1]]
    hint = f"did you mean {meant[0]}?" if len(meant) == 1 else ""
    rule = "the name of a month, such as January"
    raise ValueError(f"{rule}; {hint}" if hint else rule)


_depth = WithJsonSchema({"type": "string", "examples": ["2.4 in"]})
RainDepth = Annotated[float, BeforeValidator(_rain), Field(ge=0), _depth]
Month = Annotated[
    str, BeforeValidator(_month), WithJsonSchema({"type": "string", "enum": list(MONTHS)})
]


class MonthNormal(Part):
    """What a month is like on average: temperatures in degC, rain in mm."""

    low: Temperature | None = None
    high: Temperature | None = None
    rain: RainDepth | None = None
    days_below_zero: Annotated[Number, Field(ge=0, le=31)] | None = None

    @model_validator(mode="after")
    def _in_order(self) -> MonthNormal:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise wrong_field("high", "less than the low", "the low or more", "swap the two")
        return self


class Normals(Part):
    """The stated averages that a season is held against, and where they come from."""

    source: Text
    months: Annotated[dict[Month, MonthNormal], Field(min_length=1)]


class WeatherUnits(Part):
    """Units of the columns of a weather file."""

    temperature: Literal["degF", "degC"]
    rain: Literal["in", "mm"] | None = None


# A station report writes M for a value that is missing.
_STATION_MISSING = (*MISSING, "M")


class Weather(Part):
    """The file with the daily weather of the season, and how it is read."""

    file: Text
    tab: Text | None = None
    columns: dict[Name, Text] = {}
    units: WeatherUnits
    missing: list[str] = [*_STATION_MISSING]
    date_order: DateOrder | None = None
    decimal: Decimal = "point"
    normals: Normals | None = None


class Diary(Part):
    """What happened since the definition was written."""

    covers: list[CoverSpell] = []
    cover_events: list[CoverEvent] = []
    management: list[Management] = []
    mishaps: list[Mishap] = []
    sheets: list[Sheet] = []
    weather: Weather | None = None
    loggers: list[LoggerFile] = []
    forecast: list[ForecastDay] = []
    pins: list[PinCount] = []
    established_turf: list[EstablishedTurf] = []
    costs: Costs | None = None
    exclusions: list[Exclusion] = []
    missing: list[Lost] = []
    deviations: list[Deviation] = []
