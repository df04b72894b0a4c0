"""Days gained, in whole days and in words that say how much can be told."""

from __future__ import annotations

import math

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import in_order, pair_text, said_or_dash
from wintersward.report.numbers import (
    Said,
    Sentence,
    counted,
    day_text,
    interval_said,
    level_text,
    listed_words,
    number,
    p_text,
    row_at,
    text,
    value_at,
)
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    MeasureView,
    in_sentence,
    level_label,
    measure_view,
    plots_with,
    unit_of,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["days_gained_table", "days_gained_words", "dipped_words", "level_reached"]


def level_reached(view: MeasureView, si: float) -> str:
    """Write the stated level: ``60 % green cover``, ``a colour rating of 6``."""
    shown = f"{view.value(si):.4g}"
    if view.rated:
        article = "an" if view.noun[:1] in "aeiou" else "a"
        return f"{article} {view.noun} of {shown}"
    return f"{shown} {view.unit} {view.noun}"


def days_gained_words(gained: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say how many days earlier each treatment reached the stated level than the control.

    Parameters
    ----------
    gained : DataFrame
        The table ``days_gained``.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a treatment; bounds are said as bounds, and what cannot be told is said so.
    """
    return [_gained(gained, at, definition) for at in in_order(gained, definition)]


def _gained(gained: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(gained, at)
    view = measure_view(definition, str(row["measure"]))
    parts: dict[str, object] = {
        "left": plots_with(definition, str(row["left"])),
        "right": plots_with(definition, str(row["right"])),
        "goal": level_reached(view, float(row["level"])),
        "level": level_text(definition.analysis.alpha),
    }
    why = _bounds(gained, at, definition)
    parts["why"] = f": {why}" if why else ""
    says, days = str(row["says"]), float(row["days"])
    if says not in ("exactly", "at least", "at most") or not math.isfinite(days):
        form = "How many days earlier {left} reached {goal} than {right} cannot be told{why}."
        return Sentence(form, parts)
    parts["amount"] = _amount(gained, at, says)
    form = "We estimate that {left} reached {goal} {amount} than {right}"
    if says != "exactly":
        return Sentence(form + "{why}.", parts)
    if not (math.isfinite(float(row["lower"])) and math.isfinite(float(row["upper"]))):
        return Sentence(form + " (no interval{why}).", parts)
    parts["interval"] = _interval(gained, at)
    return Sentence(form + " ({level} interval {interval}).", parts)


def _amount(gained: pd.DataFrame, at: int, says: str) -> Sentence:
    """Write whole days; a bound is rounded to its safe side, and turned where it is below zero."""
    days = value_at(gained, at, "days")
    whole = {"at least": math.floor(days), "at most": math.ceil(days)}.get(says, round(days))
    side = "earlier" if whole >= 0 else "later"
    bound = "" if says == "exactly" else says
    if whole < 0 and bound:
        bound = {"at least": "at most", "at most": "at least"}[bound]
    shown = str(abs(whole))
    said = number("days_gained", gained, at, "days", shown)
    parts: dict[str, object] = {"n": said, "unit": "day" if shown == "1" else "days"}
    parts |= {"side": side, "bound": f"{bound} " if bound else ""}
    return Sentence("{bound}{n} {unit} {side}", parts)


def _interval(gained: pd.DataFrame, at: int) -> Sentence:
    """Write an interval in whole days; an end near zero keeps a decimal, so as not to touch it."""
    lower, upper = (value_at(gained, at, name) for name in ("lower", "upper"))
    decimals = int(any(end != 0 and abs(end) < 0.5 for end in (lower, upper)))

    def said(name: str, value: float) -> Said:
        return number("days_gained", gained, at, name, text(abs(value), decimals))

    parts: dict[str, object] = {"lower": said("lower", lower), "upper": said("upper", upper)}
    if lower >= 0:
        return Sentence("{lower} to {upper} days", parts)
    if upper <= 0:
        return Sentence("{upper} to {lower} days later", parts)
    return Sentence("from {lower} days later to {upper} days earlier", parts)


def _bounds(gained: pd.DataFrame, at: int, definition: Definition) -> str:
    """Say which units give a bound only: there at the first visit, or not at the last."""
    row, said = row_at(gained, at), []
    factor = definition.factor_of(str(row["left"]))
    first = dates_meant(definition.dates, "covers_off")[0]
    kind = unit_of(definition, factor, first)[0]
    kind = "unit" if kind == "block" else kind
    for side in ("left", "right"):
        label = in_sentence(level_label(definition, str(row[side])))
        of = f"of {counted(int(row[f'units_{side}']), kind)} with {label}"
        for name, words in (
            ("before", "at the level already at the first visit"),
            ("after", "still below it at the last visit"),
        ):
            many = int(row[f"{side}_{name}"])
            if many:
                verb = "was" if many == 1 else "were"
                said.append(f"{counted(many, 'x').split()[0]} {of} {verb} {words}")
    return listed_words(said) if said else ""


def days_gained_table(gained: pd.DataFrame, definition: Definition) -> Markup:
    """Show days gained with the counts behind them; empty where there are none."""
    if gained.empty:
        return Markup("")
    view = measure_view(definition, str(gained["measure"].iloc[0]))
    interval = f"{level_text(definition.analysis.alpha)} interval"
    heads = [Head("Treatments"), Head("says"), Head("days gained", "days", True)]
    heads += [Head(interval, "days", True), Head("p", "", True)]
    groups = ("first, of units", "second, of units")
    for group in groups:
        heads += [Head("before the first visit", "", True, group)]
        heads += [Head("never", "", True, group), Head("all", "", True, group)]
    lines = []
    for at in in_order(gained, definition):
        row = row_at(gained, at)
        said = {
            n: said_or_dash("days_gained", gained, at, n, text(float(row[n]), 0, signed=True))
            for n in ("days", "lower", "upper")
        }
        counts = [f"{s}_{n}" for s in ("left", "right") for n in ("before", "after")]
        counts.insert(2, "units_left")
        cells = (
            str(row["says"]),
            said["days"],
            interval_said({n: said[n] for n in ("lower", "upper")}),
            said_or_dash("days_gained", gained, at, "p", p_text(float(row["p"]))),
            *(
                said_or_dash("days_gained", gained, at, n, f"{float(row[n]):.0f}")
                for n in (*counts, "units_right")
            ),
        )
        lines.append(Row((pair_text(definition, row),), cells))
    off = day_text(dates_meant(definition.dates, "covers_off")[0])
    goal = level_reached(view, float(gained["level"].iloc[0]))
    note = (
        f"The first day on or after {off}, when the covers came off, on which a unit reached "
        f"{goal}, between visits by a straight line. Above zero the treatment named first was "
        "earlier. Units that were there before the first visit, or never, are kept as bounds."
    )
    return html_table(f"Days gained to {goal}", heads, lines, note)


def dipped_words(arrivals: pd.DataFrame, definition: Definition) -> str:
    """Say which units fell below the level again after they had reached it; empty for none."""
    rows = arrivals[arrivals["dipped"] == "yes"]
    if rows.empty:
        return ""
    names = [
        f"{row['unit_name']} ({_labels(definition, str(row['treatment']))})"
        for _, row in rows.iterrows()
    ]
    return f"Below the level again later, their first arrival counts: {listed_words(names)}."


def _labels(definition: Definition, treatment: str) -> str:
    return in_sentence(level_label(definition, treatment))
