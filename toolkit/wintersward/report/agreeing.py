"""How raters agree with one another, and the eye with the photo, as tables."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import said_or_dash
from wintersward.report.numbers import (
    common_decimals,
    day_text,
    interval_said,
    listed_words,
    number,
    row_at,
    text,
)
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import MeasureView, measure_view
from wintersward.trial.schema import Definition

__all__ = ["agreement_table", "agreement_words", "raters_table"]


def agreement_table(
    agreement: pd.DataFrame, definition: Definition, measure: str, against: str
) -> Markup:
    """Show how well a measure agrees with another one, or its raters with one another.

    Parameters
    ----------
    agreement : DataFrame
        Table of a run.
    definition : Definition
        The trial.
    measure : str
        The rated measure.
    against : str
        ``raters``, or a measure from photos.

    Returns
    -------
    Markup
        Empty without rows.
    """
    rows = agreement[(agreement["measure"] == measure) & (agreement["against"] == against)]
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    heads = [Head("Statistic"), Head("Form"), Head("value", "", True)]
    heads += [Head("95 % interval", "", True), Head("n", "", True)]
    lines = []
    for at in map(int, rows.index):
        row = row_at(agreement, at)
        statistic = str(row["statistic"])
        said = {
            n: said_or_dash("agreement", agreement, at, n, _shown(view, row, n))
            for n in ("value", "lower", "upper")
        }
        cells = (
            said["value"],
            interval_said({n: said[n] for n in ("lower", "upper")}),
            said_or_dash("agreement", agreement, at, "n", f"{float(row['n']):.0f}"),
        )
        lines.append(Row((statistic[:1].upper() + statistic[1:], str(row["form"])), cells))
    other = "its raters" if against == "raters" else measure_view(definition, against).noun
    note = "n counts plots and dates."
    if rows["statistic"].isin(["bias", "limits"]).any() and view.difference_unit:
        note += f" Bias and limits are in {view.difference_unit}."
    caption = f"{view.label} and {other}: agreement"
    return html_table(caption, heads, lines, note)


def agreement_words(agreement: pd.DataFrame, measure: str, against: str) -> list[tuple[str, str]]:
    """Say what each number of `agreement_table` tells, the same words once.

    Returns
    -------
    list of (str, str)
        Which numbers, and the words.
    """
    rows = agreement[(agreement["measure"] == measure) & (agreement["against"] == against)]
    said: dict[str, list[str]] = {}
    for _, row in rows.iterrows():
        name = f"{row['statistic']}, {row['form']}"
        said.setdefault(str(row["text"]).rstrip("."), []).append(name)
    return [(listed_words(names), words) for words, names in said.items()]


def _shown(view: MeasureView, row: pd.Series, name: str) -> str:
    """Write a share with two decimals, a difference in the reader's unit."""
    value = float(row[name])
    if str(row["statistic"]) in ("bias", "limits"):
        half = (float(row["upper"]) - float(row["lower"])) / 4
        decimals = common_decimals([view.difference(half)])
        return text(view.difference(value), decimals, signed=True)
    return text(value, 2)


def raters_table(raters: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show how far each rater lies from the average of the raters, date by date.

    Returns
    -------
    Markup
        A row a date, a column a rater; empty where fewer than two rated the same plots.
    """
    rows = raters[raters["measure"] == measure]
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    names = list(dict.fromkeys(rows["rater"].astype(str)))
    order = list(getattr(definition.measures[measure], "raters", []))
    names.sort(key=lambda name: order.index(name) if name in order else len(order))
    heads = [Head("Date"), *(Head(name, view.difference_unit, True) for name in names)]
    heads.append(Head("plots", "", True))
    lines = []
    for day, here in rows.groupby("date", sort=True):
        cells: list[Cell] = []
        for name in names:
            found = here.index[here["rater"] == name]
            if not len(found):
                cells.append("–")
                continue
            value = float(row_at(raters, int(found[0]))["severity"])
            shown = text(view.difference(value), 2, signed=True)
            cells.append(said_or_dash("raters", raters, int(found[0]), "severity", shown))
        at = int(here.index[0])
        plots = number("raters", raters, at, "plots", f"{float(row_at(raters, at)['plots']):.0f}")
        lines.append(Row((day_text(day),), (*cells, plots)))
    note = (
        "Mean of the rater less the mean of all raters, over the plots that all of them rated. A "
        "rater who drifts moves away from zero from date to date."
    )
    return html_table(f"{view.label}: each rater against the average", heads, lines, note)
