"""When a plot truly lay under covers: the spells of the diary without the times they were off."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence

from wintersward.trial.diary import CoverEvent, CoverSpell
from wintersward.trial.plot_lists import ALL_COVERED, ALL_PLOTS

__all__ = ["Span", "all_off", "covered_spans", "meant"]

Span = tuple[dt.date, dt.date]


def all_off(covers: Sequence[CoverSpell]) -> dt.date | None:
    """Give the day on which the last cover came off; None where none lay, or some still lie."""
    ends = [spell.off for spell in covers]
    known = [day for day in ends if day is not None]
    return max(known) if known and len(known) == len(ends) else None


def covered_spans(
    covers: Sequence[CoverSpell],
    events: Sequence[CoverEvent],
    names: Iterable[str],
    drawn: bool,
    open_end: Callable[[dt.date], dt.date],
) -> list[Span]:
    """Give the times for which one plot lay under covers.

    Parameters
    ----------
    covers : sequence of CoverSpell
        Spells of the diary.
    events : sequence of CoverEvent
        What befell the covers.
    names : iterable of str
        Names that the plot goes by: its own and that of its whole plot.
    drawn : bool
        Whether the plot was drawn for a cover, as ``all covered`` means.
    open_end : callable
        From the first day of a spell without an end to the day that it reaches to.

    Returns
    -------
    list of (date, date)
        First day under cover and the day on which it came off, spell by spell; spells that
        overlap are not joined.

    Notes
    -----
    From the day on which covers were lifted or blown off, the plot is open until the day on
    which they were laid again, or until the spell ends; a cover that was torn or partly open
    lay all the same. Events of one day count in the order of
    the diary. Of two spells that meet on the day of an event, the earlier one is meant.
    """
    known = set(names)
    spells = [
        (spell.on, spell.off or open_end(spell.on))
        for spell in covers
        if meant(spell.plots, known, drawn)
    ]
    own = [e for e in events if (e.opens or e.closes) and meant(e.plots, known, drawn)]
    own.sort(key=lambda event: event.date)
    spans: list[Span] = []
    for on, off in spells:
        inside = [e for e in own if on <= e.date <= off and not _of_earlier(e.date, on, spells)]
        spans += _without(on, off, inside)
    return spans


def meant(plots: str | list[str], names: set[str], drawn: bool) -> bool:
    """Tell whether an entry of the diary means a plot.

    Parameters
    ----------
    plots : str or list of str
        As the entry has them.
    names : set of str
        Names that the plot goes by: its own and that of its whole plot.
    drawn : bool
        Whether the plot was drawn for a cover, as ``all covered`` means.
    """
    if isinstance(plots, str):
        return plots == ALL_PLOTS or (plots == ALL_COVERED and drawn)
    return not names.isdisjoint(plots)


def _of_earlier(day: dt.date, on: dt.date, spells: Sequence[Span]) -> bool:
    """Tell whether what happened on the first day of a spell befell the covers before it."""
    return day == on and any(first < day <= last for first, last in spells)


def _without(on: dt.date, off: dt.date, events: Sequence[CoverEvent]) -> list[Span]:
    """Cut the times out of a spell for which the covers were off."""
    spans: list[Span] = []
    since: dt.date | None = on
    for event in events:
        if event.opens and since is not None:
            spans.append((since, event.date))
            since = None
        elif event.closes and since is None:
            since = event.date
    if since is not None:
        spans.append((since, off))
    return [span for span in spans if span[1] > span[0]]
