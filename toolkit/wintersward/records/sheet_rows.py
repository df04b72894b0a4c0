"""One row of a hand-filled table: checked against the trial, and turned into observations."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from wintersward.errors import Problem, closest, listed
from wintersward.records.cells import quoted, read_day, read_number, said
from wintersward.records.observations import REPEAT
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, Sheet, SheetMeasure
from wintersward.units import from_si, to_si

__all__ = ["Row", "Seen", "Trial"]


class Trial:
    """What rows are checked against.

    Parameters
    ----------
    definition : Definition
        Measures, dates and people.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.
    """

    def __init__(self, definition: Definition, plots: pd.DataFrame) -> None:
        self.plots = list(plots["plot"])
        self.whole_plots = set(plots["whole_plot"]) - {""}
        self.people = [person.initials for person in definition.people]
        self.dates = {
            name: dates_meant(definition.dates, measure.dates)
            for name, measure in definition.measures.items()
        }
        self._exact = set(self.plots)
        folded: dict[str, list[str]] = {}
        for plot in self.plots:
            folded.setdefault(plot.casefold(), []).append(plot)
        self._folded = {one: plots[0] for one, plots in folded.items() if len(plots) == 1}

    def plot(self, text: str) -> str | None:
        """Name the plot that a cell means, or nothing; some programs save 101 as 101.0."""
        for one in (text, re.sub(r"\.0+$", "", text)):
            if one in self._exact:
                return one
            if one.casefold() in self._folded:
                return self._folded[one.casefold()]
        return None


@dataclass
class Seen:
    """What all tables together have given so far.

    Parameters
    ----------
    rows : list of tuple
        Rows of observations.
    sources : dict
        From what an observation is of to the place where it stands.
    """

    rows: list[tuple[Any, ...]] = field(default_factory=list)
    sources: dict[tuple[Any, ...], tuple[str, int]] = field(default_factory=dict)


class Row:
    """One row of a table.

    Parameters
    ----------
    table : str
        The table, in messages.
    number : int
        The row in the spreadsheet.
    cells : mapping of str to str
        From date, plot, rater, sample, repeat and the names of measures to what stands there.
    sheet : Sheet or None
        How the diary says that the table is read.
    stored : bool
        Whether it is the row of a workbook.
    gap : callable
        Told the column of date, plot or rater that is empty here; tells whether that is all that
        is said of it, since the same was written once above for several rows.
    """

    def __init__(
        self,
        table: str,
        number: int,
        cells: Mapping[str, str],
        sheet: Sheet | None,
        stored: bool,
        gap: Callable[[str], bool],
    ) -> None:
        self.table = table
        self.number = number
        self.cells = cells
        self.date_order = sheet.date_order if sheet else None
        self.decimal = sheet.decimal if sheet else "point"
        self.stored = stored
        self.gap = gap
        self.problems: list[Problem] = []

    def read(
        self, trial: Trial, measures: Mapping[str, SheetMeasure], seen: Seen
    ) -> dict[str, str]:
        """Add an observation for each measure.

        Parameters
        ----------
        trial : Trial
            What is allowed.
        measures : mapping of str to SheetMeasure
            Those that have a value here.
        seen : Seen
            Observations are added to it.

        Returns
        -------
        dict of str to str
            What became of the value of each measure: used, repeated or wrong.
        """
        plot, day, again = self._plot(trial), self._day(), self._again()
        became = {}
        for name, measure in measures.items():
            read = (
                self._planned(trial, day, name),
                self._sample(measure),
                self._rater(trial, measure),
                self._value(name, measure),
                again,
            )
            became[name] = "wrong"
            if plot is None or None in read:
                continue
            planned, sample, rater, value, repeat = read
            # A measure without raters is taken once, whoever took it.
            key = (name, planned, plot, rater if measure.raters else "", sample, repeat)
            if key in seen.sources:
                self._twice(name, measure, repeat == "", seen.sources[key])
                continue
            seen.sources[key] = (self.table, self.number)
            source = f"{self.table}:{self.number}"
            seen.rows.append(
                (planned, plot, name, sample, rater, value, measure.unit, source, repeat, "")
            )
            became[name] = "repeated" if repeat else "used"
        return became

    def wrong(self, column: str, found: str, allowed: str = "", hint: str = "") -> None:
        """Keep what is wrong here."""
        self.problems.append(Problem(self.table, 0, 0, column, found, allowed, hint, self.number))

    def _twice(
        self, name: str, measure: SheetMeasure, first: bool, source: tuple[str, int]
    ) -> None:
        told = f"a second value of {name} for this date, plot, rater and sample"
        hint = f"the first is in {source[0]}, row {source[1]}"
        if measure.repeat_share and first:
            hint += "; if it is the planned second look, write 1 in the column repeat"
        self.wrong("", told, "", hint)

    def _plot(self, trial: Trial) -> str | None:
        text = self.cells["plot"]
        plot = trial.plot(text)
        if plot is not None or (text == "" and self.gap("plot")):
            return plot
        shown = listed(trial.plots[:6]) + (" ..." if len(trial.plots) > 6 else "")
        whole = re.sub(r"\.0+$", "", text) in trial.whole_plots
        hint = "that is a whole plot; write the plot within it" if whole else ""
        self.wrong("plot", quoted(text), f"a plot of plan/plots.csv ({shown})", hint)
        return None

    def _day(self) -> dt.date | None:
        text = self.cells["date"]
        if text == "" and self.gap("date"):
            return None
        try:
            return read_day(text, self.date_order)
        except ValueError as error:
            self.wrong("date", quoted(text), *said(error))
            return None

    def _planned(self, trial: Trial, day: dt.date | None, name: str) -> dt.date | None:
        planned = trial.dates[name]
        if day is None or day in planned:
            return day
        rule = f"a date on which {name} is observed ({listed(planned)})"
        hint = "if the visit was moved, change trial.yaml and tell it under deviations"
        self.wrong("date", f"'{day}'", rule, hint)
        return None

    def _sample(self, measure: SheetMeasure) -> int | None:
        text = self.cells.get("sample", "")
        if text == "" and measure.per_plot == 1:
            return 1
        if re.fullmatch(r"[0-9]{1,9}(\.0+)?", text):
            number = int(float(text))
            if 1 <= number <= measure.per_plot:
                return number
        top = measure.per_plot
        rule = "1" if top == 1 else f"a whole number from 1 to {top}"
        self.wrong("sample", quoted(text), rule, "see per_plot in trial.yaml")
        return None

    def _rater(self, trial: Trial, measure: SheetMeasure) -> str | None:
        text = self.cells.get("rater", "")
        allowed = measure.raters or trial.people
        if text == "":
            if not measure.raters:
                return ""
            if len(measure.raters) == 1:
                return measure.raters[0]
            if self.gap("rater"):
                return None
        same = [name for name in allowed if name.casefold() == text.casefold()]
        if len(same) == 1:
            return same[0]
        if text in allowed:
            return text
        self.wrong("rater", quoted(text), listed(allowed), closest(text, allowed))
        return None

    def _again(self) -> str | None:
        """Tell a rater's second look from the first: the flag, or nothing."""
        text = self.cells.get("repeat", "")
        if re.fullmatch(r"(0+(\.0+)?)?", text):
            return ""
        if re.fullmatch(r"1(\.0+)?", text):
            return REPEAT
        hint = "a column that counts the readings in a plot is called sample"
        self.wrong("repeat", quoted(text), "nothing, or 1 for a second look at the plot", hint)
        return None

    def _value(self, name: str, measure: SheetMeasure) -> float | None:
        text, written = self.cells[name], measure.unit_written
        number = text.removesuffix("%").strip() if written == "%" else text
        try:
            value = read_number(number, self.decimal, self.stored)
        except ValueError as error:
            scale = f"on the scale {_range(measure)}"
            rule = f"a number in {written}" if written else f"a number {scale}"
            hint = said(error)[1] or _number_hint(number, written)
            self.wrong(name, quoted(text), rule, hint)
            return None
        value = to_si(value, written) if written else value
        low, high = measure.readings
        too_low = low is not None and value < low
        too_high = high is not None and value > high
        if too_low or too_high or not math.isfinite(value):
            self.wrong(name, quoted(text), _range(measure))
            return None
        return value


def _number_hint(text: str, unit: str | None) -> str:
    if unit and text.endswith(unit):
        return f"leave out '{unit}'"
    return "for a value that could not be taken, write NA"


def _range(measure: SheetMeasure) -> str:
    """Say which values may stand on the sheet, in the sheet's own unit."""
    written = measure.unit_written
    low, high = (
        from_si(end, written) if end is not None and written else end for end in measure.readings
    )
    if low is not None and high is not None:
        return f"{low:g} to {high:g}"
    return "0 or more" if low == 0 else "an ordinary number"
