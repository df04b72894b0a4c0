"""What this trial advises for the next, in one short list: blocks, readings, raters."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import pandas as pd

from wintersward.report.next_visits import VISITS
from wintersward.report.numbers import counted, day_text, decimals_for, text
from wintersward.report.said import Said, Sentence, number, row_at, value_at
from wintersward.report.variance_sharing import reading_noun
from wintersward.report.views import in_sentence, level_label, measure_view
from wintersward.report.words import difference_text
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["next_trial_context", "next_trial_words"]

Say = Callable[[pd.DataFrame, int, Definition], Sentence]

_END = "at an end"
_UNITS = {"blocks": "block", "rows": "row", "replicates": "plot of each treatment"}


def next_trial_context(page: Page) -> dict[str, Any]:
    """Fill the part on a next trial; it says in one sentence why there is no advice.

    Parameters
    ----------
    page : Page
        Its table ``next_trial``.
    """
    rows = page.tables.get("next_trial")
    words = [] if rows is None else next_trial_words(rows, page.definition)
    tested = page.definition.layout.tested
    why = ""
    if page.waiting:
        why = "Advice on a next trial is given once the comparison no longer waits."
    elif not words:
        why = (
            "These data give no further advice on a next trial."
            if tested
            else "Its measures give no advice of their own."
        )
    return {"next_trial": {"why": why, "words": words, "tested": tested}}


def next_trial_words(rows: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say each piece of advice in a sentence or two.

    Parameters
    ----------
    rows : DataFrame
        Table ``next_trial`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        Blocks first, then readings and raters, then what to look at longer, oftener or as well,
        then measures that told nothing; dates of one measure on which it did, in one sentence.
    """
    order, measures = [*_SAID, _END], ["", *definition.measures]
    places = sorted(
        map(int, rows.index),
        key=lambda at: (
            order.index(row_at(rows, at)["advice"]),
            measures.index(row_at(rows, at)["measure"]),
            str(row_at(rows, at)["date"]),
        ),
    )
    ends: dict[str, list[int]] = {}
    for at in places:
        if row_at(rows, at)["advice"] == _END:
            ends.setdefault(str(row_at(rows, at)["measure"]), []).append(at)
    said = [
        _SAID[advice](rows, at, definition)
        for at in places
        if (advice := str(row_at(rows, at)["advice"])) != _END
    ]
    return said + [_at_an_end(rows, each, definition) for each in ends.values()]


def _number(rows: pd.DataFrame, at: int, column: str, decimals: int = 0) -> Said:
    shown = text(value_at(rows, at, column), decimals)
    return number("next_trial", rows, at, column, shown)


def _amount(rows: pd.DataFrame, at: int, definition: Definition, column: str) -> Said:
    """Write a difference of the row's measure in the reader's unit."""
    view = measure_view(definition, str(row_at(rows, at)["measure"]))
    found = view.difference(value_at(rows, at, column))
    shown = view.amount(text(found, decimals_for(abs(found) / 8)))
    return number("next_trial", rows, at, column, shown)


def _named(rows: pd.DataFrame, at: int, definition: Definition) -> dict[str, object]:
    row = row_at(rows, at)
    name, day = str(row["measure"]), row["date"]
    said = {"label": measure_view(definition, name).label, "noun": reading_noun(definition, name)}
    return {**said, "day": "" if pd.isna(day) else day_text(day)}


