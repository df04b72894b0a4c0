"""Where loggers lay: the plots that a name stands for, and the covers that lay on them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

import pandas as pd

from wintersward.logged import plots_within
from wintersward.study import Trial
from wintersward.trial.applied import cover_factor
from wintersward.trial.covering import Span, covered_spans
from wintersward.trial.schema import Exclusion

__all__ = ["LoggedPlots", "excluded_days"]


@dataclass(frozen=True)
class LoggedPlots:
    """The plots and whole plots of a trial, by name, and their covers.

    Parameters
    ----------
    trial : Trial
        The study.
    """

    trial: Trial

    @cached_property
    def factor(self) -> str:
        """The factor that the covers are, or else that of the primary question."""
        definition = self.trial.definition
        asked = definition.factor_of(definition.analysis.primary.levels[0])
        return cover_factor(definition) or asked

    @property
    def control(self) -> str:
        """Its control."""
        return self.trial.factors[self.factor].control

    @cached_property
    def names(self) -> list[str]:
        """Names of plots and of whole plots."""
        plots = self.trial.plots
        named = [*plots["plot"].astype(str), *plots["whole_plot"].astype(str)]
        return [name for name in dict.fromkeys(named) if name]

    @cached_property
    def levels(self) -> dict[str, str]:
        """Treatment of each name; of whole plots that hold several, none."""
        of_plot = self.trial.plots.set_index("plot")[self.factor].astype(str)
        found = {}
        for name in self.names:
            held = set(of_plot[plots_within(self.trial.plots, name)])
            if len(held) == 1:
                found[name] = held.pop()
        return found

    @cached_property
    def spans(self) -> dict[str, list[Span]]:
        """When each name lay under covers; as planned where the diary tells of none.

        A whole plot is covered where the diary names it, or a plot within it.
        """
        planned = self.trial.date("covers_on"), self.trial.date("covers_off")
        covers, events = self.trial.diary.covers, self.trial.diary.cover_events
        known = cover_factor(self.trial.definition) is not None

        def open_end(on: dt.date) -> dt.date:
            return planned[1] if on < planned[1] else dt.date.max

        found = {}
        wholes = dict(zip(self.trial.plots["plot"], self.trial.plots["whole_plot"], strict=True))
        for name in self.names:
            drawn = known and self.levels.get(name, self.control) != self.control
            around = {name, *plots_within(self.trial.plots, name), wholes.get(name, "")}
            spans = covered_spans(covers, events, around - {""}, drawn, open_end)
            if not covers and drawn:
                spans = [planned]
            if spans:
                found[name] = spans
        return found

    @property
    def ended(self) -> dt.date:
        """Day on which the last cover came off, or was to."""
        offs = [span[1] for spans in self.spans.values() for span in spans]
        sound = [off for off in offs if off != dt.date.max]
        return max(sound, default=self.trial.date("covers_off"))


def excluded_days(trial: Trial, rows: pd.DataFrame) -> pd.Series:
    """Give the reason for which the diary leaves a day of a logger out; empty for what is used.

    Parameters
    ----------
    trial : Trial
        The study.
    rows : DataFrame
        Columns date, plot (or whole plot) and measure.

    Returns
    -------
    Series of str
        On the index of the rows. An exclusion of a whole plot holds for the loggers within it.
    """
    found = pd.Series("", rows.index, dtype="str")
    wholes = dict(zip(trial.plots["plot"], trial.plots["whole_plot"], strict=True))
    around = rows["plot"].map(wholes).fillna("")
    for one in trial.diary.exclusions:
        hit = _means_loggers(one) & ((rows["plot"] == one.plot) | (around == one.plot))
        if one.measure is not None:
            hit &= rows["measure"] == one.measure
        if one.date is not None:
            hit &= rows["date"] == pd.Timestamp(one.date)
        again = hit & (found != "") & ~found.str.contains(one.reason, regex=False)
        found = found.mask(again, found + "; " + one.reason)
        found = found.mask(hit & (found == ""), one.reason)
    return found


def _means_loggers(one: Exclusion) -> bool:
    """Tell whether an exclusion may mean the one value that a plot has of a day."""
    return one.sample in (None, 1) and one.rater is None
