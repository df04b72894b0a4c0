"""Days on which all plots of a treatment stand at one end of a scale, and so do not vary."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterable, Iterator

import pandas as pd

from wintersward.report.numbers import days_listed, listed_words, text
from wintersward.report.views import MeasureView, level_label, measure_view
from wintersward.trial.schema import Definition

__all__ = ["no_spread_words"]

# One plot alone never varies.
_FEWEST = 2
# Of the width of a scale: what lies nearer to an end stands on it.
_ON_IT = 1e-9


def no_spread_words(
    plot_means: pd.DataFrame,
    definition: Definition,
    measure: str,
    effect: str,
    days: Iterable[object],
) -> str:
    """Say on which days a treatment had all its plots at an end of the scale, and what follows.

    Parameters
    ----------
    plot_means : DataFrame
        Table of a run, in SI; of several kinds of unit the smallest counts.
    definition : Definition
        The trial.
    measure : str
        What was observed; of one without two ends nothing is said.
    effect : str
        A factor, or several joined by ``:``, whose treatments are looked at.
    days : iterable of date
        Days of the means that the words stand below.

    Returns
    -------
    str
        Empty where plots of every treatment vary, and where those of all of them stand alike.
    """
    view = measure_view(definition, measure)
    if None in view.limits:
        return ""
    seen = plot_means[(plot_means["measure"] == measure) & plot_means["value"].notna()]
    dates = pd.to_datetime(seen["date"])
    found: dict[tuple[str, float], list[dt.date]] = {}
    for day in sorted({pd.Timestamp(str(day)) for day in days}):
        here = seen[dates == day]
        for level, value in _still(here, view, effect.split(":")):
            found.setdefault((level, value), []).append(day.date())
    alike: dict[tuple[tuple[dt.date, ...], float], list[str]] = {}
    for (level, value), on in found.items():
        label = f"with ‘{level_label(definition, level)}’"
        alike.setdefault((tuple(on), value), []).append(label)
    said = [
        f"On {days_listed(list(on))} all plots {listed_words(labels)} stood at "
        f"{_shown(value, view)}, an end of the scale."
        for (on, value), labels in alike.items()
    ]
    if not said:
        return ""
    return (
        f"{' '.join(said)} The model spreads their lack of variation over all treatments: "
        "intervals of the others may be too narrow."
    )


def _still(
    here: pd.DataFrame, view: MeasureView, factors: list[str]
) -> Iterator[tuple[str, float]]:
    """Find treatments whose plots of one day share an end of the scale, single factors first."""
    ends = [end for end in view.limits if end is not None]
    near = _ON_IT * (max(ends) - min(ends))
    if here.empty or _end(here, view, ends, near) is not None:
        return
    told: list[set[str]] = []
    for many in range(1, len(factors) + 1):
        for names in itertools.combinations(factors, many):
            for key, own in here.dropna(subset=list(names)).groupby(list(names), sort=True):
                levels = [str(one) for one in (key if isinstance(key, tuple) else (key,))]
                if any(parts <= set(levels) for parts in told):
                    continue
                end = _end(own, view, ends, near)
                if end is not None and len(own) >= _FEWEST:
                    told.append(set(levels))
                    yield ":".join(levels), end


def _end(own: pd.DataFrame, view: MeasureView, ends: list[float], near: float) -> float | None:
    values = own["value"].map(lambda value: view.value(float(value)))
    return next((end for end in ends if ((values - end).abs() <= near).all()), None)


def _shown(value: float, view: MeasureView) -> str:
    written = text(value, 0)
    return f"{written} {view.unit}" if view.unit == "%" else written
