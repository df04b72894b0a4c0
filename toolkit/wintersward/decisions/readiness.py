"""Whether turf is ready: every limit of the definition against the mean of every treatment."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

import numpy as np
import pandas as pd

from wintersward.analysis.decision_columns_readiness import READINESS
from wintersward.analysis.families import means
from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.units import unit_names
from wintersward.decisions.established import Reference, reference_for
from wintersward.decisions.limits import (
    AT_LEAST,
    AT_MOST,
    CANNOT_TELL,
    MOST,
    NO_DATA,
    Estimate,
    beyond,
    bounds,
    copies_to_tell,
    joined,
    verdict,
)
from wintersward.decisions.rows import framed
from wintersward.errors import WinterswardError
from wintersward.study import Trial
from wintersward.trial.dates import dates_meant
from wintersward.trial.decided import Limit
from wintersward.trial.schema import Definition
from wintersward.trial.touching import EVERYTHING, measure_tag

__all__ = ["readiness"]

_TOO_FEW = "too few blocks or plots are left to judge by"
_STEADY = (
    "the readings of established turf do not vary, so that their error is not known; read more "
    "places"
)


@dataclass(frozen=True)
class _Held:
    """A limit of the definition, as it stands against one measure on one day."""

    measure: str
    day: dt.date
    limit: Limit
    reference: Reference | None

    @property
    def at(self) -> str:
        return AT_LEAST if self.limit.at_least is not None else AT_MOST

    @property
    def share(self) -> float:
        """Share of established turf that is asked for; NaN for a limit as it is written."""
        return float(self.limit.end.value) / 100 if self.limit.of is not None else np.nan

    @property
    def value(self) -> float:
        """The limit in the unit of the measure; NaN where established turf was not read."""
        if self.limit.of is None:
            return float(self.limit.end.value)
        return self.share * self.reference.estimate.mean if self.reference else np.nan

    def against(self, own: Estimate) -> Estimate:
        """Give a mean the error that it has against the limit."""
        if self.limit.of is None or self.reference is None:
            return own
        return joined(own, self.share, self.reference.estimate)


def readiness(trial: Trial) -> pd.DataFrame:
    """Hold the mean of every treatment against every limit of the definition.

    Parameters
    ----------
    trial : Trial
        Its definition holds limits under ``decisions.ready_when``; its diary the readings of
        established turf that a limit may be a share of.

    Returns
    -------
    DataFrame
        The table ``readiness``: one row a limit and treatment; where two factors were on the
        ground on that day, a combination of theirs, since no ground has the mean over both levels
        of one. Values in SI. Empty without limits, until the primary question has its data, and
        for a demonstration, which no interval can be had of.

    Notes
    -----
    Means and their errors are those of the layout's own model of that day, blocks random. Each
    verdict follows from a one-sided bound at the confidence of the limit (`wintersward.decisions.
    limits`); verdicts are not adjusted for one another. A mean says nothing of the single spot:
    ``units_beyond`` counts the experimental units that miss the limit by themselves. That a limit
    is met says that, and no more: who answers for the field decides.
    """
    decided = trial.definition.decisions
    limits = (decided.ready_when if decided else None) or {}
    if not trial.ready or not trial.definition.layout.tested:
        limits = {}
    rows = [row for name, limit in limits.items() for row in _judged(trial, name, limit)]
    return framed(READINESS["readiness"], rows)


def _judged(trial: Trial, name: str, limit: Limit) -> Iterator[dict[str, Any]]:
    """Judge every treatment by one limit."""
    day = trial.date(limit.on)
    reference = None
    if limit.of is not None:
        reference = reference_for(trial.diary.established_turf, name, day)
    held = _Held(name, day, limit, reference)
    model = model_for(trial, name, day)
    shared = _shared(held) | {"role": _role(trial, held)}
    found, why = _means(model)
    for effect, level in _levels(model, trial.definition):
        own = found.get((effect, level))
        row = {**shared, "effect": effect, "level": level}
        values = _by_unit(model, effect, level)
        missed = sum(beyond(float(value), held.at, held.value) for value in values)
        counts = {"units": len(values), "units_beyond": missed}
        yield row | counts | _verdict(trial.definition, held, own, why, values)


def _shared(held: _Held) -> dict[str, Any]:
    """Give what all rows of a limit have in common."""
    reference = held.reference
    return {
        "measure": held.measure,
        "date": pd.Timestamp(held.day),
        "sure": held.limit.sure,
        "at": held.at,
        "limit": held.value,
        "share": 100 * held.share,
        "reference_mean": reference.estimate.mean if reference else np.nan,
        "reference_se": reference.estimate.se if reference else np.nan,
        "reference_n": reference.readings if reference else 0,
        "reference": "; ".join(reference.places) if reference else "",
        "reference_date": pd.Timestamp(reference.day) if reference else pd.NaT,
        "source": held.limit.told_source,
    }


def _means(model: TrialModel) -> tuple[dict[tuple[str, str], Estimate], str]:
    """Estimate the mean of every treatment; say why where the data cannot bear it."""
    # Treatments that all lie near 100 % are not compared, and yet have means.
    fitted = replace(model, unit="")
    try:
        table = means(fitted)
    except WinterswardError as error:
        return {}, _TOO_FEW if model.skeleton.factors else str(error)
    named = zip(table["effect"], table["level"], strict=True)
    values = table[["mean", "se", "df"]].to_numpy(dtype=float)
    return {key: Estimate(*one) for key, one in zip(named, values, strict=True)}, ""


def _levels(model: TrialModel, definition: Definition) -> Iterator[tuple[str, str]]:
    """List every treatment of the day, or combination of two, in the definition's order."""
    factors = model.skeleton.factors
    if not factors:
        return
    levels = product(*(definition.treatments[name].levels for name in factors))
    yield from ((":".join(factors), ":".join(level)) for level in levels)


