"""Where the variation of one measure on one date comes from: blocks, units, plots, readings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import chdtri

from wintersward.analysis.model import TrialModel
from wintersward.analysis.share_columns import LAST, TOGETHER, WITHIN
from wintersward.analysis.units import unit_names
from wintersward.errors import WinterswardError
from wintersward.logged import OF_WHOLE_PLOT
from wintersward.models import MixedFit, fit_mixed
from wintersward.records import first_looks
from wintersward.scored import window_of
from wintersward.study import Trial
from wintersward.trial.schema import PhotoMeasure

__all__ = ["Parts", "Source", "readings", "variance_parts"]

_TEXTS = {
    "block": "between blocks",
    "row": "between rows of the square",
    "column": "between columns of the square",
    "block:row": "between row strips of one block, treated alike",
    "block:column": "between column strips of one block, treated alike",
    "whole_plot": "between whole plots of one block, treated alike",
    "plot": "between plots treated alike, beside all of the above",
    "plot:rater": "between raters on one plot, beside how severe each is on average",
    LAST: "between readings of one plot",
    TOGETHER: "between plots treated alike, and within them: one reading a plot cannot tell which",
    WITHIN: "within single photos, told from their cells",
}
# Beyond this the upper limit of a variance is passed by what is said to be a part of it.
_SURE = 0.95


@dataclass(frozen=True)
class Source:
    """One source of variation.

    Parameters
    ----------
    name : str
        Columns of plots.csv joined by ``:``, or `LAST`, `TOGETHER`, `WITHIN`.
    variance : float [unit of the measure, squared]
        Variance component.
    n : int
        Blocks, units, plots or readings that it is told from.
    """

    name: str
    variance: float
    n: int

    @property
    def text(self) -> str:
        """The source in words."""
        return _TEXTS[self.name]


@dataclass(frozen=True)
class Parts:
    """The variation of one measure on one date, taken apart.

    Parameters
    ----------
    model : TrialModel
        Says what is fixed, and what the units are.
    sources : tuple of Source
        Coarsest first; together they are all of the variation beside treatments and raters.
    within : Source or None
        What varies within the photos: a part of the last source. None without photos of cover.
    per_plot : float
        Readings of a plot, on average.
    df : int
        Degrees of freedom of the last source.
    """

    model: TrialModel
    sources: tuple[Source, ...]
    within: Source | None
    per_plot: float
    df: int

    @property
    def total(self) -> float:
        """All of the variance [unit of the measure, squared]."""
        return sum(source.variance for source in self.sources)

    @property
    def together(self) -> bool:
        """Whether plots and readings could not be told apart."""
        return self.sources[-1].name == TOGETHER

    @property
    def contradicted(self) -> bool:
        """Whether photos vary more within themselves than the last source, of which it is a part.

        More than the upper limit (95 %, one-sided) of that source's variance: then the frames are
        no random pieces of turf like that within them, and their cells bound nothing.
        """
        if self.within is None:
            return False
        most = self.sources[-1].variance * self.df / float(chdtri(self.df, _SURE))
        return self.within.variance > most

    @property
    def least(self) -> float:
        """Least of the last source that readings make up; 0 where nothing bounds it."""
        if self.within is None or self.contradicted:
            return 0.0
        return min(self.within.variance, self.sources[-1].variance)

    def variance(self, name: str) -> float:
        """Give the variance of a source; 0 where there is none of that name."""
        return sum(source.variance for source in self.sources if source.name == name)


def readings(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Give the readings of a measure on a date that are used, with the places of their plots.

    Parameters
    ----------
    trial : Trial
        The study.
    model : TrialModel
        The measure and the date.

    Returns
    -------
    DataFrame
        One row a reading: plot, sample, rater, value, source, and the columns of plots.csv.
    """
    seen = first_looks(trial.observations(model.measure))
    used = (seen["date"] == pd.Timestamp(model.date)) & (seen["excluded"] == "")
    columns = ["plot", "sample", "rater", "value", "source", "flags"]
    kept = seen.loc[used & seen["value"].notna(), columns]
    joined = kept.merge(trial.plots, on="plot", validate="many_to_one")
    # One logger of a whole plot is one reading, however many plots lie within.
    shared = joined["flags"].str.startswith(OF_WHOLE_PLOT)
    again = joined.duplicated(["whole_plot", "source", "sample"])
    joined = joined[~(shared & again)].drop(columns="flags").reset_index(drop=True)
    if model.skeleton.grounds:
        joined["ground"] = pd.Categorical(joined["ground"].astype(str), model.skeleton.grounds)
    return joined.astype(dict.fromkeys(("row", "column"), str))


def variance_parts(trial: Trial, model: TrialModel) -> Parts:
    """Take the variation of a measure on a date apart by restricted maximum likelihood.

    Parameters
    ----------
    trial : Trial
        The study.
    model : TrialModel
        The measure and the date.

    Returns
    -------
    Parts

    Raises
    ------
    WinterswardError
        Where the data cannot bear it.

    Notes
    -----
    Fixed are the treatments that are on the ground, the ground, and each of several raters.
    Random are the terms of the layout, the experimental units where they hold several readings,
    the plots where they do, a rater on a plot who took several; the rest is the reading. What
    treatments do from block to block stands with the units: one unit of each in a block cannot
    tell it from them.
    """
    if model.only_described:
        raise WinterswardError(model.only_described)
    data = readings(trial, model)
    skeleton = model.skeleton
    raters = data["rater"].nunique() > 1
    fixed = skeleton.fixed if skeleton.treated else "ground" if skeleton.grounds else "1"
    terms = [*skeleton.random]
    levels = dict.fromkeys([skeleton.unit_column, "plot", *(["plot:rater"] if raters else [])])
    terms += [term for term in levels if unit_names(data, term).duplicated().any()]
    fit = fit_mixed(data, "value", fixed + (" + rater" if raters else ""), terms)
    last = LAST if "plot" in terms else TOGETHER
    sources = [
        *(Source(term, fit.variances[term], unit_names(data, term).nunique()) for term in terms),
        Source(last, fit.variances["residual"], fit.rows),
    ]
    per_plot = len(data) / data["plot"].nunique()
    within = _within_photos(trial, model, data)
    return Parts(model, tuple(sources), within, per_plot, _df(fit, data, terms))


def _df(fit: MixedFit, data: pd.DataFrame, terms: list[str]) -> int:
    """Count what is left of the rows once every term has taken its part."""
    levels = [pd.get_dummies(unit_names(data, term)).to_numpy(dtype=float) for term in terms]
    columns = np.column_stack([fit.fixed_part.basis, *levels])
    return len(data) - int(np.linalg.matrix_rank(columns))


def _within_photos(trial: Trial, model: TrialModel, data: pd.DataFrame) -> Source | None:
    """Average what the cells of each photo tell of its cover."""
    measure = trial.measure(model.measure)
    if not isinstance(measure, PhotoMeasure) or measure.score != "cover":
        return None
    scores = trial.photo_scores()
    scores = scores[scores["window"] == window_of(measure).hash()]
    errors = data["source"].map(scores.set_index("path")["cover_se"]).dropna()
    if errors.empty:
        return None
    return Source(WITHIN, float((errors.astype(float) ** 2).mean()), len(errors))
