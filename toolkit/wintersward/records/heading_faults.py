"""Headings that cannot be read as they stand: side by side, in two rows, one a reading."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from wintersward.errors import Problem, listed
from wintersward.records.heading_names import KEYS, Names, bare, key
from wintersward.trial.schema import SheetMeasure
from wintersward.units import UNITS, stands_for

__all__ = ["BESIDE", "cell", "column_letter", "faults", "neighbour", "tell_units"]

BESIDE = "put the second table below the first, or into a tab or file of its own"
_Rows = Sequence[Sequence[str]]


def column_letter(at: int) -> str:
    """Name a column as a spreadsheet does.

    Examples
    --------
    >>> column_letter(0), column_letter(25), column_letter(26)
    ('A', 'Z', 'AA')
    """
    letters = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def cell(row: Sequence[str], at: int) -> str:
    """Give a cell of a row, which may end before it."""
    return row[at] if at < len(row) else ""


def neighbour(rows: _Rows, at: int, step: int) -> tuple[int, Sequence[str]]:
    """Find the nearest row below (``step`` 1) or above (-1) in which anything stands."""
    at += step
    while 0 <= at < len(rows):
        if any(rows[at]):
            return at, rows[at]
        at += step
    return -1, []


def faults(
    name: str, rows: _Rows, at: int, names: Names, places: Mapping[str, list[int]]
) -> list[Problem]:
    """List what is wrong with a row of headings as a whole.

    Parameters
    ----------
    name : str
        The table, in messages.
    rows : sequence of sequences of str
        All of its rows.
    at : int
        The row of headings, counted from 0.
    names : Names
        What headings may mean.
    places : mapping of str to list of int
        The columns of each name.

    Returns
    -------
    list of Problem
        Empty where each name has one column at most and nothing is spread over several.
    """
    twice = [one for one, spots in places.items() if len(spots) > 1]
    if len(twice) > 1 and {"date", "plot"} & set(twice):
        shown = " and ".join(f"'{rows[at][places[one][0]]}'" for one in twice[:2])
        told = f"two tables side by side: {shown} stand there more than once"
        return [Problem(name, row=at + 1, found=told, allowed="one table", hint=BESIDE)]
    found = [_twice(name, rows, at, names, one, places[one]) for one in twice]
    found += _unclear(name, rows, at, names)
    found += _numbered(name, rows, at, names)
    found += _over_several(name, rows, at, names, places)
    found += _above(name, rows, at, names, places)
    found += _elsewhere(name, rows, at, names)
    return found


def _one_a_row(measure: SheetMeasure | None, words: Sequence[str]) -> str:
    """Say how several readings of a plot are written."""
    raters = {rater.casefold() for rater in measure.raters} if measure else set()
    if words and all(word.casefold() in raters for word in words):
        return "write one row a rater, with the initials in a column rater"
    return "write one row a reading, with its number in a column sample"


def _twice(
    name: str, rows: _Rows, at: int, names: Names, one: str, spots: Sequence[int]
) -> Problem:
    headings = {key(bare(rows[at][spot])): rows[at][spot] for spot in reversed(spots)}
    shown = " and ".join(f"'{heading}'" for heading in reversed(headings.values()))
    hint = "rename or remove one of them"
    measure = names.wanted.get(one)
    if measure and len(headings) == 1 and (measure.per_plot > 1 or len(measure.raters) > 1):
        words = measure.raters[:1] if measure.per_plot == 1 else []
        hint += f"; where several belong to one plot, {_one_a_row(measure, words)}"
    told = f"{shown} in {len(spots)} columns"
    return Problem(name, 0, 0, one, told, "one", hint, at + 1)


def _unclear(name: str, rows: _Rows, at: int, names: Names) -> list[Problem]:
    """Tell a heading that is meant by several names."""
    found = []
    for heading in dict.fromkeys(filter(None, rows[at])):
        meant = names.meant(heading)
        if len(meant) > 1:
            told = f"a heading that stands for {' and '.join(meant)}"
            hint = "call the column by the name that is meant, or name it in diary.yaml"
            found.append(Problem(name, 0, 0, heading, told, "one of them", hint, at + 1))
    return found


def _numbered(name: str, rows: _Rows, at: int, names: Names) -> list[Problem]:
    """Tell a measure that has a column for each reading or each rater."""
    found = []
    spare = [h for h in rows[at] if h and not names.meant(h)]
    for one, measure in names.wanted.items():
        raters = [re.escape(key(rater)) for rater in measure.raters]
        said = "|".join(re.escape(word) for word in names.keys(one))
        ending = re.compile(
            f"(?:{said})_?((?:[a-z]{{1,7}}[.]?_?)?#?[0-9]{{1,3}}|{'|'.join(raters)})"
        )
        hits = {h: m[1] for h in spare if (m := ending.fullmatch(key(bare(h)))) and m[1]}
        if hits:
            told = listed(f"'{heading}'" for heading in hits)
            hint = _one_a_row(measure, list(hits.values()))
            found.append(Problem(name, 0, 0, one, told, "one column a measure", hint, at + 1))
    return found


def _over_several(
    name: str, rows: _Rows, at: int, names: Names, places: Mapping[str, list[int]]
) -> list[Problem]:
    """Tell a measure's heading over several columns that have headings of their own below."""
    below, headings = neighbour(rows, at, 1)[1], rows[at]
    if any(cell(below, spot) for one in KEYS for spot in places.get(one, [])):
        return []
    found = []
    for one, measure in names.wanted.items():
        for spot in places.get(one, []):
            last = spot + 1
            while cell(below, last) and not cell(headings, last):
                last += 1
            words = [word for word in below[spot:last] if word]
            if last > spot + 1:
                span = f"{column_letter(spot)} to {column_letter(last - 1)}"
                told = f"'{headings[spot]}' over the columns {span}, with {listed(words)} below"
                hint = _one_a_row(measure, words)
                allowed = "headings in one row"
                found.append(Problem(name, 0, 0, one, told, allowed, hint, at + 1))
    return found


