"""How much the difference between tines depends on the covers, on each date after the aeration."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

import pandas as pd

from wintersward.analysis.skeleton import skeleton_for
from wintersward.decisions.closure import closure_measures
from wintersward.study import Trial
from wintersward.trial.schema import SheetMeasure

__all__ = ["asked_measures", "closure_contrast"]

_FULL = 100.0


def asked_measures(trial: Trial) -> list[str]:
    """Name the measures asked about: hole closure, the primary measure, and pull force."""
    held = trial.definition.measures
    pulls = [n for n, m in held.items() if isinstance(m, SheetMeasure) and m.kind == "pull_force"]
    primary = trial.definition.analysis.primary.measure
    return list(dict.fromkeys([*closure_measures(trial.definition), primary, *pulls]))


def closure_contrast(trial: Trial, tables: Mapping[str, pd.DataFrame], on: dt.date) -> pd.DataFrame:
    """Take the differences of differences after the aeration out of the run's comparisons.

    Parameters
    ----------
    trial : Trial
        The study.
    tables : mapping of str to DataFrame
        Of the run: ``differences``, made by the layout's own model, and ``plot_means``.
    on : date
        Day of the aeration.

    Returns
    -------
    DataFrame
        Columns of the table ``closure_contrast``. The numbers are those of ``differences``, the
        family they are adjusted in included, so that no contrast has two intervals in one report.
        Empty where no treatment has a tine.
    """
    found = tables.get("differences", pd.DataFrame())
    if found.empty or not trial.definition.layout.tested or not _tined(trial):
        return pd.DataFrame()
    crossed = found["effect"].astype(str).str.contains(":")
    after = pd.to_datetime(found["date"]) > pd.Timestamp(on)
    asked = found["measure"].isin(asked_measures(trial)) & (found["role"] == "secondary")
    chosen = found[crossed & after & asked]
    if chosen.empty:
        return pd.DataFrame()
    means = tables.get("plot_means", pd.DataFrame())
    inside = found[~crossed & after & asked]
    told = [
        _judged(trial, means, row) | _gaps(trial, inside, row) for row in chosen.to_dict("records")
    ]
    return pd.DataFrame(told)


def _gaps(trial: Trial, inside: pd.DataFrame, row: dict[Any, Any]) -> dict[str, float]:
    """Find the two differences that a contrast is the difference of; not a number without them."""
    outer, inner = str(row["effect"]).split(":")
    here = inside[(inside["measure"] == row["measure"]) & (inside["effect"] == inner)]
    here = here[pd.to_datetime(here["date"]) == pd.Timestamp(row["date"])]
    names = here["left"].astype(str) + "-" + here["right"].astype(str)
    turned = here["right"].astype(str) + "-" + here["left"].astype(str)
    made = {}
    for side in ("left", "right"):
        level, pair = str(row[side]).split(":", 1)
        own = here["within"] == f"{outer}={level}"
        values = [*here.loc[own & (names == pair), "difference"]]
        values += [-value for value in here.loc[own & (turned == pair), "difference"]]
        made[f"gap_{side}"] = float(values[0]) if values else float("nan")
    return made


def _tined(trial: Trial) -> bool:
    """Tell whether one of the factors is how the ground was aerated."""
    levels = (level for factor in trial.factors.values() for level in factor.levels.values())
    return any(level.tine is not None for level in levels)


def _judged(trial: Trial, means: pd.DataFrame, row: dict[Any, Any]) -> dict[Any, Any]:
    """Add what a contrast is tested by; take its interval away where that would mislead."""
    effect, measure = str(row["effect"]), str(row["measure"])
    date = pd.Timestamp(row["date"])
    note = f"adjusted with the {int(row['comparisons'])} comparisons of the measure"
    full, alone = _full(trial, means, row)
    if alone:
        row = row | dict.fromkeys(("se", "df", "lower", "upper", "p"), float("nan"))
        note = f"no interval: all units of {' and '.join(alone)} have 100 %, and vary no more"
    kind = skeleton_for(trial.definition, date.date()).unit_of(effect)
    return row | {"measure": measure, "full": full, "unit_of_test": kind, "note": note}


def _full(trial: Trial, means: pd.DataFrame, row: dict[Any, Any]) -> tuple[str, list[str]]:
    """Find combinations all of whose units are full.

    Returns
    -------
    both : str
        The only treatment of the inner factor in which both sides are; empty: none, or each.
    alone : list of str
        Combinations that are, while what they are set against is not.

    Notes
    -----
    The model has one error for all units. Where both sides of a difference are full, what is left
    of it is still right; where only one is, the error of the other is taken too small.
    """
    if trial.measure(str(row["measure"])).unit != "%" or means.empty:
        return "", []
    outer, inner = str(row["effect"]).split(":")
    here = means[(means["measure"] == row["measure"])]
    here = here[pd.to_datetime(here["date"]) == pd.Timestamp(row["date"])]
    full = here.groupby([outer, inner])["value"].min() >= _FULL
    one, pair = str(row["left"]).split(":", 1)
    other = str(row["right"]).split(":", 1)[0]
    found: list[str] = []
    both: list[str] = []
    for level in (name for name in trial.factors[inner].levels if name in pair.split("-")):
        sides = {side: bool(full.get((side, level), False)) for side in (one, other)}
        if len(set(sides.values())) == 2:
            found += [f"{side} with {level}" for side, is_full in sides.items() if is_full]
        elif all(sides.values()):
            both.append(level)
    return both[0] if len(both) == 1 else "", found
