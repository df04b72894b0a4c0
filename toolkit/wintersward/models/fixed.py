"""The fixed part of a model: its matrix, its terms, and what it can and cannot estimate."""

from __future__ import annotations

import functools
import itertools
import re
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from formulaic import Formula, ModelSpec
from formulaic.errors import FormulaicError
from formulaic.parser.types import Factor as Variable
from formulaic.parser.types import Term
from numpy.typing import NDArray

from wintersward.errors import WinterswardError, listed
from wintersward.models.columns import Columns, Factor, label
from wintersward.models.formula import Member, ParsedTerm
from wintersward.models.notes import Note

__all__ = ["FixedPart", "build_fixed"]

Floats = NDArray[np.float64]
_DEPENDENT = 1e-10
_ESTIMABLE = 1e-8
_COLUMN = re.compile(r"C\(_(\d+)_, contr\.sum\)\[(?:S\.)?(\d+)\]")


@dataclass(frozen=True)
class FixedPart:
    """Columns of the fixed part, sum-to-zero coded.

    Parameters
    ----------
    names : tuple of str
        Names of all columns, aliased ones among them.
    terms : dict of str to slice
        Columns of each term.
    factors : dict of str to Factor
        Factors in the order of the formula.
    covariates : dict of str to float
        Mean of each number column.
    kept : (p,) int
        Columns that do not repeat earlier ones.
    null : (columns, a) float
        Basis of the coefficient vectors that leave every fitted value as it is.
    basis : (n, p) float
        Orthonormal columns Q; ``x[:, kept] = basis @ triangle``.
    triangle : (p, p) float
        Upper triangular R.
    empty_cells : dict of str to tuple
        For each interaction of factors, the combinations of levels without any row.
    spec : ModelSpec
        How to build the columns for other rows.
    """

    names: tuple[str, ...]
    terms: dict[str, slice]
    factors: dict[str, Factor]
    covariates: dict[str, float]
    kept: NDArray[np.intp]
    null: Floats
    basis: Floats
    triangle: Floats
    empty_cells: dict[str, tuple[tuple[Hashable, ...], ...]]
    spec: ModelSpec

    @functools.cached_property
    def grid(self) -> Floats:
        """Columns for every combination of levels, (k1, k2, ..., columns).

        One axis a factor, in the order of `factors`; covariates at their means.
        """
        sizes = [len(factor.levels) for factor in self.factors.values()]
        codes = np.array(list(np.ndindex(*sizes)), dtype=np.intp).T
        rows = codes.shape[1]
        numbers = {name: np.full(rows, mean) for name, mean in self.covariates.items()}
        frame = _frame(dict(zip(self.factors, codes, strict=True)), self.factors, numbers, rows)
        matrix = self.spec.get_model_matrix(frame, context={})
        return np.asarray(matrix, dtype=float).reshape(*sizes, len(self.names))

    def estimable(self, weights: Floats) -> NDArray[np.bool_]:
        """Tell which linear functions of the coefficients the data determine.

        Parameters
        ----------
        weights : (m, columns) float
            One function a row.

        Returns
        -------
        (m,) bool
        """
        if not self.null.shape[1]:
            return np.ones(len(weights), dtype=bool)
        size = np.abs(weights) @ np.abs(self.null) + 1e-300
        return (np.abs(weights @ self.null) <= _ESTIMABLE * size.max(axis=1, keepdims=True)).all(
            axis=1
        )

    def reduced(self, weights: Floats) -> Floats:
        """Rewrite functions of the coefficients as functions on the orthonormal basis."""
        return np.asarray(np.linalg.solve(self.triangle.T, weights[:, self.kept].T).T)

    def hypothesis(self, term: str) -> Floats:
        """Give the estimable functions of one term's coefficients alone.

        Returns
        -------
        (q, columns) float
            The identity on the term's columns unless some are aliased.
        """
        columns = range(*self.terms[term].indices(len(self.names)))
        eye = np.eye(len(self.names))[list(columns)]
        tied = self.null[list(columns)]
        if not tied.any():
            return eye
        left, sizes, _ = np.linalg.svd(tied, full_matrices=True)
        rank = int((sizes > _ESTIMABLE).sum())
        return left[:, rank:].T @ eye


def build_fixed(
    terms: Sequence[ParsedTerm], columns: Columns
) -> tuple[FixedPart, tuple[Note, ...]]:
    """Build the fixed part for the rows at hand.

    Parameters
    ----------
    terms : sequence of ParsedTerm
        From `parse_fixed`.
    columns : Columns
        From `take_columns`.

    Returns
    -------
    FixedPart
    tuple of Note
        Aliased columns, empty cells.

    Raises
    ------
    WinterswardError
        If an expression cannot be computed or uses a factor within a function.
    """
    order = {name: factor for term in terms for name, factor in _factors(term, columns)}
    formula = Formula([_coded_term(term, order) for term in terms])
    codes = {name: factor.codes for name, factor in order.items()}
    frame = _frame(codes, order, columns.numbers, len(columns.response))
    try:
        matrix = formula.get_model_matrix(frame, context={}, na_action="raise")
    except (FormulaicError, ValueError, TypeError, NameError, AttributeError) as error:
        raise WinterswardError(
            f"fixed formula: cannot compute {listed(t.name for t in terms)}; {error}"
        ) from None
    x = np.asarray(matrix, dtype=float)
    if not x.shape[1]:
        raise WinterswardError("fixed formula: has no columns; write at least 1")
    if not np.isfinite(x).all():
        raise WinterswardError(
            "fixed formula: an expression gives values that are not finite numbers"
        )
    names = tuple(_readable(str(name), order) for name in matrix.columns)
    slices = dict(zip((t.name for t in terms), matrix.model_spec.term_slices.values(), strict=True))
    kept, null = _independent(x)
    basis, triangle = (np.asarray(part, dtype=float) for part in np.linalg.qr(x[:, kept]))
    empty = {t.name: cells for t in terms if (cells := _empty_cells(t, order))}
    means = {name: float(values.mean()) for name, values in columns.numbers.items()}
    part = FixedPart(
        names, slices, order, means, kept, null, basis, triangle, empty, matrix.model_spec
    )
    return part, _notes(part)


