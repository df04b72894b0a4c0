"""A demonstration on the page: what was seen, described; nothing that compares."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from markupsafe import Markup

from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.report import agreeing, noting
from wintersward.report.numbers import Said, counted, day_text, number, text, value_at
from wintersward.report.picture import Picture
from wintersward.report.progress import Spells, progress
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    factor_label,
    in_sentence,
    level_label,
    main_factor,
    measure_view,
    picture_name,
)
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = [
    "SHOWN",
    "demonstration_context",
    "plain",
    "shown_means_table",
    "shown_picture",
]

# Sections that have words of their own in a demonstration.
SHOWN = ("answer", "support", "agreement", "methods", "replication", "limits", "checks")
# Columns of tables that hold an estimate of error, or what rests on one.
_JUDGING = ("se", "df", "lower", "upper", "letters", "df_design", "df_used")
_TEXTS = {
    "means": "Means of the plots of each treatment, described.",
    "skeleton": "What every treatment was laid out on, each measure and date.",
}
_DECIMALS = 1


def shown_means_table(
    means: pd.DataFrame, definition: Definition, measure: str, effect: str
) -> Markup:
    """Show the means of an effect, a row a date, with the plots that each is over.

    Parameters
    ----------
    means : DataFrame
        Table of a demonstration, of any measures, in SI.
    definition : Definition
        The trial.
    measure : str
        What was observed.
    effect : str
        A factor, or two joined by ``:``.

    Returns
    -------
    Markup
        Empty where there are no such means.
    """
    rows = means[(means["measure"] == measure) & (means["effect"] == effect)]
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    levels = list(dict.fromkeys(rows["level"].astype(str)))
    heads = [Head("Date")]
    heads += [Head(level_label(definition, level), view.unit, True) for level in levels]
    lines = []
    for day, here in rows.groupby("date", sort=True):
        cells: list[str | Said] = []
        for level in levels:
            found = here.index[here["level"] == level]
            if not len(found):
                cells.append("–")
                continue
            at = int(found[0])
            shown = text(view.value(value_at(means, at, "mean")), _DECIMALS)
            cells.append(number("means", means, at, "mean", shown))
        lines.append(Row((day_text(day),), tuple(cells)))
    few, many = int(rows["units"].min()), int(rows["units"].max())
    over = counted(few, "plot") if few == many else f"{few} to {many} plots"
    named = " and ".join(in_sentence(factor_label(definition, n)) for n in effect.split(":"))
    note = f"Each value is over {over}. It describes that place, not the treatment alone."
    return html_table(f"{view.label} by {named}, described", heads, lines, note)


def shown_picture(
    tables: Mapping[str, pd.DataFrame],
    definition: Definition,
    measure: str,
    spells: Spells | None = None,
) -> Picture:
    """Make the picture of a measure of a demonstration over the season.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        What to draw.
    spells : sequence of (date, date), optional
        Time under cover; left out, as planned.
    """
    view, factor = measure_view(definition, measure), main_factor(definition)
    means = tables["means"]
    # Without an error a mean is a mark alone: its line of error has no length.
    drawn = means.assign(lower=means["mean"], upper=means["mean"])
    figure = progress(drawn, tables["plot_means"], definition, measure, spells)
    unit = f", in {view.unit}" if view.unit else ""
    said = [f"Line chart of {view.noun}{unit}, by date, described."]
    chosen = means[(means["measure"] == measure) & (means["effect"] == factor)]
    for day, rows in chosen.groupby("date", sort=True):
        parts = [
            f"{in_sentence(level_label(definition, str(row['level'])))} "
            f"{text(view.value(float(row['mean'])), _DECIMALS)}"
            for _, row in rows.iterrows()
        ]
        said.append(f"{day_text(day)}: {', '.join(parts)}.")
    caption = (
        f"{view.label} over the season. Faint lines are the single plots, marks the means of what "
        "lay on them. One place of each treatment: what lies between two lines may be the place."
    )
    return Picture(picture_name("progress", measure), figure, " ".join(said), caption)


def plain(
    definition: Definition, name: str, frame: pd.DataFrame, words: str
) -> tuple[pd.DataFrame, str]:
    """Leave out of a demonstration's table the columns that judge, which are empty there.

    Parameters
    ----------
    definition : Definition
        The trial; the table of one that is tested stays as it is.
    name, frame, words
        The table: its name, rows, and what it holds.

    Returns
    -------
    frame : DataFrame
    words : str
    """
    if definition.layout.tested:
        return frame, words
    kept = [column for column in frame.columns if column not in _JUDGING]
    return frame[kept], _TEXTS.get(name, words)


def demonstration_context(page: Page) -> dict[str, Any]:
    """Fill what a demonstration has to say in place of an analysis."""
    definition = page.definition
    raters = page.table("raters")
    measures = []
    for name in definition.measures:
        names = [picture_name("raters", name)]
        names += [picture_name("agreement", f"{name}_{one}") for one in definition.measures]
        pictures = [page.figure(one) for one in names if one in page.figures]
        table = agreeing.raters_table(raters, definition, name)
        if pictures or table:
            label = measure_view(definition, name).label
            measures.append({"label": label, "pictures": pictures, "raters": table})
    arrivals = page.table("arrivals")
    return {
        "why": DEMONSTRATION,
        "raters": measures,
        "arrivals": page.figure("arrivals"),
        "arrived": _arrived(arrivals, definition),
        "notes": noting.supporting_notes(page.table("notes"), definition, "days gained"),
    }


def _arrived(arrivals: pd.DataFrame, definition: Definition) -> Markup:
    """List the day on which every plot reached the stated level."""
    if arrivals.empty:
        return Markup("")
    heads = [Head("Plot"), Head("Treatment"), Head("Day"), Head("Bound")]
    bounds = {"on or before": "there at the first visit", "after": "not there at the last visit"}
    lines = []
    for row in arrivals.sort_values("unit_name").to_dict("records"):
        told = str(row["censored"]) if isinstance(row["censored"], str) else ""
        day = "–" if row["day"] is pd.NaT or row["day"] is np.nan else day_text(row["day"])
        label = level_label(definition, str(row["treatment"]))
        lines.append(Row((str(row["unit_name"]),), (label, day, bounds.get(told, ""))))
    return html_table("When every plot reached the stated level", heads, lines)
