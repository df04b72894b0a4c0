"""Temperatures and degree days as a reader meets them, and what the pictures of them share."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from wintersward.report.numbers import MINUS, text
from wintersward.report.said import Said, Sentence, number, value_at
from wintersward.report.views import MeasureView, in_sentence, level_label, measure_view
from wintersward.trial.applied import cover_factor
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, LoggerMeasure
from wintersward.units import from_si

__all__ = [
    "Degrees",
    "climate_factor",
    "degree_day_view",
    "ends_of",
    "held_levels",
    "logged_measures",
    "middles",
    "primary_day",
    "temperature_view",
    "thinned",
    "under_words",
    "warmer_words",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Degrees:
    """The unit of temperature that a reader uses.

    Parameters
    ----------
    system : {'us', 'metric'}
        Units of the reader.
    """

    system: str

    @property
    def name(self) -> str:
        """Its name in `wintersward.units.UNITS`."""
        return "degF" if self.system == "us" else "degC"

    @property
    def unit(self) -> str:
        """Its symbol."""
        return f"°{self.name[-1]}"

    @property
    def days(self) -> str:
        """Symbol of degree days."""
        return f"{self.unit} d"

    def value(self, si: float) -> float:
        """Convert a temperature from degC."""
        return from_si(si, self.name)

    def difference(self, si: float) -> float:
        """Convert a difference, or degree days, from degC: without the zero point."""
        return from_si(si, self.name, difference=True)


def climate_factor(definition: Definition) -> str:
    """Name the factor that the covers are, or else that of the primary question."""
    asked = definition.factor_of(definition.analysis.primary.levels[0])
    return cover_factor(definition) or asked


def held_levels(definition: Definition, levels: Iterable[object]) -> list[str]:
    """Put treatments of the covers that a table holds into the definition's order."""
    held = {str(level) for level in levels}
    factor = definition.treatments[climate_factor(definition)]
    return [level for level in factor.levels if level in held]


def logged_measures(definition: Definition, frame: pd.DataFrame) -> list[str]:
    """Name the measures from loggers that a table holds, in the definition's order."""
    held = set(frame["measure"].astype(str))
    measures = definition.measures.items()
    return [name for name, one in measures if isinstance(one, LoggerMeasure) and name in held]


def temperature_view(definition: Definition, measure: str) -> MeasureView:
    """Look at a measure from loggers as a temperature, whichever fact of the day is analysed."""
    degrees = Degrees(definition.units)
    label = measure_view(definition, measure).label
    unit = degrees.unit
    return MeasureView(
        measure, label, unit, unit, "temperature", degrees.name, (None, None), rated=True
    )


def degree_day_view(definition: Definition) -> MeasureView:
    """Look at sums of degree days."""
    degrees = Degrees(definition.units)
    unit = degrees.days
    return MeasureView(
        "", "Degree days", unit, unit, "temperature", degrees.name, (0.0, None), False, apart=True
    )


def primary_day(definition: Definition) -> dt.date:
    """Give the date of the primary question."""
    return dates_meant(definition.dates, definition.analysis.primary.on)[0]


def middles(first: dt.date, last: dt.date) -> list[dt.date]:
    """List the first and the fifteenth days of months from one day to another, for an axis.

    Examples
    --------
    >>> [str(day) for day in middles(dt.date(2026, 1, 20), dt.date(2026, 2, 15))]
    ['2026-02-01', '2026-02-15']
    """
    days = pd.date_range(first, last, freq="D")
    return [day.date() for day in days if day.day in (1, 15)]


def thinned(x: ArrayLike, y: ArrayLike, room: float) -> list[int]:
    """Choose points of a line so that what is left out lies near the line through the rest.

    Parameters
    ----------
    x, y : (n,) array_like of float
        A line without gaps, on one scale.
    room : float
        How far from the new line a point may lie that is left out, on the same scale.

    Returns
    -------
    list of int
        Places of the points that stay, ascending; both ends are among them.

    References
    ----------
    Douglas D. H., Peucker T. K. (1973) Algorithms for the reduction of the number of points
    required to represent a digitized line or its caricature. Cartographica 10:112-122.

    Examples
    --------
    >>> thinned([0, 1, 2, 3], [0, 0.1, 0, 2], 0.2)
    [0, 2, 3]
    """
    points = np.column_stack([np.asarray(x, dtype=float), np.asarray(y, dtype=float)])
    kept, spans = {0, len(points) - 1}, [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        away = _away(points[first + 1 : last], points[first], points[last])
        at = int(np.argmax(away))
        if away[at] > room:
            middle = first + 1 + at
            kept.add(middle)
            spans += [(first, middle), (middle, last)]
    return sorted(kept)


def _away(points: Floats, first: Floats, last: Floats) -> Floats:
    """Give the distances of points from the line through two others."""
    along = last - first
    length = float(np.hypot(*along))
    apart = points - first
    if length == 0:
        return np.asarray(np.hypot(apart[:, 0], apart[:, 1]))
    return np.asarray(np.abs(along[0] * apart[:, 1] - along[1] * apart[:, 0]) / length)


def ends_of(values: pd.Series) -> tuple[int, int]:
    """Give the labels of the rows with least and most; of equal ones the first.

    Examples
    --------
    >>> ends_of(pd.Series([2.0, 1.0, 3.0], index=[7, 8, 9]))
    (8, 9)
    """
    known = values.dropna()
    labels, held = known.index.to_numpy(), known.to_numpy(dtype=float)
    return int(labels[int(np.argmin(held))]), int(labels[int(np.argmax(held))])


def under_words(definition: Definition, level: str) -> str:
    """Say where something was measured: ``under spun-bond fleece``, ``with no cover``."""
    control = definition.treatments[climate_factor(definition)].control
    said = in_sentence(level_label(definition, level))
    return f"{'with' if level == control else 'under'} {said}"


def warmer_words(
    table: str, frame: pd.DataFrame, at: int, column: str, degrees: Degrees
) -> Sentence:
    """Say how much warmer or colder it was: ``1.2 °F warmer``, tied to its place.

    Parameters
    ----------
    table : str
        Name of the table, without ``.csv``.
    frame : DataFrame
        The table, with the difference in degC.
    at : int
        Label of the row.
    column : str
        Column of the difference.
    degrees : Degrees
        The reader's unit.
    """
    difference = degrees.difference(value_at(frame, at, column))
    shown = text(difference, 1)
    said: Said = number(table, frame, at, column, shown.lstrip(MINUS))
    if float(said.text) == 0:
        return Sentence("{more} {unit} apart", {"more": said, "unit": degrees.unit})
    way = "warmer" if difference > 0 else "colder"
    return Sentence("{more} {unit} {way}", {"more": said, "unit": degrees.unit, "way": way})
