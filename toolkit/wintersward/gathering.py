"""What was gathered for a trial, read together: sheets, names of photos, exclusions, weather."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from wintersward import records
from wintersward.errors import Problem, WinterswardError
from wintersward.photos import GreenWindow, score_photos
from wintersward.photos.named_windows import NAMED_WINDOWS
from wintersward.photos.progress import tell_left
from wintersward.photos.refused import refused_photos
from wintersward.photos.window_batch import pile_covers
from wintersward.photos.window_grid import window_grid as grid_around
from wintersward.records.contradictions import found_after_all
from wintersward.records.covered import bare_events
from wintersward.records.point_counts import read_point_counts
from wintersward.trial import Definition, Diary
from wintersward.trial.dates import dates_meant
from wintersward.trial.reading import placed
from wintersward.trial.schema import PhotoMeasure, Window

__all__ = ["PHOTO_COLUMNS", "Gathered", "Records", "Unsound", "names_in", "photo_observations"]
__all__ += ["photo_scores", "read_records", "refused_in", "window_grid", "window_of"]

PHOTO_COLUMNS = (
    "window",
    "date",
    "plot",
    "sample",
    "path",
    "sha256",
    "taken",
    "camera",
    "cover",
    "cover_se",
    "colour_index",
    "hue",
    "saturation",
    "brightness",
    "colour_index_sd",
    "patchiness",
    "largest_bare_patch",
    "clipped",
    "pixels",
    "flags",
)
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
    sheets, photos : int
        Number of files that hold observations of the trial.
    waiting : list of str
        Plots that the primary question still waits for.
    sums : list of TableSums
        What became of every row and value of each table.
    gaps : list of Problem
        Days that the weather file lacks; no hindrance.
    """

    sheets: int
    photos: int
    waiting: list[str]
    sums: list[records.TableSums]
    gaps: list[Problem]