def _factors(term: ParsedTerm, columns: Columns) -> list[tuple[str, Factor]]:
    found = []
    for member in term.members:
        if member.bare and member.columns[0] in columns.factors:
            found.append((member.columns[0], columns.factors[member.columns[0]]))
        elif any(name in columns.factors for name in member.columns):
            factor = next(name for name in member.columns if name in columns.factors)
            raise WinterswardError(
                f"fixed formula: found {member.expression}, but {factor} is a factor;"
                " allowed: a factor's name alone"
            )
    return found


def _coded_term(term: ParsedTerm, order: Mapping[str, Factor]) -> Term:
    position = {name: i for i, name in enumerate(order)}

    def variable(member: Member) -> Variable:
        if not member.bare:
            return Variable(member.expression, eval_method="python")
        name = member.columns[0]
        if name in position:
            return Variable(f"C(_{position[name]}_, contr.sum)", eval_method="python")
        return Variable(name, eval_method="lookup")

    if not term.members:
        return Term([Variable("1", eval_method="literal")])
    return Term([variable(member) for member in term.members])


def _frame(
    codes: Mapping[str, NDArray[np.intp]],
    factors: Mapping[str, Factor],
    numbers: Mapping[str, Floats],
    rows: int,
) -> pd.DataFrame:
    coded: dict[str, object] = {
        f"_{i}_": pd.Categorical(codes[name], categories=range(len(factor.levels)))
        for i, (name, factor) in enumerate(factors.items())
    }
    return pd.DataFrame({**coded, **numbers}, index=range(rows))


def _readable(name: str, factors: Mapping[str, Factor]) -> str:
    order = list(factors.items())

    def said(match: re.Match[str]) -> str:
        factor, coded = order[int(match[1])]
        return f"{factor}[{label(coded.levels[int(match[2])])}]"

    return _COLUMN.sub(said, name)


def _independent(x: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Keep the earliest independent columns; give the null space of all of them.

    A column is dropped when what remains of it, once the kept ones are taken out (twice, for
    accuracy), is nothing but rounding.
    """
    rows, columns = x.shape
    norms = np.linalg.norm(x, axis=0)
    scaled = x / np.where(norms > 0, norms, 1.0)
    if rows >= columns and np.linalg.svd(scaled, compute_uv=False)[-1] > 1e3 * _DEPENDENT:
        return np.arange(columns), np.zeros((columns, 0))
    kept: list[int] = []
    found = np.empty((rows, 0))
    for j in range(columns):
        left = scaled[:, j] - found @ (found.T @ scaled[:, j])
        left -= found @ (found.T @ left)
        size = np.linalg.norm(left)
        if size > _DEPENDENT:
            kept.append(j)
            found = np.column_stack([found, left / size])
    null = np.zeros((columns, columns - len(kept)))
    for k, j in enumerate(sorted(set(range(columns)) - set(kept))):
        null[kept, k] = np.linalg.lstsq(x[:, kept], x[:, j], rcond=None)[0]
        null[j, k] = -1.0
    null[np.abs(null) < 1e-12] = 0.0
    return np.array(kept, dtype=np.intp), np.linalg.qr(null)[0] if null.size else null


def _empty_cells(
    term: ParsedTerm, factors: Mapping[str, Factor]
) -> tuple[tuple[Hashable, ...], ...]:
    names = [m.columns[0] for m in term.members if m.bare and m.columns[0] in factors]
    if len(names) < 2:
        return ()
    seen = set(zip(*(factors[name].codes.tolist() for name in names), strict=True))
    sizes = [range(len(factors[name].levels)) for name in names]
    return tuple(
        tuple(factors[name].levels[code] for name, code in zip(names, cell, strict=True))
        for cell in itertools.product(*sizes)
        if cell not in seen
    )


def _notes(part: FixedPart) -> tuple[Note, ...]:
    notes = []
    for term, cells in part.empty_cells.items():
        said = tuple(" with ".join(label(level) for level in cell) for cell in cells)
        text = f"{term}: no observations of {listed(said)}"
        notes.append(Note("empty-cells", text, (term, *said), len(cells)))
    aliased = tuple(name for j, name in enumerate(part.names) if j not in set(part.kept.tolist()))
    if aliased:
        text = f"columns that repeat earlier ones, left out: {listed(aliased)}"
        notes.append(Note("aliased-columns", text, aliased, len(aliased)))
    return tuple(notes)
