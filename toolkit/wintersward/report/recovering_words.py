"""Recovery from an aeration in sentences: what covers changed, turf that was green again."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pandas as pd

from wintersward.analysis.arrivals import AFTER, NOT_KNOWN, ON_OR_BEFORE
from wintersward.decisions.closure import aerated_on, closure_measures, cover_measure
from wintersward.decisions.planner import aerating_days
from wintersward.report.comparing import difference_decimals
from wintersward.report.interactions import crossing_of
from wintersward.report.numbers import (
    counted,
    day_text,
    level_text,
    listed_words,
    text,
)
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.views import (
    factor_label,
    in_sentence,
    level_label,
    measure_view,
    unit_kind,
)
from wintersward.report.words import amount_parts
from wintersward.trial.schema import Definition

__all__ = ["asked_rows", "contrast_words", "contrasted", "green_words", "plot_word", "read_off"]

CONTRAST = "closure_contrast"


def asked_rows(rows: pd.DataFrame, definition: Definition) -> list[int]:
    """Choose the rows that speak of the treatments of the primary question.

    Parameters
    ----------
    rows : DataFrame
        Of the table ``closure_gained`` or ``closure_contrast``.
    definition : Definition
        The trial.

    Returns
    -------
    list of int
        Labels, as the file has them: within treatments of the other factor in the definition's
        order, and differences of differences last.
    """
    pairs = [set(pair) for pair in definition.analysis.primary.pairs]
    order = {name: i for i, name in enumerate(_levels(definition))}

    def rank(at: int) -> tuple[int, int]:
        row = row_at(rows, at)
        inside = str(row.get("within", "") or "").partition("=")[2]
        crossed = ":" in str(row["left"])
        return int(crossed), order.get(inside, 0)

    kept = [
        int(at)
        for at in rows.index
        if {str(rows.at[at, s]).partition(":")[0] for s in ("left", "right")} in pairs
    ]
    return sorted(kept, key=rank)


def _levels(definition: Definition) -> list[str]:
    return [name for factor in definition.treatments.values() for name in factor.levels]


def contrasted(definition: Definition) -> list[str]:
    """Name the measures in the order in which contrasts are told: hole closure first."""
    return list(dict.fromkeys([*closure_measures(definition), *definition.measures]))


def contrast_words(contrast: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say how far the tines lay apart with each cover, at the last visit up to the first use.

    Parameters
    ----------
    contrast : DataFrame
        The table ``closure_contrast``.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a measure, for what was asked about. Of a measure without an interval up to the first
        use those of the last date that has one.
    """
    said, event = [], aerating_days(definition)[1]
    known = contrast[contrast["lower"].notna() & contrast["upper"].notna()]
    for measure in contrasted(definition):
        own = known[known["measure"] == measure]
        days = pd.to_datetime(own["date"])
        early = own if event is None else own[days <= pd.Timestamp(event)]
        shown = early if len(early) else own
        rows = asked_rows(shown[shown["date"] == shown["date"].max()], definition)
        said += [_contrast(contrast, at, definition) for at in rows]
    return said


