"""Numbers of a page that know where they come from, and sentences that hold them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import cast

import pandas as pd
from markupsafe import Markup

__all__ = [
    "Said",
    "Sentence",
    "interval_said",
    "number",
    "raw_text",
    "row_at",
    "tied",
    "value_at",
]


def raw_text(value: object) -> str:
    """Write a value as the tables of a run hold it: numbers with ten digits that count.

    Examples
    --------
    >>> raw_text(11.0416666666666), raw_text(6), raw_text("open")
    ('11.04166667', '6', 'open')
    """
    if isinstance(value, (bool, str)):
        return str(value)
    if isinstance(value, float) or hasattr(value, "dtype"):
        return format(float(value), ".10g")  # type: ignore[arg-type]
    return str(value)


@dataclass(frozen=True)
class Said:
    """A number as it is said, with the place in the results that it comes from.

    Parameters
    ----------
    text : str
        As the reader sees it, in the reader's unit.
    raw : str
        As the table holds it, in SI.
    source : str
        File and line, ``differences.csv:3``.
    """

    text: str
    raw: str
    source: str

    def __str__(self) -> str:
        """Return the words alone, for pictures and plain text."""
        return self.text

    def __html__(self) -> Markup:
        """Return the words tied to their source."""
        return Markup('<data value="{}" title="{}">{}</data>').format(
            self.raw, self.source, self.text
        )


def row_at(frame: pd.DataFrame, row: int) -> pd.Series:
    """Take one row of a table by its label."""
    return cast("pd.Series", frame.loc[row])


def value_at(frame: pd.DataFrame, row: int, column: str) -> float:
    """Take one number of a table by the label of its row."""
    return float(frame[column].loc[row])


def number(table: str, frame: pd.DataFrame, row: int, column: str, shown: str) -> Said:
    """Tie a number that is shown to its place in the results.

    Parameters
    ----------
    table : str
        Name of the table, without ``.csv``.
    frame : DataFrame
        The table or rows out of it; its index counts the rows of the whole table from 0.
    row : int
        Label of the row in that index.
    column : str
        Column that holds the number.
    shown : str
        As the reader sees it.

    Examples
    --------
    >>> number("means", pd.DataFrame({"mean": [46.25]}), 0, "mean", "46").source
    'means.csv:2'
    """
    return tied(table, row, frame.at[row, column], shown)


def tied(table: str, row: int, value: object, shown: str) -> Said:
    """Tie a number that is shown to its place, where its value is at hand.

    Parameters
    ----------
    table : str
        Name of the table, without ``.csv``.
    row : int
        Label of the row, counted from 0 in the whole table.
    value : int or float
        As the table holds it.
    shown : str
        As the reader sees it.
    """
    line = int(row) + 2  # line 1 is the heading
    return Said(shown, raw_text(value), f"{table}.csv:{line}")


def interval_said(ends: Mapping[str, object]) -> Sentence:
    """Join ``lower`` and ``upper`` of an interval; one dash where they were not estimated.

    Examples
    --------
    >>> str(interval_said({"lower": "4", "upper": "18"})), str(interval_said({"lower": "–"}))
    ('4 to 18', '–')
    """
    return Sentence("–" if str(ends["lower"]) == "–" else "{lower} to {upper}", ends)


@dataclass(frozen=True)
class Sentence:
    """A sentence whose numbers know where they come from.

    Parameters
    ----------
    form : str
        The sentence with a name in braces wherever a part goes. It is trusted; parts are not.
    parts : mapping
        Words, `Said` numbers or sentences to put in.

    Examples
    --------
    >>> said = Sentence("{n} points more", {"n": Said("11", "11.04", "primary.csv:2")})
    >>> str(said)
    '11 points more'
    >>> print(said.__html__())
    <data value="11.04" title="primary.csv:2">11</data> points more
    """

    form: str
    parts: Mapping[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        """Return the sentence as plain text."""
        return self.form.format(**{name: str(part) for name, part in self.parts.items()})

    def __html__(self) -> Markup:
        """Return the sentence for a page, with everything escaped that is not a number."""
        return Markup(self.form).format(**self.parts)
