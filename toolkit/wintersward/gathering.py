"""What was gathered for a trial, read together: sheets, loggers, names of photos, weather."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from wintersward import records
from wintersward.climate.own_limits import limit_problems
from wintersward.errors import Problem, WinterswardError
from wintersward.logged import Logged, read_logged
from wintersward.records.contradictions import found_after_all
from wintersward.records.covered import bare_events
from wintersward.records.point_counts import read_point_counts
from wintersward.scored import photo_observations
from wintersward.trial import Definition, Diary
from wintersward.trial.reading import placed
from wintersward.trial.schema import PhotoMeasure

__all__ = ["Gathered", "Records", "Unsound", "names_in", "read_records"]

# What the source of an observation tells beside its sheet: the tab and the row.
_ROW = r"(\[[^\[\]]*\])?:\d+$"
# What observations come from: a folder of the study, a section of the diary, a source of a measure.
_KINDS = ("sheets", "photos", "loggers")
_KIND_OF = {"sheet": "sheets", "photos": "photos", "logger": "loggers"}


@dataclass(frozen=True)
class Gathered:
    """What was gathered so far.

    Parameters
    ----------
    sheets, photos, loggers : int
        Number of files that hold observations of the trial; of loggers, that gave readings.
    waiting : list of str
        Plots that the primary question still waits for.
    sums : list of TableSums
        What became of every row and value of each table.
    gaps : list of Problem
        Days that the weather file lacks; no hindrance.
    logged : Logged
        What loggers gave, what became of their rows, and what looks odd.
    """

    sheets: int
    photos: int
    loggers: int
    waiting: list[str]
    sums: list[records.TableSums]
    gaps: list[Problem]
    logged: Logged


class Unsound(WinterswardError):
    """What is wrong in a study, and what became of the rows of the tables that are wrong.

    Parameters
    ----------
    problems : sequence of Problem or str
        What is wrong.
    sums : sequence of TableSums
        Of the tables in which something is wrong; told behind the problems, a line each.
    logger_sums : sequence of LoggerSums
        Of the columns of loggers in which something is wrong; told behind those.
    """

    def __init__(
        self,
        problems: Sequence[Problem | str],
        sums: Sequence[records.TableSums] = (),
        logger_sums: Sequence[records.LoggerSums] = (),
    ) -> None:
        behind = [*(one.words() for one in sums), *(one.words() for one in logger_sums)]
        super().__init__([*problems, *behind])
        self.wrong = list(problems)
        self.sums = list(sums)
        self.logger_sums = list(logger_sums)


@dataclass(frozen=True)
class Records:
    """Everything that was gathered, before a photo is scored.

    Parameters
    ----------
    seen : DataFrame
        Every observation, columns `wintersward.records.COLUMNS`, as if every photo had the
        score 0; what the diary excludes is marked.
    sheets : DataFrame
        Those of sheets alone, nothing marked.
    logged : Logged
        What loggers gave; its observations alone, nothing marked.
    photos : list of str
        Photos that show plots, from the study folder on.
    sums : list of TableSums
        What became of every row and value of each table.
    gaps : list of Problem
        Days that the weather file lacks; no hindrance.
    problems : list of Problem
        What is wrong in sheets, loggers, names of photos and weather, sorted by place.
    unmet : list of Problem
        The exclusions that fit no observation, sorted by place.
    """

    seen: pd.DataFrame
    sheets: pd.DataFrame
    logged: Logged
    photos: list[str]
    sums: list[records.TableSums]
    gaps: list[Problem]
    problems: list[Problem]
    unmet: list[Problem]

    @property
    def faulty(self) -> list[records.TableSums]:
        """What became of the rows and values of the tables in which something is wrong."""
        return [one for one in self.sums if one.wrong or one.values_wrong]

    def wrong(
        self, definition: Definition, diary: Diary, known: Sequence[Problem | str] = ()
    ) -> list[Problem]:
        """Tell everything that is wrong.

        Parameters
        ----------
        definition, diary : Definition, Diary
            What the records were read by.
        known : sequence of Problem or str
            What is wrong in the diary by itself.

        Returns
        -------
        list of Problem
            Sorted by place. An exclusion that fits no observation is told where nothing else
            that is wrong can be the reason.
        """
        told = [*(one for one in known if isinstance(one, Problem)), *self.problems]
        hidden = {kind for kind in _KINDS if any(_about(kind, one) for one in told)}
        unmet = [
            one
            for one in self.unmet
            if not any(other.field.startswith(f"{one.field}.") for other in told)
            and not hidden & _kinds(definition, diary, one)
        ]
        return sorted([*self.problems, *unmet])

    def summed_up(
        self, definition: Definition, diary: Diary, plots: pd.DataFrame, day: dt.date
    ) -> Gathered:
        """Count the files, and the plots that the primary question waits for on its day."""
        measure = definition.analysis.primary.measure
        waiting = records.outstanding(self.seen, definition, diary, plots, measure, day)
        files = set(self.seen["source"].str.replace(_ROW, "", regex=True))
        sheets, photos = (
            sum(name.startswith(f"{kind}/") for name in files) for kind in ("sheets", "photos")
        )
        logged = self.logged
        return Gathered(sheets, photos, logged.files, waiting, self.sums, self.gaps, logged)


def _about(kind: str, problem: Problem) -> bool:
    """Tell whether a problem may keep sheets, photos or loggers from becoming observations."""
    in_diary = problem.path == "diary.yaml" and problem.field.split(".")[0] == kind
    return in_diary or problem.path.split("/")[0] == kind


def _kinds(definition: Definition, diary: Diary, unmet: Problem) -> set[str]:
    """Tell from what the observations come that an exclusion means."""
    measure = diary.exclusions[int(unmet.field.split(".")[1]) - 1].measure
    if measure is None:
        return {*_KINDS}
    return {_KIND_OF[definition.measures[measure].from_]}


def read_records(
    folder: Path, definition: Definition, diary: Diary, plots: pd.DataFrame
) -> Records:
    """Read everything that was gathered, without scoring a photo.

    Parameters
    ----------
    folder : Path
        The study folder.
    definition, diary : Definition, Diary
        How tables are read, and what is left out.
    plots : DataFrame
        ``plan/plots.csv``, one row a plot.

    Returns
    -------
    Records
        As far as it can be read; problems of the diary stand at the line they tell of.
    """
    read = records.read_sheets(folder, definition, diary, plots)
    index, problems = records.photo_index(folder, definition, plots)
    logged, wrong = read_logged(folder, definition, diary, plots)
    problems = [*read.problems, *wrong, *problems, *read_point_counts(folder).problems]
    problems += limit_problems(definition.climate)
    problems += bare_events(definition, diary, plots)
    gaps: list[Problem] = []
    if diary.weather is not None:
        weather = records.read_weather(folder, diary.weather)
        problems += weather.problems
        gaps = weather.gaps
    problems += found_after_all(read.observations, definition, diary, plots)
    scores = index.rename(columns={"path": "source"}).assign(value=0.0, flags="")
    photos = [
        photo_observations(definition, name, scores)
        for name, measure in definition.measures.items()
        if isinstance(measure, PhotoMeasure)
    ]
    joined = records.joined([*photos, logged.observations, read.observations], definition)
    seen, unmet = records.excluded(joined, diary, plots)
    return Records(
        seen,
        read.observations,
        logged,
        list(index["path"]),
        records.settled(read.sums, seen),
        gaps,
        sorted(set(placed(folder, problems))),
        sorted(placed(folder, unmet)),
    )


def names_in(path: Path) -> list[str] | None:
    """Name plots and whole plots as far as a table of plots can be read; else None."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
        lines = list(csv.DictReader(io.StringIO(text)))
    except (OSError, UnicodeDecodeError, csv.Error):
        return None
    names = [(line.get(key) or "").strip() for line in lines for key in ("plot", "whole_plot")]
    return list(dict.fromkeys(filter(None, names))) or None
