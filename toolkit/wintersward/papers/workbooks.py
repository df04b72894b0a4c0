"""Workbooks to fill in: headings on top, cells that check what is typed, the same bytes always."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Any

from wintersward.papers.pages import paper_named

if TYPE_CHECKING:
    from openpyxl.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["REMARKS", "TICK", "Check", "Column", "Form", "workbook"]

# The tab beside the records that says what to do.
REMARKS = "What to do"
# Characters of a heading line that fit between the margins of a page, by its direction.
_UPRIGHT, _ACROSS = 76, 104
# Excel's own limits of a title and of a message at a cell, and of a page's head and foot.
_TITLE, _MESSAGE, _HEAD = 32, 220, 250
# Height of a row to write in [pt], and width of the column of remarks [characters].
_ROW, _BESIDE = 18, 58
# Stands for a limit where a number has none.
_MOST = 1e9
_NOW = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*(</dcterms:modified>)")


@dataclass(frozen=True)
class Check:
    """What the cells of a column may hold; an empty cell is always allowed.

    Parameters
    ----------
    title : str
        Heads what is said.
    prompt, error : str
        What the person reads on entering a cell, and after a value that is not allowed.
    choices : str
        A range of cells or words joined by commas in double quotes; empty for any number.
    low, high : float or None
        Limits of a number.
    whole : bool
        Whether only whole numbers are allowed.
    """

    title: str
    prompt: str
    error: str
    choices: str = ""
    low: float | None = None
    high: float | None = None
    whole: bool = False


# A box to tick: by hand on paper, by an x on a screen.
TICK = Check("Tick", "x for yes.", "Only an x, or nothing.", '"x"')


@dataclass(frozen=True)
class Column:
    """One column of a form.

    Parameters
    ----------
    heading : str
        Stands in row 1.
    values : list
        One a row; None for an empty cell.
    to_fill : list of bool
        Which cells are to be filled in; the others are locked.
    width : float
        In characters.
    check : Check or None
        What may be typed.
    aside : bool
        Small, grey and not printed.
    formula : str
        Stands in every cell in place of a value; ``{row}`` is the row of the spreadsheet.
    """

    heading: str
    values: Sequence[Any]
    to_fill: Sequence[bool]
    width: float = 10.0
    check: Check | None = None
    aside: bool = False
    formula: str = ""


@dataclass(frozen=True)
class Form:
    """A table to fill in, and what is printed around it.

    Parameters
    ----------
    tab : str
        Name of the tab.
    columns : list of Column
        Columns that stay aside come last.
    still : int
        Number of columns that stay in sight when the table is moved.
    head : tuple of str
        Left, middle and right of every printed page's head.
    foot : str
        Left of every printed page's foot.
    remarks : list of (value, value)
        Rows of the tab `REMARKS`; a row of two empty values is left blank.
    break_before : list of int
        Rows of the spreadsheet that begin a page.
    paper : str
        ``letter`` or ``a4``.
    day : date
        Stands in the file as the day on which it was made.
    title : str
        Title in the file's properties.
    below : bool
        Whether the remarks stand below the table, on its page, and not on a tab of their own;
        not for a table that is read again.
    """

    tab: str
    columns: list[Column]
    still: int
    head: tuple[str, str, str]
    foot: str
    remarks: list[tuple[Any, Any]]
    break_before: list[int]
    paper: str
    day: dt.date
    title: str
    below: bool = False


def workbook(form: Form) -> bytes:
    """Make a workbook of a form.

    Parameters
    ----------
    form : Form
        What it holds.

    Returns
    -------
    bytes
        An XLSX file (ECMA-376), the same for the same form: no clock, no name of a person or a
        computer. Cells that are not to be filled in are locked, without a password.
    """
    from openpyxl import Workbook

    book = Workbook()
    tab = book.active
    tab.title = form.tab
    _fill(tab, form)
    _guard(tab, form)
    if form.below:
        _remark_below(tab, form)
    else:
        _remark(book.create_sheet(REMARKS), form)
    _paginate(tab, form)
    book.properties.creator = "wintersward"
    book.properties.title = form.title
    book.properties.created = dt.datetime.combine(form.day, dt.time())
    stream = io.BytesIO()
    book.save(stream)
    return _timeless(stream.getvalue(), form.day)


def _text(cell: Cell, value: Any) -> None:
    """Put a value into a cell; a text that begins with = is no formula."""
    cell.value = value
    if isinstance(value, str):
        cell.data_type = "s"


def _fill(tab: Worksheet, form: Form) -> None:
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side
    from openpyxl.utils import get_column_letter

    thin, thick = Side("thin", color="FF999999"), Side("medium", color="FF333333")
    frame, foot = Border(thin, thin, thin, thin), Border(bottom=thick)
    hatched = PatternFill("lightUp", fgColor="FF999999")
    left = Alignment(horizontal="left", vertical="center", wrap_text=True)
    open_cell = Protection(locked=False)
    for place, column in enumerate(form.columns, 1):
        tab.column_dimensions[get_column_letter(place)].width = column.width
        grey = Font("Calibri", 8, color="FF999999") if column.aside else None
        head = tab.cell(1, place)
        _text(head, column.heading)
        head.font, head.border = grey or Font("Calibri", 11, bold=True), foot
        head.alignment = Alignment(vertical="bottom", wrap_text=True)
        measured = any(column.to_fill)
        styled: dict[tuple[bool, bool], Cell] = {}
        for row, (value, open_) in enumerate(zip(column.values, column.to_fill, strict=True), 2):
            cell = tab.cell(row, place)
            _text(cell, value)
            if column.formula:
                cell.value = column.formula.format(row=row)
            dated = isinstance(value, dt.date)
            like = styled.setdefault((dated, open_), cell)
            if like is not cell:
                # Looked up by its parts, a style takes longer than all the rest of a cell.
                cell._style = copy(like._style)
                continue
            cell.alignment = left
            if grey:
                cell.font = grey
            else:
                cell.border = frame
            if dated:
                cell.number_format = "yyyy-mm-dd"
            if open_:
                cell.protection = open_cell
            elif measured:
                cell.fill = hatched
    # Words do not break where a line of letters would, so a heading is given a little more room.
    lines = max(ceil(1.3 * len(c.heading) / c.width) for c in form.columns if not c.aside)
    tab.row_dimensions[1].height = 15 * lines
    for row in range(2, len(form.columns[0].values) + 2):
        tab.row_dimensions[row].height = _ROW


def _guard(tab: Worksheet, form: Form) -> None:
    """Lock what is not to be filled in, and check what is typed elsewhere."""
    from openpyxl.utils import get_column_letter

    tab.protection.sheet = True
    # Columns and rows may still be widened.
    tab.protection.formatColumns = False
    tab.protection.formatRows = False
    tab.freeze_panes = tab.cell(2, form.still + 1).coordinate
    for place, column in enumerate(form.columns, 1):
        rows = [row for row, open_ in enumerate(column.to_fill, 2) if open_]
        if column.check is None or not rows:
            continue
        rule, letter = _rule(column.check), get_column_letter(place)
        for first, last in _runs(rows):
            rule.add(f"{letter}{first}:{letter}{last}")
        tab.add_data_validation(rule)


def _runs(rows: list[int]) -> list[tuple[int, int]]:
    """Join rows that follow one another."""
    runs: list[tuple[int, int]] = []
    for row in rows:
        if runs and runs[-1][1] == row - 1:
            runs[-1] = (runs[-1][0], row)
        else:
            runs.append((row, row))
    return runs


def _rule(check: Check) -> Any:
    from openpyxl.worksheet.datavalidation import DataValidation

    kind = "list" if check.choices else "whole" if check.whole else "decimal"
    rule = DataValidation(type=kind, allow_blank=True)
    if check.choices:
        rule.formula1 = check.choices
    else:
        ends = (-_MOST if check.low is None else check.low, check.high)
        rule.operator = (
            "between" if ends[1] is not None or check.low is None else "greaterThanOrEqual"
        )
        rule.formula1 = f"{ends[0]:.15g}"
        if rule.operator == "between":
            rule.formula2 = f"{_MOST if ends[1] is None else ends[1]:.15g}"
    rule.showErrorMessage = rule.showInputMessage = True
    rule.errorStyle = "stop"
    rule.promptTitle, rule.prompt = check.title[:_TITLE], check.prompt[:_MESSAGE]
    rule.errorTitle, rule.error = check.title[:_TITLE], check.error[:_MESSAGE]
    return rule


def _paginate(tab: Worksheet, form: Form) -> None:
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.pagebreak import Break

    printed = [column for column in form.columns if not column.aside]
    width = _wide(form)
    _page(tab, form, across=width > _UPRIGHT)
    if width > _ACROSS:
        tab.sheet_properties.pageSetUpPr.fitToPage = True
        tab.page_setup.fitToWidth, tab.page_setup.fitToHeight = 1, 0
    last = len(form.columns[0].values) + 1
    last += 1 + len(form.remarks) if form.below else 0
    tab.print_area = f"A1:{get_column_letter(len(printed))}{last}"
    tab.print_title_rows = "1:1"
    for row in form.break_before:
        tab.row_breaks.append(Break(id=row - 1))


def _wide(form: Form) -> float:
    """Add up the widths of what is printed [characters]."""
    return sum(column.width for column in form.columns if not column.aside)


def _page(tab: Worksheet, form: Form, across: bool) -> None:
    from openpyxl.worksheet.properties import PageSetupProperties

    tab.sheet_properties.pageSetUpPr = PageSetupProperties()
    letter = paper_named(form.paper).size == "letter"
    tab.page_setup.paperSize = tab.PAPERSIZE_LETTER if letter else tab.PAPERSIZE_A4
    tab.page_setup.orientation = "landscape" if across else "portrait"
    tab.page_margins.left = tab.page_margins.right = 0.5
    tab.page_margins.top = tab.page_margins.bottom = 0.7
    tab.page_margins.header = tab.page_margins.footer = 0.35
    places = (tab.oddHeader.left, tab.oddHeader.center, tab.oddHeader.right)
    shares = (100, 70, 70)
    for place, said, share in zip(places, form.head, shares, strict=True):
        place.text = _plain(said, share)
    # An ampersand is a code there.
    tab.oddFooter.left.text = _plain(form.foot, _HEAD - 30)
    tab.oddFooter.right.text = "Page &P of &N"


def _plain(text: str, most: int) -> str:
    shown = text if len(text) <= most else f"{text[: most - 3]}..."
    return shown.replace("&", "+")


def _remark_below(tab: Worksheet, form: Form) -> None:
    """Write the remarks under the table, each across its whole width."""
    from openpyxl.styles import Alignment

    columns = sum(not column.aside for column in form.columns)
    first = len(form.columns[0].values) + 3
    for row, (number, said) in enumerate(form.remarks, first):
        cell = tab.cell(row, 1)
        _text(cell, f"{number}. {said}")
        cell.alignment = Alignment(horizontal="left", vertical="top", wrap_text=True)
        tab.merge_cells(start_row=row, end_row=row, start_column=1, end_column=columns)
        tab.row_dimensions[row].height = 15 * ceil(len(str(cell.value)) / (0.9 * _wide(form)))


def _remark(tab: Worksheet, form: Form) -> None:
    from openpyxl.styles import Alignment, Font

    # Both tabs are printed the same way round.
    across = _wide(form) > _UPRIGHT
    beside = _BESIDE + (_ACROSS - _UPRIGHT if across else 0)
    for row, pair in enumerate(form.remarks, 1):
        for place, value in enumerate(pair, 1):
            cell = tab.cell(row, place)
            _text(cell, value if value != "" else None)
            cell.alignment = Alignment(horizontal="left", vertical="top", wrap_text=place == 2)
        if isinstance(pair[0], str):
            tab.cell(row, 1).font = Font("Calibri", 11, bold=True)
        # Not every program makes a row as high as its text.
        tab.row_dimensions[row].height = 15 * max(1, ceil(len(str(pair[1])) / (beside - 6)))
    tab.column_dimensions["A"].width, tab.column_dimensions["B"].width = 10, beside
    tab.protection.sheet = True
    _page(tab, form, across)


def _timeless(content: bytes, day: dt.date) -> bytes:
    """Write a workbook anew with one time everywhere, so that it is the same every time."""
    stamp = f"{day}T00:00:00Z".encode()
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as made,
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as kept,
    ):
        for name in made.namelist():
            held = made.read(name)
            if name == "docProps/core.xml":
                held = _NOW.sub(rb"\g<1>" + stamp + rb"\g<2>", held)
            # The earliest time that the format can hold; who made the file on which system
            # stands there too.
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type, entry.create_system = zipfile.ZIP_DEFLATED, 3
            kept.writestr(entry, held)
    return stream.getvalue()
