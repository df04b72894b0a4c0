"""One treatment factor in its own stratum: the means of its experimental units, exactly tested.

Notes
-----
A factor is judged by the variation among the units that its levels were drawn for, and by no
other. Its stratum holds one value a unit, and every term that surrounds the units (blocks, rows and
columns, the whole plots around subplots) is fixed. What is left is ordinary least squares: the
error is that of the units, t and F are exact whether or not units are lost, and no variance is
estimated beside it that could come out as zero and lend its degrees of freedom. With complete
layouts the differences and their standard errors are those of the classical analysis of variance.

References
----------
Yates F. (1935) Complex experiments. Supplement to the Journal of the Royal Statistical Society
2(2), 181-247. doi:10.2307/2983638
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.model import TrialModel
from wintersward.analysis.units import joined
from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, fit_mixed

__all__ = ["Stratum", "compare", "stratum"]

Transform = Callable[[NDArray[np.float64]], NDArray[np.float64]]


@dataclass(frozen=True)
class Stratum:
    """The experimental units of one treatment factor, one row each.

    Parameters
    ----------
    factor : str
        The treatment factor.
    data : DataFrame
        Columns unit, those of `around`, `factor`, other factors that do not vary within a unit,
        value (in the measure's unit).
    around : tuple of str
        Columns of what surrounds the units.
    fixed : str
        Fixed part of the model.
    unit_kind : str
        The units for a reader: plot, whole plot, subplot.
    """

    factor: str
    data: pd.DataFrame
    around: tuple[str, ...]
    fixed: str
    unit_kind: str

    @property
    def method(self) -> str:
        """The analysis in words."""
        said = [name.replace("_", " ") + "s" for name in self.around]
        fixed = f" within {' and '.join(said)}" if said else ""
        return f"means of {self.unit_kind}s compared{fixed}, exact t"

    def fit(self, values: NDArray[np.float64] | None = None, extra: str = "") -> MixedFit:
        """Fit the stratum by ordinary least squares.

        Parameters
        ----------
        values : (n,) float, optional
            A response in place of ``value``, in the order of `data`.
        extra : str
            Further fixed terms, such as a covariate that `data` holds.

        Raises
        ------
        WinterswardError
            Where the units leave no degrees of freedom, or do not vary.
        """
        data = self.data if values is None else self.data.assign(value=values)
        fixed = f"{self.fixed} + {extra}" if extra else self.fixed
        return fit_mixed(data, response="value", fixed=fixed)


def stratum(model: TrialModel, factor: str) -> Stratum:
    """Average the data of a date onto the experimental units of one factor.

    Parameters
    ----------
    model : TrialModel
        One measure on one date.
    factor : str
        A factor that is on the ground.

    Returns
    -------
    Stratum

    Notes
    -----
    Other factors that vary within the units are averaged over with equal weight. Where a unit
    lacks one of their levels, its value is the unit's effect in the additive model unit + level,
    fitted by least squares to the units of the same treatment, at the average of the levels.
    """
    skeleton = model.skeleton
    if not skeleton.treated or factor not in skeleton.factors:
        raise WinterswardError(f"on {model.date} {factor} was not on the ground yet")
    if model.only_described:
        raise WinterswardError(model.only_described)
    around = skeleton.around(factor)
    named = skeleton.unit(factor).split(":")
    data = model.data.copy()
    for column in {*around, *named}:
        data[column] = data[column].astype(str)
    data["unit"] = data[named].agg(":".join, axis=1)
    others = [name for name in skeleton.factors if name != factor]
    inside = [name for name in others if data.groupby("unit")[name].nunique().gt(1).any()]
    outside = [name for name in others if name not in inside]
    keys = list(dict.fromkeys(["unit", *around, factor, *outside]))
    if inside:
        averaged = _averaged(data, factor, inside)
        rows = data.drop_duplicates("unit")[keys].assign(value=lambda d: d["unit"].map(averaged))
    else:
        rows = data[[*keys, "value"]]
    terms = [*around, factor]
    for other in outside:
        surrounded = any(rows.groupby(a)[other].nunique().eq(1).all() for a in around)
        terms += [f"{factor}:{other}"] if surrounded else [other, f"{factor}:{other}"]
    kind = skeleton.unit_of(factor)
    return Stratum(factor, rows.reset_index(drop=True), around, " + ".join(terms), kind)


def _averaged(data: pd.DataFrame, factor: str, inside: Sequence[str]) -> pd.Series:
    """Give each unit its mean over the levels within it, lost ones allowed for."""
    data = data.assign(cell=data[list(inside)].astype(str).agg(":".join, axis=1))
    found = []
    for treatment, part in data.groupby(factor, observed=True):
        table = part.pivot(index="unit", columns="cell", values="value")
        if table.shape[1] < data["cell"].nunique():
            lost = ", ".join(sorted(set(data["cell"]) - set(table.columns)))
            raise WinterswardError(f"no observation of {lost} with {treatment} can be used")
        found.append(_balanced(table) if table.isna().any(axis=None) else table.mean(axis=1))
    return pd.concat(found)


def _balanced(table: pd.DataFrame) -> pd.Series:
    """Fit unit + level by least squares; give each unit at the average of the levels."""
    if not joined(table.notna()):
        names = ", ".join(table.columns)
        raise WinterswardError(
            f"too few units hold more than one of {names}: those with the one cannot be set "
            "against those with the other"
        )
    cells = table.stack().dropna()
    units = pd.get_dummies(cells.index.get_level_values(0), dtype=float)
    levels = pd.get_dummies(cells.index.get_level_values(1), dtype=float)
    columns = np.column_stack([units, levels])
    found = np.linalg.lstsq(columns, cells.to_numpy(dtype=float), rcond=None)[0]
    own, effect = found[: units.shape[1]], found[units.shape[1] :]
    return pd.Series(own + effect.mean(), index=units.columns)


def compare(
    model: TrialModel,
    pairs: Sequence[tuple[str, str]],
    level: float,
    transform: Transform | None = None,
    covariate: pd.Series | None = None,
) -> pd.DataFrame:
    """Compare treatments of one factor in its own stratum.

    Parameters
    ----------
    model : TrialModel
        One measure on one date.
    pairs : sequence of (str, str)
        Treatments of one factor, left and right; several pairs share their right one.
    level : float
        Of the intervals.
    transform : callable, optional
        Takes and gives values of the units, to compare on another scale.
    covariate : Series, optional
        A number for each unit, by its name; taken into the model, centred.

    Returns
    -------
    DataFrame
        One row a pair: left, right, left_mean, right_mean, difference, se, df, lower, upper,
        t, p, adjust, method, unit_kind, units_left, units_right. One pair is not adjusted;
        several are adjusted together, by Dunnett where every other treatment is set against
        the control, else by Bonferroni.

    Raises
    ------
    WinterswardError
        Where a treatment has no unit, or the units leave nothing to judge by.
    """
    owner = {x: f for f in model.skeleton.factors for x in model.data[f].cat.categories}
    factor = owner.get(pairs[0][0], "")
    made = stratum(model, factor) if factor else None
    if made is None:
        raise WinterswardError(f"on {model.date} {pairs[0][0]} was not on the ground yet")
    values = made.data["value"].to_numpy(dtype=float)
    extra = ""
    if covariate is not None:
        own = made.data["unit"].map(covariate).astype(float)
        made = Stratum(
            factor,
            made.data.assign(covariate=own - own.mean()),
            made.around,
            made.fixed,
            made.unit_kind,
        )
        extra = "covariate"
    counted = made.data.groupby(factor, observed=False)["unit"].nunique()
    gone = [name for pair in pairs for name in pair if not counted.get(name, 0)]
    if gone:
        raise WinterswardError(f"no observation of {', '.join(dict.fromkeys(gone))} can be used")
    fit = made.fit(transform(values) if transform else values, extra)
    found = _paired(fit, factor, pairs, level, len(counted))
    centre = _centred(fit, factor, made)
    found.insert(2, "left_mean", found["left"].map(centre))
    found.insert(3, "right_mean", found["right"].map(centre))
    return found.assign(
        method=made.method,
        unit_kind=made.unit_kind,
        units_left=found["left"].map(counted).astype(int),
        units_right=found["right"].map(counted).astype(int),
    )


def _paired(
    fit: MixedFit, factor: str, pairs: Sequence[tuple[str, str]], level: float, levels: int
) -> pd.DataFrame:
    """Give one row a pair, left minus right, adjusted together."""
    control = pairs[0][1]
    adjust = "none" if len(pairs) == 1 else "dunnett" if len(pairs) == levels - 1 else "bonferroni"
    inside = "dunnett" if adjust == "dunnett" else "none"
    own = 1 - (1 - level) / len(pairs) if adjust == "bonferroni" else level
    table = fit.pairs([factor], adjust=inside, level=own, control=control)
    table = table.astype({"left": str, "right": str}).set_index("left")
    rows = table.loc[[left for left, _ in pairs]].reset_index()
    if adjust == "bonferroni":
        rows["p"] = np.minimum(1.0, rows["p"] * len(pairs))
    return rows.assign(adjust=adjust)


def _centred(fit: MixedFit, factor: str, made: Stratum) -> pd.Series:
    """Give the mean of each treatment; around the plain mean where lost units leave no other."""
    means = fit.means([factor]).astype({factor: str}).set_index(factor)["mean"]
    if means.notna().all():
        return means
    levels = list(means.index)
    ahead = pd.Series(0.0, index=levels)
    table = fit.pairs([factor], adjust="none").astype({"left": str, "right": str})
    for row in table.to_dict("records"):
        share = float(row["difference"]) / len(levels)
        ahead[row["left"]] += share
        ahead[row["right"]] -= share
    return ahead + float(made.data["value"].mean())
