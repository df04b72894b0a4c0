"""Ratings compared by their ranks, beside their means: a step of a rating need not be a number.

Notes
-----
Every pair of treatments whose means of a rating are compared on a date is compared by ranks too, in
the stratum of its factor and averaged over the other factor. These comparisons of one measure, over
all the dates that the definition plans for it, are one family, stepped down by Holm; intervals are
of each comparison by itself. With few blocks a p by ranks cannot be small, and adjusted it can
never be. So ranks and means are set against each other by the p of the single comparison: they
agree where neither lies below alpha, or both do and point to the same side.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from math import comb

import numpy as np
import pandas as pd

from wintersward.analysis.families import stepped_down
from wintersward.analysis.model import TrialModel
from wintersward.analysis.rank_answers import by_ranks
from wintersward.analysis.results import empty
from wintersward.analysis.skeleton import skeleton_for
from wintersward.analysis.strata import Stratum, stratum
from wintersward.errors import WinterswardError
from wintersward.study import Trial
from wintersward.trial.schema import SheetMeasure

__all__ = ["rating_ranks"]


def rating_ranks(
    trial: Trial, models: Sequence[TrialModel], differences: pd.DataFrame
) -> dict[str, pd.DataFrame]:
    """Compare ratings by ranks wherever their means are compared.

    Parameters
    ----------
    trial : Trial
        The study; nothing is compared before its primary question has data.
    models : sequence of TrialModel
        Of every measure and date.
    differences : DataFrame
        The table ``differences``, whose secondary rows are the comparisons of means.

    Returns
    -------
    dict of str to DataFrame
        Tables ``rank_differences`` and ``notes`` (what could not be compared, and why).
    """
    tables = {name: empty(name) for name in ("rank_differences", "notes")}
    if not trial.ready:
        return tables
    held, notes = [], list[dict[str, object]]()
    for measure in _rated(trial):
        rows = list[dict[str, object]]()
        for model in (one for one in models if one.measure == measure):
            found, why = _on_a_date(trial, model, _compared(differences, model))
            rows += found
            notes += why
        if rows:
            held.append(_stepped(trial, measure, pd.DataFrame(rows)))
    if held:
        stacked = pd.concat(held, ignore_index=True)
        tables["rank_differences"] = stacked[list(tables["rank_differences"].columns)]
    if notes:
        tables["notes"] = pd.DataFrame(notes)[list(tables["notes"].columns)].drop_duplicates()
    return tables


def _rated(trial: Trial) -> list[str]:
    """List the measures that are rated on a scale."""
    return [
        name
        for name, measure in trial.definition.measures.items()
        if isinstance(measure, SheetMeasure) and measure.scale is not None
    ]


def _compared(differences: pd.DataFrame, model: TrialModel) -> pd.DataFrame:
    """Take the secondary comparisons of means of one date, averaged over the other factor."""
    chosen = (differences["measure"] == model.measure) & (differences["role"] == "secondary")
    chosen &= pd.to_datetime(differences["date"]).dt.date == model.date
    chosen &= differences["within"].fillna("") == ""
    return differences[chosen & ~differences["effect"].astype(str).str.contains(":")]


def _on_a_date(
    trial: Trial, model: TrialModel, compared: pd.DataFrame
) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    """Compare by ranks what was compared by means on one date; and say what could not be."""
    named: dict[str, object] = {"measure": model.measure, "date": pd.Timestamp(model.date)}
    rows, notes = list[dict[str, object]](), list[dict[str, object]]()
    for effect, pairs in compared.groupby("effect", sort=False):
        made: Stratum | None = None
        for row in pairs.to_dict("records"):
            try:
                made = made or stratum(model, str(effect))
                if made.described:
                    raise WinterswardError(made.described)
                rows.append({**named, "effect": effect, **_pair(trial, made, row)})
            except WinterswardError as error:
                said = f"not compared by ranks: {error}"
                notes.append({**named, "code": "ranks", "text": said})
    return rows, notes


def _pair(trial: Trial, made: Stratum, row: Mapping[Hashable, object]) -> dict[str, object]:
    """Compare one pair by ranks and set it beside the comparison of its means."""
    alpha = trial.definition.analysis.alpha
    left, right = str(row["left"]), str(row["right"])
    found, text, scale = by_ranks(trial, made, (left, right), 1 - alpha)
    mean, mean_p = float(str(row["difference"])), float(str(row["p_alone"]))
    return {
        "left": left,
        "right": right,
        "difference": found.estimate,
        "scale": scale,
        "lower": found.lower,
        "upper": found.upper,
        "p_alone": found.p,
        "smallest_p": found.smallest_p,
        "mean_difference": mean,
        "mean_p": mean_p,
        "agrees": _agrees((found.estimate, found.p), (mean, mean_p), alpha, found.smallest_p),
        "text": text,
    }


def _agrees(
    ranks: tuple[float, float], means: tuple[float, float], alpha: float, least: float
) -> str:
    """Say whether ranks and means tell the same; nothing where ranks can never fall below alpha."""
    if least >= alpha or not np.isfinite([*ranks, *means]).all():
        return ""
    clear = [p < alpha for _, p in (ranks, means)]
    same = clear[0] == clear[1]
    if all(clear):
        same = bool(np.sign(ranks[0]) == np.sign(means[0]))
    return "yes" if same else "no"


def _stepped(trial: Trial, measure: str, rows: pd.DataFrame) -> pd.DataFrame:
    """Step the p values of one measure down by Holm, over all its planned dates."""
    known = rows["p_alone"].notna()
    size = max(_planned(trial, measure), int(known.sum()))
    p = np.full(len(rows), np.nan)
    p[known] = stepped_down(rows.loc[known, "p_alone"].to_numpy(dtype=float), size)
    return rows.assign(p=p, comparisons=size)


def _planned(trial: Trial, measure: str) -> int:
    """Count the pairs of treatments of every factor on all the dates planned for a measure."""
    found = 0
    for date in trial.dates(measure):
        skeleton = skeleton_for(trial.definition, date)
        if skeleton.treated:
            sizes = [len(trial.factors[name].levels) for name in skeleton.factors]
            found += sum(comb(size, 2) for size in sizes)
    return found
