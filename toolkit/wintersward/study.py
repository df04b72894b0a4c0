"""A study folder, opened: definition, diary, plots and every observation."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import pandas as pd

from wintersward import design, records
from wintersward.errors import Problem, WinterswardError, closest, listed
from wintersward.paths import study_folder
from wintersward.photos import GREEN, GreenWindow, score_photos
from wintersward.trial import Definition, Diary, read_definition, read_diary
from wintersward.trial.changes import Changed, changes_since
from wintersward.trial.dates import dates_meant
from wintersward.trial.frozen import Frozen, read_frozen
from wintersward.trial.schema import Factor, PhotoMeasure, SheetMeasure, Window

__all__ = ["PHOTO_COLUMNS", "Gathered", "Trial", "gathered", "open_study"]
__all__ += ["record_problems", "unscored"]

PHOTO_COLUMNS = (
    "window",
    "date",
    "plot",
    "sample",
    "path",
    "sha256",
    "taken",
    "cover",
    "colour_index",
    "hue",
    "saturation",
    "brightness",
    "pixels",
    "flags",
)


@dataclass(frozen=True)
class Trial:
    """One trial at one place in one season.

    Parameters
    ----------
    folder : Path
        The study folder.
    definition : Definition
        What was decided before the first observation.
    diary : Diary
        What happened since.
    plots : DataFrame
        ``plan/plots.csv``, one row a plot; factor columns in the definition's order of levels.
    """

    folder: Path
    definition: Definition
    diary: Diary
    plots: pd.DataFrame

    @property
    def name(self) -> str:
        """Name of the study folder."""
        return self.folder.name

    @property
    def factors(self) -> dict[str, Factor]:
        """Treatment factors in the definition's order."""
        return self.definition.treatments

    def measure(self, name: str) -> PhotoMeasure | SheetMeasure:
        """Find a measure of the definition.

        Raises
        ------
        WinterswardError
            When the definition holds no such measure.
        """
        measures = self.definition.measures
        if name not in measures:
            near = closest(name, measures)
            raise WinterswardError(
                f"no measure is called '{name}'; the definition has {listed(measures)}; {near}"
            )
        return measures[name]

    def label(self, measure: str) -> str:
        """Name a measure for a reader."""
        return self.measure(measure).label or measure.replace("_", " ")

    def dates(self, measure: str) -> list[dt.date]:
        """List the dates on which a measure is to be observed."""
        return dates_meant(self.definition.dates, self.measure(measure).dates)

    def date(self, word: dt.date | str) -> dt.date:
        """Resolve one date of the definition."""
        return dates_meant(self.definition.dates, word)[0]

    def begins(self, factor: str) -> dt.date:
        """Tell on which day a factor was applied; what is seen that day counts as before it."""
        return self.date(self.factors[factor].applied or "covers_on")

    @property
    def primary_date(self) -> dt.date:
        """Date of the primary question."""
        return self.date(self.definition.analysis.primary.on)

    @cached_property
    def _freeze(self) -> tuple[Frozen | None, list[Problem]]:
        return read_frozen(self.folder)

    @property
    def frozen(self) -> Frozen | None:
        """The frozen plan; None where there is none, or where `freeze_problems` tells why."""
        return self._freeze[0]

    @property
    def freeze_problems(self) -> list[Problem]:
        """What is damaged in the frozen plan; empty where it is whole, or was never frozen."""
        return self._freeze[1]

    @cached_property
    def changes(self) -> tuple[Changed, ...]:
        """What was changed since the plan was frozen; empty without a frozen plan."""
        if self.frozen is None:
            return ()
        return changes_since(self.frozen, self.folder, self.definition, self.diary.deviations)

    @cached_property
    def outstanding(self) -> list[str]:
        """Plots that the primary question still waits for: not observed, nor declared missing."""
        measure = self.definition.analysis.primary.measure
        return records.outstanding(
            self._observations, self.definition, self.diary, self.plots, measure, self.primary_date
        )

    @property
    def ready(self) -> bool:
        """Whether the primary question has its data; before that, no treatments are compared."""
        return not self.outstanding

    def observations(self, measure: str | None = None) -> pd.DataFrame:
        """Every observation, from photos and sheets, of all measures or of one.

        Returns
        -------
        DataFrame
            Columns date, plot, measure, sample, rater, value (in ``unit``), unit, source,
            flags, excluded (the reason, or empty); sorted by measure in the definition's
            order, date, plot, rater, sample. Excluded observations are marked, not dropped.

        Raises
        ------
        WinterswardError
            With everything that is wrong in the sheets, photos and exclusions.
        """
        if measure is None:
            return self._observations.copy()
        self.measure(measure)
        chosen = self._observations["measure"] == measure
        return self._observations[chosen].reset_index(drop=True)

    def photo_scores(self) -> pd.DataFrame:
        """Score every photo, once for each window of green that the definition uses.

        Returns
        -------
        DataFrame
            Columns `PHOTO_COLUMNS`; cover in %, hue in degrees, saturation and brightness
            from 0 to 1; the path is relative to the study folder.
        """
        return self._photo_scores.copy()

    @cached_property
    def _photo_scores(self) -> pd.DataFrame:
        index, problems = records.photo_index(self.folder, self.definition, self.plots)
        _stop_for(problems)
        frames = []
        for window in dict.fromkeys(_window(m) for m in self.photo_measures.values()):
            paths = [self.folder / path for path in index["path"]]
            scores, problems = score_photos(paths, window, cache=self.folder / ".cache")
            _stop_for([self._placed(problem) for problem in problems])
            scores = scores.drop(columns="path").set_index(index.index)
            frames.append(index.join(scores).assign(window=window.hash()))
        if not frames:
            return pd.DataFrame(columns=PHOTO_COLUMNS)
        return pd.concat(frames, ignore_index=True)[list(PHOTO_COLUMNS)]

    @property
    def photo_measures(self) -> dict[str, PhotoMeasure]:
        """Measures that are scored from photos."""
        measures = self.definition.measures.items()
        return {name: m for name, m in measures if isinstance(m, PhotoMeasure)}

    def _placed(self, problem: Problem) -> Problem:
        """Name a photo from the study folder on, as the person knows it."""
        path = Path(problem.path)
        if path.is_relative_to(self.folder):
            return replace(problem, path=path.relative_to(self.folder).as_posix())
        return problem

    @cached_property
    def _observations(self) -> pd.DataFrame:
        sheets, problems = records.read_sheets(self.folder, self.definition, self.diary, self.plots)
        _stop_for(problems)
        photos = [
            self.from_photos(name, self._scored(m)) for name, m in self.photo_measures.items()
        ]
        joined = records.joined([*photos, sheets], self.definition)
        marked, problems = records.excluded(joined, self.diary, self.plots)
        _stop_for(problems)
        return marked

    def _scored(self, measure: PhotoMeasure) -> pd.DataFrame:
        scores = self._photo_scores
        chosen = scores[scores["window"] == _window(measure).hash()]
        value = pd.to_numeric(chosen[measure.score])
        return chosen.assign(value=value).rename(columns={"path": "source"})

    def from_photos(self, name: str, scores: pd.DataFrame) -> pd.DataFrame:
        """Make observations of a photo measure out of scores.

        Parameters
        ----------
        name : str
            A measure from photos.
        scores : DataFrame
            Columns date, plot, sample, value (in the measure's unit), source, flags.
        """
        dates = pd.to_datetime(self.dates(name))
        told = {"measure": name, "rater": "", "unit": self.measure(name).unit, "excluded": ""}
        chosen = scores[scores["date"].isin(dates)].assign(**told)
        return chosen[list(records.COLUMNS)]


