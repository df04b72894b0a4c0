"""Photos become scores, and scores become observations."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
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
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import PhotoMeasure, Window

__all__ = ["PHOTO_COLUMNS", "measured", "photo_observations", "photo_scores", "refused_in"]
__all__ += ["window_grid", "window_of"]

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


def measured(definition: Definition, scores: pd.DataFrame) -> list[pd.DataFrame]:
    """Make observations of every measure from photos.

    Parameters
    ----------
    definition : Definition
        The trial as decided.
    scores : DataFrame
        As `photo_scores` gives them.

    Returns
    -------
    list of DataFrame
        One a measure, in the definition's order, with columns `wintersward.records.COLUMNS`.
    """
    made = []
    for name, measure in definition.measures.items():
        if isinstance(measure, PhotoMeasure):
            own = scores[scores["window"] == window_of(measure).hash()]
            own = own.assign(value=pd.to_numeric(own[measure.score]))
            made.append(
                photo_observations(definition, name, own.rename(columns={"path": "source"}))
            )
    return made


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
