"""One row of a hand-filled table: checked against the trial, and turned into observations."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import pandas as pd

from wintersward.errors import Problem, closest, listed
from wintersward.records.cells import number_in, quoted, read_day, read_number, said
from wintersward.records.observations import REPEAT
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import MISSING, Definition, Sheet, SheetMeasure
from wintersward.units import UNITS, from_si, stands_for, to_si

__all__ = ["Row", "Second", "Seen", "Trial"]

# Letters that are taken for digits, and the digits.
_LOOK_ALIKE = str.maketrans("OoIlSBZ", "0011582")
# What spreadsheet programs make of a rating such as 6-7, in a workbook and in a CSV file.
_MADE_A_DATE = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{1,2}-[A-Z][a-z]{2}(-[0-9]{2})?|[A-Z][a-z]{2}-[0-9]{2}"
)


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
    marks : dict
        The same of what is marked as missing, in rows without any value.
    """

    rows: list[tuple[Any, ...]] = field(default_factory=list)
    sources: dict[tuple[Any, ...], tuple[str, int]] = field(default_factory=dict)
    marks: dict[tuple[Any, ...], tuple[str, int]] = field(default_factory=dict)


class Second(NamedTuple):
    """A second value of one thing.

    Parameters
    ----------
    found : str
        Of what.
    advice : str
        What to do about it.
    table : str
        The table of the first value.
    row : int
        Its row there.
    """

    found: str
    advice: str
    table: str
    row: int


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
        self.marks = sheet.missing if sheet else MISSING
        self.stored = stored
        self.gap = gap
        self.problems: list[Problem] = []
        self.seconds: list[Second] = []

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
            if key in seen.marks:
                self._both(name, "a value", "a mark for a missing one", seen.marks[key])
                continue
            seen.sources[key] = (self.table, self.number)
            source = f"{self.table}:{self.number}"
            seen.rows.append(
                (planned, plot, name, sample, rater, value, measure.unit, source, repeat, "")
            )
            became[name] = "repeated" if repeat else "used"
        return became

    def mark(self, trial: Trial, measures: Mapping[str, SheetMeasure], seen: Seen) -> None:
        """Check a row in which every measure that it holds is marked as missing.

        Parameters
        ----------
        trial : Trial
            What is allowed.
        measures : mapping of str to SheetMeasure
            Those that are marked.
        seen : Seen
            Marks are added to it.

        Notes
        -----
        A mark may also say that a measure is not taken on this day, or not in each sample: the
        day is one of any measure, the sample one of the measure with most of them.
        """
        plot, day, again = self._plot(trial), self._day(), self._again()
        if not any(day in planned for planned in trial.dates.values()):
            day = self._planned(trial, day, next(iter(measures)))
        if self.cells.get("sample"):
            self._sample(max(measures.values(), key=lambda measure: measure.per_plot))
        if self.problems or plot is None or day is None:
            return
        for name, measure in measures.items():
            sample = self.cells.get("sample", "") or ("1" if measure.per_plot == 1 else "")
            who = self.cells.get("rater", "").casefold()
            raters = [one for one in measure.raters if who in ("", one.casefold())]
            # Beside a rater's name, a mark may mean that somebody else took the measure.
            clear = len(raters) == 1 if measure.raters else not who
            if not sample or not clear or float(sample) > measure.per_plot:
                continue
            rater = raters[0] if raters else ""
            key = (name, day, plot, rater, int(float(sample)), again)
            seen.marks.setdefault(key, (self.table, self.number))
            if key in seen.sources:
                self._both(name, "a mark for a missing value", "a value", seen.sources[key])

    def _both(self, column: str, one: str, other: str, source: tuple[str, int]) -> None:
        hint = "keep one of them, or correct date, plot or sample"
        self.wrong(column, f"{one} where {source[0]}, row {source[1]} has {other}", "", hint)

    def wrong(self, column: str, found: str, allowed: str = "", hint: str = "") -> None:
        """Keep what is wrong here."""
        self.problems.append(Problem(self.table, 0, 0, column, found, allowed, hint, self.number))

    def _twice(
        self, name: str, measure: SheetMeasure, first: bool, source: tuple[str, int]
    ) -> None:
        of = (
            ["date", "plot"]
            + ["rater"] * bool(measure.raters)
            + ["sample"] * (measure.per_plot > 1)
        )
        before, last = listed(of[:-1]), of[-1]
        told = f"a second value of {name} for this {before} and {last}"
        advice = f"keep one, or correct {before} or {last}"
        if measure.repeat_share and first:
            advice += "; if it is the planned second look, write 1 in the column repeat"
        self.seconds.append(Second(told, advice, *source))

    def _plot(self, trial: Trial) -> str | None:
        text = self.cells["plot"]
        plot = trial.plot(text)
        if plot is not None or (text == "" and self.gap("plot")):
            return plot
        shown = listed(trial.plots[:6]) + (" ..." if len(trial.plots) > 6 else "")
        whole = re.sub(r"\.0+$", "", text) in trial.whole_plots
        hint = "that is a whole plot; write the plot within it" if whole else ""
        alike = trial.plot(text.translate(_LOOK_ALIKE))
        if alike is not None and not whole:
            hint = f"write {alike}: a letter stands there for a digit"
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
        hint = _slip(day, planned) or (
            "if the visit was moved, change trial.yaml and tell it under deviations in diary.yaml"
        )
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
            rule = number_in(written) if written else f"a number {scale}"
            hint = said(error)[1] or _number_hint(number, written, self.marks)
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


def _slip(day: dt.date, planned: list[dt.date]) -> str:
    """Tell a planned day of another year, or one with day and month the other way round."""
    same = [one for one in planned if (one.month, one.day) == (day.month, day.day)]
    turned = [one for one in planned if one.timetuple()[:3] == (day.year, day.day, day.month)]
    if same:
        return f"did you mean {same[0]}?"
    return f"if day and month are swapped, write {turned[0]}" if turned else ""


def _number_hint(text: str, unit: str | None, marks: Sequence[str]) -> str:
    behind = re.sub(r"^[-+]?[0-9.,]+\s*", "", text)
    if unit and behind != text and (behind == unit or stands_for(behind, unit)):
        return f"leave out '{behind}'"
    if unit and behind != text and any(behind == u or stands_for(behind, u) for u in UNITS):
        return f"give {number_in(unit)}, and leave out '{behind}'"
    if _MADE_A_DATE.fullmatch(text):
        return "a spreadsheet made a date of it: format the column as text, and type it in again"
    if text.startswith("#"):
        return "correct the formula, or type the number in"
    if any(letter.isdigit() for letter in text):
        return "write one number and nothing else; remarks go into a column of their own"
    if not marks:
        return "a value that could not be taken needs a mark under 'missing' of this table"
    mark = next((mark for mark in marks if mark), "")
    return f"for a value that could not be taken, {f'write {mark}' if mark else 'leave the cell'}"


def _range(measure: SheetMeasure) -> str:
    """Say which values may stand on the sheet, in the sheet's own unit."""
    written = measure.unit_written
    low, high = (
        from_si(end, written) if end is not None and written else end for end in measure.readings
    )
    behind = f" {written}" if written else ""
    if low is not None and high is not None:
        return f"{low:g} to {high:g}{behind}"
    return f"0{behind} or more" if low == 0 else "an ordinary number"
