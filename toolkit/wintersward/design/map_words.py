"""The words of a map: its heading, its key, and what stands in its plots."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import pandas as pd

from wintersward.design.layouts import is_blocked, is_split, is_strip
from wintersward.design.lengths import length
from wintersward.design.lettering import Stacks, short_codes
from wintersward.design.marks import treatment_marks
from wintersward.errors import WinterswardError, listed
from wintersward.trial import Definition

__all__ = [
    "CODED",
    "Entry",
    "by_hand",
    "codes",
    "extent",
    "heading",
    "key_entries",
    "laid",
    "main_factor",
    "panels",
    "plot_words",
    "sizes",
    "square",
]

# Place of the short codes among the choices of words.
CODED = 2


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


def panels(
    plots: pd.DataFrame, definition: Definition, ground: str = ""
) -> list[tuple[str, pd.DataFrame]]:
    """Split the plots into the grounds that a map shows.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.
    ground : str
        Short name of one ground; empty for all of them.

    Returns
    -------
    list of (str, DataFrame)
        Short name and plots of each ground, in the order of the definition; one with an empty
        name where no grounds are declared.

    Raises
    ------
    WinterswardError
        For a ground that the definition does not have.
    """
    known = definition.layout.ground_names
    if ground and ground not in known:
        names = listed(name for name in known if name)
        said = f"no ground is called '{ground}'"
        raise WinterswardError(f"{said}; {f'allowed: {names}' if names else 'there is only one'}")
    if "ground" not in plots:
        return [("", plots)]
    shown = [ground] if ground else known
    return [(name, plots[plots["ground"] == name].reset_index(drop=True)) for name in shown]


def extent(plots: pd.DataFrame) -> tuple[float, float]:
    """Measure the trial from the corner post: width and length [m], outer alleys left out."""
    return (
        float((plots["x_m"] + plots["width_m"]).max()),
        float((plots["y_m"] + plots["length_m"]).max()),
    )


def sizes(plots: pd.DataFrame, system: str) -> str:
    """Say how large the plots are: ``10 ft by 6 ft``, or from which size to which."""
    known = plots[["width_m", "length_m"]].round(3).drop_duplicates()
    known = known.assign(area=known["width_m"] * known["length_m"]).sort_values("area")
    ends = [known.iloc[0], known.iloc[-1]] if len(known) > 1 else [known.iloc[0]]
    return " to ".join(
        f"{length(float(end['width_m']), system)} by {length(float(end['length_m']), system)}"
        for end in ends
    )


def heading(
    plots: pd.DataFrame, definition: Definition, treatments: bool, ground: str = "", walk: str = ""
) -> list[str]:
    """Write the title of the map and the notes below it.

    Parameters
    ----------
    plots : DataFrame
        The plots that are shown.
    definition : Definition
        The trial as decided. Its title is left out: it may name a treatment.
    treatments : bool
        False names no treatment.
    ground : str
        Short name of the one ground that is shown; empty for all of them.
    walk : str
        How to walk.
    """
    layout, system = definition.layout, definition.units
    copy = "plan of the plots" if treatments else "map for raters, without treatments"
    where = f", {(layout.grounds or {})[ground]}" if ground else ""
    edge = (
        f"Sample inside the dashed lines, {length(layout.edge_left_out, system)} from every edge."
        if layout.edge_left_out
        else "No edge is left out."
    )
    what = f"{len(plots)} plots of {sizes(plots, system)}{laid(definition, ground)}"
    notes = [f"{what}{_alleys(definition)}. {edge}"]
    if len(panels(plots, definition)) == 1 or ground:
        notes.append(f"{square(plots, definition)} {walk}".strip())
    elif walk:
        notes.append(walk)
    if layout.kind == "demonstration":
        notes.append(
            "A demonstration: every treatment has one area, which shows it but cannot tell what "
            "it does from what its place does."
        )
    return [f"{definition.site.name}{where}: {copy}", *notes, *by_hand(definition, treatments)]


def square(plots: pd.DataFrame, definition: Definition) -> str:
    """Say on how much ground the plots lie, and how its corners are made square."""
    system = definition.units
    wide, long = extent(plots)
    return (
        f"All plots lie on {length(wide, system)} by {length(long, system)}, square when both "
        f"diagonals are {length(hypot(wide, long), system)}."
    )


def by_hand(definition: Definition, treatments: bool) -> list[str]:
    """Say who laid the plots by hand, and to all but raters how: that may name treatments."""
    told = definition.layout.laid_by_hand
    if told is None:
        return []
    signed = f"signed {told.signed}, {told.date.day} {told.date:%B %Y}"
    how = f": {told.how.rstrip('.')}" if treatments else ""
    return [f"Laid by hand, not drawn from the seed{how} ({signed})."]


def _alleys(definition: Definition) -> str:
    # Whoever lays plots by hand chooses their distances.
    if definition.layout.laid_by_hand is not None:
        return ""
    return f"; alleys of {length(definition.layout.alley, definition.units)}"


def laid(definition: Definition, ground: str = "") -> str:
    """Say in what the plots lie, or how many plots each treatment has."""
    free = definition.layout.kind in ("completely random", "demonstration")
    if ground:
        return f" in {definition.layout.blocks} blocks"
    return (", " if free else " in ") + definition.replication


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
    entries += _left_out(plots, definition)
    pairs = zip(plots["plot"], plots["block"], strict=True)
    layout = definition.layout
    crowded = layout.blocks_side_by_side > 1 or layout.block_places or layout.grounds
    if crowded and is_blocked(definition) and all(p.startswith(b) for p, b in pairs):
        entries.append(Entry("blocks", head=True))
        entries.append(Entry("a plot's number begins with that of its block"))
    return entries


def _left_out(plots: pd.DataFrame, definition: Definition) -> list[Entry]:
    """List the areas on which no plot lies, of the grounds that are shown."""
    system, grounds = definition.units, definition.layout.grounds or {}
    shown = set(plots["ground"]) if "ground" in plots else {""}
    entries = [Entry("left out, hatched", head=True)]
    for area in definition.layout.areas_left_out:
        if (area.ground or "") in shown:
            size = " by ".join(length(side, system) for side in area.size)
            where = f" on {grounds[area.ground]}" if area.ground and len(shown) > 1 else ""
            entries.append(Entry(f"{area.what}, {size}{where}"))
    return entries if len(entries) > 1 else []
