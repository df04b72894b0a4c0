"""The layouts: which plots a definition asks for, and where each of them lies.

An alley lies around every block and between the plots of it, but the parts of one whole plot touch,
and so do the parts of one row strip. A block is one row of plots; in a strip plot it has a row of
plots for each row strip. A Latin square and a completely random layout have no blocks.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt

import pandas as pd

from wintersward.trial import Definition

__all__ = [
    "Shape",
    "block_names",
    "columns",
    "is_blocked",
    "is_split",
    "is_strip",
    "shape",
    "units",
]

_BEFORE = ["plot", "whole_plot", "block", "row", "column", "x_m", "y_m", "width_m", "length_m"]
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
    """
    if not is_blocked(definition):
        return [""]
    return [str(number + 1) for number in range(definition.layout.blocks)]


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
    return Shape(count, count, 1)


def columns(definition: Definition) -> list[str]:
    """Name the columns of the plots table, in order."""
    return [*_BEFORE, *definition.treatments, "walk"]


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
        the lowest row up and left to right. ``row`` and ``column`` count over the whole trial
        from 1, from its lower left corner; ``x_m`` and ``y_m`` [m] are the lower left corner of
        the plot, with the width along x; ``walk`` is the order on foot: row 1 left to right,
        row 2 right to left, and so on. ``block`` and ``whole_plot`` are empty where there are
        none.

    Notes
    -----
    A plot is named ``100 block + position``: block 2 holds 201, 202, ... Where there are no
    blocks its row stands in place of the block. Blocks or rows of more than 99 plots take one
    digit more. A whole plot is named by its block and a letter: 2A, 2B, ...
    """
    layout, block = definition.layout, shape(definition)
    blocked = is_blocked(definition)
    width, length = layout.plot_size
    beside = layout.blocks_side_by_side if blocked else 1
    group_step = block.touching * width + layout.alley
    block_step = block.across // block.touching * group_step
    step = 10 ** max(2, len(str(block.count if blocked else block.across)))
    rows = []
    for number, label in enumerate(block_names(definition)):
        up, over = divmod(number, beside)
        for position in range(block.count):
            above, along = divmod(position, block.across)
            group, place = divmod(along, block.touching)
            row = up * block.rows + above
            name = step * (number + 1) + position + 1 if blocked else step * (row + 1) + along + 1
            rows.append(
                {
                    "plot": str(name),
                    "whole_plot": f"{label}{_letters(group)}" if is_split(definition) else "",
                    "block": label,
                    "row": row + 1,
                    "column": over * block.across + along + 1,
                    "x_m": round(over * block_step + group * group_step + place * width, _DECIMALS),
                    "y_m": round(row * (length + layout.alley), _DECIMALS),
                    "width_m": round(width, _DECIMALS),
                    "length_m": round(length, _DECIMALS),
                }
            )
    frame = pd.DataFrame(rows)
    return frame.assign(walk=_walk(frame))


def _walk(plots: pd.DataFrame) -> pd.Series:
    """Number the plots on foot: odd rows from left to right, even rows back."""
    along = plots["column"].where(plots["row"] % 2 == 1, -plots["column"])
    order = pd.DataFrame({"row": plots["row"], "along": along}).sort_values(["row", "along"]).index
    return pd.Series(range(1, len(plots) + 1), index=order).sort_index()


def _letters(index: int) -> str:
    """Count in letters: A ... Z, AA, AB, ..."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
