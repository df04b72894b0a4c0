"""What of a layout cannot be laid out: plots on one another or on areas left out."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from wintersward.design.areas import Box, area_box, areas_on, lie_on_one_another
from wintersward.design.layouts import is_blocked, units
from wintersward.trial import Definition

__all__ = ["MOVE", "boxes", "layout_faults", "on_areas"]

# What to do about a plot on an area left out, where the plots lie in blocks.
MOVE = "move the block by block_places, or choose another plot_size or blocks_side_by_side"
_MOVE_ALL = "choose another plot_size or alley, or another place for the corner post"

# Path of the line in trial.yaml, what was found, what is allowed, what to do about it.
Fault = tuple[tuple[str | int, ...], str, str, str]


def layout_faults(definition: Definition) -> list[Fault]:
    """Find plots that the layout would put on one another or on an area left out.

    Parameters
    ----------
    definition : Definition
        Sound in itself.

    Returns
    -------
    list of tuple
        For each fault the path of the line of ``trial.yaml``, what was found, what is allowed and
        what to do; empty when the plots can be laid out as they are defined.

    Raises
    ------
    WinterswardError
        As `wintersward.design.layouts.units` does.
    """
    frame = units(definition)
    found: list[Fault] = []
    for ground in definition.layout.ground_names:
        plots = frame[frame["ground"] == ground] if "ground" in frame else frame
        found += _on_areas(plots, definition, ground)
        found += _blocks_on_one_another(plots, definition)
    return found


def boxes(plots: pd.DataFrame) -> dict[str, Box]:
    """Give the sides of every plot [m] by its number."""
    return {
        str(plot["plot"]): (
            float(plot["x_m"]),
            float(plot["y_m"]),
            float(plot["x_m"] + plot["width_m"]),
            float(plot["y_m"] + plot["length_m"]),
        )
        for plot in plots.to_dict("records")
    }


def on_areas(
    plots: pd.DataFrame, definition: Definition, ground: str
) -> Iterator[tuple[str, int, str]]:
    """Give each plot that lies on an area left out of its ground: plot, area, name of the area.

    Areas are numbered as they stand in the definition.
    """
    areas = definition.layout.areas_left_out
    here = areas_on(definition, ground)
    for plot, box in boxes(plots).items():
        for at, area in enumerate(areas):
            if area in here and lie_on_one_another(box, area_box(area)):
                yield plot, at, area.what


def _on_areas(plots: pd.DataFrame, definition: Definition, ground: str) -> Iterator[Fault]:
    remedy = MOVE if is_blocked(definition) else _MOVE_ALL
    hit: dict[int, list[str]] = {}
    for plot, at, _ in on_areas(plots, definition, ground):
        hit.setdefault(at, []).append(plot)
    for at, names in hit.items():
        area = definition.layout.areas_left_out[at]
        said = f"{area.what}, on which {_named(names)} would lie"
        yield ("layout", "areas_left_out", at), said, "areas without plots", remedy


def _blocks_on_one_another(plots: pd.DataFrame, definition: Definition) -> Iterator[Fault]:
    """Find blocks that ``block_places`` puts on one another, each told of once."""
    if not definition.layout.block_places:
        return
    sides = boxes(plots)
    blocks = plots.groupby("block", sort=False)["plot"].apply(list).to_dict()
    names = [str(block) for block in blocks]
    for at, name in enumerate(names):
        for before in names[:at]:
            if any(
                lie_on_one_another(sides[one], sides[other])
                for one in blocks[name]
                for other in blocks[before]
            ):
                said = f"block {name}, which would lie on block {before}"
                place = ("layout", "block_places", int(name) - 1)
                yield place, said, "blocks that do not lie on one another", "move one of them"
                break


def _named(plots: list[str]) -> str:
    """Name one plot, or the first of several."""
    if len(plots) == 1:
        return f"plot {plots[0]}"
    shown = ", ".join(plots[:3])
    return f"plots {shown} and {len(plots) - 3} more" if len(plots) > 3 else f"plots {shown}"
