"""From observations to experimental units: averaging that favours no plot and no rater."""

from __future__ import annotations

import numpy as np
import pandas as pd

from wintersward.analysis.skeleton import Skeleton
from wintersward.records import first_looks

__all__ = ["Notes", "joined", "plot_values", "unequal_units", "unit_means", "unit_names"]

Notes = list[tuple[str, str]]


def plot_values(observations: pd.DataFrame) -> tuple[pd.DataFrame, Notes]:
    """Average the observations of one measure and date on each plot.

    Parameters
    ----------
    observations : DataFrame
        Columns plot, rater, value; those without a value are left out, and so are second
        looks, where ``flags`` tells them.

    Returns
    -------
    values : DataFrame
        Columns plot, value (in the measure's unit), n (observations), one row a plot.
    notes : list of (str, str)
        Code and text.

    Notes
    -----
    Where some plots lack a rater, a plain mean would favour the plots that the stricter rater
    missed. The value is then the plot's mean in the additive model plot + rater, at the average
    of the raters (least squares). Raters who share no plots cannot be set against each other:
    then it is the plain mean, and the note says so.
    """
    used = first_looks(observations).dropna(subset=["value"])
    grouped = used.groupby("plot")["value"]
    values = grouped.agg(value="mean", n="size").reset_index()
    if used["rater"].nunique() < 2:
        return values, []
    by_rater = used.groupby(["plot", "rater"])["value"].mean().unstack()
    short = by_rater.index[by_rater.isna().any(axis=1)]
    if short.empty:
        return values, []
    said = f"{len(short)} of {len(by_rater)} plots lack a rater"
    if not joined(by_rater.notna()):
        text = f"{said}, and the raters share no plots: plain means, which may favour a treatment"
        return values, [("raters-incomplete", text)]
    values["value"] = values["plot"].map(_at_average_rater(by_rater)).astype("float64")
    text = f"{said}: plots are compared at the average of the raters (plot + rater, least squares)"
    return values, [("raters-incomplete", text)]


def _at_average_rater(by_rater: pd.DataFrame) -> pd.Series:
    """Fit plot + rater by least squares, and give each plot at the average of the raters."""
    cells = by_rater.stack().dropna()
    plots = pd.get_dummies(cells.index.get_level_values("plot"), dtype=float)
    raters = pd.get_dummies(cells.index.get_level_values("rater"), dtype=float)
    columns = np.column_stack([plots, raters])
    found = np.linalg.lstsq(columns, cells.to_numpy(dtype=float), rcond=None)[0]
    own, severity = found[: plots.shape[1]], found[plots.shape[1] :]
    return pd.Series(own + severity.mean(), index=plots.columns)


def joined(rated: pd.DataFrame) -> bool:
    """Tell whether shared plots join all raters, directly or through others.

    Parameters
    ----------
    rated : DataFrame of bool
        One row a plot, one column a rater: whether the rater rated the plot.
    """
    reached = {rated.columns[0]}
    while True:
        plots = rated.index[rated[list(reached)].any(axis=1)]
        more = set(rated.columns[rated.loc[plots].any(axis=0)])
        if more == reached:
            return len(reached) == rated.shape[1]
        reached = more


def unit_means(values: pd.DataFrame, plots: pd.DataFrame, skeleton: Skeleton) -> pd.DataFrame:
    """Average the plots of one measure and date onto their experimental units.

    Parameters
    ----------
    values : DataFrame
        As `plot_values` gives them.
    plots : DataFrame
        ``plan/plots.csv``.
    skeleton : Skeleton
        Says what the units are.

    Returns
    -------
    DataFrame
        Columns unit_name, unit_kind, whole_plot, block, then those of plot, row and column (as
        text) that the skeleton names, factors that were begun, ground where there are several,
        n, value; sorted by unit. Units
        without a usable observation are absent. Plots weigh alike, so that a plot with more
        photos does not weigh more.
    """
    joined = plots.merge(values, on="plot", how="inner", validate="one_to_one")
    joined = joined.astype(dict.fromkeys(("row", "column"), str))
    named = skeleton.unit_column.split(":")
    terms = [*named, *(part for term in skeleton.random for part in term.split(":"))]
    places = [c for c in ("plot", "row", "column") if c in terms]
    if skeleton.grounds:
        joined["ground"] = pd.Categorical(joined["ground"].astype(str), skeleton.grounds)
    labels = ["whole_plot", "block", *places, *skeleton.crossed]
    keys = [*named, *[c for c in labels if c not in named]]
    grouped = joined.groupby(keys, observed=True, sort=True)
    means = grouped.agg(n=("n", "sum"), value=("value", "mean")).reset_index()
    means.insert(0, "unit_name", unit_names(means, skeleton.unit_column))
    means.insert(1, "unit_kind", skeleton.unit_kind)
    return means[["unit_name", "unit_kind", *labels, "n", "value"]]


def unequal_units(means: pd.DataFrame) -> Notes:
    """Tell of units that rest on fewer observations than others of the same date.

    Parameters
    ----------
    means : DataFrame
        As `unit_means` gives them.
    """
    counted = means.set_index("unit_name")["n"]
    if counted.empty or counted.nunique() == 1:
        return []
    fewer = counted[counted < counted.max()]
    names = ", ".join(fewer.index[:6]) + (" ..." if len(fewer) > 6 else "")
    rests = "unit rests" if len(fewer) == 1 else "units rest"
    text = (
        f"{len(fewer)} {rests} on fewer observations than the other {len(counted) - len(fewer)} "
        f"({names}); each counts the same, though less certain"
    )
    return [("unequal-units", text)]


def unit_names(frame: pd.DataFrame, units: str) -> pd.Series:
    """Name the unit of each row, or any other combination of columns.

    Parameters
    ----------
    frame : DataFrame
        Holds the columns.
    units : str
        Columns joined by ``:``, as in ``block:row``.

    Returns
    -------
    Series of str
        The values of the columns joined by ``:``, on the frame's index.

    Examples
    --------
    >>> unit_names(pd.DataFrame({"block": ["1", "2"], "row": [3, 4]}), "block:row").tolist()
    ['1:3', '2:4']
    """
    first, *rest = units.split(":")
    names = frame[first].astype(str)
    for column in rest:
        names = names + ":" + frame[column].astype(str)
    return names.rename(None)
