"""What a map says to those who cannot see it."""

from __future__ import annotations

import pandas as pd

from wintersward.design.layouts import is_blocked, is_split, is_strip, shape
from wintersward.design.lengths import length
from wintersward.design.map_words import by_hand, extent, laid, panels, sizes
from wintersward.design.places import sampling_places
from wintersward.errors import listed
from wintersward.trial import Definition

__all__ = ["map_alt"]

# A longer list of plots is for the table, not for the ear.
_MOST_TOLD = 60


def map_alt(
    plots: pd.DataFrame, definition: Definition, treatments: bool = True, ground: str = ""
) -> str:
    """Say in words, with numbers, what the map shows.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.
    treatments : bool
        As for `wintersward.design.plot_map`: False names no treatment.
    ground : str
        As for `wintersward.design.plot_map`.

    Returns
    -------
    str
        A few sentences for those who cannot see the map.
    """
    shown = panels(plots, definition, ground)
    every = pd.concat([part for _, part in shown], ignore_index=True)
    said = [
        *_sized(shown, every, definition, treatments, ground),
        *_around(definition, [name for name, _ in shown]),
        *_in_plots(every, definition),
        *by_hand(definition, treatments),
    ]
    if not treatments:
        return " ".join([*said, "Treatments are not shown."])
    if len(every) > _MOST_TOLD:
        return " ".join([*said, "plan/plots.csv lists the treatments of every plot."])
    return " ".join([*said, *_arrangement(every, definition)])


def _sized(
    shown: list[tuple[str, pd.DataFrame]],
    every: pd.DataFrame,
    definition: Definition,
    treatments: bool,
    ground: str,
) -> list[str]:
    """Say how many plots there are, how they lie and how large they are."""
    held = _held(definition, treatments)
    if len(shown) == 1:
        return _one(every, definition, ground, held)
    return _several(shown, every, definition, held)


def _one(plots: pd.DataFrame, definition: Definition, ground: str, held: str) -> list[str]:
    wide, long = (length(side, definition.units) for side in extent(plots))
    of = f"{(definition.layout.grounds or {})[ground]}: " if ground else ""
    return [
        f"Map to scale of {of}{_plots(plots, definition, ground)}{held}, "
        f"{wide} wide and {long} long{_alleys(definition)}.",
        _walked(plots),
    ]


def _several(
    shown: list[tuple[str, pd.DataFrame]], every: pd.DataFrame, definition: Definition, held: str
) -> list[str]:
    each = f", each block{held}"
    said = [f"Maps to scale of {_plots(every, definition, '')}{each}{_alleys(definition)}."]
    for name, part in shown:
        wide, long = (length(side, definition.units) for side in extent(part))
        label = (definition.layout.grounds or {})[name]
        said.append(f"{label}: {wide} wide and {long} long. {_walked(part)}")
    return said


def _plots(plots: pd.DataFrame, definition: Definition, ground: str) -> str:
    return f"{len(plots)} plots of {sizes(plots, definition.units)}{laid(definition, ground)}"


def _alleys(definition: Definition) -> str:
    if definition.layout.laid_by_hand is not None:
        return ""
    return f", with alleys of {length(definition.layout.alley, definition.units)}"


def _walked(plots: pd.DataFrame) -> str:
    walked = plots.sort_values("walk")["plot"]
    return f"The way on foot leads from plot {walked.iloc[0]} to plot {walked.iloc[-1]}."


def _around(definition: Definition, grounds: list[str]) -> list[str]:
    """Tell of areas left out and of north."""
    layout, system = definition.layout, definition.units
    areas = [
        f"{area.what}, {' by '.join(length(side, system) for side in area.size)}"
        for area in layout.areas_left_out
        if (area.ground or "") in grounds
    ]
    said = [f"Left out: {'; '.join(areas)}."] if areas else []
    if layout.north is not None:
        said.append(f"North is {layout.north:g} degrees clockwise from up the page.")
    return said


def _in_plots(plots: pd.DataFrame, definition: Definition) -> list[str]:
    """Count what the enlarged plot shows."""
    places = sampling_places(plots.iloc[:1], definition)
    if places.empty:
        return []
    once = places.drop_duplicates(["kind", "measure", "x_m", "y_m"])
    counts = []
    for name, part in once.groupby("measure", sort=False):
        kind = str(part["kind"].iloc[0]) + ("" if len(part) == 1 else "s")
        label = definition.measures[str(name)].label or str(name).replace("_", " ")
        counts.append(f"{len(part)} {kind} of {label}")
    return [f"One plot is enlarged, with {listed(counts)}."]


def _held(definition: Definition, treatments: bool) -> str:
    """Say what a block holds; raters are not told which plots share a treatment."""
    block = shape(definition)
    if is_split(definition) and treatments:
        return f" of {block.across // block.touching} whole plots with {block.touching} each"
    if is_strip(definition) and treatments:
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
