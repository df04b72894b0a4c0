"""Flags for values that do not fit the course of their plot: jumps, and two plots swapped."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.errors import listed
from wintersward.records.flag_history import Codes, Course, far_off, history, scales
from wintersward.records.flag_parts import Flag, Floats

__all__ = ["value_flags"]

# From how many standard deviations on a value is a jump, and from how many a plot of a pair
# misfits; up to how many the other plot's value fits; by how much the squares must shrink.
_JUMP = 5.0
_MISFIT, _FIT, _GAIN = 2.5, 2.5, 25.0
# A pair is told apart by at least this many other dates.
_DATES = 2


def value_flags(known: Course, name: str) -> Iterator[Flag]:
    """Find values of a measure that lie far from the course of their own plot.

    Parameters
    ----------
    known : Course
        Every value beside its plot's course.
    name : str
        The measure.

    Yields
    ------
    Flag
        Of kind "two plots swapped", one a pair, and of kind "jump", one a value.

    Notes
    -----
    A value is freed from its cell (date, rater, treatments as applied), then from its plot: minus
    the median of the plot's so freed values on its other dates. The median of a cell is taken of
    values from which what their plots are always like is taken off, cells and plots in turn, as
    in Tukey's median polish: a gradient over the blocks does not blur it.

    A jump lies more than five times the usual spread away; a mark also by at least a quarter of
    its scale. The usual spread (`wintersward.records.flag_history.scales`) is that of plots for
    which the same was drawn. It is never told as a number, which would show how treatments
    spread. Iglewicz and Hoaglin propose 3.5 for one set of numbers; a season holds hundreds, and
    `tests/validity/test_flags.py` tells how often five errs, also where treatments differ in
    spread: up to fourfold, and with three or four blocks more often than with six. A block that is
    off as a whole on one date is not told from odd plots. The worst value of a plot is told first
    and does not count in its history any more. With two dates that disagree, the one that is
    farther from its cell is told.

    Two plots were swapped where, on one date (and by one rater), the values of both misfit, each
    fits the course of the other, and each is the other's best partner. It needs two other dates
    of each. Plots with like histories cannot be told apart, so that most swaps of like plots go
    unseen.

    References
    ----------
    Iglewicz B., Hoaglin D. C. (1993) How to Detect and Handle Outliers (from memory).
    Tukey J. W. (1977) Exploratory Data Analysis, on median polish (from memory).
    """
    pairs, explained = _swapped(known, name)
    yield from pairs
    yield from _jumps(known, name, explained)


def _jumps(known: Course, name: str, explained: NDArray[np.bool_]) -> Iterator[Flag]:
    """Tell the values that no swap explains."""
    usual = history(known, skipped=explained)
    off = known.rest - usual[known.plot, known.day]
    off[explained] = np.nan
    limit = _limits(known, _JUMP, scales(known, off, known.plot, known.day, known.share))
    far = np.isfinite(off) & (np.abs(off) >= limit)
    told = ("jump", name, "this plot's own course", f"{_rule(known, _JUMP)} away from it")
    for plot in np.unique(known.plot[far]):
        own = np.flatnonzero((known.plot == plot) & ~explained & np.isfinite(known.rest))
        while own.size:
            at, distance = _worst(known.rest[own], known.day[own])
            row = own[at]
            if not _beyond(known, distance, limit[row]):
                break
            yield far_off(known, int(row), distance, told)
            own = np.delete(own, at)


def _limits(known: Course, times: float, scale: Floats) -> Floats:
    """Give the limit of each value; none is beyond where there is no spread to judge by."""
    return np.where(scale > 0, np.maximum(times * scale, known.words.least), np.inf)


def _beyond(known: Course, distance: float, limit: float) -> bool:
    """Tell whether a distance is odd; a mark as far away as the limit is."""
    return abs(distance) >= limit if known.words.rated else abs(distance) > limit


def _worst(rest: Floats, day: Codes) -> tuple[int, float]:
    """Find the value that is farthest from those of the other dates, and how far."""
    off = np.zeros(len(rest))
    for one in np.unique(day):
        if (day != one).any():
            off[day == one] = rest[day == one] - np.median(rest[day != one])
    off = np.round(off, 6)
    at = int(np.lexsort((-np.abs(rest), -np.abs(off)))[0])
    return at, float(off[at])


def _rule(known: Course, times: float) -> str:
    """Say a limit in words alike for all plots: a number would tell how treatments spread."""
    usual = f"{times:g} times the usual spread"
    if not known.words.rated:
        return f"at most {usual}"
    return f"less than {known.words.difference(known.words.least)}, or than {usual},"


def _swapped(known: Course, name: str) -> tuple[list[Flag], NDArray[np.bool_]]:
    """Find pairs of plots that were taken for one another, and the rows that this explains."""
    explained = np.zeros(len(known.rest), dtype=bool)
    frame = {"day": known.day, "rater": known.rater, "plot": known.plot, "rest": known.rest}
    of_plot = pd.DataFrame(frame | {"share": known.share}).groupby(["day", "rater", "plot"])
    units = of_plot.agg({"rest": "median", "share": "sum"}).reset_index()
    day, rater, plot = (units[key].to_numpy() for key in ("day", "rater", "plot"))
    usual = history(known, _DATES)[plot, day]
    off = np.round(units["rest"].to_numpy() - usual, 6)
    scale = scales(known, off, plot, day, units["share"].to_numpy())
    limit = _limits(known, _MISFIT, scale)
    # Where each plot should be on its date, and where it is.
    due = known.expected[plot, day, rater] + usual
    far = np.isfinite(off) & (np.abs(off) > limit)
    flags = []
    for one, who in sorted(set(zip(day[far], rater[far], strict=True))):
        some = np.flatnonzero(far & (day == one) & (rater == who))
        for first, second in _pairs(due[some], off[some], scale[some]):
            pair = (some[first], some[second])
            rows = [
                np.flatnonzero(
                    (known.day == one) & (known.rater == who) & (known.plot == plot[unit])
                )
                for unit in pair
            ]
            explained[np.concatenate(rows)] = True
            crossed = [off[pair[i]] + due[pair[i]] - due[pair[1 - i]] for i in (0, 1)]
            flags.append(_swap(known, name, rows, [float(off[p]) for p in pair], crossed))
    return flags, explained


def _pairs(due: Floats, off: Floats, scale: Floats) -> list[tuple[int, int]]:
    """Find those of one date that fit each other's place, each the other's best partner."""
    scale = np.maximum(scale[:, None], scale[None, :])
    crossed = off[:, None] + due[:, None] - due[None, :]
    gain = (off[:, None] ** 2 + off[None, :] ** 2 - crossed**2 - crossed.T**2) / scale**2
    fits = np.abs(crossed) <= _FIT * scale
    gain = np.where(fits & fits.T & (gain >= _GAIN), gain, -np.inf)
    np.fill_diagonal(gain, -np.inf)
    best = gain.argmax(axis=1)
    return [
        (at, int(other))
        for at, other in enumerate(best)
        if at < other and best[other] == at and np.isfinite(gain[at, other])
    ]


def _swap(
    known: Course, name: str, rows: list[Codes], off: list[float], crossed: list[float]
) -> Flag:
    words = known.words
    seen = [known.rows.iloc[some[0]] for some in rows]
    names = [str(one["plot"]) for one in seen]
    many = any(len(some) > 1 for some in rows)
    values = [words.value(float(np.median(known.written[some]))) for some in rows]
    said = [f"{value} on {plot}" for value, plot in zip(values, names, strict=True)]
    most = max(map(abs, off))
    own, other = (
        " and ".join(words.difference(abs(one), most) for one in some) for some in (off, crossed)
    )
    raters = {str(one["rater"]) for one in seen}
    return Flag(
        "two plots swapped",
        name,
        seen[0]["date"],
        listed(names),
        raters.pop() if len(raters) == 1 else "",
        "" if many else str(seen[0]["sample"]),
        source="; ".join(str(one["source"]) for one in seen),
        found=f"{'medians ' if many else ''}{' and '.join(said)}, {own} off their own course; "
        f"exchanged, {other} off",
        rule=f"both {_rule(known, _MISFIT)} off their own course",
    )
