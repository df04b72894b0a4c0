"""Shares of the variation, and what more readings or more blocks would bring next year.

References
----------
Cochran W. G., Cox G. M. (1957) Experimental Designs, 2nd edition, Wiley (from memory): variance
of a mean of units that are sampled, sampling error over units times samples.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt
from typing import Any

import pandas as pd

from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.power import power
from wintersward.analysis.power_formulas import detectable
from wintersward.analysis.replication import layout_shape
from wintersward.analysis.results import empty
from wintersward.analysis.share_columns import (
    AT_LEAST,
    LAST,
    MORE_BLOCKS,
    NO_BOUND,
    NOW,
    TOGETHER,
    TWICE,
)
from wintersward.analysis.variance_parts import Parts, Source, variance_parts
from wintersward.errors import WinterswardError
from wintersward.study import Trial

__all__ = ["variance_shares"]

_ADDED = 2
# Chance that a difference is seen; common practice, no source.
_WANTED = 0.8

Row = dict[str, Any]


def variance_shares(trial: Trial) -> dict[str, pd.DataFrame]:
    """Tell where the variation of every measure comes from, and what would make it matter less.

    Parameters
    ----------
    trial : Trial
        The study; nothing is told before its primary question has data, nor of a demonstration.

    Returns
    -------
    dict of str to DataFrame
        Tables ``variance_shares``, ``variance_plans``, and ``notes``: why there are none.

    Notes
    -----
    With V_u the variance of units treated alike within their surroundings, V_p that of the plots
    in a unit and V_r that of the readings of a plot, the mean of a treatment with u units, p plots
    in each and r readings of a plot has the variance

        V_u / u + V_p / (u p) + V_r / (u p r),

    beside the blocks, which all treatments share. Twice the readings halve its last part; two
    more blocks (in a completely random layout two more plots of each treatment, in a Latin square
    one more square) make u larger, and give degrees of freedom. Where each plot has one reading,
    V_p and V_r are known together only: V_r is then at most both, and at least what varies within
    the photos, unless that is more than both can be. Compared is the factor of the primary
    question on its date, or on the last date of a measure that was not taken then. Lost plots are
    taken to be there next year.
    """
    tables = {name: empty(name) for name in ("variance_shares", "variance_plans", "notes")}
    if not trial.ready or not trial.definition.layout.tested:
        return tables
    shares: list[Row] = []
    plans: list[Row] = []
    notes: list[Row] = []
    for measure in trial.definition.measures:
        found: list[Parts] = []
        for model in _models(trial, measure):
            try:
                found.append(variance_parts(trial, model))
            except WinterswardError as error:
                text = f"the sources of variation cannot be told apart: {error}"
                notes.append({**_named(model), "code": "variance shares", "text": text})
        shares += [row for parts in found for row in _shares(parts)]
        plans += _plans(trial, measure, found)
    for name, rows in (("variance_shares", shares), ("variance_plans", plans), ("notes", notes)):
        if rows:
            columns = empty(name)
            tables[name] = pd.DataFrame(rows)[list(columns.columns)].astype(columns.dtypes)
    return tables


def _models(trial: Trial, measure: str) -> Iterator[TrialModel]:
    observed = set(trial.observations(measure)["date"].dt.date)
    for date in trial.dates(measure):
        if date in observed:
            yield model_for(trial, measure, date)


def _named(model: TrialModel) -> Row:
    return {"measure": model.measure, "date": pd.Timestamp(model.date)}


def _shares(parts: Parts) -> Iterator[Row]:
    """Give one row a source, and one for what varies within the photos."""
    if not parts.total:
        return

    def row(source: Source, part: str) -> Row:
        share = 100 * source.variance / parts.total
        told = {"source": source.name, "variance": source.variance, "share": share}
        return {**_named(parts.model), **told, "n": source.n, "part": part, "text": source.text}

    for source in parts.sources:
        yield row(source, "whole")
    if parts.within is not None:
        yield row(parts.within, NO_BOUND if parts.contradicted else AT_LEAST)


@dataclass(frozen=True)
class _Unit:
    """What blurs the mean of one experimental unit.

    Parameters
    ----------
    above : float
        Variance of its mean from the unit itself, its plots and their raters.
    reading : float
        Variance of its mean from the readings.
    """

    above: float
    reading: float

    @property
    def total(self) -> float:
        return self.above + self.reading

    @property
    def share(self) -> float:
        """Share of the readings [%]."""
        return 100 * self.reading / self.total if self.total else float("nan")

    def sd(self, times: int = 1) -> float:
        """Standard deviation of the mean with so many times the readings."""
        return sqrt(self.above + self.reading / times)


def _units(trial: Trial, parts: Parts, factor: str) -> list[tuple[str, _Unit]]:
    """Say what blurs a unit of a factor; twice, at either bound, where it is not known."""
    skeleton = parts.model.skeleton
    unit, per_plot = skeleton.unit(factor), parts.per_plot
    plots = len(trial.plots) / trial.plots[unit.split(":")].drop_duplicates().shape[0]
    inner = 0.0 if unit == "plot" else parts.variance("plot") / plots
    raters = max(1, len(getattr(trial.measure(parts.model.measure), "raters", [])))
    inner += parts.variance("plot:rater") / (plots * raters)
    above = parts.variance(unit) + inner
    if not parts.together:
        return [("", _Unit(above, parts.variance(LAST) / (plots * per_plot)))]
    both = parts.variance(TOGETHER)
    return [
        (bound, _Unit(above + (both - part) / plots, part / plots))
        for bound, part in ((AT_LEAST, parts.least), ("at most", both))
    ]


def _plans(trial: Trial, measure: str, found: list[Parts]) -> Iterator[Row]:
    """Set more readings and more blocks side by side for one measure."""
    question = trial.definition.analysis.primary
    factor = trial.definition.factor_of(question.levels[0])
    usable = [
        one
        for one in found
        if one.model.skeleton.treated and factor in one.model.skeleton.factors and one.total
    ]
    if not usable:
        return
    asked = [one for one in usable if one.model.date == trial.primary_date]
    parts = asked[0] if asked else usable[-1]
    family = len(question.pairs) if measure == question.measure else 1
    layout = trial.definition.layout
    now = layout.blocks or layout.replicates or trial.definition.combinations
    more = now + (trial.definition.combinations if layout.kind == "latin square" else _ADDED)
    units = _units(trial, parts, factor)
    if not units[0][1].total:
        return

    def row(plan: str, bound: str, unit: _Unit, blocks: int, times: int) -> Row:
        expected = _expected(trial, factor, unit.sd(times), blocks, family)
        share = unit.share if plan != MORE_BLOCKS and (bound or len(units) == 1) else float("nan")
        told = {"plan": plan, "bound": bound, "blocks": blocks, "reading_share": share}
        return {**_named(parts.model), **told, "readings": times * parts.per_plot, **expected}

    yield row(NOW, "", units[0][1], now, 1)
    for bound, unit in units:
        yield row(TWICE, bound, unit, now, 2)
    yield row(MORE_BLOCKS, "", units[0][1], more, 1)


def _expected(trial: Trial, factor: str, sd: float, blocks: int, family: int) -> Row:
    """Give the standard error of a difference, and the difference that would be seen."""
    alpha = trial.definition.analysis.alpha
    shape = layout_shape(trial, factor)
    # A difference has to be named; nothing that is used here depends on it.
    table = power(blocks=blocks, sd=sd, difference=sd, alpha=alpha, **shape)
    se, df = float(table["se"].iloc[0]), float(table["df"].iloc[0])
    return {"se": se, "df": df, "smallest": detectable(se, df, _WANTED, alpha / family)}
