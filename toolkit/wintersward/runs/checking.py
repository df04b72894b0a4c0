"""Check a study folder: the definition and the diary in a blink, then what was gathered."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.errors import WinterswardError
from wintersward.paths import study_folder
from wintersward.trial import Definition, read_definition, read_diary
from wintersward.trial.frozen import FOLDER

if TYPE_CHECKING:
    from wintersward.study import Gathered

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
    sheets, photos : int
        Number of files that hold observations; 0 while the plots are not drawn.
    waiting : int
        Plots that the primary question still waits for.
    frozen : bool
        Whether there is a frozen plan, even a damaged one.
    protocol : tuple of str
        How the plan stands to its freeze: when, every change since, or what is damaged.
    """

    study: Path
    definition: Definition
    diary: bool
    planned: bool
    plots: int
    sheets: int
    photos: int
    waiting: int
    frozen: bool = False
    protocol: tuple[str, ...] = ()


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
        plots are drawn, in the plots, what is known of
        them, the sheets and the names of the photos.
    """
    study = study_folder(folder or Path.cwd())
    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    path = study / "plan" / "plots.csv"
    diary, problems = read_diary(study, definition, _unit_names(path))
    if problems:
        raise WinterswardError(problems)
    frozen = (study / FOLDER).exists()
    protocol: list[str] = []
    if frozen:
        from wintersward.runs.freezing import freeze_lines

        protocol = freeze_lines(study, definition, diary)
    plots = definition.plot_count
    sheets = photos = 0
    waiting = plots
    if path.is_file():
        # Imported only now: the tables behind it take longer than all of the above.
        from wintersward.runs.photo_drafts import draft_photos

        draft_photos(study)
        found = _gathered(study, definition)
        sheets, photos, waiting = found.sheets, found.photos, len(found.waiting)
    return Checked(
        study,
        definition,
        (study / "diary.yaml").is_file(),
        path.is_file(),
        plots,
        sheets,
        photos,
        waiting,
        frozen,
        tuple(protocol),
    )


def _gathered(study: Path, definition: Definition) -> Gathered:
    """Tell what was gathered, as long as what is known of the plots is sound too."""
    from wintersward import design
    from wintersward import study as studies
    from wintersward.runs.advice import VALUES

    plan = study / "plan"
    plots, _ = design.read_plots(plan / "plots.csv", definition)
    wrong = [] if plots is None else design.read_plot_values(plan / VALUES, plots)[1]
    try:
        found = studies.gathered(study)
    except WinterswardError as error:
        raise WinterswardError([*wrong, *error.problems]) from error
    if wrong:
        raise WinterswardError(wrong)
    return found


def _unit_names(path: Path) -> list[str] | None:
    """Name plots and whole plots as far as the plots table can be read; else None."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return None
    names: dict[str, None] = {}
    for line in csv.DictReader(io.StringIO(text)):
        for column in ("plot", "whole_plot"):
            name = (line.get(column) or "").strip()
            if name:
                names[name] = None
    return list(names) or None
