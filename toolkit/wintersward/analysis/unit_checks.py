"""Whether data bear the skeleton of their layout: every treatment has its experimental unit."""

from __future__ import annotations

import pandas as pd

from wintersward.analysis.skeleton import Skeleton, Term
from wintersward.analysis.units import unit_names
from wintersward.errors import WinterswardError, listed

__all__ = ["check_units", "grounds_lacking"]

# Rows of a table that are named in a message.
_MOST_NAMED = 3


def check_units(data: pd.DataFrame, skeleton: Skeleton) -> None:
    """Refuse an analysis that would take for a replicate what is none.

    Parameters
    ----------
    data : DataFrame
        One row for each smallest experimental unit: the columns that the skeleton names (plot,
        whole_plot, block, row, column) and one for each of its factors.
    skeleton : Skeleton
        What the layout says about the analysis.

    Raises
    ------
    WinterswardError
        With the reason: a treatment whose experimental unit is no term of the model; a column
        that is not there; several rows of one unit; a treatment that changes within what it was
        drawn for.

    Notes
    -----
    A treatment can be judged only by the variation among the units that its levels were drawn
    for. Those units must therefore be the rows of the data or a random term of the model. What
    was read several times within a unit (photos, pulls, vines of a plot) tells more of that unit
    and nothing of how units differ; it is averaged, or stands as rows below a term for the unit.

    References
    ----------
    Hurlbert S. H. (1984) Pseudoreplication and the design of ecological field experiments.
    Ecological Monographs 54(2), 187-211. doi:10.2307/1942661
    """
    treatments = [term for term in skeleton.terms if term.role == "treatment"]
    for term in treatments:
        _is_a_term(term, skeleton)
    _are_there(data, skeleton)
    if lacking := grounds_lacking(data, skeleton):
        raise WinterswardError(lacking)
    _one_row_each(data, skeleton)
    for term in treatments:
        if ":" not in term.name:
            _is_constant(data, term)


def grounds_lacking(data: pd.DataFrame, skeleton: Skeleton) -> str:
    """Say which grounds were not seen, so that nothing can be averaged over all; empty if all were.

    Parameters
    ----------
    data, skeleton
        As in `check_units`.
    """
    gone = [name for name in skeleton.grounds if name not in set(data["ground"].astype(str))]
    if not gone:
        return ""
    return f"no plot of the ground {listed(gone)} can be used, and answers are over all grounds"


def _is_a_term(term: Term, skeleton: Skeleton) -> None:
    if term.unit in (skeleton.unit_column, *skeleton.random):
        return
    raise WinterswardError(
        f"{term.name} was drawn for {term.unit_kind}s, and the model has no random term for them "
        f"({_terms(skeleton)}): its rows would count as replicates that they are not; add the "
        f"term {term.unit}, or average onto {term.unit_kind}s"
    )


def _terms(skeleton: Skeleton) -> str:
    return f"random: {', '.join(skeleton.random) or 'none'}; rows: {skeleton.unit_column}"


def _are_there(data: pd.DataFrame, skeleton: Skeleton) -> None:
    named = [*skeleton.unit_column.split(":"), *(c for t in skeleton.random for c in t.split(":"))]
    for column in dict.fromkeys([*named, *skeleton.crossed]):
        if column not in data:
            raise WinterswardError(f"the data have no column {column}, which the model needs")
        empty = data[column].isna() | data[column].astype(str).eq("")
        if empty.any():
            raise WinterswardError(
                f"{int(empty.sum())} of {len(data)} rows do not say which {column} they are of"
            )


def _one_row_each(data: pd.DataFrame, skeleton: Skeleton) -> None:
    unit = unit_names(data, skeleton.unit_column)
    counted = unit.value_counts(sort=False)
    several = counted[counted > 1]
    if several.empty:
        return
    kind = skeleton.unit_kind
    named = ", ".join(f"{count} of {name}" for name, count in several.iloc[:_MOST_NAMED].items())
    more = " ..." if len(several) > _MOST_NAMED else ""
    plural = "s" if len(counted) > 1 else ""
    raise WinterswardError(
        f"{len(data)} rows on {len(counted)} {kind}{plural} ({named}{more}): several rows of one "
        f"{kind} are subsamples, not replicates, and treatments were drawn for {kind}s; average "
        f"them onto the {kind}s"
    )


def _is_constant(data: pd.DataFrame, term: Term) -> None:
    unit = unit_names(data, term.unit)
    held = data[term.name].astype(str).groupby(unit, sort=False).unique()
    mixed = held[held.map(len) > 1]
    if not mixed.empty:
        levels = " and ".join(mixed.iloc[0][:2])
        raise WinterswardError(
            f"{term.name} changes within {term.unit_kind} {mixed.index[0]} ({levels}): then "
            f"{term.unit_kind}s are not what it was drawn for"
        )
