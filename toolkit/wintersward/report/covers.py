"""When covers lay, for the pictures of a season and for the history of a trial."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from markupsafe import Markup

from wintersward.report.numbers import day_text, listed_words
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import main_factor
from wintersward.trial.covering import Span, covered_spans
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import CoverSpell, Definition

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wintersward.study import Trial

__all__ = ["covered_spells", "covers_table", "spells_of"]


def covered_spells(definition: Definition) -> list[Span]:
    """Give the covered time that was planned, for a diary that tells of none."""
    on, off = (dates_meant(definition.dates, word)[0] for word in ("covers_on", "covers_off"))
    return [(on, off)]


def spells_of(trial: Trial) -> list[Span] | None:
    """Give the times for which most plots with a cover were covered, as the diary tells.

    Returns
    -------
    list of (date, date) or None
        None where the diary tells of no covers. A spell without an end reaches to the planned
        end, or, where it began after that, to the last date of the definition. Times for which
        covers were lifted or blown off are left out, but not where that befell a few plots only.
    """
    if not trial.diary.covers:
        return None
    diary = trial.diary
    told = [*(one.plots for one in diary.covers), *(one.plots for one in diary.cover_events)]
    # Where no plot is named, all that were drawn for a cover are alike.
    one_by_one = any(not isinstance(plots, str) for plots in told)
    return _mostly(
        [
            covered_spans(
                diary.covers,
                diary.cover_events,
                names,
                True,
                lambda on: _open_end(trial.definition, on),
            )
            for names in (_covered_plots(trial) if one_by_one else [("", "")])
        ]
    )


def _open_end(definition: Definition, on: dt.date) -> dt.date:
    planned = covered_spells(definition)[0][1]
    if on < planned:
        return planned
    held = [days for days in definition.dates.values()]
    return max(day for days in held for day in (days if isinstance(days, list) else [days]))


def _covered_plots(trial: Trial) -> list[tuple[str, str]]:
    """Name the smallest plots that were drawn for a cover, each with its whole plot."""
    factor = main_factor(trial.definition)
    control = trial.definition.treatments[factor].control
    covered = trial.plots[factor].astype(str) != control
    plots = trial.plots[covered]
    return [
        (str(plot), str(whole))
        for plot, whole in zip(plots["plot"], plots["whole_plot"], strict=True)
    ]


def _joined(spans: Sequence[Span]) -> list[Span]:
    """Join spells that touch."""
    joined: list[Span] = []
    for on, off in sorted(span for span in spans if span[1] > span[0]):
        if joined and on <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(off, joined[-1][1]))
        else:
            joined.append((on, off))
    return joined


def _mostly(plots: Sequence[Sequence[Span]]) -> list[Span]:
    """Give the times for which more than half of the plots were covered."""
    ends = sorted({day for spans in plots for span in spans for day in span})
    times = list(zip(ends, ends[1:], strict=False))
    many = [
        sum(any(a <= on and off <= b for a, b in spans) for spans in plots) for on, off in times
    ]
    return _joined([time for time, lay in zip(times, many, strict=True) if 2 * lay > len(plots)])


def covers_table(covers: Sequence[CoverSpell]) -> Markup:
    """Show the covers of the diary, a row a spell.

    Parameters
    ----------
    covers : sequence of CoverSpell
        Of the diary.

    Returns
    -------
    Markup
        Empty where the diary tells of none.
    """
    if not covers:
        return Markup("")
    rows = []
    for spell in sorted(covers, key=lambda one: one.on):
        off = day_text(spell.off) if spell.off else "still on"
        every = isinstance(spell.plots, str)
        which = "all plots with a cover" if every else listed_words(spell.plots)
        rows.append(Row((day_text(spell.on),), (off, which, spell.note or "")))
    heads = [Head("On"), Head("Off"), Head("Plots"), Head("Note")]
    return html_table("When covers lay, by the diary", heads, rows)
