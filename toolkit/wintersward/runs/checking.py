"""Check a study folder: the definition and the diary in a blink, then what was gathered."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wintersward.errors import Problem, WinterswardError
from wintersward.paths import study_folder
from wintersward.records.sheet_files import table_files
from wintersward.runs.collected import collected_dict, collected_lines
from wintersward.runs.collected_loggers import Unnamed, unnamed
from wintersward.runs.due import Known, known_of
from wintersward.trial import Definition, Diary, read_definition
from wintersward.trial.frozen import FOLDER

if TYPE_CHECKING:
    import pandas as pd

    from wintersward.gathering import Unsound
    from wintersward.logged import Logged
    from wintersward.records import TableSums
    from wintersward.study import Opened, Trial

__all__ = ["Checked", "check"]


@dataclass(frozen=True)
class Checked:
    """A study folder in which nothing is wrong.

    Parameters
    ----------
    study : Path
        The study folder.
    definition : Definition
        The trial as decided.
    diary : bool
        Whether there is a diary.
    planned : bool
        Whether the plots are drawn.
    plots : int
        Number of plots by the definition.
    sheets, photos, loggers : int
        Number of files that hold observations; 0 while the plots are not drawn.
    unread : int
        Number of sheets that were not looked at, since the plots are not drawn.
    waiting : int
        Plots that the primary question still waits for.
    known : Known
        The study as it was read, for what is told of it next.
    frozen : bool
        Whether there is a frozen plan, even a damaged one.
    protocol : tuple of str
        How the plan stands to its freeze: when, every change since, or what is damaged.
    sums : tuple of TableSums
        What became of every row and value of each table.
    flags : DataFrame or None
        What looks odd among the observations, values from photos not looked at; None while the
        plots are not drawn.
    gaps : tuple of Problem
        Days that the weather file lacks.
    logged : Logged or None
        What loggers gave; None while the plots are not drawn.
    unnamed : tuple of Unnamed
        Files of loggers that the diary does not name, with a guess at each.
    """

    study: Path
    definition: Definition
    diary: bool
    planned: bool
    plots: int
    sheets: int
    photos: int
    waiting: int
    known: Known
    frozen: bool = False
    protocol: tuple[str, ...] = ()
    sums: tuple[TableSums, ...] = ()
    flags: pd.DataFrame | None = None
    gaps: tuple[Problem, ...] = ()
    unread: int = 0
    loggers: int = 0
    logged: Logged | None = None
    unnamed: tuple[Unnamed, ...] = ()

    def words(self) -> list[str]:
        """Say in lines what became of sheets and loggers, what looks odd, what is not read."""
        return collected_lines(self.sums, self.flags, self.gaps, self.logged, self.unnamed)

    def as_dict(self) -> dict[str, Any]:
        """Give the same as plain values for JSON: the same keys always."""
        return collected_dict(self.sums, self.flags, self.gaps, self.logged, self.unnamed)


def check(folder: str | Path = "") -> Checked:
    """Check a study folder.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.

    Returns
    -------
    Checked
        What there is.

    Raises
    ------
    WinterswardError
        With everything that is wrong: in the definition, else in the diary and, once the
        plots are drawn, in the plots, what is known of them, the sheets, the photos as far as
        they need not be decoded, and the weather.
    """
    study = study_folder(folder or Path.cwd())
    if (study / "plan" / "plots.csv").is_file():
        return _checked(study)
    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    known = known_of(study, definition)
    plots = definition.plot_count
    place = study / "sheets"
    return Checked(
        study,
        definition,
        (study / "diary.yaml").is_file(),
        planned=False,
        plots=plots,
        sheets=0,
        photos=0,
        waiting=plots,
        known=known,
        frozen=(study / FOLDER).exists(),
        protocol=_protocol(study, definition, known.diary),
        unread=len(table_files(place, [])) if place.is_dir() else 0,
    )


def _checked(study: Path) -> Checked:
    """Check a study whose plots are drawn."""
    # Imported only now: the tables behind it take longer than all that a definition needs.
    from wintersward import records
    from wintersward import study as studies

    found = studies.opened(study)
    error = _error(found)
    if error or found.trial is None:
        raise error or WinterswardError(found.problems)
    trial = found.trial
    gathered, seen = studies.summed_up(trial), studies.unscored(trial)
    from_sheets = [name for name in trial.definition.measures if name not in trial.photo_measures]
    flags = records.flag_table(seen, trial.definition, trial.diary, trial.plots, from_sheets)
    return Checked(
        study,
        trial.definition,
        (study / "diary.yaml").is_file(),
        planned=True,
        plots=trial.definition.plot_count,
        sheets=gathered.sheets,
        photos=gathered.photos,
        waiting=len(gathered.waiting),
        known=Known(trial.definition, trial.diary, trial, seen),
        frozen=(study / FOLDER).exists(),
        protocol=_protocol(study, trial.definition, trial.diary),
        sums=tuple(gathered.sums),
        flags=flags,
        gaps=tuple(gathered.gaps),
        loggers=gathered.loggers,
        logged=gathered.logged,
        unnamed=unnamed(study, gathered.logged),
    )


def _error(found: Opened) -> Unsound | None:
    """Tell everything that is wrong; before that, draft a list of the photos that lack one."""
    if found.trial is None:
        return found.unsound()
    from wintersward import design
    from wintersward.runs.advice import VALUES

    trial = found.trial
    wrong = design.read_plot_values(trial.folder / "plan" / VALUES, trial.plots)[1]
    # Without a sound diary, nothing tells which photos were never taken.
    stuck = [] if found.problems else _drafted(trial)
    error = found.unsound(wrong)
    if error is None or not stuck:
        return error
    from wintersward.gathering import Unsound

    # What is in the way of a draft is told instead of the photos that lack one.
    others = [one for one in error.wrong if isinstance(one, str) or one.path != "photos"]
    return Unsound([*others, *stuck], error.sums, error.logger_sums)


def _drafted(trial: Trial) -> list[Problem | str]:
    """Draft a list of photos where one is due; tell what is in the way of it."""
    if not _draft_is_due(trial):
        return []
    from wintersward.runs.photo_drafts import draft_photos

    try:
        draft_photos(trial.folder)
    except WinterswardError as error:
        return error.problems
    return []


def _draft_is_due(trial: Trial) -> bool:
    """Tell whether photos lack a list, or what was drafted before is to be taken away."""
    from wintersward import records
    from wintersward.records.photo_files import DRAFT, DRAFT_RECORD, DRAFT_SHEET

    place = trial.folder / "photos"
    if any((place / name).exists() for name in (DRAFT, DRAFT_SHEET, DRAFT_RECORD)):
        return True
    return bool(records.untold_photos(trial.folder, trial.definition, trial.plots).lacking)


def _protocol(study: Path, definition: Definition, diary: Diary) -> tuple[str, ...]:
    """Say how the plan stands to its freeze."""
    if not (study / FOLDER).exists():
        return ()
    from wintersward.runs.freezing import freeze_lines

    return tuple(freeze_lines(study, definition, diary))
