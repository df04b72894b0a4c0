"""Read ``diary.yaml`` as far as it can be used, and tell everything that is wrong in it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from wintersward.errors import Problem
from wintersward.trial.diary_checks import deviation_problems, diary_problems
from wintersward.trial.reading import Source, read_yaml
from wintersward.trial.schema import Definition, Diary
from wintersward.trial.validation import validated

__all__ = ["readable_diary"]


def readable_diary(
    folder: Path, definition: Definition, plots: list[str] | None = None
) -> tuple[Diary | None, list[Problem]]:
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
    diary : Diary or None
        None where a line cannot be read. A diary whose lines can all be read is there even if
        what they name does not fit the definition, the plots or one another.
    problems : list of Problem
        Everything that is wrong, sorted by place.
    """
    if not (folder / "diary.yaml").exists():
        return Diary(), []
    source = read_yaml(folder / "diary.yaml", "diary.yaml", may_be_empty=True)
    if source.content is None:
        return None, source.problems
    parts, problems = validated(source, Diary)
    unread = {*source.problems, *problems}
    unfit = {
        *diary_problems(source, parts, definition, plots),
        *_field_problems(folder, source, parts, definition, plots),
    }
    if unread:
        return None, sorted(unread | unfit)
    return Diary.model_construct(_fields_set=set(source.content), **parts), sorted(unfit)


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