def _above(
    name: str, rows: _Rows, at: int, names: Names, places: Mapping[str, list[int]]
) -> list[Problem]:
    """Tell a measure's heading in the row above the others."""
    above, cells = neighbour(rows, at, -1)
    _, below = neighbour(rows, at, 1)
    known = {spot for spots in places.values() for spot in spots}
    found = []
    for spot, heading in enumerate(cells):
        meant = [one for one in names.meant(heading) if one in names.wanted] if heading else []
        # A title may be a measure's name as well; then nothing stands below it.
        if not meant or spot in known or not cell(below, spot):
            continue
        words = [cell(rows[at], spot)]
        while cell(below, spot + len(words)) and not cell(cells, spot + len(words)):
            words.append(cell(rows[at], spot + len(words)))
        told = f"'{heading}' in row {above + 1}, above the other headings"
        hint = _one_a_row(names.wanted[meant[0]], [word for word in words if word])
        allowed = "headings in one row"
        found.append(Problem(name, 0, 0, meant[0], told, allowed, hint, at + 1))
    return found


def _elsewhere(name: str, rows: _Rows, at: int, names: Names) -> list[Problem]:
    """Tell a measure that is scored from photos, or read from loggers."""
    held = {one for heading in rows[at] for one in (key(heading), key(bare(heading)))}
    hint = "remove the column, or give it another name"
    return [
        Problem(name, 0, 0, one, "values on a sheet", f"values {come}", hint, at + 1)
        for one, come in names.elsewhere.items()
        if key(one) in held
    ]


def tell_units(
    name: str,
    row: int,
    headings: Sequence[str],
    place: Mapping[str, int],
    measures: Mapping[str, SheetMeasure],
) -> list[Problem]:
    """List the headings whose unit, in brackets, is not that of the measure.

    Parameters
    ----------
    name : str
        The table, in messages.
    row : int
        Row of the headings in the spreadsheet.
    headings : sequence of str
        As they stand there.
    place : mapping of str to int
        The column of each measure.
    measures : mapping of str to SheetMeasure
        The measures of the table.
    """
    found = []
    for one, measure in measures.items():
        heading = headings[place[one]]
        said = heading[len(bare(heading)) :].strip().strip("[]()").strip()
        written = measure.unit_written or ""
        # A pull in pounds is headed (lb) as often as (lbf).
        if said == written or stands_for(said, written):
            continue
        meant = said if said in UNITS else next((u for u in UNITS if stands_for(said, u)), "")
        if meant and meant != written:
            allowed = measure.unit_written or "a rating without unit"
            hint = "give the values in the unit of trial.yaml, or correct the heading"
            found.append(Problem(name, 0, 0, one, f"values in {said}", allowed, hint, row))
    return found
