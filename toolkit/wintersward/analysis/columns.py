"""Columns that tables of results are made of, and those that several of them share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "DATE",
    "DF",
    "LEFT",
    "MEASURE",
    "P_ALONE",
    "RIGHT",
    "ROLE",
    "TREATED_LEVEL",
    "T",
    "UNIT_KIND",
    "Column",
    "Table",
    "interval",
    "tested",
]

ColumnType = Literal["text", "date", "integer", "number"]


@dataclass(frozen=True)
class Column:
    """One column of a table of results.

    Parameters
    ----------
    name : str
        Heading in the CSV.
    type : {'text', 'date', 'integer', 'number'}
        Dates are ISO 8601.
    unit : str
        ``measure`` stands for the unit of the row's measure; empty where there is none.
    text : str
        What the column holds.
    """

    name: str
    type: ColumnType
    unit: str
    text: str


@dataclass(frozen=True)
class Table:
    """One table of results: long, one row a key.

    Parameters
    ----------
    description : str
        One line.
    key : tuple of str
        Columns that tell the rows apart and sort them.
    columns : tuple of Column
        In their order.
    open_ended : bool
        Whether one column a treatment factor follows.
    """

    description: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    open_ended: bool = False


MEASURE = Column("measure", "text", "", "what was observed, as the definition names it")
DATE = Column("date", "date", "", "day of the observation")
ROLE = Column("role", "text", "", "primary, or secondary")
DF = Column("df", "number", "", "degrees of freedom; Kenward and Roger (1997) where approximate")
T = Column("t", "number", "", "difference over its standard error")
P_ALONE = Column("p", "number", "", "p value of this one comparison, not adjusted")
LEFT = Column("left", "text", "", "treatment")
RIGHT = Column("right", "text", "", "treatment")
UNIT_KIND = Column("unit_kind", "text", "", "experimental unit")
TREATED_LEVEL = Column("level", "text", "", "treatment, or treatments joined by ':'")


def interval(what: str) -> tuple[Column, ...]:
    """Give the columns of a standard error and an interval."""
    return (
        Column("se", "number", "measure", f"standard error of the {what}"),
        DF,
        Column("lower", "number", "measure", "lower end of the interval"),
        Column("upper", "number", "measure", "upper end of the interval"),
    )


def tested() -> tuple[Column, ...]:
    """Give the columns of an F test."""
    return (
        Column("f", "number", "", "F value"),
        Column("df_num", "number", "", "numerator degrees of freedom"),
        Column("df_den", "number", "", "denominator degrees of freedom"),
        Column("p", "number", "", "p value, not adjusted"),
    )
