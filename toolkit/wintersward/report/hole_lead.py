"""Whether covered turf recovered sooner from the other tine, in the answer's own few sentences."""

from __future__ import annotations

import datetime as dt
import math

import pandas as pd

from wintersward.decisions.closure import CLOSED, closure_measures
from wintersward.decisions.planner import aerating_days
from wintersward.report.numbers import counted, day_text, in_words, text
from wintersward.report.recovering_gains import GAINED, allowed_days, visits_rule
from wintersward.report.recovering_words import asked_rows, plot_word
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.views import in_sentence, level_label
from wintersward.trial.schema import Definition

__all__ = ["hole_lead_words"]


def hole_lead_words(
    gained: pd.DataFrame, closure: pd.DataFrame, definition: Definition
) -> list[Sentence]:
    """Say how much sooner holes closed after each tine but the control, and who was there in time.

    Parameters
    ----------
    gained, closure : DataFrame
        The tables ``closure_gained`` and ``closure``.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        None where no holes were looked at, where days gained were not found, and in a
        demonstration.
    """
    holes = gained[gained["measure"].isin(closure_measures(definition))]
    if not definition.layout.tested or holes.empty:
        return []
    said, tines = list[Sentence](), dict[str, tuple[str, str]]()
    for at in asked_rows(holes, definition):
        row = row_at(gained, at)
        factor, _, tine = str(row["within"] or "").partition("=")
        if ":" in str(row["left"]) or tine == "" or tine == definition.treatments[factor].control:
            continue
        if math.isfinite(float(row["days"])):
            said.append(_lead(gained, at, tine, definition))
            tines[tine] = (factor, str(row["measure"]))
    for tine, (factor, measure) in tines.items():
        own = closure[(closure["measure"] == measure) & (closure[factor].astype(str) == tine)]
        said += _in_time(closure, own, tine, definition)
    return said


def _lead(gained: pd.DataFrame, at: int, tine: str, definition: Definition) -> Sentence:
    row, days = row_at(gained, at), value_at(gained, at, "days")
    shown = text(abs(days), 0)
    exactly = row["says"] == "exactly"
    bound = {"at least": "at most", "at most": "at least"} if days < 0 else {}
    parts: dict[str, object] = {
        "tine": in_sentence(level_label(definition, tine)),
        "share": number(GAINED, gained, at, "level", f"{value_at(gained, at, 'level'):g}"),
        "about": "about" if exactly else bound.get(str(row["says"]), str(row["says"])),
        "days": number(GAINED, gained, at, "days", shown),
        "unit": "day" if shown == "1" else "days",
        "when": "later" if days < 0 else "sooner",
    }
    for side in ("left", "right"):
        parts[side] = in_sentence(level_label(definition, str(row[side])))
    form = "After {tine}, holes were {share} % closed {about} {days} {unit} {when} with {left} "
    form += "than with {right}"
    ends = [float(row[name]) for name in ("visits_low", "visits_high")]
    if exactly and all(map(math.isfinite, ends)) and visits_rule(row):
        parts["allowed"] = allowed_days(gained, at, ("sooner", "later"))
        form += " (by the visits alone anything {allowed})"
    return Sentence(form + ".", parts)


def _in_time(
    closure: pd.DataFrame, own: pd.DataFrame, tine: str, definition: Definition
) -> list[Sentence]:
    """Count plots whose holes were closed at the last visit before the first use."""
    event, own = aerating_days(definition)[1], own[own["value"].notna()]
    if event is not None:
        own = own[pd.to_datetime(own["date"]) <= pd.Timestamp(event)]
    if own.empty:
        return []
    day = pd.to_datetime(own["date"]).max()
    own = own[pd.to_datetime(own["date"]) == day]
    least, most = (int(str(at)) for at in (own["value"].idxmin(), own["value"].idxmax()))
    there = int((own["value"] >= CLOSED).sum())
    kind, label = plot_word(definition), f"‘{level_label(definition, tine)}’"
    ends = {
        name: number("closure", closure, at, "value", text(value_at(closure, at, "value"), 0))
        for name, at in (("least", least), ("most", most))
    }
    parts: dict[str, object] = {
        "day": day_text(day) + _ahead(day.date(), event),
        "there": in_words(there, "none"),
        "of": f"{len(own)} {kind}s with {label}",
        "share": f"{CLOSED:g}",
        "verb": "was" if there < 2 else "were",
        **ends,
    }
    form = "On {day}, {there} of {of} {verb} {share} % closed ({least} to {most} %)."
    return [Sentence(form, parts)]


def _ahead(day: dt.date, event: dt.date | None) -> str:
    """Say how long before the first use a day is."""
    if event is None:
        return ""
    days = (event - day).days
    if not days:
        return ", the day of the first event"
    return f", {'the day' if days == 1 else counted(days, 'day')} before the first event"
