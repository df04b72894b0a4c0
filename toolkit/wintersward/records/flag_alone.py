"""Flags for values of plots that have no other date yet: held against the readings of that day."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from wintersward.records.flag_history import Codes, Course, far_off, history, scales
from wintersward.records.flag_parts import Flag, Floats, medians_of
from wintersward.trial.schema import SheetMeasure

__all__ = ["alone_flags"]

# From how many times the usual spread on a value is unlike the others.
_FAR = 6.0
# Of fewer readings of a plot the middle follows the odd one.
_FEWEST_READINGS = 3


def alone_flags(known: Course, name: str) -> Iterator[Flag]:
    """Find values far from all others of their day, where the plot has no other date.

    Parameters
    ----------
    known : Course
        Every value beside its plot's course.
    name : str
        The measure; photos, which have flags of their own, marks and shares, whose ends hold them
        in, are left alone.

    Yields
    ------
    Flag
        Of kind "unlike the others", one a value.

    Notes
    -----
    A value is held against the middle of its own plot's readings of that day, where there are
    three or more; and against the middle of the plots treated alike on that day, three or more.
    A flag beyond six times the usual spread of such distances
    (`wintersward.records.flag_history.scales`): one more than a plot's own history asks for, since
    the first visit has plots of every kind side by side. A first date is judged with little: slips
    of the decimal point or of the unit are found, small slips are not.
    """
    measure = known.words.measure
    if not isinstance(measure, SheetMeasure) or not len(known.rest):
        return
    if known.words.rated or measure.limits == (0.0, 100.0):
        return
    usual = history(known)
    alone = ~np.isfinite(usual[known.plot, known.day])
    far = np.zeros(len(alone), dtype=bool)
    than = "is usual among the readings of that day"
    rule = f"at most {_FAR:g} times the usual spread away from them"
    told = ("unlike the others", name, than, rule)
    # What is odd among a plot's own readings is told first, and not once more beside other plots.
    for off in (_within(known), known.rest):
        off = np.where(alone & ~far, off, np.nan)
        # A middle lies no distance from itself, which tells nothing of the spread.
        spread = np.where(off == 0, np.nan, off)
        scale = scales(known, spread, known.plot, known.day, np.zeros(len(off)))
        found = np.isfinite(off) & (scale > 0) & (np.abs(off) > _FAR * scale)
        for row in np.flatnonzero(found):
            yield far_off(known, int(row), float(off[row]), told)
        far |= found


def _within(known: Course) -> Floats:
    """Give the distance of each value from the middle of its plot's readings of that day."""
    frame = {"plot": known.plot, "day": known.day, "rater": known.rater}
    numbered = pd.DataFrame(frame).groupby(["plot", "day", "rater"]).ngroup()
    group: Codes = np.asarray(numbered, dtype=np.intp)
    count = int(group.max()) + 1
    enough = np.bincount(group, minlength=count) >= _FEWEST_READINGS
    middle: Floats = medians_of(known.written, group, count)[group]
    off = known.written - middle
    return np.where(enough[group], np.round(off, 6), np.nan)
