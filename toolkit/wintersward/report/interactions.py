"""Whether the difference between treatments of one factor depends on the other factor."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pandas as pd
from markupsafe import Markup

from wintersward.report.adjusting import adjust_note
from wintersward.report.comparing import difference_decimals
from wintersward.report.comparisons import difference_cells, difference_heads
from wintersward.report.numbers import day_text, level_text
from wintersward.report.said import Sentence, row_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import factor_label, in_sentence, level_label, measure_view
from wintersward.report.words import amount_parts
from wintersward.trial.schema import Definition

__all__ = [
    "Crossing",
    "asked_crossing",
    "crossing_of",
    "interaction_heading",
    "interaction_words",
    "interactions",
    "interactions_table",
]


@dataclass(frozen=True)
class Crossing:
    """A difference of differences, taken apart.

    Parameters
    ----------
    outer : tuple of str
        The two treatments with which the inner difference is compared: left, right.
    inner : tuple of str
        The two treatments of the inner difference: first minus second.
    """

    outer: tuple[str, str]
    inner: tuple[str, str]


def crossing_of(definition: Definition, effect: str, left: str, right: str) -> Crossing:
    """Take apart a row such as ``fleece:hollow-solid`` against ``open:hollow-solid``.

    Raises
    ------
    ValueError
        Where the pair is not one of the definition's treatments.
    """
    first, pair = left.split(":", 1)
    levels = list(definition.treatments[effect.split(":")[1]].levels)
    for one in levels:
        for other in levels:
            if f"{one}-{other}" == pair:
                return Crossing((first, right.split(":", 1)[0]), (one, other))
    raise ValueError(f"'{pair}' is not a pair of {', '.join(levels)}")


def interactions(differences: pd.DataFrame, measure: str) -> pd.DataFrame:
    """Take the differences of differences of a measure out of the table ``differences``."""
    crossed = differences["effect"].astype(str).str.contains(":")
    return differences[crossed & (differences["measure"] == measure)]


def interaction_heading(definition: Definition, effect: str) -> str:
    """Ask in words whether one factor's difference depends on the other."""
    outer, inner = (in_sentence(factor_label(definition, name)) for name in effect.split(":"))
    return f"Does the {inner} difference depend on the {outer}?"


def interactions_table(differences: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show the differences of differences of a measure, pair by pair and date by date.

    Parameters
    ----------
    differences : DataFrame
        Table of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure : str
        What was observed.

    Returns
    -------
    Markup
        Empty where there are none.
    """
    rows = interactions(differences, measure)
    if rows.empty:
        return Markup("")
    rows = rows.sort_values(["effect", "left", "right", "date"], kind="stable")
    view, level = measure_view(definition, measure), level_text(definition.analysis.alpha)
    decimals = difference_decimals(view, rows)
    inner = list(dict.fromkeys(_inner_words(definition, row) for _, row in rows.iterrows()))
    heads = [Head("Compared"), Head("Date")]
    heads += difference_heads(view, level, ("p alone", "p, Holm"))
    lines = []
    for at in map(int, rows.index):
        row, p = row_at(differences, at), ("p_alone", "p")
        cells = difference_cells("differences", differences, at, view, decimals, p)
        pair = _pair_words(definition, row, len(inner) > 1)
        lines.append(Row((pair, day_text(row["date"])), cells))
    note = (
        "Each row is a difference of differences; above zero, the difference named above is higher "
        "with the treatment named first. "
    )
    note += adjust_note(rows, definition)
    caption = f"{view.label}: {in_sentence(inner[0])}" if len(inner) == 1 else view.label
    return html_table(f"{caption}, compared between treatments", heads, lines, note)


def _names(definition: Definition, row: pd.Series) -> tuple[str, str, str, str]:
    """Name outer left and right, and the inner first and second treatment."""
    found = crossing_of(definition, str(row["effect"]), str(row["left"]), str(row["right"]))
    one, two, three, four = (
        level_label(definition, level) for level in (*found.outer, *found.inner)
    )
    return one, two, three, four


def _inner_words(definition: Definition, row: pd.Series) -> str:
    _, _, first, second = _names(definition, row)
    return f"{first} minus {in_sentence(second)}"


def _pair_words(definition: Definition, row: pd.Series, inner: bool) -> str:
    """Name what is compared; the inner difference too where the caption does not."""
    left, right, _, _ = _names(definition, row)
    said = f"With {in_sentence(left)}, minus with {in_sentence(right)}"
    return f"{_inner_words(definition, row)}: {in_sentence(said)}" if inner else said


def asked_crossing(differences: pd.DataFrame, definition: Definition, measure: str) -> int | None:
    """Find the difference of differences for the primary question's treatments on the last date.

    Returns
    -------
    int or None
        Label of the row; None where there is none that could be estimated.
    """
    wanted = [set(pair) for pair in definition.analysis.primary.pairs]
    kept = []
    for at in map(int, interactions(differences, measure).index):
        row = row_at(differences, at)
        found = crossing_of(definition, str(row["effect"]), str(row["left"]), str(row["right"]))
        numbers = [float(row[name]) for name in ("difference", "lower", "upper")]
        asked = set(found.outer) in wanted or set(found.inner) in wanted
        if asked and not any(map(pd.isna, numbers)):
            kept.append(at)
    if not kept:
        return None
    days = pd.to_datetime(differences.loc[kept, "date"])
    return int(days.index[days == days.max()][0])


def interaction_words(differences: pd.DataFrame, definition: Definition, measure: str) -> Sentence:
    """Say the difference of differences for the primary question's treatments on the last date.

    Returns
    -------
    Sentence
        Empty where there is none, or where it could not be estimated.
    """
    at = asked_crossing(differences, definition, measure)
    if at is None:
        return Sentence("")
    row, view = row_at(differences, at), measure_view(definition, measure)
    decimals = difference_decimals(view, interactions(differences, measure))
    left, right, first, second = (in_sentence(name) for name in _names(definition, row))
    # What is compared are differences: one is higher or lower than the other.
    parts = amount_parts("differences", differences, at, replace(view, rated=True), decimals)
    parts |= {"day": day_text(row["date"]), "left": left, "right": right}
    parts |= {"first": first, "second": second, "noun": view.noun}
    parts |= {"level": level_text(definition.analysis.alpha)}
    return Sentence(
        "Secondary: we estimate that on {day} the difference in {noun} ({first} minus {second}) "
        "was {estimate} {more} with {left} than with {right} ({level} interval {interval}).",
        parts,
    )
