"""Files of loggers become readings of plots, with what became of every row."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd

from wintersward.errors import Problem, closest, listed
from wintersward.records.logger_checks import (
    clock_flags,
    file_flags,
    flat_flags,
    gap_flags,
    place_of,
    swap_flags,
)
from wintersward.records.logger_clean import (
    POSSIBLE,
    Trace,
    code_of,
    repeated_times,
    spikes,
)
from wintersward.records.logger_files import file_meant, files_there, unread_files
from wintersward.records.logger_reading import FileRead, Spot, read_file
from wintersward.records.logger_sums import (
    LOGGER_FLAG_KINDS,
    READING_COLUMNS,
    REASONS,
    LoggerFlag,
    LoggersRead,
)
from wintersward.records.weather import FOLDER
from wintersward.trial.diary_loggers import LoggerFile, LoggerValue
from wintersward.trial.logger_measure import LoggerMeasure
from wintersward.trial.schema import Definition, Diary
from wintersward.trial.zones import SITE, zone_of
from wintersward.units import from_si, to_si

__all__ = ["read_loggers"]


def read_loggers(
    folder: Path, definition: Definition, diary: Diary, plots: pd.DataFrame
) -> LoggersRead:
    """Read every file of loggers that the diary names.

    Parameters
    ----------
    folder : Path
        The study folder; the files lie in its folder ``loggers``.
    definition : Definition
        Its measures from loggers, and the time zone of its site.
    diary : Diary
        How each file is read, and where each of its columns was measured.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.

    Returns
    -------
    LoggersRead
        Readings in UTC and degC, what became of every row, what is wrong, what looks odd, and
        the files that nobody named.

    Notes
    -----
    Of each reading its time is looked at first, then its value, then both beside the others of its
    place; the first reason that holds removes it, and it is counted once. Limits stand in
    `wintersward.records.logger_clean`, those of flags in `wintersward.records.logger_checks`.

    What `wintersward.trial.diary_checks` tells of a diary is not told again: columns of measures
    that are not known are not read, and two columns of one place in one entry contradict each
    other.
    """
    gathering = _Gathering(folder, definition, diary)
    for number, entry in enumerate(diary.loggers, 1):
        gathering.read(number, entry)
    wholes = dict(zip(plots["plot"], plots["whole_plot"], strict=True))
    return gathering.made(wholes)


class _Gathering:
    """Reads the files one after the other, and then looks at each place as a whole."""

    def __init__(self, folder: Path, definition: Definition, diary: Diary) -> None:
        self.definition = definition
        self.diary = diary
        self.there = files_there(folder)
        self.files: list[FileRead] = []
        self.problems: list[Problem] = []
        self.flags: list[LoggerFlag] = []
        self.hashes: dict[str, str] = {}
        self.clashing: list[Trace] = []
        self.site_zone = definition.site.time_zone
        self.site: dt.tzinfo = zone_of(self.site_zone) if self.site_zone else dt.UTC

    def read(self, number: int, entry: LoggerFile) -> None:
        """Read one file."""
        name = file_meant(entry.file)
        if name not in self.there:
            allowed = f"a file in the folder {FOLDER}"
            allowed += f" ({listed(self.there)})" if self.there else ""
            hint = closest(name, self.there) or f"put it into {FOLDER}"
            self._wrong(number, "file", f"'{entry.file}'", allowed, hint)
            return
        try:
            zone = zone_of(entry.zone, self.site_zone)
        except ValueError as error:
            rule, hint = str(error), ""
            if entry.zone == SITE:
                rule, hint = "a zone that is known", "add 'time_zone' under site in trial.yaml"
            self._wrong(number, "zone", f"'{entry.zone}'", rule, hint)
            return
        called = f"{FOLDER}/{name}"
        self._once(name, called)
        spots = [self._spot(value) for value in entry.values]
        file = read_file(entry, number, self.there[name], called, spots, zone, self.site)
        for trace in file.traces:
            if not trace.what:
                trace.remove(trace.used, "refused")
        self.files.append(file)
        self.problems += file.problems
        self.flags += clock_flags(called, entry, file.drift, file.traces, zone)

    def _spot(self, value: LoggerValue) -> Spot:
        measure = self.definition.measures.get(value.measure)
        what = measure.what if isinstance(measure, LoggerMeasure) else ""
        return Spot(value.measure, value.plot, value.position or "", what)

    def _once(self, name: str, called: str) -> None:
        """Tell a file that is a copy of another one."""
        try:
            content = self.there[name].read_bytes()
        except OSError:
            return  # told where it is read
        first = self.hashes.setdefault(hashlib.sha256(content).hexdigest(), called)
        if first != called and content.strip():
            rule, hint = "a file of its own for each logger", "read that logger out again"
            self.problems.append(Problem(called, 0, 0, "", f"a copy of {first}", rule, hint))

    def made(self, wholes: Mapping[str, str]) -> LoggersRead:
        """Look at each place as a whole, and put everything together."""
        traces = [trace for file in self.files for trace in file.traces]
        by_place: dict[tuple[str, str, str], list[Trace]] = {}
        for trace in traces:
            by_place.setdefault((trace.measure, trace.plot, trace.position), []).append(trace)
        places = []
        for _, of_place in sorted(by_place.items()):
            self._across(of_place)
            _remove_spikes(of_place)
            place = place_of(of_place)
            places.append(place)
            self.flags += [*flat_flags(place), *gap_flags(place)]
        for trace in traces:
            self._tell_unfit(trace)
        self.flags += swap_flags(places, wholes, self.site)
        for file in self.files:
            entry = self.diary.loggers[file.traces[0].entry - 1] if file.traces else None
            if entry is not None:
                self.flags += file_flags(entry, file.traces, self.site)
        return LoggersRead(
            _frame([trace for _, some in sorted(by_place.items()) for trace in some]),
            [one for file in self.files for one in file.sums()],
            sorted(set(self.problems)),
            sorted(self.flags, key=_flag_rank),
            unread_files(self.diary, self.there),
        )

    def _across(self, traces: list[Trace]) -> None:
        """Remove what several files tell of one place at one time."""
        traces = [trace for trace in traces if trace.used.any()]
        if len(traces) < 2:
            return
        places = [np.flatnonzero(trace.used) for trace in traces]
        owner = np.repeat(np.arange(len(traces)), [len(at) for at in places])
        utc = np.concatenate([trace.utc[at] for trace, at in zip(traces, places, strict=True)])
        values = np.concatenate([t.values[at] for t, at in zip(traces, places, strict=True)])
        same, other = repeated_times(utc, values)
        for number, (trace, at) in enumerate(zip(traces, places, strict=True)):
            mine = owner == number
            trace.reason[at[same[mine]]] = code_of("repeated")
            trace.reason[at[other[mine]]] = code_of("contradicting")
        last = traces[-1]
        clashes = int(other.sum()) // 2
        if clashes > int(same.sum()):
            times = "1 time" if clashes == 1 else f"{clashes} times"
            where = f"{last.measure} of plot {last.plot} {last.position}".strip()
            found = f"other readings than in {traces[0].file} at {times}"
            if last.file == traces[0].file:
                found = f"other readings than in column '{traces[0].column}' at {times}"
            hint = "tell sensors apart by 'position', or when each lay there by 'used'"
            rule = f"one reading a time for {where}"
            if last.entry != traces[0].entry:  # else the diary's own checks tell it
                self._wrong(last.entry, f"values.{last.part}", found, rule, hint)
            self.clashing += traces

    def _tell_unfit(self, trace: Trace) -> None:
        """Tell a column of which nothing is used, or of which most is impossible."""
        removed = trace.removed()
        known = "refused" in removed or any(trace is one for one in self.clashing)
        if known or len(trace.reason) == 0 or "repeated" in removed:
            return
        impossible = removed.get("impossible", 0)
        used = int(trace.used.sum())
        unit = self.diary.loggers[trace.entry - 1].values[trace.part - 1].unit
        if impossible > used:
            low, high = POSSIBLE[trace.what]
            found = f"'{unit}', by which {impossible} of {len(trace.reason)} rows are impossible"
            allowed = f"the unit of '{trace.column}' in {trace.file}, {trace.what} being from "
            allowed += f"{low:g} to {high:g} degC"
            other = "degF" if unit == "degC" else "degC"
            hint = "look at unit, sensor and 'missing'"
            wrong = trace.values[trace.reason == code_of("impossible")]
            if all(low <= to_si(from_si(one, unit), other) <= high for one in wrong.tolist()):
                hint = f"is it in {other}?"
            self._wrong(trace.entry, f"values.{trace.part}.unit", found, allowed, hint)
        elif used == 0:
            told = " + ".join(f"{count} {REASONS[why]}" for why, count in removed.items())
            found = f"'{trace.column}' without a reading that can be used ({told})"
            hint = "look at column, 'used' and 'missing'"
            self._wrong(trace.entry, f"values.{trace.part}.column", found, "", hint)

    def _wrong(self, number: int, name: str, found: str, allowed: str, hint: str) -> None:
        place = f"loggers.{number}.{name}"
        self.problems.append(Problem("diary.yaml", 0, 0, place, found, allowed, hint))


def _remove_spikes(traces: list[Trace]) -> None:
    """Remove the spikes of a place, whichever file they come from."""
    places = [np.flatnonzero(trace.used) for trace in traces]
    utc = np.concatenate([trace.utc[at] for trace, at in zip(traces, places, strict=True)])
    values = np.concatenate([t.values[at] for t, at in zip(traces, places, strict=True)])
    order = np.argsort(utc, kind="stable")
    out = np.zeros(len(utc), bool)
    out[order] = spikes(utc[order], values[order], traces[0].what)
    begins = np.cumsum([0, *map(len, places)])
    for trace, at, begin in zip(traces, places, begins[:-1], strict=True):
        trace.reason[at[out[begin : begin + len(at)]]] = code_of("spike")


def _flag_rank(flag: LoggerFlag) -> tuple[object, ...]:
    when = 0 if pd.isna(flag.begins) else flag.begins.value
    place = (flag.file, flag.measure, flag.plot)
    return (LOGGER_FLAG_KINDS.index(flag.kind), *place, when, flag.found)


def _frame(traces: list[Trace]) -> pd.DataFrame:
    """Put the readings that are used into a table; traces of one place stand together."""
    times, values, sources, counts = [], [], [], []
    for trace in traces:
        used = trace.used
        times.append(trace.utc[used])
        values.append(trace.values[used])
        sources += [f"{trace.file}:{line}" for line in trace.lines[used].tolist()]
        counts.append(int(used.sum()))
    utc = np.concatenate([np.empty(0, "datetime64[us]"), *times])
    keys = {name: [getattr(t, name) for t in traces] for name in ("measure", "plot", "position")}
    place = [tuple(key) for key in zip(*keys.values(), strict=True)]
    rank = np.repeat([sorted(set(place)).index(one) for one in place], counts)
    order = np.lexsort((utc, rank)) if len(utc) else np.empty(0, np.intp)
    made = {name: np.repeat(np.array(held, object), counts) for name, held in keys.items()}
    frame = pd.DataFrame(
        {
            "time": pd.DatetimeIndex(utc, tz="UTC"),
            **{name: pd.Series(held, dtype="str") for name, held in made.items()},
            "value": np.concatenate([np.empty(0), *values]),
            "source": pd.Series(sources, dtype="str"),
        }
    )
    return frame[list(READING_COLUMNS)].take(order).reset_index(drop=True)