def _by_unit(model: TrialModel, effect: str, level: str) -> pd.Series:
    """Average the values of one treatment onto its experimental units."""
    own = _of_level(model, effect, level)
    if own.empty:
        return own["value"]
    column = model.skeleton.unit(effect) if ":" not in effect else "unit_name"
    return own.groupby(unit_names(own, column))["value"].mean()


def _of_level(model: TrialModel, effect: str, level: str) -> pd.DataFrame:
    """Take the units of one treatment."""
    data, here = model.data, pd.Series(True, index=model.data.index)
    for factor, name in zip(effect.split(":"), level.split(":"), strict=True):
        here &= data[factor].astype(str) == name
    return data[here]


def _verdict(
    definition: Definition, held: _Held, own: Estimate | None, why: str, values: pd.Series
) -> dict[str, Any]:
    """Judge one mean; where no model gives it, show the plain one, say why, and judge nothing."""
    none: dict[str, Any] = dict.fromkeys(("se", "df", "lower", "upper"), np.nan)
    plain = own.mean if own and np.isfinite(own.mean) else values.mean()
    none |= {"mean": plain, "settle_units": 0}
    if values.empty:
        return none | {"verdict": NO_DATA, "settle": "no observation of that day can be used"}
    if held.limit.of is not None and held.reference is None:
        said = f"the diary has no readings of {held.limit.of} of this measure (established_turf)"
        return none | {"verdict": NO_DATA, "settle": said}
    if held.reference is not None and not held.reference.estimate.judges:
        return none | {"verdict": CANNOT_TELL, "settle": _STEADY}
    if own is None or not own.judges:
        said = why or "the plots do not vary, so that no bound can be had"
        return none | {"verdict": CANNOT_TELL, "settle": said}
    whole = held.against(own)
    ends = bounds(whole, held.limit.sure)
    found = verdict(ends, held.at, held.value)
    many, said = 0, ""
    if found == CANNOT_TELL:
        many, said = _settle(definition, held, own)
    return {
        "mean": whole.mean,
        "se": whole.se,
        "df": whole.df,
        "lower": ends[0],
        "upper": ends[1],
        "verdict": found,
        "settle_units": many,
        "settle": said,
    }


def _settle(definition: Definition, held: _Held, own: Estimate) -> tuple[int, str]:
    """Say how many blocks would have told, with the mean and the spread seen here."""
    layout = definition.layout
    copies, named = layout.blocks, "blocks on each ground" if layout.grounds else "blocks"
    if layout.kind == "latin square":
        copies, named = 1, "such squares"
    elif not layout.blocks:
        copies, named = layout.replicates, "plots of each treatment"
    reference = held.reference.estimate if held.reference else None
    share = 0.0 if np.isnan(held.share) else held.share
    asked = (own, held.value, held.limit.sure, copies)
    many = copies_to_tell(*asked, share, reference)
    if many is not None:
        said = f"about {many} {named} in place of {copies} would have told"
        return many, f"{said}, were mean and spread the same"
    alone = copies_to_tell(*asked)
    if reference is not None and alone is not None:
        return 0, "more readings of the established turf; more blocks alone would not have told"
    said = f"too close to the limit to tell with any reasonable number of {named}"
    return 0, f"{said} (more than {MOST})"


def _role(trial: Trial, held: _Held) -> str:
    """Tell whether the limit, or what it is held against, was changed after the freeze."""
    if trial.frozen is None:
        return "secondary"
    touched = {tag for one in trial.changes for tag in one.touches}
    if touched & {EVERYTHING, measure_tag(held.measure)}:
        return "exploratory"
    before = _meant(trial.frozen.definition, held.measure)
    now = _meant(trial.definition, held.measure)
    return "secondary" if before == now else "exploratory"


def _meant(definition: Definition, measure: str) -> tuple[Limit, dt.date] | None:
    """Give a limit and its day as they are meant, whatever they are called, without its source."""
    decided = definition.decisions
    limit = ((decided.ready_when if decided else None) or {}).get(measure)
    if limit is None:
        return None
    day = dates_meant(definition.dates, limit.on)[0]
    return limit.model_copy(update={"source": None, "on": day}), day
