"""Readiness on the page: limits and verdicts, published figures, and who decides."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.decisions.limits import CANNOT_TELL
from wintersward.decisions.published import NO_PULL_LIMIT, figures_for, why_apart
from wintersward.report.comparisons import said_or_dash
from wintersward.report.frozen import freeze_of
from wintersward.report.limit_words import (
    TABLE,
    asked_words,
    bound_decimals,
    limit_text,
    reference_words,
    settings_words,
    verdict_words,
)
from wintersward.report.numbers import day_text, df_text, text
from wintersward.report.said import number, row_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.unlimited import unlimited_words
from wintersward.report.views import factor_label, level_label, measure_view, unit_kind
from wintersward.report.words import waiting
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, SheetMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["MET_IS_NO_MORE", "published_table", "readiness_context", "readiness_table"]

MET_IS_NO_MORE = (
    "That a limit is met says that the mean of the plots passed it, and no more. It does not mean "
    "that no injury can occur (after ASTM F1936-19, scope, section 1.4), and nothing of a single "
    "spot, of ground outside the plots or of another day. Whoever answers for the field decides, "
    "by the local and the league's rules."
)
_NO_LIMITS = (
    "The definition holds no limit of readiness (decisions.ready_when), so nothing is held "
    "against one."
)
_ONE_AREA = (
    "One area of each treatment: no verdict. What was seen there is told beside the limit; how "
    "far it stands for the treatment, nothing here can tell."
)
_NO_ROWS = "Nothing was held against the limits in this run."


def readiness_context(page: Page) -> dict[str, Any]:
    """Fill the part on readiness.

    Returns
    -------
    dict
        ``readiness``, a mapping that its partial template is filled with.
    """
    definition, rows = page.definition, page.table(TABLE)
    held = (definition.decisions.ready_when if definition.decisions else None) or {}
    names = [name for name in definition.measures if name in held]
    published = figures_for(definition)
    named = list(dict.fromkeys([*names, *published]))
    return {
        "readiness": {
            "limits": [_limit(page, rows[rows["measure"] == name]) for name in _seen(rows, names)],
            "why": _why(page, rows, bool(names)),
            "shown": _described(page, names),
            "picture": page.figure(TABLE),
            "changed": "" if rows.empty else freeze_of(page).why("decisions"),
            "unlimited": unlimited_words(page),
            "settings": settings_words(definition, named),
            "published": [
                published_table(definition, name) for name in published if not page.waiting
            ],
            "no_pull": NO_PULL_LIMIT if _unsourced_pull(definition) else "",
            "met": MET_IS_NO_MORE,
        }
    }


def _seen(rows: pd.DataFrame, names: list[str]) -> list[str]:
    return [name for name in names if (rows["measure"] == name).any()]


def _why(page: Page, rows: pd.DataFrame, asked: bool) -> str:
    """Say why nothing is judged; empty where something is."""
    if not asked:
        return _NO_LIMITS
    if not page.definition.layout.tested:
        return _ONE_AREA
    if page.waiting:
        return waiting(page.definition, page.table("counts"))
    return _NO_ROWS if rows.empty else ""


def _limit(page: Page, rows: pd.DataFrame) -> dict[str, Any]:
    """Gather what is said of one limit."""
    definition = page.definition
    return {
        "asked": asked_words(rows, definition),
        "verdicts": verdict_words(rows, definition),
        "reference": reference_words(rows, definition),
        "exploratory": bool((rows["role"] == "exploratory").any()),
        "table": readiness_table(rows, definition),
    }


def readiness_table(rows: pd.DataFrame, definition: Definition) -> Markup:
    """Show every treatment against one limit.

    Parameters
    ----------
    rows : DataFrame
        Rows of one limit out of the table ``readiness``, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        One row a treatment: mean, bounds, experimental units and how many of them miss the limit
        by themselves, verdict; where that would have told, the number of blocks.
    """
    first = row_at(rows, int(rows.index[0]))
    view = measure_view(definition, str(first["measure"]))
    side = "below" if first["at"] == "at least" else "above"
    kind = unit_kind(definition, str(first["effect"]))
    settled = bool((rows["settle_units"] > 0).any())
    heads = [
        Head("Treatment"),
        Head("mean", view.unit, True),
        Head("lower", view.unit, True, "bounds"),
        Head("upper", view.unit, True, "bounds"),
        Head("df", "", True),
        Head(f"{kind}s", "", True),
        Head(f"of them {side}", "", True),
        Head("Verdict"),
        *([Head("would tell", _copies(definition), True)] if settled else []),
    ]
    lines = []
    for at in _in_order(rows, definition):
        row, cells = row_at(rows, at), _cells(rows, at, definition)
        lines.append(Row(_labels(row, definition)[1:], cells if settled else cells[:-1]))
    exploratory = "Exploratory. " if (rows["role"] == "exploratory").any() else ""
    limit = float(first["limit"])
    asked = f"{first['at']} {limit_text(view, limit)}" if math.isfinite(limit) else "its limit"
    caption = f"{exploratory}{view.label} on {day_text(first['date'])} against {asked}"
    note = (
        f"Each bound is one-sided and holds by itself, with {float(first['sure']):.4g} % "
        "confidence; verdicts are not adjusted for one another. Met and not met follow from the "
        f"bounds of the mean alone; the {kind}s {side} the limit show how far single ones miss it."
    )
    if settled:
        note += f" Would tell: so many {_copies(definition)}, were mean and spread the same."
    return html_table(caption, heads, lines, note)


def _copies(definition: Definition) -> str:
    """Name what a larger trial has more of."""
    layout = definition.layout
    if layout.kind == "latin square":
        return "squares"
    return "blocks" if layout.blocks else "plots of each"


def _labels(row: pd.Series, definition: Definition) -> tuple[str, str]:
    effect, level = str(row["effect"]), str(row["level"])
    return factor_label(definition, effect), level_label(definition, level)


def _in_order(rows: pd.DataFrame, definition: Definition) -> list[int]:
    """Put treatments into the definition's order, whatever the order of their file."""
    factors = list(definition.treatments)

    def rank(at: int) -> tuple[object, ...]:
        names = str(rows["effect"].loc[at]).split(":")
        levels = str(rows["level"].loc[at]).split(":")
        places = [
            list(definition.treatments[name].levels).index(level)
            for name, level in zip(names, levels, strict=True)
        ]
        return len(names), [factors.index(name) for name in names], places

    return sorted(map(int, rows.index), key=rank)


