"""What the answer means against the smallest difference that matters, and without exclusions."""

from __future__ import annotations

import math

import pandas as pd

from wintersward.report.comparisons import in_order, pair_text, said_or_dash
from wintersward.report.numbers import day_text, level_text, listed_words, text
from wintersward.report.said import Sentence, row_at, value_at
from wintersward.report.verdicts import Verdict, answer_decimals, verdict
from wintersward.report.views import (
    MeasureView,
    in_sentence,
    level_label,
    measure_view,
)
from wintersward.report.words import (
    PLANNED,
    PUT_BACK,
    answer,
    difference_text,
    estimated,
    matters_text,
    planned_rows,
    shown_decimals,
)
from wintersward.trial.schema import Definition

__all__ = [
    "exclusions_answer",
    "exclusions_effect",
    "margin_words",
    "meaning",
    "more_text",
]


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


def margin_words(
    equivalence: pd.DataFrame, definition: Definition, kind: str = "matters"
) -> list[Sentence]:
    """Say how each primary difference compares with the smallest one that matters.

    Parameters
    ----------
    equivalence : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    kind : str
        Rows to say.

    Returns
    -------
    list of Sentence
        One a comparison, in plain words.
    """
    rows = equivalence[equivalence["kind"] == kind]
    return [_margin(equivalence, at, definition) for at in in_order(rows, definition)]


def _parts(equivalence: pd.DataFrame, at: int, definition: Definition) -> dict[str, object]:
    """Name day, treatments, margin, estimate and interval of a row."""
    row = row_at(equivalence, at)
    view = measure_view(definition, str(row["measure"]))
    decimals = _decimals(equivalence, at, view)
    parts: dict[str, object] = {
        "day": day_text(row["date"]),
        "margin": difference_text(definition, str(row["measure"]), float(row["margin"])),
        "level": level_text(2 * definition.analysis.alpha),
        "noun": view.noun,
        "more": more_text(view),
    }
    for name in ("difference", "lower", "upper"):
        shown = text(view.difference(float(row[name])), decimals, signed=True)
        parts[name] = said_or_dash("equivalence", equivalence, at, name, shown)
    unit = view.difference_unit
    parts["unit"] = f" {unit}" if unit else ""
    for side in ("left", "right"):
        parts[side] = in_sentence(level_label(definition, str(row[side])))
    return parts


def _decimals(equivalence: pd.DataFrame, at: int, view: MeasureView) -> int:
    """Choose decimals with which the written interval says the same as the computed one."""
    lower, upper = (view.difference(value_at(equivalence, at, n)) for n in ("lower", "upper"))
    margin = view.difference(value_at(equivalence, at, "margin"))
    return answer_decimals((upper - lower) / 3.5, lower, upper, margin)


def _margin(equivalence: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row, parts = row_at(equivalence, at), _parts(equivalence, at, definition)
    ahead = ("left", "right") if float(row["difference"]) >= 0 else ("right", "left")
    parts |= {"ahead": parts[ahead[0]], "behind": parts[ahead[1]]}
    there = "on {day} there was {more} with {ahead} than with {behind}"
    inner = " ({level} interval {lower} to {upper}{unit})"
    form = {
        "beyond": f"Different, and by more than {{margin}}: {there}, and the whole interval of the "
        "answer lies beyond the margin",
        "inside": f"Different, but by less than {{margin}}: {there}{inner}",
        "size open": f"Different, but the size is not settled: {there}; whether by more than "
        "{margin}, these data cannot tell, for the interval of the answer reaches from below it to "
        "above it",
        "equivalent": "Alike to within {margin}: which of {left} and {right} had {more} on {day}, "
        "these data cannot tell, but they can tell that the two were less than {margin} apart"
        + inner,
    }.get(
        str(row["verdict"]),
        "These data cannot tell which of {left} and {right} had {more} on {day}, nor whether the "
        "two were less than {margin} apart" + inner,
    )
    return Sentence(form + ".", parts)


def exclusions_effect(primary: pd.DataFrame, definition: Definition) -> Sentence:
    """Give, in few words, the estimates with excluded observations put back.

    Returns
    -------
    Sentence
        Beside those as planned, in the same digits, which are as many as keep each end on its side
        of what matters; empty where nothing was set aside, or where it changes no number.
    """
    back, planned = (planned_rows(primary, definition, which) for which in (PUT_BACK, PLANNED))
    if not (back and estimated(primary) and estimated(primary, PUT_BACK)):
        return Sentence("")
    parts: dict[str, object] = {}
    each, several = [], len(back) > 1
    for one, at in zip(planned, back, strict=True):
        if all(
            _alike(value_at(primary, one, n), value_at(primary, at, n))
            for n in ("difference", "lower", "upper")
        ):
            continue
        row = row_at(primary, at)
        view = measure_view(definition, str(row["measure"]))
        decimals = max(shown_decimals(row_at(primary, one_of), view) for one_of in (one, at))
        for place in (at, one):
            for n in ("difference", "lower", "upper"):
                shown = text(view.difference(value_at(primary, place, n)), decimals, signed=True)
                parts[f"{n}{place}"] = said_or_dash("primary", primary, place, n, shown)
        parts[f"unit{at}"] = f" {view.difference_unit}" if view.difference_unit else ""
        parts[f"of{at}"] = f" for {in_sentence(pair_text(definition, row))}" if several else ""
        each.append(
            f"{{difference{at}}}{{unit{at}}} ({{lower{at}}} to {{upper{at}}}) instead of "
            f"{{difference{one}}} ({{lower{one}}} to {{upper{one}}}){{of{at}}}"
        )
    return Sentence(listed_words(each), parts) if each else Sentence("")


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
        change = (
            "That leads to another conclusion: the answer depends on the observations set aside."
        )
    return Sentence(form + "{change}", parts | {"change": change})


def _alike(one: float, other: float) -> bool:
    return one == other or (math.isnan(one) and math.isnan(other))


def _verdicts(primary: pd.DataFrame, rows: list[int]) -> list[Verdict]:
    names = ("lower", "upper", "matters_from")
    return [verdict(*(value_at(primary, at, name) for name in names)) for at in rows]
