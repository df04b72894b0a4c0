"""Scopes: which factors, experimental units and dates are taken together over a season."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import pandas as pd

from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.results import empty
from wintersward.analysis.skeleton import Skeleton
from wintersward.analysis.strata import stratum
from wintersward.analysis.units import Notes, plot_values, unit_means
from wintersward.errors import WinterswardError, listed
from wintersward.study import Trial

__all__ = [
    "Scope",
    "constant_within",
    "control_last",
    "notes_table",
    "only_over",
    "scopes_of",
]


@dataclass(frozen=True)
class Scope:
    """Dates of one measure that share their factors and their experimental units.

    Parameters
    ----------
    measure : str
        As the definition names it.
    skeleton : Skeleton
        Of each of the dates: factors, units, random terms.
    dates : tuple of date
        Ascending, two or more.
    data : DataFrame
        One row a unit and date: the columns of `TrialModel.data`, date (ISO 8601, categorical)
        and day (from the first date) [day].
    level : float
        Confidence level of the intervals, 1 - alpha.
    described : dict of date to str
        Dates on which all units lie at one end of the scale, and the words for it: they tell how
        far each unit had come by then, while nothing is compared on the day itself.
    """

    measure: str
    skeleton: Skeleton
    dates: tuple[dt.date, ...]
    data: pd.DataFrame
    level: float
    described: dict[dt.date, str] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Factors joined by ``:``, as the tables name the scope."""
        return ":".join(self.skeleton.factors)

    @property
    def unit(self) -> str:
        """Random term that tells the experimental units apart."""
        return self.skeleton.unit_column

    def compared(self) -> Scope:
        """Leave out the dates that are only described; days stay counted from the first date."""
        dates = tuple(date for date in self.dates if date not in self.described)
        names = [date.isoformat() for date in dates]
        data = self.data[self.data["date"].isin(names)].reset_index(drop=True)
        data["date"] = data["date"].cat.set_categories(names)
        return replace(self, dates=dates, data=data, described={})

    def put(self, name: str, frame: pd.DataFrame) -> pd.DataFrame:
        """Give rows the columns by which the tables tell scopes, and the order of one table."""
        first, last = (pd.Timestamp(day) for day in (self.dates[0], self.dates[-1]))
        told = frame.assign(measure=self.measure, scope=self.name, first=first, last=last)
        return told[list(empty(name).columns)]


def scopes_of(trial: Trial, measure: str) -> tuple[list[Scope], Notes]:
    """Find the scopes of a measure.

    Parameters
    ----------
    trial : Trial
        The study.
    measure : str
        A measure of the definition.

    Returns
    -------
    scopes : list of Scope
        First the factors that were on the ground on all compared dates, over all of these; then
        all factors, over the dates after the last of them was applied. A scope has two dates
        or more.
    notes : list of (str, str)
        Dates that were left out, and why.

    Notes
    -----
    Compared dates are those with a usable observation after the first treatment was on the
    ground. Where a factor came later, the units of the first scope hold several of its units on
    the dates after it; their values are averaged with equal weight, lost ones allowed for, as
    `wintersward.analysis.strata.stratum` does.
    """
    models = [model_for(trial, measure, date) for date in trial.dates(measure)]
    models = [model for model in models if model.skeleton.treated and not model.data.empty]
    if not models:
        return [], []
    fewest = min(models, key=lambda model: len(model.skeleton.factors)).skeleton
    most = max(models, key=lambda model: len(model.skeleton.factors)).skeleton
    notes: Notes = []
    found = [_scope(trial, models, fewest, notes)]
    if len(most.factors) > len(fewest.factors):
        later = [m for m in models if len(m.skeleton.factors) == len(most.factors)]
        found.append(_scope(trial, later, most, notes))
    return [scope for scope in found if scope is not None], list(dict.fromkeys(notes))


def control_last(trial: Trial, data: pd.DataFrame, factors: Sequence[str]) -> pd.DataFrame:
    """Put the control after the other treatments, so that pairs read treatment minus control."""
    turned = data.copy()
    for factor in factors:
        control = trial.factors[factor].control
        order = [level for level in trial.factors[factor].levels if level != control]
        turned[factor] = pd.Categorical(data[factor].astype(str), [*order, control])
    return turned


