"""What this trial advises for the next: blocks, readings, raters, and measures that told nothing.

References
----------
Browne R. H. (1995) On the use of a pilot sample for sample size determination. Statistics in
Medicine 14, 1933-1940 (from memory): plan with an upper confidence limit of the spread.
Spearman C. (1910), Brown W. (1910) British Journal of Psychology 3 (from memory): the reliability
of a mean of k raters from that of one.
Leinauer B. (2015) abstract, annual meetings of ASA, CSSA and SSSA: a reliability of 0.7 as a mark
for ratings of turf.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import ceil, sqrt
from typing import Any

import pandas as pd
from scipy import stats

from wintersward.analysis.decision_columns_budget import NEXT_TRIAL
from wintersward.analysis.model import model_for
from wintersward.analysis.power import power
from wintersward.analysis.replication import efficiency, layout_shape
from wintersward.analysis.share_columns import MORE_BLOCKS, NOW, TWICE
from wintersward.analysis.strata import stratum
from wintersward.decisions.next_visits import next_visits
from wintersward.decisions.rows import framed, held
from wintersward.decisions.silent_measures import silent_measures
from wintersward.errors import WinterswardError
from wintersward.study import Trial
from wintersward.trial.schema import SheetMeasure

__all__ = ["RELIABLE", "WANTED", "next_trial", "raters_needed"]

Tables = Mapping[str, pd.DataFrame]
Row = dict[str, Any]

WANTED = 0.8
"""Chance that a difference is seen; common practice, no source."""

RELIABLE = 0.7
"""Reliability that ratings should reach (Leinauer 2015)."""

_NAN = float("nan")
_MOST_BLOCKS = 60
# One-sided confidence that the spread is no larger than the one that is planned with.
_CAUTION = 0.8
# Half the readings are enough where they make the smallest difference at most so much larger.
_DEARER = 0.05


def next_trial(trial: Trial, tables: Tables) -> dict[str, pd.DataFrame]:
    """Advise on a next trial, each piece of advice with the number that it rests on.

    Parameters
    ----------
    trial : Trial
        The study.
    tables : mapping of str to DataFrame
        Of the run, in SI: plot_means, differences, variance_plans, agreement, counts, and those
        of `wintersward.decisions.next_visits`; those that are not there count as empty.

    Returns
    -------
    dict of str to DataFrame
        ``next_trial``, with the columns of
        `wintersward.analysis.decision_columns_budget.NEXT_TRIAL`; empty until the primary
        question has its data. Of a demonstration only what describes its measures.

    Notes
    -----
    Blocks: the fewest that see ``matters_from`` with a chance of 0.8, with the error of this
    trial as the true one, and with the upper 80 % limit of its standard deviation, s times the
    root of df over the 0.2 quantile of chi-squared. Readings: with a share r of the variance of a
    unit from its readings, half as many make its standard deviation root (1 + r) times as large.
    Raters: with a reliability of one rater a, that of the mean of k is k a / (1 + (k - 1) a).
    """
    table = NEXT_TRIAL["next_trial"]
    if not trial.ready:
        return {"next_trial": framed(table)}
    rows = list(silent_measures(trial, tables))
    if trial.definition.layout.tested:
        rows += [
            *_blocks(trial),
            *_readings(trial, tables),
            *_raters(tables),
            *_lost(trial, tables),
            *next_visits(trial, tables),
        ]
    return {"next_trial": framed(table, [{"level": "", "many": _NAN, **row} for row in rows])}


def _blocks(trial: Trial) -> Iterator[Row]:
    """Count the blocks that would see the smallest difference that matters."""
    question = trial.definition.analysis.primary
    factor = trial.definition.factor_of(question.levels[0])
    model = model_for(trial, question.measure, trial.primary_date)
    try:
        made = stratum(model, factor)
        found = None if made.described else efficiency(made)
    except WinterswardError:
        found = None
    if found is None or not found.error:
        return
    sd = sqrt(found.error)
    upper = sd * sqrt(found.df / float(stats.chi2.ppf(1 - _CAUTION, found.df)))
    enough, cautious = (_fewest(trial, factor, one) for one in (sd, upper))
    layout = trial.definition.layout
    now = layout.blocks or layout.replicates or trial.definition.combinations
    unit = "blocks" if layout.blocks else "rows" if layout.kind == "latin square" else "replicates"
    yield {
        "advice": "blocks",
        "measure": question.measure,
        "date": pd.Timestamp(trial.primary_date),
        "value": enough,
        "now": float(now),
        "cautious": cautious,
        "unit": unit,
        "text": f"fewest {unit} with a chance of {100 * WANTED:.0f} % to see what matters; "
        f"cautious: with the upper {100 * _CAUTION:.0f} % limit of the spread; empty: more than "
        f"{_MOST_BLOCKS}",
    }


def _fewest(trial: Trial, factor: str, sd: float) -> float:
    """Find the fewest blocks that give the wanted chance; not a number where none does."""
    analysis = trial.definition.analysis
    shape = layout_shape(trial, factor)
    size = shape["treatments"][0] if shape["layout"] == "latin square" else 1
    table = power(
        blocks=range(max(2, size), _MOST_BLOCKS + 1, size),
        difference=analysis.primary.matters_from.value,
        sd=sd,
        alpha=analysis.alpha,
        comparisons=len(analysis.primary.pairs),
        **shape,
    )
    enough = table.loc[table["power"] >= WANTED, "blocks"]
    return float(enough.min()) if len(enough) else _NAN


def _readings(trial: Trial, tables: Tables) -> Iterator[Row]:
    """Say where half the readings would do, and whether plots or readings help the question."""
    plans = held(tables, "variance_plans")
    primary = trial.definition.analysis.primary.measure
    for name in trial.definition.measures:
        rows = plans[plans["measure"] == name]
        if rows.empty:
            continue
        at = {(str(row["plan"]), str(row["bound"])): row for _, row in rows.iterrows()}
        now = at[NOW, ""]
        named = {"measure": name, "date": now["date"], "cautious": _NAN}
        if (TWICE, "") in at and float(now["readings"]) >= 2:
            larger = sqrt(1 + float(at[TWICE, ""]["reading_share"]) / 100) - 1
            if larger <= _DEARER:
                text = "half the readings make what is seen so much larger"
                told = {"value": 100 * larger, "now": float(now["readings"]), "unit": "%"}
                yield {"advice": "fewer readings", **named, **told, "text": text}
        if name == primary:
            yield from _plots_or_readings(at, named)


def _plots_or_readings(at: dict[tuple[str, str], pd.Series], named: Row) -> Iterator[Row]:
    """Say which of more blocks and twice the readings shows a smaller difference."""
    now, more = (float(at[plan, ""]["smallest"]) for plan in (NOW, MORE_BLOCKS))
    bounds = [float(row["smallest"]) for (plan, _), row in at.items() if plan == TWICE]
    told = {"now": now, "unit": "measure", **named}
    blocks = {"many": float(at[MORE_BLOCKS, ""]["blocks"])}
    if more <= min(bounds):
        text = "difference seen with a chance of 80 % with more blocks, which help as much or more"
        yield {"advice": "plots before readings", **told, **blocks, "value": more, "text": text}
    elif more >= max(bounds):
        text = "difference seen with a chance of 80 % with twice the readings, which help more"
        yield {"advice": "readings before plots", **told, "value": max(bounds), "text": text}


def raters_needed(reliability: float, raters: int, wanted: float = RELIABLE) -> float:
    """Count the raters whose mean reaches a reliability.

    Parameters
    ----------
    reliability : float
        Of the mean of the raters that there are; 0 or less gives no number.
    raters : int
        How many there are.
    wanted : float
        Reliability to reach.

    Returns
    -------
    float
        A whole number; not a number where none can be given.

    Examples
    --------
    >>> raters_needed(0.637, 2), raters_needed(0.7, 2), raters_needed(0.0, 2)
    (3.0, 2.0, nan)
    """
    if reliability <= 0:
        return _NAN
    one = reliability / (raters - (raters - 1) * reliability)
    needed = wanted * (1 - one) / (one * (1 - wanted))
    return float(ceil(needed - 1e-9))


def _raters(tables: Tables) -> Iterator[Row]:
    """Count the raters that ratings would need to be reliable on one date."""
    agreement, told = held(tables, "agreement"), held(tables, "raters")
    rows = agreement[(agreement["against"] == "raters") & (agreement["statistic"] == "ICC")]
    forms = rows["form"].astype(str)
    rows = rows[forms.str.startswith("mean of the raters, absolute") & forms.str.endswith("dates")]
    for name, own in rows.groupby("measure", sort=False):
        # On one date where it is there: over all dates the season makes raters look alike.
        row = own.sort_values("form", key=lambda form: form.str.endswith("all dates")).iloc[0]
        value = float(row["value"])
        if not value < RELIABLE:
            continue
        there = int(told.loc[told["measure"] == name, "rater"].nunique())
        yield {
            "advice": "raters",
            "measure": str(name),
            "date": pd.NaT,
            "value": raters_needed(value, there),
            "now": float(there),
            "cautious": _NAN,
            "unit": "raters",
            "text": f"for a reliability of {RELIABLE:g} on one date; found {value:.2f}, "
            f"{row['form']}",
        }


def _lost(trial: Trial, tables: Tables) -> Iterator[Row]:
    """Say how much of the primary measure was lost, where one lost reading is a lost plot."""
    name = trial.definition.analysis.primary.measure
    measure = trial.measure(name)
    raters = len(measure.raters) if isinstance(measure, SheetMeasure) else 0
    counts = held(tables, "counts")
    rows = counts[(counts["measure"] == name) & (counts["due"] == "yes")]
    if measure.per_plot > 1 or raters > 1 or rows.empty:
        return
    planned, lost = int(rows["expected"].sum()), int((rows["missing"] + rows["excluded"]).sum())
    if lost:
        yield {
            "advice": "a second reading",
            "measure": name,
            "date": pd.NaT,
            "value": 100 * lost / planned,
            "now": float(lost),
            "cautious": _NAN,
            "unit": "%",
            "text": "of the planned values were missing or set aside; each plot had one only",
        }