def _cells(rows: pd.DataFrame, at: int, definition: Definition) -> tuple[Cell, ...]:
    row = row_at(rows, at)
    view = measure_view(definition, str(row["measure"]))
    decimals = bound_decimals(rows, at, view)
    said = {
        name: said_or_dash(TABLE, rows, at, name, text(view.value(float(row[name])), decimals))
        for name in ("mean", "lower", "upper")
    }
    many, told = int(row["settle_units"]), str(row["verdict"])
    return (
        *said.values(),
        said_or_dash(TABLE, rows, at, "df", df_text(float(row["df"]))),
        number(TABLE, rows, at, "units", str(int(row["units"]))),
        number(TABLE, rows, at, "units_beyond", str(int(row["units_beyond"]))),
        CANNOT_TELL.removeprefix("these data ") if told == CANNOT_TELL else told,
        number(TABLE, rows, at, "settle_units", str(many)) if many else "–",
    )


def _described(page: Page, names: list[str]) -> list[Markup]:
    """Show what a demonstration saw on the day of each limit, and judge nothing."""
    definition = page.definition
    if definition.layout.tested or page.waiting or not names:
        return []
    limits = (definition.decisions.ready_when if definition.decisions else None) or {}
    means, made = page.table("means"), []
    for name in names:
        day = dates_meant(definition.dates, limits[name].on)[0]
        on = pd.to_datetime(means["date"]) == pd.Timestamp(day)
        rows = means[on & (means["measure"] == name)]
        if rows.empty:
            continue
        view, lines = measure_view(definition, name), []
        for at in _in_order(rows, definition):
            row = row_at(rows, at)
            mean = text(view.value(float(row["mean"])), 1)
            lines.append(Row(_labels(row, definition), (number("means", means, at, "mean", mean),)))
        heads = [Head("Factor"), Head("Treatment"), Head("value", view.unit, True)]
        limit = limits[name]
        side = "at least" if limit.at_least is not None else "at most"
        asked = f"{limit.end.value:.4g} % of established turf"
        asked = limit_text(view, limit.end.value) if limit.of is None else asked
        caption = f"{view.label} on {day_text(day)}, described; the limit is {side} {asked}"
        made.append(html_table(caption, heads, lines, f"The limit: {limit.told_source}."))
    return made


def _unsourced_pull(definition: Definition) -> bool:
    """Tell whether pulls are read without a limit, or with one that nobody vouches for."""
    held = (definition.decisions.ready_when if definition.decisions else None) or {}
    return any(
        name not in held or (held[name].source is None and held[name].of is None)
        for name, measure in definition.measures.items()
        if isinstance(measure, SheetMeasure) and measure.difference_kind == "force"
    )


def published_table(definition: Definition, name: str) -> Markup:
    """Show published figures beside a measure that has no limit; nothing is judged by them.

    Parameters
    ----------
    definition : Definition
        The trial.
    name : str
        A measure of it that `wintersward.decisions.published.figures_for` names.

    Returns
    -------
    Markup
        Each figure with its instrument and source, and why it may not compare.
    """
    view, measure = measure_view(definition, name), definition.measures[name]
    heads = [Head("Published"), Head("from", view.unit, True), Head("to", view.unit, True)]
    heads += [
        Head("Read with", prose=True),
        Head("Compares", prose=True),
        Head("Source", prose=True),
    ]
    lines = []
    for one in figures_for(definition)[name]:
        apart = why_apart(measure, one) if isinstance(measure, SheetMeasure) else ""
        ends = ["–" if end is None else f"{view.value(end):.3g}" for end in (one.low, one.high)]
        compares = apart or "as far as the missile goes; look at the height and the drops"
        lines.append(Row((one.words,), (*ends, one.instrument, compares, one.source)))
    caption = f"{view.label}: published figures, not judged"
    note = (
        "The definition holds no limit of this measure, and nothing is judged by these. To have "
        "one judged next time, write it under decisions.ready_when with its source, before there "
        "are data."
    )
    return html_table(caption, heads, lines, note)
