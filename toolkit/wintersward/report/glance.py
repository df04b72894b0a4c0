"""All treatments of the question on its date in one small table: which is primary, which beside."""

from __future__ import annotations

import math
from typing import NamedTuple

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import said_or_dash
from wintersward.report.mean_digits import subtracting_digits
from wintersward.report.numbers import counted, day_text, level_text, text
from wintersward.report.said import Said, Sentence, interval_said, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import (
    MeasureView,
    averaged_over,
    in_sentence,
    level_label,
    measure_view,
)
from wintersward.report.words import PLANNED, planned_rows, shown_decimals
from wintersward.trial.schema import Definition

__all__ = ["glance_table"]


def glance_table(
    means: pd.DataFrame, differences: pd.DataFrame, primary: pd.DataFrame, definition: Definition
) -> Markup:
    """Show every treatment of the asked factor on the primary date, against the control.

    Parameters
    ----------
    means, differences, primary : DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        A row a treatment, the control first: mean, difference to the control with its interval,
        and whether that is the primary question. Empty before the question has an answer.
    """
    rows = primary[primary["which"] == PLANNED]
    if rows.empty or not rows["difference"].notna().any():
        return Markup("")
    question = definition.analysis.primary
    factor = definition.factor_of(question.levels[0])
    control = definition.treatments[factor].control
    view, day = measure_view(definition, question.measure), rows["date"].iloc[0]
    decimals = max(shown_decimals(row_at(primary, int(at)), view) for at in rows.index)
    level = level_text(definition.analysis.alpha)
    against = f"difference to {in_sentence(level_label(definition, control))}"
    heads = [Head("Treatment"), Head("mean", view.unit, True)]
    heads += [Head(against, view.difference_unit, True)]
    heads += [Head(f"{level} interval", view.difference_unit, True), Head("question")]
    here, own = (_seen(frame, question.measure, factor, day) for frame in (differences, means))
    here = here[here["within"].fillna("") == ""]
    names = [control, *(name for name in definition.treatments[factor].levels if name != control)]
    places = {name: _mean_place(own, primary, name, definition) for name in names}
    compared = {
        name: _against(name, control, here, primary, view, decimals, definition)
        for name in names[1:]
    }
    digits, subtracting = _mean_digits(places, compared, control, view, decimals)
    lines, beside = [], list[int]()
    for name in names:
        mean, label = _mean(places[name], view, digits), level_label(definition, name)
        found = compared.get(name)
        if name == control:
            lines.append(Row((f"{label} (control)",), (mean, "–", "–", "–")))
        elif found is None:
            lines.append(Row((label,), (mean, "–", "–", "not compared")))
        else:
            beside += [found.family] if found.family else []
            asked = "secondary" if found.family else "primary"
            cells = (mean, *found.cells, asked)
            lines.append(Row((label,), cells, strong=not found.family))
    caption = f"{view.label} on {day_text(day)}"
    note = _note(beside, averaged_over(definition, factor, day), subtracting)
    return html_table(caption, heads, lines, note)


def _seen(frame: pd.DataFrame, measure: str, factor: str, day: object) -> pd.DataFrame:
    """Keep the rows of one measure, factor and day."""
    own = frame[(frame["measure"] == measure) & (frame["effect"] == factor)]
    return own[pd.to_datetime(own["date"]) == pd.Timestamp(str(day))]


class _Place(NamedTuple):
    """Where a number stands."""

    table: str
    frame: pd.DataFrame
    at: int
    column: str


class _Compared(NamedTuple):
    """A difference to the control with its interval; the size of its family, 0 for the primary."""

    difference: float
    cells: tuple[Cell, Cell]
    family: int


def _mean_digits(
    places: dict[str, _Place | None],
    compared: dict[str, _Compared | None],
    control: str,
    view: MeasureView,
    decimals: int,
) -> tuple[int, bool]:
    """Choose the decimals of the means, so that a reader may subtract them where that can be."""
    apart = [
        (_value(places[name], view), _value(places[control], view), found.difference)
        for name, found in compared.items()
        if found is not None
    ]
    return subtracting_digits(apart, decimals)


def _value(place: _Place | None, view: MeasureView) -> float:
    return math.nan if place is None else view.value(value_at(place.frame, place.at, place.column))


def _mean(place: _Place | None, view: MeasureView, decimals: int) -> Cell:
    if place is None:
        return "–"
    return said_or_dash(*place, text(_value(place, view), decimals))


def _mean_place(
    means: pd.DataFrame, primary: pd.DataFrame, level: str, definition: Definition
) -> _Place | None:
    """Find the mean of a treatment: that of the answer where it takes part in it."""
    for at in planned_rows(primary, definition):
        for side in ("left", "right"):
            if str(row_at(primary, at)[side]) == level:
                return _Place("primary", primary, at, f"{side}_mean")
    found = means.index[means["level"] == level]
    return _Place("means", means, int(found[0]), "mean") if len(found) else None


def _against(
    level: str,
    control: str,
    differences: pd.DataFrame,
    primary: pd.DataFrame,
    view: MeasureView,
    decimals: int,
    definition: Definition,
) -> _Compared | None:
    """Compare a treatment with the control: by the answer, else by the secondary family."""
    planned = primary.loc[planned_rows(primary, definition)]
    for table, frame in (
        ("primary", planned),
        ("differences", differences[differences["role"] == "secondary"]),
    ):
        for sign, left, right in ((1, level, control), (-1, control, level)):
            found = frame.index[(frame["left"] == left) & (frame["right"] == right)]
            if not len(found):
                continue
            at = int(found[0])
            family = 0 if table == "primary" else int(value_at(frame, at, "comparisons"))
            difference = sign * view.difference(value_at(frame, at, "difference"))
            cells = _cells(table, frame, at, view, decimals, sign)
            return _Compared(difference, cells, family)
    return None


def _cells(
    table: str, frame: pd.DataFrame, at: int, view: MeasureView, decimals: int, sign: int
) -> tuple[Cell, Cell]:
    """Write difference and interval; turned round where the table holds control less treatment."""

    def said(name: str) -> str | Said:
        value = sign * view.difference(value_at(frame, at, name))
        if not math.isfinite(value):
            return "–"
        return said_or_dash(table, frame, at, name, text(value, decimals, signed=True))

    ends = ("lower", "upper") if sign > 0 else ("upper", "lower")
    interval: Sentence = interval_said({"lower": said(ends[0]), "upper": said(ends[1])})
    return said("difference"), interval


def _note(families: list[int], averaged: str, subtracting: bool) -> str:
    """Say what the secondary rows are, what all are averaged over, and how they are rounded."""
    said = []
    if families:
        many = counted(max(families), "comparison")
        said.append(
            "Secondary: a lead to follow up, not an answer; its interval is widened to hold "
            f"together with {many} (Bonferroni)."
        )
    if averaged:
        said.append(f"{averaged[0].upper()}{averaged[1:]}.")
    if not subtracting:
        said.append("Each number is estimated and rounded by itself.")
    return " ".join(said)
