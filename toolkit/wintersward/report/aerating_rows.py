"""Rows of the ways to aerate as a reader meets them: their order, their numbers, their days."""

from __future__ import annotations

import math

import pandas as pd

from wintersward.decisions.planner import BASES, options
from wintersward.report.numbers import text
from wintersward.report.said import Said, Sentence, interval_said, number, value_at
from wintersward.trial import Definition

__all__ = ["DAYS", "NAME", "basis_of", "days_of", "ends", "in_order", "numbered", "whole"]

NAME, DAYS = "aeration_options", "aeration_days"


def in_order(found: pd.DataFrame, definition: Definition) -> list[int]:
    """List the rows in the definition's order, treatments first.

    Parameters
    ----------
    found : DataFrame
        The table ``aeration_options``.
    definition : Definition
        The trial.
    """
    order = {option.name: at for at, option in enumerate(options(definition))}
    return sorted(map(int, found.index), key=lambda at: order.get(str(found.at[at, "option"]), 99))


def basis_of(row: pd.Series) -> str:
    """Tell by which of `wintersward.decisions.planner.BASES` the days of a row are known."""
    said = str(row["days_basis"])
    return next(basis for basis, words in BASES.items() if words == said)


def days_of(days: pd.DataFrame, option: str, definition: Definition) -> list[int]:
    """List the rows of the table ``aeration_days`` of an option, in the definition's order."""
    order = [level for factor in definition.treatments.values() for level in factor.levels]
    rows = [int(at) for at in days.index if str(days.at[at, "option"]) == option]
    ranked = {at: str(days.at[at, "within"] or "").partition("=")[2] for at in rows}
    return sorted(rows, key=lambda at: order.index(ranked[at]) if ranked[at] in order else -1)


def numbered(
    found: pd.DataFrame, at: int, column: str, shown: float, decimals: int, table: str = NAME
) -> Said | str:
    """Write a number of the table as it is shown, in the reader's unit; a dash where there is none.

    Parameters
    ----------
    found : DataFrame
        The table.
    at : int
        Label of the row.
    column : str
        Column that holds the number, in SI.
    shown : float
        The number in the reader's unit.
    decimals : int
        How it is rounded.
    table : str
        Its name.
    """
    if not math.isfinite(shown):
        return "–"
    return number(table, found, at, column, text(shown, decimals))


def whole(found: pd.DataFrame, at: int, column: str) -> Said | str:
    """Write a count of the table; a dash where there is none."""
    return numbered(found, at, column, value_at(found, at, column), 0)


def ends(
    found: pd.DataFrame, at: int, low: str, high: str, signed: bool = False, table: str = NAME
) -> Sentence | str:
    """Write fewest and most days; open where the most, or the fewest to spare, are not known."""
    values = {name: value_at(found, at, name) for name in (low, high)}
    said = {
        side: number(table, found, at, name, text(values[name], 0, signed))
        for side, name in (("lower", low), ("upper", high))
        if math.isfinite(values[name])
    }
    if len(said) == 2 and said["lower"].text == said["upper"].text:
        return Sentence("{lower}", said)
    if len(said) == 2:
        return interval_said(said)
    if "lower" in said:
        return Sentence("{lower} or more", said)
    return Sentence("{upper} at best", said) if said else "–"
