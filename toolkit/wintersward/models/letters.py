"""Letters beside means: two means share a letter just where they are not told apart.

Notes
-----
Insert and absorb. One group holds all levels. For each pair that differs, every group that holds
both is split in two, one without the first and one without the second; a group that lies within
another is dropped. What is left are the largest groups without a differing pair. Sweeping then
takes away what is not needed: first whole groups, then single members, as long as every pair that
does not differ still shares a group.

References
----------
Piepho, H.-P. (2004). An algorithm for a letter-based representation of all-pairwise comparisons.
Journal of Computational and Graphical Statistics 13, 456-466. doi:10.1198/1061860043515
"""

from __future__ import annotations

import itertools
import string
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from wintersward.errors import WinterswardError
from wintersward.models.adjust import checked_adjustment
from wintersward.models.contrasts import pairs
from wintersward.models.means import means, named

if TYPE_CHECKING:
    from wintersward.models.fit import MixedFit

__all__ = ["letters", "letters_of", "share_letters"]

Floats = NDArray[np.float64]
_ALPHABET = string.ascii_lowercase


def letters(
    fit: MixedFit,
    factors: str | Sequence[str],
    by: str | Sequence[str] | None = None,
    alpha: float = 0.05,
    adjust: str = "tukey",
) -> pd.DataFrame:
    """Give each mean its letters; see `MixedFit.letters`."""
    if not 0.0 < alpha < 1.0:
        raise WinterswardError(f"alpha: found {alpha}; allowed: over 0 and under 1, such as 0.05")
    if checked_adjustment(adjust) == "dunnett":
        raise WinterswardError(
            "adjust: dunnett compares with a control only; letters need all pairs: use tukey, holm,"
            " bonferroni or none"
        )
    compared = pairs(fit, factors, by, adjust, 1.0 - alpha)
    table = means(fit, factors, by)
    lead, names = named(fit.fixed_part, by), named(fit.fixed_part, factors)
    size = int(np.prod([len(fit.levels[name]) for name in names]))
    # Both tables list the levels in their order, `by` slowest, and pairs as the upper triangle.
    p = np.full((len(table) // size, size, size), np.nan)
    first, second = np.triu_indices(size, 1)
    p[:, first, second] = p[:, second, first] = compared["p"].to_numpy().reshape(-1, len(first))
    centres = table["mean"].to_numpy().reshape(-1, size)
    found = [letters_of(centre, own, alpha) for centre, own in zip(centres, p, strict=True)]
    table["letters"] = list(itertools.chain.from_iterable(found))
    return table[[*lead, *names, "mean", "letters"]]


def letters_of(mean: Floats, p: Floats, alpha: float) -> list[str]:
    """Give letters to the means of one family.

    Parameters
    ----------
    mean : (k,) float
        Means; NaN where the data do not determine one.
    p : (k, k) float
        Probabilities of their differences, symmetric; the diagonal is not read.
    alpha : float
        Two means share a letter where their p is `alpha` or more.

    Returns
    -------
    list of str
        In the order of `mean`; the largest mean has an a. Empty for a mean that is NaN, and for
        all if a pair of the others has no p.

    Examples
    --------
    >>> p = np.array([[1.0, 0.3, 0.01], [0.3, 1.0, 0.2], [0.01, 0.2, 1.0]])
    >>> letters_of(np.array([61.0, 66.0, 70.0]), p, 0.05)
    ['b', 'ab', 'a']
    """
    order = [int(i) for i in np.argsort(-mean, kind="stable") if np.isfinite(mean[i])]
    given = [""] * len(mean)
    known = p[np.ix_(order, order)]
    if np.isnan(known[np.triu_indices(len(order), 1)]).any():
        return given
    for i, own in zip(order, share_letters(known < alpha), strict=True):
        given[i] = own
    return given


def share_letters(differs: ArrayLike) -> list[str]:
    """Give letters so that two levels share one just where they do not differ.

    Parameters
    ----------
    differs : (k, k) bool
        Which levels differ, symmetric; the diagonal is not read.

    Returns
    -------
    list of str
        In the order of the levels; the first level has an a. No letter of a level can be left out.
        Beyond z come aa, ab and so on, and then a space parts the letters of a level.

    Raises
    ------
    WinterswardError
        If `differs` is not square and symmetric.

    Examples
    --------
    >>> share_letters([[False, False, True], [False, False, False], [True, False, False]])
    ['a', 'ab', 'b']
    """
    apart = np.array(differs, dtype=bool)
    if apart.ndim != 2 or apart.shape[0] != apart.shape[1]:
        raise WinterswardError(f"differs: found the shape {apart.shape}; allowed: square")
    np.fill_diagonal(apart, False)
    if (apart != apart.T).any():
        raise WinterswardError("differs: found one that is not symmetric; allowed: symmetric")
    size = len(apart)
    groups = _swept(_absorbed(apart), size)
    groups.sort(key=sorted)
    between = " " if len(groups) > len(_ALPHABET) else ""
    names = [_name(i) for i in range(len(groups))]
    own = [[n for n, group in zip(names, groups, strict=True) if i in group] for i in range(size)]
    return [between.join(letters) for letters in own]


def _absorbed(apart: NDArray[np.bool_]) -> list[set[int]]:
    """Give the largest groups of levels of which no two differ."""
    groups = [set(range(len(apart)))] if len(apart) else []
    for i, j in zip(*(index.tolist() for index in np.nonzero(np.triu(apart))), strict=True):
        split = [group for group in groups if {i, j} <= group]
        kept = [group for group in groups if not {i, j} <= group]
        for part in [group - {gone} for group in split for gone in (i, j)]:
            if not any(part <= group for group in kept):
                kept = [group for group in kept if not group <= part]
                kept.append(part)
        groups = kept
    return groups


def _swept(groups: list[set[int]], size: int) -> list[set[int]]:
    """Take away groups, then members, that no pair needs."""
    shared = np.zeros((size, size), dtype=int)
    for group in groups:
        shared[np.ix_(list(group), list(group))] += 1
    kept = []
    for group in sorted(groups, key=sorted, reverse=True):
        inside = np.ix_(list(group), list(group))
        if (shared[inside] > 1).all():
            shared[inside] -= 1
        else:
            kept.append(group)
    for group in kept:
        for member in sorted(group, reverse=True):
            others = list(group)
            if (shared[member, others] > 1).all():
                shared[member, others] -= 1
                shared[others, member] = shared[member, others]
                group.discard(member)
    return kept


def _name(place: int) -> str:
    """Name a group: a to z, then aa, ab and so on."""
    name = ""
    place += 1
    while place:
        place, left = divmod(place - 1, len(_ALPHABET))
        name = _ALPHABET[left] + name
    return name