def _contrast(contrast: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(contrast, at)
    view = measure_view(definition, str(row["measure"]))
    found = crossing_of(definition, ":".join(definition.treatments), *_sides(row))
    names = [in_sentence(level_label(definition, one)) for one in (*found.outer, *found.inner)]
    parts: dict[str, object] = dict(zip(("left", "right", "first", "second"), names, strict=True))
    own = contrast[contrast["measure"] == row["measure"]]
    decimals = difference_decimals(view, own)
    # What is compared are differences: one is higher or lower than the other.
    parts |= amount_parts(CONTRAST, contrast, at, replace(view, rated=True), decimals)
    parts |= {"day": day_text(row["date"]), "noun": view.noun}
    parts["by"] = in_sentence(factor_label(definition, next(iter(definition.treatments))))
    parts["level"] = level_text(definition.analysis.alpha)
    one_side = float(row["lower"]) > 0 or float(row["upper"]) < 0
    end = "." if one_side else ": these data cannot tell whether it depends on the {by}."
    told = "({level} interval {interval})" + end
    if str(row["full"] or "") == found.inner[1]:
        form = (
            "On {day} all plots with {second} stood at 100 %, with {left} and with {right} alike; "
            "with {first}, {noun} was {estimate} {more} with {left} than with {right} "
        )
        return Sentence(form + told, parts)
    gaps = [float(row[f"gap_{side}"]) for side in ("left", "right")]
    if not all(map(math.isfinite, gaps)):
        form = (
            "On {day} the difference in {noun} (‘{first}’ minus ‘{second}’) was {estimate} {more} "
            "with {left} than with {right} "
        )
        return Sentence(form + told, parts)
    form, signed = _gap_form(gaps)
    for side in ("left", "right"):
        value = view.difference(value_at(contrast, at, f"gap_{side}"))
        shown = text(value if signed else abs(value), decimals, signed=signed)
        parts[f"gap_{side}"] = number(CONTRAST, contrast, at, f"gap_{side}", shown)
        parts[f"unit_{side}"] = f" {view.unit_after(shown)}".rstrip()
    return Sentence(form + ". The two differ by {estimate} " + told, parts)


def _gap_form(gaps: list[float]) -> tuple[str, bool]:
    """Choose the words for two differences, and whether they need a sign."""
    by = " by {gap_right}{unit_right} with {right} and by {gap_left}{unit_left} with {left}"
    if max(gaps) < 0:
        return "On {day} {first} lagged behind {second} in {noun}" + by, False
    if min(gaps) > 0:
        return "On {day} {first} was ahead of {second} in {noun}" + by, False
    form = "On {day} {noun} with {first} less that with {second} was {gap_right}{unit_right} with "
    return form + "{right} and {gap_left}{unit_left} with {left}", True


def plot_word(definition: Definition) -> str:
    """Name the unit that carries a combination of treatments, for a reader: a subplot is a plot."""
    return unit_kind(definition, ":".join(definition.treatments)).replace("subplot", "plot")


def _sides(row: pd.Series) -> tuple[str, str]:
    return str(row["left"]), str(row["right"])


def green_words(times: pd.DataFrame, closure: pd.DataFrame, definition: Definition) -> str:
    """Say when turf was as green again as before the aeration, and what that does not tell.

    Parameters
    ----------
    times, closure : DataFrame
        The tables ``closure_times`` and ``closure``.
    definition : Definition
        The trial.

    Returns
    -------
    str
        Empty where green cover was not seen on both sides of the aeration.
    """
    measure = cover_measure(definition)
    own, seen = times[times["measure"] == measure], closure[closure["measure"] == measure]
    before, after = seen[seen["days"] <= 0], seen[seen["days"] > 0]
    told = own[own["censored"].fillna("") != NOT_KNOWN]
    if measure is None or told.empty or before.empty or after.empty:
        return ""
    kind, first = plot_word(definition), after["date"].min()
    state = told["censored"].fillna("").astype(str)
    sure = told[state == ""]
    groups = [
        (
            int((state == ON_OR_BEFORE).sum()),
            f"at the first visit, {day_text(first)}",
        ),
        (len(sure), _spell(sure)),
        (int((state == AFTER).sum()), "not yet at the last visit"),
    ]
    said = [f"{words} ({counted(n, kind)})" for n, words in groups if n]
    level = f"{float(told['level'].iloc[0]):g} %"
    start = (
        f"After the aeration {measure_view(definition, measure).noun} was back at {level} of what "
        f"it had been on {day_text(before['date'].max())}, plot by plot: {listed_words(said)}."
    )
    lost = len(own) - len(told)
    if lost:
        start += f" {counted(lost, kind).capitalize()} had no value before it."
    return (
        f"{start} Leaves grow in spring whether holes close or not, so that this says nothing of "
        "the holes."
    )


def _spell(sure: pd.DataFrame) -> str:
    """Say between which days after the aeration units got there, in whole days."""
    if sure.empty:
        return ""
    first, last = round(float(sure["days"].min())), round(float(sure["days"].max()))
    ends = f"{first}" if first == last else f"{first} to {last}"
    return f"{ends} {'day' if ends == '1' else 'days'} after it"


def read_off(closure: pd.DataFrame, definition: Definition) -> str:
    """Say what days of closing are read off, and what that leaves out.

    Parameters
    ----------
    closure : DataFrame
        The table ``closure``.
    definition : Definition
        The trial.
    """
    own = closure[closure["measure"].isin(closure_measures(definition)) & (closure["days"] > 0)]
    days = sorted(set(own["days"].astype(int)))
    gaps = sorted(after - before for before, after in itertools.pairwise(days))
    on = aerated_on(definition)
    if not gaps or on is None:
        return ""
    apart = f"{gaps[0]}" if gaps[0] == gaps[-1] else f"{gaps[0]} to {gaps[-1]}"
    unit = "day" if apart == "1" else "days"
    said = (
        f"Days count from the aeration, {day_text(on)}, and are read off straight lines between "
        f"visits {apart} {unit} apart; holes that were closed at a visit may have been so some "
        "days before it."
    )
    if not definition.layout.tested:
        return said
    return (
        f"{said} Plots seen on the same visits come out alike, so that an interval from their "
        "spread is left out where the visits lie further apart than it is wide."
    )
