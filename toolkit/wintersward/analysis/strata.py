"""One treatment factor in its own stratum: the means of its experimental units, exactly tested.

Notes
-----
A factor is judged by the variation among the units that its levels were drawn for, and by no
other. Its stratum holds one value a unit, and every term that surrounds the units (blocks, rows and
columns, the whole plots around subplots) is fixed. What is left is ordinary least squares: the
error is that of the units, t and F are exact whether or not whole units are lost, and no variance
is estimated beside it that could come out as zero and lend its degrees of freedom. With complete
layouts the differences and their standard errors are those of the classical analysis of variance.

Where units are there but lack some of what lies within them (a subplot of a whole plot), their
values are no longer equally sure, and what is borrowed from the other units to make up for it would
not enter the error. Then the plots themselves are fitted, what surrounds the units still fixed and
the plots of one unit equally correlated (compound symmetry), with Kenward and Roger's degrees of
freedom. The correlation may come out negative, as the mean squares of the classical analysis allow
it: a variance of units that is cut off at zero makes the test too careful where units are alike.

References
----------
Yates F. (1935) Complex experiments. Supplement to the Journal of the Royal Statistical Society
2(2), 181-247. doi:10.2307/2983638
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.model import TrialModel
from wintersward.analysis.unit_checks import grounds_lacking
from wintersward.analysis.units import joined, unit_names
from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, Repeated, fit_mixed
from wintersward.models.adjust import adjusted
from wintersward.models.means import cells_of

__all__ = ["Stratum", "compare", "stratum", "together"]

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
        ground where there are several, value (in the measure's unit).
    around : tuple of str
        Columns of what surrounds the units.
    fixed : str
        Fixed part of the model.
    unit_kind : str
        The units for a reader: plot, whole plot, subplot.
    described : str
        Why the values are described and not compared; empty where they may be compared.
    plots : DataFrame or None
        Where units lack some of what lies within them: one row a plot, with the columns of `data`,
        the factors within the units, those of `random`, and place (a number for each
        combination of the factors within).
    random : tuple of str
        Random terms of the model of `plots`, besides the units.
    inside : tuple of str
        Factors that vary within the units.
    """

    factor: str
    data: pd.DataFrame
    around: tuple[str, ...]
    fixed: str
    unit_kind: str
    described: str = ""
    plots: pd.DataFrame | None = None
    random: tuple[str, ...] = ()
    inside: tuple[str, ...] = ()

    @property
    def method(self) -> str:
        """The analysis in words."""
        said = [name.replace("_", " ") + "s" for name in self.around]
        fixed = f" within {' and '.join(said)}" if said else ""
        fixed += " on each ground" if "ground" in self.data else ""
        if self.plots is not None:
            return (
                f"{self.unit_kind}s compared{fixed} through what they hold, which is correlated "
                "within each, since some lack a part; t with Kenward-Roger degrees of freedom"
            )
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
        if values is None and self.described:
            raise WinterswardError(self.described)
        data = self.data if values is None else self.data.assign(value=values)
        fixed = f"{self.fixed} + {extra}" if extra else self.fixed
        return fit_mixed(data, response="value", fixed=fixed)

    def answer(
        self, transform: Transform | None = None, covariate: pd.Series | None = None
    ) -> MixedFit:
        """Fit what the comparisons are read from: the units, or the plots where units lack some.

        Parameters
        ----------
        transform : callable, optional
            Takes and gives values, to compare on another scale.
        covariate : Series, optional
            A number for each unit, by its name; taken into the model, centred over the units.

        Raises
        ------
        WinterswardError
            As `fit`.
        """
        if self.described:
            raise WinterswardError(self.described)
        data = self.data if self.plots is None else self.plots
        terms = [self.fixed]
        if covariate is not None:
            centre = self.data["unit"].map(covariate).astype(float).mean()
            data = data.assign(covariate=data["unit"].map(covariate).astype(float) - centre)
            terms.append("covariate")
        if transform is not None:
            data = data.assign(value=transform(data["value"].to_numpy(dtype=float)))
        for other in self.inside if self.plots is not None else ():
            terms += [other, f"{self.factor}:{other}"]
            if "ground" in data:
                terms += [f"{other}:ground", f"{self.factor}:{other}:ground"]
        fixed = " + ".join(terms)
        if self.plots is None:
            return fit_mixed(data, response="value", fixed=fixed)
        alike = Repeated(subject="unit", time="place", structure="cs")
        return fit_mixed(data, "value", fixed, random=self.random, repeated=alike)


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
    fitted by least squares to the units of the same treatment, at the average of the levels: good
    to show and to average, while comparisons then go through the plots (`Stratum.answer`).
    """
    skeleton = model.skeleton
    if not skeleton.treated or factor not in skeleton.factors:
        raise WinterswardError(f"on {model.date} {factor} was not on the ground yet")
    around = skeleton.around(factor)
    data = model.data.copy()
    for column in around:
        data[column] = data[column].astype(str)
    data["unit"] = unit_names(data, skeleton.unit(factor))
    others = [name for name in skeleton.factors if name != factor]
    inside = [name for name in others if data.groupby("unit")[name].nunique().gt(1).any()]
    outside = [name for name in others if name not in inside]
    grounds = ["ground"] if skeleton.grounds else []
    keys = list(dict.fromkeys(["unit", *around, factor, *outside, *grounds]))
    if inside:
        averaged = _averaged(data, factor, inside)
        rows = data.drop_duplicates("unit")[keys].assign(value=lambda d: d["unit"].map(averaged))
    else:
        rows = data[[*keys, "value"]]
    terms = [*around, factor]
    for other in outside:
        surrounded = any(rows.groupby(a)[other].nunique().eq(1).all() for a in around)
        terms += [f"{factor}:{other}"] if surrounded else [other, f"{factor}:{other}"]
    # Blocks lie on one ground each, so that they hold what the grounds differ by.
    held = [term for term in terms if factor in term.split(":") or term in outside]
    terms += [f"{term}:{ground}" for ground in grounds for term in held]
    made = Stratum(
        factor,
        rows.reset_index(drop=True),
        around,
        " + ".join(terms),
        skeleton.unit_of(factor),
        model.only_described or grounds_lacking(data, skeleton),
        inside=tuple(inside),
    )
    if not inside or _complete(data, inside):
        return made
    # The units' own variance is the correlation of what lies in one of them.
    random = tuple(term for term in skeleton.random if term not in (*around, skeleton.unit(factor)))
    place = data.groupby(inside, observed=True).ngroup().astype(float)
    return replace(made, plots=data.assign(place=place), random=random)


def _complete(data: pd.DataFrame, inside: Sequence[str]) -> bool:
    """Tell whether every unit holds every level that lies within units."""
    held = data.groupby("unit")[list(inside)].apply(lambda part: len(part.drop_duplicates()))
    return bool((held == len(data[list(inside)].drop_duplicates())).all())


def _averaged(data: pd.DataFrame, factor: str, inside: Sequence[str]) -> pd.Series:
    """Give each unit its mean over the levels within it, lost ones allowed for."""
    data = data.assign(cell=unit_names(data, ":".join(inside)))
    apart = [factor, "ground"] if "ground" in data else [factor]
    found = []
    for (treatment, *_), part in data.groupby(apart, observed=True):
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
        several are adjusted together, by Dunnett.

    Raises
    ------
    WinterswardError
        Where a treatment has no unit, the data do not determine a difference, the units leave
        nothing to judge by, or all values lie at one end of their scale.
    """
    owner = {x: f for f in model.skeleton.factors for x in model.data[f].cat.categories}
    factor = owner.get(pairs[0][0], "")
    if not factor:
        raise WinterswardError(f"on {model.date} {pairs[0][0]} was not on the ground yet")
    made = stratum(model, factor)
    counted = made.data.groupby(factor, observed=False)["unit"].nunique()
    gone = [name for pair in pairs for name in pair if not counted.get(name, 0)]
    if gone:
        raise WinterswardError(f"no observation of {', '.join(dict.fromkeys(gone))} can be used")
    fit = made.answer(transform, covariate)
    found = _paired(fit, factor, pairs, level)
    centre = _centred(fit, made, list(dict.fromkeys(name for pair in pairs for name in pair)))
    found.insert(2, "left_mean", found["left"].map(centre))
    found.insert(3, "right_mean", found["right"].map(centre))
    return found.assign(
        method=made.method + _only_over(model, factor),
        unit_kind=made.unit_kind,
        units_left=found["left"].map(counted).astype(int),
        units_right=found["right"].map(counted).astype(int),
    )


