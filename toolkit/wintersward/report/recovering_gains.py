"""How much sooner holes closed, in sentences that tell the visits from the turf."""

from __future__ import annotations

import datetime as dt
import math

import pandas as pd

from wintersward.decisions.closure import aerated_on, closure_measures
from wintersward.report.bounds import Side, bounded
from wintersward.report.interactions import crossing_of
from wintersward.report.numbers import (
    counted,
    days_listed,
    in_words,
    level_text,
    listed_words,
    table_decimals,
    text,
)
from wintersward.report.recovering_words import asked_rows, plot_word
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.views import in_sentence, level_label, within_label
from wintersward.trial.schema import Definition

__all__ = ["GAINED", "allowed_days", "gained_words", "visits_rule"]

GAINED = "closure_gained"
_SIDES: dict[str, Side] = {"at least": "at least", "at most": "at most"}
# What is at least five days sooner is at most five days later, seen from the other side.
_TURNED = {"at least": "at most", "at most": "at least"}


def visits_rule(row: pd.Series) -> bool:
    """Tell whether the visits around a row's days lie further apart than its interval is wide.

    Parameters
    ----------
    row : Series
        Of the table ``closure_gained``.
    """
    return float(row["apart"]) > float(row["upper"]) - float(row["lower"])


def gained_words(
    gained: pd.DataFrame, times: pd.DataFrame, definition: Definition
) -> list[Sentence]:
    """Say how many days sooner holes closed than with the control, for what was asked about.

    Parameters
    ----------
    gained, times : DataFrame
        The tables ``closure_gained`` and ``closure_times``.
    definition : Definition
        The trial.
    """
    holes = gained[gained["measure"].isin(closure_measures(definition))]
    decimals = table_decimals(holes["se"])
    return [
        _crossed(gained, at, definition, decimals)
        if ":" in str(gained.at[at, "left"])
        else _gained(gained, at, times, definition, decimals)
        for at in asked_rows(holes, definition)
    ]


def _gained(
    gained: pd.DataFrame, at: int, times: pd.DataFrame, definition: Definition, decimals: int
) -> Sentence:
    row = row_at(gained, at)
    within = in_sentence(within_label(definition, str(row["within"] or "")))
    parts: dict[str, object] = {
        "start": f"With {within}, holes" if within else "Holes",
        "share": number(GAINED, gained, at, "level", f"{float(row['level']):g}"),
        "left": in_sentence(level_label(definition, str(row["left"]))),
        "right": in_sentence(level_label(definition, str(row["right"]))),
        "level": level_text(definition.analysis.alpha),
        "why": _bounds(row, definition),
    }
    if not math.isfinite(float(row["days"])):
        form = "{start} were {share} % closed at times with {left} and with {right} that these data"
        return Sentence(form + " cannot tell apart{why}.", parts)
    parts |= _days(gained, at, decimals)
    parts["when"] = "sooner" if float(row["days"]) >= 0 else "later"
    amount = "{amount} {when} with {left} than with {right}"
    form = "{start} were {share} % closed " + amount
    if row["says"] != "exactly" or not math.isfinite(float(row["lower"])):
        return Sentence(form + "{why}; no interval can be given.", parts)
    if not visits_rule(row):
        return Sentence(form + " ({level} interval {interval}).", parts)
    form = (
        "{start} were {share} % closed about " + amount + ", read off straight lines between "
        "visits up to {apart} days apart. By the visits themselves they got there between "
        "{from_left} with {left} and between {from_right} with {right}: the lead may be anything "
        "{allowed}."
    )
    parts["apart"] = number(GAINED, gained, at, "apart", f"{float(row['apart']):g}")
    parts["allowed"] = allowed_days(gained, at, ("sooner", "later"))
    for side in ("left", "right"):
        parts[f"from_{side}"] = _between(times, row, side, definition)
    return Sentence(form, parts)


def _between(times: pd.DataFrame, row: pd.Series, side: str, definition: Definition) -> str:
    """Name the visits between which all units of one side got there."""
    own = times[(times["measure"] == row["measure"]) & (times["censored"].fillna("") == "")]
    inside = str(row["within"] or "").split("=")
    own = own[own[str(row["effect"])].astype(str) == str(row[side])]
    if len(inside) == 2:
        own = own[own[inside[0]].astype(str) == inside[1]]
    on = aerated_on(definition)
    ends = (own["last_below"].min(), own["first_there"].max())
    return days_listed([on + dt.timedelta(days=int(day)) for day in ends]) if on else ""


