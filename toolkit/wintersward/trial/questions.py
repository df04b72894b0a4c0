"""The part of a definition that says what will be asked of the data, before there are any."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from wintersward.trial.parts import (
    WRITTEN_OUT,
    Difference,
    Name,
    Number,
    Part,
    Reading,
    Share,
    When,
)

__all__ = ["Analysis", "Covariate", "DaysGained", "Family", "Primary"]


class Family(Part):
    """Several treatments, each compared with one control: one question in several parts."""

    each: Annotated[list[Name], Field(min_length=2)]
    with_: Name = Field(alias="with")


def _form(value: object) -> str:
    return "pair" if isinstance(value, (list, tuple)) else "family"


class Primary(Part):
    """The one question that the trial is judged by."""

    measure: Name
    on: When
    compare: Annotated[
        Annotated[list[Name], Field(min_length=2, max_length=2), Tag("pair")]
        | Annotated[Family, Tag("family")],
        Discriminator(_form),
    ]
    matters_from: Difference

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """Comparisons of the question, left minus right; one unless a family is declared."""
        if isinstance(self.compare, Family):
            return [(left, self.compare.with_) for left in self.compare.each]
        return [(self.compare[0], self.compare[1])]

    @property
    def levels(self) -> list[str]:
        """Treatments that take part, each once."""
        return list(dict.fromkeys(level for pair in self.pairs for level in pair))


class DaysGained(Part):
    """The level of a measure whose day of arrival is compared."""

    measure: Name
    level: Reading


class Covariate(Part):
    """A measure on a date before the covers went on."""

    measure: Name
    on: When


class Analysis(Part):
    """What will be tested."""

    primary: Primary
    alpha: Annotated[Number, Field(gt=0, lt=0.5)] = 0.05
    days_gained: DaysGained | None = None
    caught_up_within: Difference | None = None
    covariate: Annotated[
        Annotated[Literal["none", "baseline"], Tag("word")]
        | Annotated[Covariate, Tag("written out")],
        WRITTEN_OUT,
    ] = "none"
    logit_offset: Annotated[Share, Field(gt=0, le=25)] = 0.5
