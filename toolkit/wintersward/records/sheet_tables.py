"""One tab or file that people filled in: every row read, told or counted, none passed over."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from wintersward.errors import Problem, listed
from wintersward.records.cells import is_number, plain, quoted, read_day
from wintersward.records.heading_faults import cell, column_letter
from wintersward.records.heading_names import KEYS, Names
from wintersward.records.sections import Section, cut
from wintersward.records.sheet_rows import Row, Seen, Trial
from wintersward.records.sums import TableSums
from wintersward.records.tables import Table
from wintersward.trial.schema import MISSING, Sheet

__all__ = ["cleaned", "read_table"]

# Words of a row that sums up others; the short ones only where nothing else stands in the cell.
_SUMS = re.compile(
    r"(?:(?:grand|overall|plot|block|over-?all) )?(?:"
    r"(?:means?|averages?|avg|totals?|sums?|subtotals?|medians?|standard (?:deviation|error))\b.*"
    r"|(?:min|minimum|max|maximum|range|count|n|s\.?d\.?|s\.?e\.?m?\.?|st\.? ?dev\.?|cv)[ :.=]*)"
)
# How many runs of rows a message lists.
_RUNS = 4
_SHORT = re.compile(r"[\w.]{1,3}[ :.=]*")


def cleaned(table: Table) -> Table:
    """Take out of every cell of a table what nobody sees.

    A formula without a result, which is told when the file is read, stays as an equals sign: its
    cell is not an empty one.
    """
    rows = [[plain(text) for text in row] for row in table.rows]
    for number, at in table.unsolved:
        rows[number - 1][at] = rows[number - 1][at] or "="
    return replace(table, rows=rows)


def read_table(
    table: Table, sheet: Sheet | None, names: Names, trial: Trial, seen: Seen
) -> tuple[TableSums, list[Problem]]:
    """Read a table.

    Parameters
    ----------
    table : Table
        As it stands in the file, but `cleaned`.
    sheet : Sheet or None
        How the diary says that it is read.
    names : Names
        What its headings may mean.
    trial : Trial
        What its rows are checked against.
    seen : Seen
        Observations are added to it.

    Returns
    -------
    sums : TableSums
        What became of its rows and values.
    problems : list of Problem
        What is wrong in it.
    """
    whole = cut(table.name, table.rows, names, lambda text: trial.plot(text) is not None)
    reader = _Reader(table, sheet, trial, seen)
    reader.problems += whole.problems
    reader.wrong |= {problem.row for problem in whole.problems}
    reader.counts["headings"] += sum(at + 1 not in reader.wrong for at in whole.above)
    for part in whole.parts:
        reader.read(part)
    return reader.sums(), reader.problems


@dataclass
class _Gap:
    """Rows in which a column is empty though something stands in it above."""

    last: int = 0
    first: int = 0
    rows: list[int] = field(default_factory=list)


class _Reader:
    """Reads the parts of a table, and counts what became of its rows and values."""

    def __init__(self, table: Table, sheet: Sheet | None, trial: Trial, seen: Seen) -> None:
        self.table = table
        self.rows = table.rows
        self.sheet = sheet
        self.trial = trial
        self.seen = seen
        codes = sheet.missing if sheet else MISSING
        self.missing = {plain(code).casefold() for code in codes}
        self.problems: list[Problem] = []
        self.counts: Counter[str] = Counter()
        self.wrong: set[int] = set()
        self.unread: dict[str, None] = {}
        self.unsolved = {number for number, _ in table.unsolved}

    def sums(self) -> TableSums:
        """Add up."""
        return TableSums(
            self.table.name,
            rows=sum(any(row) for row in self.rows),
            wrong=len(self.wrong),
            unread=tuple(self.unread),
            wrong_rows=frozenset(self.wrong),
            **self.counts,
        )

    def read(self, part: Section) -> None:
        """Read one part."""
        self.counts["headings"] += part.headings
        self.problems += part.columns.problems
        self._note_unread(part)
        spots = part.columns.measured
        self.counts["values"] += sum(
            cell(self.rows[at], i) != "" for at in part.body for i in spots
        )
        if part.columns.problems:
            self._refuse(part)
            return
        unnamed = self._unnamed(part)
        gaps = {name: _Gap() for name in (*KEYS, "rater")}
        for at in part.body:
            self._row(part, at, at in unnamed, gaps)
        self._tell_gaps(gaps)

    def _refuse(self, part: Section) -> None:
        for at in part.body:
            self.wrong.add(at + 1)
            spots = part.columns.measured
            self.counts["values_wrong"] += sum(cell(self.rows[at], spot) != "" for spot in spots)

    def _row(self, part: Section, at: int, unnamed: bool, gaps: dict[str, _Gap]) -> None:
        number, cells = at + 1, self.rows[at]
        filled = {name: cell(cells, spot) for name, spot in part.columns.place.items()}
        values = {name: filled[name] for name in part.columns.measures}
        live = [name for name, text in values.items() if text.casefold() not in self.missing]
        marked = [name for name, text in values.items() if text and name not in live]
        self.counts["values_missing"] += len(marked)
        surplus = [text for text in cells[len(part.columns.headings) :] if text]
        noted = not any(values.values()) and not all(filled[one] for one in KEYS)
        became = dict.fromkeys(live, "wrong")
        if surplus and self.table.tab == "":
            hint = "put a value that holds a comma in quotes"
            self._tell(number, "", f"'{surplus[-1]}' to the right of the last heading", hint)
        elif unnamed or number in self.unsolved:
            self.wrong.add(number)
        elif not live or noted:
            self.counts["empty"] += 1
            for name, gap in gaps.items():
                gap.last = number if self._stands(name, filled.get(name, "")) else gap.last
            return
        elif not self._sums_up(part, number, filled):
            became = self._read(part, number, filled, live, gaps)
        for name, end in became.items():
            self.counts[f"values_{end}"] += values[name] != ""
        self.counts["used"] += number not in self.wrong
        for name, gap in gaps.items():
            gap.last = number if filled.get(name) else gap.last

    def _stands(self, name: str, text: str) -> bool:
        """Tell whether a row without values names a date, plot or rater for those below."""
        if name == "plot":
            return self.trial.plot(text) is not None
        if name == "rater":
            return text.casefold() in (person.casefold() for person in self.trial.people)
        try:
            return bool(read_day(text, self.sheet.date_order if self.sheet else None))
        except ValueError:
            return False

    def _read(
        self,
        part: Section,
        number: int,
        filled: dict[str, str],
        live: list[str],
        gaps: dict[str, _Gap],
    ) -> dict[str, str]:
        def gap(name: str) -> bool:
            kept = gaps[name]
            if kept.last and number not in kept.rows:
                kept.first = kept.first or kept.last
                kept.rows.append(number)
                self.wrong.add(number)
            return kept.last > 0

        stored = self.table.tab != ""
        row = Row(self.table.name, number, filled, self.sheet, stored, gap)
        became = row.read(self.trial, {n: part.columns.measures[n] for n in live}, self.seen)
        self.problems += row.problems
        self.wrong |= {number} if row.problems else set()
        return became

    def _tell(self, number: int, column: str, found: str, hint: str, allowed: str = "") -> None:
        self.problems.append(Problem(self.table.name, 0, 0, column, found, allowed, hint, number))
        self.wrong.add(number)

    def _sums_up(self, part: Section, number: int, filled: dict[str, str]) -> bool:
        """Tell a row of means or sums, which has no plot and date of its own."""
        hint = "a row that sums up others does not belong in the sheet: remove it"
        for name in reversed(KEYS):
            text = filled[name].casefold()
            if _SUMS.fullmatch(text) and self.trial.plot(filled[name]) is None:
                self._tell(number, name, f"{quoted(filled[name])} beside values", hint)
                return True
        if filled["date"] or filled["plot"]:
            return False
        read = {part.columns.place[name] for name in part.columns.measures}
        for spot, text in enumerate(self.rows[number - 1]):
            said = text.casefold()
            if spot not in read and _SUMS.fullmatch(said) and not _SHORT.fullmatch(said):
                column = cell(part.columns.headings, spot) or column_letter(spot)
                self._tell(number, column, f"{quoted(text)} beside values", hint)
                return True
        if filled.get("sample") or filled.get("rater"):
            return False
        hint = "write date and plot, or remove the row if it sums up others"
        first = next(filled[name] for name in part.columns.measures if filled[name])
        self._tell(number, "", f"{quoted(first)} without date and plot", hint)
        return True

    def _tell_gaps(self, gaps: dict[str, _Gap]) -> None:
        for name, gap in gaps.items():
            if gap.rows:
                found = "nothing" if len(gap.rows) == 1 else f"nothing in {_spans(gap.rows)}"
                allowed = f"a {name} in every row with a value"
                hint = f"where the {name} of row {gap.first} is meant for more rows, fill it down"
                self._tell(gap.rows[0], name, found, hint, allowed)

    def _unnamed(self, part: Section) -> set[int]:
        """Tell numbers in columns without a heading; give their rows, counted from 0."""
        columns = part.columns
        first = min(at for at, heading in enumerate(columns.headings) if heading)
        width = max((len(self.rows[at]) for at in part.body), default=0)
        if self.table.tab == "":
            width = min(width, len(columns.headings))
        rows, told = set(), []
        for spot in range(width):
            hits = [at for at in part.body if is_number(cell(self.rows[at], spot))]
            if not hits or cell(columns.headings, spot):
                continue
            if spot < first and _counts([self.rows[at][spot] for at in hits]):
                continue
            rows |= set(hits)
            letter = column_letter(spot)
            last = f" to {letter}{hits[-1] + 1}" if len(hits) > 1 else ""
            told.append(f"{letter}{hits[0] + 1}{last}")
        if told:
            hint = "give the column a heading; of several readings in a plot, write one row a"
            hint += " reading, with its number in a column sample"
            found = f"numbers without a heading in {listed(told)}"
            self._tell(min(rows) + 1, "", found, hint)
        return rows

    def _note_unread(self, part: Section) -> None:
        read = set(part.columns.place.values()) | set(part.columns.measured)
        width = max((len(self.rows[at]) for at in part.body), default=0)
        for spot in range(width):
            if spot not in read and any(cell(self.rows[at], spot) for at in part.body):
                heading = cell(part.columns.headings, spot) or f"column {column_letter(spot)}"
                self.unread[heading] = None


def _counts(texts: Sequence[str]) -> bool:
    """Tell numbers that only count the rows, as programs for statistics write them."""
    start = int(texts[0] == "1")
    return list(texts) == [str(number) for number in range(start, start + len(texts))]


def _spans(rows: Sequence[int]) -> str:
    """Say which rows, those that follow one another together.

    Examples
    --------
    >>> _spans([3, 4, 5, 9])
    'rows 3 to 5, 9'
    """
    runs: list[list[int]] = []
    for row in rows:
        if runs and runs[-1][1] == row - 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    told = [f"{low} to {high}" if high > low else str(low) for low, high in runs[:_RUNS]]
    return f"rows {listed(told)}" + (" ..." if len(runs) > _RUNS else "")
