"""How long covers truly lay, and what each unit thus got: treatments as they were, not as drawn."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

from wintersward.analysis.covariates import unit_names
from wintersward.analysis.model import TrialModel
from wintersward.errors import WinterswardError
from wintersward.study import Trial
from wintersward.trial.applied import cover_factor
from wintersward.trial.covering import Span, covered_spans

__all__ = ["Received", "covered_days", "received"]

# More than this many days short counts as a cover that failed.
_SHORT = 1


@dataclass(frozen=True)
class Received:
    """Units that did not get what was drawn for them.

    Parameters
    ----------
    changed : dict of str to str
        Unit and the treatment that it is counted under instead.
    left_out : tuple of str
        Units that got neither the one nor the other.
    """

    changed: dict[str, str]
    left_out: tuple[str, ...]

    def __bool__(self) -> bool:
        """Tell whether anything was not as planned."""
        return bool(self.changed or self.left_out)


def covered_days(trial: Trial) -> pd.Series:
    """Count the days on which each plot lay under a cover, between covers on and covers off.

    Returns
    -------
    Series [day]
        By plot. A spell without an end reaches to the planned end; the day on which a cover
        came off does not count. Nor do the days from one on which it was lifted or blown off to
        the day before it was laid again.

    Raises
    ------
    WinterswardError
        Where it cannot be told which factor the covers are.
    """
    start, end = trial.date("covers_on"), trial.date("covers_off")
    factor = cover_factor(trial.definition)
    if factor is None:
        raise WinterswardError("it cannot be told which of the treatment factors the covers are")
    covered = trial.plots[factor].astype(str) != trial.factors[factor].control
    days: dict[str, int] = {}
    for plot, whole, drawn in zip(
        trial.plots["plot"], trial.plots["whole_plot"], covered, strict=True
    ):
        names = (str(plot), str(whole))
        spans = covered_spans(
            trial.diary.covers, trial.diary.cover_events, names, bool(drawn), lambda _: end
        )
        days[str(plot)] = len({day for span in spans for day in _days(span, start, end)})
    return pd.Series(days, dtype=float)


def _days(span: Span, start: dt.date, end: dt.date) -> list[dt.date]:
    first, last = max(span[0], start), min(span[1], end)
    return [first + dt.timedelta(day) for day in range(max(0, (last - first).days))]


def received(trial: Trial, model: TrialModel) -> Received:
    """Find the units whose cover failed, or that were covered by mistake.

    Parameters
    ----------
    trial : Trial
        Its diary says when covers lay; where it tells of none, all counts as planned.
    model : TrialModel
        The primary measure on the primary date.

    Returns
    -------
    Received

    Notes
    -----
    The rule, fixed beforehand. Days count between the planned covers on and covers off, without
    those from a day on which covers were lifted or blown off to the day before they were laid
    again; the longest time that any unit was covered is the full time. A unit with a cover that
    lay more than a day less than that lost its cover: if it lay for less than half of the full
    time, the unit counts under the control; otherwise it had neither a winter's cover nor an
    open winter, and is left out. A control unit that was covered for more than a day is left
    out, unless there is one cover only and it lay for more than half of the full time: then it
    counts under that. Where the primary question is not about the covers, all this has nothing
    to do with it.
    """
    none = Received({}, ())
    factor = cover_factor(trial.definition)
    asked = trial.definition.factor_of(trial.definition.analysis.primary.levels[0])
    if not trial.diary.covers or factor != asked:
        return none
    control = trial.factors[factor].control
    covers = [level for level in trial.factors[factor].levels if level != control]
    plots = trial.plots.assign(days=trial.plots["plot"].astype(str).map(covered_days(trial)))
    plots["unit"] = unit_names(plots, model.skeleton.unit(factor))
    units = plots.groupby("unit").agg(days=("days", "mean"), level=(factor, "first"))
    full = float(units["days"].max())
    changed, left_out = {}, []
    for unit, days, level in units.itertuples():
        drawn_open = str(level) == control
        short = days if drawn_open else full - days
        if short <= _SHORT:
            continue
        if drawn_open and len(covers) == 1 and days > full / 2:
            changed[str(unit)] = covers[0]
        elif not drawn_open and days < full / 2:
            changed[str(unit)] = control
        else:
            left_out.append(str(unit))
    return Received(changed, tuple(sorted(left_out)))
