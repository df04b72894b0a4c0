"""Whether counted pins and readings of established turf fit the plots, measures and season."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from difflib import get_close_matches

from wintersward.trial.diary_counts import EstablishedTurf, PinCount, pin_kind
from wintersward.trial.plot_lists import listed_plots
from wintersward.trial.question_checks import Found, known_measure, reading_of
from wintersward.trial.reading import Place
from wintersward.trial.schema import Definition

__all__ = ["established_found", "pins_found"]

# Names of two kinds that are this much alike are one kind, written twice.
_ALIKE = 0.85


def pins_found(
    pins: Sequence[PinCount], plots: list[str] | None, season: tuple[dt.date, dt.date]
) -> Found:
    """Yield what is wrong with counted pins and staples.

    Parameters
    ----------
    pins : sequence of PinCount
        As the diary has them.
    plots : list of str or None
        Names of plots and whole plots; None before they are drawn.
    season : (date, date)
        First and last day that may be meant.
    """
    began: dict[str, dt.date] = {}
    names: dict[str, str] = {}
    for one in pins:
        if one.out is not None:
            kind = pin_kind(one.what)
            began[kind] = min(one.date, began.get(kind, one.date))
            names.setdefault(kind, one.what)
    for i, one in enumerate(pins):
        place: Place = ("pins", i)
        yield from listed_plots((*place, "plots"), one.plots, plots)
        yield from _in_season((*place, "date"), one.date, season)
        kind = pin_kind(one.what)
        if kind in began and one.date < began[kind]:
            rule = f"a day on which they were in the turf, from {began[kind]} on"
            yield (*place, "date"), f"'{one.date}'", rule, "correct one of the two dates"
        near = get_close_matches(kind, names, n=1, cutoff=_ALIKE) if kind not in began else []
        if near:
            known = names[near[0]]
            rule = f"the name of a kind that was counted into the turf ({known}), or one less alike"
            hint = f"did you mean {known}?"
            yield (*place, "what"), f"'{one.what}'", rule, hint


def established_found(
    readings: Sequence[EstablishedTurf], definition: Definition, season: tuple[dt.date, dt.date]
) -> Found:
    """Yield what is wrong with readings of established turf.

    Parameters
    ----------
    readings : sequence of EstablishedTurf
        As the diary has them.
    definition : Definition
        Its measures, with their units and limits.
    season : (date, date)
        First and last day that may be meant.
    """
    measures = dict(definition.measures)
    for i, one in enumerate(readings):
        place: Place = ("established_turf", i)
        yield from _in_season((*place, "date"), one.date, season)
        yield from known_measure(one.measure, measures, (*place, "measure"))
        for j, value in enumerate(one.values):
            yield from reading_of(value, one.measure, measures, (*place, "values", j))


def _in_season(place: Place, day: dt.date, season: tuple[dt.date, dt.date]) -> Found:
    if not season[0] <= day <= season[1]:
        rule = f"a day of the season, from {season[0]} to {season[1]}"
        yield place, f"'{day}'", rule, "look at the year"
