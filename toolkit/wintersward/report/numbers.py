"""Numbers as a reader meets them: sensible digits, signs, intervals, days, and their source."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import cast

import pandas as pd
from markupsafe import Markup

__all__ = [
    "MINUS",
    "Said",
    "Sentence",
    "between_text",
    "common_decimals",
    "counted",
    "day_short",
    "day_text",
    "days_listed",
    "decimals_for",
    "df_text",
    "interval_said",
    "level_text",
    "listed_words",
    "mean_decimals",
    "number",
    "p_text",
    "raw_text",
    "row_at",
    "table_decimals",
    "text",
    "tick_decimals",
    "tied",
    "value_at",
]

MINUS = "\N{MINUS SIGN}"
_MOST_DECIMALS = 4
# fmt: off
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)
_FEW = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
)
# fmt: on


def decimals_for(se: float) -> int:
    """Choose decimals so that rounding moves a number by at most a third of its error.

    Parameters
    ----------
    se : float
        Standard error, in the unit shown; nothing sensible (0, not a number) gives 1.

    Returns
    -------
    int
        From 0 to 4.

    Examples
    --------
    >>> [decimals_for(se) for se in (14.0, 3.1, 1.2, 0.31, 0.02)]
    [0, 0, 1, 1, 2]
    """
    if not math.isfinite(se) or se <= 0:
        return 1
    return min(_MOST_DECIMALS, max(0, math.ceil(math.log10(1.5 / se))))


def common_decimals(errors: Iterable[float]) -> int:
    """Choose the decimals of a column by the larger of its standard errors.

    The upper quartile, in the unit shown, decides: one odd date does not blunt the rest.

    Examples
    --------
    >>> common_decimals([1.6, 2.4, 2.5, 2.5]), common_decimals([])
    (0, 1)
    """
    return decimals_for(_upper_quartile(errors))


def _upper_quartile(errors: Iterable[float]) -> float:
    found = sorted(se for se in errors if math.isfinite(se) and se > 0)
    return found[(3 * len(found)) // 4] if found else math.nan


def table_decimals(errors: Iterable[float]) -> int:
    """Choose the decimals of all estimates and ends of intervals in one table.

    Parameters
    ----------
    errors : iterable of float
        In the unit shown; rounding moves a number by at most two thirds of their upper quartile:
        whole points of cover and pounds of force, one decimal for ratings.

    Examples
    --------
    >>> table_decimals([2.4, 1.4, 0.9]), table_decimals([0.12, 0.2])
    (0, 1)
    """
    return decimals_for(2 * _upper_quartile(errors))


def mean_decimals(errors: Iterable[float]) -> int:
    """Choose the decimals of means: those of the differences that are read between them.

    A difference of two has the square root of two times their error.
    """
    return table_decimals([math.sqrt(2) * se for se in errors])


def tick_decimals(ticks: Sequence[float]) -> int:
    """Choose the decimals that the labels of an axis need.

    Parameters
    ----------
    ticks : sequence of float
        Places of the ticks, evenly apart.

    Examples
    --------
    >>> tick_decimals([-2.5, 0.0, 2.5]), tick_decimals([0, 20, 40]), tick_decimals([0, 0.05])
    (1, 0, 2)
    """
    for decimals in range(_MOST_DECIMALS):
        if all(abs(tick - round(tick, decimals)) < 1e-3 * 10**-decimals for tick in ticks):
            return decimals
    return _MOST_DECIMALS


def text(value: float, decimals: int, signed: bool = False) -> str:
    """Write a number with a true minus sign; a number that rounds to zero has no sign.

    Examples
    --------
    >>> text(11.04, 0, signed=True), text(-2.96, 1), text(-0.04, 1, signed=True)
    ('+11', '−3.0', '0.0')
    >>> text(float("nan"), 1)
    'not estimated'
    """
    if not math.isfinite(value):
        return "not estimated"
    plain = f"{abs(value):.{decimals}f}"
    if float(plain) == 0:
        return plain
    return (MINUS if value < 0 else "+" if signed else "") + plain


def between_text(lower: float, upper: float, decimals: int, signed: bool = False) -> str:
    """Write an interval.

    Examples
    --------
    >>> between_text(4.2, 17.9, 0)
    '4 to 18'
    """
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return "not estimated"
    return f"{text(lower, decimals, signed)} to {text(upper, decimals, signed)}"


def p_text(p: float) -> str:
    """Write a p value; nearer to 0 or 1 than a thousandth only that.

    Examples
    --------
    >>> p_text(0.0234), p_text(0.00002), p_text(0.9999), p_text(float("nan"))
    ('0.023', '< 0.001', '> 0.999', '–')
    """
    if not math.isfinite(p):
        return "–"
    return "< 0.001" if p < 0.001 else "> 0.999" if p > 0.999 else f"{p:.3f}"


def df_text(df: float) -> str:
    """Write degrees of freedom: whole where they are whole.

    Examples
    --------
    >>> df_text(10.0000001), df_text(9.537)
    ('10', '9.5')
    """
    if not math.isfinite(df):
        return "–"
    return f"{df:.0f}" if abs(df - round(df)) < 0.05 else f"{df:.1f}"


def level_text(alpha: float) -> str:
    """Write the confidence level that belongs to an error rate.

    Examples
    --------
    >>> level_text(0.05), level_text(0.025)
    ('95 %', '97.5 %')
    """
    return f"{100 * (1 - alpha):g} %"


def counted(n: int, one: str, many: str = "") -> str:
    """Write a count with its noun, small counts in words.

    Examples
    --------
    >>> counted(1, "photo"), counted(6, "block"), counted(36, "plot"), counted(0, "plot")
    ('one photo', 'six blocks', '36 plots', 'no plots')
    """
    said = _FEW[n] if 0 <= n < len(_FEW) else str(n)
    return f"{said} {one if n == 1 else many or one + 's'}"


def day_text(day: object) -> str:
    """Write a day so that it reads the same in every country.

    Examples
    --------
    >>> day_text("2026-03-24")
    '24 March 2026'
    """
    on = _day(day)
    return f"{on.day} {_MONTHS[on.month - 1]} {on.year}"


def day_short(day: object) -> str:
    """Write a day for a picture.

    Examples
    --------
    >>> day_short(dt.date(2026, 3, 24))
    '24 Mar'
    """
    on = _day(day)
    return f"{on.day} {_MONTHS[on.month - 1][:3]}"


def days_listed(days: list[dt.date]) -> str:
    """List days, naming a month and a year once for those that share it.

    Examples
    --------
    >>> days_listed([dt.date(2026, 3, 10), dt.date(2026, 3, 24), dt.date(2026, 4, 4)])
    '10 and 24 March and 4 April 2026'
    """
    months: dict[tuple[int, int], list[int]] = {}
    for day in sorted(days):
        months.setdefault((day.year, day.month), []).append(day.day)
    keys = list(months)
    parts = []
    for at, (year, month) in enumerate(keys):
        numbers = listed_words([str(one) for one in months[year, month]])
        named = f"{numbers} {_MONTHS[month - 1]}"
        last_of_year = at + 1 == len(keys) or keys[at + 1][0] != year
        parts.append(f"{named} {year}" if last_of_year else named)
    return listed_words(parts)


def listed_words(words: Sequence[str]) -> str:
    """Join words as a sentence lists them.

    Examples
    --------
    >>> listed_words(["1", "2", "5"])
    '1, 2 and 5'
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))


def _day(day: object) -> dt.date:
    return pd.Timestamp(str(day)).date()


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
