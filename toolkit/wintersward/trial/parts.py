"""Building blocks of the models: a strict part, names, quantities, dates and ranges."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    ModelWrapValidatorHandler,
    StringConstraints,
    Tag,
    ValidationError,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import InitErrorDetails, PydanticCustomError

from wintersward.units import KINDS, kind_of_unit, read_quantity

__all__ = [
    "MISSING",
    "WRITTEN_OUT",
    "Amount",
    "ArealMass",
    "Country",
    "Day",
    "Days",
    "Decimal",
    "Depth",
    "Difference",
    "Distance",
    "Gap",
    "Mass",
    "Name",
    "Number",
    "Part",
    "PlotName",
    "Range",
    "Reading",
    "Share",
    "Switch",
    "Temperature",
    "Text",
    "When",
    "Whole",
    "only_word",
    "wrong_field",
]


class Part(BaseModel):
    """A part of a file: no unknown fields, not changed once made, errors name what is known."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, populate_by_name=True, allow_inf_nan=False, strict=False
    )

    @model_validator(mode="wrap")
    @classmethod
    def _tell_known_fields(cls, data: Any, handler: ModelWrapValidatorHandler[Part]) -> Part:
        try:
            return handler(data)
        except ValidationError as error:
            known = ", ".join(info.alias or name for name, info in cls.model_fields.items())
            details = [_detail(e, known) for e in error.errors(include_url=False)]
            raise ValidationError.from_exception_data(cls.__name__, details) from None


def _detail(error: Any, known: str) -> InitErrorDetails:
    """Rebuild one error, with the known fields in place of a bare 'extra not permitted'."""
    kind, context = error["type"], error.get("ctx", {})
    made: Any = kind
    if kind == "extra_forbidden" and len(error["loc"]) == 1:
        made = PydanticCustomError("unknown_field", "{known}", {"known": known})
    elif kind in ("unknown_field", "wrong_field"):
        made = PydanticCustomError(kind, error["msg"].replace("{", "("), context)
    return InitErrorDetails(type=made, loc=error["loc"], input=error["input"], ctx=context)


def wrong_field(field: str, found: str, allowed: str, hint: str = "") -> PydanticCustomError:
    """Make the error that a check of a whole part raises about one of its fields.

    Parameters
    ----------
    field : str
        Field of the part, as it is written in the file; empty for the part itself.
    found, allowed, hint : str
        As in `wintersward.errors.Problem`.
    """
    context = {"field": field, "found": found, "allowed": allowed, "hint": hint}
    return PydanticCustomError("wrong_field", "allowed: {allowed}", context)


def _form(value: object) -> str:
    return "written out" if isinstance(value, (dict, list, BaseModel)) else "word"


def only_word(word: str | tuple[str, ...], rule: str) -> BeforeValidator:
    """Allow one word, or one of a few, where something could be written out instead.

    Parameters
    ----------
    word : str or tuple of str
        The word, or the words.
    rule : str
        What is allowed, told when it is another word.
    """
    words = (word,) if isinstance(word, str) else word

    def check(value: object) -> object:
        if value not in words:
            raise ValueError(rule)
        return value

    return BeforeValidator(check)


def _quantity(kind: str) -> tuple[BeforeValidator, WithJsonSchema]:
    schema = {"type": "string", "examples": [KINDS[kind].example]}
    return BeforeValidator(partial(read_quantity, kind=kind)), WithJsonSchema(schema)


def _day(value: object) -> object:
    if isinstance(value, dt.date):
        return value
    if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            raise ValueError("a date that exists in the calendar, such as 2026-03-24") from None
    raise ValueError("a date written year-month-day, such as 2026-03-24")


def _when(value: object) -> object:
    if isinstance(value, dt.date):
        return value
    if re.match("[0-9]", str(value)):
        return _day(value)
    try:
        return _name(value)
    except ValueError:
        raise ValueError("a name from 'dates', or a date such as 2026-03-24") from None


def _range(value: object) -> object:
    if isinstance(value, tuple):
        return value
    match = re.fullmatch(r"\s*([0-9]+(?:\.[0-9]+)?)\s*-\s*([0-9]+(?:\.[0-9]+)?)\s*", str(value))
    if match is None or float(match[1]) >= float(match[2]):
        raise ValueError("lowest and highest value, such as 1-9")
    return float(match[1]), float(match[2])


@dataclass(frozen=True)
class Amount:
    """A value of a measure, or a difference between two, in the unit of the measure.

    Parameters
    ----------
    value : float
        In the SI unit of the kind; a bare number for a rating or an index.
    kind : str
        One of `wintersward.units.KINDS`, or ``bare``.
    """

    value: float
    kind: str


