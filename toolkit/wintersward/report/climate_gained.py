"""Days gained on the thermometer: who reached a temperature or a sum earlier, and by how much."""

from __future__ import annotations

import datetime as dt
import math

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.arrivals import AFTER, ONE_EACH, REACHED
from wintersward.report.climate_arrived import arrived_words, goal_words, whole_days
from wintersward.report.comparisons import in_order, pair_text, said_or_dash
from wintersward.report.numbers import MINUS, df_text, level_text, listed_words, p_text, text
from wintersward.report.said import Said, Sentence, interval_said, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import in_sentence, plots_with
from wintersward.trial.schema import Definition

__all__ = ["gained_table", "gained_words"]

_NAME = "thermometer_gained"
_DAYS = 1
_BOUNDS = {"at least": " or more", "at most": " or less"}
_DESCRIBED = "one logger a treatment: described, not tested"
_CANNOT = "cannot be told"
_WHOLE_DAYS = "It is told in whole days, so that less than a day means nothing."


def gained_words(
    gained: pd.DataFrame,
    arrived: pd.DataFrame,
    definition: Definition,
    off: dt.date | None = None,
) -> list[list[Sentence]]:
    """Say when plots got there, and how much earlier those of each treatment than the control's.

    Parameters
    ----------
    gained, arrived : DataFrame
        The tables ``thermometer_gained`` and ``thermometer`` of a run.
    definition : Definition
        The trial.
    off : date, optional
        Day on which the covers came off.

    Returns
    -------
    list of list of Sentence
        Sentences for each thing that is looked for; with an interval where it was tested.
    """
    said = []
    rows = _order(gained, definition)
    for goal in dict.fromkeys(str(gained["criterion"].loc[at]) for at in rows):
        own = arrived[arrived["criterion"] == goal]
        begin = arrived_words(own, definition, off) or f"{goal_words(goal)}:"
        sentences = [Sentence("{words}", {"words": begin})]
        here = [at for at in rows if str(gained["criterion"].loc[at]) == goal]
        known = [at for at in here if math.isfinite(value_at(gained, at, "days"))]
        sentences += [_gained(gained, at, definition) for at in known]
        if known and whole_days(own):
            sentences.append(Sentence(_WHOLE_DAYS))
        sentences += [_untold(gained, here, own, definition)] if len(known) < len(here) else []
        said.append(sentences)
    return said


def _order(gained: pd.DataFrame, definition: Definition) -> list[int]:
    """Put the rows into the definition's order: by what is looked for, then by pair."""
    first = list(dict.fromkeys(gained["criterion"].astype(str)))
    placed = gained.assign(_at=[first.index(str(one)) for one in gained["criterion"]])
    return in_order(placed, definition, ["_at"])


def _untold(
    gained: pd.DataFrame, here: list[int], arrived: pd.DataFrame, definition: Definition
) -> Sentence:
    """Say of which treatments no days gained can be told, and why."""
    untold = [at for at in here if not math.isfinite(value_at(gained, at, "days"))]
    notes = [str(row_at(gained, at)["note"] or "") for at in untold]
    # What plots did not reach, or what of them was not seen, has been told before.
    plain = set(arrived["state"]) <= {REACHED}
    why = "; ".join(dict.fromkeys(one for one in notes if one and one != _CANNOT and plain))
    lefts = [plots_with(definition, str(row_at(gained, at)["left"])) for at in untold]
    form = "So no days gained can be told"
    if len(untold) < len(here):
        form = "No days gained can be told of {left}"
    form += ": {why}" if why else ""
    if (arrived["state"] == AFTER).any():
        form += "; loggers left in until all plots are there would tell"
    return Sentence(form + ".", {"left": listed_words(lefts), "why": why})


