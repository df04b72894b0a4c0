"""What came in from loggers: how much was used, what was left out and why, what looks odd."""

from __future__ import annotations

import pandas as pd

from wintersward.records.logger_sums import REASONS
from wintersward.report.numbers import counted, day_text, listed_words

__all__ = ["flag_words", "read_words", "removed_words"]

_MOST_FLAGS = 6


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
    found = counted(len(flags), "flag")
    return (
        f"Loggers were read: {columns} of {files}, with {int(sums['used'].sum()):,} readings that "
        f"were used; {found} of what looks odd."
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


def flag_words(flags: pd.DataFrame) -> list[str]:
    """List what looks odd in the readings, the first few; nothing was removed for it.

    Parameters
    ----------
    flags : DataFrame
        The table ``logger_flags`` of a run.

    Returns
    -------
    list of str
        What is beyond the first few is counted in the last line.
    """
    said = []
    for row in flags.head(_MOST_FLAGS).to_dict("records"):
        where = str(row["file"])
        where += f", plot {row['plot']}" if row["plot"] else ""
        where += f", {str(row['measure']).replace('_', ' ')}" if row["measure"] else ""
        ends = [day_text(str(row[end])[:10]) for end in ("from", "to") if row[end]]
        when = f", {' to '.join(dict.fromkeys(ends))}" if ends else ""
        kind = str(row["kind"])
        said.append(f"{kind[:1].upper()}{kind[1:]}: {where}{when}.")
    more = len(flags) - len(said)
    return [*said, f"{counted(more, 'more', 'more')} in the appendix."] if more > 0 else said
