"""What the plots were like before any treatment: means to look at, without a comparison."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.numbers import between_text, day_text, decimals_for, text
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import level_label, main_factor, measure_view
from wintersward.trial.schema import Definition

__all__ = ["baseline_table"]


def baseline_table(
    plot_means: pd.DataFrame, notes: pd.DataFrame, definition: Definition, measure: str
) -> Markup:
    """Show the means of the main factor's treatments on the dates before it was applied.

    Parameters
    ----------
    plot_means, notes : DataFrame
        Tables of a run, in SI; the notes tell which dates were before the treatments.
    definition : Definition
        The trial.
    measure : str
        What was observed.

    Returns
    -------
    Markup
        A row a date, for each treatment the mean of its units with the lowest and the highest
        of them; empty where nothing was observed before.
    """
    factor, view = main_factor(definition), measure_view(definition, measure)
    told = notes[(notes["measure"] == measure) & (notes["code"] == "baseline")]
    days = set(pd.to_datetime(told["date"]))
    kept = plot_means[plot_means["measure"] == measure]
    kept = kept.assign(date=pd.to_datetime(kept["date"]))
    kept = kept[kept["date"].isin(days)]
    if kept.empty or factor not in kept:
        return Markup("")
    values = pd.Series([view.value(float(value)) for value in kept["value"]], index=kept.index)
    # As fine as the spread of the units lets a mean of one treatment be known.
    each = len(kept) / len(days) / len(definition.treatments[factor].levels)
    decimals = decimals_for(float(values.std()) / max(1.0, each) ** 0.5)
    levels = definition.treatments[factor].levels
    heads = [Head("Date")]
    for level in levels:
        label = level_label(definition, level)
        heads += [Head("mean", view.unit, True, label), Head("lowest to highest", "", True, label)]
    lines = []
    for day, rows in kept.groupby("date", sort=True):
        cells: list[str] = []
        for level in levels:
            own = values[rows.index[rows[factor].astype(str) == level]]
            ends = between_text(float(own.min()), float(own.max()), decimals)
            cells += ["–", "–"] if own.empty else [text(float(own.mean()), decimals), ends]
        lines.append(Row((day_text(day),), tuple(cells)))
    came = "came about by the draw" if definition.layout.tested else "lay in the places"
    note = (
        "Before the treatments, by the treatment that each plot was drawn for: averages of "
        "results/plot_means.csv with the lowest and the highest unit. Nothing is tested here: "
        f"what differs at this time {came}."
    )
    return html_table(f"{view.label}: before the treatments", heads, lines, note)
