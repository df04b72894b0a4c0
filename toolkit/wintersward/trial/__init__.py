"""The definition and the diary of a trial: their models, and how they are read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from wintersward.errors import Problem
from wintersward.trial.checks import definition_problems
from wintersward.trial.diary_checks import deviation_problems, diary_problems
from wintersward.trial.reading import Source, read_yaml
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
    if not (folder / "diary.yaml").exists():
        return Diary(), []
    source = read_yaml(folder / "diary.yaml", "diary.yaml", may_be_empty=True)
    if source.content is None:
        return Diary(), source.problems
    parts, problems = validated(source, Diary)
    problems = sorted(
        {
            *source.problems,
            *problems,
            *diary_problems(source, parts, definition, plots),
            *_field_problems(folder, source, parts, definition, plots),
        }
    )
    if problems:
        return Diary(), problems
    return Diary.model_construct(_fields_set=set(source.content), **parts), []


def _field_problems(
    folder: Path,
    source: Source,
    parts: dict[str, Any],
    definition: Definition,
    plots: list[str] | None,
) -> list[Problem]:
    """Check the lines that deviations name, against the definition as it is and as frozen."""
    deviations = parts.get("deviations", [])
    if not any(deviation.field for deviation in deviations):
        return []
    # Imported only now: a diary that names no line needs neither.
    from wintersward.trial.changes import PLOTS, VALUES, definition_paths
    from wintersward.trial.frozen import read_frozen

    frozen, _ = read_frozen(folder)
    known, drawn = [*definition_paths(definition), PLOTS, VALUES], set(plots or [])
    if frozen is not None:
        known += definition_paths(frozen.definition)
        drawn |= set(frozen.plots)
    known += [f"{table}:{plot}" for table in (PLOTS, VALUES) for plot in sorted(drawn)]
    return deviation_problems(source, deviations, known)
