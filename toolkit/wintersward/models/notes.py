"""What a fit wants said about itself, as values that a report can show."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["NOTE_CODES", "Note"]

NOTE_CODES = {
    "aliased-columns": "columns of the fixed part that repeat others and were left out",
    "bound-correlation": "a correlation estimated at the end of its range",
    "containment-df": "degrees of freedom taken from the strata, not from Kenward-Roger",
    "dropped-rows": "rows with a missing value, left out of the fit",
    "empty-cells": "combinations of a fixed interaction that were never observed",
    "non-estimable": "means or contrasts that these data cannot give",
    "not-converged": "the search for the variances stopped early",
    "starts-disagree": "searches that ended at different tops of the likelihood; the best is kept",
    "unused-levels": "declared levels that no row carries",
    "zero-variance": "a random term whose variance is estimated as zero",
}


@dataclass(frozen=True)
class Note:
    """One thing to know about a fit.

    Parameters
    ----------
    code : str
        One of `NOTE_CODES`.
    text : str
        The same in a plain sentence.
    about : tuple of str
        The columns, terms or cells that it speaks of.
    count : int
        How many rows, cells or columns; 0 where a count has no meaning.

    Examples
    --------
    >>> Note("dropped-rows", "2 of 72 rows left out", ("yield",), 2).code
    'dropped-rows'
    """

    code: str
    text: str
    about: tuple[str, ...] = ()
    count: int = 0
