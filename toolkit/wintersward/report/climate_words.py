"""What it was like under the covers, in words and one table."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd
from markupsafe import Markup

from wintersward.report.climate_views import (
    Degrees,
    climate_factor,
    held_levels,
    logged_measures,
    temperature_view,
    under_words,
    warmer_words,
)
from wintersward.report.numbers import counted, day_text, listed_words, text
from wintersward.report.said import Said, Sentence, number, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import in_sentence, level_label
from wintersward.trial.schema import Definition

__all__ = ["left_out_words", "under_cover_table", "under_cover_words"]

_NAME = "under_cover_means"
_FEW_DAYS = 3
_FACTS = {"minimum": "Lowest of the day", "mean": "Mean", "maximum": "Highest of the day"}


def under_cover_words(means: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say how much warmer it was under each cover than on the control.

    Parameters
    ----------
    means : DataFrame
        The table ``under_cover_means`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a measure and cover; empty before there is anything to compare.
    """
    degrees, said = Degrees(definition.units), []
    for name, level, at in _rows(means, definition):
        parts: dict[str, object] = {
            fact: warmer_words(_NAME, means, row, "more", degrees) for fact, row in at.items()
        }
        parts |= {"days": _days(means, at["mean"]), "unit": degrees.unit}
        parts |= {"where": under_words(definition, level), "than": _control(definition)}
        parts["noun"] = temperature_view(definition, name).noun
        parts |= {end: _signed(means, at["mean"], end, degrees) for end in ("lower", "upper")}
        form = "Over {days} days under cover, {noun} {where} was on average {mean} than {than}"
        beside = {"minimum": "at its lowest of the day", "maximum": "at its highest"}
        also = [f"{words} {{{fact}}}" for fact, words in beside.items() if fact in at]
        form += f" ({', '.join(also)})" if also else ""
        if int(value_at(means, at["mean"], "blocks")) > 1:
            parts |= {end: _signed(means, at["mean"], end, degrees) for end in ("least", "most")}
            many = counted(int(value_at(means, at["mean"], "blocks")), "block")
            form += f". In the {many} the means of these days differed by {{least}} to {{most}} "
            form += "{unit}"
        form += (
            "; on the middle half of the days, over all blocks, by {lower} to {upper} {unit}."
            if "least" in parts
            else ". On the middle half of these days the means differed by {lower} to {upper} "
            "{unit}."
        )
        said.append(Sentence(form, parts))
    return said


def left_out_words(daily: pd.DataFrame, definition: Definition) -> str:
    """Say which days under cover are left out of the means.

    Parameters
    ----------
    daily : DataFrame
        The table ``under_cover`` of a run.
    definition : Definition
        The trial.
    """
    partly = daily[(daily["covered"] > 0) & (daily["covered"] < daily["plots"])]
    said = ["The day on which the covers were laid is left out"]
    for level in held_levels(definition, partly["level"]):
        days = sorted(pd.to_datetime(partly.loc[partly["level"] == level, "date"]).unique())
        few = listed_words([day_text(day) for day in days])
        which = few if len(days) <= _FEW_DAYS else counted(len(days), "day")
        label = in_sentence(level_label(definition, level))
        said.append(f"{label} is without {which}, when not all its plots lay under one")
    return f"{'; '.join(said)}."


def under_cover_table(
    means: pd.DataFrame,
    definition: Definition,
    left_out: str = "",
    tested: Mapping[str, int] | None = None,
) -> Markup:
    """Show the control and how much warmer it was under each cover, fact by fact of a day.

    Parameters
    ----------
    means : DataFrame
        The table ``under_cover_means`` of a run, in SI.
    definition : Definition
        The trial.
    left_out : str
        Which days are not among them.
    tested : mapping of str to int
        On how many dates a measure was tested; left out, on none.

    Returns
    -------
    Markup
        Empty before there is anything to compare.
    """
    degrees = Degrees(definition.units)
    heads = [Head("Measure"), Head("Under"), Head("Days", "", True)]
    for words in _FACTS.values():
        control = definition.treatments[climate_factor(definition)].control
        label = in_sentence(level_label(definition, control))
        heads.append(Head(label, degrees.unit, True, words))
        heads.append(Head("warmer by", degrees.unit, True, words))
    rows = []
    for name, level, at in _rows(means, definition):
        days = number(
            _NAME, means, at["mean"], "days", f"{value_at(means, at['mean'], 'days'):.0f}"
        )
        cells: list[Cell] = [days]
        for fact in _FACTS:
            if fact not in at:
                cells += ["–", "–"]
                continue
            beside = text(degrees.value(value_at(means, at[fact], "control")), 1)
            cells.append(number(_NAME, means, at[fact], "control", beside))
            cells.append(_signed(means, at[fact], "more", degrees))
        label = level_label(definition, level)
        rows.append(Row((temperature_view(definition, name).label, label), tuple(cells)))
    if not rows:
        return Markup("")
    note = (
        "Means over the days on which all plots of a treatment lay under their cover; the control "
        f"on the same days. {left_out} They describe these days: no test was made of them"
    )
    told = {
        temperature_view(definition, name).noun: counted((tested or {})[name], "day")
        for name in logged_measures(definition, means)
        if (tested or {}).get(name)
    }
    if told:
        each = [f"{noun} on {many}" for noun, many in told.items()]
        note += f". Under Results, {listed_words(each)} {'were' if len(told) > 1 else 'was'} tested"
    note = f"{' '.join(note.split())}."
    return html_table("On days under cover, against the control", heads, rows, note)


def _rows(means: pd.DataFrame, definition: Definition) -> list[tuple[str, str, dict[str, int]]]:
    """Give measure, cover, and by fact of a day the label of its row."""
    found = []
    for name in logged_measures(definition, means):
        own = means[means["measure"] == name]
        for level in held_levels(definition, own["level"]):
            facts = own.loc[own["level"] == level, "fact"]
            at = dict(zip(facts.astype(str), map(int, facts.index), strict=True))
            if "mean" in at:
                found.append((name, level, at))
    return found


def _days(means: pd.DataFrame, at: int) -> Said:
    return number(_NAME, means, at, "days", f"{value_at(means, at, 'days'):.0f}")


def _control(definition: Definition) -> str:
    return under_words(definition, definition.treatments[climate_factor(definition)].control)


def _signed(frame: pd.DataFrame, at: int, column: str, degrees: Degrees) -> Said:
    shown = text(degrees.difference(value_at(frame, at, column)), 1, signed=True)
    return number(_NAME, frame, at, column, shown)
