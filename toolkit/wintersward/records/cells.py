"""What stands in one cell of a table: a day or a number, read as the diary declares it."""

from __future__ import annotations

import datetime as dt
import math
import re
import unicodedata

__all__ = ["DATE_ORDERS", "is_number", "number_in", "plain", "quoted", "read_day", "read_number"]
__all__ += ["said"]

# Places of year, month and day in a date, by what the diary calls the order.
DATE_ORDERS: dict[str, tuple[int, int, int]] = {
    "year first": (0, 1, 2),
    "month first": (2, 0, 1),
    "day first": (2, 1, 0),
}
_EXAMPLES = {"year first": "2026/03/24", "month first": "3/24/2026", "day first": "24.3.2026"}
# A true date of a workbook may have a time of day behind it.
_ISO = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})([ T][0-9]{2}:[0-9]{2}(:[0-9.]+)?)?")
# Three numbers with the same sign between them; a dot may stand after a day and a month.
_PARTS = re.compile(r"([0-9]{1,4})([/.-]) ?([0-9]{1,2})\2 ?([0-9]{1,4})")
_POINT = re.compile(r"[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?")
_COMMA = re.compile(r"[-+]?([0-9]+,?[0-9]*|,[0-9]+)([eE][-+]?[0-9]+)?")
_ISO_RULE = "a date written year-month-day, such as 2026-03-24"
_CELL_HINT = "in a spreadsheet, format the column as text or as yyyy-mm-dd"
# Day 0 of the numbers by which spreadsheet programs keep dates (ECMA-376, part 1, 18.17.4.1), and
# those of this century.
_DAY_ZERO, _SERIALS = dt.date(1899, 12, 30), range(36526, 73051)
# Signs that steer a program become pictures, so that they neither vanish nor act in a message.
_STEERING = {code: 0x2400 + code for code in range(32) if not chr(code).isspace()} | {
    127: 0x2421,
    **{code: 0xFFFD for code in range(128, 160) if not chr(code).isspace()},
}
# Signs that take no room: soft hyphen, zero-width and direction marks, mark of the byte order.
_UNSEEN = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
_ANY_NUMBER = re.compile(r"[-+\u2212]?([0-9]+[.,]?[0-9]*|[.,][0-9]+)([eE][-+]?[0-9]+)? ?%?")
_LONGEST = 60
# Digits in threes, by which thousands are marked off.
_THOUSANDS = re.compile(r"[-+]?[0-9]{1,3}([., '\u2019])[0-9]{3}(\1[0-9]{3})*([.,][0-9]+)?")
# A true minus sign, which spreadsheet programs put into text of some languages.
_MINUS = "\N{MINUS SIGN}"


def plain(text: str) -> str:
    r"""Take out of a cell what nobody sees: signs without width, spaces of other kinds.

    Parameters
    ----------
    text : str
        As it stands in the file.

    Returns
    -------
    str
        On one line, with single ordinary spaces within and none around; without the apostrophe
        by which a spreadsheet is told that text follows. Letters with accents are one sign each
        (Unicode form NFC), whichever system wrote them; other control signs become pictures.

    Examples
    --------
    >>> plain("\ufeff Pull\u00a0 force\u200b"), plain("'101")
    ('Pull force', '101')
    """
    shown = " ".join(_UNSEEN.sub("", unicodedata.normalize("NFC", text)).split())
    shown = shown.translate(_STEERING)
    return shown[1:].strip() if shown[:1] in ("'", "\N{RIGHT SINGLE QUOTATION MARK}") else shown


def quoted(text: str) -> str:
    """Show what stands in a cell, in a message.

    Examples
    --------
    >>> quoted("forty"), quoted("")
    ("'forty'", 'nothing')
    """
    shown = text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3]}..."
    return f"'{shown}'" if shown else "nothing"


def is_number(text: str) -> bool:
    """Tell whether a cell holds a number, with a decimal point or comma, or a percentage.

    Examples
    --------
    >>> is_number("40,5"), is_number("45 %"), is_number("24.3.2026")
    (True, True, False)
    """
    return _ANY_NUMBER.fullmatch(text) is not None


def read_day(text: str, order: str | None = None) -> dt.date:
    """Read a day.

    Parameters
    ----------
    text : str
        As it stands in the cell; a true date of a workbook comes as year-month-day. A time of
        day behind that is left out.
    order : {'year first', 'month first', 'day first'}, optional
        As the diary declares it for the table. Year-month-day is read under every order.

    Returns
    -------
    date

    Raises
    ------
    ValueError
        With what is allowed and, after a semicolon, what to do. Without a declared order
        ``03/04/2026`` is no date: it may be in March or in April.

    Notes
    -----
    Of a year with two digits the century is 2000; only under a declared order.

    Examples
    --------
    >>> read_day("3/4/2026", "month first"), read_day("3.4.26", "day first")
    (datetime.date(2026, 3, 4), datetime.date(2026, 4, 3))
    >>> read_day("2026-03-04", "day first")
    datetime.date(2026, 3, 4)
    """
    iso = _ISO.fullmatch(text)
    if iso:
        return _calendar_day(int(iso[1]), int(iso[2]), int(iso[3]), "")
    parts = _PARTS.fullmatch(text)
    if order is None:
        fits = _orders_that_fit(parts) if parts else []
        raise ValueError(f"{_ISO_RULE}; {_declare(fits) or _cell_hint(text)}")
    rule = f"a date written {order}, such as {_EXAMPLES[order]}, or 2026-03-24"
    if parts is None:
        raise ValueError(f"{rule}; {_cell_hint(text)}")
    day = _in_order(parts, order)
    if day is None:
        fits = _orders_that_fit(parts)
        hint = f"it can only be {' or '.join(fits)}; " if fits else ""
        raise ValueError(f"{rule}; {hint}see date_order in diary.yaml")
    return _calendar_day(*day, order)


