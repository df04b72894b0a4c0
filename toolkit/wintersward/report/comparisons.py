"""Rows of differences as tables show them: estimate, interval, error, degrees of freedom, p."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from wintersward.report.numbers import df_text, p_text, text
from wintersward.report.said import Said, interval_said, number, value_at
from wintersward.report.tables import Cell, Head
from wintersward.report.views import MeasureView, in_sentence, level_label, within_label
from wintersward.trial.schema import Definition

__all__ = [
    "difference_cells",
    "difference_heads",
    "in_order",
    "pair_rank",
    "pair_text",
    "said_or_dash",
]


def said_or_dash(table: str, frame: pd.DataFrame, at: int, column: str, shown: str) -> str | Said:
    """Tie a number to its place; a dash stands for what could not be estimated."""
    if not math.isfinite(value_at(frame, at, column)):
        return "–"
    return number(table, frame, at, column, shown)


def difference_heads(view: MeasureView, level: str, p: Sequence[str] = ("p",)) -> list[Head]:
    """Head the columns of `difference_cells`.

    Parameters
    ----------
    view : MeasureView
        The measure, for its unit.
    level : str
        Of the intervals, ``95 %``.
    p : sequence of str
        Heads of the p values.
    """
    unit = view.difference_unit
    return [
        Head("difference", unit, True),
        Head(f"{level} interval", unit, True),
        Head("standard error", unit, True),
        Head("df", "", True),
        *(Head(name, "", True) for name in p),
    ]


def difference_cells(
    table: str,
    frame: pd.DataFrame,
    at: int,
    view: MeasureView,
    decimals: int,
    p: Sequence[str] = ("p",),
) -> tuple[Cell, ...]:
    """Write one difference with everything that belongs to it.

    Parameters
    ----------
    table : str
        Name of the table.
    frame : DataFrame
        The table, in SI, with difference, lower, upper, se, df and the columns `p`.
    at : int
        Label of the row.
    view : MeasureView
        The measure.
    decimals : int
        Of the difference; its standard error has one more.
    p : sequence of str
        Columns of p values.
    """

    def said(name: str, shown: str) -> str | Said:
        return said_or_dash(table, frame, at, name, shown)

    def signed(name: str) -> str:
        return text(view.difference(value_at(frame, at, name)), decimals, signed=True)

    ends = {name: said(name, signed(name)) for name in ("lower", "upper")}
    se = text(view.difference(value_at(frame, at, "se")), decimals + 1)
    return (
        said("difference", signed("difference")),
        interval_said(ends),
        said("se", se),
        said("df", df_text(value_at(frame, at, "df"))),
        *(said(name, p_text(value_at(frame, at, name))) for name in p),
    )


def pair_text(definition: Definition, row: pd.Series) -> str:
    """Name what a row compares: left minus right, and inside which other treatment."""
    left, right = (level_label(definition, str(row[side])) for side in ("left", "right"))
    inside = row.get("within", "")
    within = within_label(definition, inside if isinstance(inside, str) else "")
    return f"{left} minus {in_sentence(right)}" + (
        f", with {in_sentence(within)}" if within else ""
    )


def pair_rank(definition: Definition, effect: str, left: str, right: str) -> tuple[int, ...]:
    """Rank pairs: by factor; within it the primary pairs, those with the control, the others."""
    factor = definition.treatments[effect]
    levels = list(factor.levels)
    kind = 1 if factor.control in (left, right) else 2
    if {left, right} in [set(pair) for pair in definition.analysis.primary.pairs]:
        kind = 0
    order = list(definition.treatments).index(effect)
    return order, kind, levels.index(left), levels.index(right)


def in_order(rows: pd.DataFrame, definition: Definition, first: Sequence[str] = ()) -> list[int]:
    """Put rows of pairs into the definition's order, whatever the order of their file.

    Parameters
    ----------
    rows : DataFrame
        With the columns left and right, levels of single factors; perhaps within and others.
    definition : Definition
        The trial.
    first : sequence of str
        Columns that go before the pair.

    Returns
    -------
    list of int
        Labels of the rows; rows that are alike in all of it keep their order.
    """

    def rank(at: int) -> tuple[object, ...]:
        row = rows.loc[at]
        left, right = str(row["left"]), str(row["right"])
        within = row.get("within", "")
        inside = within.partition("=")[2] if isinstance(within, str) else ""
        place = 0
        if inside:
            levels = list(definition.treatments[definition.factor_of(inside)].levels)
            place = 1 + levels.index(inside)
        pair = pair_rank(definition, definition.factor_of(left), left, right)
        return (*(row[name] for name in first), pair, place)

    return sorted(map(int, rows.index), key=rank)
