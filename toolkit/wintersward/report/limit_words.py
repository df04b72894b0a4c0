"""Limits of readiness in words: what is asked, what it is a share of, with which instrument."""

from __future__ import annotations

import math
from collections.abc import Iterable

import pandas as pd

from wintersward.decisions.limits import AT_LEAST, CANNOT_TELL, MET, NO_DATA, NOT_MET
from wintersward.report.numbers import counted, day_text, table_decimals, text
from wintersward.report.said import Said, Sentence, number, row_at
from wintersward.report.views import (
    MeasureView,
    in_sentence,
    level_label,
    measure_view,
    quantity,
    unit_kind,
)
from wintersward.trial.catalogue import measure_kind
from wintersward.trial.schema import Definition, SheetMeasure

__all__ = [
    "TABLE",
    "asked_words",
    "bound_decimals",
    "finest",
    "limit_text",
    "reference_words",
    "settings_words",
    "shown_bounds",
    "verdict_words",
]

TABLE = "readiness"
_MOST_DECIMALS = 4
_SAID = {
    MET: "Met",
    NOT_MET: "Not met",
    CANNOT_TELL: "These data cannot tell",
    NO_DATA: "No data",
}
# Kinds that are read with an instrument, of which a definition may tell in words.
_READ_WITH = ("force", "torque")


def limit_text(view: MeasureView, si: float) -> str:
    """Write a limit with its unit, without idle digits.

    Examples
    --------
    >>> pull = MeasureView("a", "Pull", "lbf", "lbf", "force", "lbf", (0.0, None), False)
    >>> limit_text(pull, 200.169973)
    '45 lbf'
    """
    return f"{view.value(si):.4g} {view.unit if view.kind != 'bare' else ''}".rstrip()


def bound_decimals(rows: pd.DataFrame, at: int, view: MeasureView) -> int:
    """Choose the decimals of one mean and its bounds: so many that none falls onto the limit.

    Parameters
    ----------
    rows : DataFrame
        Rows of one limit, in SI.
    at : int
        Label of the row.
    view : MeasureView
        The measure.
    """
    decimals = table_decimals(view.difference(float(se)) for se in rows["se"])
    row = row_at(rows, at)
    limit = view.value(float(row["limit"]))
    ends = [view.value(float(row[name])) for name in ("mean", "lower", "upper")]
    apart = [end for end in ends if math.isfinite(end) and not math.isclose(end, limit)]
    while decimals < _MOST_DECIMALS and any(
        round(end, decimals) == round(limit, decimals) for end in apart
    ):
        decimals += 1
    return decimals


def asked_words(rows: pd.DataFrame, definition: Definition) -> Sentence:
    """Say what a limit asks, on which day, how surely, and where it comes from.

    Parameters
    ----------
    rows : DataFrame
        Rows of one limit, in SI; its index counts the rows of the whole table from 0.
    definition : Definition
        The trial.
    """
    at = int(rows.index[0])
    row = row_at(rows, at)
    view = measure_view(definition, str(row["measure"]))

    def said(name: str, shown: str) -> Said:
        return number(TABLE, rows, at, name, shown)

    parts: dict[str, object] = {
        "label": view.label,
        "day": day_text(row["date"]),
        "at": str(row["at"]),
        "sure": said("sure", f"{float(row['sure']):.4g}"),
        "source": str(row["source"]),
    }
    asked = "{limit}"
    if math.isfinite(float(row["share"])):
        parts["share"] = said("share", f"{float(row['share']):.4g}")
        asked = "{share} % of that of established turf"
    if math.isfinite(float(row["limit"])):
        parts["limit"] = said("limit", limit_text(view, float(row["limit"])))
        asked += ", which is {limit}" if "share" in parts else ""
    form = "{label} on {day}: {at} " + asked + ", with {sure} % confidence ({source})."
    return Sentence(form, parts)


def finest(rows: pd.DataFrame) -> pd.DataFrame:
    """Keep the rows of the finest treatments: combinations, where two factors act."""
    parts = rows["effect"].astype(str).str.count(":")
    return rows[parts == parts.max()]


