"""Tables of results as CSV text: the same text for the same table, and read back unguessed."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pandas as pd

from wintersward.errors import WinterswardError, listed

if TYPE_CHECKING:
    from wintersward.analysis.results import Column, Table

__all__ = ["DIGITS", "columns_of", "from_csv", "to_csv"]

DIGITS = 10


def columns_of(name: str, table: Table, found: list[str]) -> tuple[Column, ...]:
    """List the columns that a table is written with; one text column a factor may follow.

    Parameters
    ----------
    name : str
        Name of the table, for messages.
    table : Table
        What the table is to be.
    found : list of str
        Columns that it has.

    Raises
    ------
    WinterswardError
        Where a column is missing, twice there or not known.
    """
    from wintersward.analysis.results import Column

    wanted = [column.name for column in table.columns]
    extra = [column for column in found if column not in wanted]
    missing = [column for column in wanted if column not in found]
    wrong = [f"lacks {listed(missing)}"] if missing else []
    if len(set(found)) < len(found):
        wrong.append(f"holds {listed(sorted({c for c in found if found.count(c) > 1}))} twice")
    if extra and not table.open_ended:
        wrong.append(f"has {listed(extra)}")
    if wrong:
        raise WinterswardError(
            f"table {name}: it {' and '.join(wrong)}; its columns are: {listed(wanted)}"
            + (" and one a treatment factor" if table.open_ended else "")
        )
    factors = [Column(factor, "text", "", f"treatment of the factor {factor}") for factor in extra]
    return (*table.columns, *factors)


def to_csv(name: str, table: Table, frame: pd.DataFrame) -> str:
    """Write a table as CSV text.

    Parameters
    ----------
    name : str
        Name of the table, for messages.
    table : Table
        Its columns and key.
    frame : DataFrame
        Its rows, in any order; its columns, in any order.

    Returns
    -------
    str
        Sorted by the key; dates as ISO 8601; numbers with 10 significant digits; nothing for
        a missing value; lines end in a line feed.

    Raises
    ------
    WinterswardError
        Where the columns or a value do not fit, or two rows have the same key.
    """
    columns = columns_of(name, table, [str(column) for column in frame.columns])
    cells: dict[str, list[str]] = {}
    for column in columns:
        try:
            cells[column.name] = [_WRITE[column.type](value) for value in frame[column.name]]
        except (TypeError, ValueError) as error:
            raise WinterswardError(
                f"table {name}, column {column.name}: {error}; allowed: {column.type}"
            ) from None
    order = _order(name, table, columns, cells, len(frame))
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(cells)
    writer.writerows([column[row] for column in cells.values()] for row in order)
    return stream.getvalue()


def from_csv(name: str, table: Table, text: str) -> pd.DataFrame:
    """Read a table back from CSV text.

    Returns
    -------
    DataFrame
        Text stays text, whatever it looks like; dates are datetime64; integers are int64, or
        Int64 where one is missing; numbers are float64.

    Raises
    ------
    WinterswardError
        Where the columns do not fit or a value cannot be read.
    """
    raw = pd.read_csv(io.StringIO(text), dtype=str, keep_default_na=False, na_filter=False)
    made = {}
    for column in columns_of(name, table, list(raw.columns)):
        try:
            made[column.name] = _READ[column.type](raw[column.name])
        except (TypeError, ValueError) as error:
            raise WinterswardError(
                f"table {name}, column {column.name}: {error}; allowed: {column.type}"
            ) from None
    return pd.DataFrame(made, index=raw.index)


def _order(
    name: str, table: Table, columns: tuple[Column, ...], cells: dict[str, list[str]], rows: int
) -> list[int]:
    """Sort rows by the key: numbers as numbers, everything else as text."""
    kinds = {column.name: column.type for column in columns}
    rank: dict[str, list[Any]] = {
        key: [_number_rank(cell) for cell in cells[key]]
        if kinds[key] in ("integer", "number")
        else cells[key]
        for key in table.key
    }
    keys: list[tuple[Any, ...]] = [
        tuple(rank[key][row] for key in table.key) for row in range(rows)
    ]
    order = sorted(range(rows), key=keys.__getitem__)
    for before, after in zip(order, order[1:], strict=False):
        if keys[before] == keys[after]:
            twice = listed(f"{key} {cells[key][after]!r}" for key in table.key)
            raise WinterswardError(f"table {name}: two rows for {twice}; allowed: one")
    return order


def _number_rank(cell: str) -> tuple[int, float]:
    return (0, 0.0) if cell == "" else (1, float(cell))


def _missing(value: Any) -> bool:
    return value is None or value is pd.NaT or value is pd.NA or value != value


def _write_text(value: Any) -> str:
    return "" if _missing(value) else str(value)


def _write_date(value: Any) -> str:
    if _missing(value) or value == "":
        return ""
    stamp = pd.Timestamp(value)
    if stamp != stamp.normalize():
        raise ValueError(f"found the time {value}")
    return stamp.date().isoformat()


def _write_integer(value: Any) -> str:
    if _missing(value):
        return ""
    if isinstance(value, str) or value != int(value):
        raise ValueError(f"found {value!r}")
    return str(int(value))


def _write_number(value: Any) -> str:
    if _missing(value):
        return ""
    if isinstance(value, str):
        raise ValueError(f"found {value!r}")
    number = float(value)
    # Adding zero turns -0.0, which depends on the order of sums, into 0.0.
    return format(number + 0.0, f".{DIGITS}g") if math.isfinite(number) else str(number)


def _read_integer(raw: pd.Series) -> pd.Series:
    if (raw == "").any():
        return raw.where(raw != "", pd.NA).astype("Int64")
    return raw.astype("int64")


def _read_number(raw: pd.Series) -> pd.Series:
    return raw.where(raw != "", "nan").astype("float64")


def _read_date(raw: pd.Series) -> pd.Series:
    return pd.to_datetime(raw.where(raw != "", None), format="%Y-%m-%d")


_WRITE: dict[str, Callable[[Any], str]] = {
    "text": _write_text,
    "date": _write_date,
    "integer": _write_integer,
    "number": _write_number,
}
_READ: dict[str, Callable[[pd.Series], pd.Series]] = {
    "text": lambda raw: raw.astype("str"),
    "date": _read_date,
    "integer": _read_integer,
    "number": _read_number,
}
