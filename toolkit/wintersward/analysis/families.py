"""Families of comparisons: which means and differences belong together on one date."""

from __future__ import annotations

from collections.abc import Hashable
from itertools import combinations

import pandas as pd

from wintersward.analysis.model import TrialModel
from wintersward.analysis.results import empty
from wintersward.errors import WinterswardError
from wintersward.study import Trial

__all__ = ["differences", "means", "primary_contrast", "unanswered"]


def means(model: TrialModel) -> pd.DataFrame:
    """Estimate the mean of every treatment, and of every combination of treatments.

    Returns
    -------
    DataFrame
        Columns effect, level, mean, se, df, lower, upper (in the measure's unit), units.
    """
    frames = []
    for size in range(1, len(model.skeleton.factors) + 1):
        for chosen in combinations(model.skeleton.factors, size):
            factors = list(chosen)
            found = model.fit.means(factors, level=model.level)
            counted = model.units(factors).astype({f: "str" for f in factors})
            found = found.astype({f: "str" for f in factors}).merge(counted, on=factors)
            found["effect"] = ":".join(factors)
            found["level"] = found[factors].agg(":".join, axis=1)
            frames.append(found)
    stacked = pd.concat(frames, ignore_index=True)
    return stacked[["effect", "level", "mean", "se", "df", "lower", "upper", "units"]]


