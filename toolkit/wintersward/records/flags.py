"""What looks odd in the records. A flag drops nothing, changes nothing and stops nothing."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from typing import Any

import pandas as pd

from wintersward.records.covered import undrawn_flags
from wintersward.records.flag_alone import alone_flags
from wintersward.records.flag_history import course
from wintersward.records.flag_parts import Flag, Wording
from wintersward.records.flag_raters import digit_flags, mark_flags, second_look_flags
from wintersward.records.flag_values import value_flags
from wintersward.records.flag_visits import cover_flags, visit_flags
from wintersward.records.observations import first_looks
from wintersward.trial.schema import Definition, Diary, LoggerMeasure, SheetMeasure

__all__ = ["FLAG_COLUMNS", "FLAG_KINDS", "flag_table", "flag_words"]

FLAG_COLUMNS = Flag._fields
# Each kind, in the order in which they are told, and what to do about it.
_ADVICE = {
    "under a cover": "if the covers were lifted for the look, tell it under cover_events in "
    "diary.yaml; otherwise look at the date on the sheet",
    "cover where none was drawn": "if it is a slip, correct the plots under covers in diary.yaml; "
    "if covers did lie there, tell it under deviations as well",
    "missed visit": "bring it in, or tell under missing in diary.yaml why it was not taken",
    "part of a visit": "bring it in, or tell under missing in diary.yaml why it was not taken",
    "rater saw only some plots": "bring it in, or tell under missing in diary.yaml why it was not "
    "rated",
    "jump": "look at the sheet, and leave a value that is right",
    "unlike the others": "look at the sheet and at the unit, and leave a value that is right",
    "two plots swapped": "look at the sheet and at the order on foot, and leave values that are "
    "right",
    "second look differs": "look at the sheet, and leave values that are right",
    "digit preference": "leave the values, and from now on write each as it is read or seen",
}
FLAG_KINDS = tuple(_ADVICE)
_TYPES = {"date": "datetime64[ns]", "value": "float64"}
# The file of an observation, with its tab, and the row.
_PLACE = re.compile(r"(.+?):(\d+)")


def flag_table(
    observations: pd.DataFrame,
    definition: Definition,
    diary: Diary,
    plots: pd.DataFrame,
    measures: Collection[str] | None = None,
) -> pd.DataFrame:
    """Find what looks odd in the records.

    Parameters
    ----------
    observations : DataFrame
        Columns of `wintersward.records.COLUMNS`, with the reasons of exclusions filled in; in
        any order.
    definition, diary : Definition, Diary
        What was decided, and what happened since.
    plots : DataFrame
        Columns plot and whole_plot and one a factor, one row a plot. Treatments are used to free
        values from them, and are never told.
    measures : collection of str, optional
        Measures whose values are looked at; all, where left out. What is there at all is looked
        at for every measure.

    Returns
    -------
    DataFrame
        Columns `FLAG_COLUMNS`: text but for date (NaT where a flag is about all dates) and value
        (in ``unit``; NaN where it is not about one value). Several plots are joined by ", ",
        several places by "; ". Sorted by kind in the order of `FLAG_KINDS`, date, plot, rater,
        measure, sample.

    Notes
    -----
    Limits and sources stand with each kind: `wintersward.records.flag_visits` (what is there),
    `flag_values` (jumps, swapped plots), `flag_alone` (first
    dates), `flag_raters` (second looks, digits). Excluded values
    are neither flagged for their size nor used. What loggers took is left out: their readings have
    flags of their own, `wintersward.records.logger_checks`.
    """
    seen = _coded(_visited(observations, definition))
    flags = [*undrawn_flags(definition, diary, plots)]
    flags += cover_flags(seen, definition, diary, plots)
    flags += visit_flags(seen, definition, diary, plots)
    used = seen[(seen["excluded"] == "") & seen["value"].notna()]
    for name, rows in used.groupby("measure", sort=False, observed=True):
        if name in definition.measures and (measures is None or name in measures):
            flags += _of_values(str(name), rows, definition, plots)
    return _table(flags)


def _visited(observations: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    """Leave out what loggers took: nobody goes there for it, and their readings are looked at."""
    logged = [name for name, one in definition.measures.items() if isinstance(one, LoggerMeasure)]
    return observations[~observations["measure"].isin(logged)] if logged else observations


def _coded(observations: pd.DataFrame) -> pd.DataFrame:
    """Sort the observations, with texts that come back often as codes, and tell second looks.

    The column ``again`` tells whether an observation is a second look.
    """
    texts = ("measure", "plot", "rater", "unit", "flags", "excluded")
    seen = observations.astype(dict.fromkeys(texts, "category"))
    marks = pd.DataFrame({"flags": seen["flags"].cat.categories})
    first = marks.index.isin(first_looks(marks).index)
    seen["again"] = ~first[seen["flags"].cat.codes]
    order = ["measure", "date", "plot", "rater", "sample", "flags", "value"]
    return seen.sort_values(order, ignore_index=True)


def _of_values(
    name: str, rows: pd.DataFrame, definition: Definition, plots: pd.DataFrame
) -> Iterable[Flag]:
    """Look at the values of one measure."""
    measure = definition.measures[name]
    words, firsts = Wording(measure), rows[~rows["again"]]
    known = course(firsts, name, definition, plots, words)
    yield from value_flags(known, name)
    yield from alone_flags(known, name)
    yield from second_look_flags(rows, name, words)
    if words.rated:
        yield from mark_flags(firsts, name, words)
    elif isinstance(measure, SheetMeasure):
        yield from digit_flags(firsts, name, words)


def _table(flags: list[Flag]) -> pd.DataFrame:
    table = pd.DataFrame(flags, columns=list(FLAG_COLUMNS))
    table = table.astype({name: _TYPES.get(name, str) for name in FLAG_COLUMNS})
    table["order"] = table["kind"].map(FLAG_KINDS.index)
    keys = ["order", "date", "plot", "rater", "measure", "sample", "found"]
    return table.sort_values(keys, ignore_index=True)[list(FLAG_COLUMNS)]


def flag_words(flag: Any) -> str:
    """Say a flag in one line: the place, what was found, the rule, what to do.

    Parameters
    ----------
    flag : namedtuple or Series
        A row of `flag_table`.

    Examples
    --------
    >>> source = "sheets/pulls.csv:17"
    >>> found = "61.2 lbf, 22 lbf more than this plot's own course"
    >>> rule = "at most 12 lbf away from it"
    >>> print(flag_words(Flag("jump", "pull_force", source=source, found=found, rule=rule)))
    ... # doctest: +NORMALIZE_WHITESPACE
    sheets/pulls.csv, row 17, column pull_force: flag jump: 61.2 lbf, 22 lbf more than this plot's
    own course; rule: at most 12 lbf away from it; look at the sheet, and leave a value that is
    right
    """
    advice = _ADVICE[flag.kind]
    if flag.source.startswith("photos/"):
        advice = advice.replace("the date on the sheet", "the date of the photo")
        advice = advice.replace("the sheet", "the photo")
    return f"{_place(flag)}: flag {flag.kind}: {flag.found}; rule: {flag.rule}; {advice}"


def _place(flag: Any) -> str:
    """Say where it stands: file and row, or else measure, date and rater."""
    if not flag.source:
        day = "" if pd.isna(flag.date) else f"{flag.date:%Y-%m-%d}"
        rater = f"rater {flag.rater}" if flag.rater else ""
        return ", ".join(part for part in (flag.measure or "covers", day, rater) if part)
    files: dict[str, list[str]] = {}
    for place in flag.source.split("; "):
        found = _PLACE.fullmatch(place)
        files.setdefault(found[1] if found else place, []).extend([found[2]] if found else [])
    said = []
    for name, rows in files.items():
        word = "row" if len(rows) == 1 else "rows"
        said.append(f"{name}, {word} {' and '.join(rows)}" if rows else name)
    column = f", column {flag.measure}" if any(files.values()) else f", {flag.measure}"
    return " and ".join(said) + column
