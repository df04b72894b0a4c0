"""Recovery from an aeration in sentences: holes that closed, turf that was green again."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pandas as pd

from wintersward.analysis.arrivals import AFTER, ON_OR_BEFORE
from wintersward.decisions.closure import aerated_on, closure_measures, cover_measure
from wintersward.decisions.closure_times import NOT_KNOWN
from wintersward.report.bounds import Side, bounded
from wintersward.report.comparing import difference_decimals
from wintersward.report.interactions import crossing_of
from wintersward.report.numbers import (
    counted,
    day_text,
    level_text,
    listed_words,
    table_decimals,
    text,
)
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.views import (
    in_sentence,
    level_label,
    measure_view,
    unit_kind,
    within_label,
)
from wintersward.report.words import amount_parts
from wintersward.trial.schema import Definition

__all__ = ["asked_rows", "contrast_words", "contrasted", "gained_words", "green_words", "read_off"]

GAINED, CONTRAST = "closure_gained", "closure_contrast"
_SIDES: dict[str, Side] = {"at least": "at least", "at most": "at most"}


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


def gained_words(gained: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say how many days sooner holes closed than with the control, for what was asked about.

    Parameters
    ----------
    gained : DataFrame
        The table ``closure_gained``.
    definition : Definition
        The trial.
    """
    holes = gained[gained["measure"].isin(closure_measures(definition))]
    decimals = table_decimals(holes["se"])
    return [_gained(gained, at, definition, decimals) for at in asked_rows(holes, definition)]


def _gained(gained: pd.DataFrame, at: int, definition: Definition, decimals: int) -> Sentence:
    row = row_at(gained, at)
    says, days = str(row["says"]), float(row["days"])
    if ":" in str(row["left"]):
        return _crossed(gained, at, definition, decimals)
    within = in_sentence(within_label(definition, str(row["within"] or "")))
    parts: dict[str, object] = {
        "start": f"With {within}, holes" if within else "Holes",
        "share": number(GAINED, gained, at, "level", f"{float(row['level']):g}"),
        "left": in_sentence(level_label(definition, str(row["left"]))),
        "right": in_sentence(level_label(definition, str(row["right"]))),
        "level": level_text(definition.analysis.alpha),
        "why": _bounds(row, definition),
    }
    if not math.isfinite(days):
        form = "{start} were {share} % closed at times with {left} and with {right} that these data"
        return Sentence(form + " cannot tell apart{why}.", parts)
    parts |= _days(gained, at, decimals)
    parts["when"] = "sooner" if days >= 0 else "later"
    form = "{start} were {share} % closed {amount} {when} with {left} than with {right}"
    if says == "exactly" and math.isfinite(float(row["lower"])):
        return Sentence(form + " ({level} interval {interval}).", parts)
    return Sentence(form + "{why}; no interval can be given.", parts)


def _crossed(gained: pd.DataFrame, at: int, definition: Definition, decimals: int) -> Sentence:
    """Say how many days longer the lead was with one tine than with the other."""
    row = row_at(gained, at)
    found = crossing_of(definition, str(row["effect"]), str(row["left"]), str(row["right"]))
    names = [in_sentence(level_label(definition, one)) for one in (*found.outer, *found.inner)]
    parts: dict[str, object] = dict(zip(("left", "right", "first", "second"), names, strict=True))
    parts["level"] = level_text(definition.analysis.alpha)
    days = float(row["days"])
    days, lower, upper = (float(row[name]) for name in ("days", "lower", "upper"))
    form = "Whether the lead of {left} over {right} was longer with {first} than with {second}, "
    if not math.isfinite(days):
        return Sentence(form + "these data cannot tell: too many days are bounds.", parts)
    parts |= _days(gained, at, decimals)
    parts["more"] = "longer" if days >= 0 else "shorter"
    lead = "the lead of {left} over {right} was {amount} {more} with {first} than with {second}"
    if not math.isfinite(lower):
        return Sentence("On these plots " + lead + "; no interval can be given.", parts)
    one_side = lower > 0 or upper < 0
    lead = f"{lead[0].upper()}{lead[1:]} ({{level}} interval {{interval}})"
    return Sentence(lead + ("." if one_side else ": these data cannot tell whether it was."), parts)


def _days(gained: pd.DataFrame, at: int, decimals: int) -> dict[str, object]:
    """Write days and their interval; a bound is rounded to the side on which it holds."""
    row = row_at(gained, at)
    days, says = value_at(gained, at, "days"), str(row["says"])
    shown = bounded(days, decimals, _SIDES[says]) if says in _SIDES else days
    # What is at least five days sooner is at most five days later, seen from the other side.
    turned = {"at least": "at most", "at most": "at least"}
    bound = says if days >= 0 else turned.get(says, says)
    written = text(abs(shown), decimals)
    unit = "day" if written == "1" else "days"
    before = f"{bound} " if says in _SIDES else ""
    amount = Sentence(
        "{before}{n} {unit}",
        {"before": before, "n": number(GAINED, gained, at, "days", written), "unit": unit},
    )
    turn = -1.0 if days < 0 else 1.0
    ends = ("lower", "upper") if days >= 0 else ("upper", "lower")
    made = [
        number(GAINED, gained, at, name, text(turn * float(row[name]), decimals)) for name in ends
    ]
    interval = Sentence("{low} to {high}", {"low": made[0], "high": made[1]})
    return {"amount": amount, "interval": interval}


def _bounds(row: pd.Series, definition: Definition) -> str:
    """Say which units give a bound only."""
    kind, said = unit_kind(definition, ":".join(definition.treatments)), []
    for side in ("left", "right"):
        label = in_sentence(level_label(definition, str(row[side])))
        for name, words in (
            ("before", "there at the first visit after the aeration"),
            ("after", "not there at the last visit"),
        ):
            many = int(row[f"{side}_{name}"])
            if many:
                of = counted(int(row[f"units_{side}"]), kind)
                said.append(f"{counted(many, 'x').split()[0]} of {of} with {label} {words}")
    return f" ({listed_words(said)})" if said else ""


def contrasted(definition: Definition) -> list[str]:
    """Name the measures in the order in which contrasts are told: hole closure first."""
    return list(dict.fromkeys([*closure_measures(definition), *definition.measures]))


def contrast_words(contrast: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say on the last date with an interval how much the tines' difference depended on the cover.

    Parameters
    ----------
    contrast : DataFrame
        The table ``closure_contrast``.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a measure, for what was asked about.
    """
    said = []
    known = contrast[contrast["lower"].notna() & contrast["upper"].notna()]
    for measure in contrasted(definition):
        own = known[known["measure"] == measure]
        rows = asked_rows(own[own["date"] == own["date"].max()], definition) if len(own) else []
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
    parts["level"] = level_text(definition.analysis.alpha)
    form = (
        "On {day} the difference in {noun} (‘{first}’ minus ‘{second}’) was {estimate} {more} with "
        "{left} than with {right} ({level} interval {interval})"
    )
    one_side = float(row["lower"]) > 0 or float(row["upper"]) < 0
    return Sentence(form + ("." if one_side else ": these data cannot tell."), parts)


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
    kind, first = unit_kind(definition, ":".join(definition.treatments)), after["date"].min()
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
    return (
        f"Days count from the aeration, {day_text(on)}, and are read off straight lines between "
        f"visits {apart} {unit} apart. Holes that were all closed at a visit may have been so some "
        "days before it, which no interval takes in."
    )