class Unsound(WinterswardError):
    """What is wrong in a study, and what became of the rows of the tables that are wrong.

    Parameters
    ----------
    problems : sequence of Problem or str
        What is wrong.
    sums : sequence of TableSums
        Of the tables in which something is wrong; told behind the problems, a line each.
    """

    def __init__(
        self, problems: Sequence[Problem | str], sums: Sequence[records.TableSums] = ()
    ) -> None:
        super().__init__([*problems, *(one.words() for one in sums)])
        self.wrong = list(problems)
        self.sums = list(sums)


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
    photos : list of str
        Photos that show plots, from the study folder on.
    sums : list of TableSums
        What became of every row and value of each table.
    gaps : list of Problem
        Days that the weather file lacks; no hindrance.
    problems : list of Problem
        What is wrong in sheets, names of photos and weather, sorted by place.
    unmet : list of Problem
        The exclusions that fit no observation, sorted by place.
    """

    seen: pd.DataFrame
    sheets: pd.DataFrame
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
        return Gathered(sheets, photos, waiting, self.sums, self.gaps)


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
    problems = [*read.problems, *problems, *read_point_counts(folder).problems]
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
    joined = records.joined([*photos, read.observations], definition)
    seen, unmet = records.excluded(joined, diary, plots)
    return Records(
        seen,
        read.observations,
        list(index["path"]),
        records.settled(read.sums, seen),
        gaps,
        sorted(set(placed(folder, problems))),
        sorted(placed(folder, unmet)),
    )


def photo_observations(definition: Definition, name: str, scores: pd.DataFrame) -> pd.DataFrame:
    """Make observations of a photo measure out of scores.

    Parameters
    ----------
    definition : Definition
        The trial as decided.
    name : str
        A measure from photos.
    scores : DataFrame
        Columns date, plot, sample, value (in the measure's unit), source, flags.

    Returns
    -------
    DataFrame
        Columns `wintersward.records.COLUMNS`; photos of days of other measures are left out.
    """
    measure = definition.measures[name]
    dates = pd.to_datetime(dates_meant(definition.dates, measure.dates))
    told = {"measure": name, "rater": "", "unit": measure.unit, "excluded": ""}
    chosen = scores[scores["date"].isin(dates)].assign(**told)
    return chosen[list(records.COLUMNS)]


def photo_scores(folder: Path, definition: Definition, plots: pd.DataFrame) -> pd.DataFrame:
    """Score every photo, once for each window of green that the definition uses.

    Parameters
    ----------
    folder : Path
        The study folder; scores are kept in its ``.cache``.
    definition : Definition
        Its measures from photos.
    plots : DataFrame
        ``plan/plots.csv``, one row a plot.

    Returns
    -------
    DataFrame
        Columns `PHOTO_COLUMNS`; the path is relative to the study folder. A demonstration has no
        `cover_se`.

    Raises
    ------
    WinterswardError
        With the photos whose name or content is wrong.
    """
    index, problems = records.photo_index(folder, definition, plots)
    if problems:
        raise WinterswardError(problems)
    measures = [m for m in definition.measures.values() if isinstance(m, PhotoMeasure)]
    frames = []
    for window in dict.fromkeys(map(window_of, measures)):
        paths = [folder / path for path in index["path"]]
        scores, problems = score_photos(
            paths,
            window,
            cache=folder / ".cache",
            progress=tell_left,
            dates=index["date"].dt.date,
        )
        if problems:
            raise WinterswardError([_within(folder, problem) for problem in problems])
        # Where the study lies is told to nobody, in a flag that names another photo neither.
        inside = scores["flags"].str.replace(f"{folder.as_posix()}/", "", regex=False)
        scores = scores.drop(columns="path").assign(flags=inside).set_index(index.index)
        frames.append(index.join(scores).assign(window=window.hash()))
    if not frames:
        return pd.DataFrame(columns=PHOTO_COLUMNS)
    found = pd.concat(frames, ignore_index=True)[list(PHOTO_COLUMNS)]
    # Beside one area of a treatment an error would pass for that of the treatment.
    return found if definition.layout.tested else found.assign(cover_se=float("nan"))


def window_grid(folder: Path, definition: Definition, seen: pd.DataFrame) -> pd.DataFrame:
    """Score the photos of the primary question by every window of a grid around its own.

    Parameters
    ----------
    folder : Path
        The study folder; what is counted is kept in its ``.cache``.
    definition : Definition
        Its primary measure, if that is a cover from photos.
    seen : DataFrame
        Observations, with what the diary excludes.

    Returns
    -------
    DataFrame
        Columns window (hash), hue_low and hue_high [degrees], saturation_low [1], date, plot,
        sample, cover [%], excluded (the reason, or empty): one row a window and photo of the
        primary date, in the order of the grid and of the observations.
    """
    question = definition.analysis.primary
    measure, day = definition.measures[question.measure], dates_meant(definition.dates, question.on)
    photos = seen[(seen["measure"] == question.measure) & seen["date"].isin(pd.to_datetime(day))]
    photos = photos[["date", "plot", "sample", "source", "excluded"]].reset_index(drop=True)
    limits = ["window", "hue_low", "hue_high", "saturation_low"]
    if not isinstance(measure, PhotoMeasure) or measure.score != "cover" or photos.empty:
        columns = [*limits, "date", "plot", "sample", "cover", "excluded"]
        return pd.DataFrame(columns=columns)
    grid = grid_around(window_of(measure))
    paths = [folder / path for path in photos["source"]]
    covers, problems = pile_covers(paths, grid, folder / ".cache")
    if problems:
        raise WinterswardError([_within(folder, problem) for problem in problems])
    told = [(one.hash(), *one.hue, one.saturation[0]) for one in grid.windows]
    found = pd.DataFrame(told, columns=limits).merge(photos, how="cross")
    found["source"] = covers.T.ravel()
    return found.rename(columns={"source": "cover"})


def refused_in(folder: Path, photos: Iterable[str]) -> list[Problem]:
    """Tell which photos cannot be opened, or end early.

    Parameters
    ----------
    folder : Path
        The study folder.
    photos : iterable of str
        Photos, from the study folder on.
    """
    found = refused_photos(folder / path for path in photos)
    return [_within(folder, problem) for problem in found]


def window_of(measure: PhotoMeasure) -> GreenWindow:
    """Give what counts as green for a measure."""
    if isinstance(measure.window, Window):
        chosen = measure.window
        return GreenWindow(chosen.hue, chosen.saturation, chosen.value)
    return NAMED_WINDOWS[measure.window].window


def _within(folder: Path, problem: Problem) -> Problem:
    """Name a file from the study folder on, as the person knows it."""
    path = Path(problem.path)
    if path.is_relative_to(folder):
        return replace(problem, path=path.relative_to(folder).as_posix())
    return problem


def names_in(path: Path) -> list[str] | None:
    """Name plots and whole plots as far as a table of plots can be read; else None."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
        lines = list(csv.DictReader(io.StringIO(text)))
    except (OSError, UnicodeDecodeError, csv.Error):
        return None
    names = [(line.get(key) or "").strip() for line in lines for key in ("plot", "whole_plot")]
    return list(dict.fromkeys(filter(None, names))) or None
