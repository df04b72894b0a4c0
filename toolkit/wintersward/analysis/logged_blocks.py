"""The blocks in which loggers lay, so that treatments are set against one another within them."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

__all__ = ["blocks_of", "whole_blocks"]


def blocks_of(plots: pd.DataFrame) -> dict[str, str]:
    """Give the block of every plot and whole plot that lies in one.

    Parameters
    ----------
    plots : DataFrame
        ``plan/plots.csv``: columns plot, whole_plot, block.

    Examples
    --------
    >>> plan = pd.DataFrame({"plot": ["101", "102"], "whole_plot": ["1A", "1A"], "block": 1})
    >>> blocks_of(plan)
    {'101': '1', '102': '1', '1A': '1'}
    """
    found: dict[str, set[str]] = {}
    for column in ("plot", "whole_plot"):
        for name, block in zip(plots[column].astype(str), plots["block"].astype(str), strict=True):
            found.setdefault(name, set()).add(block)
    told = {name: min(held) for name, held in found.items() if len(held) == 1}
    return {name: block for name, block in told.items() if name and block}


def whole_blocks(levels: Mapping[str, str], blocks: Mapping[str, str]) -> set[str]:
    """Name the blocks in which every treatment is, so that all can be compared within them.

    Parameters
    ----------
    levels : mapping of str to str
        Treatment of each plot, or whole plot, that was seen.
    blocks : mapping of str to str
        As `blocks_of` gives them.

    Examples
    --------
    >>> blocks = {"1A": "1", "1B": "1", "2A": "2", "2B": "2"}
    >>> whole_blocks({"1A": "open", "1B": "fleece", "2A": "fleece"}, blocks)
    {'1'}
    """
    held: dict[str, set[str]] = {}
    for plot, level in levels.items():
        if plot in blocks:
            held.setdefault(blocks[plot], set()).add(level)
    return {block for block, own in held.items() if own == set(levels.values())}
