"""Where a trial lies, and what grows there."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field, WithJsonSchema

from wintersward.trial.parts import Country, Depth, Number, Part, Text
from wintersward.trial.shade import Shade
from wintersward.trial.zones import TimeZone
from wintersward.units import KINDS, read_quantity

__all__ = ["Site", "Turf"]


def _height(value: object) -> object:
    return read_quantity(value, "distance")


# From the shore of the Dead Sea to the highest towns [m] (from memory).
Elevation = Annotated[
    float,
    BeforeValidator(_height),
    Field(ge=-430, le=5500),
    WithJsonSchema({"type": "string", "examples": [KINDS["distance"].example]}),
]


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
    elevation: Elevation | None = None
    time_zone: TimeZone | None = None
    use: Text | None = None
    turf: Turf
    shade: list[Shade] = []
