"""The answer to the primary question in one sentence, and what it means."""

from __future__ import annotations

import math
from enum import Enum

import pandas as pd

from wintersward.report.numbers import (
    Said,
    Sentence,
    day_text,
    decimals_for,
    level_text,
    number,
    row_at,
    text,
    value_at,
)
from wintersward.report.views import (
    MeasureView,
    in_sentence,
    level_label,
    measure_view,
    plots_with,
    quantity,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = [
    "Verdict",
    "answer",
    "answer_decimals",
    "exclusions_answer",
    "matters_text",
    "meaning",
    "question_text",
    "verdict",
    "waiting",
]


class Verdict(Enum):
    """What an interval says against zero and the smallest difference that matters."""

    LARGE = "beyond what matters"
    MAYBE_LARGE = "away from zero, perhaps beyond what matters"
    SMALL = "away from zero, smaller than what matters"
    NEGLIGIBLE = "holds zero, smaller than what matters"
    CANNOT_TELL = "holds zero and what matters on one side"
    CANNOT_TELL_AT_ALL = "holds zero and what matters on both sides"
    NO_INTERVAL = "no interval"


def verdict(lower: float, upper: float, matters_from: float) -> Verdict:
    """Compare an interval with zero and with the smallest difference that matters.

    Parameters
    ----------
    lower, upper : float
        Ends of the interval of a difference.
    matters_from : float
        Above 0; it counts in either direction.

    Returns
    -------
    Verdict

    Examples
    --------
    >>> verdict(9, 15, 8).name, verdict(-15, -9, 8).name, verdict(4, 18, 8).name
    ('LARGE', 'LARGE', 'MAYBE_LARGE')
    >>> verdict(1, 5, 8).name, verdict(-3, 5, 8).name, verdict(-3, 11, 8).name
    ('SMALL', 'NEGLIGIBLE', 'CANNOT_TELL')
    """
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return Verdict.NO_INTERVAL
    nearest, farthest = sorted((abs(lower), abs(upper)))
    if lower > 0 or upper < 0:
        if nearest >= matters_from:
            return Verdict.LARGE
        return Verdict.MAYBE_LARGE if farthest >= matters_from else Verdict.SMALL
    if farthest < matters_from:
        return Verdict.NEGLIGIBLE
    return Verdict.CANNOT_TELL if nearest < matters_from else Verdict.CANNOT_TELL_AT_ALL


def answer_decimals(se: float, lower: float, upper: float, matters: float) -> int:
    """Choose decimals with which the written interval says the same as the computed one.

    Parameters
    ----------
    se, lower, upper, matters : float
        In the unit shown.
    """
    decimals = decimals_for(se)
    said = verdict(lower, upper, matters)
    if said is Verdict.NO_INTERVAL:
        return decimals
    most = decimals + 3
    while decimals < most:
        ends = round(lower, decimals), round(upper, decimals)
        # An end that is not zero must not be written as zero: it would seem to touch it.
        true_to_zero = all(
            (end == 0) == (short == 0) for end, short in zip((lower, upper), ends, strict=True)
        )
        if true_to_zero and verdict(*ends, matters) is said:
            break
        decimals += 1
    return decimals


def question_text(definition: Definition) -> str:
    """Say the primary question in words."""
    primary = definition.analysis.primary
    view = measure_view(definition, primary.measure)
    left, right = (plots_with(definition, level) for level in primary.compare)
    day = day_text(dates_meant(definition.dates, primary.on)[0])
    word = "a different" if view.rated else "more or less"
    return (
        f"On {day}, did {left} have {word} {view.noun} than {right}? A difference from "
        f"{matters_text(definition)} on was named beforehand as worth acting on."
    )


def matters_text(definition: Definition) -> str:
    """Write the smallest difference that matters in the reader's unit."""
    amount = definition.analysis.primary.matters_from
    if amount.kind == "bare":
        return f"{amount.value:g}"
    return quantity(amount.value, amount.kind, definition.units)


def waiting(definition: Definition) -> str:
    """Say that comparisons wait for the primary date."""
    primary = definition.analysis.primary
    day = day_text(dates_meant(definition.dates, primary.on)[0])
    view = measure_view(definition, primary.measure)
    return (
        f"The comparison waits: the primary date, {day}, has no {view.noun} data yet. "
        "Until it has, nothing here compares the treatments."
    )


def answer(primary: pd.DataFrame, definition: Definition, row: int | None = None) -> Sentence:
    """Answer the primary question in one sentence with its interval.

    Parameters
    ----------
    primary : DataFrame
        The table ``primary``, in SI; without rows before the primary date has data.
    definition : Definition
        The trial.
    row : int, optional
        Label of the row to say; left out, the one as planned.

    Returns
    -------
    Sentence
    """
    if primary.empty:
        return Sentence("{words}", {"words": waiting(definition)})
    at = _planned(primary) if row is None else row
    found = row_at(primary, at)
    view = measure_view(definition, str(found["measure"]))
    parts: dict[str, object] = {
        "day": day_text(found["date"]),
        "left": plots_with(definition, str(found["left"])),
        "right": plots_with(definition, str(found["right"])),
        "noun": view.noun,
        "article": "an" if view.noun[:1] in "aeiou" else "a",
        "level": level_text(float(found["alpha"])),
    }
    parts |= _amounts(primary, at, view)
    if view.rated:
        form = "On {day}, {left} had {article} {noun} {estimate} {more} than {right} "
    else:
        form = "On {day}, {left} had {estimate} {more} {noun} than {right} "
    return Sentence(form + "({level} interval {interval}).", parts)


def _planned(primary: pd.DataFrame) -> int:
    rows = primary.index[primary["which"] == "as planned"]
    return int(rows[0])


def _amounts(primary: pd.DataFrame, at: int, view: MeasureView) -> dict[str, object]:
    """Write estimate and interval; a negative difference is said as less, not with a sign."""
    decimals = _decimals(row_at(primary, at), view)
    more, less = ("higher", "lower") if view.rated else ("more", "less")
    si = {name: value_at(primary, at, name) for name in ("difference", "lower", "upper")}
    shown = {name: view.difference(value) for name, value in si.items()}

    def said(name: str) -> Said:
        return number("primary", primary, at, name, text(abs(shown[name]), decimals))

    unit = Sentence(" {unit}", {"unit": view.difference_unit}) if view.difference_unit else ""
    estimate = Sentence("{n}{unit}", {"n": said("difference"), "unit": unit})
    parts: dict[str, object] = {"estimate": estimate}
    parts["more"] = more if shown["difference"] >= 0 else less
    ends = {"lower": said("lower"), "upper": said("upper"), "unit": unit}
    if not all(math.isfinite(shown[name]) for name in ("lower", "upper")):
        parts["interval"] = "not estimated"
    elif shown["lower"] >= 0:
        parts["interval"] = Sentence("{lower} to {upper}{unit}", ends)
    elif shown["upper"] <= 0:
        # Read from the smaller to the larger amount: 4 to 18 points less.
        form = "{upper} to {lower}{unit} {less}"
        parts["interval"] = Sentence(form, {**ends, "less": less})
    else:
        form = "from {lower}{unit} {less} to {upper}{unit} {more}"
        parts["interval"] = Sentence(form, {**ends, "less": less, "more": more})
    return parts


def _decimals(row: pd.Series, view: MeasureView) -> int:
    names = ("se", "lower", "upper", "matters_from")
    se, lower, upper, matters = (view.difference(float(row[name])) for name in names)
    decimals = answer_decimals(se, lower, upper, matters)
    estimate = abs(view.difference(float(row["difference"])))
    # An estimate near zero is not written as none at all.
    return decimals + (0 < estimate < 0.5 * 10**-decimals)


def meaning(primary: pd.DataFrame, definition: Definition) -> str:
    """Say what the answer means against the smallest difference that matters.

    Parameters
    ----------
    primary : DataFrame
        The table ``primary``; without rows nothing is said.
    definition : Definition
        The trial.

    Returns
    -------
    str
        Plain words; no number in them comes from the data.
    """
    if primary.empty:
        return ""
    row = row_at(primary, _planned(primary))
    lower, upper = float(row["lower"]), float(row["upper"])
    view = measure_view(definition, str(row["measure"]))
    matters = matters_text(definition)
    first, second = str(row["left"]), str(row["right"])
    if lower + upper < 0:
        first, second = second, first
    more = _more(view)
    ahead = in_sentence(level_label(definition, first))
    behind = in_sentence(level_label(definition, second))
    named = f"{matters}, the smallest difference that was named beforehand as worth acting on"
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
        "It takes more blocks, or more even turf, to tell.",
        Verdict.NO_INTERVAL: "No interval could be estimated from these data, so nothing can be "
        "said about the difference.",
    }
    return said[verdict(lower, upper, float(row["matters_from"]))]


def _more(view: MeasureView) -> str:
    return f"a higher {view.noun}" if view.rated else f"more {view.noun}"


def exclusions_answer(primary: pd.DataFrame, definition: Definition) -> Sentence:
    """Give the primary answer with excluded observations put back, and say what they change.

    Returns
    -------
    Sentence
        Empty without such a row.
    """
    rows = primary.index[primary["which"] == "with excluded observations"]
    if len(rows) == 0:
        return Sentence("")
    at, planned = int(rows[0]), _planned(primary)
    verdicts = [
        verdict(*(value_at(primary, row, name) for name in ("lower", "upper", "matters_from")))
        for row in (planned, at)
    ]
    ends = [
        tuple(value_at(primary, row, name) for name in ("difference", "lower", "upper"))
        for row in (planned, at)
    ]
    if ends[0] == ends[1]:
        change = "No observation of this measure and date was set aside, so the answer is the same."
    elif verdicts[0] is verdicts[1]:
        change = "That leads to the same conclusion."
    else:
        change = "That leads to another conclusion: the answer hangs on the observations set aside."
    return Sentence(
        "With excluded observations put back: {answer} {change}",
        {"answer": answer(primary, definition, at), "change": change},
    )
