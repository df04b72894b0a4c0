"""What is counted and pulled beside the plots: pins put in and taken out, turf long established."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from wintersward.trial.parts import Day, Name, Part, Reading, Text, Whole, wrong_field
from wintersward.trial.plot_lists import CoveredPlots

__all__ = ["EstablishedTurf", "PinCount", "pin_kind"]


def pin_kind(what: str) -> str:
    """Name a kind of pin so that case and spaces tell no two kinds apart.

    Examples
    --------
    >>> pin_kind(" Steel  pins")
    'steel pins'
    """
    return " ".join(what.split()).casefold()


class PinCount(Part):
    """Pins or staples that were put into turf, or found and taken out of it, on one day."""

    # "out" of the box and into the turf, "back" out of the turf, broken ones too.
    date: Day
    what: Text
    out: Annotated[Whole, Field(ge=0)] | None = None
    back: Annotated[Whole, Field(ge=0)] | None = None
    plots: CoveredPlots = "all covered"
    note: Text | None = None

    @model_validator(mode="after")
    def _one_way(self) -> PinCount:
        if self.out is None and self.back is None:
            rule = "'out' for those put into the turf, 'back' for those taken out of it, or both"
            raise wrong_field("", "no count", rule)
        return self


class EstablishedTurf(Part):
    """Readings of a measure on turf of the same ground that has long been established."""

    # All from one place: subsamples of it, which tell nothing of how places differ.
    measure: Name
    date: Day
    where: Text
    values: Annotated[list[Reading], Field(min_length=2)]
    note: Text | None = None
