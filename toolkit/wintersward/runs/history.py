"""The runs of a study: what each was made from and what it found, and how two of them differ."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wintersward.errors import WinterswardError, listed
from wintersward.paths import study_folder
from wintersward.runs.damage import damage, damage_said
from wintersward.runs.files import sha256
from wintersward.runs.table_compare import Compared, Moved, compare_tables

if TYPE_CHECKING:
    from wintersward.trial import Definition

__all__ = ["Run", "compare", "runs_of"]

_DIGITS, _LARGEST, _OF_A_COLUMN = 8, 10, 3
_DEMONSTRATION = "a demonstration: it shows what was seen and compares nothing"
_NOT_YET = "no data yet for the primary question"


@dataclass(frozen=True)
class Run:
    """One run of a study.

    Parameters
    ----------
    number : str
        As its folder is called, ``002``.
    state : str
        ``complete``, ``unfinished`` or ``damaged``.
    when : str
        When it began, in the time of the computer that made it; empty where that is not known.
    inputs : str
        The first digits of the SHA-256 of ``inputs.json``: the same for the same inputs.
    said : str
        The answer to the primary question, or why there is none.
    """

    number: str
    state: str
    when: str
    inputs: str
    said: str

    def words(self) -> list[str]:
        """Say the run in two lines.

        Examples
        --------
        >>> Run("002", "unfinished", "", "", "stopped in: stage 10-photos").words()
        ['002  unfinished', '     stopped in: stage 10-photos']
        """
        told = [self.when] if self.when else []
        told += [f"inputs {self.inputs}"] if self.inputs else []
        told += [] if self.state == "complete" else [self.state]
        return [f"{self.number}  {', '.join(told)}", f"     {self.said}"]


def runs_of(folder: str | Path = "") -> list[Run]:
    """List the runs of a study.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.

    Returns
    -------
    list of Run
        By number; unfinished and damaged ones among them. Answers are told in the units and
        words of the definition as it stands now.
    """
    study = study_folder(folder or Path.cwd())
    from wintersward.trial import read_definition

    definition, _ = read_definition(study)
    return [_told(place, definition) for place in _places(study)]


def _places(study: Path) -> list[Path]:
    """Find the folders of runs, in their order."""
    runs = study / "runs"
    found = [
        (int(match[1]), place.name, place)
        for place in (runs.iterdir() if runs.is_dir() else ())
        if place.is_dir() and (match := re.fullmatch(r"(?:\.unfinished-)?([0-9]+)", place.name))
    ]
    return [place for _, _, place in sorted(found)]


def _told(place: Path, definition: Definition | None) -> Run:
    number = place.name.removeprefix(".unfinished-")
    if number != place.name:
        return Run(number, "unfinished", "", "", _why_unfinished(place))
    if wrong := damage_said(damage(place)):
        return Run(number, "damaged", "", "", f"{wrong}; run again: it gets a number of its own")
    began = dt.datetime.fromisoformat(_json(place / "provenance.json")["started"])
    return Run(
        number,
        "complete",
        f"{began:%Y-%m-%d %H:%M}",
        sha256(place / "inputs.json")[:_DIGITS],
        _answer(place, definition),
    )


def _why_unfinished(place: Path) -> str:
    try:
        text = (place / "failure.txt").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return "broken off, or still going"
    lines = [line for line in text.splitlines() if line.startswith(("stopped in:", "reason:"))]
    told = [" ".join(line.split()) for line in lines]
    return "; ".join([*told, f"see runs/{place.name}/failure.txt"])


def _json(path: Path) -> dict[str, Any]:
    held: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return held


def _answer(place: Path, definition: Definition | None) -> str:
    """Say what a run found on the primary question."""
    from wintersward.report.words import answer
    from wintersward.runs.record import Record

    if "primary" not in _json(place / "results" / "tables.json"):
        return _DEMONSTRATION
    try:
        primary = Record(place).read("primary")
    except (WinterswardError, ValueError) as error:
        return f"its answer cannot be read: {' '.join(str(error).split())}"
    if primary.empty:
        return _so_far(place, definition)
    where = f"its answer is in runs/{place.name}/report.html"
    if definition is None:
        return f"{where}; trial.yaml cannot be read now"
    if not _fits(definition, primary[["measure", "left", "right"]]):
        return f"{where}; trial.yaml is another since"
    try:
        return str(answer(primary, definition))
    except (ValueError, LookupError):
        # Rows that the question of today has and that run had not.
        return f"{where}; its table primary does not fit the question of trial.yaml"


def _so_far(place: Path, definition: Definition | None) -> str:
    """Say how much there was of what the primary question waits for."""
    from wintersward.runs.record import Record
    from wintersward.trial.dates import dates_meant

    if definition is None:
        return _NOT_YET
    question = definition.analysis.primary
    try:
        counts = Record(place).read("counts")
    except (WinterswardError, ValueError):
        return _NOT_YET
    day = dates_meant(definition.dates, question.on)[0].isoformat()
    asked = counts[(counts["measure"] == question.measure) & (counts["date"] == day)]
    there, planned = (int(asked[name].sum()) for name in ("used", "expected"))
    if not there:
        return _NOT_YET
    return f"{there} of {planned} observations of the primary question; nothing is compared yet"


def _fits(definition: Definition, asked: Any) -> bool:
    """Tell whether a definition still names what a run compared."""
    levels = {level for factor in definition.treatments.values() for level in factor.levels}
    known = {"measure": set(definition.measures), "left": levels, "right": levels}
    return all(set(asked[name].astype(str)) <= allowed for name, allowed in known.items())


def compare(folder: str | Path, first: str, second: str) -> list[str]:
    """Say how two runs of a study differ: in what they were made from, and in what came out.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it.
    first, second : str
        Numbers of complete runs.

    Returns
    -------
    list of str
        Lines: input files, own copies, parameters and versions that changed, came or went; then
        how many numbers of which tables moved, and the largest movements first, at most three
        of a column. A movement is measured by the largest number of its column, so that a small
        number that doubles does not stand before a mean that moved.

    Raises
    ------
    WinterswardError
        Where there is no such run, or it is unfinished or damaged.
    """
    study = study_folder(folder or Path.cwd())
    one, other = (_complete(study, number) for number in (first, second))
    return [*_inputs_apart(one, other), *_tables_apart(one, other)]


def _complete(study: Path, number: str) -> Path:
    places = _places(study)
    here = [place for place in places if place.name == number or place.name == number.zfill(3)]
    if not here:
        known = listed(place.name.removeprefix(".") for place in places) or "none"
        raise WinterswardError(f"runs/{number}: no such complete run; there are: {known}")
    if wrong := damage_said(damage(here[0])):
        raise WinterswardError(f"runs/{here[0].name}: {wrong}; it cannot be compared")
    return here[0]


def _inputs_apart(one: Path, other: Path) -> Iterator[str]:
    first, second = (_json(place / "inputs.json") for place in (one, other))
    told: list[str] = []
    for part in ("files", "templates"):
        told += _changes(_hashes(first, part), _hashes(second, part), other.name, False)
    for part in ("parameters", "versions"):
        told += _changes(first.get(part, {}), second.get(part, {}), other.name, True)
    if not told:
        yield f"{one.name} and {other.name} were made from the same, with the same versions"
        return
    yield f"what {one.name} and {other.name} were made from:"
    yield from (f"  {line}" for line in told)


def _hashes(inputs: Mapping[str, Any], part: str) -> dict[str, str]:
    return {name: str(one["sha256"]) for name, one in inputs.get(part, {}).items()}


def _changes(
    before: Mapping[str, Any], after: Mapping[str, Any], second: str, shown: bool
) -> Iterator[str]:
    gone = {name: f" ({before[name]})" for name in before if name not in after}
    came = {name: f" ({after[name]})" for name in after if name not in before}
    changed = {
        name: f" ({before[name]}, then {after[name]})"
        for name in before
        if name in after and before[name] != after[name]
    }
    told = [
        *_summed(gone, f"is not in {second} any more", f"not in {second} any more", shown),
        *_summed(came, f"came with {second}", f"came with {second}", shown),
        *_summed(changed, "changed", "changed", shown),
    ]
    yield from sorted(told)


def _summed(values: Mapping[str, str], said: str, of_many: str, shown: bool) -> Iterator[str]:
    """Tell of each name, or once of a folder in which there are many."""
    folders: dict[str, list[str]] = {}
    for name in sorted(values):
        folders.setdefault(name.partition("/")[0], []).append(name)
    for folder, names in folders.items():
        if len(names) > _LARGEST:
            yield f"{folder}: {len(names)} {of_many}, such as {names[0]}"
            continue
        yield from (f"{name}: {said}{values[name] if shown else ''}" for name in names)


def _tables_apart(one: Path, other: Path) -> Iterator[str]:
    first, second = (_json(place / "results" / "tables.json") for place in (one, other))
    told: list[str] = []
    largest: list[tuple[str, Moved]] = []
    moved = cells = differing = 0
    for name in sorted({*first, *second}):
        if name not in first or name not in second:
            came = f"came with {other.name}"
            came = came if name in second else f"is not in {other.name} any more"
            told.append(f"{name}: {came}")
            differing += 1
            continue
        found = _compared(one, other, name, first[name])
        cells += found.cells
        apart = _entries_apart(first[name], second[name], _where(one, other))
        if apart or not found.same:
            differing, moved = differing + 1, moved + len(found.moved)
            largest += [(name, one_moved) for one_moved in found.moved]
            told.append(f"{name}: {'; '.join([*_table_said(found), *apart])}")
    if not told:
        yield f"no table differs: {cells} cells in {len(first)} tables, the same digit for digit"
        return
    yield f"tables: {differing} of {len({*first, *second})} differ, {moved} of {cells} cells moved"
    yield from (f"  {line}" for line in told)
    yield from _movements(largest, _where(one, other))


def _movements(found: list[tuple[str, Moved]], where: tuple[str, str]) -> Iterator[str]:
    """Tell of the largest movements; one column shall not hide the others."""
    if not found:
        return
    yield "the largest movements, at most three of a column, beside the column's largest number:"
    found.sort(key=lambda pair: -pair[1].share)
    told: Counter[tuple[str, str]] = Counter()
    for name, moved in found:
        if told.total() < _LARGEST and told[name, moved.column] < _OF_A_COLUMN:
            told[name, moved.column] += 1
            yield f"  {name}, {moved.words(where)}"
    if len(found) > told.total():
        yield f"  and {len(found) - told.total()} more"


def _compared(one: Path, other: Path, name: str, entry: Mapping[str, Any]) -> Compared:
    texts = [
        (place / "results" / f"{name}.csv").read_bytes().decode("utf-8") for place in (one, other)
    ]
    return compare_tables(texts[0], texts[1], entry, _where(one, other))


def _where(one: Path, other: Path) -> tuple[str, str]:
    return f"in {one.name}", f"in {other.name}"


def _entries_apart(
    before: Mapping[str, Any], after: Mapping[str, Any], where: tuple[str, str]
) -> list[str]:
    """Tell where two runs describe a table otherwise, so that the same digits mean another."""
    told = []
    if before["key"] != after["key"]:
        keys = [listed(entry["key"]) for entry in (before, after)]
        told.append(f"its key is {keys[0]} {where[0]}, {keys[1]} {where[1]}")
    known = {column["name"]: column for column in after["columns"]}
    for column in before["columns"]:
        other = known.get(column["name"], column)
        told += [
            f"{what} of {column['name']}: {column[what] or 'none'} {where[0]}, "
            f"{other[what] or 'none'} {where[1]}"
            for what in ("type", "unit")
            if column[what] != other[what]
        ]
    return told


def _table_said(found: Compared) -> list[str]:
    said = [f"{len(found.moved)} of {found.cells} cells moved"] if found.moved else []
    return [*said, *found.problems]
