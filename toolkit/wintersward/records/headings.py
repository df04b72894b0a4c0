"""Which column of a hand-filled table is what."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, field

from wintersward.errors import Problem, listed
from wintersward.records.tables import Table
from wintersward.trial.schema import Definition, Sheet, SheetMeasure
from wintersward.units import UNITS, stands_for

__all__ = ["Columns", "find_columns"]

_NEEDED = ("date", "plot")
_ALSO = ("rater", "sample", "repeat")


@dataclass
class Columns:
    """Where a table holds what.

    Parameters
    ----------
    place : dict of str to int
        From date, plot, rater, sample, repeat and the names of measures to the position of the
        column, counted from 0; what the table does not hold is absent.
    measures : dict of str to SheetMeasure
        The measures that the table holds.
    problems : list of Problem
        What keeps the table from being read.
    """

    place: dict[str, int] = field(default_factory=dict)
    measures: dict[str, SheetMeasure] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def find_columns(table: Table, sheet: Sheet | None, definition: Definition) -> Columns:
    """Find the columns of a table by their headings.

    Parameters
    ----------
    table : Table
        Its headings are in row 1.
    sheet : Sheet or None
        What the diary says about the table; a heading given there goes first.
    definition : Definition
        Its measures from sheets are looked for.

    Returns
    -------
    Columns

    Notes
    -----
    Capitals, spaces, hyphens and underscores make no difference, and a unit may follow in
    brackets: ``Pull force (lbf)`` is the measure ``pull_force``. Other columns are left alone,
    except those whose heading nearly is a measure that the table otherwise lacks.
    """
    wanted = {n: m for n, m in definition.measures.items() if isinstance(m, SheetMeasure)}
    headings = [" ".join(h.split()) for h in table.rows[0]] if table.rows else []
    found = Columns()
    if not any(headings):
        _add(found, table, "", "no headings", "", "put the headings in row 1")
        return found
    for name in (*_NEEDED, *_ALSO, *wanted):
        given = sheet.columns.get(name) if sheet else None
        places = _places(headings, name if given is None else given, exact=given is not None)
        if len(places) > 1:
            told = f"'{headings[places[0]]}' in {len(places)} columns"
            _add(found, table, name, told, "one", "rename or remove one of them")
        elif places:
            found.place[name] = places[0]
        elif given is not None:
            hint = "correct 'columns' of this sheet in diary.yaml"
            _add(found, table, name, f"no heading '{given}'", listed(filter(None, headings)), hint)
    found.measures = {n: m for n, m in wanted.items() if n in found.place}
    _tell_missing(found, table, headings, wanted)
    _tell_units(found, table, headings)
    _tell_photos(found, table, headings, definition)
    return found


def _add(
    found: Columns, table: Table, column: str, told: str, allowed: str = "", hint: str = ""
) -> None:
    found.problems.append(
        Problem(table.name, row=1, field=column, found=told, allowed=allowed, hint=hint)
    )


def _key(heading: str) -> str:
    return re.sub(r"[\s_-]+", "_", heading.strip().casefold()).strip("_")


def _bare(heading: str) -> str:
    """Cut a remark in brackets, such as a unit, off the end of a heading."""
    return re.sub(r"\s*[\[(][^\[\]()]*[\])]\s*$", "", heading)


def _places(headings: list[str], name: str, exact: bool) -> list[int]:
    if exact:
        wanted = " ".join(name.casefold().split())
        return [i for i, h in enumerate(headings) if " ".join(h.casefold().split()) == wanted]
    return [i for i, h in enumerate(headings) if _key(name) in (_key(h), _key(_bare(h)))]


def _tell_missing(
    found: Columns, table: Table, headings: list[str], wanted: dict[str, SheetMeasure]
) -> None:
    told = {problem.field for problem in found.problems}
    spare = [h for i, h in enumerate(headings) if h and i not in found.place.values()]
    needed = list(_NEEDED)
    if any(len(measure.raters) > 1 for measure in found.measures.values()):
        needed.append("rater")
    if any(measure.per_plot > 1 for measure in found.measures.values()):
        needed.append("sample")
    for name in needed:
        if name not in found.place and name not in told:
            near = _alike(name, spare, cutoff=0.6)
            hint = "put the headings in row 1 and call this one so, or name it in diary.yaml"
            hint = (
                f"if '{near}' is meant, call it '{name}', or name it in diary.yaml"
                if near
                else hint
            )
            shown = f"no such heading among {listed(spare)}" if spare else "no such heading"
            _add(found, table, name, shown, "", hint)
    if not found.measures and not told & set(wanted):
        shown = f"no measure among {listed(spare)}" if spare else "no measure"
        hint = "rename the column, name it in diary.yaml, or move the file out of sheets"
        _add(found, table, "", shown, listed(wanted) or "no sheet in this trial", hint)
    for name in wanted:
        heading = _alike(name, spare, cutoff=0.8)
        if name not in found.place and name not in told and heading and found.measures:
            hint = f"call it '{name}' if that is meant, or give it another name"
            _add(found, table, heading, f"a heading that is nearly '{name}'", "", hint)


def _alike(name: str, headings: list[str], cutoff: float) -> str:
    """Find the heading that is most like a name, or nothing."""
    keys = [_key(heading) for heading in headings]
    near = difflib.get_close_matches(_key(name), keys, 1, cutoff=cutoff)
    return headings[keys.index(near[0])] if near else ""


def _tell_units(found: Columns, table: Table, headings: list[str]) -> None:
    for name, measure in found.measures.items():
        heading = headings[found.place[name]]
        said = heading[len(_bare(heading)) :].strip().strip("[]()").strip()
        # A pull in pounds is headed (lb) as often as (lbf).
        if stands_for(said, measure.unit_written or ""):
            continue
        if said in UNITS and said != measure.unit_written:
            allowed = measure.unit_written or "a rating without unit"
            hint = "give the values in the unit of trial.yaml, or correct the heading"
            _add(found, table, name, f"values in {said}", allowed, hint)


def _tell_photos(found: Columns, table: Table, headings: list[str], definition: Definition) -> None:
    for name, measure in definition.measures.items():
        if measure.from_ == "photos" and _places(headings, name, exact=False):
            hint = "remove the column, or give it another name"
            _add(found, table, name, "values on a sheet", "values scored from photos", hint)
