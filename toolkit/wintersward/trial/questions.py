"""The part of a definition that says what will be asked of the data, before there are any."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag, model_validator

from wintersward.trial.parts import (
    WRITTEN_OUT,
    Difference,
    Name,
    Number,
    Part,
    Reading,
    Share,
    When,
    wrong_field,
)

__all__ = ["Analysis", "Covariate", "DaysGained", "Family", "Planning", "Primary"]


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
        Annotated[Literal["none", "baseline", "sun_hours"], Tag("word")]
        | Annotated[Covariate, Tag("written out")],
        WRITTEN_OUT,
    ] = "none"
    logit_offset: Annotated[Share, Field(gt=0, le=25)] = 0.5


class Planning(Part):
    """How much the values of the primary measure are expected to vary, to plan by.

    Either a standard deviation in the unit of the measure, or a coefficient of variation with
    the mean that it belongs to. Both are meant between experimental units treated alike within a
    block.
    """

    sd: Difference | None = None
    cv: Annotated[Share, Field(gt=0)] | None = None
    mean: Reading | None = None
    power: Annotated[Share, Field(ge=50, lt=100)] = 80.0

    @model_validator(mode="after")
    def _one_measure_of_spread(self) -> Planning:
        if self.sd is not None and self.cv is not None:
            raise wrong_field("cv", "'cv' beside 'sd'", "one of the two", "remove one")
        if self.mean is not None and self.sd is not None:
            raise wrong_field("mean", "'mean' beside 'sd'", "a mean only beside 'cv'", "remove it")
        if self.sd is not None and self.sd.value <= 0:
            raise wrong_field("sd", f"'{self.sd.value:g}'", "more than 0")
        return self
