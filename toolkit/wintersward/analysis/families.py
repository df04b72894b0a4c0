"""Secondary comparisons: which contrasts are looked at, and the family that each belongs to.

Notes
-----
Every comparison of one measure, over all the dates that the definition plans for it, is one family:
every pair of treatments of every factor, averaged over the other factor and within each of its
treatments, and how much the difference made by one factor depends on the other. Probabilities are
stepped down by Holm, and intervals widened by Bonferroni so that all of them hold together.
Adjusting over dates as well as treatments keeps a trial with many visits from finding something by
having looked often; counting what is planned, not what has come in, keeps an answer from changing
with the next visit.

References
----------
Holm S. (1979) A simple sequentially rejective multiple test procedure. Scandinavian Journal of
Statistics 6(2), 65-70.
"""

from __future__ import annotations

from collections.abc import Hashable
from itertools import combinations
from math import comb

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from wintersward.analysis.model import TrialModel
from wintersward.analysis.results import empty
from wintersward.analysis.skeleton import skeleton_for
from wintersward.analysis.units import unit_names
from wintersward.models.letters import letters_of
from wintersward.study import Trial

__all__ = ["contrasts", "held_together", "lettered", "means", "planned", "stepped_down"]

_RAW = ["effect", "within", "left", "right", "difference", "se", "df", "t", "p_alone"]


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
            found["level"] = unit_names(found, ":".join(factors))
            frames.append(found)
    stacked = pd.concat(frames, ignore_index=True)
    return stacked[["effect", "level", "mean", "se", "df", "lower", "upper", "units"]]


