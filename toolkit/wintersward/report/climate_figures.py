"""The pictures of temperature, light and risk: each with its name, alternative text, caption."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import pandas as pd

from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.results import empty
from wintersward.report.climate_counts import plot_counts, risks, risks_alt, soon_after
from wintersward.report.climate_diurnal import diurnal, diurnal_alt
from wintersward.report.climate_limits import growth_words, limit_lines, rule_measure
from wintersward.report.climate_sun import sun_map, sun_map_alt
from wintersward.report.climate_trace import sums, sums_alt, trace, trace_alt
from wintersward.report.climate_views import logged_measures
from wintersward.report.covers import spells_of
from wintersward.report.numbers import counted
from wintersward.report.picture import Picture
from wintersward.report.progress import Spells
from wintersward.report.views import measure_view, picture_name
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.study import Trial

__all__ = ["climate_pictures", "made_pictures"]

Tables = Mapping[str, pd.DataFrame]


def climate_pictures(trial: Trial, tables: Tables) -> list[Picture]:
    """Draw what a report shows of temperature, light and risk.

    Parameters
    ----------
    trial : Trial
        The study.
    tables : mapping of str to DataFrame
        As `wintersward.analysis.climate.climate_tables` gives them.

    Returns
    -------
    list of Picture
        Those that have something to show. Until the primary question has its data only the map
        of the sun, which tells no treatment.
    """
    levels = LoggedPlots(trial).levels
    return made_pictures(tables, trial.definition, trial.plots, levels, spells_of(trial))


def made_pictures(
    tables: Tables,
    definition: Definition,
    plots: pd.DataFrame,
    levels: Mapping[str, str],
    spells: Spells | None = None,
) -> list[Picture]:
    """Draw them from the tables alone.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables of a run, in SI; one that is not there counts as empty.
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.
    levels : mapping of str to str
        Treatment of each plot, or whole plot, with a logger.
    spells : sequence of (date, date), optional
        Time under cover; left out, as planned.
    """
    made = []
    daily, hours = _table(tables, "under_cover"), _table(tables, "diurnal")
    for name in logged_measures(definition, hours):
        made.append(_diurnal(hours, definition, name))
    for name in logged_measures(definition, daily):
        figure = trace(_table(tables, "daily_facts"), daily, definition, name, levels, spells)
        words = _trace_caption(definition, name)
        alt = trace_alt(daily, definition, name)
        made.append(Picture(picture_name("trace", name), figure, alt, words))
    by_level = _table(tables, "degree_days_by_level")
    if not by_level.empty:
        figure = sums(_table(tables, "degree_day_sums"), by_level, definition, levels, spells)
        words = (
            "Sums of degree days from the day that the definition names. Faint lines are the "
            "single plots, up to the first day that was not seen; strong lines are means over the "
            "same plots on all days, to the last day on which all of these have a sum."
        )
        made.append(Picture("degree_days", figure, sums_alt(by_level, definition), words))
    sun = _table(tables, "sun_hours")
    if not sun.empty:
        figure = sun_map(sun, plots, definition)
        words = (
            "Hours of direct sun a day that each plot can get, mean over the dates of the trial: "
            "an estimate for a clear sky from where the sun stands and what stands around, "
            "without covers."
        )
        made.append(Picture("sun_hours", figure, sun_map_alt(sun, definition), words))
    counts = _table(tables, "risks")
    if not plot_counts(counts).empty:
        words = (
            f"Hours or days of each risk, from covers on to {soon_after(definition)} days after "
            "they came off. A mark is a plot, its height tells nothing else; the stroke is their "
            "mean. A count is not a diagnosis."
        )
        figure = risks(counts, definition)
        made.append(Picture("risks", figure, risks_alt(counts, definition), words))
    return made


def _table(tables: Tables, name: str) -> pd.DataFrame:
    return tables[name] if name in tables else empty(name)


def _diurnal(hours: pd.DataFrame, definition: Definition, name: str) -> Picture:
    """Make the picture of the course of a day."""
    own = hours[hours["measure"] == name]
    most = counted(int(own["days"].max()), "day")
    bands = "; bands hold the middle half of the days" if "lower" in own else ""
    words = (
        f"{measure_view(definition, name).label} by the hour of the day, means over the plots and "
        f"over {most} under cover or fewer{bands}. The control is shown on the same days."
    )
    alt = diurnal_alt(hours, definition, name)
    return Picture(picture_name("diurnal", name), diurnal(hours, definition, name), alt, words)


def _trace_caption(definition: Definition, name: str) -> str:
    words = (
        f"{measure_view(definition, name).label}, mean of every day. Faint lines are the single "
        "plots, strong lines the means of the treatments from the day after the covers went on; "
        "lines are broken where days were not seen, and hide one another where they are alike."
    )
    if limit_lines(definition, name):
        words += " Dotted lines are levels that the definition names, or at which growth stops."
    if name == rule_measure(definition):
        words += " The rule for covers off asks for the mean over the covered plots."
    return f"{words} {growth_words(definition, name)}".rstrip()
