"""Days until holes had closed, treatment by treatment of the other factor, against those there are.

Notes
-----
Days that holes of one tine took on this trial's plots are not one range where covers changed them.
Each treatment of the other factor has its own here, and so has each option that is scaled from it.
Whether holes are closed at the first use is judged by the visits alone: closed where all units
were seen closed at a visit before it, open where all were still open at a visit after it, either
in between, since a day read off a line between two visits may be wrong by as much as they are
apart.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from typing import Any

import pandas as pd

from wintersward.analysis.arrivals import AFTER, NOT_KNOWN, ON_OR_BEFORE
from wintersward.analysis.decision_columns_aeration import AERATION
from wintersward.decisions.closure import CLOSED, closure_measures
from wintersward.decisions.planner import BASES, aerating_days
from wintersward.decisions.rows import framed
from wintersward.study import Trial

__all__ = ["closing_days"]

_SEEN = {"seen_on": pd.NaT, "seen_plots": 0, "seen_closed": 0}
_SEEN |= {"seen_low": math.nan, "seen_high": math.nan}


def closing_days(
    trial: Trial, options: pd.DataFrame, recovery: Mapping[str, pd.DataFrame]
) -> pd.DataFrame:
    """Set the days until holes had closed beside those that there are, by the other factor.

    Parameters
    ----------
    trial : Trial
        The study; of a demonstration, which sets nothing side by side, there is nothing.
    options : DataFrame
        The table ``aeration_options``.
    recovery : mapping of str to DataFrame
        The tables ``closure`` and ``closure_times``.

    Returns
    -------
    DataFrame
        The table ``aeration_days``: of every option whose days were seen on this trial's plots, or
        are scaled from those.
    """
    table, times = AERATION["aeration_days"], recovery["closure_times"]
    if options.empty or times.empty or not trial.definition.layout.tested:
        return framed(table)
    observed = options[options["days_basis"] == BASES["observed"]]
    scaled = options[options["days_basis"] == BASES["observed, scaled"]]
    rows = []
    for row in pd.concat([observed, scaled]).to_dict("records"):
        own = observed[observed["option"] == row["option"]]
        if own.empty:
            hollow = observed[observed["kind"] == "hollow"]
            own = hollow[hollow["outside"] == row["known_diameter"]]
        if not own.empty:
            rows += _option(trial, row, str(own["option"].iloc[0]), recovery)
    return framed(table, sorted(rows, key=lambda row: (row["option"], row["within"])))


def _option(
    trial: Trial, row: dict[Any, Any], source: str, recovery: Mapping[str, pd.DataFrame]
) -> list[dict[str, Any]]:
    """Give the rows of one option; source is the treatment whose holes were seen."""
    times, factor = recovery["closure_times"], trial.definition.factor_of(source)
    own = times[(times[factor].astype(str) == source) & (times["censored"] != NOT_KNOWN)]
    measures = [m for m in closure_measures(trial.definition) if (own["measure"] == m).any()]
    own = own[own["measure"] == measures[0]]
    others = [name for name in trial.factors if name != factor and name in own]
    times_wide = float(row["outside"]) / float(row["known_diameter"])
    rows = []
    for other, level in [(o, lv) for o in others for lv in trial.factors[o].levels] or [("", "")]:
        held = own[own[other].astype(str) == level] if other else own
        if held.empty:
            continue
        made = _told(held, times_wide, float(row["days_available"]))
        seen = dict(_SEEN)
        if row["option"] == source:
            here = {factor: source} | ({other: level} if other else {})
            seen = _seen(trial, recovery["closure"], measures[0], here)
        within = f"{other}={level}" if other else ""
        rows.append({"option": row["option"], "within": within, **made, **seen})
    return rows


def _told(held: pd.DataFrame, times_wide: float, there: float) -> dict[str, Any]:
    """Give the days of the units of one treatment, scaled, and what is left of those there are."""
    state = held["censored"].fillna("").astype(str)
    low = float(held["days"].min()) * times_wide
    high = math.nan if (state == AFTER).any() else float(held["days"].max()) * times_wide
    none = (state == ON_OR_BEFORE).any()
    first = 0.0 if none else float(held["last_below"].min()) * times_wide
    last = float(held["first_there"].max(skipna=False)) * times_wide
    says = "closed" if last <= there else "open" if first >= there else "either"
    return {
        "units": len(held),
        "days_low": low,
        "days_high": high,
        "visits_low": first,
        "visits_high": last,
        "apart": float((held["first_there"] - held["last_below"]).max()),
        "days_available": there,
        "spare_low": there - high,
        "spare_high": there - low,
        "says": says if math.isfinite(there) else "",
    }


def _seen(
    trial: Trial, closure: pd.DataFrame, measure: str, here: Mapping[str, str]
) -> dict[str, Any]:
    """Tell how far holes had closed at the last visit up to the first use."""
    on, event = aerating_days(trial.definition)
    own = closure[(closure["measure"] == measure) & (closure["days"] > 0)]
    for factor, level in here.items():
        own = own[own[factor].astype(str) == level]
    if isinstance(on, dt.date) and event is not None:
        own = own[own["days"] <= (event - on).days]
    own = own[own["days"] == own["days"].max()]
    if own.empty or event is None:
        return dict(_SEEN)
    return {
        "seen_on": own["date"].iloc[0],
        "seen_plots": len(own),
        "seen_closed": int((own["value"] >= CLOSED).sum()),
        "seen_low": float(own["value"].min()),
        "seen_high": float(own["value"].max()),
    }
