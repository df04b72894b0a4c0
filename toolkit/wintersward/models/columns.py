"""Taking from a frame the columns that a model needs: complete rows, coded factors."""

from __future__ import annotations

import datetime
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas.api import types

from wintersward.errors import WinterswardError, closest, listed
from wintersward.models.notes import Note

__all__ = ["Columns", "Factor", "Times", "label", "take_columns"]

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]


@dataclass(frozen=True)
class Factor:
    """A column as levels and codes.

    Parameters
    ----------
    levels : tuple
        Values in their order.
    codes : (n,) int
        Position in `levels` of each row.
    """

    levels: tuple[Hashable, ...]
    codes: Integers


@dataclass(frozen=True)
class Times:
    """A column of times.

    Parameters
    ----------
    values : (n,) float [unit of the column; days since `origin` for dates]
        When each row was observed.
    origin : Timestamp or None
        Earliest date; None where the column holds numbers.
    """

    values: Floats
    origin: pd.Timestamp | None

    def said(self, value: float) -> str:
        """Write a time as people read it."""
        if self.origin is None:
            return f"{value:.10g}"
        return label((self.origin + pd.Timedelta(days=value)).round("us"))


@dataclass(frozen=True)
class Columns:
    """The rows and columns that enter a fit.

    Parameters
    ----------
    index : Index
        Index, in the given frame, of the n rows kept.
    response : (n,) float
        The response, in its own unit.
    factors : dict of str to Factor
        Factors of the fixed part.
    numbers : dict of str to (n,) float
        Covariates of the fixed part.
    groups : dict of str to Factor
        Columns of the random terms, whatever their type.
    notes : tuple of Note
        Rows left out, declared levels without rows.
    times : Times or None
        When the rows were observed, where that was asked for.
    """

    index: pd.Index
    response: Floats
    factors: dict[str, Factor]
    numbers: dict[str, Floats]
    groups: dict[str, Factor]
    notes: tuple[Note, ...]
    times: Times | None = None


def label(level: object) -> str:
    """Write a level as people read it; midnight time stamps as dates.

    Examples
    --------
    >>> label(pd.Timestamp("2026-03-24")), label("open"), label(3)
    ('2026-03-24', 'open', '3')
    """
    if isinstance(level, pd.Timestamp):
        return level.date().isoformat() if level == level.normalize() else level.isoformat()
    return str(level)


def take_columns(
    data: pd.DataFrame,
    response: str,
    fixed: Sequence[str],
    as_factors: Iterable[str],
    grouping: Sequence[str],
    time: str | None = None,
) -> Columns:
    """Pick complete rows and code the factors.

    Parameters
    ----------
    data : DataFrame
        One row an observation.
    response : str
        Column of numbers to explain.
    fixed : sequence of str
        Columns of the fixed formula.
    as_factors : iterable of str
        Number columns to be taken as factors all the same.
    grouping : sequence of str
        Columns of the random terms.
    time : str, optional
        Column of numbers or dates by which residuals are correlated.

    Returns
    -------
    Columns

    Raises
    ------
    WinterswardError
        All of: an unknown column, a response that is not of finite numbers, a factor with one
        level, no complete row.

    Notes
    -----
    Text, categorical, true/false and date columns are factors; number columns are covariates.
    Levels stand in the order of the categories where the column is categorical, else sorted,
    so that the order of rows never matters. Declared categories without rows are left out.
    """
    explaining = [*fixed, *grouping, *([] if time is None else [time])]
    used = list(dict.fromkeys([response, *explaining]))
    _known(data, used)
    frame = data.loc[:, used]
    _numeric_response(frame[response], response, explaining)
    missing = frame.isna()
    rows = np.flatnonzero(~missing.to_numpy().any(axis=1))
    if not rows.size:
        raise WinterswardError(f"no row of {len(frame)} has a value in every one of {listed(used)}")
    notes = _dropped(missing, rows.size)
    frame = frame.iloc[rows]
    factor_names = set(as_factors)
    factors, numbers, problems = {}, {}, []
    for name in dict.fromkeys(fixed):
        if (
            name in factor_names
            or not types.is_numeric_dtype(frame[name].dtype)
            or (types.is_bool_dtype(frame[name].dtype))
        ):
            factors[name] = _coded(frame[name])
            notes += _unused(frame[name], factors[name])
            problems += _single_level(name, factors[name], "a comparison")
        else:
            numbers[name] = frame[name].to_numpy(dtype=float)
            problems += _finite(name, numbers[name])
    groups = {name: _coded(frame[name]) for name in dict.fromkeys(grouping)}
    y = frame[response].to_numpy(dtype=float)
    problems += _finite(response, y)
    times = None if time is None else _timed(time, frame[time], problems)
    if problems:
        raise WinterswardError(problems)
    return Columns(frame.index, y, factors, numbers, groups, tuple(notes), times)


