"""The one table that every observed number becomes a row of."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from itertools import product
from typing import Any

import pandas as pd

from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, Diary

__all__ = [
    "COLUMNS",
    "REPEAT",
    "counts",
    "first_looks",
    "joined",
    "observation_frame",
    "outstanding",
]

COLUMNS = (
    "date",
    "plot",
    "measure",
    "sample",
    "rater",
    "value",
    "unit",
    "source",
    "flags",
    "excluded",
)
# Flag of a rater's second look at a plot.
REPEAT = "repeat"
_TYPES = {"date": "datetime64[ns]", "sample": "int64", "value": "float64"}
_COUNTS = ("measure", "date", "expected", "used", "excluded", "missing", "repeats", "due")


def observation_frame(rows: Sequence[Sequence[Any]]) -> pd.DataFrame:
    """Make a table of observations out of rows, with the column types that it always has.

    Parameters
    ----------
    rows : sequence of sequences
        One entry for each of `COLUMNS`; the value in the SI unit of its measure.

    Returns
    -------
    DataFrame
        Columns `COLUMNS`: date as datetime64, sample as integer, value as float, the
        others as text; in the order given.
    """
    return _typed(pd.DataFrame(list(rows), columns=list(COLUMNS)))


def _typed(frame: pd.DataFrame) -> pd.DataFrame:
    return frame[list(COLUMNS)].astype({name: _TYPES.get(name, str) for name in COLUMNS})


def first_looks(observations: pd.DataFrame) -> pd.DataFrame:
    """Leave out the second looks, which only tell how well a rater agrees with himself.

    Parameters
    ----------
    observations : DataFrame
        Where it has a column ``flags``, rows with the flag `REPEAT` among them are left out.

    Returns
    -------
    DataFrame
        The other rows, in the same order and with their index.
    """
    return observations[~_repeated(observations)]


def _repeated(observations: pd.DataFrame) -> pd.Series:
    """Tell for each observation whether it is a second look."""
    if "flags" not in observations:
        return pd.Series(False, observations.index, dtype=bool)
    found = [REPEAT in str(flags).split("; ") for flags in observations["flags"]]
    return pd.Series(found, observations.index, dtype=bool)


def joined(frames: Iterable[pd.DataFrame], definition: Definition) -> pd.DataFrame:
    """Join tables of observations into one, sorted.

    Parameters
    ----------
    frames : iterable of DataFrame
        Each with at least the columns `COLUMNS`.
    definition : Definition
        Gives the order of the measures.

    Returns
    -------
    DataFrame
        Columns `COLUMNS`, sorted by measure (in the definition's order), date, plot, rater
        and sample, a second look after the first; index from 0.
    """
    filled = [_typed(frame) for frame in frames if not frame.empty]
    if not filled:
        return observation_frame([])
    frame = pd.concat(filled, ignore_index=True)
    order = {name: position for position, name in enumerate(definition.measures)}
    frame["order"] = frame["measure"].map(order)
    frame["again"] = _repeated(frame)
    keys = ["order", "date", "plot", "rater", "sample", "again"]
    return frame.sort_values(keys, kind="stable", ignore_index=True)[list(COLUMNS)]


def counts(observations: pd.DataFrame, definition: Definition, plots: pd.DataFrame) -> pd.DataFrame:
    """Count what was planned, used, excluded, is missing and was seen twice.

    Parameters
    ----------
    observations : DataFrame
        Columns `COLUMNS`, with the reasons of exclusions filled in.
    definition : Definition
        Says what was planned.
    plots : DataFrame
        One row a plot.

    Returns
    -------
    DataFrame
        Columns measure, date, expected, used, excluded, missing, repeats, due; one row for each
        measure and planned date, in the definition's order.

    Notes
    -----
    ``expected = plots x per_plot x raters`` and ``missing = expected - used - excluded``. An
    observation without a value (a photo that could not be scored) is missing. A date is ``not
    yet`` due, and nothing of it missing, while no observation of any measure is as late. Second
    looks, excluded or not, count as repeats alone, so that all observations with a value are
    ``used + excluded + repeats``.
    """
    seen = observations[observations["value"].notna()]
    again = _repeated(seen)
    latest = observations["date"].max()
    rows = []
    for name, measure in definition.measures.items():
        raters = max(1, len(getattr(measure, "raters", [])))
        expected = len(plots) * measure.per_plot * raters
        for day in pd.to_datetime(dates_meant(definition.dates, measure.dates)):
            here = (seen["measure"] == name) & (seen["date"] == day)
            reasons = seen.loc[here & ~again, "excluded"]
            used, set_aside = int((reasons == "").sum()), int((reasons != "").sum())
            due = bool(day <= latest)
            missing = max(0, expected - used - set_aside) if due else 0
            told = "yes" if due else "not yet"
            repeats = int((here & again).sum())
            rows.append((name, day, expected, used, set_aside, missing, repeats, told))
    frame = pd.DataFrame(rows, columns=list(_COUNTS))
    return frame.astype({"date": "datetime64[ns]"})


def outstanding(
    observations: pd.DataFrame,
    definition: Definition,
    diary: Diary,
    plots: pd.DataFrame,
    measure: str,
    day: dt.date,
) -> list[str]:
    """List the plots that still lack observations of a measure on a day.

    Parameters
    ----------
    observations : DataFrame
        Columns `COLUMNS`; excluded ones are there all the same.
    definition, diary : Definition, Diary
        What was planned, and what the diary declares missing.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.
    measure : str
        A measure of the definition.
    day : date
        A day on which it is planned.

    Returns
    -------
    list of str
        Plots in the order of ``plots``, without those of which everything was observed or is
        declared missing.

    Notes
    -----
    A declaration that names a sample or a rater settles these alone, any other the whole plot.
    A second look does not stand in for the first.
    """
    planned = definition.measures[measure]
    raters = list(getattr(planned, "raters", [])) or [""]
    wanted = set(product(range(1, planned.per_plot + 1), raters))
    here = (observations["measure"] == measure) & (observations["date"] == pd.Timestamp(day))
    first = first_looks(observations[here & observations["value"].notna()])
    settled: dict[str, set[tuple[int, str]]] = {plot: set() for plot in plots["plot"]}
    for seen in first.itertuples():
        # A measure without raters is taken once, whoever took it.
        rater = str(seen.rater) if raters != [""] else ""
        settled[str(seen.plot)].add((int(str(seen.sample)), rater))
    for plot, whole in plots[["plot", "whole_plot"]].itertuples(index=False):
        settled[plot] |= {
            (sample, rater)
            for sample, rater in wanted
            if any(one.means(measure, day, (plot, whole), sample, rater) for one in diary.missing)
        }
    return [plot for plot in plots["plot"] if not wanted <= settled[plot]]
