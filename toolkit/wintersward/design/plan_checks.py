"""Checks of a plan: whether it holds what its layout asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import product

import numpy as np
import pandas as pd

from wintersward.design.areas import TOUCH_M
from wintersward.design.faults import on_areas
from wintersward.design.layouts import block_names, ground_of, is_blocked, is_split
from wintersward.design.lengths import length
from wintersward.errors import Problem
from wintersward.trial import Definition

__all__ = ["plan_problems"]

_Found = Iterator[tuple[int, str, str, str]]


def plan_problems(
    frame: pd.DataFrame, definition: Definition, name: str, doubtful: set[str], advice: str
) -> list[Problem]:
    """Find what the layout does not allow in a plots table.

    Parameters
    ----------
    frame : DataFrame
        The lines whose cells are sound, indexed by their row in the file.
    definition : Definition
        Its layout says how often each treatment stands in a block, row or column.
    name : str
        The file as the person knows it.
    doubtful : set of str
        Blocks with lines that are not sound: their treatments are not counted yet. A layout
        without blocks is one, with an empty name.
    advice : str
        What to do about a plan that the definition does not draw, as
        `wintersward.design.redraw` says it.

    Returns
    -------
    list of Problem
    """
    found = list(_on_grounds(frame, definition))
    if definition.layout.laid_by_hand is not None:
        found += _by_hand(frame, definition)
    if is_split(definition):
        spread = list(_spread(frame))
        found += spread
        doubtful = doubtful | {str(frame["block"][row]) for row, *_ in spread}
    names = block_names(definition)
    for block in names:
        part = frame[frame["block"] == block]
        if block in doubtful:
            continue
        if part.empty:
            rule = f"blocks 1 to {len(names)}; {advice}"
            found.append((0, "block", f"no plot of block {block}", rule))
        else:
            found += _BLOCKS[definition.layout.kind](part, block, definition, advice)
    return [
        Problem(name, 0, 0, field, said, *rule.partition("; ")[::2], row)
        for row, field, said, rule in found
    ]


def _on_grounds(frame: pd.DataFrame, definition: Definition) -> _Found:
    """Find what each ground cannot bear, and blocks on a ground that is not theirs."""
    if "ground" not in frame:
        yield from _overlaps(frame)
        yield from _left_out(frame, definition, "")
        return
    for ground in definition.layout.ground_names:
        part = frame[frame["ground"] == ground]
        yield from _overlaps(part)
        yield from _left_out(part, definition, ground)
    for row, block, ground in zip(frame.index, frame["block"], frame["ground"], strict=True):
        home = ground_of(definition, str(block))
        if ground != home:
            yield int(row), "ground", f"'{ground}' for block {block}", f"{home} for this block"


def _left_out(part: pd.DataFrame, definition: Definition, ground: str) -> _Found:
    rows = dict(zip(part["plot"], part.index, strict=True))
    remedy = (
        "if the area was found after the plots were laid out, take it out of areas_left_out and "
        "tell of it in diary.yaml; else move the block by block_places or choose another plot_size"
    )
    if not is_blocked(definition):
        remedy = remedy.replace("move the block by block_places or choose", "choose")
    for plot, _, what in on_areas(part, definition, ground):
        said = f"plot {plot}, which lies on an area left out ({what})"
        yield int(rows[plot]), "x_m and y_m", said, f"plots clear of areas_left_out; {remedy}"


def _by_hand(frame: pd.DataFrame, definition: Definition) -> _Found:
    """Check places and sizes that a person chose."""
    edge, system = definition.layout.edge_left_out, definition.units
    for row, plot in zip(frame.index, frame.to_dict("records"), strict=True):
        for side in ("x_m", "y_m"):
            if plot[side] < 0:
                rule = "0 or more; choose a corner post beyond which all plots lie"
                yield int(row), side, f"'{plot[side]:g}'", rule
        for side in ("width_m", "length_m"):
            if plot[side] <= 2 * edge:
                rule = (
                    f"more than twice the edge_left_out of {length(edge, system)}; "
                    "an edge all round would leave nothing to sample"
                )
                yield int(row), side, f"'{plot[side]:g}'", rule


def _overlaps(frame: pd.DataFrame) -> _Found:
    """Find plots that lie on one another; each is told of once."""
    left, low = frame["x_m"].to_numpy(float), frame["y_m"].to_numpy(float)
    right, high = left + frame["width_m"].to_numpy(float), low + frame["length_m"].to_numpy(float)
    for at, row in enumerate(frame.index):
        before = slice(0, at)
        wide = np.minimum(right[at], right[before]) - np.maximum(left[at], left[before])
        tall = np.minimum(high[at], high[before]) - np.maximum(low[at], low[before])
        hit = np.flatnonzero((wide > TOUCH_M) & (tall > TOUCH_M))
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


def _full_block(part: pd.DataFrame, block: str, definition: Definition, advice: str) -> _Found:
    factors = list(definition.treatments)
    given = _given(part, factors)
    rule = "each treatment once in a block"
    yield from _once(
        given, _combinations(definition), " and ".join(factors), f"block {block}", rule
    )


def _all_plots(part: pd.DataFrame, block: str, definition: Definition, advice: str) -> _Found:
    """Count how often each treatment was drawn; which plots are wrong cannot be told."""
    factors, wanted = list(definition.treatments), definition.layout.replicates
    given = list(_given(part, factors).values())
    for treatment in _combinations(definition):
        count = given.count(treatment)
        if count != wanted:
            said = f"'{' and '.join(treatment)}' on {count} plots"
            rule = f"each treatment on {wanted} plots; {advice}"
            yield 0, " and ".join(factors), said, rule


def _shown(part: pd.DataFrame, block: str, definition: Definition, advice: str) -> _Found:
    factors = list(definition.treatments)
    given = _given(part, factors)
    rule = "each treatment on one plot"
    yield from _once(
        given, _combinations(definition), " and ".join(factors), "the demonstration", rule
    )


def _square(part: pd.DataFrame, block: str, definition: Definition, advice: str) -> _Found:
    ((factor, treatment),) = definition.treatments.items()
    order = len(treatment.levels)
    outside = False
    for side in ("row", "column"):
        for row, place in part[side].items():
            if place > order:
                outside = True
                yield int(str(row)), side, f"'{place}'", f"a {side} from 1 to {order}; {advice}"
    if outside:
        return
    for side in ("row", "column"):
        for place in range(1, order + 1):
            given = _given(part[part[side] == place], [factor])
            rule = f"each treatment once in a {side}"
            yield from _once(given, _combinations(definition), factor, f"{side} {place}", rule)


def _split_block(part: pd.DataFrame, block: str, definition: Definition, advice: str) -> _Found:
    whole, sub = str(definition.layout.whole_plot), str(definition.layout.subplot)
    heads, mixed = _held(part, "whole_plot", whole, "whole plot")
    yield from mixed
    every = _levels(definition, sub)
    for whole_plot, plots in part.groupby("whole_plot", sort=False):
        rule = f"each level of {sub} once in a whole plot"
        yield from _once(_given(plots, [sub]), every, sub, f"whole plot {whole_plot}", rule)
    if not mixed:
        rule = f"each level of {whole} on one whole plot of a block"
        yield from _once(heads, _levels(definition, whole), whole, f"block {block}", rule)


def _strip_block(part: pd.DataFrame, block: str, definition: Definition, advice: str) -> _Found:
    layout = definition.layout
    sides = {"row": str(layout.row_strips), "column": str(layout.column_strips)}
    found: list[tuple[int, str, str, str]] = []
    for side, factor in sides.items():
        heads, mixed = _held(part, side, factor, f"{side} strip")
        rule = f"each level of {factor} on one {side} strip of a block"
        every = _levels(definition, factor)
        found += mixed or _once(heads, every, factor, f"block {block}", rule)
    yield from found or _full_block(part, block, definition, advice)


_BLOCKS: dict[str, Callable[[pd.DataFrame, str, Definition, str], _Found]] = {
    "completely random": _all_plots,
    "demonstration": _shown,
    "randomised blocks": _full_block,
    "latin square": _square,
    "split plot": _split_block,
    "strip plot": _strip_block,
}


def _held(
    part: pd.DataFrame, unit: str, factor: str, kind: str
) -> tuple[dict[int, tuple[str, ...]], list[tuple[int, str, str, str]]]:
    """Give the level of each unit by its first row, and the rows that hold another level."""
    heads: dict[int, tuple[str, ...]] = {}
    mixed = []
    for name, plots in part.groupby(unit, sort=False):
        rows = [int(row) for row in plots.index]
        level = plots[factor].iloc[0]
        heads[rows[0]] = (level,)
        for row, other in zip(rows[1:], plots[factor].iloc[1:], strict=True):
            if other != level:
                said = f"'{other}', but '{level}' in row {rows[0]} of {kind} {name}"
                mixed.append((row, factor, said, f"one level of {factor} in a {kind}"))
    return heads, mixed


def _given(part: pd.DataFrame, factors: list[str]) -> dict[int, tuple[str, ...]]:
    """Give the treatment of every row."""
    cells = part[factors].to_numpy()
    return {int(row): tuple(levels) for row, levels in zip(part.index, cells, strict=True)}


def _combinations(definition: Definition) -> list[tuple[str, ...]]:
    return list(product(*(factor.levels for factor in definition.treatments.values())))


def _levels(definition: Definition, factor: str) -> list[tuple[str, ...]]:
    return [(level,) for level in definition.treatments[factor].levels]


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
