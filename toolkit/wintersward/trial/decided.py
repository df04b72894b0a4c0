"""The part of a definition that says, before the first observation, how it will be decided."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from wintersward.trial.aerating import Aerating
from wintersward.trial.aeration_checks import AERATION_CHECKS
from wintersward.trial.dates import dates_meant
from wintersward.trial.parts import Name, Part, Reading, Share, Text, When, Whole, wrong_field
from wintersward.trial.question_checks import (
    Found,
    known_measure,
    observed_on,
    one_date,
    reading_of,
)

__all__ = ["DECIDED_CHECKS", "OWN_LIMIT", "CoversOff", "Decisions", "Limit"]

OWN_LIMIT = "set by this study, no source given"
"""What is printed where a limit or a rule names no source."""


class Limit(Part):
    """What a measure must reach on a date before the field counts as ready."""

    at_least: Reading | None = None
    at_most: Reading | None = None
    of: Literal["established turf"] | None = None
    on: When
    sure: Annotated[Share, Field(ge=50, lt=100)] = 90.0
    source: Text | None = None

    @model_validator(mode="after")
    def _one_end(self) -> Limit:
        if (self.at_least is None) == (self.at_most is None):
            rule = "either at_least or at_most"
            raise wrong_field("", "both ends or none", rule, "write one of the two")
        return self

    @property
    def end(self) -> Any:
        """The limit itself."""
        return self.at_least if self.at_least is not None else self.at_most

    @property
    def told_source(self) -> str:
        """Where the limit comes from, for a reader."""
        return self.source or OWN_LIMIT


class CoversOff(Part):
    """When covers are to come off: a soil temperature held for some days, and a last day."""

    soil_temperature: Reading
    days_in_a_row: Annotated[Whole, Field(ge=1, le=60)]
    not_after: When
    source: Text | None = None

    @property
    def told_source(self) -> str:
        """Where the rule comes from, for a reader."""
        return self.source or OWN_LIMIT


class Decisions(Part):
    """Limits that are decided before there are data; they are promises too."""

    ready_when: Annotated[dict[Name, Limit], Field(min_length=1)] | None = None
    covers_off_when: CoversOff | None = None
    aeration: Aerating | None = None


def _ready(decisions: Decisions | None, measures: dict[str, Any], dates: dict[str, Any]) -> Found:
    for name, limit in ((decisions and decisions.ready_when) or {}).items():
        place = ("decisions", "ready_when", name)
        wrong = list(known_measure(name, measures, place))
        wrong += observed_on(name, limit.on, measures, dates, (*place, "on"))
        field = "at_least" if limit.at_least is not None else "at_most"
        if limit.of is None:
            wrong += reading_of(limit.end, name, measures, (*place, field))
        elif limit.end.kind != "points" or limit.end.value <= 0:
            rule = "a share, such as 80 %, of what the established turf bears"
            wrong.append(((*place, field), f"'{limit.end.value:g}'", rule, ""))
        yield from wrong


def _covers_off(decisions: Decisions | None, dates: dict[str, Any]) -> Found:
    rule = decisions.covers_off_when if decisions else None
    if rule is None:
        return
    place = ("decisions", "covers_off_when")
    if rule.soil_temperature.kind != "temperature":
        said = "a temperature, such as 50 degF"
        yield (*place, "soil_temperature"), f"'{rule.soil_temperature.value:g}'", said, ""
    wrong = list(one_date(dates, rule.not_after, (*place, "not_after")))
    yield from wrong
    if wrong or "covers_on" not in dates:
        return
    on, last = (dates_meant(dates, word)[0] for word in ("covers_on", rule.not_after))
    if last <= on:
        said = f"a date after the covers went on ({on})"
        yield (*place, "not_after"), f"'{rule.not_after}'", said, ""


DECIDED_CHECKS: list[tuple[Callable[..., Found], tuple[str, ...]]] = [
    (_ready, ("decisions", "measures", "dates")),
    (_covers_off, ("decisions", "dates")),
    *AERATION_CHECKS,
]
