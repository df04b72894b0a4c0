"""What a trial found that a budget may pay for, and why it is carried through or not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd
from scipy import stats

from wintersward.decisions.budget_lines import Estimate
from wintersward.decisions.rows import held
from wintersward.study import Trial

__all__ = ["DAYS_GAINED", "PRIMARY", "Found", "found_for", "sought"]

DAYS_GAINED, PRIMARY = "days gained", "primary"

Tables = Mapping[str, pd.DataFrame]

_BOUND = (
    "no interval can be given, since units were at the level when first seen, or not yet when last "
    "seen: not counted in the futures"
)


@dataclass(frozen=True)
class Found:
    """One thing that a trial found, or did not, of a treatment against its control.

    Parameters
    ----------
    of : str
        ``days gained`` or ``primary``.
    measure : str
        That it is about.
    unit : str
        day, or the SI unit of a difference of the measure.
    estimate : Estimate or None
        None where there is none.
    text : str
        Why it is not carried through, or what it is.
    """

    of: str
    measure: str
    unit: str
    estimate: Estimate | None
    text: str


def sought(trial: Trial) -> list[str]:
    """List what a budget may ask of a trial."""
    asked = [DAYS_GAINED] if trial.definition.analysis.days_gained is not None else []
    return [*asked, PRIMARY]


def found_for(trial: Trial, tables: Tables, treatment: str, of: str) -> Found:
    """Find one estimate of a treatment against its control.

    Parameters
    ----------
    trial : Trial
        The study, whose primary question has its data.
    tables : mapping of str to DataFrame
        ``days_gained`` and ``differences`` of the run, in SI.
    treatment : str
        Level of a factor, not its control.
    of : str
        ``days gained`` or ``primary``.

    Returns
    -------
    Found

    Notes
    -----
    The interval is the estimate's own, at one less alpha of the definition and not adjusted for
    other comparisons: it is carried through, not judged.
    """
    if of == DAYS_GAINED:
        return _days_gained(trial, tables, treatment)
    return _primary(trial, tables, treatment)


def _days_gained(trial: Trial, tables: Tables, treatment: str) -> Found:
    asked = trial.definition.analysis.days_gained
    name = asked.measure if asked is not None else ""
    factor = trial.definition.factor_of(treatment)
    if factor != trial.definition.factor_of(trial.definition.analysis.primary.levels[0]):
        text = "days gained are those of the treatments of the main question"
        return Found(DAYS_GAINED, name, "day", None, text)
    control = trial.factors[factor].control
    rows = held(tables, "days_gained")
    rows = rows[(rows["left"] == treatment) & (rows["right"] == control) & rows["days"].notna()]
    if rows.empty:
        text = "the trial could not estimate the days that it gained"
        return Found(DAYS_GAINED, name, "day", None, text)
    row = rows.iloc[0]
    says, role = str(row["says"]), "secondary"
    made = _estimate(trial, float(row["days"]), float(row["se"]), float(row["df"]), says, role)
    if made.carried:
        text = "days earlier than the control at the stated level"
    elif says != "exactly":
        text = _BOUND
    else:
        text = "estimated without an error: not counted in the futures"
    return Found(DAYS_GAINED, name, "day", made, text)


def _primary(trial: Trial, tables: Tables, treatment: str) -> Found:
    question, factor = trial.definition.analysis.primary, trial.definition.factor_of(treatment)
    name, control = question.measure, trial.factors[factor].control
    unit = trial.measure(name).unit.replace("%", "points")
    rows = held(tables, "differences")
    on = pd.to_datetime(rows["date"]) == pd.Timestamp(trial.primary_date)
    rows = rows[on & (rows["measure"] == name) & (rows["effect"] == factor)]
    rows = rows[(rows["within"] == "") & rows["difference"].notna()]
    either = (rows["left"] == treatment) & (rows["right"] == control)
    either |= (rows["left"] == control) & (rows["right"] == treatment)
    # The comparison of the main question stands among the secondary ones as well.
    rows = rows[either].sort_values("role", kind="stable")
    if rows.empty:
        text = "not compared with its control in this measure on the date of the main question"
        return Found(PRIMARY, name, unit, None, text)
    row = rows.iloc[0]
    side, role = 1.0 if row["left"] == treatment else -1.0, str(row["role"])
    value, se, df = (float(row[column]) for column in ("difference", "se", "df"))
    made = _estimate(trial, side * value, se, df, "exactly", role)
    text = "difference from the control on the date of the main question"
    if role != "primary":
        text += "; a comparison beside the main question"
    return Found(PRIMARY, name, unit, made, text)


def _estimate(trial: Trial, value: float, se: float, df: float, says: str, role: str) -> Estimate:
    half = float(stats.t.isf(trial.definition.analysis.alpha / 2, df)) * se
    return Estimate(value, se, df, value - half, value + half, says, role)
