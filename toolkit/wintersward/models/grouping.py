"""Random terms as groupings of the rows, and the terms that a model cannot have."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from wintersward.errors import WinterswardError, listed
from wintersward.models.columns import Factor, label
from wintersward.models.formula import split_random

__all__ = ["Grouping", "build_groupings", "group_rows", "independent_blocks"]

Integers = NDArray[np.intp]


@dataclass(frozen=True)
class Grouping:
    """One random term: which rows share a level.

    Parameters
    ----------
    name : str
        As written, ``block:plot``.
    codes : (n,) int
        Group of each row, 0 to `count` - 1.
    count : int
        Number of groups.
    """

    name: str
    codes: Integers
    count: int

    def indicator(self) -> NDArray[np.float64]:
        """Give the (n, count) matrix of zeros and ones."""
        matrix = np.zeros((len(self.codes), self.count))
        matrix[np.arange(len(self.codes)), self.codes] = 1.0
        return matrix


def build_groupings(
    random: Sequence[str], groups: Mapping[str, Factor], rows_apart: bool = False
) -> tuple[Grouping, ...]:
    """Group the rows by each random term.

    Parameters
    ----------
    random : sequence of str
        Terms; a colon joins columns.
    groups : mapping of str to Factor
        The columns that they name.
    rows_apart : bool
        Whether a term may give every row its own level: beside a residual that is correlated over
        time it stands for what is independent from row to row.

    Returns
    -------
    tuple of Grouping
        In the order given.

    Raises
    ------
    WinterswardError
        All of: a term with one level, one that gives every row its own level (that is the
        residual), two that group the rows alike.
    """
    found: list[Grouping] = []
    problems: list[str] = []
    for name in random:
        codes = _joined([groups[column].codes for column in split_random(name)])
        grouping = Grouping(name, codes, int(codes.max()) + 1)
        problem = _problem(grouping, groups, rows_apart) or _twin(grouping, found)
        if problem:
            problems.append(problem)
        found.append(grouping)
    if problems:
        raise WinterswardError(problems)
    return tuple(found)


def group_rows(term: str, groups: Mapping[str, Factor]) -> tuple[Grouping, tuple[str, ...]]:
    """Group the rows by one term, and say what each group is called.

    Parameters
    ----------
    term : str
        Columns joined by colons.
    groups : mapping of str to Factor
        The columns that it names.

    Returns
    -------
    Grouping
    tuple of str
        Name of each group: its levels, joined by colons.
    """
    columns = [groups[column] for column in split_random(term)]
    codes = _joined([column.codes for column in columns])
    _, rows = np.unique(codes, return_index=True)
    said = tuple(":".join(label(c.levels[c.codes[row]]) for c in columns) for row in rows)
    return Grouping(term, codes, len(rows)), said


def _joined(columns: Sequence[Integers]) -> Integers:
    _, codes = np.unique(np.column_stack(columns), axis=0, return_inverse=True)
    return codes.reshape(-1).astype(np.intp)


def _problem(grouping: Grouping, groups: Mapping[str, Factor], rows_apart: bool) -> str:
    if grouping.count == 1:
        columns = split_random(grouping.name)
        only = listed(f"{c}={label(groups[c].levels[0])}" for c in columns)
        return f"random term {grouping.name}: has only one level ({only}); a variance needs two"
    if grouping.count == len(grouping.codes) and not rows_apart:
        return (
            f"random term {grouping.name}: every row has its own level, so it is the residual;"
            " leave the term out"
        )
    return ""


def _twin(grouping: Grouping, earlier: Sequence[Grouping]) -> str:
    for other in earlier:
        pairs = {*zip(grouping.codes.tolist(), other.codes.tolist(), strict=True)}
        if len(pairs) == grouping.count == other.count:
            return (
                f"random terms {other.name} and {grouping.name}: group the rows alike, so the data"
                " cannot tell them apart; leave one out"
            )
    return ""


def independent_blocks(groupings: Sequence[Grouping], rows: int) -> list[Integers]:
    """Part the rows into blocks that share no random level.

    Parameters
    ----------
    groupings : sequence of Grouping
        Terms that correlate rows.
    rows : int
        Number of rows.

    Returns
    -------
    list of (m,) int
        Rows of each block; all rows in one block when there are no groupings.
    """
    if not groupings:
        return [np.arange(rows)]
    starts = np.cumsum([rows, *(g.count for g in groupings)])
    left = np.tile(np.arange(rows), len(groupings))
    right = np.concatenate([g.codes + s for g, s in zip(groupings, starts, strict=False)])
    links = sparse.coo_matrix((np.ones(len(left)), (left, right)), shape=(starts[-1],) * 2)
    _, names = sparse.csgraph.connected_components(links, directed=False)
    order = np.argsort(names[:rows], kind="stable")
    edges = np.flatnonzero(np.diff(names[:rows][order])) + 1
    return np.split(order, edges)
