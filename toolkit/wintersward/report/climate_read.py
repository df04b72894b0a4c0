"""What came in from loggers: how much was used, what was left out and why, what looks odd."""

from __future__ import annotations

import re

import pandas as pd

from wintersward.records.logger_sums import REASONS
from wintersward.report.climate_arrived import span_text
from wintersward.report.numbers import counted, day_text, listed_words

__all__ = ["flag_words", "read_words", "removed_words"]

_MOST_FLAGS = 6
# What was done about each kind of flag: nothing is removed for one.
_DONE = {
    "swapped sensors": "kept as the diary names them; look at the plugs",
    "clock drift": "times are corrected, straight in between",
    "flat line": "kept; look at the sensor",
    "gap": "nothing was filled in",
    "ends early": "nothing was filled in",
}
_FLAT = re.compile(r"^(\d+) readings of .*$")
_AHEAD = re.compile(r"[\d.]+ min (?:ahead|behind)(?!.* min )")


def read_words(sums: pd.DataFrame, flags: pd.DataFrame) -> str:
    """Say how much came in from loggers, and what of it was used; empty where nothing was read.

    Parameters
    ----------
    sums, flags : DataFrame
        The tables ``logger_sums`` and ``logger_flags`` of a run.
    """
    if sums.empty:
        return ""
    files, columns = counted(sums["file"].nunique(), "file"), counted(len(sums), "column")
    found = counted(len(flag_words(flags, len(flags))), "remark")
    return (
        f"Loggers were read: {columns} of {files}, with {int(sums['used'].sum()):,} readings that "
        f"were used; {found} on what looks odd."
    )


def removed_words(sums: pd.DataFrame) -> str:
    """Say how many readings were left out, by reason; empty where nothing was read."""
    if sums.empty:
        return ""
    totals = {words: int(sums[name].sum()) for name, words in REASONS.items()}
    parts = [f"{total:,} {words}" for words, total in totals.items() if total]
    if not parts:
        return "No reading was left out."
    return f"Readings left out: {listed_words(parts)}."


def flag_words(flags: pd.DataFrame, most: int = _MOST_FLAGS) -> list[str]:
    """List what looks odd in the readings, the first few, and what was done about it.

    Parameters
    ----------
    flags : DataFrame
        The table ``logger_flags`` of a run; what several sensors of a plot share is told once.
    most : int
        How many are told.

    Returns
    -------
    list of str
        What is beyond the first few is counted in the last line.
    """
    told = flags.fillna("").astype(str)
    said = []
    keys = ["kind", "file", "plot", "from", "to", "found"]
    for values, rows in told.groupby(keys, sort=False):
        row = dict(zip(keys, map(str, values), strict=True))
        measures = [one.replace("_", " ") for one in rows["measure"] if one]
        said.append(_flag(row, measures, str(rows["rule"].iloc[0])))
    more = len(said) - most
    return [
        *said[:most],
        *([f"{counted(more, 'more', 'more')} in the appendix."] if more > 0 else []),
    ]


def _flag(row: dict[str, str], measures: list[str], rule: str) -> str:
    """Say where something looks odd, what, when, and what was done."""
    where = f"Plot {row['plot']}" if row["plot"] else f"File {row['file'].rpartition('/')[2]}"
    where += f" ({listed_words(measures)})" if measures else ""
    ends = [row[end][:10] for end in ("from", "to") if row[end]]
    when = span_text(ends[0], ends[-1]) if ends else ""
    kind = row["kind"]
    what = _FLAT.sub(r"\1 equal readings", row["found"]) if kind == "flat line" else kind
    drift = re.search(_AHEAD, row["found"]) if kind == "clock drift" else None
    if drift is not None:
        what, when = f"the clock ran {drift[0]}", f"by {day_text(ends[-1])}"
    elif kind == "gap":
        what = row["found"] if row["found"].startswith("no reading") else f"a gap, {row['found']}"
    done = _DONE.get(kind, "kept")
    if kind == "clock drift" and "corrected" not in rule:
        done = "look at its zone in the diary"
    return f"{where}: {what}{f', {when}' if when else ''}: {done}."
