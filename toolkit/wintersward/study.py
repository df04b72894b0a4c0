"""A study folder, opened: definition, diary, plots and every observation."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pandas as pd

from wintersward import design, gathering, records, scored
from wintersward.errors import Problem, WinterswardError, closest, listed
from wintersward.gathering import Gathered, Records, Unsound
from wintersward.logged import Logged
from wintersward.paths import study_folder
from wintersward.trial import Definition, Diary, applied, read_definition
from wintersward.trial.changes import Changed, changes_since
from wintersward.trial.dates import dates_meant
from wintersward.trial.diary_reading import readable_diary
from wintersward.trial.frozen import Frozen, read_frozen
from wintersward.trial.reading import placed
from wintersward.trial.schema import Factor, Measure, PhotoMeasure
from wintersward.trial.shade import shade_plot_problems

__all__ = ["Gathered", "Opened", "Trial", "gathered", "open_study", "opened"]
__all__ += ["record_problems", "summed_up", "unscored"]


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

    def measure(self, name: str) -> Measure:
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
        return applied.begins(self.definition, factor)

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
        """Every observation, from photos, loggers and sheets, of all measures or of one.

        Returns
        -------
        DataFrame
            Columns date, plot, measure, sample, rater, value (in ``unit``), unit, source,
            flags, excluded (the reason, or empty); sorted by measure in the definition's
            order, date, plot, rater, sample. Excluded observations are marked, not dropped.

        Raises
        ------
        WinterswardError
            With everything that is wrong in sheets, loggers, photos, exclusions and weather, and
            what became of the rows of the tables that are wrong.
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
            Columns `wintersward.scored.PHOTO_COLUMNS`; cover in %, hue in degrees, saturation
            and brightness from 0 to 1; the path is relative to the study folder.
        """
        return self._photo_scores.copy()

    @cached_property
    def _photo_scores(self) -> pd.DataFrame:
        return scored.photo_scores(self.folder, self.definition, self.plots)

    def window_grid(self) -> pd.DataFrame:
        """Score the photos of the primary date by a grid of windows of green: see `scored`.

        It takes about 0.2 s for a photo of 12 million pixels, 0.02 s for 0.3 million, and once.
        """
        return scored.window_grid(self.folder, self.definition, self._observations)

    @property
    def photo_measures(self) -> dict[str, PhotoMeasure]:
        """Measures that are scored from photos."""
        measures = self.definition.measures.items()
        return {name: m for name, m in measures if isinstance(m, PhotoMeasure)}

    def flags(self) -> pd.DataFrame:
        """Mark what looks odd among the observations, for a person to look at; none is changed.

        Returns
        -------
        DataFrame
            As `wintersward.records.flag_table` gives it, values from photos included.

        Raises
        ------
        WinterswardError
            As `observations` does.
        """
        seen = self._observations
        return records.flag_table(seen, self.definition, self.diary, self.plots)

    def sheet_sums(self) -> pd.DataFrame:
        """Tell of every table what became of its rows and of its values.

        Returns
        -------
        DataFrame
            As `wintersward.records.sums_table` gives it, one row a table.

        Raises
        ------
        WinterswardError
            As `observations` does, but no photo is opened.
        """
        return records.sums_table(self._sound.sums)

    @property
    def logged(self) -> Logged:
        """What loggers gave: readings, daily facts, sums and flags; raises as `sheet_sums` does."""
        return self._sound.logged

    @cached_property
    def _records(self) -> Records:
        return gathering.read_records(self.folder, self.definition, self.diary, self.plots)

    @cached_property
    def _sound(self) -> Records:
        wrong = self._records.wrong(self.definition, self.diary)
        if wrong:
            raise Unsound(wrong, self._records.faulty, self._records.logged.faulty)
        return self._records

    @cached_property
    def _observations(self) -> pd.DataFrame:
        sound = self._sound
        photos = scored.measured(self.definition, self._photo_scores) if self.photo_measures else []
        taken = [*photos, sound.logged.observations, sound.sheets]
        joined = records.joined(taken, self.definition)
        return records.excluded(joined, self.diary, self.plots)[0]


@dataclass(frozen=True)
class Opened:
    """A study folder, opened as far as it can be read.

    Parameters
    ----------
    trial : Trial or None
        None where the definition or the plots cannot be read. Where the diary cannot, the trial
        has an empty one.
    problems : list of Problem or str
        What is wrong in the definition, the plots and the diary.
    unread : str
        Why nothing that was gathered, or no sheet, can be read; empty where all of it can.
    """

    trial: Trial | None
    problems: list[Problem | str]
    unread: str = ""

    def unsound(self, more: Sequence[Problem] = ()) -> Unsound | None:
        """Tell everything that would stop a run, as far as can be told without scoring a photo.

        Parameters
        ----------
        more : sequence of Problem
            What else is wrong, to be told together with it.

        Returns
        -------
        Unsound or None
            An error to raise; None where nothing is wrong.
        """
        trial, said, sums, logged = self.trial, [self.unread] if self.unread else [], [], []
        found: list[Problem] = []
        if trial is not None and self.unread:
            index, found = records.photo_index(trial.folder, trial.definition, trial.plots)
            found += scored.refused_in(trial.folder, index["path"])
        elif trial is not None:
            sums, logged = trial._records.faulty, trial._records.logged.faulty
            found = trial._records.wrong(trial.definition, trial.diary, self.problems)
            found += scored.refused_in(trial.folder, trial._records.photos)
        wrong = [*self.problems, *more, *found, *said]
        return Unsound(wrong, sums, logged) if wrong else None


def opened(folder: str | Path | None = None) -> Opened:
    """Open a study folder as far as it can be read.

    Parameters
    ----------
    folder : str or Path, optional
        The study folder; left out or empty, the one around the current folder.

    Raises
    ------
    WinterswardError
        When there is no study folder.
    """
    place = study_folder(folder or Path.cwd())
    definition, problems = read_definition(place)
    if definition is None:
        return Opened(None, [*problems])
    path = place / "plan" / "plots.csv"
    plots, wrong = design.read_plots(path, definition)
    names = gathering.names_in(path) if plots is None else design.unit_names(plots)
    diary, problems = readable_diary(place, definition, names)
    shaded = shade_plot_problems(definition.site.shade, names) if names else []
    problems = [*wrong, *placed(place, shaded), *problems]
    if plots is None:
        there = path.is_file() and any((place / name).is_dir() for name in ("sheets", "photos"))
        return Opened(None, [*problems], _NO_PLOTS if there else "")
    said = [
        f"plan/plots.csv is not the plan that trial.yaml draws: {it}"
        for it in design.layout_changed(plots, definition)
    ]
    if said:
        said.append(design.redraw(folder if isinstance(folder, str) else place))
    trial = Trial(place, definition, diary or Diary(), plots)
    unread = _NO_DIARY if diary is None and (place / "sheets").is_dir() else ""
    return Opened(trial, [*problems, *said], unread)


_NO_PLOTS = "sheets and photos were not looked at; that is done once plan/plots.csv is sound"
_NO_DIARY = "the sheets were not looked at; that is done once diary.yaml is sound"


def open_study(folder: str | Path | None = None) -> Trial:
    """Open a study folder whose plots are drawn.

    Parameters
    ----------
    folder : str or Path, optional
        The study folder; left out or empty, the one around the current folder.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the definition, or else in the diary and the plots.
    """
    found = opened(folder)
    if found.trial is None or found.problems:
        raise WinterswardError(found.problems)
    return found.trial


def record_problems(folder: Path) -> list[Problem | str]:
    """Check everything that was written and gathered, without scoring a photo.

    Returns
    -------
    list of Problem or str
        Everything that would stop a run, sorted by place; then what became of the rows of
        tables that are wrong.
    """
    try:
        error: WinterswardError | None = opened(folder).unsound()
    except WinterswardError as nowhere:
        error = nowhere
    return error.problems if error else []


def gathered(folder: Path) -> Gathered:
    """Tell what was gathered, without scoring a photo.

    Raises
    ------
    WinterswardError
        With everything that would stop a run.
    """
    found = opened(folder)
    error = found.unsound()
    if error or found.trial is None:
        raise error or WinterswardError(found.problems)
    return summed_up(found.trial)


def summed_up(trial: Trial) -> Gathered:
    """Tell what was gathered for a trial, as `gathered` does."""
    return trial._sound.summed_up(trial.definition, trial.diary, trial.plots, trial.primary_date)


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
    return trial._sound.seen.copy()
