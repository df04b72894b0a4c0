"""Randomisation: which plot gets which treatment, drawn by chance from a stated seed."""

from __future__ import annotations

from itertools import product

import numpy as np
import pandas as pd

from wintersward.design.latin_squares import latin_square
from wintersward.design.layouts import block_names, columns, units
from wintersward.design.shuffling import Below, chooser, shuffled
from wintersward.trial import Definition

__all__ = ["draw"]

# The treatment of one plot: a level of each factor.
_Given = dict[str, str]


def draw(definition: Definition) -> pd.DataFrame:
    """Draw the plan: every plot with the treatment that chance gave it.

    Parameters
    ----------
    definition : Definition
        ``layout.kind`` says what is drawn. Completely random: all combinations of the factors,
        each for as many plots as there are replicates, over all plots. Randomised blocks: all
        combinations once in each block. Latin square: each level once in each row and column.
        Split plot: the whole-plot levels over the whole plots of each block, then the subplot
        levels over the subplots of each whole plot. Strip plot: in each block the levels of one
        factor over its rows and those of the other over its columns. Demonstration: each
        combination on one plot. On several grounds the blocks of one are drawn after those of
        the other, in the order in which the grounds are declared.

    Returns
    -------
    DataFrame
        The plots table, one row a plot in the order of the plot numbers; plot, whole_plot and
        block are text, factors are ordered by the definition's levels.

    Notes
    -----
    Every arrangement of the layout is equally likely (for Latin squares of more than six
    treatments see `wintersward.design.latin_squares.latin_square`), and grounds, blocks, whole
    plots within them, and the two directions of a strip plot are drawn independently, by the
    shuffle of `wintersward.design.shuffling.shuffled`. The random numbers are the raw 64-bit
    output of PCG64 (NumPy's ``numpy.random.PCG64``), started from ``layout.seed`` by NumPy's
    ``SeedSequence``. Factors and levels enter the shuffle in the order of their names, so their
    order in the definition does not matter; the same seed draws the same plan on every computer.

    References
    ----------
    O'Neill M. E. (2014) PCG: a family of simple fast space-efficient statistically good
    algorithms for random number generation. Harvey Mudd College, HMC-CS-2014-0905.
    """
    below = chooser(np.random.PCG64(definition.layout.seed))
    one_block = _BLOCKS[definition.layout.kind]
    drawn = [one for _ in block_names(definition) for one in one_block(definition, below)]
    frame = units(definition)
    for name, factor in definition.treatments.items():
        given = [one[name] for one in drawn]
        frame[name] = pd.Categorical(given, categories=list(factor.levels), ordered=True)
    return frame[columns(definition)]


def _full_block(definition: Definition, below: Below) -> list[_Given]:
    return shuffled(_combinations(definition), below)


def _all_plots(definition: Definition, below: Below) -> list[_Given]:
    every = _combinations(definition)
    return shuffled([one for one in every for _ in range(definition.layout.replicates)], below)


def _square(definition: Definition, below: Below) -> list[_Given]:
    ((name, factor),) = definition.treatments.items()
    levels = sorted(factor.levels)
    square = latin_square(len(levels), below)
    return [{name: levels[symbol]} for row in square for symbol in row]


def _split_block(definition: Definition, below: Below) -> list[_Given]:
    whole, sub = str(definition.layout.whole_plot), str(definition.layout.subplot)
    drawn = []
    for covering in shuffled(sorted(definition.treatments[whole].levels), below):
        for within in shuffled(sorted(definition.treatments[sub].levels), below):
            drawn.append({whole: covering, sub: within})
    return drawn


def _strip_block(definition: Definition, below: Below) -> list[_Given]:
    across, along = str(definition.layout.row_strips), str(definition.layout.column_strips)
    rows = shuffled(sorted(definition.treatments[across].levels), below)
    upright = shuffled(sorted(definition.treatments[along].levels), below)
    return [{across: row, along: column} for row in rows for column in upright]


def _combinations(definition: Definition) -> list[_Given]:
    names = sorted(definition.treatments)
    levels = [sorted(definition.treatments[name].levels) for name in names]
    return [dict(zip(names, combination, strict=True)) for combination in product(*levels)]


_BLOCKS = {
    "completely random": _all_plots,
    "demonstration": _full_block,
    "randomised blocks": _full_block,
    "latin square": _square,
    "split plot": _split_block,
    "strip plot": _strip_block,
}
