"""The part of a definition that says what is made of temperatures: sums, days gained, risks."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import (
    BeforeValidator,
    Field,
    ValidationInfo,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from wintersward.errors import closest, listed
from wintersward.trial.parts import (
    Amount,
    Name,
    Number,
    Part,
    Share,
    Temperature,
    Text,
    When,
    Whole,
    wrong_field,
)
from wintersward.units import read_quantity

__all__ = [
    "RISK_LIMITS",
    "RISK_NAMES",
    "Climate",
    "DayCount",
    "DegreeDays",
    "DollarSpot",
    "Reaching",
    "RiskLimits",
]

# What is counted in the temperatures of a winter, by its name, and which limits each one has.
RISK_LIMITS = {
    "canopy_heat": ("above", "hours"),
    "pink_snow_mould": ("above", "below", "hours"),
    "grey_snow_mould": ("above", "below", "hours"),
    "frost_after_uncovering": ("below", "hours", "within"),
    "dehardening": ("above", "days_in_a_row"),
}
RISK_NAMES = tuple(RISK_LIMITS)

# Beyond any base, ceiling or level that turf has been judged by [degC]; a number in the other
# unit's degrees usually lies there (common practice, no source).
_BASE, _UPPER, _LEVEL = (-10.0, 20.0), (0.0, 45.0), (-10.0, 35.0)
_MOST_DEGREE_DAYS = 5000.0

_DAYS = re.compile(r"\s*([0-9]{1,3})\s*(?:days?)?\s*")
_SUM = re.compile(r"\s*([0-9]+(?:\.[0-9]+)?)\s+(?:(degC|degF) days?|(degree)[ -]days?)\s*")
_REACHES = "a temperature such as '50 degF', or a sum such as '100 degree days'"


def _day_count(value: object) -> object:
    match = _DAYS.fullmatch(str(value))
    if match is None or isinstance(value, bool) or not 1 <= int(match[1]) <= 60:
        raise ValueError("a number of days from 1 to 60, such as 5 days")
    return int(match[1])


def _within(value: float, limits: tuple[float, float], what: str) -> None:
    """Refuse a temperature that can only be a slip of the unit."""
    low, high = limits
    if not low <= value <= high:
        in_us = f"{low * 1.8 + 32:g} to {high * 1.8 + 32:g} degF"
        raise ValueError(f"{what} from {low:g} to {high:g} degC ({in_us}); look at the unit")


def _base(value: object) -> object:
    base = read_quantity(value, "temperature")
    _within(base, _BASE, "a base")
    return base


def _upper(value: object) -> object:
    upper = read_quantity(value, "temperature")
    _within(upper, _UPPER, "a ceiling")
    return upper


def _risk_name(value: object) -> object:
    if value not in RISK_NAMES:
        near = closest(str(value), RISK_NAMES)
        raise ValueError(f"{listed(RISK_NAMES)}; {near}" if near else listed(RISK_NAMES))
    return value


def _level(value: object, base: str) -> object:
    """Read a temperature, or a sum of degree days in degC."""
    if isinstance(value, Amount):
        return value
    total = _SUM.fullmatch(str(value))
    if total is None:
        if re.search(r"\bdays?\b", str(value)):
            raise ValueError(_REACHES)
        try:
            level = read_quantity(value, "temperature")
        except ValueError as error:
            near = str(error).partition("; ")[2]
            raise ValueError(f"{_REACHES}; {near}" if near else _REACHES) from None
        _within(level, _LEVEL, "a level")
        return Amount(level, "temperature")
    if total[3] and base.endswith("degF"):
        rule = f"'{total[1]} degF days' or '{total[1]} degC days'"
        raise ValueError(f"{rule}; the base is written in degF, so say which degrees are meant")
    most = _MOST_DEGREE_DAYS * (1.8 if total[2] == "degF" else 1.0)
    if not 0 < float(total[1]) <= most:
        raise ValueError(f"more than 0 and at most {most:g} degree days")
    return Amount(float(total[1]) / (1.8 if total[2] == "degF" else 1.0), "degree days")


_temperature_schema = WithJsonSchema({"type": "string", "examples": ["50 degF"]})
DayCount = Annotated[
    int,
    BeforeValidator(_day_count),
    WithJsonSchema({"type": ["string", "integer"], "examples": ["5 days"]}),
]
Base = Annotated[float, BeforeValidator(_base), _temperature_schema]
Upper = Annotated[float, BeforeValidator(_upper), _temperature_schema]
RiskName = Annotated[
    str,
    BeforeValidator(_risk_name),
    WithJsonSchema({"type": "string", "enum": list(RISK_NAMES)}),
]


class DegreeDays(Part):
    """How degree days are counted, in degC, and from which day on.

    Without a measure they are those of the air, from the lowest and highest temperature of each
    day in the weather file.
    """

    measure: Name | None = None
    base: Base
    upper: Upper | None = None
    method: Literal["average", "modified", "triangle", "sine", "integrated"]
    from_: When = Field(alias="from")

    @model_validator(mode="after")
    def _in_order(self) -> DegreeDays:
        if self.upper is not None and self.upper <= self.base:
            raise wrong_field("upper", "a ceiling at the base or below", "more than the base")
        if self.method == "integrated" and self.measure is None:
            rule = "average, modified, triangle, sine"
            hint = "a weather file has two temperatures a day; name a measure of loggers, or choose"
            raise wrong_field("method", "'integrated' without a measure", rule, hint)
        return self


class Reaching(Part):
    """A temperature, or a sum of degree days, whose day of arrival is compared between plots."""

    reaches: Annotated[
        Amount,
        WithJsonSchema({"type": "string", "examples": ["50 degF", "100 degree days"]}),
    ]
    over: DayCount | None = None
    measure: Name | None = None

    @field_validator("reaches", mode="before")
    @classmethod
    def _read(cls, value: object, info: ValidationInfo) -> object:
        climate = (info.context or {}).get("climate")
        sums = climate.get("degree_days") if isinstance(climate, dict) else None
        base = str(sums.get("base", "")) if isinstance(sums, dict) else ""
        return _level(value, base.strip())

    @model_validator(mode="after")
    def _of_a_measure(self) -> Reaching:
        if self.degree_days is not None:
            for name in ("over", "measure"):
                if getattr(self, name) is not None:
                    rule = f"no '{name}': degree days are counted as 'degree_days' says"
                    raise wrong_field(name, f"{name} beside degree days", rule, "remove it")
        elif self.measure is None:
            rule = "the measure of loggers that reaches it"
            raise wrong_field("measure", "nothing", rule, "add 'measure: ...'")
        return self

    @property
    def temperature(self) -> float | None:
        """The temperature to be reached by the mean over some days [degC]; None for a sum."""
        return self.reaches.value if self.reaches.kind == "temperature" else None

    @property
    def degree_days(self) -> float | None:
        """The sum to be reached [degC d]; None for a temperature."""
        return self.reaches.value if self.reaches.kind == "degree days" else None

    @property
    def days(self) -> int:
        """Over how many days the mean is taken; 1 unless told."""
        return self.over or 1


class RiskLimits(Part):
    """Limits that replace those of the toolkit, and where they come from."""

    above: Temperature | None = None
    below: Temperature | None = None
    hours: Annotated[Number, Field(gt=0, le=24)] | None = None
    days_in_a_row: Annotated[Whole, Field(ge=1, le=60)] | None = None
    within: DayCount | None = None
    source: Text | None = None

    @model_validator(mode="after")
    def _some_in_order(self) -> RiskLimits:
        if not self.told:
            raise wrong_field("", "no limit", "at least one of them", "add one, or remove the name")
        if self.above is not None and self.below is not None and self.below <= self.above:
            rule = "a temperature higher than that of 'above'"
            raise wrong_field("below", "that of 'above' or lower", rule, "swap the two")
        return self

    @property
    def told(self) -> dict[str, float]:
        """The limits that are given, by their names: degC, hours of a day, days."""
        held = {n: getattr(self, n) for n in type(self).model_fields if n != "source"}
        return {name: value for name, value in held.items() if value is not None}


class DollarSpot(Part):
    """Coefficients of the logit of dollar spot; without them nothing is computed.

    They are per % of humidity and per degC. `act_at` is the user's own mark [%].
    """

    intercept: Number
    per_humidity: Number
    per_degree: Number
    act_at: Annotated[Share, Field(gt=0)] | None = None
    source: Text | None = None


class Climate(Part):
    """What is made of temperatures."""

    degree_days: DegreeDays | None = None
    thermometer: list[Reaching] = []
    risks: dict[RiskName, RiskLimits] = {}
    dollar_spot: DollarSpot | None = None
