"""Photos checked by people: what they counted under crosses, beside the scores."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.calibrating import ANALYSIS
from wintersward.report.comparisons import pair_text, said_or_dash
from wintersward.report.numbers import day_text, listed_words, text
from wintersward.report.said import Said, Sentence, interval_said, number, row_at, value_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import in_sentence, measure_view, picture_name, rater_name
from wintersward.trial.schema import Definition, PhotoMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = [
    "APART",
    "agreed_words",
    "calibration_words",
    "found_row",
    "photos_table",
    "point_count_context",
    "points_table",
]

APART = "score less count"


def point_count_context(page: Page) -> dict[str, Any]:
    """Gather what the section about counted photos is filled with.

    Parameters
    ----------
    page : Page
        Its tables ``point_counts``, ``point_agreement``, ``calibration`` and ``sensitivity``.

    Returns
    -------
    dict
        ``uses`` tells whether the trial scores green cover from photos; ``measures`` is empty
        until somebody has counted.
    """
    definition = page.definition
    counts, agreed = page.table("point_counts"), page.table("point_agreement")
    tested = definition.layout.tested
    lines = page.table("calibration") if tested else pd.DataFrame()
    beside = page.table("sensitivity") if tested else pd.DataFrame()
    measures = [
        {
            "label": measure_view(definition, name).label,
            "picture": page.figure(picture_name("point_count", name)),
            "words": agreed_words(agreed, counts, definition, name),
            "calibration": calibration_words(lines, beside, definition, name) if tested else [],
            "table": points_table(agreed, definition, name),
            "photos": "" if page.waiting else photos_table(counts, definition, name),
        }
        for name in dict.fromkeys(agreed["measure"].astype(str))
    ]
    covers = (one for one in definition.measures.values() if isinstance(one, PhotoMeasure))
    return {
        "uses": any(one.score == "cover" for one in covers),
        "measures": measures,
        "hidden": page.waiting and not counts.empty,
    }


def found_row(agreed: pd.DataFrame, measure: str, what: str, form: str) -> int | None:
    """Find the label of a row of the table ``point_agreement``; None where there is none."""
    chosen = (agreed["measure"] == measure) & (agreed["what"] == what) & (agreed["form"] == form)
    at = agreed.index[chosen]
    return int(at[0]) if len(at) else None


def _said(agreed: pd.DataFrame, at: int, column: str = "value", signed: bool = False) -> Said:
    shown = text(value_at(agreed, at, column), 1, signed)
    return number("point_agreement", agreed, at, column, shown)


def agreed_words(
    agreed: pd.DataFrame, counts: pd.DataFrame, definition: Definition, measure: str
) -> list[Sentence]:
    """Say how far scores lie from counts.

    Parameters
    ----------
    agreed, counts : DataFrame
        Tables ``point_agreement`` and ``point_counts`` of a run.
    definition : Definition
        The trial.
    measure : str
        A measure of green cover.

    Returns
    -------
    list of Sentence
        What was counted and by whom, the mean difference, the spread, the limits, the raters.
    """
    made = []
    if (at := found_row(agreed, measure, "photos", "counted")) is not None:
        raters = dict.fromkeys(counts.loc[counts["measure"] == measure, "rater"].astype(str))
        names = listed_words([rater_name(definition, one) for one in raters if one])
        form = "{text} (counted by {names})." if names else "{text}."
        said = str(row_at(agreed, at)["text"])
        made.append(Sentence(form, {"text": said[:1].upper() + said[1:], "names": names}))
    if (at := found_row(agreed, measure, "bias", APART)) is not None:
        made.append(_bias(agreed, at))
    if (at := found_row(agreed, measure, "sd", APART)) is not None:
        parts: dict[str, object] = {"sd": _said(agreed, at)}
        form = "From photo to photo, score less count spreads by {sd} points (standard deviation)"
        alone = found_row(agreed, measure, "sd", "crosses alone")
        if alone is not None:
            parts["alone"] = _said(agreed, alone)
            form += "; so few crosses would give up to {alone} points of it by chance alone"
        made.append(Sentence(f"{form}.", parts))
    ends = [found_row(agreed, measure, "limits", end) for end in ("lower", "upper")]
    if ends[0] is not None and ends[1] is not None:
        form = "About 95 of 100 photos lie between {low} and {high} points, score less count."
        low, high = (_said(agreed, end, signed=True) for end in ends if end is not None)
        made.append(Sentence(form, {"low": low, "high": high}))
    return [*made, *_raters(agreed, definition, measure)]


def _bias(agreed: pd.DataFrame, at: int) -> Sentence:
    row = row_at(agreed, at)
    first = str(row["text"]).split(";")[0]
    parts: dict[str, object] = {
        "text": first[:1].upper() + first[1:],
        "value": _said(agreed, at, signed=True),
    }
    form = "{text}: {value} points, score less count"
    if "lower" in agreed and math.isfinite(value_at(agreed, at, "lower")):
        parts |= {end: _said(agreed, at, end, signed=True) for end in ("lower", "upper")}
        form += " ({lower} to {upper})"
    return Sentence(f"{form}.", parts)


def _raters(agreed: pd.DataFrame, definition: Definition, measure: str) -> list[Sentence]:
    """Say how far apart two people counted the same crosses."""
    made = []
    own = agreed[(agreed["measure"] == measure) & (agreed["what"] == "bias")]
    for at in map(int, own.index[own["form"] != APART]):
        form = str(row_at(agreed, at)["form"])
        spread = found_row(agreed, measure, "sd", form)
        if spread is None:
            continue
        one, other = (rater_name(definition, name) for name in form.split(" less "))
        value = value_at(agreed, at, "value")
        one, other = (one, other) if value >= 0 else (other, one)
        parts: dict[str, object] = {
            "one": one,
            "other": other,
            "gap": number("point_agreement", agreed, at, "value", text(abs(value), 1)),
            "sd": _said(agreed, spread),
        }
        said = "On the same crosses {one} counted {gap} points more green than {other}, with a "
        made.append(Sentence(f"{said}standard deviation of {{sd}} points between photos.", parts))
    return made


def calibration_words(
    lines: pd.DataFrame, sensitivity: pd.DataFrame, definition: Definition, measure: str
) -> list[Sentence]:
    """Say whether scores were put on the scale of the count, and what that would give.

    Parameters
    ----------
    lines, sensitivity : DataFrame
        Tables ``calibration`` and ``sensitivity`` of a run.
    definition : Definition
        The trial.
    measure : str
        A measure of green cover.
    """
    own = lines.index[lines["measure"] == measure]
    if not len(own):
        return []
    at = int(own[0])
    told = str(row_at(lines, at)["text"])
    parts: dict[str, object] = {"text": told[:1].upper() + told[1:]}
    form = "{text}"
    if math.isfinite(value_at(lines, at, "error_after")):
        for name in ("error_before", "error_after"):
            shown = text(value_at(lines, at, name), 2)
            parts[name] = number("calibration", lines, at, name, shown)
        form += "; its error is {error_after} points with the line, {error_before} without"
    made = [Sentence(f"{form}.", parts)]
    if str(row_at(lines, at)["done"]) != "yes":
        return made
    places = {"intercept": 1, "slope": 2, "low": 0, "high": 0}
    parts = {
        name: number("calibration", lines, at, name, text(value_at(lines, at, name), decimals))
        for name, decimals in places.items()
    }
    form = "The line is: count = {intercept} % + {slope} × score, from scores of {low} to {high} %."
    made.append(Sentence(f"{form} The answer is not touched by it.", parts))
    chosen = (sensitivity["analysis"] == ANALYSIS) & (sensitivity["measure"] == measure)
    for row in map(int, sensitivity.index[chosen]):
        names = ("difference", "lower", "upper")
        parts = {
            name: said_or_dash(
                "sensitivity",
                sensitivity,
                row,
                name,
                text(value_at(sensitivity, row, name), 1, signed=True),
            )
            for name in names
        }
        parts["pair"] = in_sentence(pair_text(definition, row_at(sensitivity, row)))
        form = "On the scale of the count {pair} would be {difference} points ({lower} to {upper})."
        made.append(Sentence(form, parts))
    return made


def points_table(agreed: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show every number of the agreement of scores and counts.

    Parameters
    ----------
    agreed : DataFrame
        Table ``point_agreement`` of a run; that of a demonstration has no ends.
    definition : Definition
        The trial.
    measure : str
        A measure of green cover.
    """
    tested = definition.layout.tested
    heads = [Head("What"), Head("Of"), Head("value", "", True)]
    heads += [Head("95 % interval", "", True)] if tested else []
    heads += [Head("photos", "", True)]
    rows = []
    own = agreed[(agreed["measure"] == measure) & (agreed["what"] != "photos")]
    for at in map(int, own.index):
        row = row_at(agreed, at)
        what = str(row["what"])
        decimals, signed = (2, False) if what == "ICC" else (1, what in ("bias", "limits"))
        shown = [number("point_agreement", agreed, at, "n", f"{float(row['n']):.0f}")]
        ends = {
            name: said_or_dash(
                "point_agreement", agreed, at, name, text(float(row[name]), decimals, signed)
            )
            for name in (("value", "lower", "upper") if tested else ("value",))
        }
        interval = [interval_said({n: ends[n] for n in ("lower", "upper")})] if tested else []
        label = {"sd": "standard deviation", "share": "share of the variance [%]"}.get(what, what)
        rows.append(Row((label, str(row["form"])), (ends["value"], *interval, *shown)))
    if not rows:
        return Markup("")
    label = measure_view(definition, measure).label
    note = "In points, but for shares and ICC. Raters of one photo counted the same crosses."
    return html_table(f"{label}: scores and counts", heads, rows, note)


def photos_table(counts: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """List the photos counted, one row a photo and rater."""
    own = counts[counts["measure"] == measure]
    if own.empty:
        return Markup("")
    heads = [Head("Photo"), Head("Rater"), Head("Date"), Head("Plot")]
    heads += [Head(name, "", True) for name in ("points", "green", "unsure")]
    heads += [Head("counted", "%", True), Head("scored", "%", True), Head("set aside")]
    rows = []
    for at in map(int, own.index):
        row = row_at(counts, at)
        cells = (day_text(row["date"]), str(row["plot"]))
        whole = (
            number("point_counts", counts, at, name, f"{float(row[name]):.0f}")
            for name in ("points", "green", "unsure")
        )
        shares = (
            said_or_dash("point_counts", counts, at, name, text(float(row[name]), 1))
            for name in ("counted", "scored")
        )
        aside = row["excluded"] if isinstance(row["excluded"], str) else ""
        head = (f"{float(row['photo']):.0f}", str(row["rater"]) or "–")
        rows.append(Row(head, (*cells, *whole, *shares, aside)))
    return html_table(f"{measure_view(definition, measure).label}: photos counted", heads, rows)
