"""Checks of a plan: whether it holds what its layout asks for, and what has changed since."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from wintersward.design.layouts import is_split
from wintersward.design.lengths import length
from wintersward.design.randomise import draw
from wintersward.errors import Problem, listed
from wintersward.paths import command
from wintersward.trial import Definition

__all__ = ["layout_changed", "plan_problems", "redraw"]

# Plots nearer than this to each other touch; positions nearer than this agree [m].
_TOUCH_M = 1e-3
_Found = Iterator[tuple[int, str, str, str]]


def redraw(study: str | Path) -> str:
    """Say what to do about a plan that the definition does not draw.

    Parameters
    ----------
    study : str or Path
        The study folder, as `wintersward.paths.command` takes it.
    """
    return (
        "put trial.yaml back as it was when the plots were drawn, "
        f"or move plan/plots.csv away and run: {command('plan', study)}"
    )


def plan_problems(
    frame: pd.DataFrame, definition: Definition, name: str, doubtful: set[str], advice: str
) -> list[Problem]:
    """Find what the layout does not allow in a plots table.

    Parameters
    ----------
    frame : DataFrame
        The lines whose cells are sound, indexed by their row in the file.
    definition : Definition
        Its layout says how often each treatment stands in a block.
    name : str
        The file as the person knows it.
    doubtful : set of str
        Blocks with lines that are not sound: their treatments are not counted yet.
    advice : str
        What to do about a plan that the definition does not draw: `redraw`.

    Returns
    -------
    list of Problem
    """
    found = list(_overlaps(frame))
    if is_split(definition):
        spread = list(_spread(frame))
        found += spread
        doubtful = doubtful | {str(frame["block"][row]) for row, *_ in spread}
    one_block = _split_block if is_split(definition) else _full_block
    for number in range(1, definition.layout.blocks + 1):
        part = frame[frame["block"] == str(number)]
        if str(number) in doubtful:
            continue
        if part.empty:
            rule = f"blocks 1 to {definition.layout.blocks}"
            found.append((0, "block", f"no plot of block {number}", f"{rule}; {advice}"))
        else:
            found += one_block(part, str(number), definition)
    return [
        Problem(name, 0, 0, field, said, *rule.partition("; ")[::2], row)
        for row, field, said, rule in found
    ]


def _overlaps(frame: pd.DataFrame) -> _Found:
    """Find plots that lie on one another; each is told of once."""
    left, low = frame["x_m"].to_numpy(float), frame["y_m"].to_numpy(float)
    right, high = left + frame["width_m"].to_numpy(float), low + frame["length_m"].to_numpy(float)
    for at, row in enumerate(frame.index):
        before = slice(0, at)
        wide = np.minimum(right[at], right[before]) - np.maximum(left[at], left[before])
        tall = np.minimum(high[at], high[before]) - np.maximum(low[at], low[before])
        hit = np.flatnonzero((wide > _TOUCH_M) & (tall > _TOUCH_M))
        if hit.size:
            plot, other = frame["plot"].iloc[at], frame["plot"].iloc[hit[0]]
            said = f"plot {plot}, which lies on plot {other} (row {frame.index[hit[0]]})"
            yield int(row), "x_m and y_m", said, "plots that do not lie on one another"


def _spread(frame: pd.DataFrame) -> _Found:
    home: dict[str, str] = {}
    plots = set(frame["plot"])
    for row, whole_plot, block in zip(
        frame.index, frame["whole_plot"], frame["block"], strict=True
    ):
        if home.setdefault(whole_plot, block) != block:
            said = f"'{whole_plot}', which lies in block {home[whole_plot]} too"
            yield int(row), "whole_plot", said, "a whole plot in one block only"
        if whole_plot in plots:
            said = f"'{whole_plot}', which is the name of a plot too"
            yield int(row), "whole_plot", said, "a name that no plot has"


def _full_block(part: pd.DataFrame, block: str, definition: Definition) -> _Found:
    factors = list(definition.treatments)
    wanted = pd.MultiIndex.from_product([f.levels for f in definition.treatments.values()])
    given = {
        int(row): tuple(cells)
        for row, cells in zip(part.index, part[factors].to_numpy(), strict=True)
    }
    rule = "each treatment once in a block"
    yield from _once(given, list(wanted), " and ".join(factors), f"block {block}", rule)


def _split_block(part: pd.DataFrame, block: str, definition: Definition) -> _Found:
    whole, sub = str(definition.layout.whole_plot), str(definition.layout.subplot)
    heads: dict[int, tuple[str, ...]] = {}
    mixed = False
    for whole_plot, plots in part.groupby("whole_plot", sort=False):
        rows = [int(row) for row in plots.index]
        cover = plots[whole].iloc[0]
        heads[rows[0]] = (cover,)
        for row, level in zip(rows[1:], plots[whole].iloc[1:], strict=True):
            if level != cover:
                mixed = True
                said = f"'{level}', but '{cover}' in row {rows[0]} of whole plot {whole_plot}"
                yield row, whole, said, f"one level of {whole} in a whole plot"
        given = {row: (level,) for row, level in zip(rows, plots[sub], strict=True)}
        every = [(level,) for level in definition.treatments[sub].levels]
        rule = f"each level of {sub} once in a whole plot"
        yield from _once(given, every, sub, f"whole plot {whole_plot}", rule)
    if not mixed:
        every = [(level,) for level in definition.treatments[whole].levels]
        rule = f"each level of {whole} on one whole plot of a block"
        yield from _once(heads, every, whole, f"block {block}", rule)


def _once(
    given: Mapping[int, tuple[str, ...]],
    wanted: Sequence[tuple[str, ...]],
    field: str,
    where: str,
    rule: str,
) -> _Found:
    """Compare what rows hold with what must stand there once each."""
    first: dict[tuple[str, ...], int] = {}
    for row, level in given.items():
        if level in first:
            said = f"'{' and '.join(level)}' again in {where}, as in row {first[level]}"
            yield row, field, said, rule
        first.setdefault(level, row)
    for level in wanted:
        if level not in first:
            yield 0, field, f"no '{' and '.join(level)}' in {where}", rule


def layout_changed(plots: pd.DataFrame, definition: Definition) -> list[str]:
    """Say what of a drawn plan no longer agrees with the definition.

    Parameters
    ----------
    plots : DataFrame
        The plan as it was drawn, also by another definition.
    definition : Definition
        The trial as it is written now.

    Returns
    -------
    list of str
        Plain sentences; empty when the definition would draw this very plan.
    """
    said = [*_structure_changed(plots, definition), *_sizes_changed(plots, definition)]
    # Positions and the draw can be compared only between plans of the same plots.
    if said:
        return said
    fresh = draw(definition)
    if set(fresh["plot"]) != set(plots["plot"].astype(str)):
        return ["The plots of the plan have other numbers than the definition gives them."]
    drawn = plots.assign(plot=plots["plot"].astype(str)).set_index("plot").loc[fresh["plot"]]
    fresh = fresh.set_index("plot")
    return [*_moved(drawn, fresh, definition), *_drawn_otherwise(drawn, fresh, definition)]


def _structure_changed(plots: pd.DataFrame, definition: Definition) -> Iterator[str]:
    layout, treatments = definition.layout, definition.treatments
    split = plots["whole_plot"].astype(str).str.len().gt(0).any()
    kind = "split plot" if split else "randomised blocks"
    if kind != layout.kind:
        yield f"The plan was drawn as {kind}; the definition says {layout.kind}."
    blocks = plots["block"].astype(str).nunique()
    if blocks != layout.blocks:
        yield f"The plan has {blocks} blocks; the definition says {layout.blocks}."
    places = list(plots.columns)
    drawn = places[places.index("length_m") + 1 : places.index("walk")]
    if set(drawn) != set(treatments):
        yield f"The plan has the factors {listed(drawn)}; the definition has {listed(treatments)}."
    for factor in [name for name in treatments if name in drawn]:
        levels = plots[factor].astype(str).drop_duplicates().tolist()
        wanted = treatments[factor].levels
        if set(levels) != set(wanted):
            now = f"the definition has {listed(wanted)}"
            yield f"The plan has the levels {listed(sorted(levels))} of {factor}; {now}."
    whole = layout.whole_plot
    if split and whole in drawn:
        held = plots.groupby("whole_plot", observed=True)[whole].nunique()
        if held.max() > 1:
            now = "the definition gives each of them one level"
            yield f"In the plan {whole} changes within whole plots; {now}."


def _sizes_changed(plots: pd.DataFrame, definition: Definition) -> Iterator[str]:
    system = definition.units
    wide, long = definition.layout.plot_size
    for column, word, wanted in (("width_m", "wide", wide), ("length_m", "long", long)):
        sizes = plots[column].to_numpy(float)
        off = np.abs(sizes - wanted) > _TOUCH_M
        if off.any():
            found = listed(dict.fromkeys(length(size, system) for size in sizes[off]))
            now = f"the definition says {length(wanted, system)}"
            yield f"{int(off.sum())} plots of the plan are {found} {word}; {now}."


def _moved(drawn: pd.DataFrame, fresh: pd.DataFrame, definition: Definition) -> Iterator[str]:
    system = definition.units
    places = ["x_m", "y_m"]
    off = (drawn[places] - fresh[places]).abs().max(axis=1) > _TOUCH_M
    if off.any():
        plot = str(off.idxmax())
        there, here = (
            " and ".join(length(float(frame[place][plot]), system) for place in places)
            for frame in (drawn, fresh)
        )
        yield (
            f"{int(off.sum())} plots lie elsewhere than the definition places them, the first of "
            f"them plot {plot}: {there} from the corner along width and length, not {here}; the "
            "alley or blocks_side_by_side was changed, or the plan was edited."
        )


def _drawn_otherwise(
    drawn: pd.DataFrame, fresh: pd.DataFrame, definition: Definition
) -> Iterator[str]:
    factors = list(definition.treatments)
    other = (drawn[factors].astype(str) != fresh[factors].astype(str)).any(axis=1)
    if other.any():
        yield (
            f"The seed {definition.layout.seed} gives {int(other.sum())} of {len(drawn)} plots "
            "another treatment than the plan does; the seed was changed, or the plan was edited "
            "or drawn in another way."
        )
