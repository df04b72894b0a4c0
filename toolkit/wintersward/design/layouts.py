"""The layouts: which plots a definition asks for, and where each of them lies.

A block is one row of plots. An alley lies between the plots of randomised blocks, between the
whole plots of a split plot, and around every block; the subplots of one whole plot touch.
"""

from __future__ import annotations

from math import prod

import pandas as pd

from wintersward.trial import Definition

__all__ = ["columns", "groups", "is_split", "units"]

_BEFORE = ["plot", "whole_plot", "block", "row", "column", "x_m", "y_m", "width_m", "length_m"]
# Metres are kept to the micrometre, so that sums of feet print without a tail of digits.
_DECIMALS = 6


def is_split(definition: Definition) -> bool:
    """Tell whether whole plots are drawn first and subplots within them."""
    return definition.layout.kind == "split plot"


def groups(definition: Definition) -> tuple[int, int]:
    """Count what alleys separate in a block, and the plots that touch within each.

    Returns
    -------
    tuple of int
        Whole plots in a block and subplots in a whole plot; in randomised blocks the plots in
        a block and 1.
    """
    treatments, layout = definition.treatments, definition.layout
    if is_split(definition):
        whole, sub = str(layout.whole_plot), str(layout.subplot)
        return len(treatments[whole].levels), len(treatments[sub].levels)
    return prod(len(factor.levels) for factor in treatments.values()), 1


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
        The columns of the plots table without the factors, one row a plot, block by block and
        left to right. ``row`` and ``column`` count over the whole trial from 1, from its lower
        left corner; ``x_m`` and ``y_m`` [m] are the lower left corner of the plot, with the
        width along x; ``walk`` is the order on foot: row 1 left to right, row 2 right to left,
        and so on.

    Notes
    -----
    A plot is named ``100 block + position``: block 2 holds 201, 202, ... Blocks of more than
    99 plots take one digit more. A whole plot is named by its block and a letter: 2A, 2B, ...
    """
    layout = definition.layout
    count, touching = groups(definition)
    width, length = layout.plot_size
    beside = layout.blocks_side_by_side
    group_step = touching * width + layout.alley
    block_step = count * group_step
    step = 10 ** max(2, len(str(count * touching)))
    across = beside * count * touching
    rows = []
    for block in range(layout.blocks):
        up, over = divmod(block, beside)
        for position in range(count * touching):
            group, place = divmod(position, touching)
            column = over * count * touching + position + 1
            taken = across * up
            here = min(across, (layout.blocks - up * beside) * count * touching)
            rows.append(
                {
                    "plot": str(step * (block + 1) + position + 1),
                    "whole_plot": f"{block + 1}{_letters(group)}" if is_split(definition) else "",
                    "block": str(block + 1),
                    "row": up + 1,
                    "column": column,
                    "x_m": round(over * block_step + group * group_step + place * width, _DECIMALS),
                    "y_m": round(up * (length + layout.alley), _DECIMALS),
                    "width_m": round(width, _DECIMALS),
                    "length_m": round(length, _DECIMALS),
                    "walk": taken + (column if up % 2 == 0 else here + 1 - column),
                }
            )
    return pd.DataFrame(rows)


def _letters(index: int) -> str:
    """Count in letters: A ... Z, AA, AB, ..."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
