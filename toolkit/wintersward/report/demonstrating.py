"""A demonstration on the page: what was seen, described; nothing that compares."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from markupsafe import Markup

from wintersward.analysis.rater_counts import SECOND_LOOK
from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.errors import WinterswardError
from wintersward.report import agreeing, noting
from wintersward.report.arriving import level_reached
from wintersward.report.comparisons import said_or_dash
from wintersward.report.numbers import counted, day_text, text
from wintersward.report.picture import Picture
from wintersward.report.progress import Spells, progress
from wintersward.report.said import Said, number, value_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    factor_label,
    in_sentence,
    level_label,
    main_factor,
    measure_view,
    picture_name,
    quantity,
    rater_name,
)
from wintersward.report.words import question_text
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = [
    "SHOWN",
    "demonstration_context",
    "demonstration_words",
    "rater_counts_table",
    "shown_means_table",
    "shown_picture",
    "valid_trial_words",
]

# Sections that have words of their own in a demonstration.
SHOWN = ("answer", "trial", "support", "agreement", "methods", "replication", "limits", "checks")
# Common practice, no source.
_FAIR_START = 6
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
    levels = _in_order(definition, effect, set(rows["level"].astype(str)))
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
    places = "that place" if many == 1 else "those places"
    note = f"Each value is over {over}. It describes {places}, not the treatment alone."
    return html_table(f"{view.label} by {named}, described", heads, lines, note)


def _in_order(definition: Definition, effect: str, levels: set[str]) -> list[str]:
    """Put treatments, or combinations of them, in the order in which the definition names them."""
    named = [definition.treatments[factor].levels for factor in effect.split(":")]
    return [level for level in map(":".join, product(*named)) if level in levels]


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


def demonstration_words(definition: Definition) -> list[str]:
    """Say of a demonstration why nothing is compared, and what becomes of the question it names.

    Raises
    ------
    WinterswardError
        Where the layout is tested, and has an analysis of its own.
    """
    if definition.layout.tested:
        raise WinterswardError(
            f"trial.yaml: layout.kind is '{definition.layout.kind}', which is no demonstration; "
            "its notebook is 30-statistics.ipynb"
        )
    return [DEMONSTRATION, f"The primary question, as the definition names it: {_left(definition)}"]


def _left(definition: Definition) -> str:
    """Say the question that a demonstration leaves open."""
    asked = question_text(definition).partition("?")[0]
    return f"{asked}? A demonstration leaves it open; a valid trial can answer it."


def valid_trial_words(definition: Definition) -> list[str]:
    """Say what a valid trial of the same treatments would need, a sentence a need."""
    layout, areas = definition.layout, definition.plot_count
    size = " by ".join(quantity(side, "distance", definition.units) for side in layout.plot_size)
    return [
        "Several plots of every treatment: at least two, and six are a fair start (common "
        f"practice, no source). Six of each are {_FAIR_START * areas} plots of {size} in place of "
        f"the {counted(areas, 'area')} here. More photos or raters of one area do not stand for "
        "more plots.",
        "Blocks of ground as alike as can be found, with every treatment once in each: in "
        "trial.yaml 'kind: randomised blocks', or 'kind: split plot' where one treatment needs "
        "large pieces of ground.",
        "Chance: the computer deals the treatments out within every block, and nobody moves one "
        "afterwards.",
        "A question decided beforehand: what is observed, on which day, which two treatments, and "
        "the smallest difference worth acting on, with the plan frozen before the covers go on.",
        "The same care on all plots, and raters whose sheets do not tell what lay where.",
    ]


def rater_counts_table(counts: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show on how many plots two looks gave the same value, a row a date and pair of looks.

    Parameters
    ----------
    counts : DataFrame
        The table ``rater_counts``.
    definition : Definition
        The trial.
    measure : str
        What was observed.

    Returns
    -------
    Markup
        Empty where no plot was looked at twice.
    """
    rows = counts[counts["measure"] == measure]
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    heads = [Head("Date"), Head("Looks"), Head("plots", "", True), Head("the same", "", True)]
    marks = bool(rows["near"].notna().any())
    heads += [Head("at most one mark apart", "", True)] if marks else []
    heads.append(Head("furthest apart", view.difference_unit, True))
    lines = []
    for at, row in rows.iterrows():
        label = int(str(at))
        shown = {n: f"{row[n]:.0f}" for n in ("plots", "same", *(["near"] if marks else []))}
        shown["furthest"] = text(view.difference(float(row["furthest"])), _DECIMALS)
        cells = [said_or_dash("rater_counts", counts, label, n, one) for n, one in shown.items()]
        looks = _looks(definition, str(row["rater"]), str(row["against"]))
        lines.append(Row((day_text(row["date"]), looks), tuple(cells)))
    return html_table(f"{view.label}: how often two looks gave the same", heads, lines)


def _looks(definition: Definition, rater: str, against: str) -> str:
    one = rater_name(definition, rater) if rater else "all"
    if against == SECOND_LOOK:
        return f"{one}, twice"
    return f"{one} and {rater_name(definition, against)}"


def demonstration_context(page: Page) -> dict[str, Any]:
    """Fill what a demonstration has to say in place of an analysis."""
    definition = page.definition
    raters, looks = page.table("raters"), page.tables.get("rater_counts")
    measures = []
    for name in definition.measures:
        names = [picture_name("raters", name)]
        names += [picture_name("agreement", f"{name}_{one}") for one in definition.measures]
        pictures = [page.figure(one) for one in names if one in page.figures]
        tables = [agreeing.raters_table(raters, definition, name)]
        tables += [] if looks is None else [rater_counts_table(looks, definition, name)]
        if pictures or any(tables):
            label = measure_view(definition, name).label
            measures.append({"label": label, "pictures": pictures, "tables": tables})
    arrivals = page.table("arrivals")
    return {
        "why": DEMONSTRATION,
        "question": _left(definition),
        "needs": valid_trial_words(definition),
        "raters": measures,
        "arrivals": page.figure("arrivals"),
        "arrived": _arrived(arrivals, definition),
        "goal": _goal(definition),
        "notes": noting.supporting_notes(page.table("notes"), definition, "days gained"),
    }


def _goal(definition: Definition) -> str:
    """Name the level whose day of arrival is told; empty where nobody asks for one."""
    asked = definition.analysis.days_gained
    if asked is None:
        return ""
    return level_reached(measure_view(definition, asked.measure), asked.level.value)


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
