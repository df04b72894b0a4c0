"""What was changed in a plan after it was frozen, why, and what each change touches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.trial.frozen import Frozen, plot_rows
from wintersward.trial.reading import read_yaml
from wintersward.trial.schema import Definition, Deviation
from wintersward.trial.touching import touched_by

__all__ = ["NO_REASON", "PLOTS", "VALUES", "Changed", "changes_since", "definition_paths"]

NO_REASON = "no reason given"
# What a deviation names where a plot was moved or treated otherwise.
PLOTS = "plan/plots.csv"
# What is known of each plot before treatment: no analysis reads it.
VALUES = "plan/plot_values.csv"
_ABSENT = object()
# Columns of plots.csv that change no treatment and no place: the order on foot.
_LOOSE = frozenset({"walk"})


@dataclass(frozen=True)
class Changed:
    """One line of a plan that is not as it was frozen.

    Parameters
    ----------
    path : str
        Dotted path of the line of ``trial.yaml``, list entries counted from 1; for a plot
        ``plan/plots.csv:101``, for what is known of it ``plan/plot_values.csv:101``.
    old, new : str
        As they are written; ``nothing`` where the line was not there.
    reason : str
        From the diary's deviations, or `NO_REASON`.
    touches : frozenset of str
        Among ``primary``, ``measure:NAME``, ``days_gained``, ``caught_up``, ``covariate``,
        ``logit``, ``climate`` (what is made of temperatures), ``light``, ``decisions`` (what is
        held against limits), ``removal`` (the rule for taking covers off) and ``everything``;
        empty where only words were changed.
    """

    path: str
    old: str
    new: str
    reason: str
    touches: frozenset[str]

    def __str__(self) -> str:
        """Say the change in one line."""
        return f"{self.path}: {self.old} -> {self.new}; {self.reason}"


def changes_since(
    frozen: Frozen, study: Path, definition: Definition, deviations: Iterable[Deviation] = ()
) -> tuple[Changed, ...]:
    """Compare a study with its frozen plan, line by line and plot by plot.

    Parameters
    ----------
    frozen : Frozen
        The plan as it was frozen.
    study : Path
        The study folder, with ``trial.yaml`` and ``plan/plots.csv`` as they are now.
    definition : Definition
        The definition as it is now.
    deviations : iterable of Deviation
        Of the diary; those with a ``field`` give reasons.

    Returns
    -------
    tuple of Changed
        In the order of the definition, lines that are gone after the others, plots and
        what is known of them last. What is only written in another way (10 ft as 120 in) is no
        change.
    """
    reasons = [(one.field, one.reason) for one in deviations if one.field]
    content = read_yaml(study / "trial.yaml", "trial.yaml").content or {}
    was, now = _plain(frozen.definition), _plain(definition)
    found = []
    for place, old, new in _differing(frozen.content, content, ()):
        if _alike(_at(was, place), _at(now, place)):
            continue
        path = _dotted(place)
        touches = touched_by(place, frozen.definition, definition)
        found.append(Changed(path, _shown(old), _shown(new), _reason(path, reasons), touches))
    found += _plots(frozen.plots, plot_rows(study / PLOTS), reasons)
    return (*found, *_values(frozen.values, plot_rows(study / VALUES), reasons))


def definition_paths(definition: Definition) -> list[str]:
    """List the dotted paths of everything that a definition may hold or holds."""
    return [_dotted(place) for place in _places(_plain(definition), ()) if place]


def _plain(definition: Definition) -> Any:
    """Give a definition as plain values, each in its SI unit, defaults among them."""
    return definition.model_dump(mode="json", by_alias=True, warnings=False)


def _places(value: Any, place: tuple[str | int, ...]) -> Iterator[tuple[str | int, ...]]:
    yield place
    for key, held in _held(value):
        yield from _places(held, (*place, key))


def _held(value: Any) -> list[tuple[str | int, Any]]:
    if isinstance(value, Mapping):
        return list(value.items())
    return list(enumerate(value)) if isinstance(value, list) else []


def _differing(
    old: Any, new: Any, place: tuple[str | int, ...]
) -> Iterator[tuple[tuple[str | int, ...], Any, Any]]:
    """Find the finest entries that differ; a list of plain values is one entry."""
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in [*new, *(k for k in old if k not in new)]:
            yield from _differing(old.get(key, _ABSENT), new.get(key, _ABSENT), (*place, key))
    elif _records(old) and _records(new) and len(old) == len(new):
        for at, (first, second) in enumerate(zip(old, new, strict=True)):
            yield from _differing(first, second, (*place, at))
    elif old is _ABSENT or new is _ABSENT or old != new:
        yield place, old, new


def _records(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(entry, Mapping) for entry in value)


def _alike(old: Any, new: Any) -> bool:
    """Tell whether two plain values mean the same; converted units differ by rounding."""
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return old.keys() == new.keys() and all(_alike(old[key], new[key]) for key in old)
    if isinstance(old, list) and isinstance(new, list):
        return len(old) == len(new) and all(map(_alike, old, new))
    if isinstance(old, float) and isinstance(new, float):
        return math.isclose(old, new, rel_tol=1e-9)
    return bool(old is not _ABSENT and old == new)


def _at(value: Any, place: tuple[str | int, ...]) -> Any:
    """Look up an entry; what is not there is told apart from what is empty."""
    for key in place:
        if isinstance(value, Mapping):
            value = value.get(key, _ABSENT)
        elif isinstance(value, list) and isinstance(key, int) and key < len(value):
            value = value[key]
        else:
            return _ABSENT
    return value


def _dotted(place: Iterable[str | int]) -> str:
    return ".".join(str(p + 1) if isinstance(p, int) else " ".join(str(p).split()) for p in place)


def _shown(value: Any) -> str:
    """Write a value on one line, as it may stand in the file."""
    if value is _ABSENT or value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_shown(held)}" for key, held in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_shown(held) for held in value) + "]"
    return " ".join(str(value).split())


def _reason(path: str, reasons: list[tuple[str, str]]) -> str:
    """Join the reasons of the deviations that name this line, a part of it or what holds it."""
    said = [
        reason
        for field, reason in reasons
        if field == path or path.startswith((f"{field}.", f"{field}:")) or f"{path}." in f"{field}."
    ]
    return "; ".join(dict.fromkeys(said)) or NO_REASON


def _plots(
    old: Mapping[str, Mapping[str, str]],
    new: Mapping[str, Mapping[str, str]],
    reasons: list[tuple[str, str]],
) -> Iterator[Changed]:
    for name in [*new, *(n for n in old if n not in new)]:
        was, now = old.get(name), new.get(name)
        columns = [*(now or {}), *(c for c in was or {} if c not in (now or {}))]
        if was is not None and now is not None:
            columns = [c for c in columns if not _same(was.get(c, ""), now.get(c, ""))]
        if not columns:
            continue
        path = f"{PLOTS}:{name}"
        touches = frozenset() if set(columns) <= _LOOSE else frozenset({"everything"})
        said = [_cells(row, columns) for row in (was, now)]
        yield Changed(path, said[0], said[1], _reason(path, reasons), touches)


def _values(
    old: Mapping[str, Mapping[str, str]],
    new: Mapping[str, Mapping[str, str]],
    reasons: list[tuple[str, str]],
) -> Iterator[Changed]:
    """Compare what is known of the plots; a table that came or went is one change."""
    if bool(old) != bool(new):
        shown = f"values of {len(old or new)} plots"
        said = (shown, "nothing") if old else ("nothing", shown)
        yield Changed(VALUES, *said, _reason(VALUES, reasons), frozenset())
        return
    for one in _plots(old, new, []):
        path = f"{VALUES}:{one.path.partition(':')[2]}"
        yield Changed(path, one.old, one.new, _reason(path, reasons), frozenset())


def _same(old: str, new: str) -> bool:
    """Compare two cells; a spreadsheet program writes 3.60 where 3.6 stood."""
    if old == new:
        return True
    try:
        return float(old) == float(new)
    except ValueError:
        return False


def _cells(row: Mapping[str, str] | None, columns: list[str]) -> str:
    if row is None:
        return "nothing"
    return ", ".join(f"{name} {row.get(name) or '-'}" for name in columns if name != "plot")
