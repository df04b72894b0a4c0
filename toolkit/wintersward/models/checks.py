"""Models that the data cannot carry, refused by name."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from wintersward.errors import WinterswardError, listed
from wintersward.models.blocks import Stacks
from wintersward.models.reml import Maximum, curvature, evaluate

__all__ = ["check_identified", "check_residual"]

_TOLD_APART = 1e-9
_RESIDUAL = 1e-8


def check_identified(data: Stacks, names: Sequence[str]) -> None:
    """Refuse random terms whose variance the data cannot tell from the rest of the model.

    Parameters
    ----------
    data : Stacks
        All data.
    names : sequence of str
        Names of the random terms, in their order.

    Raises
    ------
    WinterswardError
        Naming each such term.

    Notes
    -----
    With P the projection off the fixed columns, the matrices P V_i P must be linearly independent.
    Their inner products are the expected information at a residual variance of 1 and all other
    variances 0; the check adds one term at a time to the residual.
    """
    if not names:
        return
    parameters = np.zeros(data.parameters)
    parameters[-1] = 1.0
    gram = curvature(data, evaluate(data, parameters)).expected
    whole = [
        sum(float((p.first(parameters[:1])[0] ** 2).sum()) for p in pieces) / 2.0
        for pieces in zip(*(stack.pieces for stack in data.stacks), strict=True)
    ]
    problems, kept = [], [data.parameters - 1]
    for i, name in enumerate(names):
        if gram[i, i] <= _TOLD_APART * whole[i]:
            problems.append(
                f"random term {name}: the fixed part already holds a level for each of its levels;"
                " leave one of the two out"
            )
            continue
        tied = np.linalg.lstsq(gram[np.ix_(kept, kept)], gram[kept, i], rcond=None)[0]
        if gram[i, i] - gram[i, kept] @ tied <= _TOLD_APART * gram[i, i]:
            others = [names[j] for j in kept if j < len(names)]
            said = listed(["the residual", *others])
            problems.append(
                f"random term {name}: these data cannot tell its variance from {said}; leave it"
                " out, or bring more rows to each of its levels"
            )
            continue
        kept.append(i)
    if problems:
        raise WinterswardError(problems)


def check_residual(maximum: Maximum, names: Sequence[str]) -> None:
    """Refuse a fit whose residual variance went to zero.

    Parameters
    ----------
    maximum : Maximum
        Where the search ended, on the scale of an ordinary residual variance of 1.
    names : sequence of str
        Names of the random terms.

    Raises
    ------
    WinterswardError
        If nothing varies within the levels of the random terms.
    """
    if maximum.point.parameters[-1] <= _RESIDUAL:
        raise WinterswardError(
            f"the rows do not vary within the levels of {listed(names)}, so the residual variance"
            " is zero; are values copied from row to row?"
        )
