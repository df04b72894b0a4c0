"""One tab or file that people filled in: every row read, told or counted, none passed over."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from wintersward.errors import Problem, listed
from wintersward.records.cells import is_number, plain, quoted, read_day
from wintersward.records.heading_faults import cell, column_letter
from wintersward.records.heading_names import KEYS, Names
from wintersward.records.sections import Section, cut
from wintersward.records.sheet_rows import Row, Second, Seen, Trial
from wintersward.records.spilled import in_two_cells, over_the_end, word_columns
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
# What puts many rows right at once, whatever stands in each.
_CURES = (
    "to this table in diary.yaml",
    "put between the cells what stands",
    "put a value that holds a comma",
)
# How many runs of rows a message lists.
_RUNS = 4
_SHORT = re.compile(r"[\w.]{1,3}[ :.=]*")


def cleaned(table: Table) -> Table:
    """Take out of every cell of a table what nobody sees.

    A formula without a result, which is told by itself, stays as an equals sign: its cell is not
    an empty one.
    """
    rows = [[plain(text) for text in row] if row else [] for row in table.rows]
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
    reader.wrong |= {problem.row for problem in whole.problems} | reader.unfit
    reader.counts["headings"] += sum(at + 1 not in reader.wrong for at in whole.above)
    for part in whole.parts:
        reader.read(part)
    return reader.sums(), [*_together(reader.problems), *_seconds(table.name, reader.seconds)]


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
        self.problems: list[Problem] = list(table.problems)
        self.counts: Counter[str] = Counter()
        self.wrong: set[int] = set()
        self.unread: dict[str, None] = {}
        self.unfit = {problem.row for problem in table.problems}
        self.seconds: list[tuple[int, Second]] = []

    def sums(self) -> TableSums:
        """Add up."""
        return TableSums(
            self.table.name,
            rows=sum(any(row) for row in self.rows),
            wrong=len(self.wrong),
            unread=(*self.unread, *self.table.beside),
            wrong_rows=frozenset(self.wrong),
            **self.counts,
        )

    def read(self, part: Section) -> None:
        """Read one part."""
        self.counts["headings"] += sum(at + 1 not in self.wrong for at in part.headings)
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
        # In a workbook no comma parts cells.
        words = {} if self.table.tab else word_columns(part.columns, self.rows, part.body)
        for at in part.body:
            self._row(part, at, at in unnamed, gaps, words)
        self._tell_gaps(gaps)

    def _refuse(self, part: Section) -> None:
        for at in part.body:
            self.wrong.add(at + 1)
            spots = part.columns.measured
            self.counts["values_wrong"] += sum(cell(self.rows[at], spot) != "" for spot in spots)

    def _row(
        self, part: Section, at: int, unnamed: bool, gaps: dict[str, _Gap], words: dict[str, int]
    ) -> None:
        number, cells = at + 1, self.rows[at]
        filled = {name: cell(cells, spot) for name, spot in part.columns.place.items()}
        values = {name: filled[name] for name in part.columns.measures}
        live = [name for name, text in values.items() if text.casefold() not in self.missing]
        marked = [name for name, text in values.items() if text and name not in live]
        surplus = "" if self.table.tab else over_the_end(part.columns, cells)
        noted = not any(values.values()) and not all(filled[one] for one in KEYS)
        became = dict.fromkeys(live, "wrong") | dict.fromkeys(marked, "missing")
        if surplus:
            self._tell(number, "", surplus, "put a value that holds a comma in quotes")
        elif unnamed or number in self.unfit:
            self.wrong.add(number)
        elif spilled := in_two_cells(part.columns, words, cells):
            self._tell(number, *spilled)
        elif not live and marked and self._misplaced(part, number, filled, marked):
            became = dict.fromkeys(marked, "wrong")
        elif not live and self._unseparated(part, number):
            pass
        elif not live or noted:
            self.counts["empty"] += 1
            self.counts["values_missing"] += len(marked)
            for name, gap in gaps.items():
                gap.last = number if self._stands(name, filled.get(name, "")) else gap.last
            return
        elif not self._sums_up(part, number, filled):
            became |= self._read(part, number, filled, live, gaps)
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

        row = self._checked(number, filled, gap)
        became = row.read(self.trial, {n: part.columns.measures[n] for n in live}, self.seen)
        self._keep(row)
        return became

    def _misplaced(
        self, part: Section, number: int, filled: dict[str, str], marked: list[str]
    ) -> bool:
        """Tell what is wrong in a row of marks alone, where it names date and plot."""
        if any(filled[name].casefold() in self.missing for name in KEYS):
            return False
        row = self._checked(number, filled, lambda _: False)
        row.mark(self.trial, {n: part.columns.measures[n] for n in marked}, self.seen)
        self._keep(row)
        return number in self.wrong

    def _checked(self, number: int, filled: dict[str, str], gap: Callable[[str], bool]) -> Row:
        stored = self.table.tab != ""
        return Row(self.table.name, number, filled, self.sheet, stored, gap)

    def _keep(self, row: Row) -> None:
        number = row.number
        self.problems += row.problems
        self.seconds += [(number, second) for second in row.seconds]
        self.wrong |= {number} if row.problems or row.seconds else set()

    def _unseparated(self, part: Section, number: int) -> bool:
        """Tell a record that stands in one cell, since other signs stand between its parts."""
        held = [text for text in self.rows[number - 1] if text]
        wanted = sum(heading != "" for heading in part.columns.headings)
        spot = part.columns.place["plot"]
        for sign in ";|, ":
            parts = held[0].split(sign)
            if len(parts) < wanted or self.trial.plot(cell(parts, spot).strip()) is None:
                continue
            hint = "put between the cells what stands between the headings"
            self._tell(
                number, "", f"{quoted(held[0])} in one cell", hint, "a cell for each heading"
            )
            return True
        return False

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


def _together(problems: Sequence[Problem]) -> list[Problem]:
    """Tell what is wrong in the same way in several rows once, at the first of them."""
    alike: dict[Problem, list[Problem]] = {}
    for problem in problems:
        once = any(cure in problem.hint for cure in _CURES)
        same = replace(problem, row=0, found="" if once else problem.found)
        alike.setdefault(same, []).append(problem)
    told = []
    for some in alike.values():
        like = ", and the like" if len({one.found for one in some}) > 1 else ""
        rows = _also([one.row for one in some])
        told.append(replace(some[0], found=f"{some[0].found}{like}{rows}"))
    return told


def _seconds(name: str, seconds: Sequence[tuple[int, Second]]) -> list[Problem]:
    """Tell second values once for all rows that repeat rows of the same table."""
    alike: dict[tuple[str, str, str], list[tuple[int, int]]] = {}
    for number, one in seconds:
        alike.setdefault((one.table, one.found, one.advice), []).append((number, one.row))
    told = []
    for (table, found, advice), pairs in alike.items():
        rows, firsts = [pair[0] for pair in pairs], sorted({pair[1] for pair in pairs})
        first = f"the first is in {table}, row {firsts[0]}"
        if len(firsts) > 1:
            first = f"the first are in {table}, {_spans(firsts)}"
        told.append(
            Problem(name, row=rows[0], found=found + _also(rows), hint=f"{first}; {advice}")
        )
    return told


def _also(rows: Sequence[int]) -> str:
    """Say in how many rows, and which, where it is more than one.

    Examples
    --------
    >>> _also([3]), _also([3, 4, 5, 9])
    ('', ' in 4 rows (3 to 5, 9)')
    """
    rows = sorted(set(rows))
    if len(rows) == 1:
        return ""
    return f" in {len(rows)} rows ({_spans(rows).removeprefix('rows ')})"


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
