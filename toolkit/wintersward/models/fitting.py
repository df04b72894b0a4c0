"""Fitting a linear mixed model: from a frame and formulas to a `MixedFit`."""

from __future__ import annotations

import functools
from collections.abc import Sequence

import numpy as np
import pandas as pd

from wintersward.errors import WinterswardError
from wintersward.models.blocks import Stacks, stack_blocks
from wintersward.models.checks import check_identified, check_residual
from wintersward.models.columns import take_columns
from wintersward.models.curvature import outward
from wintersward.models.fit import MixedFit
from wintersward.models.fixed import build_fixed
from wintersward.models.formula import parse_fixed, split_random
from wintersward.models.grouping import Grouping, build_groupings
from wintersward.models.notes import Note
from wintersward.models.reml import Maximum
from wintersward.models.repeated import Repeated, build_residual
from wintersward.models.residual import Residual
from wintersward.models.scaling import scaled_response
from wintersward.models.search import maximise
from wintersward.models.threads import one_thread

__all__ = ["fit_mixed"]


@one_thread()
def fit_mixed(
    data: pd.DataFrame,
    response: str,
    fixed: str,
    random: Sequence[str] = (),
    repeated: Repeated | None = None,
    variance_by: str | None = None,
) -> MixedFit:
    """Fit a linear mixed model by REML, or ordinary least squares without random terms.

    Parameters
    ----------
    data : DataFrame
        One row an observation.
    response : str
        Column of numbers to explain.
    fixed : str
        Right-hand side of a formula: ``cover * date``. Text, categorical, true/false and date
        columns are factors, coded sum to zero; number columns are covariates, ``C(year)`` makes
        one a factor. Levels stand in the order of the categories where a column is categorical,
        else sorted.
    random : str or sequence of str
        Random terms: ``["block", "block:plot"]``. A colon joins columns of any type; terms may
        nest or cross.
    repeated : Repeated, optional
        Residuals of one subject correlated over time, one row a subject and time.
    variance_by : str, optional
        Factor whose levels have their own residual variances; a colon joins columns.

    Returns
    -------
    MixedFit

    Raises
    ------
    WinterswardError
        If columns are unknown or unfit, if nothing is left to estimate an error from, if a subject
        has several rows at one time, or if the data cannot tell a variance or correlation from the
        rest of the model, or lets no variance be found at all.

    Notes
    -----
    The covariance of the rows is V = sum of variance times Z Z' over the random terms, plus
    D^(1/2) C D^(1/2): residual variances in D, correlations over time in C.

    Rows with a missing value in any column used are left out, counted and noted. A variance is
    never below zero; one estimated as zero is noted and keeps its place in the tests.

    References
    ----------
    Patterson, H. D. and Thompson, R. (1971). Biometrika 58, 545-554.
    doi:10.1093/biomet/58.3.545

    Examples
    --------
    >>> plots = pd.DataFrame(
    ...     {
    ...         "cover": ["open", "fleece"] * 4,
    ...         "block": [1, 1, 2, 2, 3, 3, 4, 4],
    ...         "green": [41.0, 52.0, 47.0, 55.0, 38.0, 51.0, 44.0, 58.0],
    ...     }
    ... )
    >>> fit = fit_mixed(plots, "green", "cover", ["block"])
    >>> fit.pairs("cover")[["left", "right", "difference", "df"]].round(6).values.tolist()
    [['fleece', 'open', 11.5, 3.0]]
    """
    terms = parse_fixed(fixed)
    members = [member for term in terms for member in term.members]
    wanted = list(dict.fromkeys(column for member in members for column in member.columns))
    as_factors = {member.columns[0] for member in members if member.as_factor}
    random = [random] if isinstance(random, str) else list(random)
    grouped = [*random]
    if repeated is not None:
        grouped.append(repeated.subject)
    if variance_by is not None:
        grouped.append(variance_by)
    grouping = list(dict.fromkeys(column for term in grouped for column in split_random(term)))
    time = None if repeated is None else repeated.time
    columns = take_columns(data, response, wanted, as_factors, grouping, time)
    fixed_part, notes = build_fixed(terms, columns)
    fades = repeated is not None and repeated.structure == "car1"
    groupings = build_groupings(random, columns.groups, rows_apart=fades)
    residual = build_residual(repeated, variance_by, columns)
    scale = scaled_response(columns.response, fixed_part, response)
    stacks = stack_blocks(fixed_part.basis, scale.left, groupings, residual)
    check_identified(stacks, fixed_part.basis, groupings, residual)
    maximum = _maximised(stacks)
    check_residual(maximum, [g.name for g in groupings], residual)
    found = [*columns.notes, *notes, *_search_notes(maximum, groupings, residual)]
    bent = None if residual.linear else functools.partial(outward, stacks, maximum.point)
    return MixedFit(columns, fixed_part, groupings, scale, maximum, found, residual, bent)


def _maximised(stacks: Stacks) -> Maximum:
    """Find the variances; say it plainly where rounding leaves nothing to find them from."""
    try:
        return maximise(stacks)
    except np.linalg.LinAlgError as error:
        raise WinterswardError(
            "the variances cannot be estimated: at the values that the search came to, the rows"
            " are so alike that rounding decides; the data cannot bear this model"
        ) from error


def _search_notes(
    maximum: Maximum, groupings: Sequence[Grouping], residual: Residual
) -> list[Note]:
    notes = []
    for grouping, variance in zip(groupings, maximum.point.parameters, strict=False):
        if variance == 0:
            text = (
                f"the variance of {grouping.name} is estimated as zero: the data show no more"
                " variation between its levels than within them; the term stays in the model, so"
                " that the answer does not look surer than it is"
            )
            notes.append(Note("zero-variance", text, (grouping.name,), 1))
    notes += _bound_notes(maximum, residual)
    if maximum.rivals:
        notes.append(_rival_note(maximum))
    if not maximum.converged:
        text = "the search for the variances stopped before it settled; read the results with care"
        notes.append(Note("not-converged", text))
    return notes


def _bound_notes(maximum: Maximum, residual: Residual) -> list[Note]:
    serial = residual.serial
    if serial is None:
        return []
    end = serial.bound(float(maximum.point.parameters[-1]))
    if not end:
        return []
    subject = serial.subject.name
    if end == "upper":
        meaning = f"the times of one {subject} differ by almost nothing but a common shift"
    elif serial.kind == "car1":
        meaning = f"rows of one {subject} are no more alike than rows of different ones"
    else:
        meaning = f"rows of one {subject} differ as much as they can"
    text = (
        f"the correlation over the times of {subject} is estimated at the {end} end of its range:"
        f" {meaning}"
    )
    return [Note("bound-correlation", text, (subject,), 1)]


def _rival_note(maximum: Maximum) -> Note:
    worse = (maximum.rivals[0].deviance - maximum.point.deviance) / 2.0
    text = (
        f"the likelihood has {len(maximum.rivals) + 1} tops, and searches from different starts"
        " ended at different ones; the highest is kept, and the next is lower by"
        f" {worse:.3g} in the log-likelihood"
    )
    return Note("starts-disagree", text, (), len(maximum.rivals) + 1)
