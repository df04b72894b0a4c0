"""How the measure went with the covariate: a sentence for the primary date, a table for all."""

from __future__ import annotations

import math

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import said_or_dash
from wintersward.report.methods import surroundings_words
from wintersward.report.numbers import common_decimals, day_text, df_text, level_text, p_text, text
from wintersward.report.said import Sentence, interval_said, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import MeasureView, in_sentence, measure_view
from wintersward.trial.dates import dates_meant
from wintersward.trial.questions import Covariate
from wintersward.trial.schema import Definition

__all__ = ["slope_heading", "slope_words", "slopes_table"]

_COUNTED = "Plots that had {one} more {covariate} had about {slope}{unit} more {noun} on {day}"
_RATED = (
    "Plots that stood 1 higher in {covariate} stood about {slope}{unit} higher in {noun} on {day}"
)
_STARTED = ". Allowing for it compares plots as if they had started alike."


def slope_heading(definition: Definition) -> str:
    """Ask what the slopes tell of."""
    what = "sun" if _of_the_sun(definition) else "start"
    return f"How much did the {what} matter?"


def _of_the_sun(definition: Definition) -> bool:
    return definition.analysis.covariate == "sun_hours"


def _view_of(definition: Definition) -> MeasureView:
    """Look at the measure that serves as covariate; the primary one unless another is named."""
    asked = definition.analysis.covariate
    name = asked.measure if isinstance(asked, Covariate) else definition.analysis.primary.measure
    return measure_view(definition, name)


def _factor(definition: Definition, measure: str) -> float:
    """Turn a slope in SI into one in the reader's units; an hour is one in both."""
    own = measure_view(definition, measure).difference(1.0)
    return own if _of_the_sun(definition) else own / _view_of(definition).difference(1.0)


def slope_words(slopes: pd.DataFrame, definition: Definition) -> Sentence:
    """Say how the primary measure went with the covariate on the primary date.

    Parameters
    ----------
    slopes : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Sentence
        Empty where there is no such slope.
    """
    question = definition.analysis.primary
    day = pd.Timestamp(dates_meant(definition.dates, question.on)[0])
    on = slopes["measure"].eq(question.measure) & pd.to_datetime(slopes["date"]).eq(day)
    rows = slopes[on & slopes["slope"].notna()]
    if rows.empty:
        return Sentence("")
    at = int(rows.index[0])
    row, view = row_at(slopes, at), measure_view(definition, question.measure)
    turn = _factor(definition, question.measure)
    decimals = common_decimals([turn * float(row["se"])])
    shown = {n: text(turn * value_at(slopes, at, n), decimals) for n in ("slope", "lower", "upper")}
    parts: dict[str, object] = {n: said_or_dash("slopes", slopes, at, n, shown[n]) for n in shown}
    parts |= {"noun": view.noun, "day": day_text(day)}
    parts["level"] = level_text(definition.analysis.alpha)
    parts["unit"] = f" {view.difference_unit}" if view.difference_unit else ""
    if _of_the_sun(definition):
        form, end = _sun_words(definition, view.rated)
    else:
        other = _view_of(definition)
        parts |= {"one": other.amount("1"), "covariate": in_sentence(str(row["covariate"]))}
        form, end = _RATED if other.rated else _COUNTED, _STARTED
    if all(math.isfinite(value_at(slopes, at, n)) for n in ("lower", "upper")):
        form += " ({level} interval {lower} to {upper})"
    return Sentence(form + end, parts)


def _sun_words(definition: Definition, rated: bool) -> tuple[str, str]:
    """Give the sentence of the sun without its interval, and what follows."""
    had = "stood about {slope}{unit} higher in {noun}"
    had = had if rated else "had about {slope}{unit} more {noun}"
    form = f"Plots that had 1 hour more direct sun a day, by the declared shade, {had} on {{day}}"
    end = ". Allowing for it compares plots as if they had had the same sun."
    if surroundings_words(definition):
        groups = "rows and columns" if definition.layout.kind == "latin square" else "blocks"
        end += (
            f" It tells of the sun that {groups} leave to differ within themselves; where "
            f"{groups} follow the shade, they have taken up most of it."
        )
    return form, end


def slopes_table(slopes: pd.DataFrame, definition: Definition) -> Markup:
    """Show how the measure went with the covariate, date by date; empty without one."""
    if slopes.empty:
        return Markup("")
    level = level_text(definition.analysis.alpha)
    heads = [Head("Measure"), Head("Date"), Head("slope", "", True)]
    heads += [Head(f"{level} interval", "", True), Head("df", "", True), Head("p", "", True)]
    lines = []
    turns = [_factor(definition, str(name)) for name in slopes["measure"]]
    errors = zip(turns, slopes["se"], strict=True)
    decimals = common_decimals([turn * float(se) for turn, se in errors])
    for turn, at in zip(turns, map(int, slopes.index), strict=True):
        row = row_at(slopes, at)
        said = {
            n: said_or_dash(
                "slopes", slopes, at, n, text(turn * float(row[n]), decimals, signed=True)
            )
            for n in ("slope", "lower", "upper")
        }
        cells: tuple[Cell, ...] = (
            said["slope"],
            interval_said({n: said[n] for n in ("lower", "upper")}),
            said_or_dash("slopes", slopes, at, "df", df_text(float(row["df"]))),
            said_or_dash("slopes", slopes, at, "p", p_text(float(row["p"]))),
        )
        label = measure_view(definition, str(row["measure"])).label
        lines.append(Row((label, day_text(row["date"])), cells))
    names = " or ".join(dict.fromkeys(in_sentence(str(name)) for name in slopes["covariate"]))
    one = f"one more of {names}"
    if _of_the_sun(definition):
        one = "one more hour of direct sun a day, from the declared shade,"
    note = f"What {one} came with, each in the units of this page."
    return html_table("How much the measure went with the covariate", heads, lines, note)
