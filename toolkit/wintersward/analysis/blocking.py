"""Which blocks would make the plots of a block alike, judged by what is known beforehand.

References
----------
Cochran W. G., Cox G. M. (1957) Experimental Designs, 2nd edition, Wiley, section 4.37 (from
memory): relative efficiency of blocks, and its correction for degrees of freedom, which is
Fisher's.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.aliasing import columns_of, left, unit_values
from wintersward.analysis.skeleton import skeleton_for
from wintersward.analysis.units import unit_names
from wintersward.errors import WinterswardError
from wintersward.trial.schema import Definition

__all__ = [
    "CORRELATION",
    "blocking_advice",
    "blocking_words",
    "df_correction",
    "relative_efficiency",
]

# Correlation that a value of the plots is taken to have with what will be observed: it then
# explains about half of the variance. An assumption, no source; ask for another where you know.
CORRELATION = 0.7
_COLUMNS = [
    "value",
    "blocking",
    "blocks",
    "df",
    "within",
    "efficiency",
    "corrected",
    "plots_saved",
]
PLANNED, NONE, ROWS, COLUMNS = "as planned", "none", "rows", "columns"
NEIGHBOURS, SORTED = "neighbours along the walk", "sorted by the value"
_HOW = {
    PLANNED: "blocks as planned",
    NONE: "no blocks",
    ROWS: "blocks along the rows of plots",
    COLUMNS: "blocks along the columns of plots",
    NEIGHBOURS: "blocks of neighbours along the walk",
    SORTED: "blocks of plots with about the same {value}",
}
_UNITS = {"split plot": "whole plot", "strip plot": "strip"}
# Within this of one another two blockings are worth the same.
_EVEN = 0.05
_ROUNDING = 1e-12


@dataclass(frozen=True)
class _Ground:
    """The units that treatments are dealt to, before any of them is dealt.

    Parameters
    ----------
    units : DataFrame
        First plot of each unit: its row of plots.csv, and ``ground``.
    treatments : int
        Treatments, or combinations of them, that every block holds once.
    plots : int
        Plots in a unit.
    planned : list of list of str
        Columns of the groupings that surround the units as planned.
    movable : bool
        Whether units can be put into other blocks; a strip runs through its own.
    numbers : dict of str to DataFrame
        Known values of each unit.
    """

    units: pd.DataFrame
    treatments: int
    plots: int
    planned: list[list[str]]
    movable: bool
    numbers: dict[str, pd.DataFrame]


def relative_efficiency(
    between: float, within: float, blocks: int, treatments: int, error: int
) -> tuple[float, float]:
    """Tell what blocks are worth against dealing treatments out anywhere.

    Parameters
    ----------
    between, within : float [unit of the measure, squared]
        Mean squares of blocks and of error.
    blocks, treatments, error : int
        Degrees of freedom of each, as a table of mean squares has them.

    Returns
    -------
    tuple of float
        Relative efficiency, and the same corrected for the degrees of freedom that blocks cost.

    Notes
    -----
    [b B + (t + e) E] / [(b + t + e) E] with the degrees of freedom b, t and e, corrected by
    `df_correction`. In n complete blocks of k treatments they are n - 1, k - 1 and
    (n - 1)(k - 1), which gives [(n - 1) B + n (k - 1) E] / [(n k - 1) E].

    Examples
    --------
    >>> plain, corrected = relative_efficiency(192.25 / 5, 109.89 / 15, 5, 3, 15)
    >>> round(plain, 3), round(corrected, 3)
    (1.924, 1.873)
    """
    inside = treatments + error
    plain = (blocks * between + inside * within) / ((blocks + inside) * within)
    return plain, plain * df_correction(error, error + blocks)


def df_correction(blocked: int, free: int) -> float:
    """Give what blocks lose by their degrees of freedom: (e + 1)(c + 3) / [(e + 3)(c + 1)].

    Parameters
    ----------
    blocked, free : int
        Error degrees of freedom with blocks (e) and without (c).

    Examples
    --------
    >>> round(df_correction(15, 20), 4)
    0.9735
    """
    return (blocked + 1) * (free + 3) / ((blocked + 3) * (free + 1))


def blocking_advice(
    definition: Definition,
    plots: pd.DataFrame,
    values: pd.DataFrame,
    correlation: float = CORRELATION,
) -> pd.DataFrame:
    """Compare ways to block by what is known of the plots before any treatment.

    Parameters
    ----------
    definition : Definition
        The trial; its layout is tested, not a demonstration.
    plots : DataFrame
        ``plan/plots.csv``.
    values : DataFrame
        Index plot; numbers (hours of sun) or words (sod source). Nothing that is observed after
        the treatments began belongs here.
    correlation : float
        What each value is taken to have with what will be observed, from 0 to below 1.

    Returns
    -------
    DataFrame
        Columns value; blocking; blocks (their number); df (error degrees of freedom); within (share
        of the value's variance that is left within blocks); efficiency and corrected (relative,
        against treatments dealt anywhere on a ground, before and after the correction for degrees
        of freedom); plots_saved (by which a trial without blocks would have to be larger).
        Values in their order, the best blocking first. Left out: values that are not known of
        every plot or do not differ, and groupings that cannot hold every treatment
        equally often.

    Raises
    ------
    WinterswardError
        For a correlation out of its range.

    Notes
    -----
    Of the variance of what will be observed the value explains r2, the rest is spread evenly.
    Blocks that leave a share w of the value's variance leave 1 - r2 + r2 w of the whole. The worth
    is that of `relative_efficiency`, with mean squares as they are to be expected, and comes to
    1 / (1 - r2 + r2 w). w is the mean square of the value within blocks over the one
    on a whole ground, each on its own degrees of freedom, so that blocks which group nothing have
    w = 1 on average, not less.

    Where treatments are dealt to whole plots or strips, values are their means.
    """
    if not 0 <= correlation < 1:
        raise WinterswardError(f"correlation: found {correlation:g}; allowed: 0 to below 1")
    if not definition.layout.tested:
        return pd.DataFrame(columns=_COLUMNS)
    ground = _ground(definition, plots, values)
    frames = [pd.DataFrame(columns=_COLUMNS)]
    for name, numbers in ground.numbers.items():
        rows = _compared(ground, name, numbers.to_numpy(dtype=float), correlation**2)
        frame = pd.DataFrame(rows, columns=_COLUMNS)
        frames.append(frame.sort_values("corrected", ascending=False, kind="stable"))
    filled = [frame for frame in frames if len(frame)]
    return pd.concat(filled or frames, ignore_index=True)


def blocking_words(
    definition: Definition,
    plots: pd.DataFrame,
    values: pd.DataFrame,
    correlation: float = CORRELATION,
) -> list[str]:
    """Say which blocks would make plots more alike, one sentence or two a value.

    Parameters
    ----------
    definition, plots, values, correlation
        As in `blocking_advice`.

    Returns
    -------
    list of str
        What each value says, then what it rests on; empty where nothing can be said.
    """
    if not definition.layout.tested:
        return []
    table = blocking_advice(definition, plots, values, correlation)
    known = values.reindex(plots["plot"])
    said = []
    for name in known.columns:
        rows = table[table["value"] == str(name)]
        if known[name].isna().any():
            said.append(f"{name} is not known of every plot: it says nothing of blocks.")
        elif rows.empty:
            unit = _UNITS.get(definition.layout.kind, "plot")
            said.append(f"{name} does not differ from {unit} to {unit}: it says nothing of blocks.")
        else:
            said.append(_worth(definition, str(name), rows, correlation))
    if len(table):
        said.append(
            "What blocks are worth is reckoned from how much of a value they leave within "
            "themselves, and corrected for the degrees of freedom that they cost; how closely the "
            f"value goes with what is observed (r = {correlation:g}) is assumed, not known. Only "
            "what is known before any treatment may form blocks, and only before the plots are "
            "drawn."
        )
    return said


def _worth(definition: Definition, name: str, rows: pd.DataFrame, correlation: float) -> str:
    """Say what the planned blocks are worth by one value, and whether others are worth more."""
    measure = definition.analysis.primary.measure.replace("_", " ")
    by = {str(blocking): i for i, blocking in zip(rows.index, rows["blocking"], strict=True)}
    planned = PLANNED if PLANNED in by else NONE
    here, best = rows.loc[by[planned]], rows.iloc[0]
    if planned == NONE:
        said = f"By {name}: there are no blocks."
    else:
        out = round(100 * (1 - float(here["within"])))
        taken = f"take out {out} % of its variance" if out > 0 else "take out nothing of it"
        said = (
            f"By {name}: the {_HOW[PLANNED]} {taken}; if it goes with {measure} "
            f"(r = {correlation:g}), they are worth "
            f"{here['corrected']:.2f} times the plots of a trial without blocks "
            f"({_saved(int(here['plots_saved']))})."
        )
    if best["corrected"] <= here["corrected"] + _EVEN:
        return f"{said} No other way to form blocks is clearly better."
    how = _HOW[str(best["blocking"])].format(value=name)
    return (
        f"{said} {how[0].upper()}{how[1:]} would be worth {best['corrected']:.2f} times "
        f"({_saved(int(best['plots_saved']))})."
    )


def _saved(plots: int) -> str:
    word = "plot" if abs(plots) == 1 else "plots"
    return f"{plots} {word} saved" if plots >= 0 else f"{-plots} {word} lost"


def _ground(definition: Definition, plots: pd.DataFrame, values: pd.DataFrame) -> _Ground:
    """Find what treatments are dealt to, and what is known of it."""
    layout = definition.layout
    factor = definition.factor_of(definition.analysis.primary.levels[0])
    many = definition.combinations
    if layout.kind == "split plot":
        factor = str(layout.whole_plot)
    if layout.kind in ("split plot", "strip plot"):
        many = len(definition.treatments[factor].levels)
    skeleton = skeleton_for(definition, dt.date.max)
    unit = columns_of(skeleton.unit(factor))
    around = [columns_of(term) for term in skeleton.around(factor)]
    named = plots if "ground" in plots.columns else plots.assign(ground="")
    units = named.drop_duplicates(unit).reset_index(drop=True)
    known = values.reindex(plots["plot"])
    numbers = unit_values(plots, known.loc[:, known.notna().all()], unit)
    movable = layout.kind != "strip plot"
    return _Ground(units, many, len(plots) // len(units), around, movable, numbers)


def _compared(
    ground: _Ground, name: str, values: NDArray[np.float64], explained: float
) -> list[dict[str, object]]:
    """Compare the candidate blockings by one value."""
    site = ground.units["ground"].astype(str)
    total, sites = left([site], values)
    if total <= _ROUNDING * max(1.0, float((values**2).sum())):
        return []
    dealt = sites * (ground.treatments - 1)
    spread = total / (len(values) - sites)
    rows: list[dict[str, object]] = []
    for blocking, terms in _candidates(ground, values).items():
        rest, rank = left([site, *terms], values)
        df, taken = len(values) - rank - dealt, rank - sites
        if df < 1:
            continue
        within = rest / (len(values) - rank) / spread
        across = (total - rest) / taken / spread if taken else 0.0
        between, error = (1 - explained + explained * share for share in (across, within))
        plain, corrected = relative_efficiency(between, error, taken, dealt, df)
        saved = round((corrected - 1) * len(values) * ground.plots)
        count = sum(term.nunique() for term in terms)
        row = (name, blocking, count, df, within, plain, corrected, saved)
        rows.append(dict(zip(_COLUMNS, row, strict=True)))
    return rows


def _candidates(ground: _Ground, values: NDArray[np.float64]) -> dict[str, list[pd.Series]]:
    """List groupings of the units, without those that are another one over again."""
    units, size = ground.units, ground.treatments
    found: dict[str, list[pd.Series]] = {}
    if ground.planned:
        found[PLANNED] = [unit_names(units, ":".join(names)) for names in ground.planned]
    found[NONE] = []
    if not ground.movable:
        return found
    where = units["ground"].astype(str)
    order = units["walk"].to_numpy()
    key = values[:, 0] if values.shape[1] == 1 else values.argmax(axis=1)
    grouped = {
        ROWS: where + ":" + units["row"].astype(str),
        COLUMNS: where + ":" + units["column"].astype(str),
        NEIGHBOURS: _chunks(where, np.lexsort((order,)), size),
        SORTED: _chunks(where, np.lexsort((order, key)), size),
    }
    seen = [_partition(terms[0]) for terms in found.values() if len(terms) == 1]
    for blocking, term in grouped.items():
        counted = term.value_counts()
        if (counted % size).any() or _partition(term) in seen or counted.size == where.nunique():
            continue
        seen.append(_partition(term))
        found[blocking] = [term]
    return found


def _chunks(where: pd.Series, order: NDArray[np.intp], size: int) -> pd.Series:
    """Put units into blocks of one size, one after the other on each ground."""
    met: dict[str, int] = {}
    found = [""] * len(order)
    for unit in order:
        site = str(where.iloc[unit])
        found[unit] = f"{site}:{met.get(site, 0) // size}"
        met[site] = met.get(site, 0) + 1
    return pd.Series(found, index=where.index)


def _partition(term: pd.Series) -> tuple[int, ...]:
    """Number the groups in the order in which they appear, whatever they are called."""
    return tuple(int(code) for code in pd.factorize(term)[0])
