"""Sheets of the visits: what is due from each rater, in walking order, without treatments."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from wintersward.papers.looks import looks
from wintersward.papers.pages import short_id
from wintersward.papers.scales import remarks, rule, scale_words, scales
from wintersward.papers.workbooks import Check, Column, Form, workbook
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import SheetMeasure

__all__ = ["VisitSheet", "visit_books", "visit_sheets"]

_TAB = "Sheet"


@dataclass(frozen=True)
class VisitSheet:
    """What one rater fills in on one day.

    Parameters
    ----------
    day : date
        Day of the visit.
    rater : str
        Initials; empty for measures that anyone may take.
    measures : dict of str to SheetMeasure
        What is due, in the definition's order.
    rows : DataFrame
        As `wintersward.papers.looks.looks` gives them.
    second : bool
        Whether it holds the second looks; then it holds nothing else.
    """

    day: dt.date
    rater: str
    measures: dict[str, SheetMeasure]
    rows: pd.DataFrame
    second: bool = False

    @property
    def name(self) -> str:
        """Name of its files, without the ending."""
        return f"{self.day}_{re.sub('[^A-Za-z0-9]', '-', self.rater) or 'readings'}"

    @property
    def ending(self) -> str:
        """End of the name of its files: tells the second round from the first."""
        return "_second_round" if self.second else ""


def visit_sheets(definition: Definition, plots: pd.DataFrame) -> list[VisitSheet]:
    """List the sheets that a trial needs.

    Parameters
    ----------
    definition : Definition
        Its measures from sheets.
    plots : DataFrame
        ``plan/plots.csv``.

    Returns
    -------
    list of VisitSheet
        By day; on a day one for each rater and, last, one for measures without raters, each
        followed by that of the second round, where any plot is looked at twice. A rater's sheet
        holds nothing of another rater.
    """
    found: list[VisitSheet] = []
    for day, due in _days(definition).items():
        raters = dict.fromkeys(rater for m in due.values() for rater in m.raters)
        for rater in [*raters, ""]:
            own = {n: m for n, m in due.items() if (rater in m.raters if rater else not m.raters)}
            if own:
                found += _rounds(day, rater, own, looks(definition, plots, day, rater, own))
    return found


def _rounds(
    day: dt.date, rater: str, own: dict[str, SheetMeasure], rows: pd.DataFrame
) -> Iterator[VisitSheet]:
    """Part the second looks from the first, so that nobody has the first marks beside them."""
    for second in (False, True):
        held = rows[rows["repeat"] == second].reset_index(drop=True)
        due = {name: measure for name, measure in own.items() if held[name].any()}
        if due:
            yield VisitSheet(day, rater, due, held, second)


def _days(definition: Definition) -> dict[dt.date, dict[str, SheetMeasure]]:
    due: dict[dt.date, dict[str, SheetMeasure]] = {}
    for name, measure in definition.measures.items():
        if isinstance(measure, SheetMeasure):
            for day in dates_meant(definition.dates, measure.dates):
                due.setdefault(day, {})[name] = measure
    return dict(sorted(due.items()))


def visit_books(definition: Definition, plots: pd.DataFrame, paper: str) -> dict[str, bytes]:
    """Make every sheet of every visit, as a workbook and as CSV.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.
    paper : str
        ``letter`` or ``a4``.

    Returns
    -------
    dict of str to bytes
        From file name to content: ``2026-03-24_te.xlsx`` and ``2026-03-24_te.csv``, and
        ``2026-03-24_te_second_round.xlsx`` to be handed out after the first is given in. Filled
        in and put into ``sheets`` they are read as they are.

    Notes
    -----
    Neither file names a treatment or a whole plot, in whatever part of it: raters rate what they
    see. The column ``repeat`` tells the reading of the file which row is a second look. It
    stands last, small and grey, and is not printed.
    """
    made: dict[str, bytes] = {}
    taken: dict[str, int] = {}
    for sheet in visit_sheets(definition, plots):
        # Initials may differ by capitals alone, file names on many computers may not.
        key = f"{sheet.name}{sheet.ending}".casefold()
        count = taken[key] = taken.get(key, 0) + 1
        name = (sheet.name if count == 1 else f"{sheet.name}_{count}") + sheet.ending
        told, places = remarks(definition, sheet.measures, sheet.second)
        columns = list(_columns(definition, sheet, places))
        made[f"{name}.xlsx"] = workbook(_form(definition, sheet, columns, told, paper))
        made[f"{name}.csv"] = _csv(columns)
    return made


def _columns(definition: Definition, sheet: VisitSheet, places: dict[str, str]) -> Iterator[Column]:
    rows = sheet.rows
    none, every = [False] * len(rows), [True] * len(rows)
    yield Column("date", [sheet.day] * len(rows), none, 12)
    yield Column("plot", [_number(plot) for plot in rows["plot"]], none, 8)
    if "ground" in rows:
        names = definition.layout.grounds or {}
        yield Column("ground", [names.get(one, one) for one in rows["ground"]], none, 18)
    if sheet.rater:
        yield Column("rater", [sheet.rater] * len(rows), none, 7)
    else:
        yield Column("rater", [None] * len(rows), every, 7, _takers(definition))
    yield Column("sample", list(rows["sample"]), none, 9)
    for name, measure in sheet.measures.items():
        heading = name.replace("_", " ")
        heading += f" ({measure.unit_written})" if measure.unit_written else ""
        check = rule(name, measure, places.get(name, ""))
        yield Column(heading, [None] * len(rows), list(rows[name]), 14, check)
    yield Column("repeat", [1 if one else None for one in rows["repeat"]], none, 6, aside=True)


def _takers(definition: Definition) -> Check | None:
    """Let one of the people be chosen; not where a list of them cannot be written in a cell."""
    initials = [person.initials for person in definition.people]
    listed = ",".join(initials)
    told = f"Initials of who takes the reading: {', '.join(initials)}"
    plain = all(one.isalnum() for one in initials) and len(listed) < 250
    return Check("Rater", told, told, f'"{listed}"') if plain else None


def _number(plot: str) -> int | str:
    """Give a plot that is called by a number as one, so that no program remarks upon it."""
    return int(plot) if re.fullmatch("[1-9][0-9]{0,8}", plot) else plot


def _form(
    definition: Definition,
    sheet: VisitSheet,
    columns: list[Column],
    told: list[tuple[Any, Any]],
    paper: str,
) -> Form:
    people = {person.initials: person.name for person in definition.people}
    who = f"{sheet.rater} {people.get(sheet.rater, '')}".strip() if sheet.rater else "________"
    said = "; ".join(scale_words(name, measure) for name, measure in scales(sheet.measures))
    # Each ground begins a page.
    grounds = list(sheet.rows["ground"]) if "ground" in sheet.rows else []
    breaks = [at + 2 for at in range(1, len(grounds)) if grounds[at] != grounds[at - 1]]
    visit = f"Second round {sheet.day}" if sheet.second else f"Visit of {sheet.day}"
    return Form(
        tab=_TAB,
        columns=columns,
        still=[column.heading for column in columns].index("sample") + 1,
        head=(
            f"{visit}, study {short_id(definition)}" if not sheet.second else visit,
            f"Rater: {who}",
            "Fill in every row, in this order"
            if not sheet.second
            else f"Study {short_id(definition)}, every row",
        ),
        foot=said or "A value that could not be taken: leave it empty",
        remarks=told,
        break_before=breaks,
        paper=paper,
        day=sheet.day,
        title=f"{visit}, {sheet.rater or 'readings'}",
    )


def _csv(columns: list[Column]) -> bytes:
    """Write the form as CSV (RFC 4180), marked as UTF-8 for programs that would guess."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow([column.heading for column in columns])
    values = [["" if v is None else str(v) for v in column.values] for column in columns]
    writer.writerows(zip(*values, strict=True))
    return stream.getvalue().encode("utf-8-sig")