def verdict_words(rows: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say which treatments meet a limit, with the numbers of all that do not.

    Parameters
    ----------
    rows : DataFrame
        Rows of one limit, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a verdict that occurs, of the finest treatments.
    """
    own, found = finest(rows), []
    for verdict, words in _SAID.items():
        there = own[own["verdict"] == verdict]
        if there.empty:
            continue
        if verdict == NO_DATA and there["settle"].nunique() == 1 and len(there) == len(own):
            found.append(Sentence("No data: {why}.", {"why": str(there["settle"].iloc[0])}))
            continue
        if verdict == MET:
            found.append(_met(rows, there, len(own), definition))
            continue
        listed = [_one(rows, int(at), definition) for at in there.index]
        names = "; ".join(f"{{one{i}}}" for i in range(len(listed)))
        parts: dict[str, object] = {f"one{i}": one for i, one in enumerate(listed)}
        parts["sooner"] = _sooner(there, definition) if verdict == CANNOT_TELL else ""
        form = f"{words}, {len(there)} of {len(own)} treatments: {names}.{{sooner}}"
        found.append(Sentence(form, parts))
    return found


def _sooner(rows: pd.DataFrame, definition: Definition) -> str:
    """Say what can be done on the same plots, where a bound there is crosses the limit."""
    if not rows["lower"].notna().any():
        return ""
    measure = definition.measures[str(rows["measure"].iloc[0])]
    rated = isinstance(measure, SheetMeasure) and measure.scale is not None
    more = "more raters, the anchors in hand" if rated else "more readings in each of them"
    return f" Or look at the same plots again: on a later day, or with {more}."


def _met(rows: pd.DataFrame, there: pd.DataFrame, of: int, definition: Definition) -> Sentence:
    """Say how many treatments meet a limit, and which of them lies nearest to it."""
    least = str(there["at"].iloc[0]) == AT_LEAST
    bound, side = (there["lower"], 1) if least else (there["upper"], -1)
    nearest = int(there.index[int((side * (bound - there["limit"])).argmin())])
    one = {"one": _one(rows, nearest, definition)}
    if of == 1:
        return Sentence("Met: {one}.", one)
    share = f"all {of}" if len(there) == of else f"{len(there)} of {of}"
    return Sentence(f"Met by {share} treatments; nearest to the limit {{one}}.", one)


def _one(rows: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    """Name a treatment with mean, bounds, plots that miss the limit, and what would settle it."""
    row = row_at(rows, at)
    view = measure_view(definition, str(row["measure"]))
    decimals = bound_decimals(rows, at, view)
    parts: dict[str, object] = {"name": in_sentence(level_label(definition, str(row["level"])))}
    form = "{name}"
    if math.isfinite(float(row["mean"])):
        shown = text(view.value(float(row["mean"])), decimals)
        parts["mean"] = number(TABLE, rows, at, "mean", shown)
        form += ": {mean}"
    if math.isfinite(float(row["lower"])):
        for end in ("lower", "upper"):
            shown = text(view.value(float(row[end])), decimals)
            parts[end] = number(TABLE, rows, at, end, shown)
        parts["sure"] = number(TABLE, rows, at, "sure", f"{float(row['sure']):.4g}")
        form += " (bounds {lower} and {upper}, {sure} % each)"
    if int(row["units_beyond"]):
        parts["beyond"] = number(TABLE, rows, at, "units_beyond", str(int(row["units_beyond"])))
        parts["units"] = number(TABLE, rows, at, "units", str(int(row["units"])))
        side = "below" if row["at"] == AT_LEAST else "above"
        kind = unit_kind(definition, str(row["effect"]))
        form += f", {{beyond}} of its {{units}} {kind}s {side} by themselves"
    if row["verdict"] in (CANNOT_TELL, NO_DATA) and row["settle"]:
        parts["settle"] = _settling(rows, at)
        form += " – {settle}"
    return Sentence(form, parts)


def _settling(rows: pd.DataFrame, at: int) -> object:
    """Say what would settle it, its number tied to the table."""
    words, many = str(rows["settle"].loc[at]), int(rows["settle_units"].loc[at])
    before, found, after = words.partition(str(many))
    if not many or not found:
        return words
    said = number(TABLE, rows, at, "settle_units", found)
    return Sentence("{before}{many}{after}", {"before": before, "many": said, "after": after})


def reference_words(rows: pd.DataFrame, definition: Definition) -> Sentence | None:
    """Say of a limit that is a share of established turf where that was read, and how surely.

    Parameters
    ----------
    rows : DataFrame
        Rows of one limit, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Sentence or None
        None for a limit as it is written, or without readings.
    """
    at = int(rows.index[0])
    row = row_at(rows, at)
    if not math.isfinite(float(row["reference_mean"])):
        return None
    view = measure_view(definition, str(row["measure"]))
    mean, se = float(row["reference_mean"]), float(row["reference_se"])
    decimals = table_decimals([view.difference(se)])
    places = str(row["reference"]).split("; ")
    unit = "" if view.kind == "bare" else f" {view.unit}"
    parts: dict[str, object] = {
        "where": " and ".join(places),
        "day": day_text(row["reference_date"]),
        "apart": _apart(row["reference_date"], row["date"]),
        "n": number(TABLE, rows, at, "reference_n", str(int(row["reference_n"]))),
        "mean": number(TABLE, rows, at, "reference_mean", text(view.value(mean), decimals)),
        "se": number(TABLE, rows, at, "reference_se", text(view.difference(se), decimals + 1)),
        "unit": unit,
    }
    form = (
        "Established turf: {where}, {day}{apart}; mean of {n} readings {mean}{unit}, standard "
        "error {se}. "
    )
    form += (
        "They are subsamples of one place, no replicates: they tell how that place holds, and not "
        "how established turf elsewhere does."
        if len(places) == 1
        else "The error is that between these places; readings within a place are subsamples."
    )
    if rows["lower"].notna().any():
        form += " The verdict takes in the error of both means."
    return Sentence(form, parts)


def _apart(read: object, asked: object) -> str:
    """Say how far the readings lie from the day of the limit."""
    days = (pd.Timestamp(str(read)) - pd.Timestamp(str(asked))).days
    if not days:
        return ""
    return f", {counted(abs(days), 'day')} {'after' if days > 0 else 'before'} the day of the limit"


def settings_words(definition: Definition, names: Iterable[str]) -> list[str]:
    """Say of hardness, shear and pulls with which settings they were read.

    Parameters
    ----------
    definition : Definition
        The trial.
    names : iterable of str
        Measures of it.

    Returns
    -------
    list of str
        One a measure that is read with an instrument.
    """
    said = []
    for name in names:
        measure = definition.measures[name]
        if isinstance(measure, SheetMeasure):
            said += _settings(definition, name, measure)
    return said


def _settings(definition: Definition, name: str, measure: SheetMeasure) -> list[str]:
    label, system = measure_view(definition, name).label, definition.units
    if measure.instrument is not None:
        held = measure.instrument
        return [
            f"{label}: a missile of {quantity(held.missile, 'mass', system)} "
            f"({held.missile:.3g} kg) that falls {quantity(held.drop_height, 'distance', system)} "
            f"({1000 * held.drop_height:.3g} mm), {counted(held.drops, 'drop')} a reading. Values "
            "of another missile, height or number of drops do not compare (ASTM F1702, scope)."
        ]
    if measure.settings is not None:
        return [
            f"{label}: read with {measure.settings.rstrip('.')}. A limit holds for these settings."
        ]
    if measure.difference_kind not in _READ_WITH:
        return []
    usual = f", such as {_to_record(measure)}" if measure.kind else ""
    return [
        f"{label}: the definition does not tell what it was read with, and a limit holds for one "
        f"instrument and its settings only. Next time write them under 'settings'{usual}."
    ]


def _to_record(measure: SheetMeasure) -> str:
    return measure_kind(str(measure.kind)).record_on_paper.partition("; values of")[0]


def shown_bounds(view: MeasureView, row: pd.Series, decimals: int) -> str:
    """Write a mean with its bounds, for pictures."""
    mean, low, high = (view.value(float(row[name])) for name in ("mean", "lower", "upper"))
    if not math.isfinite(mean):
        return "no value"
    bounds = f"{text(low, decimals)} and {text(high, decimals)}"
    ends = f" (bounds {bounds})" if math.isfinite(low) else ""
    return f"{text(mean, decimals)}{ends}"