def _only_over(model: TrialModel, factor: str) -> str:
    """Say where the other factor's treatments were not all there to be averaged over."""
    said = ""
    for other in model.skeleton.factors:
        known, seen = list(model.data[other].cat.categories), set(model.data[other].astype(str))
        if other != factor and len(seen) < len(known):
            said += f"; averaged over {' and '.join(x for x in known if x in seen)} only"
    return said


def _paired(
    fit: MixedFit, factor: str, pairs: Sequence[tuple[str, str]], level: float
) -> pd.DataFrame:
    """Give one row a pair, left minus right; several adjusted together."""
    weights = _weights(fit, factor, pairs)
    said = [f"{a} minus {b}" for a, b in pairs]
    found = fit.linear(weights, said)
    lost = [one for one, se in zip(said, found.se, strict=True) if not np.isfinite(se)]
    if lost:
        raise WinterswardError(f"these data do not determine {', '.join(lost)}")
    rows = pd.DataFrame(list(pairs), columns=["left", "right"])
    rows = rows.assign(difference=found.estimate, se=found.se, df=found.df)
    return together(fit, factor, rows, level)


def together(fit: MixedFit, factor: str, rows: pd.DataFrame, level: float) -> pd.DataFrame:
    """Judge the comparisons of one question: one alone, several together by Dunnett.

    Parameters
    ----------
    fit : MixedFit
        Model whose correlations between the comparisons are used.
    factor : str
        Factor whose treatments are compared.
    rows : DataFrame
        Columns left, right, difference, se, df; one row a comparison, from `fit` or from
        another model of the same units.
    level : float
        Of the intervals.

    Returns
    -------
    DataFrame
        With lower, upper, t, p, adjust.
    """
    pairs = list(zip(rows["left"], rows["right"], strict=True))
    estimate, se, df = (rows[n].to_numpy(dtype=float) for n in ("difference", "se", "df"))
    adjust = "none" if len(pairs) == 1 else "dunnett"
    alike = fit.correlations(_weights(fit, factor, pairs))
    p, reach = adjusted(adjust, estimate / se, df, level, len(fit.levels[factor]), alike)
    ends = {"lower": estimate - reach * se, "upper": estimate + reach * se}
    return rows.assign(**ends, t=estimate / se, p=p, adjust=adjust)


def _weights(fit: MixedFit, factor: str, pairs: Sequence[tuple[str, str]]) -> NDArray[np.float64]:
    """Write differences of means as functions of the coefficients, one a row."""
    cells = cells_of(fit.fixed_part, [factor])
    at = {str(levels[0]): i for i, levels in enumerate(cells.levels)}
    return np.array([cells.weights[at[a]] - cells.weights[at[b]] for a, b in pairs])


def _centred(fit: MixedFit, made: Stratum, levels: Sequence[str]) -> pd.Series:
    """Give the mean of each treatment; around the plain mean where lost units leave no other."""
    means = fit.means([made.factor]).astype({made.factor: str}).set_index(made.factor)["mean"]
    if means[list(levels)].notna().all():
        return means
    known = [str(level) for level in fit.levels[made.factor]]
    ahead = pd.Series(0.0, index=known)
    table = fit.pairs([made.factor], adjust="none").astype({"left": str, "right": str})
    for row in table.dropna(subset=["difference"]).to_dict("records"):
        share = float(row["difference"]) / len(known)
        ahead[row["left"]] += share
        ahead[row["right"]] -= share
    return ahead + float(made.data["value"].mean())