def _gained(gained: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(gained, at)
    days, note = value_at(gained, at, "days"), str(row["note"] or "")
    left, right = (plots_with(definition, str(row[side])) for side in ("left", "right"))
    shown = text(days, _DAYS).lstrip(MINUS)
    parts: dict[str, object] = {
        "left": f"{left[:1].upper()}{left[1:]}",
        "right": right,
        "days": number(_NAME, gained, at, "days", shown),
        "unit": _unit(shown),
        "more": next((words for key, words in _BOUNDS.items() if key in note), ""),
        "way": "earlier" if days > 0 else "later",
        "level": level_text(definition.analysis.alpha),
    }
    form = "{left} were there {days} {unit}{more} {way} than {right}"
    if float(shown) == 0:
        form = "{left} and {right} were there {days} days apart"
    ends = [value_at(gained, at, end) for end in ("lower", "upper")]
    if not all(map(math.isfinite, ends)):
        parts["why"] = _DESCRIBED if ONE_EACH in note else "described, not tested"
        return Sentence(form + " ({why}).", parts)
    parts["interval"] = _interval(gained, at, ends[0], ends[1])
    return Sentence(form + " ({level} interval {interval}).", parts)


def _interval(gained: pd.DataFrame, at: int, lower: float, upper: float) -> Sentence:
    """Write an interval with both its ends earlier, both later, or one of each."""
    low, high = _end(gained, at, "lower"), _end(gained, at, "upper")
    if lower > 0:
        return Sentence("{low} to {high} days earlier", {"low": low, "high": high})
    if upper < 0:
        return Sentence("{high} to {low} days later", {"low": low, "high": high})
    units = {"one": _unit(low.text), "other": _unit(high.text)}
    form = "from {low} {one} later to {high} {other} earlier: these data cannot tell"
    return Sentence(form, {"low": low, "high": high, **units})


def _end(gained: pd.DataFrame, at: int, end: str) -> Said:
    shown = text(value_at(gained, at, end), _DAYS).lstrip(MINUS)
    return number(_NAME, gained, at, end, shown)


def _unit(shown: str) -> str:
    return "day" if float(shown) == 1 else "days"


def gained_table(gained: pd.DataFrame, definition: Definition) -> Markup:
    """Show the days gained with all that belongs to them.

    Returns
    -------
    Markup
        Empty without rows; what else is to be said of a row stands below the table.
    """
    if gained.empty:
        return Markup("")
    level, order = level_text(definition.analysis.alpha), _order(gained, definition)
    goals, shared = _short_goals([str(one) for one in gained["criterion"]])
    heads = [Head("Looked for"), Head("Treatments"), Head("earlier by", "days", True)]
    heads += [Head(f"{level} interval", "days", True), Head("standard error", "days", True)]
    heads += [Head("df", "", True), Head("p", "", True)]
    rows, remarks = [], []
    for at in order:
        shown = {n: text(value_at(gained, at, n), _DAYS, signed=True) for n in ("lower", "upper")}
        ends = {n: said_or_dash(_NAME, gained, at, n, one) for n, one in shown.items()}
        row = row_at(gained, at)
        days = text(value_at(gained, at, "days"), _DAYS, signed=True)
        cells: tuple[Cell, ...] = (
            said_or_dash(_NAME, gained, at, "days", days),
            interval_said(ends),
            said_or_dash(_NAME, gained, at, "se", text(value_at(gained, at, "se"), _DAYS + 1)),
            said_or_dash(_NAME, gained, at, "df", df_text(value_at(gained, at, "df"))),
            said_or_dash(_NAME, gained, at, "p", p_text(value_at(gained, at, "p"))),
        )
        goal, pair = goals[list(gained.index).index(at)], pair_text(definition, row)
        rows.append(Row((goal, pair), cells))
        if (remark := str(row["note"] or "")) not in ("", _CANNOT):
            remarks.append(f"{goal}, {in_sentence(pair)}: {remark}.")
    note = f"Means are of: {shared}. " if shared else ""
    note += (
        "Each comparison by itself, not adjusted for how many there are; a dash: cannot be told."
    )
    note = " ".join([note, *remarks])
    return html_table("Days gained on the thermometer", heads, rows, note)


def _short_goals(goals: list[str]) -> tuple[list[str], str]:
    """Leave out the measure where all means are of one; that is given as well."""
    measures = {goal.rpartition(": ")[0] for goal in goals} - {""}
    if len(measures) != 1:
        return goals, ""
    short = [goal.rpartition(": ")[2] for goal in goals]
    return [f"{one[:1].upper()}{one[1:]}" for one in short], in_sentence(measures.pop())
