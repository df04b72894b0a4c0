"""Models that the data cannot carry, refused by name."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from wintersward.errors import WinterswardError, listed
from wintersward.models.blocks import Stacks
from wintersward.models.curvature import curvature
from wintersward.models.grouping import Grouping
from wintersward.models.reml import Maximum, evaluate
from wintersward.models.residual import Residual

__all__ = ["check_identified", "check_residual"]

Floats = NDArray[np.float64]
_TOLD_APART = 1e-9
_HELD = 1e-9
_RESIDUAL = 1e-8


def check_identified(
    data: Stacks, basis: Floats, groupings: Sequence[Grouping], residual: Residual
) -> None:
    """Refuse variances and correlations that the data cannot tell from the rest of the model.

    Parameters
    ----------
    data : Stacks
        All data.
    basis : (n, p) float
        Orthonormal columns of the fixed part.
    groupings : sequence of Grouping
        Random terms, in their order.
    residual : Residual
        Of the model.

    Raises
    ------
    WinterswardError
        Naming each such variance or correlation.

    Notes
    -----
    With P the projection off the fixed columns, the matrices P V_i P must be linearly independent.
    Their inner products are the expected information at a residual variance of 1 and no random
    variation; the check takes the residual first and adds one term at a time.
    """
    if data.parameters == 1:
        return
    gram = curvature(data, evaluate(data, data.space.reference())).expected
    problems, kept = _residual_problems(gram, data, residual)
    said = _residual_said(residual)
    for i, grouping in enumerate(groupings):
        if _is_held(basis, grouping):
            problems.append(
                f"random term {grouping.name}: the fixed part already holds a level for each of"
                " its levels; leave one of the two out"
            )
        elif _tied(gram, i, kept):
            others = [groupings[j].name for j in kept if j < len(groupings)]
            problems.append(
                f"random term {grouping.name}: these data cannot tell its variance from"
                f" {listed([*said, *others])}; {_remedy(grouping, residual)}"
            )
        else:
            kept.append(i)
    if problems:
        raise WinterswardError(problems)


def _residual_problems(
    gram: Floats, data: Stacks, residual: Residual
) -> tuple[list[str], list[int]]:
    """Tell which parameters of the residual are lost, and which are kept."""
    problems: list[str] = []
    kept: list[int] = []
    first = data.space.terms
    for i, name in enumerate(residual.names, start=first):
        if gram[i, i] <= _TOLD_APART or _tied(gram, i, kept):
            problems.append(
                f"{name}: the fixed part leaves nothing to estimate this variance from; leave"
                " variance_by out, or join the level with another"
            )
        else:
            kept.append(i)
    last = data.space.variances
    if residual.serial is not None:
        if gram[last, last] <= _TOLD_APART or _tied(gram, last, kept):
            subject = residual.serial.subject.name
            problems.append(
                f"repeated: the fixed part leaves no two times of a {subject} to estimate a"
                " correlation from; leave repeated out"
            )
        else:
            kept.append(last)
    return problems, kept


def _residual_said(residual: Residual) -> list[str]:
    over_time = "" if residual.serial is None else " with its correlation over time"
    return [f"the residual{over_time}"]


def _remedy(grouping: Grouping, residual: Residual) -> str:
    if residual.serial is None:
        return "leave it out, or bring more rows to each of its levels"
    if residual.serial.kind == "cs":
        return "leave one of the two out, the term or repeated"
    return "leave one of the two out, the term or repeated, or bring more times"


def _is_held(basis: Floats, grouping: Grouping) -> bool:
    """Tell whether the indicator columns of a term lie within the fixed columns."""
    sums = np.zeros((grouping.count, basis.shape[1]))
    np.add.at(sums, grouping.codes, basis)
    return bool(len(basis) - (sums**2).sum() <= _HELD * len(basis))


def _tied(gram: Floats, i: int, kept: Sequence[int]) -> bool:
    """Tell whether one part is made up of those kept."""
    if not kept:
        return False
    tied = np.linalg.lstsq(gram[np.ix_(kept, kept)], gram[kept, i], rcond=None)[0]
    return bool(gram[i, i] - gram[i, kept] @ tied <= _TOLD_APART * gram[i, i])


def check_residual(maximum: Maximum, names: Sequence[str], residual: Residual) -> None:
    """Refuse a fit of which a residual variance went to zero.

    Parameters
    ----------
    maximum : Maximum
        Where the search ended, on the scale of an ordinary residual variance of 1.
    names : sequence of str
        Names of the random terms.
    residual : Residual
        Of the model.

    Raises
    ------
    WinterswardError
        If nothing varies within the levels of the random terms.
    """
    found = maximum.point.parameters[len(names) : len(names) + len(residual.names)]
    gone = [name for name, value in zip(residual.names, found, strict=True) if value <= _RESIDUAL]
    if not gone:
        return
    if len(residual.names) > 1:
        raise WinterswardError(
            f"{listed(gone)}: estimated as zero, as if the rest of the model gave these rows to the"
            " last digit; leave variance_by out, or join the level with another"
        )
    within = f"vary within the levels of {listed(names)}" if names else "differ from the fixed part"
    raise WinterswardError(
        f"the rows do not {within}, so the residual variance is zero; are values copied from row to"
        " row?"
    )
