"""Rows of a table of results, typed and in order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from wintersward.analysis.columns import Table
from wintersward.analysis.results import empty

__all__ = ["framed", "held"]

_TYPES = {"text": "str", "date": "datetime64[us]", "integer": "int64", "number": "float64"}


def framed(
    table: Table, rows: Sequence[dict[str, Any]] = (), factors: Sequence[str] = ()
) -> pd.DataFrame:
    """Make a table of results of its rows.

    Parameters
    ----------
    table : Table
        What it holds.
    rows : sequence of dict
        One a row, every column by name; in the order that is to stay.
    factors : sequence of str
        Treatment factors that a table takes a column of text of, behind its own.

    Returns
    -------
    DataFrame
        The columns in the order and with the types that the table always has.
    """
    kinds = {column.name: _TYPES[column.type] for column in table.columns}
    kinds |= dict.fromkeys(factors, "str")
    made = pd.DataFrame({name: pd.Series([row[name] for row in rows]) for name in kinds})
    return made.astype(kinds)


def held(tables: Mapping[str, pd.DataFrame], name: str) -> pd.DataFrame:
    """Give a table of a run; one that is not there, as in a demonstration, is empty."""
    return tables[name] if name in tables else empty(name)