def contrasts(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Compare the treatments of every factor on one date, each comparison by itself.

    Returns
    -------
    DataFrame
        Columns effect, within, left, right, difference, se, df (in the measure's unit), t,
        p_alone; differences are treatment minus control where the control takes part.
    """
    factors = model.skeleton.factors
    frames = []
    for factor in factors:
        frames.append(_pairs(trial, model, factor, None))
        frames += [_pairs(trial, model, factor, by) for by in factors if by != factor]
    if len(factors) == 2:
        frames.append(_crossed(trial, model))
    return pd.concat([frame[_RAW] for frame in frames], ignore_index=True)


def planned(trial: Trial, measure: str) -> int:
    """Count the comparisons of a measure on all the dates that are planned for it."""
    found = 0
    for date in trial.dates(measure):
        skeleton = skeleton_for(trial.definition, date)
        if not skeleton.treated:
            continue
        sizes = [len(trial.factors[name].levels) for name in skeleton.factors]
        pairs = [comb(size, 2) for size in sizes]
        found += sum(pairs)
        if len(sizes) == 2:
            found += pairs[0] * sizes[1] + pairs[1] * sizes[0] + (sizes[0] - 1) * (sizes[1] - 1)
    return found


def held_together(trial: Trial, measure: str, frame: pd.DataFrame, level: float) -> pd.DataFrame:
    """Adjust the comparisons of one measure over all its dates, as one family.

    Parameters
    ----------
    trial : Trial
        Its definition plans the dates.
    measure : str
        The measure.
    frame : DataFrame
        As `contrasts`, with date; the dates that were observed.
    level : float
        Of the intervals, all of the family together.

    Returns
    -------
    DataFrame
        Columns of the table ``differences``, role ``secondary``.
    """
    own = frame.copy()
    known = own["se"].notna() & (own["df"] > 0)
    size = max(planned(trial, measure), int(known.sum()))
    p, reach = np.full((2, len(own)), np.nan)
    p[known] = stepped_down(own.loc[known, "p_alone"].to_numpy(dtype=float), size)
    reach[known] = stats.t.isf((1 - level) / (2 * size), own.loc[known, "df"].to_numpy(dtype=float))
    own["lower"] = own["difference"] - reach * own["se"]
    own["upper"] = own["difference"] + reach * own["se"]
    own["p"] = p
    own["family"] = f"{trial.label(measure)}, every comparison on every planned date"
    whole = own.assign(comparisons=size, role="secondary", measure=measure)
    return whole[list(empty("differences").columns)]


def stepped_down(p: NDArray[np.float64], size: int) -> NDArray[np.float64]:
    """Adjust probabilities by Holm, in a family of which some may still be to come.

    Parameters
    ----------
    p : (n,) float
        Probabilities, each by itself.
    size : int
        Comparisons of the whole family, n or more; those to come count as the largest.

    Examples
    --------
    >>> stepped_down(np.array([0.01, 0.04]), 3).round(4).tolist()
    [0.03, 0.08]
    """
    order = np.argsort(p, kind="stable")
    held = np.empty(len(p))
    held[order] = np.minimum(1.0, np.maximum.accumulate(p[order] * (size - np.arange(len(p)))))
    return held


def lettered(
    means: pd.DataFrame, differences: pd.DataFrame, tests: pd.DataFrame, alpha: float
) -> pd.DataFrame:
    """Put letters beside the means of factors with three or more treatments.

    Letters follow the Holm probabilities of `differences`. A factor has none on a date on which
    its interaction with another factor, or with the ground, has a probability below alpha or
    could not be tested, because a mean over the other factor, or the grounds, may then hide what
    matters.
    """
    found = means.assign(letters="")
    keys = differences[(differences["role"] == "secondary") & (differences["within"] == "")]
    for (date, effect), part in found.groupby(["date", "effect"], sort=False):
        joint = [":" in term and effect in term.split(":") for term in tests["term"]]
        crossed = tests[(tests["date"] == date) & np.array(joint, dtype=bool)]
        alone = not (found.loc[found["date"] == date, "effect"].str.contains(":")).any()
        apart = bool((crossed["p"] >= alpha).all()) if len(crossed) else alone
        if ":" in str(effect) or len(part) < 3 or not apart:
            continue
        levels = {name: i for i, name in enumerate(part["level"])}
        p = np.full((len(levels), len(levels)), np.nan)
        for row in keys[(keys["date"] == date) & (keys["effect"] == effect)].to_dict("records"):
            i, j = levels[row["left"]], levels[row["right"]]
            p[i, j] = p[j, i] = row["p"]
        found.loc[part.index, "letters"] = letters_of(part["mean"].to_numpy(), p, alpha)
    return found


def _crossed(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Tell how much the difference made by one factor depends on the other.

    Each treatment of either factor is set against the control of its factor: the difference
    of the second factor under a treatment of the first, minus the same under its control.
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
        found = model.fit.contrast(weights, list(model.skeleton.factors)).iloc[0]
        row = {name: float(found[name]) for name in ("se", "df", "t")}
        row |= {"difference": float(found["estimate"]), "p_alone": float(found["p"])}
        sides = {"left": one, "right": first.control}
        named = {side: f"{name}:{two}-{second.control}" for side, name in sides.items()}
        rows.append({**row, **named})
    crossed = pd.DataFrame(rows)
    crossed["effect"] = ":".join(model.skeleton.factors)
    return crossed.assign(within="")


def _pairs(trial: Trial, model: TrialModel, factor: str, by: str | None) -> pd.DataFrame:
    names = list(trial.factors[factor].levels)
    pairs = model.fit.pairs([factor], by=[by] if by else None, adjust="none", level=model.level)
    control = trial.factors[factor].control
    ranked = [*[name for name in names if name != control], control]
    wanted = {(a, b) for i, a in enumerate(ranked) for b in ranked[i + 1 :]}
    faced = _facing(pairs, wanted)
    faced["effect"] = factor
    faced["within"] = (by + "=" + faced[by].astype(str)) if by else ""
    return faced.rename(columns={"p": "p_alone"})


def _facing(pairs: pd.DataFrame, wanted: set[tuple[str, str]]) -> pd.DataFrame:
    """Turn pairs so that they read left minus right as wanted, and keep only those."""
    faced = pairs.astype({"left": str, "right": str})
    turned = pd.Series(
        [(r, left) in wanted for left, r in zip(faced["left"], faced["right"], strict=True)],
        index=faced.index,
        dtype=bool,
    )
    faced.loc[turned, ["left", "right"]] = faced.loc[turned, ["right", "left"]].to_numpy()
    for name in ("difference", "t"):
        faced[name] = faced[name].where(~turned, -faced[name])
    kept = [pair in wanted for pair in zip(faced["left"], faced["right"], strict=True)]
    return faced[kept].reset_index(drop=True)
