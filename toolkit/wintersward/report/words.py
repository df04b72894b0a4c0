"""The answer to the primary question in one sentence, and what it means."""

from __future__ import annotations

import math

import pandas as pd

from wintersward.report.numbers import (
    Said,
    Sentence,
    day_text,
    level_text,
    number,
    row_at,
    text,
    value_at,
)
from wintersward.report.verdicts import Verdict, answer_decimals, verdict
from wintersward.report.views import (
    MeasureView,
    averaged_over,
    in_sentence,
    level_label,
    measure_view,
    plots_with,
    quantity,
    unit_of,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = [
    "answer",
    "basis",
    "estimated",
    "exclusions_answer",
    "matters_text",
    "meaning",
    "not_estimated",
    "planned_row",
    "question_text",
    "shown_decimals",
    "waiting",
]


def question_text(definition: Definition) -> str:
    """Say the primary question in words."""
    primary = definition.analysis.primary
    view = measure_view(definition, primary.measure)
    left, right = (plots_with(definition, level) for level in primary.compare)
    day = day_text(dates_meant(definition.dates, primary.on)[0])
    word = "a different" if view.rated else "more or less"
    return (
        f"On {day}, did {left} have {word} {view.noun} than {right}? The definition names "
        f"{matters_text(definition)} as the smallest difference worth acting on."
    )


def matters_text(definition: Definition) -> str:
    """Write the smallest difference that matters in the reader's unit."""
    amount = definition.analysis.primary.matters_from
    if amount.kind == "bare":
        return f"{amount.value:g}"
    return quantity(amount.value, amount.kind, definition.units)


def waiting(definition: Definition, counts: pd.DataFrame | None = None) -> str:
    """Say that comparisons wait for the primary date.

    Parameters
    ----------
    definition : Definition
        The trial.
    counts : DataFrame, optional
        The table ``counts``, to say how much of what is planned is there.
    """
    primary = definition.analysis.primary
    on = dates_meant(definition.dates, primary.on)[0]
    noun = measure_view(definition, primary.measure).noun
    said = (
        f"The comparison waits: on the primary date, {day_text(on)}, every planned observation of "
        f"{noun} must be made, set aside or declared missing in the diary. "
    )
    if counts is not None:
        here = counts[counts["measure"] == primary.measure]
        here = here[pd.to_datetime(here["date"]) == pd.Timestamp(on)]
        if not here.empty:
            row = here.iloc[0]
            there = int(row["used"]) + int(row["excluded"])
            said += f"So far {there} of {int(row['expected'])} planned are there"
            said += f", {int(row['excluded'])} of them set aside. " if row["excluded"] else ". "
    return said + "Until then, nothing here compares the treatments."


def planned_row(primary: pd.DataFrame) -> pd.Series:
    """Take the row of the primary question as planned."""
    return row_at(primary, _planned(primary))


def estimated(primary: pd.DataFrame, row: int | None = None) -> bool:
    """Tell whether the primary difference, as planned or of another row, could be estimated."""
    if primary.empty:
        return False
    at = _planned(primary) if row is None else row
    return math.isfinite(value_at(primary, at, "difference"))


def not_estimated(primary: pd.DataFrame, notes: pd.DataFrame | None, at: int) -> Sentence:
    """Say that the primary question could not be estimated, and why."""
    found = row_at(primary, at)
    why = "the run tells under its notes"
    if notes is not None and not notes.empty:
        on = pd.to_datetime(notes["date"]) == pd.Timestamp(str(found["date"]))
        here = notes[on & (notes["measure"] == found["measure"])]
        texts = here.loc[here["code"] == "not compared", "text"]
        if len(texts):
            why = str(texts.iloc[0]).removeprefix("not compared:").strip().rstrip(".")
    parts = {"day": day_text(found["date"]), "why": why}
    return Sentence("The primary question for {day} could not be estimated because {why}.", parts)


def answer(
    primary: pd.DataFrame,
    definition: Definition,
    row: int | None = None,
    notes: pd.DataFrame | None = None,
    counts: pd.DataFrame | None = None,
) -> Sentence:
    """Answer the primary question in one sentence with its interval.

    Parameters
    ----------
    primary : DataFrame
        The table ``primary``, in SI; without rows before the primary date has data.
    definition : Definition
        The trial.
    row : int, optional
        Label of the row to say; left out, the one as planned.
    notes, counts : DataFrame, optional
        Tables of the run: why nothing could be estimated, and how much of the data is there.

    Returns
    -------
    Sentence
    """
    if primary.empty:
        return Sentence("{words}", {"words": waiting(definition, counts)})
    at = _planned(primary) if row is None else row
    if not estimated(primary, at):
        return not_estimated(primary, notes, at)
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
    over = averaged_over(definition, definition.factor_of(str(found["left"])), found["date"])
    parts["over"] = f", {over}" if over else ""
    form = "We estimate that on {day} {left} had "
    if view.rated:
        form += "{article} {noun} {estimate} {more} than {right}"
    else:
        form += "{estimate} {more} {noun} than {right}"
    return Sentence(form + "{over} ({level} interval {interval}).", parts)


def basis(primary: pd.DataFrame, definition: Definition) -> Sentence:
    """Say what the answer rests on, and how its interval and its points are meant.

    Returns
    -------
    Sentence
        Empty while there is no estimate.
    """
    if not estimated(primary):
        return Sentence("")
    at = _planned(primary)
    row = row_at(primary, at)
    kind, complete = unit_of(definition, definition.factor_of(str(row["left"])), row["date"])
    parts: dict[str, object] = {"complete": complete, "units": f"{kind}s"}
    for side in ("left", "right"):
        count = int(row[f"units_{side}"])
        parts[side] = number("primary", primary, at, f"units_{side}", str(count))
        parts[f"with_{side}"] = in_sentence(level_label(definition, str(row[side])))
    form = "From {left} of {complete} {units}"
    if row["units_left"] != row["units_right"]:
        form += " with {with_left} and {right} of {complete} with {with_right}"
    form += ". Intervals made in this way hold the true difference in {share} of 100 such trials."
    parts["share"] = f"{100 * (1 - float(row['alpha'])):g}"
    if measure_view(definition, str(row["measure"])).difference_unit == "points":
        form += " Points are percentage points."
    return Sentence(form, parts)


def _planned(primary: pd.DataFrame) -> int:
    rows = primary.index[primary["which"] == "as planned"]
    return int(rows[0])


def _amounts(primary: pd.DataFrame, at: int, view: MeasureView) -> dict[str, object]:
    """Write estimate and interval; a negative difference is said as less, not with a sign."""
    decimals = shown_decimals(row_at(primary, at), view)
    more, less = ("higher", "lower") if view.rated else ("more", "less")
    si = {name: value_at(primary, at, name) for name in ("difference", "lower", "upper")}
    shown = {name: view.difference(value) for name, value in si.items()}

    def said(name: str) -> Said:
        return number("primary", primary, at, name, text(abs(shown[name]), decimals))

    def unit(name: str) -> str:
        named = view.unit_after(text(abs(shown[name]), decimals))
        return f" {named}" if named else ""

    estimate = Sentence("{n}{unit}", {"n": said("difference"), "unit": unit("difference")})
    parts: dict[str, object] = {"estimate": estimate}
    parts["more"] = more if shown["difference"] >= 0 else less
    ends: dict[str, object] = {"lower": said("lower"), "upper": said("upper")}
    ends |= {"unit": unit("upper"), "at_lower": unit("lower")}
    if not all(math.isfinite(shown[name]) for name in ("lower", "upper")):
        parts["interval"] = "not estimated"
    elif shown["lower"] >= 0:
        parts["interval"] = Sentence("{lower} to {upper}{unit}", ends)
    elif shown["upper"] <= 0:
        # Read from the smaller to the larger amount: 4 to 18 points less.
        form = "{upper} to {lower}{at_lower} {less}"
        parts["interval"] = Sentence(form, {**ends, "less": less})
    else:
        form = "from {lower}{at_lower} {less} to {upper}{unit} {more}"
        parts["interval"] = Sentence(form, {**ends, "less": less, "more": more})
    return parts


def shown_decimals(row: pd.Series, view: MeasureView) -> int:
    """Choose the decimals in which a row of the table ``primary`` is written."""
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
        The table ``primary``; without an estimate nothing is said.
    definition : Definition
        The trial.

    Returns
    -------
    str
        Plain words; no number in them comes from the data.
    """
    if not estimated(primary):
        return ""
    row = planned_row(primary)
    lower, upper = float(row["lower"]), float(row["upper"])
    view = measure_view(definition, str(row["measure"]))
    matters = matters_text(definition)
    first, second = str(row["left"]), str(row["right"])
    if lower + upper < 0:
        first, second = second, first
    more = _more(view)
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
    if not (estimated(primary) and estimated(primary, at)):
        if not estimated(primary, at):
            return Sentence("With excluded observations put back, no answer could be estimated.")
        form = "With excluded observations put back: {answer} As planned, none could be estimated."
        return Sentence(form, {"answer": answer(primary, definition, at)})
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
