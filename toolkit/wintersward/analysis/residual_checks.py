"""Residuals of each measure and date, and checks of what the tests suppose.

The pictures come first. A check that finds nothing in a few units says little, one in twenty finds
something by chance, and none of them decides anything: what is analysed, and how, was fixed before.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from scipy import stats

from wintersward.analysis.model import TrialModel
from wintersward.analysis.results import empty
from wintersward.analysis.strata import Stratum, stratum
from wintersward.analysis.units import unit_names
from wintersward.errors import WinterswardError

__all__ = ["additivity", "equal_spread", "normality", "residual_checks"]

# Where the words change; nothing else does.
_ODD = 0.05
_CLEAR = 0.01
_CHANCE = "; about one check in twenty says so by chance"
_HARDLY = "; hardly chance: do not lean on the intervals of this date"
# Of the size of the values: less than this is rounding.
_NOTHING = 1e-9

Check = tuple[str, float, float, str]


def residual_checks(models: Sequence[TrialModel]) -> dict[str, pd.DataFrame]:
    """Gather residuals, and check normality, equal spread and additivity.

    Parameters
    ----------
    models : sequence of TrialModel
        One a measure and date. The tables tell the treatments of the units: give none before the
        primary question has its data. Those that cannot be fitted are passed over.

    Returns
    -------
    dict of str to DataFrame
        Tables ``residuals`` and ``checks``. A check is left out where there is too little to
        make it.

    Notes
    -----
    Residuals are conditional, what the predicted random terms leave; their standard deviations
    follow from the fitted variances.
    """
    residuals, checks = [], []
    for model in models:
        if model.problem:
            continue
        found = _residuals(model)
        residuals.append(found)
        for name, check in _checks(model, found):
            test, statistic, p, text = check
            told = {"measure": model.measure, "date": pd.Timestamp(model.date), "check": name}
            checks.append({**told, "test": test, "statistic": statistic, "p": p, "text": text})
    return {
        "residuals": _table("residuals", residuals),
        "checks": _table("checks", [pd.DataFrame(checks)] if checks else []),
    }


def _table(name: str, parts: list[pd.DataFrame]) -> pd.DataFrame:
    none = empty(name)
    if not parts:
        return none
    return pd.concat(parts, ignore_index=True)[list(none.columns)].astype(none.dtypes)


def _residuals(model: TrialModel) -> pd.DataFrame:
    fit, data = model.fit, model.data
    level = unit_names(data, ":".join(model.skeleton.factors))
    return pd.DataFrame(
        {
            "measure": model.measure,
            "date": pd.Timestamp(model.date),
            "unit_name": data["unit_name"].astype(str),
            "block": data["block"].astype(str),
            "level": level,
            "fitted": fit.fitted,
            "residual": fit.residuals,
            "studentised": fit.studentised,
        }
    )


def _checks(model: TrialModel, found: pd.DataFrame) -> Iterator[tuple[str, Check]]:
    residual = found["residual"].to_numpy(dtype=float)
    if np.abs(residual).max() <= _NOTHING * model.data["value"].abs().max():
        return
    check = normality(residual)
    if check is not None:
        yield "normality", check
    check = equal_spread(residual, found["level"].to_numpy())
    if check is not None:
        yield "equal spread of treatments", check
    skeleton = model.skeleton
    carried: dict[str, list[str]] = {}
    for factor in skeleton.factors:
        if skeleton.around(factor):
            carried.setdefault(skeleton.unit(factor), []).append(factor)
    for factors in carried.values():
        try:
            check = additivity(stratum(model, factors[0]))
        except WinterswardError:
            continue  # lost units left too little; the picture is there all the same
        if check is not None:
            around = _around(skeleton.around(factors[0]))
            yield f"additive {around}, {' and '.join(factors)}", check


def _around(terms: Sequence[str]) -> str:
    return " and ".join(term.replace("_", " ") + "s" for term in terms)


def _chance(p: float) -> str:
    """Say how far chance would do for a check that found something."""
    return _CHANCE if p >= _CLEAR else _HARDLY


def normality(residual: np.ndarray) -> Check | None:
    """Ask whether residuals look normal (Shapiro and Wilk).

    Parameters
    ----------
    residual : (n,) float
        Of one measure and date.

    Returns
    -------
    tuple of (str, float, float, str) or None
        Name of the test, statistic, p, words; None with fewer than three.

    Notes
    -----
    Residuals of one fit hang together a little, which the test does not know.

    References
    ----------
    Shapiro S. S., Wilk M. B. (1965) An analysis of variance test for normality (complete
    samples). Biometrika 52, 591-611. doi:10.1093/biomet/52.3-4.591
    """
    if len(residual) < 3:
        return None
    found = stats.shapiro(residual)
    if found.pvalue < _ODD:
        said = (
            "the residuals lie less straight than those of a normal distribution mostly do; look "
            f"in the quantile picture for one unit far off, steps, or a bend{_chance(found.pvalue)}"
        )
    else:
        said = (
            f"no sign that the residuals are not normal; with {len(residual)} units only large "
            "departures would show"
        )
    return "Shapiro-Wilk", float(found.statistic), float(found.pvalue), said


def equal_spread(residual: np.ndarray, level: np.ndarray) -> Check | None:
    """Ask whether residuals spread alike in all treatments (Brown and Forsythe).

    Parameters
    ----------
    residual : (n,) float
        Of one measure and date.
    level : (n,) str
        Treatment of each.

    Returns
    -------
    tuple of (str, float, float, str) or None
        Name of the test, statistic, p, words; None unless two treatments have three units or more.

    Notes
    -----
    The analysis of variance of the distances from the median of each treatment: Levene's test with
    medians.

    References
    ----------
    Brown M. B., Forsythe A. B. (1974) Robust tests for the equality of variances. Journal of the
    American Statistical Association 69, 364-367. doi:10.1080/01621459.1974.10482955
    """
    grouped = pd.Series(residual).groupby(np.asarray(level))
    groups = {str(name): one.to_numpy() for name, one in grouped if len(one) > 2}
    if len(groups) < 2:
        return None
    apart = [np.abs(one - np.median(one)) for one in groups.values()]
    # Distances that do not vary within a treatment leave nothing to judge by.
    if sum(float(np.ptp(one)) for one in apart) <= _NOTHING * float(np.abs(residual).max()):
        return None
    found = stats.levene(*groups.values(), center="median")
    fewest = min(len(one) for one in groups.values())
    if found.pvalue < _ODD:
        spread = {name: float(np.std(one, ddof=1)) for name, one in groups.items()}
        most, least = max(spread, key=lambda n: spread[n]), min(spread, key=lambda n: spread[n])
        said = f"the residuals spread most in {most} and least in {least}"
        # A spread that is rounding alone is none.
        some = spread[least] > _NOTHING * spread[most]
        said += (
            f", {spread[most] / spread[least]:.1f} times as much"
            if some
            else ", where there is no spread at all"
        )
        said += _chance(found.pvalue)
    else:
        said = (
            f"no sign that treatments spread differently; with {fewest} units in a treatment only "
            "large differences would show"
        )
    return "Brown-Forsythe", float(found.statistic), float(found.pvalue), said


def additivity(made: Stratum) -> Check | None:
    """Ask whether treatments differ alike in high and low blocks (Tukey's one degree of freedom).

    Parameters
    ----------
    made : Stratum
        The experimental units of a factor, with what surrounds them.

    Returns
    -------
    tuple of (str, float, float, str) or None
        Name of the test, F, p, words; None where blocks or treatments do not differ at all.

    Raises
    ------
    WinterswardError
        Where the units leave no degree of freedom.

    Notes
    -----
    The additive model is fitted, and again with its squared fitted values as one more column; F is
    that of the column. For complete blocks of t treatments this is Tukey's test,
    ``(sum y a b)^2 / (sum a^2 sum b^2)`` with block effects a and treatment effects b, on 1 and
    (b - 1)(t - 1) - 1 degrees of freedom; it holds as well with lost units, and for rows and
    columns.

    References
    ----------
    Tukey J. W. (1949) One degree of freedom for non-additivity. Biometrics 5, 232-242.
    doi:10.2307/3001938
    """
    first = made.fit()
    fitted = first.fitted.to_numpy()
    curve = (fitted - fitted.mean()) ** 2
    size = float(curve.max())
    if size <= (_NOTHING * float(made.data["value"].abs().max())) ** 2:
        return None
    curved = replace(made, data=made.data.assign(curve=curve / size))
    tests = curved.fit(extra="curve").anova()
    row = tests[tests["term"] == "curve"]
    f, p = (float(row[name].iloc[0]) for name in ("f", "p"))
    if not np.isfinite(f):
        return None
    around = _around(made.around)
    if p < _ODD:
        said = (
            f"treatments differ more in some {around} than in others, in step with their level; "
            f"see whether another scale tells the same{_chance(p)}"
        )
    else:
        said = (
            f"no sign that treatments differ more in high or in low {around}; other ways not to "
            "be additive would not show"
        )
    return "Tukey, one degree of freedom", f, p, said
