"""What came in from the field and what became of it, as a report tells it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.report.flagging import flagged_words, flags_table, looked_table
from wintersward.report.numbers import counted, listed_words
from wintersward.report.said import Sentence, number, value_at
from wintersward.report.tables import Cell, Head, Row, html_table

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["came_words", "photos_words", "records_context", "sums_table", "unread_words"]

_NAME = "sheet_sums"
# Columns of the table in sentences; what is nowhere is not told.
_ROWS = {
    "used": "used",
    "excluded": "set aside in the diary",
    "empty": "without a value",
    "headings": "with headings or above them",
    "wrong": "wrong",
}
_VALUES = {
    "values_used": "used",
    "values_excluded": "set aside in the diary",
    "values_repeated": "from second looks",
    "values_missing": "marked as missing",
    "values_wrong": "in wrong rows",
}
# The same as heads: the column of rows below it, and that of values.
_HEADS = {
    "came in": ("rows", "values"),
    "used": ("used", "values_used"),
    "set aside": ("excluded", "values_excluded"),
    "second looks": ("", "values_repeated"),
    "marked missing": ("", "values_missing"),
    "without a value": ("empty", ""),
    "headings": ("headings", ""),
    "wrong": ("wrong", "values_wrong"),
}
_TAB = re.compile(r"^(?P<file>.*)\[(?P<tab>.*)\]$")


def records_context(page: Page) -> dict[str, Any]:
    """Gather what the section about the records is filled with.

    Parameters
    ----------
    page : Page
        Its tables of sheets, observations, photos and flags.

    Returns
    -------
    dict
        Tables and sentences; each empty where there is nothing to tell.
    """
    sums, flags, observed = map(page.table, (_NAME, "flags", "observations"))
    return {
        # A run of an older version tells nothing of its records.
        "told": _NAME in page.tables,
        "came": came_words(sums),
        "sums": sums_table(sums),
        "unread": unread_words(sums),
        "photos": photos_words(page.table("photo_scores"), observed),
        "flagged": flagged_words(flags),
        "looked": looked_table(flags, observed, page.definition),
        "flags": flags_table(flags, observed, page.definition, values=not page.waiting),
        "hidden": page.waiting and not flags.empty,
    }


def came_words(sums: pd.DataFrame) -> list[Sentence]:
    """Say how many rows and values came in on sheets, and what became of them.

    Parameters
    ----------
    sums : DataFrame
        The table ``sheet_sums`` of a run.

    Returns
    -------
    list of Sentence
        One about rows and one about values; empty where no sheet came in.
    """
    if sums.empty:
        return []
    sheets = counted(len(sums), "sheet").capitalize()
    rows = {"n": _total(sums, "rows"), "parts": _parts(sums, _ROWS)}
    values = {"n": _total(sums, "values"), "parts": _parts(sums, _VALUES)}
    holding = "It holds" if len(sums) == 1 else "They hold"
    nouns = [one if int(sums[f"{one}s"].sum()) == 1 else f"{one}s" for one in ("row", "value")]
    held = f"{holding} {{n}} {nouns[1]}: {{parts}}." if int(sums["values"].sum()) else ""
    return [
        Sentence(f"{sheets} came in with {{n}} {nouns[0]}: {{parts}}.", rows),
        Sentence(held or f"{holding} no values.", values),
    ]


def _parts(sums: pd.DataFrame, names: dict[str, str]) -> Sentence:
    """List what rows or values became, without what none became."""
    there = {name: words for name, words in names.items() if int(sums[name].sum())}
    form = listed_words([f"{{{name}}} {words}" for name, words in there.items()])
    return Sentence(form, {name: _total(sums, name) for name in there})


def _total(sums: pd.DataFrame, column: str) -> Cell:
    """Write a sum over all sheets; that of one sheet stands in the table itself."""
    total = str(int(sums[column].sum()))
    return number(_NAME, sums, int(sums.index[0]), column, total) if len(sums) == 1 else total


def sums_table(sums: pd.DataFrame) -> Markup:
    """Show of every sheet its rows and values, and what became of them.

    Parameters
    ----------
    sums : DataFrame
        The table ``sheet_sums`` of a run.

    Returns
    -------
    Markup
        Empty where no sheet came in. Columns that are 0 on every sheet are left out.
    """
    if sums.empty:
        return Markup("")
    shown = {
        head: pair
        for head, pair in _HEADS.items()
        if head in ("came in", "used") or any(name and sums[name].any() for name in pair)
    }
    heads = [Head("Sheet"), Head("What"), *(Head(head, "", True) for head in shown)]
    lines = []
    for at in map(int, sums.index):
        sheet = sheet_words(str(sums.at[at, "file"]))
        for which, what in enumerate(("rows", "values")):
            names = [pair[which] for pair in shown.values()]
            cells = tuple(_count(sums, at, name) if name else "–" for name in names)
            lines.append(Row((sheet, what), cells))
    note = (
        "What came in is the sum of what stands to the right of it. Blank rows are not counted. A "
        "row is used where at least one of its values is not set aside."
    )
    if "second looks" in shown:
        note += " Second looks enter no mean, set aside or not."
    return html_table("What came in on sheets, and what became of it", heads, lines, note)


def _count(sums: pd.DataFrame, at: int, name: str) -> Cell:
    return number(_NAME, sums, at, name, f"{value_at(sums, at, name):.0f}")


def sheet_words(name: str) -> str:
    """Name a sheet, and the tab of a workbook.

    Examples
    --------
    >>> sheet_words("sheets/field.xlsx[Pulls]"), sheet_words("sheets/pulls.csv")
    ('sheets/field.xlsx, tab Pulls', 'sheets/pulls.csv')
    """
    found = _TAB.match(name)
    return f"{found['file']}, tab {found['tab']}" if found else name


def unread_words(sums: pd.DataFrame) -> list[str]:
    """List the columns and tabs that hold something and are not read, a sheet at a time."""
    return [
        f"{sheet_words(str(row['file']))}: {row['unread']}"
        for row in sums.fillna({"unread": ""}).to_dict("records")
        if row["unread"]
    ]


def photos_words(scores: pd.DataFrame, observations: pd.DataFrame) -> str:
    """Say how many photos came in, and what became of them.

    Parameters
    ----------
    scores : DataFrame
        The table ``photo_scores`` of a run.
    observations : DataFrame
        The table ``observations``, which tells what was set aside.

    Returns
    -------
    str
        Empty where no photo came in.
    """
    came = set(scores["path"].astype(str))
    if not came:
        return ""
    there = observations[observations["source"].isin(came) & observations["value"].notna()]
    used = set(there.loc[there["excluded"].fillna("") == "", "source"])
    aside = set(there["source"]) - used
    parts = [f"{len(used)} used"] if used else []
    parts += [f"{len(aside)} set aside in the diary"] if aside else []
    rest = len(came) - len(used) - len(aside)
    parts += [f"{rest} without a value in the analysis"] if rest else []
    return f"{counted(len(came), 'photo').capitalize()} came in: {listed_words(parts)}."
