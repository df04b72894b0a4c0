"""Every value of a measure beside the course of its own plot, free of treatments and dates."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.records.flag_parts import Flag, Floats, Wording, medians, medians_of, spreads_of
from wintersward.trial.applied import begins
from wintersward.trial.schema import Definition

__all__ = ["Codes", "Course", "course", "far_off", "history", "scales"]

Codes = NDArray[np.intp]

# The median of fewer plots follows the odd one.
_FEWEST_PLOTS = 3
# The spread of fewer values is a guess.
_FEWEST_VALUES = 10
# A group's own spread counts alone from this many times the spread of all on; below, all lend it
# the weight of so many values. Of n values a spread is taken larger by this part of n.
_CLEARLY, _LENT, _WIDER = 1.4, 20, 4
# Sweeps over cells and plots in turn; after three the middles hardly move.
_SWEEPS = 3
# What the middle of a cell costs, in values.
_PER_CELL = 2
# What is left of a difference of equal values.
_ROUNDING = 6


@dataclass(frozen=True)
class Course:
    """The values of a measure, row by row, and where each was to be expected.

    Parameters
    ----------
    rows : DataFrame
        First looks that are not excluded, with a value; columns of
        `wintersward.records.COLUMNS`; n rows.
    words : Wording
        How values are written.
    written : (n,) float
        Values in the sheet's own unit.
    plot, day, rater : (n,) int
        Number of the plot, the date and the rater (0 for a measure without raters).
    groups : (k, plots) int
        Ways in which plots are sorted by what was drawn for them, each with a number for each
        plot: all alike, by each factor, by all factors.
    rest : (n,) float
        Value minus the median of its cell: same date, rater and treatments as applied by then, and
        the same ground where each ground has three such plots or more. NaN in a cell of fewer than
        three plots.
    share : (n,) float
        Part that each row has in its cell, 1 / rows of the cell.
    expected : (plots, days, raters) float
        Median of the cell that a plot belongs to; NaN where there is none.
    step : float
        Smallest step in which values are written; 0 for marks and for scores of photos.
    """

    rows: pd.DataFrame
    words: Wording
    written: Floats
    plot: Codes
    day: Codes
    rater: Codes
    groups: Codes
    rest: Floats
    share: Floats
    expected: Floats
    step: float


def course(
    rows: pd.DataFrame, name: str, definition: Definition, plots: pd.DataFrame, words: Wording
) -> Course:
    """Free the values of a measure from dates, raters and treatments.

    Parameters
    ----------
    rows : DataFrame
        Values of the measure, as `Course` has them; plots that are not in ``plots`` are left out.
    name : str
        The measure.
    definition : Definition
        Says when treatments were applied; what is seen on that day counts as before it.
    plots : DataFrame
        Column plot and one a factor, one row a plot; ground where there are several.
    words : Wording
        How values are written.
    """
    names = pd.Index(plots["plot"])
    rows = rows[rows["plot"].isin(names)]
    plot = names.get_indexer(rows["plot"])
    day, days = pd.factorize(rows["date"], sort=True)
    raters = list(getattr(definition.measures[name], "raters", []))
    rater = np.zeros(len(rows), dtype=np.intp)
    if len(raters) > 1:
        rater = np.maximum(pd.Index(raters).get_indexer(rows["rater"]), 0)
    written = words.written(rows["value"].to_numpy())
    treated = _treated(definition, plots, pd.DatetimeIndex(days))
    shape = (len(days), max(1, len(raters)), int(treated.max(initial=0)) + 1)
    every = np.ravel_multi_index(
        (np.arange(shape[0])[:, None], np.arange(shape[1]), treated[:, :, None]), shape
    )
    every, count = _by_ground(every, plot, (day, rater), plots)
    cell = every[plot, day, rater]
    of_cell = _middles(written, plot, cell, (len(plots), count))
    middle, expected = of_cell[cell], of_cell[every]
    share = 1 / np.bincount(cell, minlength=count)[cell]
    step = 0.0
    if definition.measures[name].from_ == "sheet" and not words.rated and len(rows):
        step = 10.0 ** -words.decimals(written)
    rest = np.round(written - middle, _ROUNDING)
    groups = _drawn(definition, plots)
    return Course(rows, words, written, plot, day, rater, groups, rest, share, expected, step)


def _by_ground(
    every: Codes, plot: Codes, when: tuple[Codes, Codes], plots: pd.DataFrame
) -> tuple[Codes, int]:
    """Part the cells (plots, days, raters) by ground where every part keeps three plots."""
    count = int(every.max(initial=0)) + 1
    if "ground" not in plots:
        return every, count
    ground, names = pd.factorize(plots["ground"].astype(str))
    parted = every * len(names) + ground[:, None, None]
    seen = np.unique(parted[plot, *when] * len(plots) + plot) // len(plots)
    held = np.bincount(seen, minlength=count * len(names)).reshape(count, len(names))
    apart = ((held == 0) | (held >= _FEWEST_PLOTS)).all(axis=1)
    return np.where(apart[every], parted, every * len(names)), count * len(names)


def _drawn(definition: Definition, plots: pd.DataFrame) -> Codes:
    """Sort plots by what was drawn for them, (k, plots): alike, by each factor, by all factors."""
    of_each = [pd.factorize(plots[name].astype(str))[0] for name in definition.treatments]
    of_all = np.zeros(len(plots), dtype=np.intp)
    for codes in of_each:
        of_all = of_all * (int(codes.max(initial=0)) + 1) + codes
    return np.array([np.zeros_like(of_all), *of_each, of_all])


def _middles(written: Floats, plot: Codes, cell: Codes, counts: tuple[int, int]) -> Floats:
    """Give the middle of each cell, with what its plots are always like taken off."""
    pairs = np.unique(cell * counts[0] + plot) // counts[0]
    many = np.bincount(pairs, minlength=counts[1]) >= _FEWEST_PLOTS
    always = np.zeros(counts[0])
    for _ in range(_SWEEPS):
        middle = np.where(many, medians_of(written - always[plot], cell, counts[1]), np.nan)
        always = np.nan_to_num(medians_of(written - middle[cell], plot, counts[0]))
    return middle


def _treated(definition: Definition, plots: pd.DataFrame, days: pd.DatetimeIndex) -> Codes:
    """Number the treatments as applied, (plots, days): equal where plots are treated alike."""
    found = np.zeros((len(plots), len(days)), dtype=np.intp)
    for name, factor in definition.treatments.items():
        levels = pd.Index(list(factor.levels)).get_indexer(pd.Index(plots[name].astype(str)))
        applied = np.array([day.date() > begins(definition, name) for day in days], dtype=bool)
        found = found * len(factor.levels) + np.outer(levels, applied).astype(np.intp)
    return found


def history(known: Course, dates: int = 1, skipped: NDArray[np.bool_] | None = None) -> Floats:
    """Give the median of each plot's rests on its other dates, (plots, days).

    Parameters
    ----------
    known : Course
        The values.
    dates : int
        With fewer other dates a plot has no history, and the entry is NaN.
    skipped : (n,) bool, optional
        Rows that are not looked at.
    """
    use = np.isfinite(known.rest) & ~(skipped if skipped is not None else np.False_)
    plots, days = known.expected.shape[:2]
    place = known.plot[use] * days + known.day[use]
    slot = pd.Series(place).groupby(place).cumcount().to_numpy()
    table = np.full((plots, days, int(slot.max(initial=0)) + 1), np.nan)
    table[known.plot[use], known.day[use], slot] = known.rest[use]
    there = np.isfinite(table).any(axis=2)
    found = np.full((plots, days), np.nan)
    for day in range(days):
        others = np.delete(table, day, axis=1).reshape(plots, -1)
        if others.shape[1]:
            enough = (there.sum(axis=1) - there[:, day]) >= dates
            found[enough, day] = medians(others[enough])
    return found


def scales(known: Course, off: Floats, plot: Codes, day: Codes, share: Floats) -> Floats:
    """Estimate the spread that each distance is to be judged by, (m,).

    Parameters
    ----------
    known : Course
        The values.
    off : (m,) float
        Distances from where values should be; NaN counts as nothing there.
    plot, day : (m,) int
        Number of the plot and the date of each.
    share : (m,) float
        Part that each has in the cells.

    Returns
    -------
    (m,) float
        Spread of the plots for which the same was drawn, over all dates; larger on a date on which
        all, or those of one treatment, clearly differ more than they use to. 0 for all where there
        are too few distances to judge by.

    Notes
    -----
    Under some treatments plots differ more than under others: one spread for all would flag the
    plots of one treatment alone. Where too few plots have the same by all factors, the largest
    spread by one factor counts. A spread that is not clearly larger than that of all (1.4 times) is
    drawn towards it, since that of few values is often too small by chance.

    The middle of a cell follows its own values, which makes all distances look smaller. Of n
    distances from c cells the spread is multiplied by the root of ``n / (n - 2 c)``: in simulated
    fields of normal values it then comes out right within 8 % where a cell has four plots or
    more, and 9 % too small where it has three.
    """
    days, (one, *factors, full) = known.expected.shape[1], known.groups
    of_all = np.maximum(_spreads(known, off, one[plot], share, known.words.rated), known.step)
    if np.isfinite(off).sum() < _FEWEST_VALUES or not of_all.any():
        return np.zeros(len(off))
    own = [_own(known, off, codes[plot], plot, share, of_all) for codes in (*factors, full)]
    usual = np.where(own[-1] > 0, own[-1], np.max(own, axis=0))
    usual = np.where(usual > 0, usual, of_all)
    more = np.ones(len(off))
    for codes in (one, *factors):
        group = codes[plot] * days + day
        size = np.bincount(group[np.isfinite(off)], minlength=int(group.max()) + 1)[group]
        that_day = _spreads(known, off / usual, group, share)
        clearly = (size * that_day**2 + _LENT) / (size + _LENT) >= _CLEARLY**2
        more = np.where(clearly, np.maximum(more, that_day), more)
    return usual * more


def _own(
    known: Course, off: Floats, group: Codes, plot: Codes, share: Floats, of_all: Floats
) -> Floats:
    """Give each distance the spread of its group over all dates; 0 where the group is small."""
    there, count = np.isfinite(off), int(group.max(initial=0)) + 1
    # The history of a plot takes one of its values.
    plots = np.unique(np.stack([group[there], plot[there]]), axis=1)[0]
    free = np.bincount(group[there], minlength=count) - np.bincount(plots, minlength=count)
    size = free[group]
    own = np.maximum(_spreads(known, off, group, share, known.words.rated), known.step)
    lent = np.sqrt((size * own**2 + _LENT * of_all**2) / (size + _LENT))
    wide = np.where(own >= _CLEARLY * of_all, own, lent) * (1 + _WIDER / np.maximum(size, 1))
    return np.where(size >= _FEWEST_VALUES, wide, 0.0)


def _spreads(
    known: Course, off: Floats, group: Codes, share: Floats, coarse: bool = False
) -> Floats:
    """Give each distance the spread of its group, (m,); 0 where the group is small."""
    there, count = np.isfinite(off), int(group.max(initial=0)) + 1
    size = np.bincount(group[there], minlength=count)
    cells = np.bincount(group[there], share[there], minlength=count)
    spread = spreads_of(off, group, count, coarse=coarse)
    spread *= np.sqrt(size / np.maximum(1, size - _PER_CELL * cells))
    return np.where(size >= _FEWEST_VALUES, spread, 0.0)[group]


def far_off(known: Course, row: int, distance: float, told: tuple[str, str, str, str]) -> Flag:
    """Make the flag of a value that lies far from where it should.

    Parameters
    ----------
    known : Course
        The values.
    row : int
        Which one it is.
    distance : float
        How far off it is, in the sheet's own unit.
    told : (4,) str
        Kind of flag, measure, what the value is more or less than, and the rule.
    """
    (kind, name, than, rule), words, seen = told, known.words, known.rows.iloc[row]
    more = "more" if distance > 0 else "less"
    found = f"{words.value(known.written[row])}, {words.difference(abs(distance))} {more}"
    return Flag(
        kind,
        name,
        seen["date"],
        str(seen["plot"]),
        str(seen["rater"]),
        str(seen["sample"]),
        float(seen["value"]),
        str(seen["unit"]),
        str(seen["source"]),
        f"{found} than {than}",
        rule,
    )
