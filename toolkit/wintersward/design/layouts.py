"""The layouts: which plots a definition asks for, and where each of them lies.

An alley lies around every block and between the plots of it, but the parts of one whole plot touch,
and so do the parts of one row strip. A block is one row of plots; in a strip plot it has a row of
plots for each row strip. Blocks lie side by side or one above another, or where ``block_places``
puts them; each of several grounds has its own corner post and its own blocks. A Latin square, a
completely random layout and a demonstration have no blocks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, sqrt

import pandas as pd

from wintersward.design.areas import area_box, areas_on, lie_on_one_another
from wintersward.errors import Problem, WinterswardError
from wintersward.trial import Definition

__all__ = [
    "Shape",
    "block_names",
    "columns",
    "ground_of",
    "is_blocked",
    "is_split",
    "is_strip",
    "shape",
    "units",
]

_BEFORE = ["plot", "whole_plot", "block", "row", "column", "x_m", "y_m", "width_m", "length_m"]
# A grid that goes on past areas left out ends here: nobody walks further.
_MOST_CELLS = 100_000
# Metres are kept to the micrometre, so that sums of feet print without a tail of digits.
_DECIMALS = 6


@dataclass(frozen=True)
class Shape:
    """How the plots of one block lie; a layout without blocks is one block of its own.

    Parameters
    ----------
    count : int
        Plots in a block.
    across : int
        Plots in a row of a block.
    touching : int
        Plots side by side without an alley between them: 1, or those of a whole plot or strip.
    """

    count: int
    across: int
    touching: int

    @property
    def rows(self) -> int:
        """Rows of plots in a block."""
        return ceil(self.count / self.across)


def is_blocked(definition: Definition) -> bool:
    """Tell whether the plots lie in blocks."""
    return definition.layout.kind in ("randomised blocks", "split plot", "strip plot")


def block_names(definition: Definition) -> list[str]:
    """Name the blocks as the plots table does; without blocks all plots stand in one without name.

    Returns
    -------
    list of str
        Over all grounds, one after another.
    """
    if not is_blocked(definition):
        return [""]
    return [str(number + 1) for number in range(definition.layout.block_count)]


def ground_of(definition: Definition, block: str) -> str:
    """Name the ground that a block lies on; empty where there is only one.

    Parameters
    ----------
    definition : Definition
        Its layout may name several grounds: the first has the first blocks, and so on.
    block : str
        One of `block_names`.
    """
    grounds = definition.layout.ground_names
    return grounds[(int(block) - 1) // definition.layout.blocks] if block else grounds[0]


def is_split(definition: Definition) -> bool:
    """Tell whether whole plots are drawn first and subplots within them."""
    return definition.layout.kind == "split plot"


def is_strip(definition: Definition) -> bool:
    """Tell whether one factor is drawn for rows and the other for columns of each block."""
    return definition.layout.kind == "strip plot"


def shape(definition: Definition) -> Shape:
    """Find how many plots a block has, and how they lie in it."""
    layout, treatments = definition.layout, definition.treatments
    count = definition.combinations
    if layout.kind == "split plot":
        return Shape(count, count, len(treatments[str(layout.subplot)].levels))
    if layout.kind == "strip plot":
        beside = len(treatments[str(layout.column_strips)].levels)
        return Shape(count, beside, beside)
    if layout.kind == "latin square":
        return Shape(count**2, count, 1)
    if layout.kind == "completely random":
        every = definition.plot_count
        return Shape(every, min(layout.plots_in_a_row or ceil(sqrt(every)), every), 1)
    if layout.kind == "demonstration":
        return Shape(count, min(layout.plots_in_a_row or count, count), 1)
    return Shape(count, count, 1)


def columns(definition: Definition) -> list[str]:
    """Name the columns of the plots table, in order; ``ground`` only where several are declared."""
    ground = ["ground"] if definition.layout.grounds else []
    return [_BEFORE[0], *ground, *_BEFORE[1:], *definition.treatments, "walk"]


def units(definition: Definition) -> pd.DataFrame:
    """Lay out the smallest plots, before any treatment is drawn for them.

    Parameters
    ----------
    definition : Definition
        Its ``layout`` says how; its ``treatments`` say how many plots a block holds.

    Returns
    -------
    DataFrame
        The columns of the plots table without the factors, one row a plot, block by block, from
        the lowest row up and left to right. ``row`` and ``column`` count over each ground from
        1, from its lower left corner; with ``block_places`` they count as if the blocks lay one
        above another. ``x_m`` and ``y_m`` [m] are the lower left corner of the plot from the
        corner post of its ground, with the width along x; ``walk`` is the order on foot, ground
        by ground: row 1 left to right, row 2 right to left, and so on. ``block`` and
        ``whole_plot`` are empty where there are none.

    Raises
    ------
    WinterswardError
        Where the areas left out leave no room for a grid of plots.

    Notes
    -----
    A plot is named ``100 block + position``: block 2 holds 201, 202, ... Where there are no
    blocks its row stands in place of the block, and the plots of a completely random layout or a
    demonstration pass over the places of the grid that touch an area left out. Blocks or rows of
    more than 99 plots take one digit more. A whole plot is named by its block and a letter: 2A,
    2B, ...
    """
    made = _in_blocks(definition) if is_blocked(definition) else _in_a_grid(definition)
    frame = pd.DataFrame(made)
    return frame.assign(walk=_walk(frame, definition))


def _in_blocks(definition: Definition) -> Iterator[dict[str, object]]:
    layout, block = definition.layout, shape(definition)
    width, length = layout.plot_size
    beside = layout.blocks_side_by_side
    group_step = block.touching * width + layout.alley
    block_step = block.across // block.touching * group_step
    step = 10 ** max(2, len(str(block.count)))
    for number, label in enumerate(block_names(definition)):
        up, over = divmod(number % layout.blocks, beside)
        corner = over * block_step, 0.0
        if layout.block_places:
            up, over = number % layout.blocks, 0
            corner = (layout.block_places[number][0], layout.block_places[number][1])
        for position in range(block.count):
            above, along = divmod(position, block.across)
            group, place = divmod(along, block.touching)
            row = up * block.rows + above
            lines = above if layout.block_places else row
            whole_plot = f"{label}{_letters(group)}" if is_split(definition) else ""
            ground = {"ground": ground_of(definition, label)} if layout.grounds else {}
            yield {
                "plot": str(step * (number + 1) + position + 1),
                **ground,
                "whole_plot": whole_plot,
                "block": label,
                "row": row + 1,
                "column": over * block.across + along + 1,
                "x_m": round(corner[0] + group * group_step + place * width, _DECIMALS),
                "y_m": round(corner[1] + lines * (length + layout.alley), _DECIMALS),
                "width_m": round(width, _DECIMALS),
                "length_m": round(length, _DECIMALS),
            }


def _in_a_grid(definition: Definition) -> Iterator[dict[str, object]]:
    layout, block = definition.layout, shape(definition)
    width, length = layout.plot_size
    step = 10 ** max(2, len(str(block.across)))
    for row, along in _free_cells(definition, block):
        yield {
            "plot": str(step * (row + 1) + along + 1),
            "whole_plot": "",
            "block": "",
            "row": row + 1,
            "column": along + 1,
            "x_m": round(along * (width + layout.alley), _DECIMALS),
            "y_m": round(row * (length + layout.alley), _DECIMALS),
            "width_m": round(width, _DECIMALS),
            "length_m": round(length, _DECIMALS),
        }


def _free_cells(definition: Definition, block: Shape) -> Iterator[tuple[int, int]]:
    """Give row and place of each plot, counted from 0; a square never passes over a place."""
    layout = definition.layout
    (width, length), alley = layout.plot_size, layout.alley
    square = layout.kind == "latin square"
    areas = [] if square else [area_box(area) for area in areas_on(definition)]
    one_row = layout.kind == "demonstration" and layout.plots_in_a_row is None
    found = 0
    for at in range(_MOST_CELLS):
        row, along = (0, at) if one_row else divmod(at, block.across)
        left, low = along * (width + alley), row * (length + alley)
        cell = left, low, left + width, low + length
        if any(lie_on_one_another(cell, area) for area in areas):
            continue
        yield row, along
        found += 1
        if found == block.count:
            return
    said = f"areas that leave no room for {block.count} plots"
    hint = "leave smaller areas out, or choose another number of plots_in_a_row"
    raise WinterswardError(
        Problem("trial.yaml", field="layout.areas_left_out", found=said, hint=hint)
    )


def _walk(plots: pd.DataFrame, definition: Definition) -> pd.Series:
    """Number the plots on foot, ground by ground: odd rows from left to right, even rows back.

    Where blocks have places of their own each is entered at the end that is nearer.
    """
    grounds = definition.layout.ground_names
    ground = plots["ground"].map(grounds.index) if "ground" in plots else 0
    back = plots["row"] % 2 == 0
    if definition.layout.block_places:
        back = _turned_back(plots)
    along = plots["column"].where(~back, -plots["column"])
    order = pd.DataFrame({"row": plots["row"], "along": along}).assign(ground=ground)
    order = order.sort_values(["ground", "row", "along"])
    return pd.Series(range(1, len(plots) + 1), index=order.index).sort_index()


def _turned_back(plots: pd.DataFrame) -> pd.Series:
    """Tell which plots stand in rows that are walked from right to left, row by row."""
    back = pd.Series(False, index=plots.index)
    x = 0.0
    # Plots come block by block and row by row; the next row begins where this one ended.
    for _, row in plots.groupby(["block", "row"], sort=False):
        left, right = float(row["x_m"].min()), float(row["x_m"].max())
        back[row.index] = abs(x - right) < abs(x - left)
        x = left if back[row.index[0]] else right
    return back


def _letters(index: int) -> str:
    """Count in letters: A ... Z, AA, AB, ..."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
