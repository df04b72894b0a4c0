"""What the answer means against the smallest difference that matters, and without exclusions."""

from __future__ import annotations

import math

import pandas as pd

from wintersward.report.numbers import Sentence, row_at, value_at
from wintersward.report.verdicts import Verdict, verdict
from wintersward.report.views import MeasureView, in_sentence, level_label, measure_view
from wintersward.report.words import (
    PLANNED,
    PUT_BACK,
    answer,
    estimated,
    matters_text,
    planned_rows,
)
from wintersward.trial.schema import Definition

__all__ = ["exclusions_answer", "meaning", "more_text"]


def meaning(primary: pd.DataFrame, definition: Definition) -> list[str]:
    """Say what the answer means against the smallest difference that matters.

    Parameters
    ----------
    primary : DataFrame
        The table ``primary``; without an estimate nothing is said.
    definition : Definition
        The trial.

    Returns
    -------
    list of str
        One paragraph a comparison, in plain words; no number in them comes from the data.
    """
    if not estimated(primary):
        return []
    rows = [row_at(primary, at) for at in planned_rows(primary, definition)]
    if len(rows) == 1:
        return [_meant(rows[0], definition)]
    said = []
    for row in rows:
        left, right = (level_label(definition, str(row[side])) for side in ("left", "right"))
        said.append(f"{left} against {in_sentence(right)}: {_meant(row, definition)}")
    return said


def _meant(row: pd.Series, definition: Definition) -> str:
    lower, upper = float(row["lower"]), float(row["upper"])
    view = measure_view(definition, str(row["measure"]))
    matters = matters_text(definition)
    first, second = str(row["left"]), str(row["right"])
    if lower + upper < 0:
        first, second = second, first
    more = more_text(view)
    ahead = in_sentence(level_label(definition, first))
    behind = in_sentence(level_label(definition, second))
    named = f"{matters}, the smallest difference that the definition names as worth acting on"
    said = {
        Verdict.LARGE: f"The whole interval lies beyond {named}. By these data there was {more} "
        f"with {ahead}, and by enough to act on.",
        Verdict.MAYBE_LARGE: f"By these data there was {more} with {ahead}, for the whole interval "
        f"is on one side of zero. Whether by as much as {named}, they cannot tell: the "
        "interval reaches from below it to above it.",
        Verdict.SMALL: f"By these data there was {more} with {ahead}, but by less than {named}: "
        f"the whole interval lies between zero and {matters}.",
        Verdict.NEGLIGIBLE: "These data cannot tell which treatment had more, but they can tell "
        "that the difference is smaller than what matters: the whole interval is nearer to zero "
        f"than {named}.",
        Verdict.CANNOT_TELL: "These data cannot tell whether the treatments differed: the "
        f"interval holds zero. It also reaches {named}, so that {more} with {ahead}, by an amount "
        "that matters, is not ruled out either.",
        Verdict.CANNOT_TELL_AT_ALL: "These data cannot tell which treatment had more: the "
        f"interval reaches {named}, both in favour of {ahead} and in favour of {behind}. "
        f"It takes more {'blocks' if definition.layout.blocks else 'plots'}, or more even turf, "
        "to tell.",
        Verdict.NO_INTERVAL: "No interval could be estimated from these data, so nothing can be "
        "said about the difference.",
    }
    return said[verdict(lower, upper, float(row["matters_from"]))]


def more_text(view: MeasureView) -> str:
    """Say what the treatment with the larger value had: more, or a higher rating."""
    return f"a higher {view.noun}" if view.rated else f"more {view.noun}"


def exclusions_answer(primary: pd.DataFrame, definition: Definition) -> Sentence:
    """Give the primary answer with excluded observations put back, and say what they change.

    Returns
    -------
    Sentence
        Empty without such rows.
    """
    back, planned = (planned_rows(primary, definition, which) for which in (PUT_BACK, PLANNED))
    if not back:
        return Sentence("")
    if not estimated(primary, PUT_BACK):
        return Sentence("With excluded observations put back, no answer could be estimated.")
    parts: dict[str, object] = {"answer": answer(primary, definition, PUT_BACK)}
    form = "With excluded observations put back: {answer} "
    if not estimated(primary):
        return Sentence(form + "As planned, none could be estimated.", parts)
    names = ("difference", "lower", "upper")
    same = all(
        _alike(value_at(primary, one, name), value_at(primary, other, name))
        for one, other in zip(planned, back, strict=True)
        for name in names
    )
    if same:
        change = "No observation of this measure and date was set aside, so the answer is the same."
    elif _verdicts(primary, planned) == _verdicts(primary, back):
        change = "That leads to the same conclusion."
    else:
        change = "That leads to another conclusion: the answer hangs on the observations set aside."
    return Sentence(form + "{change}", parts | {"change": change})


def _alike(one: float, other: float) -> bool:
    return one == other or (math.isnan(one) and math.isnan(other))


def _verdicts(primary: pd.DataFrame, rows: list[int]) -> list[Verdict]:
    names = ("lower", "upper", "matters_from")
    return [verdict(*(value_at(primary, at, name) for name in names)) for at in rows]
