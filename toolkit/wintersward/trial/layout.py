"""The part of a definition that says how the plots lie and how the treatments are drawn."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from wintersward.trial.parts import (
    Day,
    Distance,
    Gap,
    Name,
    Number,
    Part,
    Text,
    Whole,
    wrong_field,
)

__all__ = ["AreaLeftOut", "LaidByHand", "Layout"]

Corner = Annotated[list[Gap], Field(min_length=2, max_length=2)]
Sides = Annotated[list[Distance], Field(min_length=2, max_length=2)]


class AreaLeftOut(Part):
    """Ground on which no plot may lie: a goal mouth, a sprinkler head, a wear lane, a line."""

    what: Text
    at: Corner
    size: Sides
    ground: Name | None = None


class LaidByHand(Part):
    """How plots that the seed did not draw were randomised, and who answers for it."""

    how: Text
    signed: Text
    date: Day


def _no_default(schema: dict[str, Any]) -> None:
    """Leave out of the JSON Schema that a count which is not there reads as 0."""
    schema.pop("default", None)


class Layout(Part):
    """How the plots lie and how the treatments were drawn."""

    kind: Literal[
        "completely random",
        "randomised blocks",
        "latin square",
        "split plot",
        "strip plot",
        "demonstration",
    ]
    whole_plot: Name | None = None
    subplot: Name | None = None
    row_strips: Name | None = None
    column_strips: Name | None = None
    # 0 stands for a layout without blocks, or without replicates of its own.
    blocks: Annotated[Whole, Field(ge=2, le=60, json_schema_extra=_no_default)] = 0
    replicates: Annotated[Whole, Field(ge=2, le=60, json_schema_extra=_no_default)] = 0
    plots_in_a_row: Annotated[Whole, Field(ge=1)] | None = None
    blocks_side_by_side: Annotated[Whole, Field(ge=1)] = 1
    blocks_follow: Text | None = None
    block_places: Annotated[list[Corner], Field(min_length=2)] | None = None
    grounds: Annotated[dict[Name, Text], Field(min_length=2, max_length=12)] | None = None
    areas_left_out: list[AreaLeftOut] = []
    north: Annotated[Number, Field(ge=0, lt=360)] | None = None
    plot_size: Sides
    alley: Gap
    edge_left_out: Gap
    laid_by_hand: LaidByHand | None = None
    seed: Annotated[Whole, Field(ge=0)]

    @model_validator(mode="after")
    def _plots_hold_a_sample(self) -> Layout:
        if 2 * self.edge_left_out >= min(self.plot_size):
            raise wrong_field(
                "edge_left_out",
                "an edge that leaves nothing to sample",
                "less than half the shorter side of a plot",
                "make the plots larger or the edge smaller",
            )
        return self

    @property
    def tested(self) -> bool:
        """Whether treatments may be compared; a demonstration only shows them."""
        return self.kind != "demonstration"

    @property
    def ground_names(self) -> list[str]:
        """Names of the grounds; one without a name where there is only one."""
        return list(self.grounds or {"": ""})

    @property
    def block_count(self) -> int:
        """Number of blocks over all grounds; 0 where there are none."""
        return self.blocks * len(self.ground_names)
