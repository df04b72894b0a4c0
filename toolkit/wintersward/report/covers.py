"""When covers lay, for the pictures of a season and for the history of a trial."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from markupsafe import Markup

from wintersward.report.numbers import day_text, listed_words
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import main_factor
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import CoverSpell, Definition

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wintersward.study import Trial

__all__ = ["covered_spells", "covers_table", "spells_of"]

Spell = tuple[dt.date, dt.date]


def covered_spells(definition: Definition) -> list[Spell]:
    """Give the covered time that was planned, for a diary that tells of none."""
    on, off = (dates_meant(definition.dates, word)[0] for word in ("covers_on", "covers_off"))
    return [(on, off)]


def spells_of(trial: Trial) -> list[Spell] | None:
    """Give the times for which all plots with a cover were covered, as the diary tells.

    Returns
    -------
    list of (date, date) or None
        None where the diary tells of no covers. A spell without an end reaches to the planned
        end, or, where it began after that, to the last date of the definition.
    """
    if not trial.diary.covers:
        return None
    everywhere: list[Spell] = []
    own: dict[str, list[Spell]] = {}
    for spell in trial.diary.covers:
        span = (spell.on, spell.off or _open_end(trial.definition, spell.on))
        if spell.plots == "all covered":
            everywhere.append(span)
            continue
        for plot in _plots(trial, spell):
            own.setdefault(plot, []).append(span)
    shared: list[Spell] | None = None
    for plot in _covered_plots(trial) if own else [""]:
        spans = _joined([*everywhere, *own.get(plot, [])])
        shared = spans if shared is None else _both(shared, spans)
    return shared or []


def _open_end(definition: Definition, on: dt.date) -> dt.date:
    planned = covered_spells(definition)[0][1]
    if on < planned:
        return planned
    held = [days for days in definition.dates.values()]
    return max(day for days in held for day in (days if isinstance(days, list) else [days]))


def _plots(trial: Trial, spell: CoverSpell) -> list[str]:
    """Name the smallest plots of a spell; a whole plot stands for those in it."""
    plots = trial.plots
    named = plots["plot"].isin(spell.plots) | plots["whole_plot"].isin(spell.plots)
    return [str(plot) for plot in plots.loc[named, "plot"]]


def _covered_plots(trial: Trial) -> list[str]:
    factor = main_factor(trial.definition)
    control = trial.definition.treatments[factor].control
    covered = trial.plots[factor].astype(str) != control
    return [str(plot) for plot in trial.plots.loc[covered, "plot"]]


def _joined(spans: Sequence[Spell]) -> list[Spell]:
    """Join spells that touch."""
    joined: list[Spell] = []
    for on, off in sorted(span for span in spans if span[1] > span[0]):
        if joined and on <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(off, joined[-1][1]))
        else:
            joined.append((on, off))
    return joined


def _both(left: Sequence[Spell], right: Sequence[Spell]) -> list[Spell]:
    """Give the time that is in both."""
    pairs = [(max(a, c), min(b, d)) for a, b in left for c, d in right]
    return sorted(pair for pair in pairs if pair[1] > pair[0])


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
        which = spell.plots if isinstance(spell.plots, str) else listed_words(spell.plots)
        rows.append(Row((day_text(spell.on),), (off, which, spell.note or "")))
    heads = [Head("On"), Head("Off"), Head("Plots"), Head("Note")]
    return html_table("When covers lay, by the diary", heads, rows)
