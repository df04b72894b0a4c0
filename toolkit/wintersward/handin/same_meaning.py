"""A definition or a diary that was rewritten, held against what it said before."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from wintersward.errors import Problem
from wintersward.trial import Definition, read_definition, read_diary

__all__ = ["meant_otherwise"]

_DEFINITION, _DIARY = "trial.yaml", "diary.yaml"
_POSITION = (("site", "latitude"), ("site", "longitude"))
_HINT = "write it otherwise, run again, and bundle then"

_Change = Callable[[str], str]


def meant_otherwise(
    study: Path,
    files: Mapping[str, bytes],
    definitions: Mapping[str, Definition],
    change: _Change,
) -> list[Problem]:
    """Tell which fields of rewritten files would mean something else.

    Parameters
    ----------
    study : Path
        The study folder, with the files as they were.
    files : mapping of str to bytes
        New content by name, from the study folder on.
    definitions : mapping of str to Definition
        Every definition as it was, by its name; that of the study first.
    change : callable
        What was done to texts.

    Returns
    -------
    list of Problem
        One for each field that is neither the position of the site nor a text changed as asked.
    """
    problems = []
    for name, definition in definitions.items():
        if name in files:
            made, wrong = _read(files[name])
            problems += [replace(problem, path=name) for problem in wrong]
            if made is not None:
                problems += _apart(name, definition, made, change)
    if _DIARY in files and not problems:
        first = next(iter(definitions.values()))
        now, _ = _read(files.get(_DEFINITION) or (study / _DEFINITION).read_bytes())
        with tempfile.TemporaryDirectory() as place:
            (Path(place) / _DIARY).write_bytes(files[_DIARY])
            made_diary, wrong = read_diary(Path(place), now or first)
        before, known = read_diary(study, first)
        # What could not be read before is told by the run.
        if not known:
            problems += wrong or _apart(_DIARY, before, made_diary, change)
    return problems


def _read(content: bytes) -> tuple[Definition | None, list[Problem]]:
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / _DEFINITION).write_bytes(content)
        return read_definition(Path(place))


def _apart(name: str, before: Any, after: Any, change: _Change) -> list[Problem]:
    found = _fields((), before.model_dump(), after.model_dump(), change)
    return [
        Problem(name, field=field, found=f"{old!r}, which would become {new!r}", hint=_HINT)
        for field, old, new in found
    ]


def _fields(
    place: tuple[str, ...], before: Any, after: Any, change: _Change
) -> Iterator[tuple[str, Any, Any]]:
    """Give the fields that differ otherwise than they should, with both values."""
    if isinstance(before, dict) and isinstance(after, dict) and [*before] == [*after]:
        for key, value in before.items():
            yield from _fields((*place, str(key)), value, after[key], change)
    elif isinstance(before, list | tuple) and isinstance(after, list | tuple):
        if len(before) != len(after):
            yield ".".join(place), before, after
            return
        for number, pair in enumerate(zip(before, after, strict=True), 1):
            yield from _fields((*place, str(number)), *pair, change)
    elif before != after and place not in _POSITION:
        meant = isinstance(before, str) and after == change(before)
        if not meant:
            yield ".".join(place), before, after
