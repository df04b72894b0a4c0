"""The parts of ``diary.yaml`` on loggers and their files, and a forecast that was typed in."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, Tag, WithJsonSchema, model_validator

from wintersward.trial.parts import (
    MISSING,
    WRITTEN_OUT,
    Day,
    Decimal,
    Name,
    Part,
    PlotName,
    Temperature,
    Text,
    Whole,
    wrong_field,
)
from wintersward.trial.time_formats import TimeFormat
from wintersward.trial.zones import LoggerZone
from wintersward.units import UNITS, stands_for

__all__ = ["ClockCheck", "ForecastDay", "LoggerFile", "LoggerValue"]

_UNITS = tuple(unit.symbol for unit in UNITS.values() if unit.dimension == "temperature")
_MOMENT = "[0-9]{4}-[0-9]{2}-[0-9]{2}[ T][0-9]{2}:[0-9]{2}(:[0-9]{2})?"
_MOMENT_RULE = "day and time written as 2026-01-15 09:00"
# A clock that gains or loses more than this share was misread: 15 minutes a day (no source; the
# clocks of loggers are some minutes a month off, from memory).
_FASTEST = 0.01
_AN_HOUR = (dt.timedelta(minutes=55), dt.timedelta(minutes=65))


def _moment(value: object) -> object:
    if isinstance(value, dt.datetime):
        return value
    if isinstance(value, str) and re.fullmatch(_MOMENT, value):
        try:
            return dt.datetime.fromisoformat(value)
        except ValueError:
            rule = "a day and time that exist, such as 2026-01-15 09:00"
            raise ValueError(rule) from None
    raise ValueError(_MOMENT_RULE)


def _temperature_unit(value: object) -> object:
    if value in _UNITS:
        return value
    near = next((unit for unit in _UNITS if stands_for(str(value), unit)), "")
    raise ValueError(", ".join(_UNITS) + (f"; did you mean {near}?" if near else ""))


Moment = Annotated[
    dt.datetime,
    BeforeValidator(_moment),
    WithJsonSchema({"type": "string", "pattern": f"^{_MOMENT}$"}),
]
TemperatureUnit = Annotated[
    str, BeforeValidator(_temperature_unit), WithJsonSchema({"type": "string", "enum": [*_UNITS]})
]
TimeColumns = Annotated[
    Annotated[Text, Tag("word")]
    | Annotated[list[Text], Field(min_length=2, max_length=2), Tag("written out")],
    WRITTEN_OUT,
]


class LoggerValue(Part):
    """One column of a logger's file: what it holds, and where its sensor lay."""

    column: Text
    measure: Name
    plot: PlotName
    position: Text | None = None
    unit: TemperatureUnit


class ClockCheck(Part):
    """What a logger's clock showed, and what the time was, both in the zone of the file."""

    logger: Moment
    true: Moment


class LoggerFile(Part):
    """How one file of a logger is read, and what stands in it.

    The time stands in one column, or in two, date and time of day, that are joined by a space. Days
    of ``used`` are the first and the last on which the sensors lay where the values say.
    """

    file: Text
    time: TimeColumns
    format: TimeFormat
    zone: LoggerZone
    decimal: Decimal = "point"
    delimiter: Literal["comma", "semicolon", "tab"] | None = None
    skip: Annotated[Whole, Field(ge=0, le=1000)] = 0
    missing: list[str] = [*MISSING]
    values: Annotated[list[LoggerValue], Field(min_length=1)]
    clock: Annotated[list[ClockCheck], Field(min_length=2, max_length=2)] | None = None
    used: Annotated[list[Day], Field(min_length=2, max_length=2)] | None = None

    @property
    def time_columns(self) -> tuple[str, ...]:
        """Headings of the column, or of the two columns, that hold the time."""
        return (self.time,) if isinstance(self.time, str) else tuple(self.time)

    @model_validator(mode="after")
    def _read_in_one_way(self) -> LoggerFile:
        if self.decimal == self.delimiter == "comma":
            rule = "semicolon or tab where decimals stand behind a comma"
            raise wrong_field("delimiter", "'comma' for both", rule, "look into the file")
        if self.used is not None and self.used[1] < self.used[0]:
            rule = f"a first day and a last day, not before it ({self.used[0]})"
            raise wrong_field("used", f"'{self.used[1]}' as the last day", rule, "swap the two")
        return self

    @model_validator(mode="after")
    def _clock_runs(self) -> LoggerFile:
        if self.clock is None:
            return self
        shown, passed = (
            getattr(self.clock[1], name) - getattr(self.clock[0], name)
            for name in ("logger", "true")
        )
        if min(shown, passed) <= dt.timedelta():
            rule = "two readings, the later one second, by both clocks"
            raise wrong_field("clock", "readings out of order", rule, "look at days and times")
        off = abs(shown - passed)
        if _AN_HOUR[0] <= off <= _AN_HOUR[1]:
            rule = "both clocks read in the zone of the file"
            hint = "summer time may have begun between the two; correct the true time, or 'zone'"
            raise wrong_field("clock", "a clock that came to be off by an hour", rule, hint)
        if off > _FASTEST * passed:
            found = "a clock that gains or loses more than 15 minutes a day"
            rule = "two readings of one clock that was not set in between"
            raise wrong_field("clock", found, rule, "look at days and times")
        return self


class ForecastDay(Part):
    """Lowest and highest temperature of the air [degC] that are forecast for a day."""

    date: Day
    low: Temperature
    high: Temperature

    @model_validator(mode="after")
    def _in_order(self) -> ForecastDay:
        if self.low > self.high:
            raise wrong_field("high", "less than the low", "the low or more", "swap the two")
        return self
