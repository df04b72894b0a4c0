"""What no limit of readiness covers: measures without one, and what was not measured at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from wintersward.errors import listed
from wintersward.report.numbers import day_text, decimals_for, text
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.views import in_sentence, level_label, measure_view
from wintersward.trial.catalogue import kinds_not_measured
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, LoggerMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["unlimited_words"]

_TABLE = "plot_means"


def unlimited_words(page: Page) -> list[Sentence]:
    """Say of what the verdicts tell nothing.

    Parameters
    ----------
    page : Page
        Its table ``plot_means``.

    Returns
    -------
    list of Sentence
        Two at most: measures that are observed and have no limit, with their lowest and highest
        unit on the last visit up to the day of the limits; and what was no measure. None where
        nothing was held against limits.
    """
    definition, rows = page.definition, page.table("readiness")
    if rows.empty:
        return []
    held = (definition.decisions.ready_when if definition.decisions else None) or {}
    last = max(dates_meant(definition.dates, limit.on)[0] for limit in held.values())
    means, told = page.table(_TABLE), []
    for name, measure in definition.measures.items():
        if name not in held and not isinstance(measure, LoggerMeasure):
            told.append(_seen(means, definition, name, pd.Timestamp(last)))
    said = []
    if told:
        names = "; ".join(f"{{one{i}}}" for i in range(len(told)))
        parts = {f"one{i}": one for i, one in enumerate(told)}
        said.append(Sentence(f"No limit was set for: {names}.", parts))
    missing = kinds_not_measured(definition.measures.values())
    if missing:
        said.append(Sentence("Not measured: {missing}.", {"missing": listed(missing)}))
    return said


def _seen(means: pd.DataFrame, definition: Definition, name: str, last: pd.Timestamp) -> Sentence:
    """Name a measure, with what its units ranged over when it was last seen by that day."""
    view = measure_view(definition, name)
    own = means[(means["measure"] == name) & means["value"].notna()]
    own = own[pd.to_datetime(own["date"]) <= last]
    if own.empty:
        return Sentence("{noun}", {"noun": view.noun})
    own = own[own["date"] == own["date"].max()]
    low, high = int(own["value"].idxmin()), int(own["value"].idxmax())

    ends = [view.value(value_at(means, at, "value")) for at in (low, high)]
    decimals = decimals_for(abs(ends[1] - ends[0]) / 8)

    def shown(at: int) -> object:
        value = text(view.value(value_at(means, at, "value")), decimals)
        return number(_TABLE, means, at, "value", value)

    parts: dict[str, object] = {
        "noun": view.noun,
        "day": day_text(own["date"].iloc[0]),
        "low": shown(low),
        "high": shown(high),
        "unit": f" {view.unit}" if view.kind != "bare" else "",
        "where": _where(definition, row_at(means, low)),
    }
    return Sentence("{noun} (on {day} from {low}{unit} in {where} to {high}{unit})", parts)


def _where(definition: Definition, row: pd.Series) -> str:
    """Name a unit and its treatment."""
    levels = [str(row[name]) for name in definition.treatments if name in row]
    kept = ":".join(level for level in levels if level and level != "nan")
    return f"plot {row['unit_name']} ({in_sentence(level_label(definition, kept))})"
