"""Verdicts against a margin: is a difference large enough to matter, has the rest caught up?

Notes
-----
A difference is called different where the interval of its own test leaves out zero, inside the
margin where both one-sided tests against the margin succeed (the 1 - 2 alpha interval lies within
it), and beyond the margin where the whole interval of its own test does. Caught up is one-sided:
the upper end of the 1 - 2 alpha interval of treatment minus control lies below the margin.

References
----------
Schuirmann D. J. (1987) A comparison of the two one-sided tests procedure and the power approach
for assessing the equivalence of average bioavailability. Journal of Pharmacokinetics and
Biopharmaceutics 15(6), 657-680. doi:10.1007/BF01068419
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

import numpy as np
import pandas as pd
from scipy import stats

from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.results import empty
from wintersward.analysis.strata import compare
from wintersward.errors import WinterswardError
from wintersward.study import Trial

__all__ = ["CAUGHT_UP", "VERDICTS", "caught_up", "equivalence", "verdict"]

VERDICTS = {
    "beyond": "different, and by more than the margin",
    "inside": "different, but by less than the margin",
    "size open": "different; whether by more than the margin is not settled",
    "equivalent": "no larger than the margin either way",
    "cannot tell": "these data cannot tell",
}
CAUGHT_UP = {
    "caught up": "ahead by less than the margin at most",
    "not caught up": "ahead by more than the margin",
    "cannot tell": "these data cannot tell",
}


def verdict(interval: tuple[float, float], inner: tuple[float, float], margin: float) -> str:
    """Judge a difference against a margin, both ways.

    Parameters
    ----------
    interval : (float, float)
        Interval of the difference at level 1 - alpha.
    inner : (float, float)
        Interval at level 1 - 2 alpha.
    margin : float
        More than 0, in the same unit.

    Returns
    -------
    str
        One of `VERDICTS`.

    Examples
    --------
    >>> verdict((9.0, 16.0), (9.6, 15.4), 8.0)
    'beyond'
    >>> verdict((-3.0, 4.0), (-2.4, 3.4), 5.0)
    'equivalent'
    """
    if np.isnan([*interval, *inner]).any():
        return "cannot tell"
    different = interval[0] > 0 or interval[1] < 0
    inside = -margin < inner[0] and inner[1] < margin
    if different and (interval[0] > margin or interval[1] < -margin):
        return "beyond"
    if inside:
        return "inside" if different else "equivalent"
    return "size open" if different else "cannot tell"


def caught_up(inner: tuple[float, float], margin: float) -> str:
    """Judge whether a treatment is still ahead of its control.

    Parameters
    ----------
    inner : (float, float)
        Interval of treatment minus control at level 1 - 2 alpha.
    margin : float
        More than 0: a smaller lead counts as caught up.

    Returns
    -------
    str
        One of `CAUGHT_UP`.
    """
    if np.isnan(inner).any():
        return "cannot tell"
    if inner[1] < margin:
        return "caught up"
    return "not caught up" if inner[0] > margin else "cannot tell"


def equivalence(trial: Trial, answer: pd.DataFrame) -> pd.DataFrame:
    """Hold the primary comparisons, and the leads at the last visit, against their margins.

    Parameters
    ----------
    trial : Trial
        Its definition names the margins.
    answer : DataFrame
        Table ``primary``.

    Returns
    -------
    DataFrame
        Columns of the table ``equivalence``.
    """
    alpha = trial.definition.analysis.alpha
    planned = answer[answer["which"] == "as planned"]
    rows = []
    for row in planned.to_dict("records"):
        one = _one_sided(row, float(row["matters_from"]), alpha)
        said = verdict(
            (float(row["lower"]), float(row["upper"])),
            (one["lower"], one["upper"]),
            float(row["matters_from"]),
        )
        named = {name: row[name] for name in ("measure", "date", "left", "right", "difference")}
        rows.append({**named, "kind": "matters", "within": "", **one, "verdict": said})
    rows += _leads(trial) if trial.ready else []
    frame = pd.DataFrame(rows, columns=list(empty("equivalence").columns))
    return frame if rows else empty("equivalence")


def _one_sided(row: Mapping[Hashable, float], margin: float, alpha: float) -> dict[str, float]:
    """Test a difference against minus the margin and against the margin."""
    estimate, se, df = (float(row[name]) for name in ("difference", "se", "df"))
    reach = stats.t.isf(alpha, df) * se
    return {
        "margin": margin,
        "lower": estimate - reach,
        "upper": estimate + reach,
        "p_above": float(stats.t.sf((estimate + margin) / se, df)),
        "p_below": float(stats.t.cdf((estimate - margin) / se, df)),
    }


def _leads(trial: Trial) -> list[dict[str, object]]:
    """Compare each treatment with the control on the last date that can be compared."""
    analysis, margin = trial.definition.analysis, trial.definition.analysis.caught_up_within
    if margin is None:
        return []
    question = analysis.primary
    name = trial.definition.factor_of(question.pairs[0][0])
    factor = trial.factors[name]
    models = [model_for(trial, question.measure, date) for date in trial.dates(question.measure)]
    usable = [m for m in models if m.skeleton.treated and not m.data.empty and not m.problem]
    if not usable:
        return []
    model = usable[-1]
    treated = [level for level in factor.levels if level != factor.control]
    rows: list[dict[str, object]] = []
    for level in treated:
        try:
            found = compare(model, [(level, factor.control)], model.level).iloc[0].to_dict()
        except WinterswardError:
            continue
        rows.append(_lead(model, found, "", margin.value, analysis.alpha))
    for other in model.skeleton.factors:
        if other == name:
            continue
        pairs = model.fit.pairs([name], by=[other], adjust="none", control=factor.control)
        for row in pairs.dropna(subset=["difference"]).astype({"left": str}).to_dict("records"):
            inside = f"{other}={row[other]}"
            rows.append(_lead(model, row, inside, margin.value, analysis.alpha))
    return rows


def _lead(
    model: TrialModel, row: Mapping[Hashable, Any], within: str, margin: float, alpha: float
) -> dict[str, object]:
    """Judge the lead of one treatment over the control, overall or within another treatment."""
    one = _one_sided(row, margin, alpha)
    return {
        "measure": model.measure,
        "date": pd.Timestamp(model.date),
        "left": row["left"],
        "right": str(row["right"]),
        "kind": "caught up",
        "within": within,
        "difference": row["difference"],
        **one,
        "verdict": caught_up((one["lower"], one["upper"]), margin),
    }
