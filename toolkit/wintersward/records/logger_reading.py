"""One file of a logger: its rows become traces, with what becomes of each row."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

from wintersward.errors import Problem
from wintersward.records.cells import is_number, plain, quoted
from wintersward.records.logger_clean import Fault, Trace, read_values, tidy_trace
from wintersward.records.logger_files import LoggerTable, read_table
from wintersward.records.logger_formats import formats_that_fit
from wintersward.records.logger_sums import LoggerSums
from wintersward.records.logger_times import (
    Drift,
    Mask,
    Stamps,
    Times,
    drift_of,
    in_utc,
    read_times,
    tidied,
)
from wintersward.trial.diary_loggers import LoggerFile

__all__ = ["FileRead", "Spot", "read_file", "used_span"]

# So many cells of a file that cannot be read are told one by one.
_TOLD = 12
# So many times that cannot be read are looked at for another format.
_LOOK = 200
_EXAMPLE = dt.datetime(2026, 3, 24, 17, 38, 42)  # noqa: DTZ001
_DAY = np.timedelta64(1, "D")
# Days of this century, as spreadsheet programs count them.
_SERIAL = re.compile(r"[3-7][0-9]{4}([.,][0-9]+)?")
_NUMBERS_OF_DAYS = re.compile("%[dm]")
# Steps of a file whose days were read as months, how many there are at least, and steps of the
# same file read rightly.
_LEAPS, _SOME_LEAPS, _STEPS = 20 * _DAY, 3, 2 * _DAY


class Spot(NamedTuple):
    """Where a column was measured; ``what`` is the kind of temperature."""

    measure: str
    plot: str
    position: str
    what: str


@dataclass
class FileRead:
    """What one file gave.

    Parameters
    ----------
    table : LoggerTable or None
        Its rows; None where it cannot be read.
    traces : list of Trace
        One a column of values; all rows removed where the file is not sound.
    problems : list of Problem
        What is wrong.
    after : int
        Rows below the last reading that hold neither a time nor a value.
    drift : Drift or None
        How the clock was corrected.
    """

    table: LoggerTable | None
    traces: list[Trace] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    after: int = 0
    drift: Drift | None = None

    def sums(self) -> list[LoggerSums]:
        """Count what became of the rows, one a trace."""
        table = self.table
        if table is None:
            return []
        headings = bool(table.headings) + table.again
        return [
            LoggerSums(
                trace.file,
                trace.column,
                trace.measure,
                trace.plot,
                trace.position,
                table.rows,
                table.above,
                headings,
                table.blank,
                self.after,
                int(trace.used.sum()),
                trace.removed(),
            )
            for trace in self.traces
        ]


def read_file(
    entry: LoggerFile,
    number: int,
    path: Path,
    name: str,
    spots: Sequence[Spot],
    zone: dt.tzinfo,
    site: dt.tzinfo,
) -> FileRead:
    """Read a file as the diary says.

    Parameters
    ----------
    entry : LoggerFile
        What the diary says.
    number : int
        Its place among the loggers of the diary, counted from 1.
    path, name : Path, str
        The file, and what to call it.
    spots : sequence of Spot
        Where each of its values was measured.
    zone, site : tzinfo
        The zone of its clock, and that of the site, by which days of use begin and end.
    """
    table, problems = read_table(entry, number, path, name)
    made = FileRead(table, problems=problems)
    if table is None:
        return made
    reader = _Reader(entry, number, table, made)
    reader.empty_traces(spots)
    if problems or not reader.read_local():
        for trace in made.traces:
            trace.remove(np.ones(len(trace.lines), bool), "refused")
        return made
    reader.read(zone, site)
    return made


class _Reader:
    """Turns the rows of a table into traces, and keeps what is wrong."""

    def __init__(self, entry: LoggerFile, number: int, table: LoggerTable, made: FileRead) -> None:
        self.entry = entry
        self.number = number
        self.table = table
        self.made = made
        self.faults: list[Fault] = []
        # Rows in the order in which time runs, by their place in the table.
        self.order = np.arange(len(table.lines))
        self.texts: list[str] = []
        self.local: Stamps = np.empty(0, "datetime64[us]")

    def empty_traces(self, spots: Sequence[Spot]) -> None:
        """Begin a trace for each value of the entry."""
        lines = np.array(self.table.lines, dtype="int64")
        for part, (value, spot) in enumerate(zip(self.entry.values, spots, strict=True), 1):
            trace = Trace(
                self.number,
                part,
                self.table.name,
                value.column,
                spot.measure,
                spot.plot,
                spot.position,
                spot.what,
                lines,
                np.full(len(lines), np.datetime64("NaT", "us")),
                np.full(len(lines), np.nan),
                np.zeros(len(lines), np.int8),
            )
            self.made.traces.append(trace)

    def read_local(self) -> bool:
        """Read the times as the clock had them; tells whether they can be used."""
        columns = [self.table.column(self.table.places(one)[0]) for one in self.entry.time_columns]
        self.texts = [" ".join(parts) for parts in zip(*columns, strict=True)]
        try:
            self.local = read_times(self.texts, self.entry.format)
        except ValueError:
            rule = "a format of strptime, such as '%m/%d/%Y %H:%M'"
            self._in_diary("format", f"'{self.entry.format}'", rule, "")
            return False
        self._leave_the_end()
        if len(self.order) == 0:
            where = "a reading below the headings"
            hint = "export the file again, or move it out of loggers"
            self.made.problems.append(
                Problem(self.table.name, found="no reading", allowed=where, hint=hint)
            )
            return False
        return not (self._rows_are_longer() or self._format_is_another() or self._months_are_days())

    def _leave_the_end(self) -> None:
        """Count the last rows that hold neither a time nor a value, such as "End of data"."""
        places = [self.table.places(value.column)[0] for value in self.entry.values]
        end = len(self.local)
        while end and np.isnat(self.local[end - 1]):
            row = self.table.cells[end - 1]
            if any(at < len(row) and is_number(row[at].strip()) for at in places):
                break
            end -= 1
        self.made.after = len(self.local) - end
        self.order = self.order[:end]
        self.local = self.local[:end]
        for trace in self.made.traces:
            trace.lines, trace.utc = trace.lines[:end], trace.utc[:end]
            trace.values, trace.reason = trace.values[:end], trace.reason[:end]

    def _rows_are_longer(self) -> bool:
        """Tell where every row has more cells than there are headings."""
        if not self._surplus().all():
            return False
        row, width = self.table.cells[0], len(self.table.headings)
        found = f"{len(row)} cells below {width} headings"
        hint = "put headings and values that hold a comma in quotes, or tell 'delimiter'"
        where = self.table.lines[0]
        self.made.problems.append(Problem(self.table.name, found=found, hint=hint, row=where))
        return True

    def _format_is_another(self) -> bool:
        """Tell where no time, or each in another format, can be read by that of the diary."""
        wrong = np.flatnonzero(np.isnat(self.local))
        if len(wrong) == 0:
            return False
        form = self.entry.format
        texts = self.texts[: len(self.local)]
        some = [tidied(texts[at], form) for at in wrong[:_LOOK].tolist()]
        fit = formats_that_fit(some)
        fit = [one for one in fit if not np.isnat(read_times(texts, one)).any()]
        if not fit and len(wrong) < len(self.local):
            return False
        at = int(wrong[0])
        text, line = quoted(plain(self.texts[at])), self.table.lines[at]
        rule = f"the format of the times in {self.table.name}, such as {text} in line {line}"
        known = " or ".join(f"'{one}'" for one in fit)
        hint = f"{known} fits all of them" if fit else ""
        if all(map(_SERIAL.fullmatch, some)):
            hint = "spreadsheets keep times as such numbers: format the column as date and time, "
            hint += "and save the file again"
        self._in_diary("format", f"'{form}'", rule, hint)
        return True

    def _months_are_days(self) -> bool:
        """Tell where the days of a file follow one another once month and day change places."""
        form = self.entry.format
        known = self.local[~np.isnat(self.local)]
        days = (known.astype("datetime64[D]") - known.astype("datetime64[M]")) / _DAY
        numbers = set(_NUMBERS_OF_DAYS.findall(form))
        if numbers != {"%d", "%m"} or form.startswith("%Y") or not _leaps(known):
            return False
        if days.max() > 11:
            return False
        other = form.replace("%d", "%\0").replace("%m", "%d").replace("%\0", "%m")
        swapped = read_times(self.texts[: len(self.local)], other)
        steps = np.abs(np.diff(swapped[~np.isnat(self.local)]))
        if np.isnat(swapped).sum() != np.isnat(self.local).sum() or steps.max() > _STEPS:
            return False
        rule = f"a format by which the days of {self.table.name} follow one another"
        self._in_diary("format", f"'{form}'", rule, f"by '{other}' they do")
        return True

    def read(self, zone: dt.tzinfo, site: dt.tzinfo) -> None:
        """Fill the traces."""
        steps = np.diff(self.local[~np.isnat(self.local)]).astype("int64")
        if (steps < 0).sum() > (steps > 0).sum():
            self.order, self.local = self.order[::-1], self.local[::-1]
        times = self._times(zone)
        utc = times.utc
        self.made.drift = drift_of(self.entry.clock or [], zone)
        if self.made.drift is not None:
            utc = self.made.drift.corrected(utc)
        surplus = self._surplus()
        outside = _outside(utc, self.entry.used, site)
        for trace, value in zip(self.made.traces, self.entry.values, strict=True):
            trace.lines = np.array(self.table.lines, dtype="int64")[self.order]
            trace.utc = utc
            trace.remove(np.isnat(self.local) | surplus, "unreadable")
            trace.remove(times.skipped, "skipped_hour")
            trace.remove(times.repeated, "repeated_hour")
            trace.remove(outside, "outside_use")
            at = self.table.places(value.column)[0]
            column = self.table.column(at)
            cells = [column[row] for row in self.order]
            self.faults += read_values(
                trace, cells, self.entry.decimal, self.entry.missing, value.unit
            )
            tidy_trace(trace)
        self._tell_times(surplus)
        self.made.problems += _told(self.faults, self.table.name)

    def _times(self, zone: dt.tzinfo) -> Times:
        """Bring the times to UTC; where the file tells its distance from it they are there."""
        if "%z" in self.entry.format:
            none = np.zeros(len(self.local), bool)
            return Times(self.local.copy(), none, none)
        return in_utc(self.local, zone)

    def _surplus(self) -> Mask:
        """Find the rows that are longer than the headings."""
        width = len(self.table.headings)
        rows = [self.table.cells[at] for at in self.order]
        return np.array(
            [len(row) > width and any(cell.strip() for cell in row[width:]) for row in rows], bool
        )

    def _tell_times(self, surplus: Mask) -> None:
        column = self.entry.time_columns[0]
        rule = f"a time written {self.entry.format}"
        with suppress(ValueError):
            rule += f", such as {_EXAMPLE.strftime(self.entry.format)}"
        hint = "take the line out, or correct 'format' of this file in diary.yaml"
        for at in np.flatnonzero(np.isnat(self.local) & ~surplus):
            row = int(self.order[at])
            shown = quoted(plain(self.texts[row]))
            self.faults.append(Fault(self.table.lines[row], column, shown, rule, hint))
        width = len(self.table.headings)
        for at in np.flatnonzero(surplus):
            row = int(self.order[at])
            last = next(cell for cell in self.table.cells[row][: width - 1 : -1] if cell.strip())
            found = f"{quoted(plain(last))} to the right of the last heading"
            hint = "put a value that holds a comma in quotes, and look at 'decimal' in diary.yaml"
            self.faults.append(Fault(self.table.lines[row], "", found, "", hint))

    def _in_diary(self, name: str, found: str, allowed: str, hint: str) -> None:
        place = f"loggers.{self.number}.{name}"
        self.made.problems.append(Problem("diary.yaml", 0, 0, place, found, allowed, hint))


def _leaps(known: Stamps) -> bool:
    steps = np.abs(np.diff(known))
    return int((steps > _LEAPS).sum()) >= _SOME_LEAPS


def _outside(utc: Stamps, used: Sequence[dt.date] | None, site: dt.tzinfo) -> Mask:
    """Find the times before and after a time of use; a day is used from its start to its end."""
    if not used:
        return np.zeros(len(utc), bool)
    first, last = used_span(used, site)
    return ~np.isnat(utc) & ((utc < first) | (utc > last))


def used_span(used: Sequence[dt.date], site: dt.tzinfo) -> tuple[np.datetime64, np.datetime64]:
    """Give the first and the last moment of a time of use [datetime64[us], UTC]."""
    first = used[0] if isinstance(used[0], dt.datetime) else dt.datetime.combine(used[0], dt.time())
    last = used[1]
    if not isinstance(last, dt.datetime):
        # To the last microsecond of the day.
        last = dt.datetime.combine(last, dt.time.max)
    ends = []
    for when in (first, last):
        placed = when if when.tzinfo is not None else when.replace(tzinfo=site)
        ends.append(pd.Timestamp(placed).tz_convert(None).to_datetime64().astype("datetime64[us]"))
    return ends[0], ends[1]


def _told(faults: Sequence[Fault], name: str) -> list[Problem]:
    """Tell the first cells that cannot be read, and count the others."""
    ordered = sorted(set(faults))
    told = [
        Problem(name, 0, 0, one.column, one.found, one.allowed, one.hint, one.line)
        for one in ordered[:_TOLD]
    ]
    left = len(ordered) - _TOLD
    if left > 0:
        found = "1 more cell" if left == 1 else f"{left} more cells"
        told.append(
            Problem(
                name,
                found=f"{found} that cannot be read, from here on",
                hint="correct what is told above first",
                row=ordered[_TOLD].line,
            )
        )
    return told
