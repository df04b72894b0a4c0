"""One sentence for a difference averaged over several dates, whichever analysis averaged it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pandas as pd

from wintersward.report.comparing import difference_decimals
from wintersward.report.numbers import level_text
from wintersward.report.said import Sentence, row_at
from wintersward.report.views import measure_view, plots_with
from wintersward.report.words import amount_parts
from wintersward.trial.schema import Definition

__all__ = ["averaged_words", "of_measure"]


def of_measure(frame: pd.DataFrame, measure: str) -> pd.DataFrame:
    """Keep the rows of one measure."""
    return frame[frame["measure"] == measure]


def averaged_words(
    table: str,
    rows: pd.DataFrame,
    definition: Definition,
    measure: str,
    opening: str,
    choose: Callable[[pd.DataFrame], int],
    more: Callable[[pd.Series], Mapping[str, object]] = lambda row: {},
) -> list[Sentence]:
    """Say by how much the primary treatments differed on average over dates.

    Parameters
    ----------
    table : str
        Name of the table that the rows are of.
    rows : DataFrame
        Its rows of the measure that may be quoted, in SI, with their own labels.
    definition : Definition
        The trial; one sentence a primary comparison that has a row.
    measure : str
        What was observed.
    opening : str
        How the sentence begins.
    choose : callable
        Takes the rows of one comparison and gives the label of the one to quote.
    more : callable
        Takes that row and gives further parts of `opening`.
    """
    view, said = measure_view(definition, measure), []
    decimals = difference_decimals(view, rows) if len(rows) else 0
    for left, right in definition.analysis.primary.pairs:
        pair = rows[(rows["left"] == left) & (rows["right"] == right)]
        if pair.empty:
            continue
        at = choose(pair)
        parts = amount_parts(table, rows, at, view, decimals) | dict(more(row_at(pair, at)))
        parts |= {"left": plots_with(definition, left), "right": plots_with(definition, right)}
        parts |= {"noun": view.noun, "level": level_text(definition.analysis.alpha)}
        form = "{left} had {estimate} {more} {noun} than {right}"
        if view.rated:
            form = "the {noun} of {left} was {estimate} {more} than that of {right}"
        said.append(Sentence(f"{opening} {form} ({{level}} interval {{interval}}).", parts))
    return said
