"""The definition and the diary of a trial: their models, and how they are read."""

from __future__ import annotations

from pathlib import Path

from wintersward.errors import Problem
from wintersward.trial.checks import definition_problems
from wintersward.trial.diary_reading import readable_diary
from wintersward.trial.reading import read_yaml
from wintersward.trial.schema import Definition, Diary
from wintersward.trial.validation import validated

__all__ = ["Definition", "Diary", "read_definition", "read_diary"]


def read_definition(folder: Path) -> tuple[Definition | None, list[Problem]]:
    """Read and check ``trial.yaml`` of a study folder.

    Returns
    -------
    definition : Definition or None
        None when anything is wrong.
    problems : list of Problem
        Everything that is wrong, sorted by place.
    """
    source = read_yaml(folder / "trial.yaml", "trial.yaml")
    if source.content is None:
        return None, source.problems
    parts, problems = validated(source, Definition)
    problems = sorted({*source.problems, *problems, *definition_problems(source, parts)})
    if problems:
        return None, problems
    return Definition.model_construct(_fields_set=set(source.content), **parts), []


def read_diary(
    folder: Path, definition: Definition, plots: list[str] | None = None
) -> tuple[Diary, list[Problem]]:
    """Read and check ``diary.yaml``; a study without one has an empty diary.

    Parameters
    ----------
    folder : Path
        The study folder.
    definition : Definition
        The trial as decided.
    plots : list of str, optional
        Names of plots and whole plots, once they are drawn.

    Returns
    -------
    diary : Diary
        Empty when anything is wrong.
    problems : list of Problem
        Everything that is wrong, sorted by place.
    """
    diary, problems = readable_diary(folder, definition, plots)
    return (Diary() if diary is None or problems else diary), problems
