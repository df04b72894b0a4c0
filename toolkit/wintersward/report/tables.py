"""Tables of a page: captioned, with units in their heads, every number tied to its source."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd
from markupsafe import Markup, escape

from wintersward.report.said import Said, Sentence, tied

__all__ = ["Cell", "Head", "Row", "frame_table", "html_table"]

# Heads of rows up to this length, such as a day, stay on one line.
_SHORT = 18
# Heads of single rows beyond this length are broken into lines.
_LONG = 40

Cell = str | Said | Sentence | Markup


@dataclass(frozen=True)
class Head:
    """The head of a column.

    Parameters
    ----------
    label : str
        What the column holds.
    unit : str
        Shown behind the label; empty where there is none.
    numeric : bool
        Numbers stand flush right, words flush left.
    group : str
        Neighbouring columns with the same group share a head above theirs.
    prose : bool
        Whether its cells hold sentences, which need room.
    """

    label: str
    unit: str = ""
    numeric: bool = False
    group: str = ""
    prose: bool = False


@dataclass(frozen=True)
class Row:
    """A row of a table.

    Parameters
    ----------
    heads : tuple of str
        What the row is about; as many leading columns as there are heads.
    cells : tuple
        Words, `Said` numbers or sentences, one for every further column.
    strong : bool
        Whether it stands out, as the row of the primary question does.
    """

    heads: tuple[str, ...]
    cells: tuple[Cell, ...]
    strong: bool = False


def html_table(caption: str, heads: Sequence[Head], rows: Sequence[Row], note: str = "") -> Markup:
    """Build a table that a screen reader can follow and that scrolls by itself when wide.

    Parameters
    ----------
    caption : str
        What the table shows; it stands above it.
    heads : sequence of Head
        One a column, those of the row heads first.
    rows : sequence of Row
        Equal first heads of neighbouring rows are joined into one that spans them.
    note : str
        A remark below the table.

    Returns
    -------
    Markup
        A ``div`` with the table inside; everything that is not markup is escaped.
    """
    spans = _spans([row.heads[0] if len(row.heads) > 1 else "" for row in rows])
    body, at = Markup(""), 0
    for span in (span for span in spans if span):
        lines = [_row(row, heads, span if i == 0 else 0) for i, row in enumerate(rows[at:][:span])]
        body += Markup("<tbody>{}</tbody>").format(Markup("").join(lines))
        at += span
    below = Markup('<p class="note">{}</p>').format(note) if note else ""
    return Markup(
        '<div class="wide" tabindex="0" role="region" aria-label="{caption}"><table>'
        "<caption>{caption}</caption>{groups}<thead>{head}</thead>{body}</table></div>{below}"
    ).format(caption=caption, groups=_groups(heads), head=_heads(heads), body=body, below=below)


def _groups(heads: Sequence[Head]) -> Markup:
    """Tell which columns a shared head stands over."""
    if not any(head.group for head in heads):
        return Markup("")
    spans = [span for span in _spans([head.group for head in heads]) if span]
    return Markup("").join(Markup('<colgroup span="{}"></colgroup>').format(s) for s in spans)


def _heads(heads: Sequence[Head]) -> Markup:
    if not any(head.group for head in heads):
        cells = Markup("").join(_head(head) for head in heads)
        return Markup("<tr>{}</tr>").format(cells)
    upper, lower, at = Markup(""), Markup(""), 0
    for span in (span for span in _spans([head.group for head in heads]) if span):
        head = heads[at]
        if not head.group:
            # Columns without a group reach through both rows of heads.
            for one in heads[at : at + span]:
                upper += _head(one, rowspan=2)
        else:
            upper += Markup('<th scope="colgroup" colspan="{}" class="group">{}</th>').format(
                span, head.group
            )
            lower += Markup("").join(_head(one) for one in heads[at : at + span])
        at += span
    return Markup("<tr>{}</tr><tr>{}</tr>").format(upper, lower)


def _head(head: Head, rowspan: int = 1) -> Markup:
    unit = Markup(' <span class="unit">[{}]</span>').format(head.unit) if head.unit else ""
    kind = Markup(' class="n"') if head.numeric else ""
    span = Markup(' rowspan="{}"').format(rowspan) if rowspan > 1 else ""
    return Markup('<th scope="col"{}{}>{}{}</th>').format(kind, span, head.label, unit)


def _row(row: Row, heads: Sequence[Head], span: int) -> Markup:
    cells = Markup("")
    for at, label in enumerate(row.heads):
        if at == 0 and len(row.heads) > 1:
            if span:
                kind = Markup(' class="short"') if len(label) <= _SHORT else ""
                cells += Markup('<th scope="rowgroup" rowspan="{}"{}>{}</th>').format(
                    span, kind, label
                )
        else:
            kind = Markup(' class="long"') if len(label) > _LONG else ""
            cells += Markup('<th scope="row"{}>{}</th>').format(kind, label)
    for head, cell in zip(heads[len(row.heads) :], row.cells, strict=True):
        kind = Markup(' class="n"') if head.numeric else ""
        kind = Markup(' class="prose"') if head.prose else kind
        cells += Markup("<td{}>{}</td>").format(kind, escape(cell))
    classes = [name for name, on in (("strong", row.strong), ("first", span > 0)) if on]
    kind = Markup(' class="{}"').format(" ".join(classes)) if classes else ""
    return Markup("<tr{}>{}</tr>\n").format(kind, cells)


def _spans(labels: Sequence[str]) -> list[int]:
    """Length of each run of equal labels at its first place, 0 at the others."""
    spans: list[int] = []
    first = 0
    for at, label in enumerate(labels):
        if at and label == labels[at - 1]:
            spans[first] += 1
            spans.append(0)
        else:
            first = at
            spans.append(1)
    return spans


def frame_table(
    name: str, frame: pd.DataFrame, caption: str, units: dict[str, str] | None = None, most: int = 0
) -> Markup:
    """Show a table of results as its file holds it: every column, in SI.

    Parameters
    ----------
    name : str
        Name of the table, without ``.csv``; empty for a frame that stands in no file.
    frame : DataFrame
        The table or rows out of it; its index counts the rows of the whole table from 0.
    caption : str
        What it holds.
    units : dict of str to str
        Unit of a column, for its head.
    most : int
        Rows to show at most; 0 for all. What is left out is said below.
    """
    units = units or {}
    shown = frame if most == 0 else frame.head(most)
    numeric = {
        column: pd.api.types.is_numeric_dtype(frame[column].dtype) for column in frame.columns
    }
    heads = [Head(c.replace("_", " "), units.get(c, ""), numeric[c]) for c in map(str, frame)]
    # Column by column: a frame is slow to be asked for one cell after the other.
    columns = [
        _plain(name, shown.index, shown[column].tolist(), numeric[column])
        for column in shown.columns[1:]
    ]
    first = [_words(value) or "–" for value in shown[shown.columns[0]].tolist()]
    cells = zip(*columns, strict=True) if columns else [()] * len(first)
    rows = [Row((one,), own) for one, own in zip(first, cells, strict=True)]
    left = len(frame) - len(shown)
    where = f" are in results/{name}.csv" if name else ""
    note = f"{left} more rows{where}." if left else ""
    return html_table(caption, heads, rows, note)


def _plain(name: str, index: pd.Index, values: Sequence[Any], numeric: bool) -> list[Cell]:
    """Write the cells of a column; numbers are tied to their place where the table has a name."""
    if not numeric:
        return [_words(value) for value in values]
    cells: list[Cell] = []
    for at, value in zip(index, values, strict=True):
        shown = _five(float(value)) if math.isfinite(value) else "–"
        cells.append(tied(name, at, value, shown) if name and shown != "–" else shown)
    return cells


def _five(value: float) -> str:
    """Write five digits that count; the whole number stands beside it for a program."""
    return f"{value:.0f}" if value == round(value) and abs(value) < 1e7 else f"{value:.5g}"


def _words(value: object) -> str:
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    return "" if value is None or value is pd.NaT or value != value else str(value)
