"""What treatments cost and spare beside their control, and what a gain is worth."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from wintersward.trial.parts import Difference, Name, Part, Text, wrong_field
from wintersward.units import UNITS, read_quantity

__all__ = ["AREAS", "BUDGET_PARTS", "AmountRange", "BudgetPart", "CostItem", "Costs", "Worth"]

_MOST = 1e12

AREAS = {
    "m2": UNITS["m2"].factor,
    "ft2": UNITS["ft2"].factor,
    "100 m2": 100 * UNITS["m2"].factor,
    "1000 ft2": 1000 * UNITS["ft2"].factor,
}
"""Areas that an amount may be told for [m2]."""


def _range(value: object) -> object:
    """Read one number, or a lowest and a highest."""
    ends: list[Any] = list(value) if isinstance(value, (list, tuple)) else [value, value]
    sound = len(ends) == 2 and all(
        isinstance(end, (int, float)) and not isinstance(end, bool) and abs(end) < _MOST
        for end in ends
    )
    rule = "a number of 0 or more, or the lowest and the highest as [900, 1200]"
    if sound and ends[0] > ends[1]:
        raise wrong_field("", f"'{ends[0]:g}' before '{ends[1]:g}'", rule, "turn them round")
    if not sound or ends[0] < 0:
        raise ValueError(rule)
    return float(ends[0]), float(ends[1])


_ends: dict[str, Any] = {
    "anyOf": [
        {"type": "number", "minimum": 0},
        {"type": "array", "items": {"type": "number", "minimum": 0}, "minItems": 2, "maxItems": 2},
    ]
}
AmountRange = Annotated[tuple[float, float], BeforeValidator(_range), WithJsonSchema(_ends)]
_Area = Annotated[
    float,
    BeforeValidator(partial(read_quantity, kind="area")),
    Field(gt=0),
    WithJsonSchema({"type": "string", "examples": ["9000 ft2"]}),
]

ItemKind = Literal[
    "material", "labour", "storage", "disease treatment", "sod replaced", "event kept", "other"
]
BudgetPart = Literal["added cost", "reduced cost", "added income", "reduced income"]
BUDGET_PARTS: tuple[BudgetPart, ...] = get_args(BudgetPart)
# The part of a partial budget that a kind belongs to where its entry does not say otherwise.
_USUAL_PART: dict[str, BudgetPart] = {
    "sod replaced": "reduced cost",
    "event kept": "added income",
}


class CostItem(Part):
    """One line of what a treatment costs, spares, brings in or loses beside its control."""

    what: Text
    treatment: Name
    kind: ItemKind
    part: BudgetPart | None = None
    amount: AmountRange | None = None
    hours: AmountRange | None = None
    rate: AmountRange | None = None
    quantity: AmountRange = (1.0, 1.0)
    per: Literal["all", "m2", "ft2", "100 m2", "1000 ft2"] = "all"
    seasons: AmountRange | None = None
    source: Text | None = None

    @model_validator(mode="after")
    def _one_price(self) -> CostItem:
        rule = "either 'amount', or 'hours' and the 'rate' of an hour"
        if self.amount is not None and (self.hours is not None or self.rate is not None):
            raise wrong_field("", "an amount beside hours or a rate", rule, "keep one of the two")
        if self.amount is None and (self.hours is None) != (self.rate is None):
            half, other = ("rate", "hours") if self.hours is None else ("hours", "rate")
            raise wrong_field("", f"'{half}' without '{other}'", rule, f"add '{other}: ...'")
        if self.amount is None and self.hours is None:
            raise wrong_field("", "no amount", rule, "add 'amount: ...'")
        if self.seasons is not None and self.seasons[0] < 1:
            raise wrong_field("seasons", f"'{self.seasons[0]:g}'", "1 season or more")
        return self

    @property
    def belongs_to(self) -> BudgetPart:
        """The part of the partial budget that it is counted in."""
        return self.part or _USUAL_PART.get(self.kind, "added cost")


class Worth(Part):
    """What a step of something that the trial found is worth on the area of the budget."""

    of: Literal["days gained", "primary"]
    each: AmountRange
    step: Difference | None = None
    gain: Literal["more", "less"] = "more"
    why: Text


class Costs(Part):
    """A partial budget of one season: only what changes with a treatment, on a stated area."""

    currency: Annotated[Text, Field(max_length=12)]
    area: _Area
    items: Annotated[list[CostItem], Field(min_length=1)]
    worth: list[Worth] = []
