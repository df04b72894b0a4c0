"""Days gained, in whole days and in words that say how much can be told."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable

import pandas as pd
from markupsafe import Markup

from wintersward.report.bounds import Side, bounded
from wintersward.report.comparisons import in_order, pair_text, said_or_dash
from wintersward.report.numbers import (
    counted,
    day_text,
    in_words,
    level_text,
    listed_words,
    p_text,
    text,
)
from wintersward.report.said import Said, Sentence, interval_said, number, row_at, value_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    MeasureView,
    begins,
    factor_label,
    in_sentence,
    level_label,
    measure_view,
    others_applied,
    plots_with,
    stands_on,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = [
    "averaging_words",
    "days_gained_table",
    "days_gained_words",
    "dipped_words",
    "level_reached",
    "read_off_words",
    "recovery_words",
]


def level_reached(view: MeasureView, si: float) -> str:
    """Write the stated level: ``60 % green cover``, ``a colour rating of 6``."""
    shown = f"{view.value(si):.4g}"
    if view.rated:
        article = "an" if view.noun[:1] in "aeiou" else "a"
        return f"{article} {view.noun} of {shown}"
    return f"{shown} {view.unit} {view.noun}"


def days_gained_words(
    gained: pd.DataFrame, arrivals: pd.DataFrame, definition: Definition
) -> list[Sentence]:
    """Say how many days earlier each treatment reached the stated level than the control.

    Parameters
    ----------
    gained, arrivals : DataFrame
        The tables ``days_gained`` and ``arrivals``.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a treatment; bounds are said as bounds, and what cannot be told is said so.
    """
    return [_gained(gained, arrivals, at, definition) for at in in_order(gained, definition)]


def _gained(
    gained: pd.DataFrame, arrivals: pd.DataFrame, at: int, definition: Definition
) -> Sentence:
    row = row_at(gained, at)
    view = measure_view(definition, str(row["measure"]))
    parts: dict[str, object] = {
        "left": plots_with(definition, str(row["left"])),
        "right": plots_with(definition, str(row["right"])),
        "goal": level_reached(view, float(row["level"])),
        "level": level_text(definition.analysis.alpha),
    }
    why = _bounds(gained, at, definition)
    says, days = str(row["says"]), float(row["days"])
    if says not in _ALSO or not math.isfinite(days):
        parts["why"] = f": {why}" if why else ""
        form = "How many days earlier {left} reached {goal} than {right} cannot be told{why}."
        return Sentence(form, parts)
    amount = _amount(gained, at, says)
    parts |= {"amount": amount, "why": why}
    parts["blocks"] = _by_block(arrivals, str(row["left"]), str(row["right"]))
    if math.isfinite(float(row["lower"])) and math.isfinite(float(row["upper"])):
        parts["interval"] = _interval(gained, at)
        form = "We estimate that {left} reached {goal} {amount} than {right}"
        return Sentence(form + " ({level} interval {interval}).{blocks}", parts)
    form = "In this trial {left} reached {goal} {amount} than {right}, on average.{blocks}"
    if says != "exactly" and why:
        parts["also"] = str(amount.parts["more"]).strip().capitalize()
        form += " ‘{also}’ counts for the plots of this trial: {why}."
    return Sentence(form + " No interval can tell how far the true gain lies from that.", parts)


# What stands behind a number of days that is a bound.
_ALSO = {"exactly": "", "at least": "or more", "at most": "or less"}


def _by_block(arrivals: pd.DataFrame, left: str, right: str) -> str:
    """Say in how many blocks the first treatment was there first; empty without such pairs.

    Notes
    -----
    Days are told where a block has one unit of each. A unit not there at the last visit makes the
    other's lead a bound: it was longer.
    """
    leads: list[tuple[float, bool]] = []
    pairs = 0
    for block, here in arrivals.groupby("block"):
        one, other = (here[here["treatment"] == level] for level in (left, right))
        if len(one) != 1 or len(other) != 1 or not str(block):
            continue
        pairs += 1
        kinds = [str(x["censored"].fillna("").iloc[0]) for x in (one, other)]
        days = float(other["days"].iloc[0]) - float(one["days"].iloc[0])
        # A lead is sure where only its true size, not its side, can be hidden.
        if days > 0 and kinds[0] != "after" and kinds[1] != "on or before":
            leads.append((days, any(kinds)))
    if not pairs:
        return ""
    told = counted(pairs, "block")
    if not leads:
        return f" In none of {told} were they surely first."
    start = f"In all {told}" if len(leads) == pairs else f"In {len(leads)} of {told}"
    bound = " or more" if any(more for _, more in leads) else ""
    least, most = (_whole(end(leads)[0], bool(bound)) for end in (min, max))
    ends = least if least == most else f"{least} to {most}"
    return f" {start} they were there first, by {ends} {'day' if ends == '1' else 'days'}{bound}."


def _whole(days: float, bound: bool) -> str:
    """Write a lead in whole days; what is said to be "or more" is rounded down."""
    shown = bounded(days, 0, "at least") if bound else round(days)
    return f"{shown:.0f}" if shown else "less than 1"


def _amount(gained: pd.DataFrame, at: int, says: str) -> Sentence:
    """Write whole days as the table does; the words of a bound turn where it is below zero."""
    days = value_at(gained, at, "days")
    held, decimals = _shown_days(days, says)
    shown = text(abs(held), decimals)
    more = _ALSO[says]
    if days < 0 and more:
        more = {"or more": "or less", "or less": "or more"}[more]
    parts: dict[str, object] = {"n": number("days_gained", gained, at, "days", shown)}
    parts |= {"unit": "day" if shown == "1" else "days", "more": f" {more}" if more else ""}
    parts["side"] = "later" if days < 0 else "earlier"
    return Sentence("about {n} {unit}{more} {side}", parts)


def _shown_days(days: float, says: str) -> tuple[float, int]:
    """Round days gained, a bound to the side on which it holds, and tell the decimals.

    Fewer days than one keep a decimal, so that they do not seem none.
    """
    if says not in _SIDES or not math.isfinite(days):
        return days, 0
    decimals = int(bounded(days, 0, _SIDES[says]) == 0)
    return bounded(days, decimals, _SIDES[says]), decimals


_SIDES: dict[str, Side] = {"at least": "at least", "at most": "at most"}


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
    kind = stands_on(definition, factor, first)
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
                said.append(f"{in_words(many)} {of} {verb} {words}")
    return listed_words(said) if said else ""


def read_off_words(visits: Iterable[object], definition: Definition) -> str:
    """Say what days of arrival are read off: straight lines over the days between visits.

    Parameters
    ----------
    visits : iterable of date
        Days on which the measure was observed, in any order and repeated at will.
    definition : Definition
        The trial; visits count from the day on which the covers came off.

    Returns
    -------
    str
        Without a full stop; empty with fewer than two visits.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> trial = SimpleNamespace(dates={"covers_off": pd.Timestamp("2026-03-09").date()})
    >>> read_off_words(["2026-01-15", "2026-03-10", "2026-03-16", "2026-03-24"], trial)
    'Days are read off straight lines between visits 6 to 8 days apart'
    """
    off = dates_meant(definition.dates, "covers_off")[0]
    days = sorted({pd.Timestamp(str(day)).date() for day in visits})
    days = [day for day in days if day >= off]
    gaps = sorted((after - before).days for before, after in itertools.pairwise(days))
    if not gaps:
        return ""
    apart = f"{gaps[0]}" if gaps[0] == gaps[-1] else f"{gaps[0]} to {gaps[-1]}"
    unit = "day" if apart == "1" else "days"
    return f"Days are read off straight lines between visits {apart} {unit} apart"


def recovery_words(definition: Definition, date: object) -> list[str]:
    """List which days, up to one, take in recovery from other treatments: ``after 25 March ...``.

    Parameters
    ----------
    definition : Definition
        The trial.
    date : date
        Last day that the numbers speak of.

    Returns
    -------
    list of str
        One a factor that was on the ground by then.
    """
    factor = definition.factor_of(definition.analysis.primary.levels[0])
    return [
        f"after {day_text(begins(definition, other))} take in recovery from the "
        f"{in_sentence(factor_label(definition, other))}"
        for other in others_applied(definition, factor, date)
    ]


def averaging_words(definition: Definition, date: object) -> str:
    """Say from which day on numbers are averaged over other treatments, and take in their effect.

    Parameters
    ----------
    definition : Definition
        The trial.
    date : date
        Last day that the numbers speak of.

    Returns
    -------
    str
        Empty where no other factor was on the ground by then.
    """
    factor = definition.factor_of(definition.analysis.primary.levels[0])
    said = []
    for other in others_applied(definition, factor, date):
        name = in_sentence(factor_label(definition, other))
        day = day_text(begins(definition, other))
        said.append(
            f"Days after {day} are averaged over the {name} treatments and include recovery from "
            "them."
        )
    return " ".join(said)


def days_gained_table(gained: pd.DataFrame, definition: Definition) -> Markup:
    """Show days gained with the counts behind them; empty where there are none."""
    if gained.empty:
        return Markup("")
    view = measure_view(definition, str(gained["measure"].iloc[0]))
    interval = f"{level_text(definition.analysis.alpha)} interval"
    heads = [Head("Treatments"), Head("says"), Head("days gained", "days", True)]
    heads += [Head(interval, "days", True), Head("p", "", True)]
    off = dates_meant(definition.dates, "covers_off")[0]
    kind = stands_on(definition, definition.factor_of(str(gained["left"].iloc[0])), off)
    groups = (f"{kind}s with the first", f"{kind}s with the second")
    for group in groups:
        heads += [Head("before the first visit", "", True, group)]
        heads += [Head("never", "", True, group), Head("all", "", True, group)]
    lines = []
    for at in in_order(gained, definition):
        row = row_at(gained, at)
        said = {
            n: said_or_dash("days_gained", gained, at, n, text(float(row[n]), 0, signed=True))
            for n in ("lower", "upper")
        }
        shown = text(*_shown_days(float(row["days"]), str(row["says"])), signed=True)
        said["days"] = said_or_dash("days_gained", gained, at, "days", shown)
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
    goal = level_reached(view, float(gained["level"].iloc[0]))
    note = (
        f"The first day on or after {day_text(off)}, when the covers came off, on which a {kind} "
        f"reached {goal}, between visits by a straight line. Above zero the treatment named first "
        f"was earlier. Those {kind}s that were there before the first visit, or never, are kept as "
        "bounds, and days that are a bound are rounded to the side on which it holds."
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
