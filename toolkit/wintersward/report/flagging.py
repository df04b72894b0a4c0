"""What the checks noticed in the records, as a report tells it."""

from __future__ import annotations

import re

import pandas as pd
from markupsafe import Markup

from wintersward.records import FLAG_KINDS, first_looks
from wintersward.report.numbers import MINUS, counted, day_text, listed_words
from wintersward.report.said import Said, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import measure_view, rater_name
from wintersward.trial.applied import begins
from wintersward.trial.schema import Definition, SheetMeasure

__all__ = ["flagged_words", "flags_table", "looked_table", "place_words"]

_NAME = "flags"
# Rows that the page shows, and plots that a row names; the file holds all.
_MOST_ROWS = 30
_MOST_PLOTS = 3
# Flags whose words tell values of single plots.
_OF_VALUES = ("jump", "unlike the others", "two plots swapped", "second look differs")
# Dates that it takes, of plots of which this many or more are treated alike.
_DATES, _FEWEST = {"jump": 2, "two plots swapped": 3}, 3
# What was looked at, and from when on it becomes a flag; limits as in `wintersward.records`.
_LOOKED_AT = {
    "under a cover": "Whether a plot was observed on a day on which, by the diary, a cover lay on "
    "it. Days on which covers went on or came off count as open.",
    "cover where none was drawn": "Whether the diary has a cover on a plot for which the plan has "
    "none.",
    "missed visit": "Whether a planned visit has no value of a measure, though a later date has "
    "some. What the diary declares missing is no flag, here and below.",
    "part of a visit": "Whether some plots, or samples of a plot, have no value on a date on which "
    "others have one.",
    "rater saw only some plots": "Whether a rater has no value of a plot that another rater rated.",
    "jump": "How far a value lies from its plot's own course: from the plots treated alike on that "
    "date (at least three, and by the same rater), as this plot stood among them on its other "
    "dates. A flag beyond five times the usual spread of plots like it; of marks, only from a "
    "quarter of the scale on.",
    "unlike the others": "Where a plot has no other date yet: how far a reading lies from the "
    "other readings of that day, of its own plot (at least three) and of plots treated alike (at "
    "least three plots). A flag beyond six times the usual spread. Marks and shares of 0 to 100 % "
    "are not looked at.",
    "two plots swapped": "Whether on one date two plots both lie more than 2.5 times the usual "
    "spread off their own course, and no more than that off once they are exchanged. It takes two "
    "other dates.",
    "second look differs": "How far a rater's second look at a plot lies from the first. A flag "
    "from a quarter of the scale on; for readings beyond five times the usual spread, where there "
    "are ten pairs or more.",
    "digit preference": "Whether readings of one rater end in 0 or 5 twice as often as the one "
    "fifth to be expected (30 readings or more, and more often than chance brings about once in a "
    "thousand times); whether a rater gives one mark to nine tenths of the plots (20 or more) "
    "while another does not.",
}
_ROW = re.compile(r"(?P<file>.+?)(\[(?P<tab>.*)\])?:(?P<row>\d+)")
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


def flagged_words(flags: pd.DataFrame) -> str:
    """Say how many flags the checks set.

    Parameters
    ----------
    flags : DataFrame
        The table ``flags`` of a run.
    """
    if flags.empty:
        return "The checks flagged nothing in the records."
    kinds = flags["kind"].nunique()
    of_kinds = f" of {counted(kinds, 'kind')}" if kinds > 1 else ""
    return f"The checks set {counted(len(flags), 'flag')}{of_kinds}."


def looked_table(flags: pd.DataFrame, observations: pd.DataFrame, definition: Definition) -> Markup:
    """Show what was looked at, with its limit, and how many flags came of it.

    Parameters
    ----------
    flags : DataFrame
        The table ``flags`` of a run.
    observations : DataFrame
        The table ``observations``: where a kind has nothing to look at, that is said.
    definition : Definition
        The trial.
    """
    heads = [Head("Kind of flag"), Head("What was looked at", prose=True), Head("flags", "", True)]
    idle = _idle(observations, definition)
    lines = []
    for kind in FLAG_KINDS:
        count = int((flags["kind"] == kind).sum())
        none = "nothing to look at" if kind in idle else "none"
        cells = (_LOOKED_AT[kind], str(count) if count else none)
        lines.append(Row((kind,), cells))
    return html_table("What the checks looked at, and how often they set a flag", heads, lines)


def _idle(observations: pd.DataFrame, definition: Definition) -> set[str]:
    """List the kinds of flags that nothing gathered so far can have."""
    if observations.empty:
        return set(FLAG_KINDS)
    seen = [definition.measures[name] for name in observations["measure"].unique()]
    idle = set() if len(first_looks(observations)) < len(observations) else {"second look differs"}
    judged = _judged(observations, definition)
    idle |= {kind for kind, dates in _DATES.items() if judged < dates}
    if not any(len(getattr(measure, "raters", [])) > 1 for measure in seen):
        idle.add("rater saw only some plots")
    if not any(isinstance(measure, SheetMeasure) for measure in seen):
        idle.add("digit preference")
    return idle


def _judged(observations: pd.DataFrame, definition: Definition) -> int:
    """Count the dates on which values of a measure have others to be held against, at most.

    Plots are held against those treated alike: it takes three, in a layout that deals out its
    plots evenly.
    """
    used = first_looks(observations[observations["excluded"].fillna("") == ""])
    held = used.groupby(["measure", "date"], observed=True)["plot"].nunique()
    dates = pd.DatetimeIndex(held.index.get_level_values("date"))
    ways = pd.Series(1, index=held.index)
    for name, factor in definition.treatments.items():
        applied = dates.normalize() > pd.Timestamp(begins(definition, name))
        ways *= [len(factor.levels) if one else 1 for one in applied]
    enough = held[held / ways >= _FEWEST]
    return int(enough.groupby(level="measure", observed=True).size().max()) if len(enough) else 0


