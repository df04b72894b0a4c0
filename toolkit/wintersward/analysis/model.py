"""The model of one measure on one date: the means of its experimental units, and the fit."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

import pandas as pd

from wintersward.analysis.skeleton import DEMONSTRATION, Skeleton, skeleton_for
from wintersward.analysis.transforms import at_ceiling
from wintersward.analysis.unit_checks import check_units
from wintersward.analysis.units import plot_values, unequal_units, unit_means, unit_names
from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, fit_mixed
from wintersward.study import Trial

__all__ = ["TrialModel", "model_for"]

# Where a trial keeps its models, as its cached properties keep theirs.
_KEPT = "_models"


@dataclass(frozen=True)
class TrialModel:
    """What is analysed for one measure on one date.

    Parameters
    ----------
    measure : str
        As the definition names it.
    date : date
        Day of the observations.
    skeleton : Skeleton
        Terms and experimental units.
    data : DataFrame
        One row an experimental unit: unit_name, block, whole_plot, factors, ground where there
        are several, n, value.
    level : float
        Confidence level of the intervals, 1 - alpha.
    notes : tuple of (str, str)
        Code and text of what the averaging onto units has to say.
    unit : str
        Unit of the values.
    """

    measure: str
    date: dt.date
    skeleton: Skeleton
    data: pd.DataFrame
    level: float
    notes: tuple[tuple[str, str], ...] = ()
    unit: str = ""

    @property
    def only_described(self) -> str:
        """Why the values are shown and not compared; empty if they may be.

        They lie at one end of their scale, or come from a demonstration.
        """
        if not self.skeleton.tested:
            return DEMONSTRATION
        return at_ceiling(self.data["value"], self.unit)

    @cached_property
    def fit(self) -> MixedFit:
        """The mixed model, fitted by restricted maximum likelihood.

        Raises
        ------
        WinterswardError
            Before any treatment is on the ground, and when the data cannot bear the model.
        """
        if not self.skeleton.treated:
            raise WinterswardError(f"on {self.date} no treatment was on the ground yet")
        if self.data.empty:
            day = f"{self.date.day} {self.date:%B %Y}"
            raise WinterswardError(f"no observation of {self.measure} on {day} can be used")
        if self.only_described:
            raise WinterswardError(self.only_described)
        check_units(self.data, self.skeleton)
        return fit_mixed(
            self.data,
            response="value",
            fixed=self.skeleton.fixed,
            random=list(self.skeleton.random),
        )

    @property
    def problem(self) -> str:
        """Why the data cannot bear the model; empty where they can."""
        try:
            _ = self.fit
        except WinterswardError as error:
            return str(error)
        return ""

    def units(self, factors: list[str]) -> pd.DataFrame:
        """Count the experimental units observed at each level of the factors."""
        column = self.skeleton.unit(factors[0]) if len(factors) == 1 else "unit_name"
        named = unit_names(self.data, column)
        counted = named.groupby([self.data[name] for name in factors], observed=False).nunique()
        return counted.rename("units").reset_index()


def model_for(
    trial: Trial, measure: str, date: dt.date | str, put_back: bool = False
) -> TrialModel:
    """Set up the analysis that the layout fixes for a measure on a date.

    Parameters
    ----------
    trial : Trial
        The study.
    measure : str
        A measure of the definition.
    date : date or str
        Day of the observations, or its name in the definition.
    put_back : bool
        Use the excluded observations as well, to see what the exclusions do.

    Returns
    -------
    TrialModel
        Its ``fit`` is made when first asked for. Whoever asks again is given the same one, which
        is not to be changed.
    """
    day = trial.date(date)
    observations = trial.observations(measure)
    known, asked = _known(trial), (measure, day, put_back)
    if asked not in known:
        known[asked] = _set_up(trial, measure, day, observations, put_back)
    return known[asked]


def _known(trial: Trial) -> dict[tuple[str, dt.date, bool], TrialModel]:
    """Give the models that were set up from the very observations that the trial has now."""
    made_from = (vars(trial)["_observations"], trial.definition, trial.plots)
    before, known = vars(trial).get(_KEPT, ((), {}))
    if len(before) != len(made_from) or any(
        a is not b for a, b in zip(before, made_from, strict=True)
    ):
        known = {}
        vars(trial)[_KEPT] = (made_from, known)
    return known


def _set_up(
    trial: Trial, measure: str, day: dt.date, observations: pd.DataFrame, put_back: bool
) -> TrialModel:
    chosen = observations[observations["date"] == pd.Timestamp(day)]
    if not put_back:
        chosen = chosen[chosen["excluded"] == ""]
    skeleton = skeleton_for(trial.definition, day)
    level = 1 - trial.definition.analysis.alpha
    on_plots, notes = plot_values(chosen)
    data = unit_means(on_plots, trial.plots, skeleton)
    notes += unequal_units(data)
    notes += _same_day(trial, day)
    unit = trial.measure(measure).unit
    return TrialModel(measure, day, skeleton, data, level, tuple(notes), unit)


def _same_day(trial: Trial, day: dt.date) -> list[tuple[str, str]]:
    """Say that a visit on the day of a treatment counts as before it."""
    applied = [name for name in trial.factors if trial.begins(name) == day]
    text = "observed on the day that {} was applied: counted as before it"
    return [("same-day", text.format(name.replace("_", " "))) for name in applied]
