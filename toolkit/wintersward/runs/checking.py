"""Check a study folder: the definition and the diary in a blink, then what was gathered."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from wintersward.errors import WinterswardError
from wintersward.paths import study_folder
from wintersward.trial import Definition, read_definition, read_diary

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
    """

    study: Path
    definition: Definition
    diary: bool
    planned: bool
    plots: int
    sheets: int
    photos: int
    waiting: int


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
        plots are drawn, in the plots, the sheets and the names of the photos.
    """
    study = study_folder(folder or Path.cwd())
    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    path = study / "plan" / "plots.csv"
    _, problems = read_diary(study, definition, _unit_names(path))
    if problems:
        raise WinterswardError(problems)
    plots = definition.plot_count
    sheets = photos = 0
    waiting = plots
    if path.is_file():
        # Imported only now: the tables behind it take longer than all of the above.
        from wintersward.study import gathered

        found = gathered(study)
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
    )


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
