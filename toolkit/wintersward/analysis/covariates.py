"""A covariate: what is known of each unit that no cover can change, taken into the comparison.

Notes
-----
The covariate is named in the definition, so it was chosen before there were data. It was observed
before the covers could change it, or is fixed by the site: hours of sun, by the declared shade. It
enters the stratum of the primary question as one more column, centred: differences are then those
of units alike in the covariate. Blocks that follow it leave little of it to allow for. Whether the
treatments happened to start out alike is not tested anywhere: they were dealt out by chance, and
such a test would only tell what is known.

References
----------
Fisher R. A. (1932) Statistical Methods for Research Workers, 4th edition, section 49.1 (from
memory).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy import stats

from wintersward.analysis.model import TrialModel
from wintersward.analysis.strata import Stratum, compare, stratum
from wintersward.analysis.sun_values import SUN_HOURS, sun_values
from wintersward.analysis.units import plot_values, unit_names
from wintersward.errors import WinterswardError
from wintersward.models import MixedFit
from wintersward.study import Trial
from wintersward.trial.questions import Covariate

__all__ = [
    "Adjusted",
    "adjusted",
    "covariate_asked",
    "covariate_name",
    "covariate_values",
    "dated_slopes",
    "slope",
    "slopes_of",
    "unit_names",
    "without_units",
]


@dataclass(frozen=True)
class Adjusted:
    """A comparison with a covariate in it.

    Parameters
    ----------
    rows : DataFrame
        As `wintersward.analysis.strata.compare` gives them.
    slope : dict
        slope, se, df, lower, upper, p.
    lacking : tuple of str
        Units that were left out since they have no covariate.
    """

    rows: pd.DataFrame
    slope: dict[str, float]
    lacking: tuple[str, ...]


def covariate_asked(trial: Trial) -> tuple[str, dt.date | None] | None:
    """Give the measure and the day of the covariate; None where the definition has none.

    Hours of sun by the declared shade are ``sun_hours`` without a day.
    """
    asked = trial.definition.analysis.covariate
    if asked == "none":
        return None
    if asked == "sun_hours":
        return SUN_HOURS, None
    if isinstance(asked, Covariate):
        return asked.measure, trial.date(asked.on)
    return trial.definition.analysis.primary.measure, trial.date("baseline")


def covariate_name(trial: Trial) -> str:
    """Name the covariate for a reader; empty where there is none."""
    asked = covariate_asked(trial)
    if not asked:
        return ""
    measure, day = asked
    if day is None:
        return "hours of direct sun a day, from the declared shade"
    return f"{trial.label(measure)} on {day.day} {day:%B %Y}"


def covariate_values(trial: Trial, units: str) -> pd.Series:
    """Average the covariate onto units.

    Parameters
    ----------
    trial : Trial
        Its definition names the covariate.
    units : str
        Columns of plots.csv that name the units, joined by ``:``: ``plot``, ``whole_plot``,
        ``block:row``.

    Returns
    -------
    Series
        In the covariate's own unit (hours of sun in h a day), not centred, by the names of the
        units; those without a usable observation are absent. Excluded observations are left out.

    Raises
    ------
    WinterswardError
        Where the definition names no covariate, or hours of sun that do not follow from it.
    """
    asked = covariate_asked(trial)
    if asked is None:
        raise WinterswardError("the definition names no covariate; add 'covariate' to 'analysis'")
    measure, day = asked
    values = _sun(trial) if day is None else _observed(trial, measure, day)
    joined = trial.plots.merge(values, on="plot", how="inner")
    by_unit = joined.groupby(unit_names(joined, units))["value"].mean()
    return by_unit.rename("covariate").rename_axis("unit")


def _observed(trial: Trial, measure: str, day: dt.date) -> pd.DataFrame:
    """Give the values of the plots on a day, without what is excluded."""
    seen = trial.observations(measure)
    chosen = seen[(seen["date"] == pd.Timestamp(day)) & (seen["excluded"] == "")]
    return plot_values(chosen)[0]


def _sun(trial: Trial) -> pd.DataFrame:
    """Give the hours of sun of the plots."""
    found = sun_values(trial.definition, trial.plots)
    if found is None:
        raise WinterswardError(
            "hours of sun do not follow from the definition; add shade, latitude, longitude and "
            "time_zone to 'site'"
        )
    return found.rename(columns={SUN_HOURS: "value"})


def without_units(model: TrialModel, factor: str, names: Sequence[str]) -> TrialModel:
    """Leave the named units of a factor out of a model."""
    own = unit_names(model.data, model.skeleton.unit(factor))
    return replace(model, data=model.data[~own.isin(list(names))])


def adjusted(
    model: TrialModel, pairs: Sequence[tuple[str, str]], factor: str, values: pd.Series
) -> Adjusted:
    """Compare treatments of units alike in a covariate.

    Parameters
    ----------
    model : TrialModel
        One measure on one date.
    pairs : sequence of (str, str)
        Left and right.
    factor : str
        Factor that they belong to.
    values : Series
        As `covariate_values` gives them for the units of the factor.

    Raises
    ------
    WinterswardError
        Where the units leave nothing to judge by, or the covariate is the same on all of them.
    """
    own = unit_names(model.data, model.skeleton.unit(factor))
    lacking = sorted(set(own) - set(values.dropna().index))
    kept = without_units(model, factor, lacking) if lacking else model
    made = stratum(kept, factor)
    used = made.data["unit"].map(values).astype(float)
    _check_varies(used)
    rows = compare(kept, pairs, model.level, covariate=values)
    return Adjusted(rows, slope(made, used, model.level), tuple(lacking))


def slope(made: Stratum, covariate: pd.Series, level: float) -> dict[str, float]:
    """Estimate the slope of a covariate in a stratum.

    Parameters
    ----------
    made : Stratum
        The units.
    covariate : (n,) Series
        One value a unit, in the order of the stratum's data.
    level : float
        Of the interval.

    Returns
    -------
    dict
        slope, se, lower and upper (unit of the measure for one unit of the covariate), df, p.
    """
    centred = (covariate - covariate.mean()).to_numpy(dtype=float)
    fit = replace(made, data=made.data.assign(covariate=centred)).fit(extra="covariate")
    row = slopes_of(fit, {"": "covariate"}, level).iloc[0]
    return {name: float(row[name]) for name in ("slope", "se", "df", "lower", "upper", "p")}


def dated_slopes(data: pd.DataFrame) -> tuple[pd.DataFrame, dict[str, str]]:
    """Lay out a covariate so that it can have a slope of its own on each date.

    Parameters
    ----------
    data : DataFrame
        One row a unit and date: unit_name, date (categorical), covariate.

    Returns
    -------
    data : DataFrame
        With one column a date beside: the covariate, centred over the units, on the rows of that
        date, and zero on all others.
    names : dict of str to str
        Those columns by their dates.

    Raises
    ------
    WinterswardError
        Where the covariate is the same on all units.
    """
    each = data.drop_duplicates("unit_name")["covariate"]
    _check_varies(each)
    centred = data["covariate"] - each.mean()
    dates = data["date"].astype(str)
    names = {date: f"slope_{i}" for i, date in enumerate(sorted(set(dates)))}
    made = {name: centred.where(dates == date, 0.0) for date, name in names.items()}
    return data.assign(**made), names


def slopes_of(fit: MixedFit, names: Mapping[str, str], level: float) -> pd.DataFrame:
    """Read slopes from a model.

    Parameters
    ----------
    fit : MixedFit
        The model.
    names : mapping of str to str
        Number columns of its fixed part, by what they stand for.
    level : float
        Of the intervals.

    Returns
    -------
    DataFrame
        Columns name, slope, se, df, lower, upper, p; without numbers where the data do not
        determine the slope.
    """
    columns = fit.fixed_part.names
    weights = np.array([[float(name == column) for column in columns] for name in names.values()])
    found = fit.linear(weights, [f"the slope of the covariate {said}".strip() for said in names])
    reach = stats.t.isf((1 - level) / 2, found.df) * found.se
    return pd.DataFrame(
        {
            "name": list(names),
            "slope": found.estimate,
            "se": found.se,
            "df": found.df,
            "lower": found.estimate - reach,
            "upper": found.estimate + reach,
            "p": 2 * stats.t.sf(np.abs(found.estimate / found.se), found.df),
        }
    )


def _check_varies(values: pd.Series) -> None:
    if not values.std() > 1e-9 * max(float(values.abs().max()), 1e-300):
        raise WinterswardError("the covariate is the same on every unit")