def _timed(name: str, values: pd.Series, problems: list[str]) -> Times | None:
    """Read times; what cannot be read is added to the problems."""
    if isinstance(values.dtype, pd.CategoricalDtype):
        values = values.astype(values.cat.categories.dtype)
    if types.is_numeric_dtype(values.dtype) and not types.is_bool_dtype(values.dtype):
        numbers = values.to_numpy(dtype=float)
        problems += _finite(name, numbers)
        return Times(numbers, None)
    dated = types.is_datetime64_any_dtype(values.dtype) or all(
        isinstance(value, datetime.date) for value in values
    )
    if not dated:
        problems.append(
            f"time {name}: found {values.dtype} values, such as {values.iloc[0]!r}; allowed: a"
            " column of numbers or of dates (pandas.to_datetime makes one)"
        )
        return None
    stamps = pd.to_datetime(values)
    origin = stamps.min()
    return Times(np.asarray((stamps - origin) / pd.Timedelta(days=1), dtype=float), origin)


def _known(data: pd.DataFrame, used: Sequence[str]) -> None:
    unknown = [name for name in used if name not in data.columns]
    if unknown:
        raise WinterswardError([_unknown(name, data.columns) for name in unknown])
    twice = [name for name in used if list(data.columns).count(name) > 1]
    if twice:
        raise WinterswardError(f"column {twice[0]} stands twice in the data; rename one")


def _unknown(name: str, columns: Iterable[Hashable]) -> str:
    known = [str(column) for column in columns]
    hint = closest(name, known)
    said = f"column {name}: not in the data; allowed: {listed(known)}"
    return f"{said}; {hint}" if hint else said


def _numeric_response(values: pd.Series, response: str, explaining: Sequence[str]) -> None:
    if not types.is_numeric_dtype(values.dtype) or types.is_bool_dtype(values.dtype):
        raise WinterswardError(
            f"response {response}: found {values.dtype} values; allowed: a column of numbers"
        )
    if response in explaining:
        raise WinterswardError(f"response {response}: also stands among the terms; take it out")


def _dropped(missing: pd.DataFrame, kept: int) -> list[Note]:
    lost = len(missing) - kept
    if not lost:
        return []
    counts = missing.sum()
    where = [(str(name), int(count)) for name, count in counts.items() if count]
    said = listed(f"{name} in {count}" for name, count in where)
    return [
        Note(
            "dropped-rows",
            f"{lost} of {len(missing)} rows left out because a value is missing: {said}",
            tuple(name for name, _ in where),
            lost,
        )
    ]


def _coded(values: pd.Series) -> Factor:
    if isinstance(values.dtype, pd.CategoricalDtype):
        present = set(values.unique())
        levels = [level for level in values.cat.categories if level in present]
    else:
        levels = list(values.unique())
        try:
            levels.sort()
        except TypeError:
            levels.sort(key=lambda level: (type(level).__name__, str(level)))
    place = {level: i for i, level in enumerate(levels)}
    codes = np.array([place[value] for value in values.tolist()], dtype=np.intp)
    return Factor(tuple(_plain(level) for level in levels), codes)


def _plain(level: Hashable) -> Hashable:
    return level.item() if isinstance(level, np.generic) else level


def _unused(values: pd.Series, factor: Factor) -> list[Note]:
    if not isinstance(values.dtype, pd.CategoricalDtype):
        return []
    present = set(factor.levels)
    spare = [label(level) for level in values.cat.categories if level not in present]
    if not spare:
        return []
    said = f"{values.name}: no row carries {listed(spare)}; left out"
    return [Note("unused-levels", said, (str(values.name), *spare), len(spare))]


def _single_level(name: str, factor: Factor, purpose: str) -> list[str]:
    if len(factor.levels) > 1:
        return []
    only = label(factor.levels[0])
    return [f"factor {name}: has only one level, {only}; {purpose} needs two"]


def _finite(name: str, values: Floats) -> list[str]:
    wild = int((~np.isfinite(values)).sum())
    if not wild:
        return []
    return [f"column {name}: {wild} values are infinite; allowed: finite numbers"]