def allowed_days(gained: pd.DataFrame, at: int, words: tuple[str, str]) -> Sentence:
    """Write what the visits alone allow, in whole days that hold it; words for more, and for less.

    Notes
    -----
    Where the days found are below zero all is told the other way round.
    """
    days = value_at(gained, at, "days")
    names = ("visits_low", "visits_high") if days >= 0 else ("visits_high", "visits_low")
    turn = 1.0 if days >= 0 else -1.0
    more, less = words if days >= 0 else words[::-1]
    low = bounded(turn * value_at(gained, at, names[0]), 0, "at least")
    high = bounded(turn * value_at(gained, at, names[1]), 0, "at most")
    parts: dict[str, object] = {
        "low": number(GAINED, gained, at, names[0], text(abs(low), 0)),
        "high": number(GAINED, gained, at, names[1], text(high, 0)),
        "unit_low": "day" if abs(low) == 1 else "days",
        "unit": "day" if high == 1 else "days",
        "more": more,
        "less": less,
    }
    if low < 0:
        return Sentence("from {low} {unit_low} {less} to {high} {more}", parts)
    return Sentence("from {low} to {high} {unit}" if low else "up to {high} {unit}", parts)


def _crossed(gained: pd.DataFrame, at: int, definition: Definition, decimals: int) -> Sentence:
    """Say how many days longer the lead was with one tine than with the other."""
    row = row_at(gained, at)
    found = crossing_of(definition, str(row["effect"]), str(row["left"]), str(row["right"]))
    names = [in_sentence(level_label(definition, one)) for one in (*found.outer, *found.inner)]
    parts: dict[str, object] = dict(zip(("left", "right", "first", "second"), names, strict=True))
    parts["level"] = level_text(definition.analysis.alpha)
    days, lower, upper = (float(row[name]) for name in ("days", "lower", "upper"))
    if not math.isfinite(days):
        parts["why"] = str(row["note"] or "") or "too many days are bounds"
        form = "Whether the lead of {left} over {right} was longer with {first} than with {second}"
        return Sentence(form + ", these data cannot tell: {why}.", parts)
    parts |= _days(gained, at, decimals)
    parts["more"] = "longer" if days >= 0 else "shorter"
    lead = "the lead of {left} over {right} was {amount} {more} with {first} than with {second}"
    if not math.isfinite(lower):
        return Sentence("On these plots " + lead + "; no interval can be given.", parts)
    unsure = ": these data cannot tell whether it was."
    if visits_rule(row):
        parts["allowed"] = allowed_days(gained, at, ("longer", "shorter"))
        ends = [value_at(gained, at, name) for name in ("visits_low", "visits_high")]
        form = "Read off the same lines, " + lead.replace("{amount}", "about {amount}")
        form += "; by the visits themselves it may be anything {allowed}"
        form += "." if ends[0] > 0 or ends[1] < 0 else unsure
        return Sentence(form, parts)
    one_side = lower > 0 or upper < 0
    lead = f"{lead[0].upper()}{lead[1:]} ({{level}} interval {{interval}})"
    return Sentence(lead + ("." if one_side else unsure), parts)


def _days(gained: pd.DataFrame, at: int, decimals: int) -> dict[str, object]:
    """Write days and their interval; a bound is rounded to the side on which it holds."""
    row = row_at(gained, at)
    days, says = value_at(gained, at, "days"), str(row["says"])
    shown = bounded(days, decimals, _SIDES[says]) if says in _SIDES else days
    bound = says if days >= 0 else _TURNED.get(says, says)
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
    kind, said = plot_word(definition), []
    for side in ("left", "right"):
        label = in_sentence(level_label(definition, str(row[side])))
        if not int(row[f"units_{side}"]):
            said.append(f"no {kind} with {label} seen")
        for name, words in (
            ("before", "there at the first visit after the aeration"),
            ("after", "not there at the last visit"),
        ):
            many = int(row[f"{side}_{name}"])
            if many:
                of = counted(int(row[f"units_{side}"]), kind)
                said.append(f"{in_words(many)} of {of} with {label} {words}")
    return f" ({listed_words(said)})" if said else ""