def _blocks(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(rows, at)
    one = _UNITS[str(row["unit"])]
    many = f"{one}s" if " " not in one else one.replace("plot", "plots", 1)
    parts: dict[str, object] = {
        "many": many,
        "matters": difference_text(
            definition, str(row["measure"]), definition.analysis.primary.matters_from.value
        ),
        "now": _number(rows, at, "now"),
    }
    grounds = " on each ground" if definition.layout.grounds else ""
    for name in ("value", "cautious"):
        there = math.isfinite(value_at(rows, at, name))
        parts[name] = _number(rows, at, name) if there else "more than 60"
    return Sentence(
        "With the spread of this trial, {value} {many}" + grounds + " see a true difference of "
        "{matters} with a chance of 80 %; this trial had {now}. The spread is known from few "
        "plots: planned with a larger one, which the true spread exceeds in one of five cases, it "
        "takes {cautious}.",
        parts,
    )


def _plots_first(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    parts = _named(rows, at, definition)
    parts |= {name: _amount(rows, at, definition, name) for name in ("value", "now")}
    parts["many"] = "more plots"
    if math.isfinite(value_at(rows, at, "many")):
        parts["many"] = Sentence("{many} blocks", {"many": _number(rows, at, "many")})
    return Sentence(
        "{label}: more plots before more {noun}s of a plot. The difference that is seen with a "
        "chance of 80 % falls from {now} to {value} with {many}, and no further with twice the "
        "{noun}s.",
        parts,
    )


def _readings_first(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    parts = _named(rows, at, definition)
    parts |= {name: _amount(rows, at, definition, name) for name in ("value", "now")}
    return Sentence(
        "{label}: more {noun}s of a plot before more plots. Twice as many bring the difference "
        "that is seen with a chance of 80 % from {now} to {value}, further than more plots do.",
        parts,
    )


def _fewer(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    parts = _named(rows, at, definition)
    parts |= {"value": _number(rows, at, "value", 1), "now": _number(rows, at, "now")}
    return Sentence(
        "{label}: half of the {now} {noun}s of a plot would do. The difference that is seen with a "
        "chance of 80 % becomes {value} % larger; the time saved goes further in more plots.",
        parts,
    )


def _raters(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    parts = {**_named(rows, at, definition), "now": _number(rows, at, "now")}
    if not math.isfinite(value_at(rows, at, "value")):
        return Sentence(
            "{label}: the mean of {now} raters told the plots of one date no better apart than the "
            "raters themselves differ. Practise with the anchors in hand on other turf before this "
            "measure is asked again.",
            parts,
        )
    parts["value"] = _number(rows, at, "value")
    return Sentence(
        "{label}: on one date the mean of {now} raters falls short of a reliability of 0.7 "
        "(Leinauer 2015, a mark for ratings of turf). Raters like these would reach it with "
        "{value}; anchors in hand and a trial round on other turf cost less.",
        parts,
    )


def _second(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    parts = _named(rows, at, definition)
    lost = int(value_at(rows, at, "now"))
    parts |= {
        "value": _number(rows, at, "value", 1),
        "now": number("next_trial", rows, at, "now", counted(lost, "value")),
    }
    return Sentence(
        "{label}: {now}, {value} % of those planned, could not be used, and with one {noun} a plot "
        "its plot went with it. A second {noun} of every plot costs little and keeps the plot.",
        parts,
    )


def _same(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    parts = {**_named(rows, at, definition), "now": _number(rows, at, "now")}
    return Sentence(
        "{label} on {day}: all {now} plots had the same value, which told nothing. Leave the date "
        "out, or take what can still differ then.",
        parts,
    )


def _at_an_end(rows: pd.DataFrame, places: Sequence[int], definition: Definition) -> Sentence:
    """Say on which dates, and of which treatment, nearly all units were at one end of a scale."""
    parts = _named(rows, places[0], definition)
    names = []
    for i, at in enumerate(places):
        row = row_at(rows, at)
        level = str(row["level"]) if isinstance(row["level"], str) else ""
        of = f" with {in_sentence(level_label(definition, level))}" if level else ""
        parts[f"one{i}"] = Sentence(
            "on {day} {value} % of {now} plots{of}",
            {
                "day": day_text(row["date"]),
                "value": _number(rows, at, "value"),
                "now": _number(rows, at, "now"),
                "of": of,
            },
        )
        names.append(f"{{one{i}}}")
    listed = ", ".join(names)
    return Sentence(
        "{label}: " + listed + " stood at one end of the scale, where none can differ. An earlier "
        "or a later date tells more.",
        parts,
    )


def _apart(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    parts = {**_named(rows, at, definition), "now": _number(rows, at, "now")}
    form = (
        "{label}: on none of {now} dates did an interval against a control leave out zero. That is "
        "no sign that the treatments are alike"
    )
    if int(value_at(rows, at, "now")) == 1:
        form = form.replace("none of {now} dates", "its {now} date").replace(
            "did an interval against a control leave out zero",
            "every interval against a control holds zero",
        )
    if math.isfinite(value_at(rows, at, "value")):
        parts["value"] = _amount(rows, at, definition, "value")
        form += (
            ": a true difference of {value} would have been seen with a chance of 80 %, a smaller "
            "one less surely. Leave the measure out only if a smaller one would not matter"
        )
    return Sentence(form + ".", parts)


def _unlike(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    parts = {**_named(rows, at, definition), "value": _number(rows, at, "value", 2)}
    return Sentence(
        "{label} did not follow the photo from plot to plot on one date (correlation {value}, its "
        "interval holds zero). Say before the next trial which of the two the question is about.",
        parts,
    )


# In the order of the page.
_SAID: dict[str, Say] = {
    "blocks": _blocks,
    "plots before readings": _plots_first,
    "readings before plots": _readings_first,
    "fewer readings": _fewer,
    "raters": _raters,
    "a second reading": _second,
    **VISITS,
    "no spread": _same,
    "not told apart": _apart,
    "unlike the photo": _unlike,
}
