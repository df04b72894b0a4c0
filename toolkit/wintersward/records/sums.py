"""What became of every row and every value of the tables that people filled in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import pandas as pd

from wintersward.errors import Problem, listed
from wintersward.records.observations import REPEAT

__all__ = ["SUM_COLUMNS", "SheetsRead", "TableSums", "settled", "sums_table"]

_ROWS = {
    "headings": "of headings",
    "used": "used",
    "excluded": "excluded",
    "empty": "without values",
    "wrong": "wrong",
}
_VALUES = {
    "values_used": "used",
    "values_excluded": "excluded",
    "values_repeated": "of second looks",
    "values_missing": "marked missing",
    "values_wrong": "wrong",
}
SUM_COLUMNS = ("file", "rows", *_ROWS, "values", *_VALUES, "unread")


@dataclass(frozen=True)
class TableSums:
    """How many rows and values a table holds, and what became of them.

    Parameters
    ----------
    name : str
        File, and tab where a workbook has several.
    rows : int
        Rows in which anything stands: ``headings + used + excluded + empty + wrong``.
    headings : int
        Rows of headings, and those above the first one, such as a title.
    used : int
        Rows with a value, without fault, and not all of them excluded.
    excluded : int
        Rows without fault all of whose values the diary excludes.
    empty : int
        Rows without any value of a measure.
    wrong : int
        Rows with at least one problem; of a table that is refused, all but its headings.
    values : int
        Cells under a measure's heading in which anything stands: ``values_used +
        values_excluded + values_repeated + values_missing + values_wrong``.
    values_used, values_excluded : int
        First looks that are observations; those that the diary excludes.
    values_repeated : int
        Second looks, excluded or not: they are counted and never averaged.
    values_missing : int
        Marks that stand for a value that could not be taken.
    values_wrong : int
        Values that became no observation.
    unread : tuple of str
        Headings of columns in which something stands that is not read.
    wrong_rows : frozenset of int
        The rows that are wrong, as the spreadsheet numbers them.
    """

    name: str
    rows: int = 0
    headings: int = 0
    used: int = 0
    excluded: int = 0
    empty: int = 0
    wrong: int = 0
    values: int = 0
    values_used: int = 0
    values_excluded: int = 0
    values_repeated: int = 0
    values_missing: int = 0
    values_wrong: int = 0
    unread: tuple[str, ...] = ()
    wrong_rows: frozenset[int] = frozenset()

    def words(self) -> str:
        """Say the sums in one line.

        Examples
        --------
        >>> print(TableSums("sheets/a.csv", 4, 1, 2, empty=1, values=3, values_used=2,
        ...       values_missing=1, unread=("remarks",)).words())
        sheets/a.csv: 4 rows = 1 of headings + 2 used + 1 without values; 3 values = 2 used + 1 marked missing; not read: remarks
        """  # noqa: E501
        said = [_parts(self, "row", self.rows, _ROWS), _parts(self, "value", self.values, _VALUES)]
        if self.unread:
            said.append(f"not read: {listed(self.unread)}")
        return f"{self.name}: {'; '.join(said)}"


def _parts(sums: TableSums, thing: str, total: int, words: dict[str, str]) -> str:
    if total == 0:
        return f"no {thing}s"
    held = {word: getattr(sums, name) for name, word in words.items()}
    told = " + ".join(f"{count} {word}" for word, count in held.items() if count)
    return f"{total} {thing if total == 1 else f'{thing}s'} = {told}"


@dataclass(frozen=True)
class SheetsRead:
    """What the sheets of a study hold.

    Parameters
    ----------
    observations : DataFrame
        Columns of `wintersward.records.COLUMNS`; values in the SI unit of their measure,
        ratings as they are; ``source`` is the file and the row in the spreadsheet; sorted
        by measure, date, plot, rater, sample. A value that is marked as missing makes no row.
        A rater's second look (column ``repeat``) has the flag `wintersward.records.REPEAT`.
    problems : list of Problem
        Everything that is wrong, sorted by place; values without fault are observations all
        the same.
    sums : list of TableSums
        One a table, read or refused, in the order of files and tabs; nothing excluded yet.
    """

    observations: pd.DataFrame
    problems: list[Problem] = field(default_factory=list)
    sums: list[TableSums] = field(default_factory=list)


def settled(sums: Sequence[TableSums], observations: pd.DataFrame) -> list[TableSums]:
    """Count what the diary excludes.

    Parameters
    ----------
    sums : sequence of TableSums
        As the reading of the sheets gives them.
    observations : DataFrame
        Columns of `wintersward.records.COLUMNS`, with the reasons of exclusions filled in; those
        from other sources than tables make no difference.

    Returns
    -------
    list of TableSums
        The same tables in the same order: rows and values that are excluded are moved from used
        to excluded. A row counts as excluded when all of its values are.
    """
    places = [str(source).rpartition(":") for source in observations["source"]]
    seen = pd.DataFrame(
        {
            "table": [place[0] for place in places],
            "row": [place[2] for place in places],
            "out": [bool(reason) for reason in observations["excluded"]],
            "first": [REPEAT not in str(flags).split("; ") for flags in observations["flags"]],
        }
    )
    by_table = dict(iter(seen.groupby("table")))
    return [_moved(one, by_table[one.name]) if one.name in by_table else one for one in sums]


def _moved(sums: TableSums, seen: pd.DataFrame) -> TableSums:
    whole = seen.groupby("row")["out"].all()
    rows = sum(out and int(str(row)) not in sums.wrong_rows for row, out in whole.items())
    values = int((seen["out"] & seen["first"]).sum())
    return replace(
        sums,
        used=sums.used + sums.excluded - rows,
        excluded=rows,
        values_used=sums.values_used + sums.values_excluded - values,
        values_excluded=values,
    )


def sums_table(sums: Sequence[TableSums]) -> pd.DataFrame:
    """Put sums into a table.

    Parameters
    ----------
    sums : sequence of TableSums
        One a table that people filled in.

    Returns
    -------
    DataFrame
        Columns `SUM_COLUMNS`: file and unread (headings joined by a comma) as text, counts as
        integers; one row a table, in the order given.
    """
    rows = [
        (one.name, *(getattr(one, name) for name in SUM_COLUMNS[1:-1]), listed(one.unread))
        for one in sums
    ]
    frame = pd.DataFrame(rows, columns=list(SUM_COLUMNS))
    types = {name: "int64" for name in SUM_COLUMNS[1:-1]}
    return frame.astype({**types, "file": str, "unread": str})