def _cell_hint(text: str) -> str:
    if not text:
        return "write the day"
    if re.fullmatch(r"[0-9]{5}(\.[0-9]+)?", text) and int(text[:5]) in _SERIALS:
        day = _DAY_ZERO + dt.timedelta(days=int(text[:5]))
        return f"spreadsheets keep {day} as this number: format the column as yyyy-mm-dd"
    return _CELL_HINT


def _calendar_day(year: int, month: int, day: int, order: str) -> dt.date:
    try:
        return dt.date(year, month, day)
    except ValueError:
        hint = f"; it was read {order}, as diary.yaml declares" if order else ""
        raise ValueError(f"a date that exists in the calendar{hint}") from None


def _in_order(parts: re.Match[str], order: str) -> tuple[int, int, int] | None:
    """Give year, month and day; nothing where the text cannot be meant so."""
    texts = (parts[1], parts[3], parts[4])
    at = DATE_ORDERS[order]
    year, month, day = (texts[place] for place in at)
    if len(year) not in (2, 4) or len(month) > 2 or len(day) > 2:
        return None
    if not (1 <= int(month) <= 12 and 1 <= int(day) <= 31):
        return None
    return int(year) + (2000 if len(year) == 2 else 0), int(month), int(day)


def _orders_that_fit(parts: re.Match[str]) -> list[str]:
    """List the orders in which a text can be a day; one with a whole year goes by its place."""
    return [order for order in DATE_ORDERS if _in_order(parts, order) is not None]


def _declare(fits: list[str]) -> str:
    if not fits:
        return ""
    if len(fits) == 1:
        return f"add 'date_order: {fits[0]}' to this table in diary.yaml"
    meant = " or ".join(f"'date_order: {order}'" for order in fits)
    return f"it can be read in {len(fits)} ways: add {meant} to this table in diary.yaml"


def read_number(text: str, decimal: str = "point", stored: bool = False) -> float:
    """Read a number.

    Parameters
    ----------
    text : str
        As it stands in the cell.
    decimal : {'point', 'comma'}
        What stands before the decimals, as the diary declares it for the table.
    stored : bool
        Whether the cell is of a workbook, where a true number comes with a point whatever the
        program shows.

    Returns
    -------
    float
        Finite.

    Raises
    ------
    ValueError
        With what is allowed and, after a semicolon, what to do. Thousands are not marked off.

    Examples
    --------
    >>> read_number("1,5", "comma"), read_number("1.5")
    (1.5, 1.5)
    """
    plain = text.replace(_MINUS, "-", 1) if text.startswith(_MINUS) else text
    if decimal == "comma" and _COMMA.fullmatch(plain):
        plain = plain.replace(",", ".")
    elif decimal == "comma" and not (stored and _POINT.fullmatch(plain)):
        rule = "a number with a decimal comma, such as 1,5"
        pointed = _POINT.fullmatch(plain) is not None
        declared = "diary.yaml declares 'decimal: comma' for this table"
        hint = declared if pointed else _thousands_hint(plain)
        raise ValueError(f"{rule}; {hint}" if hint else rule)
    elif decimal == "point" and not _POINT.fullmatch(plain):
        comma = _COMMA.fullmatch(plain) is not None
        hint = "write a point, or add 'decimal: comma' to this table in diary.yaml"
        hint = _thousands_hint(plain) or (hint if comma else "")
        raise ValueError(f"a number; {hint}" if hint else "a number")
    value = float(plain)
    if not math.isfinite(value):
        raise ValueError("a number of ordinary size; check the digits")
    return value


def _thousands_hint(text: str) -> str:
    """Say what to do about digits in threes; with one comma they may be decimals as well."""
    found = _THOUSANDS.fullmatch(text)
    if found is None:
        return ""
    if _COMMA.fullmatch(text):
        return (
            "it can be read in 2 ways: leave the comma out if it marks off thousands, write a "
            "point if decimals follow it"
        )
    return "leave out what marks off the thousands"


def number_in(unit: str) -> str:
    """Say that a number in a unit is allowed.

    Examples
    --------
    >>> number_in("lbf"), number_in("in")
    ('a number in lbf', 'a number of inches')
    """
    return "a number of inches" if unit == "in" else f"a number in {unit}"


def said(error: ValueError) -> tuple[str, str]:
    """Split what an error of this module tells into what is allowed and what to do.

    Examples
    --------
    >>> said(ValueError("a number; write a point"))
    ('a number', 'write a point')
    """
    allowed, _, hint = str(error).partition("; ")
    return allowed, hint
