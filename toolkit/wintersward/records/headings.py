"""Which column of a hand-filled table is what."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from wintersward.errors import Problem, listed
from wintersward.records.cells import is_number, quoted
from wintersward.records.heading_faults import BESIDE, faults, tell_units
from wintersward.records.heading_names import KEYS, Names, bare, key
from wintersward.trial.schema import SheetMeasure

__all__ = ["Columns", "find_columns"]


# What a column holds that a table needs for its measures.
_HOLDS = {
    "sample": ", with the number of each reading within its plot",
    "rater": ", with the initials of who rated",
}


@dataclass
class Columns:
    """Where a table holds what.

    Parameters
    ----------
    row : int
        Row of the headings in the spreadsheet.
    headings : list of str
        As they stand there; an empty text where there is none. No entry where the row is no row
        of headings at all.
    place : dict of str to int
        From date, plot, rater, sample, repeat and the names of measures to the position of the
        column, counted from 0; what the table does not hold is absent.
    measures : dict of str to SheetMeasure
        The measures that the table holds.
    measured : list of int
        The columns under a measure's heading, those of a doubtful heading too.
    problems : list of Problem
        What keeps the table from being read.
    absent : dict of str to Problem
        Of the names to which the diary gives a heading, those that are not here.
    """

    row: int
    headings: list[str]
    place: dict[str, int] = field(default_factory=dict)
    measures: dict[str, SheetMeasure] = field(default_factory=dict)
    measured: list[int] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    absent: dict[str, Problem] = field(default_factory=dict)


def find_columns(name: str, rows: Sequence[Sequence[str]], at: int, names: Names) -> Columns:
    """Find the columns of a table by their headings.

    Parameters
    ----------
    name : str
        The table, in messages.
    rows : sequence of sequences of str
        All of its rows, without what nobody sees (`wintersward.records.cells.plain`).
    at : int
        The row of headings, counted from 0.
    names : Names
        What they may mean.

    Returns
    -------
    Columns

    Notes
    -----
    Columns without a meaning are left alone, except those whose heading nearly is a measure that
    the table otherwise lacks.
    """
    headings = list(rows[at]) if rows else []
    found = Columns(at + 1, headings)
    if not any(any(row) for row in rows):
        hint = "fill it in, or move the file out of sheets"
        found.headings = []
        found.problems.append(Problem(name, found="an empty table", hint=hint))
        return found
    places = names.places(headings)
    if not places and _is_data(headings):
        allowed = f"headings, among them date, plot and one of {listed(names.wanted)}"
        hint = "put the headings in row 1"
        found.headings = []
        found.problems.append(Problem(name, 0, 0, "", "no headings", allowed, hint, 1))
        return found
    if _in_one_cell(headings):
        allowed = "a cell for each heading"
        hint = "put commas, semicolons or tabs between the cells of every row"
        stands = f"{quoted(''.join(headings))} in one cell"
        found.problems.append(Problem(name, 0, 0, "", stands, allowed, hint, at + 1))
        return found
    found.measured = sorted({spot for one in names.wanted for spot in places.get(one, [])})
    found.place = {one: spots[0] for one, spots in places.items() if len(spots) == 1}
    found.measures = {n: m for n, m in names.wanted.items() if n in found.place}
    found.problems += faults(name, rows, at, names, places)
    shown = listed(heading for heading in headings if heading)
    for one, given in names.given.items():
        if one not in places:
            hint = "correct 'columns' of this sheet in diary.yaml"
            found.absent[one] = Problem(
                name, 0, 0, one, f"no heading '{given}'", shown, hint, found.row
            )
    if not any(problem.hint == BESIDE for problem in found.problems):
        told = {problem.field for problem in found.problems} | set(found.absent)
        _tell_missing(name, rows[:at], found, names, told)
        _tell_near(name, found, names, told)
        found.problems += tell_units(name, found.row, headings, found.place, found.measures)
    return found


def _is_data(headings: Sequence[str]) -> bool:
    """Tell a row of records, of nothing, or of a title alone from one of headings."""
    held = [heading for heading in headings if heading]
    if len(held) == 1 and not _in_one_cell(headings):
        return True
    numbers = sum(is_number(re.sub("[/.-]", "", heading)) for heading in held)
    return 2 * numbers >= len(held)


def _in_one_cell(headings: Sequence[str]) -> bool:
    """Tell headings with other signs between them than those that part cells."""
    held = [heading for heading in headings if heading]
    return len(held) == 1 and set(KEYS) <= set(re.split(r"[^\w]+", held[0].casefold()))


def _spare(found: Columns) -> list[str]:
    return [h for i, h in enumerate(found.headings) if h and i not in found.place.values()]


def _tell_missing(
    name: str, above: Sequence[Sequence[str]], found: Columns, names: Names, told: set[str]
) -> None:
    """Tell what the table lacks of date and plot, and of what its measures need."""
    spare = _spare(found)
    measures = [measure for one, measure in found.measures.items() if one not in told]
    needed = list(KEYS)
    needed += ["rater"] if any(len(measure.raters) > 1 for measure in measures) else []
    needed += ["sample"] if any(measure.per_plot > 1 for measure in measures) else []
    for one in needed:
        if one in found.place or one in told:
            continue
        near = _alike([one], spare, cutoff=0.6)
        stands = [n for n, row in enumerate(above, 1) if _alone(one, names.places(row))]
        hint = "put the headings in row 1 and call this one so, or name it in diary.yaml"
        if near:
            hint = f"if '{near}' is meant, call it '{one}', or name it in diary.yaml"
        elif stands:
            hint = f"give what stands in row {stands[-1]} a column of its own, in every row"
        elif not spare:
            hint = f"add the column{_HOLDS.get(one, '')}"
        elif found.row > 1:
            hint = "call the column so, or name it in diary.yaml"
        shown = f"no such heading among {listed(spare)}" if spare else "no such heading"
        found.problems.append(Problem(name, 0, 0, one, shown, "", hint, found.row))


def _alone(name: str, meant: Mapping[str, object]) -> bool:
    """Tell whether a row holds a name without being a row of headings."""
    return name in meant and not set(KEYS) <= set(meant)


def _tell_near(name: str, found: Columns, names: Names, told: set[str]) -> None:
    """Tell headings that nearly are a measure, and a table without any."""
    spare = _spare(found)
    none = not found.measures and not told & set(names.wanted)
    meant = []
    for one in names.wanted:
        heading = _alike(names.keys(one), spare, cutoff=0.8)
        if not heading or one in found.place or one in told:
            continue
        if none:
            meant.append(f"did you mean {one} by '{heading}'?")
            continue
        hint = f"call it '{one}' if that is meant, or give it another name"
        shown = f"a heading that is nearly '{one}'"
        found.problems.append(Problem(name, 0, 0, heading, shown, "", hint, found.row))
    if none:
        shown = f"no measure among {listed(spare)}" if spare else "no measure"
        hint = "rename the column, name it in diary.yaml, or move the file out of sheets"
        allowed = listed(names.wanted) or "no sheet in this trial"
        said = " ".join([*meant, hint])
        found.problems.append(Problem(name, 0, 0, "", shown, allowed, said, found.row))


def _alike(words: Sequence[str], headings: Sequence[str], cutoff: float) -> str:
    """Find the heading that is most like one of the words, or nothing."""
    keys = {key(bare(h)) or key(h): h for h in reversed(headings)}
    for word in words:
        near = difflib.get_close_matches(word, keys, 1, cutoff=cutoff)
        if near:
            return keys[near[0]]
    return ""
