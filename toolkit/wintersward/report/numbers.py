"""Numbers as a reader meets them: sensible digits, signs, intervals, days."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence

import pandas as pd

__all__ = [
    "MINUS",
    "between_text",
    "common_decimals",
    "counted",
    "day_short",
    "day_text",
    "days_listed",
    "decimals_for",
    "df_text",
    "in_words",
    "level_text",
    "listed_words",
    "mean_decimals",
    "p_text",
    "table_decimals",
    "text",
    "tick_decimals",
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
    return f"{in_words(n)} {one if n == 1 else many or one + 's'}"


def in_words(n: int, none: str = "no") -> str:
    """Write a small count as a word, a larger one in digits.

    Examples
    --------
    >>> in_words(3), in_words(36), in_words(0), in_words(0, "none")
    ('three', '36', 'no', 'none')
    """
    if n == 0:
        return none
    return _FEW[n] if 0 < n < len(_FEW) else str(n)


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