def only_over(model: TrialModel, factor: str) -> str:
    """Say over which treatments the units of a factor are averaged where some were not seen.

    Parameters
    ----------
    model : TrialModel
        One measure on one date.
    factor : str
        The factor whose units are averaged.

    Returns
    -------
    str
        Empty where every treatment of the factors inside the units was seen.
    """
    said = []
    for other in model.skeleton.factors:
        known = list(model.data[other].cat.categories)
        seen = [level for level in known if level in set(model.data[other].astype(str))]
        if not constant_within(model.skeleton, other, factor) and len(seen) < len(known):
            said.append(f"units of {factor} are averaged over {listed(seen)} of {other} only")
    return "; ".join(said)


def constant_within(skeleton: Skeleton, other: str, factor: str) -> bool:
    """Tell whether each unit of a factor has one treatment of another, as the layout has it.

    Examples
    --------
    >>> from wintersward.analysis.skeleton import Term
    >>> subs = Term("tine", "treatment", "subplot", 15, "plot", ("whole_plot",))
    >>> wholes = Term("cover", "treatment", "whole plot", 10, "whole_plot", ("block",))
    >>> skeleton = Skeleton(("cover", "tine"), "plot", "subplot", (), (wholes, subs), True)
    >>> constant_within(skeleton, "cover", "tine"), constant_within(skeleton, "tine", "cover")
    (True, False)
    """
    return skeleton.unit(other) in (skeleton.unit(factor), *skeleton.around(factor))


def notes_table(measure: str, date: dt.date, said: Notes) -> pd.DataFrame:
    """Put notes about several dates into the form of the table ``notes``.

    Parameters
    ----------
    measure : str
        The measure.
    date : date
        Last of the dates.
    said : list of (str, str)
        Code and text.
    """
    if not said:
        return empty("notes")
    frame = pd.DataFrame(said, columns=["code", "text"]).drop_duplicates()
    frame.insert(0, "measure", measure)
    frame.insert(
        1, "date", pd.Series(pd.Timestamp(date), index=frame.index, dtype="datetime64[us]")
    )
    return frame


def _scope(
    trial: Trial, models: Sequence[TrialModel], skeleton: Skeleton, notes: Notes
) -> Scope | None:
    """Put the dates of some models together, on the units of one skeleton."""
    frames: list[pd.DataFrame] = []
    dates: list[dt.date] = []
    described: dict[dt.date, str] = {}
    told = f"dates together ({listed(skeleton.factors)}): "
    for model in models:
        try:
            frames.append(_on_units(trial, model, skeleton))
        except WinterswardError as error:
            notes.append(("dates together", f"{told}{model.date} left out: {error}"))
            continue
        dates.append(model.date)
        if model.only_described:
            described[model.date] = model.only_described
        if model.skeleton.unit_column != skeleton.unit_column:
            text = only_over(model, skeleton.factors[0])
            notes += [("dates together", f"{told}on {model.date} {text}")] if text else []
    if len(dates) < 2:
        text = f"fewer than two dates to take together for {listed(skeleton.factors)}"
        notes.append(("dates together", text))
        return None
    said = [date.isoformat() for date in dates]
    parts = [
        frame.assign(date=day, day=float((date - dates[0]).days))
        for frame, date, day in zip(frames, dates, said, strict=True)
    ]
    data = pd.concat(parts, ignore_index=True)
    data["date"] = pd.Categorical(data["date"], said, ordered=False)
    for factor in skeleton.factors:
        levels = list(trial.factors[factor].levels)
        data[factor] = pd.Categorical(data[factor].astype(str), levels)
    if skeleton.grounds:
        data["ground"] = pd.Categorical(data["ground"].astype(str), skeleton.grounds)
    return Scope(models[0].measure, skeleton, tuple(dates), data, models[0].level, described)


def _on_units(trial: Trial, model: TrialModel, skeleton: Skeleton) -> pd.DataFrame:
    """Give the values of one date on the units of a skeleton that may be coarser than its own."""
    if model.skeleton.unit_column == skeleton.unit_column:
        kept = [c for c in model.data if c not in trial.factors or c in skeleton.factors]
        return model.data[kept]
    (factor,) = skeleton.factors
    on_plots, _ = plot_values(_used(trial, model))
    coarse = unit_means(on_plots, trial.plots, skeleton)
    values = stratum(model, factor).data.set_index("unit")["value"]
    return coarse.assign(value=coarse["unit_name"].map(values))


def _used(trial: Trial, model: TrialModel) -> pd.DataFrame:
    seen = trial.observations(model.measure)
    return seen[(seen["date"] == pd.Timestamp(model.date)) & (seen["excluded"] == "")]