# What the source of an observation tells beside its sheet: the tab and the row.
_ROW = r"(\[.*\])?:\d+$"


def _window(measure: PhotoMeasure) -> GreenWindow:
    if isinstance(measure.window, Window):
        chosen = measure.window
        return GreenWindow(chosen.hue, chosen.saturation, chosen.value)
    return GREEN


def _stop_for(problems: list[Problem]) -> None:
    if problems:
        raise WinterswardError(problems)


def open_study(folder: str | Path | None = None) -> Trial:
    """Open a study folder whose plots are drawn.

    Parameters
    ----------
    folder : str or Path, optional
        The study folder; left out or empty, the one around the current folder.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the definition, the diary and the plots.
    """
    place = study_folder(folder or Path.cwd())
    definition, problems = read_definition(place)
    if definition is None:
        raise WinterswardError(problems)
    plots, problems = design.read_plots(place / "plan" / "plots.csv", definition)
    if plots is None:
        raise WinterswardError(problems)
    changed = design.layout_changed(plots, definition)
    if changed:
        raise WinterswardError(
            [
                *(f"plan/plots.csv is not the plan that trial.yaml draws: {it}" for it in changed),
                design.redraw(folder if isinstance(folder, str) else place),
            ]
        )
    diary, problems = read_diary(place, definition, design.unit_names(plots))
    _stop_for(problems)
    return Trial(place, definition, diary, plots)


def record_problems(folder: Path) -> list[Problem | str]:
    """Check sheets, photo names and exclusions of a study without scoring a photo.

    Returns
    -------
    list of Problem
        Everything that would stop a run, sorted by place.
    """
    try:
        _, problems = _unscored(open_study(folder))
    except WinterswardError as error:
        return error.problems
    return list(problems)


@dataclass(frozen=True)
class Gathered:
    """What was gathered so far.

    Parameters
    ----------
    sheets, photos : int
        Number of files that hold observations of the trial.
    waiting : list of str
        Plots that the primary question still waits for.
    """

    sheets: int
    photos: int
    waiting: list[str]


def gathered(folder: Path) -> Gathered:
    """Tell what was gathered, without scoring a photo.

    Raises
    ------
    WinterswardError
        With everything that would stop a run.
    """
    trial = open_study(folder)
    seen = unscored(trial)
    measure = trial.definition.analysis.primary.measure
    waiting = records.outstanding(
        seen, trial.definition, trial.diary, trial.plots, measure, trial.primary_date
    )
    files = set(seen["source"].str.replace(_ROW, "", regex=True))
    sheets = sum(name.startswith("sheets/") for name in files)
    return Gathered(sheets, len(files) - sheets, waiting)


def unscored(trial: Trial) -> pd.DataFrame:
    """Give every observation that was gathered, as if every photo had the score 0.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    DataFrame
        As `Trial.observations` gives it, but for the values from photos.

    Raises
    ------
    WinterswardError
        With everything that would stop a run.
    """
    seen, problems = _unscored(trial)
    _stop_for(problems)
    return seen


def _unscored(trial: Trial) -> tuple[pd.DataFrame, list[Problem]]:
    """Join sheets and photos as if every photo had the score 0."""
    sheets, problems = records.read_sheets(trial.folder, trial.definition, trial.diary, trial.plots)
    index, more = records.photo_index(trial.folder, trial.definition, trial.plots)
    if trial.diary.weather is not None:
        more = [*more, *records.read_weather(trial.folder, trial.diary.weather).problems]
    if problems or more:
        return sheets, sorted([*problems, *more])
    scores = index.rename(columns={"path": "source"}).assign(value=0.0, flags="")
    photos = [trial.from_photos(name, scores) for name in trial.photo_measures]
    joined = records.joined([*photos, sheets], trial.definition)
    return records.excluded(joined, trial.diary, trial.plots)
