"""Several grounds in one trial: the answer on each of them, and whether it is the same on all.

Notes
-----
The answer is the difference averaged over the grounds, each weighing the same, and grounds are
fixed: a few grounds that somebody chose are no sample of grounds, and what is said holds for them.
Every treatment has a part of its own on every ground, so that the error is what units in one block
of one ground differ by, pooled over the grounds. What a difference is on one ground is read from
the same model and described: its interval is not adjusted, and no answer hangs on it.

References
----------
Gomez K. A., Gomez A. A. (1984) Statistical Procedures for Agricultural Research, 2nd edition,
Wiley, chapter 8: analysis over sites (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from typing import Any

import numpy as np
import pandas as pd
from scipy import stats

from wintersward.analysis.dealt import pairs_there
from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.results import empty
from wintersward.analysis.strata import Stratum, compare, stratum
from wintersward.analysis.units import Notes
from wintersward.errors import WinterswardError, listed
from wintersward.models import MixedFit
from wintersward.models.means import cells_of
from wintersward.study import Trial

__all__ = ["UNEVEN", "grounds_apart", "own_spread", "uneven"]

# Error variances further apart than this are worth a word: common practice, no source.
UNEVEN = 4.0


def grounds_apart(trial: Trial) -> dict[str, pd.DataFrame]:
    """Tell the primary difference on each ground, and test whether it is the same on all.

    Parameters
    ----------
    trial : Trial
        The study; nothing is compared before its primary question has data.

    Returns
    -------
    dict of str to DataFrame
        Tables ``grounds``, ``grounds_test`` and ``notes``; empty where there is one ground.
    """
    tables = {name: empty(name) for name in ("grounds", "grounds_test", "notes")}
    if not trial.ready or not trial.definition.layout.grounds:
        return tables
    question = trial.definition.analysis.primary
    model = model_for(trial, question.measure, trial.primary_date)
    named: dict[str, Any] = {"measure": model.measure, "date": pd.Timestamp(model.date)}
    notes: Notes = []
    try:
        pairs = pairs_there(trial, model)
        compare(model, pairs, model.level)  # what the primary analysis refuses is not told either
        made = stratum(model, trial.definition.factor_of(pairs[0][0]))
        fit = made.answer()
        spread = own_spread(model, made.factor)
        rows, notes = _each(made, fit, pairs, model.level)
        rows = rows.assign(**named)
        rows["sd"] = rows["ground"].map({name: sd for name, (sd, _) in spread.items()})
        rows["sd_df"] = rows["ground"].map({name: df for name, (_, df) in spread.items()})
        tables["grounds"] = rows[list(tables["grounds"].columns)]
        said = uneven(spread, dict(trial.definition.layout.grounds), made.unit_kind)
        notes += [("grounds", said)] if said else []
        tables["grounds_test"] = _test(made, fit).assign(**named)[
            list(tables["grounds_test"].columns)
        ]
    except WinterswardError as error:
        notes.append(("grounds", f"grounds: not set against one another: {error}"))
    if notes:
        told = pd.DataFrame(notes, columns=["code", "text"]).assign(**named)
        tables["notes"] = told[list(tables["notes"].columns)]
    return tables


def _each(
    made: Stratum, fit: MixedFit, pairs: Sequence[tuple[str, str]], level: float
) -> tuple[pd.DataFrame, Notes]:
    """Read the differences on each ground from the pooled model."""
    cells = cells_of(fit.fixed_part, [made.factor, "ground"])
    at = {(str(one), str(ground)): i for i, (one, ground) in enumerate(cells.levels)}
    grounds = list(dict.fromkeys(str(ground) for _, ground in cells.levels))
    asked = [(ground, left, right) for ground in grounds for left, right in pairs]
    weights = np.array([cells.weights[at[a, g]] - cells.weights[at[b, g]] for g, a, b in asked])
    found = fit.linear(weights, [f"{a} minus {b} on {g}" for g, a, b in asked])
    rows = pd.DataFrame(asked, columns=["ground", "left", "right"])
    rows = rows.assign(difference=found.estimate, se=found.se, df=found.df)
    reach = stats.t.isf((1 - level) / 2, rows["df"]) * rows["se"]
    rows = rows.assign(lower=rows["difference"] - reach, upper=rows["difference"] + reach)
    counted = made.data.groupby(["ground", made.factor], observed=False)["unit"].nunique()
    for side in ("left", "right"):
        keys = zip(rows["ground"], rows[side], strict=True)
        rows[f"units_{side}"] = [int(counted[key]) for key in keys]
    lost = rows[~np.isfinite(rows["se"])]
    said = [f"{r.left} minus {r.right} on {r.ground}" for r in lost.itertuples()]
    text = f"grounds: these data do not determine {listed(said)}"
    return rows.drop(lost.index), [("grounds", text)] if said else []


def _test(made: Stratum, fit: MixedFit) -> pd.DataFrame:
    """Test whether the treatments of the factor differ alike on all grounds."""
    tests = fit.anova()
    row = tests[tests["term"] == f"{made.factor}:ground"]
    return row[["term", "f", "df_num", "df_den", "p"]].assign(
        unit_kind=made.unit_kind, method=made.method
    )


def own_spread(model: TrialModel, factor: str) -> dict[str, tuple[float, float]]:
    """Find the residual standard deviation of the units of a factor on each ground by itself.

    Parameters
    ----------
    model : TrialModel
        One measure on one date.
    factor : str
        The factor whose units are meant.

    Returns
    -------
    dict of str to (float, float)
        Standard deviation [unit of the measure] and its degrees of freedom, by ground; NaN and 0
        where a ground leaves no error.
    """
    found = {}
    for ground in model.skeleton.grounds:
        data = model.data[model.data["ground"] == ground].reset_index(drop=True)
        alone = replace(model, data=data, skeleton=replace(model.skeleton, grounds=()))
        try:
            fit = stratum(alone, factor).fit()
        except WinterswardError:
            found[ground] = (float("nan"), 0.0)
            continue
        found[ground] = (sqrt(fit.variances["residual"]), float(fit.rows - fit.columns))
    return found


def uneven(
    spread: dict[str, tuple[float, float]], labels: dict[str, str], unit_kind: str = "plot"
) -> str:
    """Say so where the error variance of one ground is more than fourfold that of another.

    Parameters
    ----------
    spread : dict of str to (float, float)
        As `own_spread` gives it.
    labels : dict of str to str
        Grounds for a reader.
    unit_kind : str
        What varies.

    Returns
    -------
    str
        Empty where they are nearer than that, or not known.

    Examples
    --------
    >>> uneven({"a": (1.0, 6.0), "b": (1.9, 6.0)}, {"a": "Upper field", "b": "Lower field"})
    ''
    """
    known = {name: sd for name, (sd, _) in spread.items() if np.isfinite(sd)}
    if len(known) < 2:
        return ""
    most, least = max(known, key=lambda n: known[n]), min(known, key=lambda n: known[n])
    if known[most] ** 2 <= UNEVEN * known[least] ** 2:
        return ""
    times = f"{(known[most] / known[least]) ** 2:.1f} times" if known[least] > 0 else "many times"
    return (
        f"grounds: the error variance of the {unit_kind}s on {labels[most]} is {times} that on "
        f"{labels[least]}, more than the fourfold from which it is worth a word (common practice, "
        "no source); the pooled error says too little of the one and too much of the other, so "
        "look at each ground by itself as well"
    )
