"""The words of a map: its heading, its key, and what it says to those who cannot see it."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import pandas as pd

from wintersward.design.layouts import is_blocked, is_split, is_strip, shape
from wintersward.design.lengths import length
from wintersward.design.lettering import Stacks, short_codes
from wintersward.design.marks import treatment_marks
from wintersward.errors import listed
from wintersward.trial import Definition

__all__ = [
    "CODED",
    "Entry",
    "codes",
    "extent",
    "heading",
    "key_entries",
    "main_factor",
    "map_alt",
    "plot_words",
]

# Place of the short codes among the choices of words.
CODED = 2
# A longer list of plots is for the table, not for the ear.
_MOST_TOLD = 60


@dataclass(frozen=True)
class Entry:
    """One thing that the key of a map explains; a head begins a line."""

    text: str
    colour: str = ""
    head: bool = False


def main_factor(definition: Definition) -> str:
    """Name the factor that colours stand for: of the whole plots, or of the primary question."""
    if is_split(definition):
        return str(definition.layout.whole_plot)
    compared = definition.analysis.primary.levels[0]
    for name, factor in definition.treatments.items():
        if compared in factor.levels:
            return name
    return next(iter(definition.treatments))


def extent(plots: pd.DataFrame) -> tuple[float, float]:
    """Measure the trial from the corner post: width and length [m], outer alleys left out."""
    return (
        float((plots["x_m"] + plots["width_m"]).max()),
        float((plots["y_m"] + plots["length_m"]).max()),
    )


def heading(plots: pd.DataFrame, definition: Definition, treatments: bool) -> list[str]:
    """Write the title of the map and the notes below it.

    The title of the trial is left out: it may name a treatment.
    """
    layout, system = definition.layout, definition.units
    wide, long = extent(plots)
    size = " by ".join(length(side, system) for side in layout.plot_size)
    copy = "plan of the plots" if treatments else "map for raters, without treatments"
    return [
        f"{definition.site.name}: {copy}",
        f"{len(plots)} plots of {size}{_laid(definition)}; alleys of "
        f"{length(layout.alley, system)}. Sample inside the dashed lines, "
        f"{length(layout.edge_left_out, system)} from every edge.",
        f"All plots lie on {length(wide, system)} by {length(long, system)}, square when both "
        f"diagonals are {length(hypot(wide, long), system)}. Walk the grey line from its dot.",
    ]


def _laid(definition: Definition) -> str:
    """Say in what the plots lie, or how many plots each treatment has."""
    joined = ", " if definition.layout.kind == "completely random" else " in "
    return joined + definition.replication


def codes(definition: Definition) -> dict[str, str]:
    """Give each level the short code that stands in plots too small for words."""
    return {
        level: code
        for factor in definition.treatments.values()
        for level, code in short_codes(list(factor.levels)).items()
    }


def plot_words(
    plots: pd.DataFrame, definition: Definition, treatments: bool, names: bool
) -> list[Stacks]:
    """Choose from fuller and shorter words for the plots of a map.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.
    treatments : bool
        False leaves out every treatment.
    names : bool
        True adds the name of the whole plot, where there is one.

    Returns
    -------
    list of mapping of str to list of str
        For each plot number the lines below it: a line for each level; all levels in one line;
        all codes in one line, without the whole plot.
    """
    short = codes(definition)
    lines: dict[str, list[str]] = {}
    joined: dict[str, list[str]] = {}
    coded: dict[str, list[str]] = {}
    for plot in plots.to_dict("records"):
        levels = [str(plot[name]) for name in definition.treatments] if treatments else []
        whole = [f"in {plot['whole_plot']}"] if names and plot["whole_plot"] else []
        number = str(plot["plot"])
        lines[number] = [*levels, *whole]
        joined[number] = [", ".join(levels), *whole] if levels else whole
        coded[number] = [" ".join(short[level] for level in levels)] if levels else []
    return [lines, joined, coded]


def key_entries(
    plots: pd.DataFrame, definition: Definition, treatments: bool, coded: bool
) -> list[Entry]:
    """List what the key explains: the whole plots, and the levels factor by factor.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.
    treatments : bool
        False leaves out every treatment.
    coded : bool
        True explains the short codes.
    """
    entries = []
    short = codes(definition)
    for name, factor in definition.treatments.items() if treatments else ():
        marks = treatment_marks(list(factor.levels), factor.control)
        entries.append(Entry(factor.label or name, head=True))
        for level, told in factor.levels.items():
            colour = marks[level].tint if name == main_factor(definition) else ""
            code = f"{short[level]} = " if coded else ""
            control = ", the control" if level == factor.control else ""
            entries.append(Entry(f"{code}{level}: {told.label}{control}", colour))
    if is_split(definition):
        first = plots[plots["block"] == plots["block"].iloc[0]].sort_values("column")
        wholes = listed(first["whole_plot"].drop_duplicates())
        entries.append(Entry("whole plots", head=True))
        entries.append(Entry(f"heavy outlines, in block {first['block'].iloc[0]}: {wholes}"))
    if is_strip(definition):
        entries.append(Entry("strips", head=True))
        entries.append(Entry("row strips, from left to right through a block: heavy outlines"))
        entries.append(Entry("column strips: across them, through all rows of a block"))
    if not is_blocked(definition):
        entries.append(Entry("rows", head=True))
        entries.append(Entry("a plot's number begins with that of its row"))
    pairs = zip(plots["plot"], plots["block"], strict=True)
    if definition.layout.blocks_side_by_side > 1 and all(p.startswith(b) for p, b in pairs):
        entries.append(Entry("blocks", head=True))
        entries.append(Entry("a plot's number begins with that of its block"))
    return entries


def map_alt(plots: pd.DataFrame, definition: Definition, treatments: bool = True) -> str:
    """Say in words, with numbers, what the map shows.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.
    treatments : bool
        As for `wintersward.design.plot_map`: False names no treatment.

    Returns
    -------
    str
        A few sentences for those who cannot see the map.
    """
    layout, system = definition.layout, definition.units
    wide, long = extent(plots)
    size = " by ".join(length(side, system) for side in layout.plot_size)
    walked = plots.sort_values("walk")["plot"]
    said = [
        f"Map to scale of {len(plots)} plots of {size}{_laid(definition)}{_held(definition)}, "
        f"{length(wide, system)} wide and {length(long, system)} long, with alleys of "
        f"{length(layout.alley, system)}.",
        f"The way on foot leads from plot {walked.iloc[0]} to plot {walked.iloc[-1]}.",
    ]
    if not treatments:
        return " ".join([*said, "Treatments are not shown."])
    if len(plots) > _MOST_TOLD:
        return " ".join([*said, "plan/plots.csv lists the treatments of every plot."])
    return " ".join([*said, *_arrangement(plots, definition)])


def _held(definition: Definition) -> str:
    """Say what a block holds."""
    block = shape(definition)
    if is_split(definition):
        return f" of {block.across // block.touching} whole plots with {block.touching} each"
    if is_strip(definition):
        return f" of {block.rows} row strips and {block.across} column strips"
    return f" of {block.count} plots" if is_blocked(definition) else ""


def _arrangement(plots: pd.DataFrame, definition: Definition) -> list[str]:
    """Tell the order of treatments in every block, or else in every row, from left to right."""
    if is_strip(definition):
        return _strips(plots, definition)
    factors = list(definition.treatments)
    side = "block" if is_blocked(definition) else "row"
    said = [f"From left to right, {' and '.join(factors)}:"]
    for name, part in plots.groupby(side, sort=False):
        row = part.sort_values("column")[factors].astype(str)
        order = listed(" ".join(cells) for cells in row.to_numpy())
        said.append(f"{side} {name}: {order};")
    said[-1] = said[-1].removesuffix(";") + "."
    return said


def _strips(plots: pd.DataFrame, definition: Definition) -> list[str]:
    """Tell the order of both kinds of strips in every block."""
    across, along = (
        str(name) for name in (definition.layout.row_strips, definition.layout.column_strips)
    )
    said = [f"Rows from the lowest up, {across}, and columns from left to right, {along}:"]
    for name, part in plots.groupby("block", sort=False):
        rows, columns = (
            listed(part.drop_duplicates(side).sort_values(side)[factor].astype(str))
            for side, factor in (("row", across), ("column", along))
        )
        said.append(f"block {name}: {rows}, and {columns};")
    said[-1] = said[-1].removesuffix(";") + "."
    return said
