"""A measure that loggers take: a temperature of every plot, read day and night."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, model_validator

from wintersward.trial.parts import Depth, Part, Share, Temperature, Text, When, wrong_field

__all__ = ["LOGGED", "Logged", "LoggerMeasure"]

_SOIL = "soil temperature"
# Readings that can be on a sports ground in a winter and spring [degC] (common practice, no
# source). Thermometers that people read may show more: theirs is the range of the catalogue.
_IN_SOIL, _ABOVE = (-25.0, 50.0), (-40.0, 70.0)


@dataclass(frozen=True)
class Logged:
    """A temperature that loggers take.

    Parameters
    ----------
    range : tuple of float [degC]
        Lowest and highest reading that can be; one beyond it is not used.
    protocol : str
        How it is taken, in one sentence.
    record : str
        What to write down beside the readings.
    source : str
        Author and year, "common practice, no source" or "from memory".
    """

    range: tuple[float, float]
    protocol: str
    record: str
    source: str


_CLOCK = "make and serial number of each logger, its plot, its clock against a true one"
LOGGED = {
    _SOIL: Logged(
        _IN_SOIL,
        "Bury one sensor in every plot, all at the same depth and inside the edge strip, and let "
        "it read every 15 to 60 minutes.",
        f"depth (4 in, that is 10 cm, is usual), {_CLOCK}",
        "depth on which growth limits rest: North Carolina State University 2005, quoted by Kent "
        "County extension 2007; the rest from memory",
    ),
    "canopy temperature": Logged(
        _ABOVE,
        "Fix a shaded sensor among the leaves at the height of the crowns, under the cover where "
        "one lies, and let it read at least every 30 minutes: peaks are short.",
        f"sensor and its shade, height above the soil, {_CLOCK}",
        "sunny days under covers are those to watch: Vavrek 2013; height, shade and interval: "
        "from memory",
    ),
    "air temperature": Logged(
        _ABOVE,
        "Hang a shaded sensor over every plot, above the covers, and let it read at least every "
        "30 minutes.",
        f"sensor and its shade, height above the turf, {_CLOCK}",
        "from memory",
    ),
}


class LoggerMeasure(Part):
    """A temperature that loggers take; of each plot and day it has one value."""

    from_: Literal["logger"] = Field(alias="from")
    label: Text | None = None
    what: Literal["soil temperature", "canopy temperature", "air temperature"]
    depth: Depth | None = None
    daily: Literal["mean", "minimum", "maximum", "amplitude"] = "mean"
    complete: Annotated[Share, Field(gt=0)] = 90.0
    band: Annotated[list[Temperature], Field(min_length=2, max_length=2)] | None = None
    dates: Annotated[list[When], Field(min_length=1)]

    @model_validator(mode="after")
    def _band_in_order(self) -> LoggerMeasure:
        if self.band is not None and self.band[0] >= self.band[1]:
            found = f"{self.band[0]:g} degC to {self.band[1]:g} degC"
            raise wrong_field("band", found, "the lower temperature first", "swap the two")
        return self

    @model_validator(mode="after")
    def _depth_of_soil(self) -> LoggerMeasure:
        if self.what == _SOIL and self.depth is None:
            rule = "how deep the sensors lie in the soil"
            raise wrong_field("depth", "nothing", rule, "add 'depth: ...', such as 'depth: 4 in'")
        if self.what != _SOIL and self.depth is not None:
            rule = f"none for {self.what}"
            raise wrong_field("depth", "a depth", rule, f"remove the line, or measure {_SOIL}")
        return self

    @property
    def unit(self) -> str:
        """Unit of the observations."""
        return "degC"

    @property
    def difference_kind(self) -> str:
        """Kind of quantity of a difference between two values."""
        return "temperature"

    @property
    def is_difference(self) -> bool:
        """Whether a value is itself a difference of two temperatures, so without a zero point."""
        return self.daily == "amplitude"

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Lowest and highest value that can be."""
        return (0.0, None) if self.is_difference else (None, None)

    @property
    def readings(self) -> tuple[float | None, float | None]:
        """Lowest and highest reading of a logger that can be [degC]."""
        return self.logged.range

    @property
    def logged(self) -> Logged:
        """How it is taken."""
        return LOGGED[self.what]

    @property
    def per_plot(self) -> int:
        """Number of values in one plot on one day."""
        return 1

    @property
    def raters(self) -> list[str]:
        """Nobody rates what a logger takes."""
        return []

    @property
    def repeat_share(self) -> float:
        """Share of the plots that are looked at twice [%]: none."""
        return 0.0

    @property
    def destructive(self) -> bool:
        """Whether it takes turf away: the sensor stays where it is."""
        return False
