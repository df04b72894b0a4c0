"""How well raters agree: intraclass correlations in their named forms, severity by date."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
import pandas as pd

__all__ = ["FORMS", "Agreement", "MeanSquares", "all_dates", "complete", "severity", "within_dates"]

# The forms in plain words: of one rating or of the mean of the raters; with the raters' own
# severity counted as disagreement (absolute) or taken off (consistency).
FORMS = (
    "single rating, absolute agreement",
    "single rating, consistency",
    "mean of the raters, absolute agreement",
    "mean of the raters, consistency",
)
_LEVEL = 0.95
# Of the variation: less than this is rounding.
_NOTHING = 1e-12


@dataclass(frozen=True)
class Agreement:
    """One form of the intraclass correlation.

    Parameters
    ----------
    form : str
        One of `FORMS`.
    value : float
        The estimate; below 0 where plots differ less than ratings of one plot do.
    lower, upper : float
        Ends of the 95 % interval; not a number where the raters leave nothing to judge by.
    """

    form: str
    value: float
    lower: float
    upper: float


def complete(ratings: pd.DataFrame) -> pd.DataFrame:
    """Keep the plots that every rater rated on a date.

    Parameters
    ----------
    ratings : DataFrame
        Columns date, plot, rater, value; several samples of a plot are averaged.

    Returns
    -------
    DataFrame
        One row a date and plot (the index), one column a rater who rated at all.
    """
    used = ratings[ratings["rater"] != ""].dropna(subset=["value"])
    wide = used.pivot_table(index=["date", "plot"], columns="rater", values="value")
    return wide.dropna()


def severity(wide: pd.DataFrame) -> pd.DataFrame:
    """Set each rater against the mean of all raters, date by date.

    Parameters
    ----------
    wide : DataFrame
        As `complete` gives it.

    Returns
    -------
    DataFrame
        Columns date, rater, severity (in the unit of the ratings; above 0: marks higher than
        the mean of the raters), plots; sorted by date, raters in the order of the columns.
    """
    ahead = wide.sub(wide.mean(axis=1), axis=0)
    means = ahead.groupby(level="date").mean().reset_index()
    long = means.melt(id_vars="date", var_name="rater", value_name="severity")
    plots = wide.groupby(level="date").size()
    long["plots"] = long["date"].map(plots).astype("int64")
    return long.sort_values("date", kind="stable", ignore_index=True)


def all_dates(wide: pd.DataFrame) -> list[Agreement]:
    """Give the forms over all plots and dates, a plot on a date being what is rated.

    Parameters
    ----------
    wide : (n, k) DataFrame
        As `complete` gives it; n of 2 or more, k of 2 or more.

    Returns
    -------
    list of Agreement
        In the order of `FORMS`.

    Notes
    -----
    Two-way random effects: ICC(2,1) and ICC(2,k) of Shrout and Fleiss for absolute agreement,
    ICC(3,1) and ICC(3,k) for consistency; A,1, A,k, C,1 and C,k of McGraw and Wong.

    References
    ----------
    Shrout P. E., Fleiss J. L. (1979) Intraclass correlations: uses in assessing rater
    reliability. Psychological Bulletin 86, 420-428. doi:10.1037/0033-2909.86.2.420
    McGraw K. O., Wong S. P. (1996) Forming inferences about some intraclass correlation
    coefficients. Psychological Methods 1, 30-46. doi:10.1037/1082-989X.1.1.30
    """
    squares = MeanSquares.of(wide, np.zeros(len(wide), dtype=int))
    if squares.settled:
        return squares.forms()
    from pingouin import intraclass_corr  # slow to import

    values = wide.to_numpy(dtype=float)
    targets, raters = np.indices(values.shape)
    long = pd.DataFrame(
        {"target": targets.ravel(), "rater": raters.ravel(), "value": values.ravel()}
    )
    with _unrounded():
        found = intraclass_corr(long, targets="target", raters="rater", ratings="value")
    interval = next(name for name in found.columns if name.startswith("CI95"))
    # Its rows: one-way, absolute, consistency; first of one rating, then of the mean.
    return [
        Agreement(form, float(found["ICC"].iloc[at]), *map(float, found[interval].iloc[at]))
        for form, at in zip(FORMS, (1, 2, 4, 5), strict=True)
    ]


def within_dates(wide: pd.DataFrame) -> list[Agreement]:
    """Give the forms for plots of one date, from all dates together.

    Parameters
    ----------
    wide : (n, k) DataFrame
        As `complete` gives it; at least one date with two plots.

    Returns
    -------
    list of Agreement
        In the order of `FORMS`.

    Notes
    -----
    Turf changes over a season, and what all plots have in common on a date makes ratings look
    alike. Treatments are compared within dates, so sums of squares and degrees of freedom of the
    two-way table of each date are added up before the formulas are applied. Consistency then
    leaves out how severe a rater was on that date; absolute agreement counts it, drift included.
    """
    dates = wide.index.get_level_values("date")
    kept = wide[dates.duplicated(keep=False)]
    return MeanSquares.of(kept, pd.factorize(kept.index.get_level_values("date"))[0]).forms()


@contextmanager
def _unrounded() -> Iterator[None]:
    """Let pingouin give intervals with all their digits.

    Warnings that it uses what a later pandas will not have are its maintainers' business.
    """
    import pingouin

    options: dict[str, object] = pingouin.options
    held: Mapping[str, object] = {k: v for k, v in options.items() if "CI95" in k}
    options.update(dict.fromkeys(held))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)
            yield
    finally:
        options.update(held)


@dataclass(frozen=True)
class MeanSquares:
    """Mean squares of two-way tables of targets by raters, added up over groups of targets.

    Parameters
    ----------
    targets, raters, error : float
        Mean squares.
    df_targets, df_raters, df_error : float
        Their degrees of freedom.
    n, k : float, int
        Targets in a group (harmonic mean) and raters.
    """

    targets: float
    raters: float
    error: float
    df_targets: float
    df_raters: float
    df_error: float
    n: float
    k: int

    @classmethod
    def of(cls, wide: pd.DataFrame, group: np.ndarray) -> MeanSquares:
        """Take them from ratings.

        Parameters
        ----------
        wide : (n, k) DataFrame
            One row a target, one column a rater.
        group : (n,) int
            Group of each target, from 0 on; every group has two targets or more.
        """
        values = wide.to_numpy(dtype=float)
        k = values.shape[1]
        sizes = np.bincount(group)
        own = values.mean(axis=1)
        by_rater = np.array([np.bincount(group, column) for column in values.T]).T / sizes[:, None]
        centre = by_rater.mean(axis=1)
        left = values - own[:, None] - by_rater[group] + centre[group][:, None]
        squares = (
            k * float(((own - centre[group]) ** 2).sum()),
            float((sizes[:, None] * (by_rater - centre[:, None]) ** 2).sum()),
            float((left**2).sum()),
        )
        floor = _NOTHING * sum(squares)
        free = len(values) - len(sizes)
        df = free, len(sizes) * (k - 1), free * (k - 1)
        t, r, e = (ss / d if ss > floor else 0.0 for ss, d in zip(squares, df, strict=True))
        n = len(sizes) / float((1 / sizes).sum())
        return cls(t, r, e, df[0], df[1], df[2], n, k)

    @property
    def settled(self) -> bool:
        """Whether targets or ratings of a target do not differ at all: no interval then."""
        return self.error == 0 or self.targets == 0

    def forms(self) -> list[Agreement]:
        """Give the four forms.

        Notes
        -----
        With mean squares T (targets), R (raters), E (error), n targets and k raters::

            C,1 = (T - E) / (T + (k - 1) E)
            A,1 = (T - E) / (T + (k - 1) E + k (R - E) / n)

        and x,k = k x,1 / (1 + (k - 1) x,1). The interval of C is exact; that of A follows McGraw
        and Wong (1996, table 7), with degrees of freedom after Satterthwaite.
        """
        t, r, e, n, k = self.targets, self.raters, self.error, self.n, self.k
        below = t + (k - 1) * e
        absolute = below + k * (r - e) / n
        single = [
            ((t - e) / absolute if absolute > 0 else np.nan, *self._absolute_ends()),
            ((t - e) / below if below > 0 else np.nan, *self._consistent_ends()),
        ]
        mean = [tuple(_of_mean(end, k) for end in one) for one in single]
        return [Agreement(form, *one) for form, one in zip(FORMS, [*single, *mean], strict=True)]

    def _consistent_ends(self) -> tuple[float, float]:
        from scipy.stats import f

        if self.settled:
            return np.nan, np.nan
        upper = 0.5 + _LEVEL / 2
        ratio = self.targets / self.error
        low = ratio / float(f.ppf(upper, self.df_targets, self.df_error))
        high = ratio * float(f.ppf(upper, self.df_error, self.df_targets))
        return (low - 1) / (low + self.k - 1), (high - 1) / (high + self.k - 1)

    def _absolute_ends(self) -> tuple[float, float]:
        from scipy.stats import f

        if self.settled:
            return np.nan, np.nan
        t, r, e, n, k = self.targets, self.raters, self.error, self.n, self.k
        value = (t - e) / (t + (k - 1) * e + k * (r - e) / n)
        a = k * value
        b = n * (1 + (k - 1) * value) - k * value
        df = (a * r + b * e) ** 2 / ((a * r) ** 2 / self.df_raters + (b * e) ** 2 / self.df_error)
        upper = 0.5 + _LEVEL / 2
        low = float(f.ppf(upper, self.df_targets, df))
        high = float(f.ppf(upper, df, self.df_targets))
        spread = k * r + (k * n - k - n) * e
        return (
            n * (t - low * e) / (low * spread + n * t),
            n * (high * t - e) / (spread + n * high * t),
        )


def _of_mean(value: float, k: int) -> float:
    """Step up from one rating to the mean of k (Spearman and Brown); it has no lower end."""
    below = 1 + (k - 1) * value
    return k * value / below if below > _NOTHING else np.nan
