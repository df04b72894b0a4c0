"""Season averages: the area under each unit's curve over the real dates, by its span in days."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from wintersward.analysis.results import empty
from wintersward.analysis.scopes import Scope, control_last, notes_table, scopes_of
from wintersward.analysis.together import pair_rows
from wintersward.analysis.transforms import at_ceiling
from wintersward.analysis.units import Notes, unit_names
from wintersward.errors import WinterswardError, listed
from wintersward.models import MixedFit, fit_mixed
from wintersward.study import Trial

__all__ = ["season_average", "season_averages", "unit_averages"]

_TABLES = ("season_values", "season_means", "season_differences", "notes")


def season_average(days: ArrayLike, values: ArrayLike) -> float:
    """Average a curve over the days, visits weighing as much as the days they stand for.

    Parameters
    ----------
    days : (n,) float [day]
        Days of the visits, ascending; two or more.
    values : (n,) float
        What was seen.

    Returns
    -------
    float [unit of the values]
        Area under the straight lines from visit to visit, over the days from first to last.

    Raises
    ------
    WinterswardError
        If there are fewer than two visits, days do not ascend or something is not a number.

    Examples
    --------
    >>> round(season_average([0, 7, 21], [40, 60, 90]), 3)
    66.667
    """
    when, seen = np.asarray(days, dtype=float), np.asarray(values, dtype=float)
    if when.ndim != 1 or when.shape != seen.shape or when.size < 2:
        raise WinterswardError(
            f"days and values have the shapes {when.shape} and {seen.shape}; "
            "allowed: two lists of one length, of two visits or more"
        )
    if not (np.isfinite(when).all() and np.isfinite(seen).all()):
        raise WinterswardError("days and values must be numbers; leave out visits that saw nothing")
    if (np.diff(when) <= 0).any():
        raise WinterswardError(f"days: found {listed(when)}; allowed: ascending, each day once")
    return float(np.trapezoid(seen, when) / (when[-1] - when[0]))


def season_averages(trial: Trial) -> dict[str, pd.DataFrame]:
    """Average every measure over the season, and compare the treatments.

    Returns
    -------
    dict of str to DataFrame
        ``season_values``, ``season_means``, ``season_differences`` and ``notes``, with the columns
        of `wintersward.analysis.results.TABLES`, season_values with a column a factor beside;
        empty until the primary question has data.
    """
    parts: dict[str, list[pd.DataFrame]] = {name: [] for name in _TABLES}
    if trial.ready:
        for measure in trial.definition.measures:
            for scope in scopes_of(trial, measure)[0]:
                for name, frame in _one(trial, scope).items():
                    parts[name].append(frame)
    return {name: _stacked(name, frames) for name, frames in parts.items()}


def _stacked(name: str, frames: list[pd.DataFrame]) -> pd.DataFrame:
    filled = [frame for frame in frames if not frame.empty]
    if not filled:
        return empty(name)
    stacked = pd.concat(filled, ignore_index=True)
    known = list(empty(name).columns)
    rest = [column for column in stacked.columns if column not in known]
    stacked[rest] = stacked[rest].fillna("")
    return stacked[[*known, *rest]]


def unit_averages(scope: Scope) -> tuple[pd.DataFrame, Notes]:
    """Average the curve of every unit that was seen on the first and on the last date.

    Parameters
    ----------
    scope : Scope
        Dates of one measure.

    Returns
    -------
    averages : DataFrame
        One row a unit: the columns of `scope.data` that do not change with the date, dates (how
        many saw it) and value, the average.
    notes : list of (str, str)
        Units that were left out, and gaps that a straight line bridges.
    """
    seen = scope.data.dropna(subset=["value"]).sort_values("day")
    ends = scope.data["day"].min(), scope.data["day"].max()
    rows, bridged, lost = [], [], []
    constant = [c for c in seen.columns if c not in ("date", "day", "n", "value")]
    for name, visits in seen.groupby("unit_name", sort=True):
        if (visits["day"].iloc[0], visits["day"].iloc[-1]) != ends:
            lost.append(str(name))
            continue
        if len(visits) < len(scope.dates):
            bridged.append(str(name))
        value = season_average(visits["day"], visits["value"])
        told = {"dates": len(visits), "n": int(visits["n"].sum()), "value": value}
        rows.append({**dict(zip(constant, visits[constant].iloc[0], strict=True)), **told})
    averages = pd.DataFrame(rows, columns=[*constant, "dates", "n", "value"])
    for factor in scope.skeleton.crossed:
        levels = scope.data[factor].cat.categories
        averages[factor] = pd.Categorical(averages[factor], levels)
    notes: Notes = []
    if bridged:
        text = f"a date inside the season is lacking, bridged by a straight line: {listed(bridged)}"
        notes.append(("season average", text))
    if lost:
        text = f"the first or the last date is lacking, left out: {listed(lost)}"
        notes.append(("season average", text))
    return averages, notes


def _one(trial: Trial, scope: Scope) -> dict[str, pd.DataFrame]:
    averages, notes = unit_averages(scope)
    factors = list(scope.skeleton.factors)
    on_it = averages[factors].astype(str)
    made = {"season_values": scope.put("season_values", averages).join(on_it)}
    try:
        end = at_ceiling(averages["value"], trial.measure(scope.measure).unit)
        if end:
            raise WinterswardError(end)
        data = control_last(trial, averages, factors)
        fit = fit_mixed(data, "value", scope.skeleton.fixed, list(scope.skeleton.random))
        made["season_means"] = _means(scope, fit, averages)
        rows = pair_rows(fit, factors, scope.level)
        made["season_differences"] = scope.put("season_differences", rows)
        notes += [(note.code, note.text) for note in fit.notes]
    except WinterswardError as error:
        notes.append(("season average", f"not compared: {error}"))
    prefix = f"season average ({scope.name}): "
    said = [(code, prefix + text) for code, text in notes]
    return {**made, "notes": notes_table(scope.measure, scope.dates[-1], said)}


def _means(scope: Scope, fit: MixedFit, averages: pd.DataFrame) -> pd.DataFrame:
    """Estimate the mean of every treatment, and of every combination of treatments."""
    frames = []
    for size in range(1, len(scope.skeleton.factors) + 1):
        for chosen in combinations(scope.skeleton.factors, size):
            factors = list(chosen)
            found = fit.means(factors, level=scope.level).dropna(subset=["mean"])
            found = found.astype({factor: str for factor in factors})
            found["effect"] = ":".join(factors)
            found["level"] = unit_names(found, ":".join(factors))
            found["units"] = found["level"].map(_counted(scope, averages, factors))
            frames.append(found)
    return scope.put("season_means", pd.concat(frames, ignore_index=True))


def _counted(scope: Scope, averages: pd.DataFrame, factors: list[str]) -> pd.Series:
    """Count the experimental units of each combination of levels, each factor's own."""
    units = averages["unit_name"]
    if len(factors) == 1:
        own = scope.skeleton.unit(factors[0]).split(":")
        if all(column in averages for column in own):
            units = unit_names(averages, scope.skeleton.unit(factors[0]))
    cells = unit_names(averages, ":".join(factors))
    return units.groupby(cells).nunique()