_AMOUNT = "a number and the unit of the measure, such as 8 points or 5 lbf"


def _amount(value: object, difference: bool = True) -> object:
    if isinstance(value, Amount):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e300:
        return Amount(float(value), "bare")
    unit = re.sub(r"^\s*[-+0-9.]*\s*", "", value).strip() if isinstance(value, str) else ""
    if not isinstance(value, str) or not unit:
        raise ValueError(_AMOUNT)
    if unit == "%":
        return Amount(read_quantity(value.replace("%", "points"), "points"), "points")
    try:
        kind = kind_of_unit(unit)
    except ValueError as error:
        near = str(error).partition("; ")[2]
        raise ValueError(f"{_AMOUNT}; {near}" if near else _AMOUNT) from None
    return Amount(read_quantity(value, kind, difference=difference), kind)


def _plot_name(value: object) -> object:
    if isinstance(value, str):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    several = "; make an entry for each" if isinstance(value, list) else ""
    raise ValueError(f"the name of one plot, such as 101{several}")


def _no_switch(value: object, rule: str) -> object:
    if isinstance(value, bool):
        raise ValueError(rule)
    return value


def _switch(value: object) -> object:
    if isinstance(value, bool):
        return value
    raise ValueError("true or false")


def _name(value: object) -> object:
    if isinstance(value, str) and re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*", value):
        return value
    raise ValueError("a short name of letters, digits and _, beginning with a letter")


def _country(value: object) -> object:
    if isinstance(value, str) and re.fullmatch("[A-Z]{2}", value):
        return value
    raise ValueError("the two capital letters of a country (ISO 3166), such as US")


_distance, _distance_schema = _quantity("distance")
_depth, _depth_schema = _quantity("depth")
_areal_mass, _areal_mass_schema = _quantity("areal mass")
_mass, _mass_schema = _quantity("mass")
_share, _share_schema = _quantity("share")
_temperature, _temperature_schema = _quantity("temperature")
_name_schema = WithJsonSchema({"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_]*$"})
_plot_schema = WithJsonSchema({"type": ["string", "integer"]})

# What stands for a value that could not be taken, where the diary does not say otherwise.
MISSING = ("", "NA", "-", ".")

# Tells a word from a list or fields, so that an error speaks only of what was meant.
WRITTEN_OUT = Discriminator(_form)

Switch = Annotated[bool, BeforeValidator(_switch)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Name = Annotated[str, BeforeValidator(_name), _name_schema]
Number = Annotated[float, BeforeValidator(partial(_no_switch, rule="a number"))]
Whole = Annotated[int, BeforeValidator(partial(_no_switch, rule="a whole number"))]
Country = Annotated[
    str, BeforeValidator(_country), WithJsonSchema({"type": "string", "pattern": "^[A-Z]{2}$"})
]
PlotName = Annotated[
    str, BeforeValidator(_plot_name), StringConstraints(min_length=1), _plot_schema
]
Day = Annotated[
    dt.date, BeforeValidator(_day), WithJsonSchema({"type": "string", "format": "date"})
]
Days = Annotated[
    Annotated[Day, Tag("word")] | Annotated[list[Day], Field(min_length=1), Tag("written out")],
    WRITTEN_OUT,
]
When = Annotated[dt.date | str, BeforeValidator(_when), WithJsonSchema({"type": "string"})]
Difference = Annotated[
    Amount,
    BeforeValidator(_amount),
    WithJsonSchema({"type": ["string", "number"], "examples": ["8 points", 1]}),
]
Reading = Annotated[
    Amount,
    BeforeValidator(partial(_amount, difference=False)),
    WithJsonSchema({"type": ["string", "number"], "examples": ["75 %", 6]}),
]
Distance = Annotated[float, _distance, Field(gt=0), _distance_schema]
Gap = Annotated[float, _distance, Field(ge=0), _distance_schema]
Depth = Annotated[float, _depth, Field(gt=0), _depth_schema]
ArealMass = Annotated[float, _areal_mass, Field(gt=0), _areal_mass_schema]
Mass = Annotated[float, _mass, Field(gt=0), _mass_schema]
Share = Annotated[float, _share, Field(ge=0, le=100), _share_schema]
Temperature = Annotated[float, _temperature, _temperature_schema]
Decimal = Literal["point", "comma"]
Range = Annotated[tuple[float, float], BeforeValidator(_range), WithJsonSchema({"type": "string"})]
