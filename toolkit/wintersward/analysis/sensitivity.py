"""The primary question by other analyses: does its answer hang on how it was asked?

Notes
-----
Each analysis is set beside the primary one and adjusted as that is: a single comparison is not,
those of a declared family are held together by Dunnett (by ranks, where there is no such thing, by
Bonferroni). They agree where both point to the same side and both intervals, or p values, fall on
the same side of alpha. None of these analyses replaces the primary one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from scipy import stats

from wintersward.analysis.covariates import (
    adjusted,
    covariate_asked,
    covariate_name,
    covariate_values,
    unit_names,
    without_units,
)
from wintersward.analysis.cover_history import received
from wintersward.analysis.dealt import pairs_there
from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.rank_answers import by_ranks
from wintersward.analysis.results import empty
from wintersward.analysis.strata import compare, stratum, together
from wintersward.analysis.transforms import arcsine, logit
from wintersward.errors import WinterswardError, listed
from wintersward.records import first_looks
from wintersward.study import Trial
from wintersward.trial.schema import SheetMeasure

__all__ = ["ANALYSES", "outliers", "sensitivity"]

# A studentised residual beyond this is far off in a trial of any size.
_FAR = 3.0
_NUMBERS = ("difference", "se", "df", "lower", "upper", "p")
ANALYSES = (
    "blocks random",
    "logit",
    "arcsine",
    "ranks",
    "without outliers",
    "excluded put back",
    "as treated",
    "dates together",
    "covariate",
)


@dataclass(frozen=True)
class _Asked:
    """The primary question of a trial, with what all the analyses need."""

    trial: Trial
    model: TrialModel
    factor: str
    joint: pd.DataFrame | None
    pairs: list[tuple[str, str]]

    @property
    def alpha(self) -> float:
        return self.trial.definition.analysis.alpha


@dataclass(frozen=True)
class _Answer:
    """One analysis: its words, its scale, a row of numbers for each comparison."""

    text: str
    scale: str
    rows: list[dict[str, float]]
    # The smallest p that each comparison can have; above alpha it can agree with nothing.
    least: float = 0.0
    # Whether it is another analysis at all, and not the primary one again.
    other: bool = True


def sensitivity(trial: Trial, joint: pd.DataFrame | None = None) -> dict[str, pd.DataFrame]:
    """Answer the primary question by other analyses.

    Parameters
    ----------
    trial : Trial
        The study; nothing is compared before its primary question has data.
    joint : DataFrame, optional
        Table ``joint_differences``, for the estimate from all dates together.

    Returns
    -------
    dict of str to DataFrame
        Tables ``sensitivity`` (in the order of `ANALYSES`, those that apply), ``slopes`` and
        ``notes`` (what could not be done, and why).
    """
    tables = {name: empty(name) for name in ("sensitivity", "slopes", "notes")}
    if not trial.ready:
        return tables
    question = trial.definition.analysis.primary
    model = model_for(trial, question.measure, trial.primary_date)
    named = {"measure": model.measure, "date": pd.Timestamp(model.date)}
    notes: list[dict[str, object]] = []
    factor = trial.definition.factor_of(question.levels[0])
    try:
        asked = _Asked(trial, model, factor, joint, pairs_there(trial, model))
        beside = _compared(asked, model)
    except WinterswardError as error:
        said = f"not answered by other analyses either: {error}"
        notes.append({**named, "code": "sensitivity", "text": said})
        return tables | {"notes": pd.DataFrame(notes)[list(tables["notes"].columns)]}
    rows: list[dict[str, object]] = []
    for analysis in ANALYSES:
        try:
            answer = _HOW[analysis](asked)
        except WinterswardError as error:
            said = f"not answered by '{analysis}': {error}"
            notes.append({**named, "code": "sensitivity", "text": said})
            continue
        if answer is not None:
            rows += _rows(asked, analysis, answer, beside)
    if rows:
        frame = pd.DataFrame([{**row, **named} for row in rows])
        tables["sensitivity"] = frame[list(tables["sensitivity"].columns)]
    tables["slopes"] = _slopes(asked)
    if notes:
        tables["notes"] = pd.DataFrame(notes)[list(tables["notes"].columns)]
    return tables


def _rows(
    asked: _Asked, analysis: str, answer: _Answer, beside: list[dict[str, float]]
) -> Iterator[dict[str, object]]:
    judged = answer.other and answer.least < asked.alpha
    for (left, right), row, primary in zip(asked.pairs, answer.rows, beside, strict=True):
        known = judged and np.isfinite([row["difference"], row["p"]]).all()
        same = np.sign(row["difference"]) == np.sign(primary["difference"])
        same = same and (row["p"] < asked.alpha) == (primary["p"] < asked.alpha)
        yield {
            "left": left,
            "right": right,
            "analysis": analysis,
            "text": answer.text,
            "scale": answer.scale,
            **{name: row[name] for name in _NUMBERS},
            "agrees": ("yes" if same else "no") if known else "",
        }


def _compared(asked: _Asked, model: TrialModel, **how: Any) -> list[dict[str, float]]:
    """Compare the pairs in their own stratum, adjusted as the primary answer is."""
    found = compare(model, asked.pairs, model.level, **how)
    if not np.isfinite(found[list(_NUMBERS)].to_numpy(dtype=float)).all():
        raise WinterswardError("these data do not determine the comparison")
    return [{name: float(row[name]) for name in _NUMBERS} for _, row in found.iterrows()]


def _held(asked: _Asked, rows: list[dict[str, float]]) -> list[dict[str, float]]:
    """Adjust comparisons that come one by one, as the primary answer is."""
    if len(rows) == 1:
        return rows
    fit = stratum(asked.model, asked.factor).answer()
    table = pd.DataFrame(asked.pairs, columns=["left", "right"]).join(pd.DataFrame(rows))
    held = together(fit, asked.factor, table, asked.model.level)
    return [{name: float(row[name]) for name in _NUMBERS} for row in held.to_dict("records")]


def _blocks_random(asked: _Asked) -> _Answer | None:
    skeleton = asked.model.skeleton
    if not skeleton.random:
        return None
    table = asked.model.fit.pairs([asked.factor], adjust="none", level=asked.model.level)
    rows = [_faced(table.astype({"left": str, "right": str}), pair) for pair in asked.pairs]
    random = [f"{term.unit_kind}s" for term in skeleton.terms if term.role == "random"]
    named = " and ".join(part for part in (listed(random[:-1]), random[-1]) if part)
    return _Answer(
        f"mixed model of all {skeleton.unit_kind}s, {named} random (Kenward and Roger 1997)",
        "measure",
        _held(asked, rows),
    )


def _faced(table: pd.DataFrame, pair: tuple[str, str]) -> dict[str, float]:
    """Find a pair in a table of pairs, left minus right."""
    for (left, right), sign in ((pair, 1.0), (pair[::-1], -1.0)):
        found = table[(table["left"] == left) & (table["right"] == right)]
        if len(found):
            row = found.iloc[0]
            numbers = {name: float(row[name]) for name in _NUMBERS}
            numbers["difference"] *= sign
            ends = sorted((sign * numbers["lower"], sign * numbers["upper"]))
            return {**numbers, "lower": ends[0], "upper": ends[1]}
    raise WinterswardError(f"{pair[0]} and {pair[1]} are not compared there")


def _is_share(asked: _Asked) -> bool:
    return asked.trial.measure(asked.model.measure).unit == "%"


def _logit(asked: _Asked) -> _Answer | None:
    if not _is_share(asked):
        return None
    offset = asked.trial.definition.analysis.logit_offset
    text = (
        "odds of the share, that is the share set against what it lacks of 100 %, each with "
        f"{offset:g} % added, on a logarithmic scale"
    )
    return _Answer(text, "log odds ratio", _compared(asked, asked.model, transform=logit(offset)))


def _arcsine(asked: _Asked) -> _Answer | None:
    if not _is_share(asked):
        return None
    rows = _compared(asked, asked.model, transform=arcsine)
    return _Answer("shares stretched near 0 and 100 % (arcsine of the square root)", "radian", rows)


def _ranks(asked: _Asked) -> _Answer | None:
    measure = asked.trial.measure(asked.model.measure)
    if not isinstance(measure, SheetMeasure) or measure.scale is None:
        return None
    made = stratum(asked.model, asked.factor)
    many, rows, least, text, scale = len(asked.pairs), [], 0.0, "", ""
    for pair in asked.pairs:
        found, text, scale = by_ranks(asked.trial, made, pair, 1 - asked.alpha / many)
        rows.append(
            {
                "difference": found.estimate,
                "se": float("nan"),
                "df": float("nan"),
                "lower": found.lower,
                "upper": found.upper,
                "p": min(1.0, found.p * many),
            }
        )
        least = max(least, min(1.0, found.smallest_p * many))
    if many > 1:
        text += f"; each p times {many}, for so many comparisons (Bonferroni)"
    if least >= asked.alpha:
        text += f"; so few cannot give a p below {least:.2g}"
    return _Answer(text, scale, rows, least)


def outliers(residuals: pd.Series, df: float, alpha: float) -> pd.Series:
    """Find units that lie far from the rest.

    Parameters
    ----------
    residuals : (n,) Series
        Residuals over their standard deviations, by unit.
    df : float
        Error degrees of freedom.
    alpha : float
        Error rate of the test.

    Returns
    -------
    Series
        Residuals of the units that lie beyond 3, or whose own test rejects at alpha over the
        number of units (Bonferroni).

    Notes
    -----
    With a residual r the unit's distance from the fit of the others is t = r sqrt((df - 1) /
    (df - r^2)), on df - 1 degrees of freedom. In a small trial r cannot exceed sqrt(df), so
    that the limit of 3 alone would never be met.

    References
    ----------
    Cook R. D., Weisberg S. (1982) Residuals and Influence in Regression, Chapman and Hall,
    section 2.2 (from memory).
    """
    if df <= 1:
        return residuals[residuals.abs() > _FAR]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = residuals * np.sqrt((df - 1) / (df - residuals**2).clip(lower=0.0))
    p = 2 * stats.t.sf(t.abs(), df - 1) * len(residuals)
    return residuals[(residuals.abs() > _FAR) | (p < alpha)]


def _without_outliers(asked: _Asked) -> _Answer | None:
    made = stratum(asked.model, asked.factor)
    fit = made.fit()
    residuals = pd.Series(fit.studentised.to_numpy(), index=made.data["unit"]).dropna()
    far = outliers(residuals, fit.rows - fit.columns, asked.alpha)
    if far.empty:
        text = f"no {made.unit_kind} lies far from the rest, so that none was left out"
        return _Answer(text, "measure", _compared(asked, asked.model), other=False)
    named = listed(f"{unit} (studentised residual {value:.1f})" for unit, value in far.items())
    kept = without_units(asked.model, asked.factor, [str(unit) for unit in far.index])
    return _Answer(f"without {named}", "measure", _compared(asked, kept))


def _put_back(asked: _Asked) -> _Answer | None:
    seen = first_looks(asked.trial.observations(asked.model.measure))
    there = seen[(seen["date"] == pd.Timestamp(asked.model.date)) & seen["value"].notna()]
    many = int((there["excluded"] != "").sum())
    if not many:
        return None
    model = model_for(asked.trial, asked.model.measure, asked.model.date, put_back=True)
    said = "1 observation" if many == 1 else f"{many} observations"
    return _Answer(f"with {said} that the diary excludes", "measure", _compared(asked, model))


def _as_treated(asked: _Asked) -> _Answer | None:
    got = received(asked.trial, asked.model)
    if not got:
        return None
    own = unit_names(asked.model.data, asked.model.skeleton.unit(asked.factor))
    data, factor = asked.model.data.copy(), asked.factor
    changed = own.map(got.changed)
    data[factor] = data[factor].mask(changed.notna(), changed)
    data[factor] = pd.Categorical(data[factor], list(asked.trial.factors[factor].levels))
    model = replace(asked.model, data=data[~own.isin(got.left_out)])
    said = [f"{unit} counted as {level}" for unit, level in got.changed.items()]
    said += [f"{unit} left out" for unit in got.left_out]
    text = (
        f"by the time that covers lay: {listed(said)} (a cover that lay for less than half of the"
        " full time counts as none, one that failed later leaves its unit out)"
    )
    return _Answer(text, "measure", _compared(asked, model))


def _dates_together(asked: _Asked) -> _Answer | None:
    joint = asked.joint
    if joint is None or joint.empty:
        return None
    chosen = (joint["measure"] == asked.model.measure) & (joint["within"] == "")
    chosen &= joint["date"].astype(str).str[:10] == str(asked.model.date)
    chosen &= joint["effect"] == asked.factor
    if not chosen.any():
        return None
    rows = _held(asked, [_faced(joint[chosen], pair) for pair in asked.pairs])
    return _Answer("the model of all dates, at the primary date", "measure", rows)


def _covariate(asked: _Asked) -> _Answer | None:
    if covariate_asked(asked.trial) is None:
        return None
    values = covariate_values(asked.trial, asked.model.skeleton.unit(asked.factor))
    found = adjusted(asked.model, asked.pairs, asked.factor, values)
    rows = [{name: float(row[name]) for name in _NUMBERS} for _, row in found.rows.iterrows()]
    lacking = found.lacking
    text = f"allowing for {covariate_name(asked.trial)}"
    text += f"; without {listed(lacking)}, where it was not observed" if lacking else ""
    return _Answer(text, "measure", rows)


def _slopes(asked: _Asked) -> pd.DataFrame:
    """Give the slope of the covariate at the primary date, where there is one."""
    none = empty("slopes")
    if covariate_asked(asked.trial) is None:
        return none
    values = covariate_values(asked.trial, asked.model.skeleton.unit(asked.factor))
    try:
        found = adjusted(asked.model, asked.pairs, asked.factor, values)
    except WinterswardError:
        return none
    row = {
        "measure": asked.model.measure,
        "date": pd.Timestamp(asked.model.date),
        "covariate": covariate_name(asked.trial),
        **found.slope,
    }
    return pd.DataFrame([row])[list(none.columns)]


_HOW: dict[str, Callable[[_Asked], _Answer | None]] = {
    "blocks random": _blocks_random,
    "logit": _logit,
    "arcsine": _arcsine,
    "ranks": _ranks,
    "without outliers": _without_outliers,
    "excluded put back": _put_back,
    "as treated": _as_treated,
    "dates together": _dates_together,
    "covariate": _covariate,
}
