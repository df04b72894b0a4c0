"""What is known of the plots beforehand, and whether the treatments fell together with it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.skeleton import skeleton_for
from wintersward.analysis.units import unit_names
from wintersward.trial.schema import Definition
from wintersward.units import from_si

__all__ = ["MOSTLY", "Alias", "aliases", "columns_of", "left", "numbered", "unit_values"]

Floats = NDArray[np.float64]
# A treatment explains most of a value from this adjusted R2 on (a rule of thumb, no source). Two
# treatments in six blocks come out there by chance in 1 plan of 20.
MOSTLY = 0.5
# A sum of squares below this share of the one before is rounding.
_ROUNDING = 1e-12
_PLACES = {"x_m": "place along the width", "y_m": "place along the length"}


@dataclass(frozen=True)
class Alias:
    """A value of the plots that differs between treatments rather than within them.

    Parameters
    ----------
    value : str
        Its name.
    factor : str
        The treatments.
    share : float
        Share of its sum of squares, within what surrounds the units, that they explain: R2.
    within : str
        What surrounds the units: ``blocks``; empty where nothing does.
    shown : str
        Means of the treatments by their labels, places in the reader's unit; empty for words.
    place : bool
        Whether it is where the plots lie, rather than something written of them.
    """

    value: str
    factor: str
    share: float
    within: str
    shown: str
    place: bool


def aliases(definition: Definition, plots: pd.DataFrame, values: pd.DataFrame) -> list[Alias]:
    """Find the values that go with a treatment.

    Parameters
    ----------
    definition : Definition
        Its layout says what the treatments were drawn for, and within what.
    plots : DataFrame
        ``plan/plots.csv``.
    values : DataFrame
        Index plot; one column a value, numbers or words.

    Returns
    -------
    list of Alias
        Those with an adjusted R2 of `MOSTLY` or more. Where plots lie is looked at only where
        they were laid by hand: a place that a seed dealt was dealt by chance.

    Notes
    -----
    Values are averaged over the experimental units of each factor, and what surrounds the units
    (blocks; whole plots for subplots; rows and columns) is taken out first: a difference between
    blocks is what blocks are for. With n - a degrees of freedom left by the surroundings and e by
    the treatments as well, adjusted R2 = 1 - (1 - R2)(n - a)/e. A word counts as one column of 0
    and 1 for each word.
    """
    known = values.reindex(plots["plot"])
    places: list[str] = []
    if definition.layout.laid_by_hand is not None:
        places = list(_PLACES.values())
        where = plots.set_index("plot")[list(_PLACES)].rename(columns=_PLACES)
        known = known.join(where)
    found = []
    skeleton = skeleton_for(definition, dt.date.max)
    for factor in definition.treatments:
        unit, around = columns_of(skeleton.unit(factor)), skeleton.around(factor)
        units = unit_values(plots, known, unit)
        first = plots.drop_duplicates(unit).reset_index(drop=True)
        said = " and ".join(f"{name.replace('_', ' ')}s" for name in around)
        for name in known.columns:
            share = _share(first, units[name], factor, [columns_of(one) for one in around])
            if share is not None:
                unit_of = _length(definition) if name in places else ""
                means = _means(definition, first[factor], units[name], unit_of)
                found.append(Alias(str(name), factor, share, said, means, name in places))
    return found


def columns_of(term: str) -> list[str]:
    """Name the columns of plots.csv whose levels a term has, such as ``block:row``."""
    return term.split(":")


def unit_values(
    plots: pd.DataFrame, known: pd.DataFrame, unit: list[str]
) -> dict[str, pd.DataFrame]:
    """Average what is known of the plots over the units that treatments are dealt to.

    Parameters
    ----------
    plots : DataFrame
        ``plan/plots.csv``.
    known : DataFrame
        Index plot, in the order of `plots`; one column a value.
    unit : list of str
        Columns of `plots` whose levels are the units.

    Returns
    -------
    dict of str to DataFrame
        For each value the numbers of each unit, by the unit's first plot in `plots`: one column,
        or one a word. A unit of which nothing is known has NaN.
    """
    keys = [plots[name].to_numpy() for name in unit]
    found = {}
    for name in known.columns:
        columns = numbered(known[name]).reset_index(drop=True)
        found[str(name)] = columns.groupby(keys, sort=False).mean().reset_index(drop=True)
    return found


def numbered(values: pd.Series) -> pd.DataFrame:
    """Turn a value into numbers: itself, or for words a column of 0 and 1 for each of them."""
    if pd.api.types.is_numeric_dtype(values) and not pd.api.types.is_bool_dtype(values):
        return values.astype("float64").to_frame()
    words = pd.get_dummies(values.astype("object"), dtype="float64")
    words[values.isna()] = np.nan
    return words


def left(terms: list[pd.Series], values: Floats) -> tuple[float, int]:
    """Give the sum of squares that some groupings leave of values, and their rank.

    Parameters
    ----------
    terms : list of Series
        Label of each unit in each grouping.
    values : (n, k) float
        Columns are added up.
    """
    columns = [np.ones((len(values), 1))]
    columns += [pd.get_dummies(term.astype(str)).to_numpy(dtype=float) for term in terms]
    design = np.column_stack(columns)
    rest = values - design @ np.linalg.lstsq(design, values, rcond=None)[0]
    return float((rest**2).sum()), int(np.linalg.matrix_rank(design))


def _share(
    units: pd.DataFrame, numbers: pd.DataFrame, factor: str, around: list[list[str]]
) -> float | None:
    """Give the share of a value that treatments explain where it is most of it, else None."""
    there = numbers.notna().all(axis=1)
    values, units = numbers[there].to_numpy(dtype=float), units[there]
    if len(values) < 2:
        return None
    terms = [unit_names(units, ":".join(names)) for names in around]
    total, _ = left([], values)
    before, rank = left(terms, values)
    after, full = left([*terms, units[factor].astype(str)], values)
    free = len(values) - full
    if before <= _ROUNDING * max(total, 1.0) or free < 1 or full == rank:
        return None
    share = 1 - after / before
    return share if 1 - (1 - share) * (len(values) - rank) / free >= MOSTLY else None


def _length(definition: Definition) -> str:
    return "ft" if definition.units == "us" else "m"


def _means(definition: Definition, treatments: pd.Series, numbers: pd.DataFrame, unit: str) -> str:
    """Write the mean of each treatment, of a value that is a number.

    The unit is one of lengths, from m; nothing tells that of a value which the person wrote.
    """
    if numbers.shape[1] > 1:
        return ""
    means = numbers.iloc[:, 0].groupby(treatments.astype(str), sort=False).mean()
    levels = definition.treatments[str(treatments.name)].levels
    shown = {str(name): from_si(m, unit) if unit else m for name, m in means.items()}
    return ", ".join(f"{levels[name].label} {m:.3g} {unit}".rstrip() for name, m in shown.items())
