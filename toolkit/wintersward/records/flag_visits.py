"""Flags for what is there at all: looks under covers, visits and plots that are lacking."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.errors import listed
from wintersward.records.covered import drawn_for_cover
from wintersward.records.flag_parts import Flag, shortened
from wintersward.trial.covering import Span, covered_spans
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, Diary, LoggerMeasure, Measure

__all__ = ["cover_flags", "visit_flags"]

Flags = NDArray[np.bool_]


def cover_flags(
    observations: pd.DataFrame, definition: Definition, diary: Diary, plots: pd.DataFrame
) -> Iterator[Flag]:
    """Find observations of plots that lay under a cover on that day.

    Parameters
    ----------
    observations : DataFrame
        Columns of `wintersward.records.COLUMNS`, excluded ones among them.
    definition, diary : Definition, Diary
        When covers were to lie, and when they lay.
    plots : DataFrame
        Columns plot and whole_plot and one a factor, one row a plot.

    Yields
    ------
    Flag
        One for each measure and day, for all plots together.

    Notes
    -----
    The days on which covers went on, came off, were lifted or laid again count as open. Where it
    cannot be told which factor the covers are, "all covered" means no plot.
    """
    spans = _spans(definition, diary, plots)
    pairs = observations[["date", "plot"]].drop_duplicates()
    lying = [
        (day, plot)
        for day, plot in pairs.itertuples(index=False)
        if any(on < day.date() < off for on, off in spans.get(plot, []))
    ]
    if not lying:
        return
    known = pd.MultiIndex.from_frame(observations[["date", "plot"]])
    covered = observations[known.isin(lying)]
    for _, seen in covered.groupby(["measure", "date"], observed=True):
        first = seen.iloc[0]
        names = sorted(set(seen["plot"]))
        single = first if len(seen) == 1 else None
        many = f"{len(names)} plots were" if len(names) > 1 else f"plot {names[0]} was"
        named = f": {shortened(names)}" if len(names) > 1 else ""
        yield Flag(
            "under a cover",
            str(first["measure"]),
            first["date"],
            listed(names),
            rater="" if single is None else str(single["rater"]),
            sample="" if single is None else str(single["sample"]),
            source="" if single is None else str(single["source"]),
            found=f"{many} observed while the diary has a cover there{named}",
            rule="nothing is observed between covers on and covers off unless they are lifted",
        )


def _spans(definition: Definition, diary: Diary, plots: pd.DataFrame) -> dict[str, list[Span]]:
    """Give the times under covers of each plot that has any."""
    if not diary.covers:
        return {}
    planned = dates_meant(definition.dates, "covers_off")[0]
    drawn = drawn_for_cover(definition, plots)
    if drawn is None:
        drawn = pd.Series(False, plots.index)

    def open_end(on: dt.date) -> dt.date:
        return planned if on < planned else dt.date.max

    found = {}
    for plot, whole, covered in zip(plots["plot"], plots["whole_plot"], drawn, strict=True):
        names = (str(plot), str(whole))
        spans = covered_spans(diary.covers, diary.cover_events, names, bool(covered), open_end)
        if spans:
            found[str(plot)] = spans
    return found


def visit_flags(
    observations: pd.DataFrame, definition: Definition, diary: Diary, plots: pd.DataFrame
) -> Iterator[Flag]:
    """Find visits, plots of a visit and plots of a rater that are lacking and not declared.

    Parameters
    ----------
    observations : DataFrame
        Columns of `wintersward.records.COLUMNS`, excluded ones among them, and again: whether it
        is a second look.
    definition, diary : Definition, Diary
        What was planned, and what is declared missing.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.

    Yields
    ------
    Flag
        One for each measure and planned date that has nothing though a later date has something;
        one for each measure and date of which plots or samples have no value; one for each rater
        who has no value where another rater has.

    Notes
    -----
    A declaration that names a sample or a rater settles these alone, any other the whole plot. A
    second look does not stand in for the first, nor a photo that could not be scored for a value.
    """
    if observations.empty:
        return
    latest = observations["date"].max()
    visited = observations[["measure", "date"]].drop_duplicates()
    there = set(visited.itertuples(index=False, name=None))
    first = observations[~observations["again"] & observations["value"].notna()]
    by_measure = dict(list(first.groupby("measure", sort=False, observed=True)))
    for name, measure in definition.measures.items():
        if isinstance(measure, LoggerMeasure):
            continue  # nobody visits for its readings
        days = [pd.Timestamp(day) for day in dates_meant(definition.dates, measure.dates)]
        visits = _Visits(name, measure, days, plots)
        seen = visits.seen(by_measure.get(name, first.iloc[:0]))
        lacking = ~(seen | visits.declared(diary))
        for at, day in enumerate(days):
            if (name, day) in there:
                yield from visits.lacking(day, lacking[at], seen[at])
            elif day < latest and lacking[at].any():
                found = f"no value at all, though there are some of {latest:%Y-%m-%d}"
                rule = "every planned visit has values or is declared missing"
                yield Flag("missed visit", name, day, found=found, rule=rule)


@dataclass(frozen=True)
class _Visits:
    """The planned values of a measure: dates, plots, samples and raters, in this order."""

    name: str
    measure: Measure
    days: list[pd.Timestamp]
    plots: pd.DataFrame

    @property
    def raters(self) -> list[str]:
        return list(getattr(self.measure, "raters", [])) or [""]

    def _none(self) -> Flags:
        shape = (len(self.days), len(self.plots), self.measure.per_plot, len(self.raters))
        return np.zeros(shape, dtype=bool)

    def seen(self, first: pd.DataFrame) -> Flags:
        """Tell which planned values are there."""
        found = self._none()
        # A measure without raters is taken once, whoever took it.
        rater = (
            pd.Index(self.raters).get_indexer(pd.Index(first["rater"]))
            if self.raters != [""]
            else 0
        )
        places = np.column_stack(
            [
                pd.Index(self.days).get_indexer(pd.Index(first["date"])),
                pd.Index(self.plots["plot"]).get_indexer(pd.Index(first["plot"])),
                first["sample"].to_numpy() - 1,
                np.broadcast_to(rater, len(first)),
            ]
        )
        known = ((places >= 0) & (places < found.shape)).all(axis=1)
        found[tuple(places[known].T)] = True
        return found

    def declared(self, diary: Diary) -> Flags:
        """Tell which planned values the diary declares missing."""
        lost = self._none()
        if not diary.missing:
            return lost
        names = list(zip(self.plots["plot"], self.plots["whole_plot"], strict=True))
        for place in np.ndindex(lost.shape):
            day, plot, sample, rater = place
            what = (self.days[day].date(), names[plot], sample + 1, self.raters[rater])
            lost[place] = any(one.means(self.name, *what) for one in diary.missing)
        return lost

    def lacking(self, day: pd.Timestamp, lacking: Flags, seen: Flags) -> Iterator[Flag]:
        """Tell what is lacking of one date; arrays of plots, samples and raters."""
        nobody = lacking & ~seen.any(axis=2, keepdims=True)
        of_all: Flags = np.any(nobody, axis=2)
        total = len(self.plots)
        if of_all.any():
            words = self._named(of_all)
            without: Flags = np.any(of_all, axis=1)
            count = int(without.sum())
            found = f"no value for {count} of {total} plots: {shortened(words)}"
            if not of_all[without].all():
                found = f"values lacking for {count} of {total} plots: {shortened(words)}"
            number = self.measure.per_plot
            each = "a value" if number == 1 else f"{number} values"
            rule = f"{each} for every plot, or an entry under missing"
            names = listed(self.plots["plot"].to_numpy()[without])
            yield Flag("part of a visit", self.name, day, names, found=found, rule=rule)
        for at, rater in enumerate(self.raters if len(self.raters) > 1 else []):
            own: Flags = np.asarray(lacking & ~nobody)[:, :, at]
            if not own.any():
                continue
            rated = int(seen[:, :, at].any(axis=1).sum())
            words = self._named(own)
            did = f"{rater} rated {rated or 'none'} of {total} plots"
            found = f"{did}; others also rated {shortened(words)}"
            if not rated:
                found = f"{did}; others rated {shortened(words)}"
            rule = "every rater rates every plot, or has an entry under missing"
            names = listed(self.plots["plot"].to_numpy()[np.any(own, axis=1)])
            kind = "rater saw only some plots"
            yield Flag(kind, self.name, day, names, rater, found=found, rule=rule)

    def _named(self, lacking: Flags) -> list[str]:
        """Name the plots that lack samples, and which, where it is not all of them."""
        words = []
        for plot, gone in zip(self.plots["plot"], lacking, strict=True):
            numbers = [str(number + 1) for number in np.flatnonzero(gone)]
            some = f" ({'sample' if len(numbers) == 1 else 'samples'} {listed(numbers)})"
            if numbers:
                words.append(str(plot) + (some if not gone.all() else ""))
        return words
