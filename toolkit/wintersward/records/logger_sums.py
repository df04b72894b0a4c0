"""What loggers gave: readings, and what became of every row of their files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import pandas as pd

from wintersward.errors import Problem

__all__ = ["LOGGER_FLAG_COLUMNS", "LOGGER_FLAG_KINDS", "LOGGER_SUM_COLUMNS", "READING_COLUMNS"]
__all__ += ["REASONS", "LoggerFlag", "LoggerSums", "LoggersRead", "logger_flag_table"]
__all__ += ["logger_sums_table"]

READING_COLUMNS = ("time", "plot", "measure", "position", "value", "source")
# Why a reading is removed, in the order in which it is asked, and how that is told.
REASONS = {
    "refused": "of a column that is not read",
    "unreadable": "that cannot be read",
    "skipped_hour": "at a time that the clocks jumped over",
    "repeated_hour": "in the repeated hour, not to be told apart",
    "outside_use": "outside the time of use",
    "declared_missing": "marked missing",
    "impossible": "impossible",
    "repeated": "that say the same again",
    "contradicting": "that say different things at one time",
    "backwards": "whose time runs backwards",
    "spike": "taken for spikes",
}
_OTHER_ROWS = {
    "above": "above the headings",
    "headings": "of headings",
    "blank": "blank",
    "after": "after the last reading",
    "used": "used",
}
_KEY = ("file", "column", "measure", "plot", "position")
LOGGER_SUM_COLUMNS = (*_KEY, "rows", *_OTHER_ROWS, *REASONS)
# Each kind of flag, in the order in which they are told.
LOGGER_FLAG_KINDS = ("swapped sensors", "clock drift", "flat line", "gap", "ends early")


class LoggerFlag(NamedTuple):
    """What looks odd in a logger's readings. It removes nothing.

    Parameters
    ----------
    kind : str
        One of `LOGGER_FLAG_KINDS`.
    file : str
        Where it is seen.
    measure, plot : str
        Of which trace; empty where it is about every trace of the file.
    begins, ends : Timestamp
        From when until when, UTC; NaT where it is about no time.
    found : str
        What is seen.
    rule : str
        By what it is odd, with the source.
    """

    kind: str
    file: str
    measure: str
    plot: str
    begins: pd.Timestamp
    ends: pd.Timestamp
    found: str
    rule: str


LOGGER_FLAG_COLUMNS = ("kind", "file", "measure", "plot", "from", "to", "found", "rule")


@dataclass(frozen=True)
class LoggerSums:
    """How many rows a file holds, and what became of them in one column of values.

    Parameters
    ----------
    file, column : str
        The file, and the heading as the diary names it.
    measure, plot, position : str
        Where the column was measured; position is empty where none is told.
    rows : int
        Lines of the file: ``above + headings + blank + after + used`` and all that is removed.
    above, headings : int
        Lines above the headings; of headings, which may stand once more further down.
    blank : int
        Lines in which nothing stands.
    after : int
        Lines below the last reading that hold neither a time nor a value.
    used : int
        Readings.
    removed : mapping of str to int
        From the reasons of `REASONS` to how many were removed for it; reasons without any may be
        left out.
    """

    file: str
    column: str
    measure: str
    plot: str
    position: str
    rows: int
    above: int = 0
    headings: int = 0
    blank: int = 0
    after: int = 0
    used: int = 0
    removed: Mapping[str, int] = field(default_factory=dict)

    def words(self) -> str:
        """Say the sums in one line.

        Examples
        --------
        >>> print(LoggerSums("loggers/a.csv", "Temp", "soil", "101", "", 1440, headings=1,
        ...       used=1436, removed={"declared_missing": 2, "spike": 1}).words())
        loggers/a.csv, Temp, plot 101: 1440 rows = 1 of headings + 1436 used + 2 marked missing + 1 taken for spikes
        """  # noqa: E501
        told = {words: getattr(self, name) for name, words in _OTHER_ROWS.items()}
        told |= {words: self.removed.get(name, 0) for name, words in REASONS.items()}
        parts = " + ".join(f"{count} {words}" for words, count in told.items() if count)
        where = f"{self.plot} {self.position}".strip()
        rows = "1 row" if self.rows == 1 else f"{self.rows} rows"
        return f"{self.file}, {self.column}, plot {where}: {rows} = {parts or 'none'}"


@dataclass(frozen=True)
class LoggersRead:
    """What the loggers of a study gave.

    Parameters
    ----------
    readings : DataFrame
        Columns `READING_COLUMNS`: time (datetime64[us, UTC]), plot (a plot or a whole plot, as
        the diary names it), measure, position (empty where none is told), value [degC] and source
        (file and line); sorted by measure, plot, position, time; no time of one place twice.
    sums : list of LoggerSums
        One a column of values, read or refused, in the order of the diary.
    problems : list of Problem
        Everything that is wrong, sorted by place; readings without fault are there all the same.
    flags : list of LoggerFlag
        What looks odd, sorted by kind, file, place and time.
    unread : list of Problem
        Files in the folder that the diary does not name; told, and no hindrance.
    """

    readings: pd.DataFrame
    sums: list[LoggerSums] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    flags: list[LoggerFlag] = field(default_factory=list)
    unread: list[Problem] = field(default_factory=list)


def logger_sums_table(sums: Sequence[LoggerSums]) -> pd.DataFrame:
    """Put sums into a table.

    Returns
    -------
    DataFrame
        Columns `LOGGER_SUM_COLUMNS`; text, then counts as integers, one row a column of values.
    """
    rows = [
        (
            *(getattr(one, name) for name in (*_KEY, "rows", *_OTHER_ROWS)),
            *(one.removed.get(name, 0) for name in REASONS),
        )
        for one in sums
    ]
    frame = pd.DataFrame(rows, columns=list(LOGGER_SUM_COLUMNS))
    types = {name: str if name in _KEY else "int64" for name in LOGGER_SUM_COLUMNS}
    return frame.astype(types)


def logger_flag_table(flags: Sequence[LoggerFlag]) -> pd.DataFrame:
    """Put flags into a table.

    Returns
    -------
    DataFrame
        Columns `LOGGER_FLAG_COLUMNS`; from and to are datetime64[us, UTC], the others text.
    """
    frame = pd.DataFrame(list(flags), columns=list(LOGGER_FLAG_COLUMNS))
    times = {name: pd.to_datetime(frame[name], utc=True) for name in ("from", "to")}
    texts = {name: str for name in LOGGER_FLAG_COLUMNS if name not in times}
    return frame.assign(**times).astype({**texts, **dict.fromkeys(times, "datetime64[us, UTC]")})
