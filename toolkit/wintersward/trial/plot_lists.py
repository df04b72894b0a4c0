"""Plots that a file lists, or means by one word, and whether the plan has them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, Tag

from wintersward.errors import listed
from wintersward.trial.parts import WRITTEN_OUT, PlotName, only_word
from wintersward.trial.question_checks import Found
from wintersward.trial.reading import Place

__all__ = [
    "ALL_COVERED",
    "ALL_PLOTS",
    "AnyPlots",
    "CoveredPlots",
    "EveryPlot",
    "known_plot",
    "listed_plots",
]

ALL_COVERED = "all covered"
ALL_PLOTS = "all plots"

_all_covered = only_word(ALL_COVERED, "all covered, or a list of plots such as [101, 102]")


def _either_word(value: object) -> object:
    if value not in (ALL_PLOTS, ALL_COVERED):
        raise ValueError("all plots, all covered, or a list of plots such as [101, 102]")
    return value


_every_plot = only_word(ALL_PLOTS, "all plots, or a list of plots such as [101, 102]")
_PlotList = Annotated[list[PlotName], Field(min_length=1), Tag("written out")]
# Where covers lie: by one word on every plot that was drawn for a cover.
CoveredPlots = Annotated[
    Annotated[Literal["all covered"], _all_covered, Tag("word")] | _PlotList, WRITTEN_OUT
]
# Where something happened: on open ground as well.
AnyPlots = Annotated[
    Annotated[Literal["all plots", "all covered"], BeforeValidator(_either_word), Tag("word")]
    | _PlotList,
    WRITTEN_OUT,
]
# What is meant of every plot by one word, whatever lies on it.
EveryPlot = Annotated[
    Annotated[Literal["all plots"], _every_plot, Tag("word")] | _PlotList, WRITTEN_OUT
]


def known_plot(place: Place, plot: str, plots: Sequence[str] | None) -> Found:
    """Yield what is wrong with the name of a plot.

    Parameters
    ----------
    place : tuple
        Where it is named.
    plot : str
        The name.
    plots : sequence of str or None
        Names of plots and whole plots; None before they are drawn, when any name will do.
    """
    if plots is not None and plot not in plots:
        shown = listed(plots[:6]) + (" ..." if len(plots) > 6 else "")
        yield place, f"'{plot}'", f"a plot of plan/plots.csv ({shown})", ""


def listed_plots(
    place: Place, named: Sequence[str] | str | None, plots: Sequence[str] | None
) -> Found:
    """Yield what is wrong in a list of plots: names the plan does not have, one named twice.

    Parameters
    ----------
    place : tuple
        Where the list stands.
    named : sequence of str, str or None
        The list; a word for all of them, or nothing, is passed over.
    plots : sequence of str or None
        As in `known_plot`.
    """
    if named is None or isinstance(named, str):
        return
    for i, plot in enumerate(named):
        yield from known_plot((*place, i), plot, plots)
        if plot in named[:i]:
            yield (*place, i), f"'{plot}' a second time", "", "name each plot once"