def differences(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Compare the treatments of every factor, overall and within those of the other factors.

    A family is the set of pairs of one factor on one date, within one treatment of another
    factor where it is taken within; the definition says how it is adjusted. The contrast of
    the primary question stands once more, not adjusted, with the role ``primary``.

    Returns
    -------
    DataFrame
        Columns effect, within, left, right, difference, se, df, lower, upper (in the
        measure's unit), t, p, adjust, role; differences are treatment minus control where the
        control takes part.
    """
    frames = []
    factors = model.skeleton.factors
    adjust = trial.definition.analysis.among_treatments
    for factor in factors:
        frames.append(_pairs(trial, model, factor, None, adjust))
        frames += [_pairs(trial, model, factor, by, adjust) for by in factors if by != factor]
    if len(factors) == 2:
        frames.append(_crossed(trial, model))
    question = trial.definition.analysis.primary
    if model.measure == question.measure and model.date == trial.primary_date:
        row = primary_contrast(trial, model)
        kept = {name: row[name] for name in row if name in empty("differences").columns}
        factor = trial.definition.factor_of(question.compare[0])
        kept |= {"effect": factor, "within": "", "adjust": "none", "role": "primary"}
        frames.append(pd.DataFrame([kept]))
    wanted = list(empty("differences").columns[2:])
    return pd.concat([frame[wanted] for frame in frames], ignore_index=True)


def primary_contrast(trial: Trial, model: TrialModel) -> dict[str, float | str]:
    """Estimate the contrast of the primary question, alone at alpha.

    Returns
    -------
    dict
        left, right, left_mean, right_mean, difference, se, df, lower, upper, t, p, alpha,
        matters_from, units_left, units_right.
    """
    analysis = trial.definition.analysis
    left, right = analysis.primary.compare
    factor = trial.definition.factor_of(left)
    pairs = model.fit.pairs([factor], adjust="none", level=model.level)
    faced = _facing(pairs, {(left, right)})
    if faced.empty or faced["difference"].isna().any():
        levels = trial.factors[factor].levels
        day = f"{model.date.day} {model.date:%B %Y}"
        raise WinterswardError(
            f"{levels[left].label} and {levels[right].label} were not both observed on {day}"
        )
    pair = faced.iloc[0]
    found = model.fit.means([factor], level=model.level).astype({factor: "str"})
    centre = found.set_index(factor)["mean"]
    counted = model.units([factor]).astype({factor: "str"}).set_index(factor)["units"]
    numbers = ("difference", "se", "df", "lower", "upper", "t", "p")
    return {
        "left": left,
        "right": right,
        "left_mean": float(centre[left]),
        "right_mean": float(centre[right]),
        **{name: float(pair[name]) for name in numbers},
        "alpha": analysis.alpha,
        "matters_from": analysis.primary.matters_from.value,
        "units_left": int(counted[left]),
        "units_right": int(counted[right]),
    }


def unanswered(trial: Trial) -> dict[str, float | str]:
    """Give the row of a primary question that the data cannot answer: NaN for every estimate."""
    analysis = trial.definition.analysis
    left, right = analysis.primary.compare
    estimates = ("left_mean", "right_mean", "difference", "se", "df", "lower", "upper", "t", "p")
    return {
        "left": left,
        "right": right,
        **dict.fromkeys(estimates, float("nan")),
        "alpha": analysis.alpha,
        "matters_from": analysis.primary.matters_from.value,
        "units_left": 0,
        "units_right": 0,
    }


def _crossed(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Tell how much the difference made by one factor depends on the other.

    Each treatment of either factor is set against the control of its factor: the difference
    of the second factor under a treatment of the first, minus the same under its control.
    P and intervals are adjusted by Bonferroni for the number of these on the date.
    """
    first, second = (trial.factors[name] for name in model.skeleton.factors)
    cells = [
        (one, two)
        for one in first.levels
        for two in second.levels
        if one != first.control and two != second.control
    ]
    rows = []
    for one, two in cells:
        weights: dict[Hashable, float] = {
            (one, two): 1.0,
            (one, second.control): -1.0,
            (first.control, two): -1.0,
            (first.control, second.control): 1.0,
        }
        level = 1 - (1 - model.level) / len(cells)
        found = model.fit.contrast(weights, list(model.skeleton.factors), level=level).iloc[0]
        row = {name: float(found[name]) for name in ("se", "df", "lower", "upper", "t")}
        row["difference"] = float(found["estimate"])
        row["p"] = min(1.0, float(found["p"]) * len(cells))
        sides = {"left": one, "right": first.control}
        named = {side: f"{name}:{two}-{second.control}" for side, name in sides.items()}
        rows.append({**row, **named})
    crossed = pd.DataFrame(rows)
    crossed["effect"] = ":".join(model.skeleton.factors)
    return crossed.assign(within="", adjust="bonferroni", role="secondary")


def _pairs(
    trial: Trial, model: TrialModel, factor: str, by: str | None, adjust: str
) -> pd.DataFrame:
    names = list(trial.factors[factor].levels)
    method = adjust if len(names) > 2 else "none"
    pairs = model.fit.pairs([factor], by=[by] if by else None, adjust=method, level=model.level)
    control = trial.factors[factor].control
    ranked = [*[name for name in names if name != control], control]
    wanted = {(a, b) for i, a in enumerate(ranked) for b in ranked[i + 1 :]}
    faced = _facing(pairs, wanted)
    faced["effect"] = factor
    faced["within"] = (by + "=" + faced[by].astype(str)) if by else ""
    faced["adjust"] = method
    faced["role"] = "secondary"
    return faced


def _facing(pairs: pd.DataFrame, wanted: set[tuple[str, str]]) -> pd.DataFrame:
    """Turn pairs so that they read left minus right as wanted, and keep only those."""
    faced = pairs.copy()
    faced["left"], faced["right"] = faced["left"].astype(str), faced["right"].astype(str)
    turn = [(r, left) in wanted for left, r in zip(faced["left"], faced["right"], strict=True)]
    turned = pd.Series(turn, index=faced.index)
    before = faced.copy()
    for here, there in (("left", "right"), ("lower", "upper")):
        faced[here] = before[here].where(~turned, before[there] * (1 if here == "left" else -1))
        faced[there] = before[there].where(~turned, before[here] * (1 if here == "left" else -1))
    for name in ("difference", "t"):
        faced[name] = before[name].where(~turned, -before[name])
    kept = [pair in wanted for pair in zip(faced["left"], faced["right"], strict=True)]
    return faced[kept].reset_index(drop=True)
