"""What the diary tells of covers, held against the plots that were drawn for them."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from wintersward.errors import Problem, listed
from wintersward.records.flag_parts import Flag, shortened
from wintersward.trial.applied import cover_factor
from wintersward.trial.covering import meant
from wintersward.trial.schema import CoverEvent, CoverSpell, Definition, Diary

__all__ = ["bare_events", "drawn_for_cover", "undrawn_flags"]


def drawn_for_cover(definition: Definition, plots: pd.DataFrame) -> pd.Series | None:
    """Tell which plots were drawn for a cover; None where the factor of covers cannot be told.

    Parameters
    ----------
    definition : Definition
        Says which factor the covers are, and its control.
    plots : DataFrame
        One row a plot, with a column a factor.

    Returns
    -------
    Series of bool or None
        Indexed as ``plots``.
    """
    factor = cover_factor(definition)
    if factor is None:
        return None
    return plots[factor].astype(str) != definition.treatments[factor].control


def bare_events(definition: Definition, diary: Diary, plots: pd.DataFrame) -> list[Problem]:
    """Find cover events on plots on which, by the diary, no cover lay that day.

    Parameters
    ----------
    definition, diary : Definition, Diary
        What was decided, and what happened since.
    plots : DataFrame
        Columns plot and whole_plot and one a factor, one row a plot.

    Returns
    -------
    list of Problem
        Of ``diary.yaml``, with the entry as field and no line. Events on a day without any
        covers, and plots that no spell of the day may mean, are told when the diary is read.
    """
    told = []
    if not diary.cover_events or not diary.covers:
        return []
    drawn = drawn_for_cover(definition, plots)
    for number, event in enumerate(diary.cover_events, 1):
        around = [s for s in diary.covers if s.on <= event.date <= (s.off or event.date)]
        if isinstance(event.plots, str) or not event.on_covers or not around:
            continue
        for place, plot in enumerate(event.plots, 1):
            if not _told_in_reading(plot, around, diary) and _bare(plot, around, plots, drawn):
                told.append(_problem(f"cover_events.{number}.plots.{place}", plot, event))
    return told


def _problem(field: str, plot: str, event: CoverEvent) -> Problem:
    rule = f"a plot on which a cover lay on {event.date}, by 'covers'"
    hint = "the plan has no cover there; correct the plot, or tell under 'covers' what lay on it"
    return Problem("diary.yaml", 0, 0, field, f"'{plot}'", rule, hint)


def _told_in_reading(plot: str, around: list[CoverSpell], diary: Diary) -> bool:
    by_name = [plot in spell.plots for spell in diary.covers if not isinstance(spell.plots, str)]
    return any(by_name) and not any(isinstance(spell.plots, str) for spell in around)


def _bare(
    plot: str, around: list[CoverSpell], plots: pd.DataFrame, drawn: pd.Series | None
) -> bool:
    """Tell whether no plot of a name lay under any of the spells; not of an unknown name."""
    named = plots[(plots["plot"] == plot) | (plots["whole_plot"] == plot)]
    lain = [
        meant(spell.plots, {str(own), str(whole)}, drawn is None or bool(drawn[at]))
        for at, own, whole in named[["plot", "whole_plot"]].itertuples()
        for spell in around
    ]
    return bool(lain) and not any(lain)


def undrawn_flags(definition: Definition, diary: Diary, plots: pd.DataFrame) -> Iterator[Flag]:
    """Find covers that the diary has on plots for which the plan has none.

    Parameters
    ----------
    definition, diary : Definition, Diary
        What was decided, and what happened since.
    plots : DataFrame
        Columns plot and whole_plot and one a factor, one row a plot.

    Yields
    ------
    Flag
        One for each spell that names such plots, dated on the day on which it began.
    """
    spells = [spell for spell in diary.covers if not isinstance(spell.plots, str)]
    drawn = drawn_for_cover(definition, plots) if spells else None
    if drawn is None:
        return
    for spell in spells:
        named = plots["plot"].isin(spell.plots) | plots["whole_plot"].isin(spell.plots)
        bare = [str(plot) for plot in plots.loc[named & ~drawn, "plot"]]
        if bare:
            which = f"plot {bare[0]}" if len(bare) == 1 else f"{len(bare)} plots"
            more = "" if len(bare) == 1 else f": {shortened(bare)}"
            yield Flag(
                "cover where none was drawn",
                "",
                pd.Timestamp(spell.on),
                listed(bare),
                found=f"the diary has a cover on {which} for which the plan has none{more}",
                rule="covers lie where the plan has them",
            )