def flags_table(
    flags: pd.DataFrame, observations: pd.DataFrame, definition: Definition, values: bool = True
) -> Markup:
    """List the flags with what was noticed, and where it stands.

    Parameters
    ----------
    flags : DataFrame
        The table ``flags`` of a run.
    observations : DataFrame
        The table ``observations``, which tells what was set aside.
    definition : Definition
        The trial, for labels and the reader's units.
    values : bool
        Whether to show values of plots; not while the comparison waits.

    Returns
    -------
    Markup
        Empty without a flag. At most 30 rows, of every kind some; what is left out is said.
    """
    if flags.empty:
        return Markup("")
    heads = [Head("Kind of flag"), Head("Date"), Head("Measure and plot")]
    heads += [Head("Value", "", True)] if values else []
    heads += [Head("What was noticed", prose=True), Head("Where it stands")]
    gone = observations[observations["excluded"].fillna("") != ""]
    aside = set(zip(gone["measure"].astype(str), gone["source"].astype(str), strict=True))
    lines = []
    shown = _chosen(flags)
    for at in shown:
        row = row_at(flags, at).fillna("")
        cells: list[Cell] = [_about(row, definition)]
        cells += [_value(flags, at, definition)] if values else []
        cells.append(_noticed(row, values))
        source = str(row["source"])
        set_aside = all((str(row["measure"]), one) in aside for one in source.split("; "))
        fate = "; set aside in the diary" if set_aside else ""
        cells.append((place_words(source) or "–") + fate)
        day = day_text(row["date"]) if row["date"] != "" else "–"
        lines.append(Row((str(row["kind"]), day), tuple(cells)))
    left = len(flags) - len(shown)
    note = f"{counted(left, 'more flag').capitalize()}: see results/flags.csv." if left else ""
    return html_table("Flags, kind by kind", heads, lines, note)


def _chosen(flags: pd.DataFrame) -> list[int]:
    """Choose the rows to show, in the order of kinds; of a frequent kind the first alone."""
    order = [*FLAG_KINDS, *sorted(set(flags["kind"]) - set(FLAG_KINDS))]
    ranked = flags.assign(_kind=flags["kind"].map(order.index))
    ranked = ranked.sort_values(["_kind", "date", "plot", "rater"], kind="stable")
    place = ranked.groupby("_kind").cumcount().sort_values(kind="stable")
    kept = set(place.index[:_MOST_ROWS])
    return [int(at) for at in ranked.index if at in kept]


def _about(row: pd.Series, definition: Definition) -> str:
    """Name measure, plot, rater and sample, as far as the flag is about them."""
    name = str(row["measure"])
    measure = definition.measures.get(name)
    parts = [name] if measure is None else [measure_view(definition, name).label]
    plots = str(row["plot"]).split(", ") if row["plot"] else []
    if len(plots) > _MOST_PLOTS:
        parts.append(f"{len(plots)} plots")
    elif plots:
        parts.append(f"{'plot' if len(plots) == 1 else 'plots'} {listed_words(plots)}")
    parts += [rater_name(definition, str(row["rater"]))] if row["rater"] else []
    if row["sample"] and (measure is None or measure.per_plot > 1):
        parts.append(f"sample {row['sample']}")
    return ", ".join(part for part in parts if part) or "–"


def _value(flags: pd.DataFrame, at: int, definition: Definition) -> Said | str:
    """Write the value in the reader's unit."""
    value, name = value_at(flags, at, "value"), str(flags.at[at, "measure"])
    if value != value or name not in definition.measures:
        return "–"
    view = measure_view(definition, name)
    shown = f"{view.value(value):.4g}".replace("-", MINUS)
    unit = "" if view.kind == "bare" else f" {view.unit}"
    return number(_NAME, flags, at, "value", f"{shown}{unit}".rstrip())


def _noticed(row: pd.Series, values: bool) -> str:
    """Tell what was found, and the rule; a rule alone where values are not to be shown."""
    parts = [str(row["found"])]
    if not values and (row["kind"] in _OF_VALUES or row["value"] != ""):
        parts = []
    parts += [f"rule: {row['rule']}"] if row["rule"] else []
    return _DAY.sub(lambda found: day_text(found[0]), "; ".join(parts))


def place_words(source: str) -> str:
    """Say where an observation stands, or several that are joined by ``; ``.

    Examples
    --------
    >>> place_words("sheets/field.xlsx[Pulls]:17"), place_words("photos/2026-03-24/101.jpg")
    ('sheets/field.xlsx, tab Pulls, row 17', 'photos/2026-03-24/101.jpg')
    >>> place_words("sheets/pulls.csv:4; sheets/pulls.csv:9")
    'sheets/pulls.csv, rows 4 and 9'
    """
    places: dict[str, list[str]] = {}
    for one in source.split("; "):
        found = _ROW.fullmatch(one)
        tab = f", tab {found['tab']}" if found and found["tab"] else ""
        name = f"{found['file']}{tab}" if found else one
        places.setdefault(name, []).extend([found["row"]] if found else [])
    said = []
    for name, rows in places.items():
        word = "row" if len(rows) == 1 else "rows"
        said.append(f"{name}, {word} {listed_words(rows)}" if rows else name)
    return " and ".join(said)
