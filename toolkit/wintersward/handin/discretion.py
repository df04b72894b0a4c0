"""What is left out or rounded before a study is handed in: names of people, the exact place."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from wintersward.errors import Problem, WinterswardError
from wintersward.handin.holdings import study_holdings
from wintersward.handin.named_people import (
    StandIn,
    initials_that_are_names,
    names_in_paths,
    parts_left,
    places_in,
    replaced,
    stand_ins,
)
from wintersward.handin.photo_notes import photo_problems
from wintersward.handin.same_meaning import meant_otherwise
from wintersward.handin.traces import Trace, rough_lines, traces
from wintersward.handin.workbook_authors import without_author
from wintersward.records.logger_text import decoded
from wintersward.runs.rewriting import rewritten
from wintersward.trial import Definition, read_definition
from wintersward.trial.frozen import FOLDER, document_hash, read_frozen, seal
from wintersward.trial.reading import Place, read_yaml

__all__ = ["NO_PLACE", "PEOPLE_LEFT_OUT", "PLACE_ROUGH", "PLACE_ROUNDED", "Discretion"]
__all__ += ["discretion", "still_there"]

PEOPLE_LEFT_OUT = "names of people left out"
PLACE_ROUNDED = "position rounded to 0.1 degree"
NO_PLACE = "holds no position"
PLACE_ROUGH = "holds no position finer than 0.1 degree"
AUTHOR_LEFT_OUT = "names taken out of its properties and of its page headers"

_DEFINITION = "trial.yaml"
_PROTOCOL, _RECORD = f"{FOLDER}/protocol.html", f"{FOLDER}/frozen.json"
_NUMBER = r"[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?"
_DECIMALS = 1

# Of a definition: latitude and longitude before and after [degrees].
_Rounded = Mapping[str, Mapping[str, tuple[float, float]]]


@dataclass(frozen=True)
class Discretion:
    """A study's files as they may be handed in.

    Parameters
    ----------
    files : mapping of str to bytes
        New content by name, from the study folder on; only of files that change.
    changed : tuple of str
        What was changed, a line each.
    look : tuple of str
        What a person should look at: parts of names that were left as they are.
    people : tuple of StandIn
        Names that were replaced.
    """

    files: Mapping[str, bytes]
    changed: tuple[str, ...]
    look: tuple[str, ...]
    people: tuple[StandIn, ...]


def discretion(
    study: Path, made_from: Mapping[str, Any], people: bool, exact_place: bool, photos: bool
) -> Discretion:
    """Take names of people out of a study's files, and round the position of the site.

    Parameters
    ----------
    study : Path
        The study folder; it is only read.
    made_from : mapping
        ``inputs.json`` of the run.
    people, exact_place : bool
        Whether names, whether the position stay as they are.
    photos : bool
        Whether photos are handed in too; their notes must then hold neither.

    Returns
    -------
    Discretion
        Definition, diary, the frozen plan and the definitions of earlier seasons, as far as they
        change, and workbooks whose properties or page headers name somebody. Initials of raters
        stay.

    Raises
    ------
    WinterswardError
        Where a name or the position also stands in a file that is a record, such as a sheet or a
        photo, and where initials are a name.
    """
    given = {one.name.removeprefix("study/"): one for one in study_holdings(study, made_from)}
    definitions = _definitions(study, given)
    named = [] if people else stand_ins(definitions.values())
    rounded = {} if exact_place else _rounded(definitions)
    files, lines = _rewritten(
        study, {*definitions, "diary.yaml", _PROTOCOL} & {*given}, named, rounded
    )
    records = [name for name, one in given.items() if one.role != "photo" and name not in files]
    if not people:
        authors, said = _authors(study, records, named)
        files, lines = {**files, **authors}, [*lines, *said]
    places = _traces(rounded)
    wanted: list[StandIn] = [*named, *places]
    problems: list[Problem | str] = (
        [] if people else [*initials_that_are_names(_first(definitions))]
    )
    problems += meant_otherwise(
        study, files, definitions, lambda text: replaced(replaced(text, places), named)
    )
    problems += names_in_paths(given, wanted)
    for name in records:
        problems += places_in(files.get(name) or (study / name).read_bytes(), name, wanted)
    if photos:
        shown = [name for name, one in given.items() if one.role == "photo"]
        problems += photo_problems(study, shown, named, places, people, exact_place)
    if problems:
        raise WinterswardError(problems)
    if not exact_place and not rounded:
        lines.append(f"study/{_DEFINITION}: {_nothing_to_round(definitions)}")
    look = _to_look_at(study, records, files, named, places)
    return Discretion(files, tuple(lines), tuple(look), tuple(named))


def _nothing_to_round(definitions: Mapping[str, Definition]) -> str:
    sites = [definition.site for definition in definitions.values()]
    if all(site.latitude is None and site.longitude is None for site in sites):
        return NO_PLACE
    return PLACE_ROUGH


def _to_look_at(
    study: Path,
    records: Iterable[str],
    files: Mapping[str, bytes],
    people: Sequence[StandIn],
    places: Sequence[Trace],
) -> list[str]:
    """Tell what was left as it is and may be a part of a name, or the position."""
    written = sorted(name for name in files if name.endswith(".yaml"))
    texts = {name: files[name].decode("utf-8-sig") for name in written}
    told = [line for name, text in texts.items() for line in rough_lines(text, name, places)]
    for name in records if people else ():
        if name not in files and (text := decoded((study / name).read_bytes())):
            texts[name] = text
    return told + [line for name, text in texts.items() for line in parts_left(text, name, people)]


def _rewritten(
    study: Path, names: Iterable[str], people: Sequence[StandIn], rounded: _Rounded
) -> tuple[dict[str, bytes], list[str]]:
    """Change what was written about the study, and say what was changed."""
    files, lines = {}, []
    for name in sorted(names):
        content, said = _changed(study, name, people, rounded)
        if said:
            files[name] = content
            lines += [f"study/{name}: {words}" for words in said]
    if any(name.startswith(FOLDER) for name in files) and read_frozen(study)[0] is not None:
        files[_RECORD] = _sealed_again(study, files)
        code = document_hash(_record(study)["files"])[:12]
        lines.append(
            f"study/{_RECORD}: hashes of the changed copies made again; the printed protocol "
            f"begins with {code}"
        )
    return files, lines


def _authors(
    study: Path, names: Iterable[str], people: Sequence[StandIn]
) -> tuple[dict[str, bytes], list[str]]:
    """Take the authors out of workbooks, and the names on top of pages, and say of which."""
    files = {}
    for name in sorted(name for name in names if name.lower().endswith(".xlsx")):
        before = (study / name).read_bytes()
        if (after := without_author(before, people)) != before:
            files[name] = after
    return files, [f"study/{name}: {AUTHOR_LEFT_OUT}" for name in files]


def still_there(study: Path, names: Sequence[str], people: Sequence[StandIn]) -> list[Problem]:
    """Tell which entries of YAML files go on naming a person, however they are written.

    Parameters
    ----------
    study : Path
        The changed study folder.
    names : sequence of str
        Its files; those that are no YAML are passed over.
    people : sequence of StandIn
        Whose names were to go.
    """
    problems = []
    for name in names:
        if not name.endswith(".yaml"):
            continue
        source = read_yaml(study / name, name, may_be_empty=True)
        for place, text in _texts((), source.content):
            if any(one.pattern.search(text) for one in people):
                found = "a name in a form that cannot be changed"
                problems.append(source.problem(place, found, "plain letters", "write it plainly"))
    return problems


def _texts(place: Place, content: Any) -> Iterator[tuple[Place, str]]:
    if isinstance(content, dict):
        for key, value in content.items():
            yield from _texts((*place, key), value)
    elif isinstance(content, list):
        for index, value in enumerate(content):
            yield from _texts((*place, index), value)
    elif isinstance(content, str):
        yield place, content


def _definitions(study: Path, given: Mapping[str, Any]) -> dict[str, Definition]:
    """Read every definition of a study, its own first; all of them have to be sound."""
    names = sorted(name for name in given if Path(name).name == _DEFINITION)
    names.sort(key=lambda name: (name != _DEFINITION, not name.startswith(FOLDER)))
    read, problems = {}, []
    for name in names:
        definition, wrong = read_definition((study / name).parent)
        if definition is not None:
            read[name] = definition
        problems += [replace(problem, path=name) for problem in wrong]
    if problems:
        raise WinterswardError(problems)
    return read


def _first(definitions: Mapping[str, Definition]) -> Definition:
    return next(iter(definitions.values()))


def _rounded(definitions: Mapping[str, Definition]) -> _Rounded:
    """Give latitudes and longitudes that are finer than allowed, before and after [degrees]."""
    found = {}
    for name, definition in definitions.items():
        both = {"latitude": definition.site.latitude, "longitude": definition.site.longitude}
        finer = {
            which: (value, round(value, _DECIMALS) + 0.0)
            for which, value in both.items()
            if value is not None and round(value, _DECIMALS) != value
        }
        if finer:
            found[name] = finer
    return found


def _traces(rounded: _Rounded) -> list[Trace]:
    """List the numbers by which a position may stand elsewhere."""
    return traces(pair for values in rounded.values() for pair in values.values())


def _changed(
    study: Path, name: str, people: Sequence[StandIn], rounded: _Rounded
) -> tuple[bytes, list[str]]:
    """Change one file, and say what was changed in it."""
    path, said = study / name, []
    before = content = path.read_bytes()
    if name in rounded:
        places: dict[Place, tuple[str, str]] = {
            ("site", which): (_NUMBER, f"{new:g}") for which, (_, new) in rounded[name].items()
        }
        content = rewritten(path, name, places)
    content = replaced(content.decode("utf-8"), _traces(rounded)).encode("utf-8")
    said += [PLACE_ROUNDED] if content != before else []
    text = content.decode("utf-8")
    after = replaced(text, people, markup=name.endswith(".html")).encode("utf-8")
    said += [PEOPLE_LEFT_OUT] if after != content else []
    return after, said


def _record(study: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((study / _RECORD).read_text(encoding="utf-8"))
    return found


def _sealed_again(study: Path, files: Mapping[str, bytes]) -> bytes:
    """Make the record of a freeze again for copies that were changed."""
    record = _record(study)
    for name in record["files"]:
        content = files.get(f"{FOLDER}/{name}") or (study / FOLDER / name).read_bytes()
        record["files"][name] = hashlib.sha256(content).hexdigest()
    text = json.dumps(
        {**record, "seal": seal(record)}, indent=2, sort_keys=True, ensure_ascii=False
    )
    return f"{text}\n".encode()
