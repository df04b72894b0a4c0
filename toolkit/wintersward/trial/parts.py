"""Building blocks of the models: a strict part, names, quantities, dates and ranges."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    StringConstraints,
    ValidationError,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import InitErrorDetails, PydanticCustomError

from wintersward.units import KINDS, kind_of_unit, read_quantity

__all__ = [
    "Amount",
    "ArealMass",
    "Day",
    "Days",
    "Depth",
    "Difference",
    "Distance",
    "Name",
    "Part",
    "PlotName",
    "Range",
    "Share",
    "Text",
    "When",
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
    elif kind == "unknown_field":
        made = PydanticCustomError("unknown_field", "{known}", context)
    return InitErrorDetails(type=made, loc=error["loc"], input=error["input"], ctx=context)


def _quantity(kind: str) -> tuple[BeforeValidator, WithJsonSchema]:
    schema = {"type": "string", "examples": [KINDS[kind].example]}
    return BeforeValidator(partial(read_quantity, kind=kind)), WithJsonSchema(schema)


def _day(value: object) -> object:
    if isinstance(value, dt.date):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            raise ValueError("a date that exists in the calendar, such as 2026-03-24") from None
    raise ValueError("a date written year-month-day, such as 2026-03-24")


def _days(value: object) -> object:
    return [_day(entry) for entry in value] if isinstance(value, list) else _day(value)


def _when(value: object) -> object:
    if isinstance(value, dt.date):
        return value
    try:
        return _day(value) if re.match(r"\d", str(value)) else _name(value)
    except ValueError:
        raise ValueError("a name from 'dates', or a date such as 2026-03-24") from None


def _range(value: object) -> object:
    if isinstance(value, tuple):
        return value
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*-\s*(\d+(?:\.\d+)?)\s*", str(value))
    if match is None or float(match[1]) >= float(match[2]):
        raise ValueError("lowest and highest value, such as 1-9")
    return float(match[1]), float(match[2])


@dataclass(frozen=True)
class Amount:
    """A difference in the unit of its measure.

    Parameters
    ----------
    value : float
        In the SI unit of the kind; a bare number for a rating or an index.
    kind : str
        One of `wintersward.units.KINDS`, or ``bare``.
    """

    value: float
    kind: str


def _amount(value: object) -> object:
    if isinstance(value, Amount):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return Amount(float(value), "bare")
    unit = str(value).strip().rpartition(" ")[2]
    kind = "points" if unit == "%" else kind_of_unit(unit)
    return Amount(read_quantity(str(value).replace("%", "points"), kind), kind)


def _plot_name(value: object) -> object:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _name(value: object) -> object:
    if isinstance(value, str) and re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*", value):
        return value
    raise ValueError("a short name of letters, digits and _, beginning with a letter")


_distance, _distance_schema = _quantity("distance")
_depth, _depth_schema = _quantity("depth")
_mass, _mass_schema = _quantity("areal mass")
_share, _share_schema = _quantity("share")
_date_schema = WithJsonSchema({"type": "string", "format": "date"})
_days_schema = WithJsonSchema(
    {
        "anyOf": [
            {"type": "string", "format": "date"},
            {"type": "array", "items": {"type": "string", "format": "date"}},
        ]
    }
)
_name_schema = WithJsonSchema({"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_]*$"})

Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Name = Annotated[str, BeforeValidator(_name), _name_schema]
PlotName = Annotated[str, BeforeValidator(_plot_name), StringConstraints(min_length=1)]
Day = Annotated[dt.date, BeforeValidator(_day), _date_schema]
Days = Annotated[dt.date | list[dt.date], BeforeValidator(_days), _days_schema]
When = Annotated[dt.date | str, BeforeValidator(_when), WithJsonSchema({"type": "string"})]
Difference = Annotated[
    Amount,
    BeforeValidator(_amount),
    WithJsonSchema({"type": ["string", "number"], "examples": ["8 points", 1]}),
]
Distance = Annotated[float, _distance, Field(gt=0), _distance_schema]
Depth = Annotated[float, _depth, Field(gt=0), _depth_schema]
ArealMass = Annotated[float, _mass, Field(gt=0), _mass_schema]
Share = Annotated[float, _share, Field(ge=0, le=100), _share_schema]
Range = Annotated[tuple[float, float], BeforeValidator(_range), WithJsonSchema({"type": "string"})]
