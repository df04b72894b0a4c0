"""Where a budget breaks even, in words."""

from __future__ import annotations

import math

import pandas as pd

from wintersward.report.money import money_step, money_text
from wintersward.report.numbers import day_text, text
from wintersward.report.said import Said, Sentence, number, row_at, value_at
from wintersward.report.views import level_label, measure_view
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["even_words"]

# Beyond so many seasons a life is said as too long for any cover (common practice, no source).
_LONGEST = 30.0
_WHOLE = 20.0
_NONE = "no value"
# What a bound on the estimate makes of the worth that is needed.
_BOUND = {
    "at most": "; less may do, since at least so much was gained",
    "at least": "; it may take more, since at most so much was gained",
}


def even_words(even: pd.DataFrame, items: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say what a step would have to be worth, and how long what was bought would have to last.

    Parameters
    ----------
    even, items : DataFrame
        Tables ``break_even`` and ``budget_items`` of a run.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        By treatment in the definition's order: days gained, the main question, seasons.
    """
    levels = [level for factor in definition.treatments.values() for level in factor.levels]
    order = ["days gained", "primary", "seasons"]
    rows = sorted(
        map(int, even.index),
        key=lambda at: (
            levels.index(row_at(even, at)["treatment"]),
            order.index(row_at(even, at)["of"]),
        ),
    )
    return [
        _life(even, at, items, definition)
        if row_at(even, at)["of"] == "seasons"
        else _worth(even, at, items, definition)
        for at in rows
    ]


def _worth(even: pd.DataFrame, at: int, items: pd.DataFrame, definition: Definition) -> Sentence:
    row = row_at(even, at)
    spread = value_at(even, at, "high") - value_at(even, at, "low")
    middle = value_at(even, at, "median")
    step = money_step(spread if math.isfinite(spread) else middle)
    # Of what is worth tens nobody counts the parts.
    step = max(step, 1.0) if max(middle, spread) >= _WHOLE else step

    def said(column: str) -> Said | str:
        value = value_at(even, at, column)
        if not math.isfinite(value):
            return _NONE
        return number("break_even", even, at, column, money_text(value, step))

    says = str(row["says"])
    paid = items[(items["treatment"] == row["treatment"]) & (items["list"] == "worth")]
    paid = paid[paid["kind"] == row["of"]]
    parts: dict[str, object] = {
        "label": level_label(definition, str(row["treatment"])),
        "what": _step_words(row, definition),
        "bound": _BOUND.get(says, ""),
        "currency": row["currency"],
        **{name: said(name) for name in ("low", "median", "high")},
        "diary": _diary(paid),
    }
    if parts["median"] == _NONE:
        parts["never"] = number("break_even", even, at, "never", text(float(row["never"]), 0))
        form = "{label}: in {never} of 100 futures no worth of {what} would bring the net change "
        return Sentence(form + "to zero.", parts)
    form = (
        "{label} pays for itself if {what} is worth {median} {currency} or more ({low} to {high} "
        "in eight of ten futures{bound}) and nothing else that the trial found is paid for{diary}."
    )
    return Sentence(form, parts)


def _diary(paid: pd.DataFrame) -> Sentence | str:
    """Say what the diary holds it to be worth; empty where it says nothing."""
    if len(paid) != 1:
        return ""
    at, ends = int(paid.index[0]), {}
    for side in ("low", "high"):
        worth = value_at(paid, at, f"price_{side}")
        shown = money_text(worth, 1.0 if worth == round(worth) else 0.01)
        ends[side] = number("budget_items", paid, at, f"price_{side}", shown)
    one = ends["low"].text == ends["high"].text
    return Sentence("; the diary says " + ("{low}" if one else "{low} to {high}"), ends)


def _step_words(row: pd.Series, definition: Definition) -> str:
    """Name a step: a day gained, 1 point of green cover on its day."""
    step = float(row["step"])
    if row["of"] == "days gained":
        return "a day gained" if step == 1 else f"{step:g} days gained"
    question = definition.analysis.primary
    view = measure_view(definition, question.measure)
    amount = view.amount(f"{view.difference(step):.4g}")
    day = day_text(dates_meant(definition.dates, question.on)[0])
    return f"{amount} of {view.noun} on {day}"


def _life(even: pd.DataFrame, at: int, items: pd.DataFrame, definition: Definition) -> Sentence:
    row = row_at(even, at)

    def said(column: str) -> Said | str:
        value = value_at(even, at, column)
        if not math.isfinite(value):
            return ""
        shown = f"more than {_LONGEST:.0f}" if value > _LONGEST else text(value, 1)
        return number("break_even", even, at, column, shown)

    parts: dict[str, object] = {
        "label": level_label(definition, str(row["treatment"])),
        "counting": "the entries of the diary alone"
        if row["counting"] == "entries alone"
        else "what the trial found as well",
        "never": number("break_even", even, at, "never", text(float(row["never"]), 0)),
        "diary": _lives(items, str(row["treatment"])),
        **{name: said(name) for name in ("low", "median", "high")},
    }
    start = "{label}, counting {counting}, pays for itself "
    if isinstance(parts["median"], str):
        return Sentence(start + "at no life in {never} of 100 futures{diary}.", parts)
    ends = ["{low} or fewer in one of ten futures"]
    ends += [] if isinstance(parts["high"], str) else ["{high} or more in another one"]
    ends += ["never in {never} of 100"] if float(row["never"]) else []
    form = start + "if what is spread over seasons lasts {median} seasons ("
    return Sentence(form + "; ".join(ends) + "){diary}.", parts)


def _lives(items: pd.DataFrame, treatment: str) -> Sentence | str:
    """Say how long the diary lets the costliest of what is spread last; empty without any."""
    spread = items[(items["treatment"] == treatment) & items["seasons_low"].notna()]
    if spread.empty:
        return ""
    at = int(spread.index[int(spread["price_high"].argmax())])
    ends: dict[str, object] = {"what": items.loc[at, "what"]}
    for side in ("low", "high"):
        seasons = value_at(items, at, f"seasons_{side}")
        shown = money_text(seasons, 1.0 if seasons == round(seasons) else 0.1)
        ends[side] = number("budget_items", items, at, f"seasons_{side}", shown)
    lasts = "{low}" if str(ends["low"]) == str(ends["high"]) else "{low} to {high}"
    form = "; the diary says " + lasts
    return Sentence(form + (" of ‘{what}’" if len(spread) > 1 else ""), ends)
