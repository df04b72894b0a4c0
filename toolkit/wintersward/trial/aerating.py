"""What a definition says of aeration: tines, options to be planned, what is wanted in a year."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from wintersward.trial.parts import (
    Depth,
    Name,
    Number,
    Part,
    Share,
    Text,
    When,
    Whole,
    wrong_field,
)

__all__ = ["Aerating", "AerationOption", "Recovery", "Tine"]


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


class AerationOption(Part):
    """A way of aerating that is planned, beside those that the trial compares.

    Each pass of the machine is taken to fall at random on those before it.
    """

    label: Text
    tine: Tine
    passes: Annotated[Whole, Field(ge=1, le=20)] = 1


class Recovery(Part):
    """How long the holes of a hollow tine took to close [day], as somebody has seen or read."""

    diameter: Depth
    days: Annotated[list[Number], Field(min_length=2, max_length=2)]
    source: Text

    @model_validator(mode="after")
    def _in_order(self) -> Recovery:
        if not 0 < self.days[0] <= self.days[1]:
            rule = "the fewest and the most days, above 0, such as [10, 14]"
            raise wrong_field("days", f"{self.days[0]:g} to {self.days[1]:g}", rule)
        return self


class Aerating(Part):
    """What is planned for the aeration; options that the trial compares come in by themselves.

    ``on`` is the day of the aeration, ``event`` that of the first use after it; ``topdressing`` is
    the depth of sand that is spread after it. ``area_each_year`` and ``sand_each_year`` are what
    all aerations and topdressings of a year are to come to.
    """

    options: dict[Name, AerationOption] = {}
    on: When = "aeration"
    event: When = "first_event"
    topdressing: Depth | None = None
    area_each_year: Annotated[Share, Field(gt=0, lt=100)] | None = None
    sand_each_year: Depth | None = None
    recovery: Recovery | None = None
