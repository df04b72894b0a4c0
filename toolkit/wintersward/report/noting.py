"""What the analysis notes about itself, in the reader's words, the same thing once."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable

import pandas as pd

from wintersward.report.numbers import day_text, days_listed, listed_words
from wintersward.report.views import factor_label, in_sentence
from wintersward.trial.schema import Definition

__all__ = ["dated_notes", "place_text", "supporting_notes"]

# How notes begin that stand beside a supporting analysis, not beside a measure's single dates.
_BESIDE = (
    "dates together",
    "fewer than two dates",
    "season average",
    "days gained",
    "sensitivity",
    "seasons",
    "grounds",
)
_ZERO = re.compile(
    r"^(?:(?P<about>[a-z ]+) \((?P<scope>[^)]*)\): )?"
    r"the variance of (?P<term>\S+) is estimated as zero: "
)
_SCOPE = re.compile(r"^(?P<about>dates together|season average) \((?P<scope>[^)]*)\)")
_FEWER = re.compile(r"^(?P<few>\d+) units? rests? on fewer .* \((?P<names>[^)]*)\); ")
# Each estimate has a note of its own; which they are is for the file.
_CONTAINED = re.compile(r"^(.*degrees of freedom taken from the stratum) for .+")
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
# Analyses whose variances at zero are told with those of single dates.
_ABOUT = {"": "", "dates together": "all dates together", "season average": "season averages"}
_PLACES = {
    "block": "blocks",
    "whole_plot": "whole plots",
    "plot": "plots",
    "row": "rows",
    "column": "columns",
    "ground": "grounds",
    "block:row": "row strips",
    "block:column": "column strips",
}


def dated_notes(
    notes: pd.DataFrame, plot_means: pd.DataFrame, definition: Definition, measure: str
) -> list[str]:
    """List what is noted about single dates of a measure, the same thing once with all its days.

    Parameters
    ----------
    notes, plot_means : DataFrame
        Tables of a run; the second names the experimental units of each date.
    definition : Definition
        The trial.
    measure : str
        What was observed.

    Returns
    -------
    list of str
        Sentences. That a date before the covers is shown and not compared is not among them: the
        table of that date says it.
    """
    said: dict[str, list[dt.date]] = {}
    zero: dict[str, dict[str, None]] = {}
    fewer: dict[str, list[str]] = {}
    for _, row in notes[notes["measure"] == measure].iterrows():
        code, words = str(row["code"]), str(row["text"])
        day = pd.Timestamp(str(row["date"])).date()
        found = _ZERO.match(words)
        if found and (found["about"] or "") in _ABOUT:
            when = _ABOUT[found["about"] or ""] or day_text(day)
            zero.setdefault(place_text(definition, found["term"]), {})[when] = None
            continue
        if code in ("baseline", "demonstration") or code in _BESIDE or words.startswith(_BESIDE):
            continue
        if found := _FEWER.match(words):
            kind = _unit_kind(plot_means, measure, day)
            fewer.setdefault(kind, []).append(f"{found['names']} on {day_text(day)}")
        else:
            said.setdefault(_plain(definition, words), []).append(day)
    listed = [f"{days_listed(days)}: {words}." for words, days in said.items()]
    listed += [
        f"{_first(kind)}s with fewer observations than the others count the same, though they are "
        f"less certain: {listed_words(names)}."
        for kind, names in fewer.items()
    ]
    return listed + _unseen(zero)


def supporting_notes(
    notes: pd.DataFrame, definition: Definition, kind: str, measure: str = ""
) -> list[str]:
    """List what is noted about one supporting analysis, each thing once.

    That a variance of a measure came out as zero is not among them: `dated_notes` says it once for
    single dates, season averages and the model of all dates.

    Parameters
    ----------
    notes : DataFrame
        Table of a run.
    definition : Definition
        The trial.
    kind : str
        The analysis; a note belongs to it by its code or by its first words.
    measure : str
        Of this measure alone; empty for all.
    """
    kept = notes[notes["measure"] == measure] if measure else notes
    said = list[str]()
    for _, row in kept.iterrows():
        words = str(row["text"])
        if str(row["code"]) != kind and not words.startswith(kind):
            continue
        if kind in _ABOUT and _ZERO.match(words):
            continue
        if found := _CONTAINED.match(words):
            words = f"{found[1]}, for what notes.csv names"
        said.append(_first(_plain(definition, words)) + ".")
    return list(dict.fromkeys(said))


def _unseen(zero: dict[str, dict[str, None]]) -> list[str]:
    """Say in one sentence where no variation showed beyond the rest."""
    if not zero:
        return []
    places = [f"{place} ({', '.join(when)})" for place, when in zero.items()]
    return [
        f"These data show no variation of {listed_words(places)} beyond what is found within them "
        "(a variance estimated as zero). The models keep these terms all the same, so that the "
        "answer does not look surer than it is."
    ]


def place_text(definition: Definition, term: str) -> str:
    """Name in words what a random term stands for: ``block:date``."""
    parts = [part for part in term.split(":") if part != "date"]
    dated = len(parts) < len(term.split(":"))
    joined = ":".join(parts)
    named = _PLACES.get(joined) or " by ".join(
        in_sentence(factor_label(definition, part))
        if part in definition.treatments
        else part.replace("_", " ")
        for part in parts
    )
    return f"{named} from date to date" if dated else named


def _unit_kind(plot_means: pd.DataFrame, measure: str, day: dt.date) -> str:
    """Name the experimental unit of a measure on a day."""
    here = plot_means[plot_means["measure"] == measure]
    here = here[pd.to_datetime(here["date"]).dt.date == day]
    return str(here["unit_kind"].iloc[0]) if len(here) else "plot"


def _plain(definition: Definition, words: str) -> str:
    """Put names of the definition, days and places into the reader's words."""
    for pattern, how in _RULES:
        words = pattern.sub(lambda found, how=how: how(definition, found), words)  # type: ignore[misc]
    for raw in ("whole_plot", "row_strip", "column_strip"):
        words = words.replace(raw, raw.replace("_", " "))
    return words.rstrip(".")


def _scope(definition: Definition, found: re.Match[str]) -> str:
    """Name the factors of an analysis: ``dates together (cover:aeration)``."""
    return f"{found['about']} ({_factors(definition, found['scope'])})"


def _factors(definition: Definition, names: str) -> str:
    known = [name for name in re.split(r"[:,] ?", names) if name]
    if not known or any(name not in definition.treatments for name in known):
        return names
    return listed_words([in_sentence(factor_label(definition, name)) for name in known])


def _two_dates(definition: Definition, found: re.Match[str]) -> str:
    return f"{found['start']}{_factors(definition, found['names'])}"


_RULES: tuple[tuple[re.Pattern[str], Callable[[Definition, re.Match[str]], str]], ...] = (
    (_SCOPE, _scope),
    (
        re.compile(r"^(?P<start>fewer than two dates to take together for )(?P<names>.+)$"),
        _two_dates,
    ),
    (_DAY, lambda _, found: day_text(found[0])),
)


def _first(words: str) -> str:
    return words[:1].upper() + words[1:]
