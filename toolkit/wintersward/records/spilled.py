"""Values that a comma within them spread over two cells of a CSV file."""

from __future__ import annotations

import re
from collections.abc import Sequence

from wintersward.records.cells import is_number
from wintersward.records.heading_faults import cell
from wintersward.records.heading_names import key
from wintersward.records.headings import Columns

__all__ = ["in_two_cells", "over_the_end", "word_columns"]

# Headings of columns in which words are written.
_REMARKS = re.compile("remarks?|notes?|comments?|observations?|weather")
_Rows = Sequence[Sequence[str]]


def over_the_end(columns: Columns, cells: Sequence[str]) -> str:
    """Tell a row with more cells than headings.

    Parameters
    ----------
    columns : Columns
        What the headings mean.
    cells : sequence of str
        The row.

    Returns
    -------
    str
        What is found; empty where nothing is. A row may end in empty cells beyond the headings,
        unless two whole numbers stand side by side in it.
    """
    end = len(columns.headings)
    if len(cells) <= end:
        return ""
    over = [text for text in cells[end:] if text]
    if over:
        return f"'{over[-1]}' to the right of the last heading"
    read = {*columns.place.values(), *columns.measured}
    for spot in columns.measured:
        value, behind = cells[spot], cell(cells, spot + 1)
        if spot + 1 not in read and is_number(value) and re.fullmatch("[0-9]+", behind):
            return f"'{value}' and '{behind}' side by side with a cell too many"
    return ""


def word_columns(columns: Columns, rows: _Rows, body: Sequence[int]) -> dict[str, int]:
    """Find the columns of words to the right of a measure.

    Parameters
    ----------
    columns : Columns
        What the headings mean.
    rows : sequence of sequences of str
        All rows of the table.
    body : sequence of int
        Those below the headings, counted from 0.

    Returns
    -------
    dict of str to int
        From a measure to the column, counted from 0; one of numbers alone is a column of words
        where its heading says so.
    """
    read = {*columns.place.values(), *columns.measured}
    found = {}
    for name in columns.measures:
        spot = columns.place[name] + 1
        held = [text for at in body if (text := cell(rows[at], spot))]
        words = _REMARKS.fullmatch(key(cell(columns.headings, spot)))
        if spot not in read and held and (words or not all(map(is_number, held))):
            found[name] = spot
    return found


def in_two_cells(
    columns: Columns, words: dict[str, int], cells: Sequence[str]
) -> tuple[str, str, str, str] | None:
    """Tell a whole number with digits to its right, where words are written elsewhere.

    Parameters
    ----------
    columns : Columns
        What the headings mean.
    words : dict of str to int
        What `word_columns` found.
    cells : sequence of str
        The row.

    Returns
    -------
    tuple of str, or None
        The measure, what is found, what to do, and what is allowed.
    """
    for name, spot in words.items():
        value, behind = cell(cells, columns.place[name]), cell(cells, spot)
        if re.fullmatch("[0-9]+", value) and re.fullmatch("[0-9]{1,3}", behind):
            found = f"'{value}' and '{behind}' side by side"
            hint = f"write {value}.{behind} if that is meant, or put a word beside the {behind}"
            return name, found, hint, "a number in one cell"
    return None
