"""A comparison by ranks, on the units and within the surroundings of its factor's own stratum."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy import stats

from wintersward.analysis.dealt import dealt, others_of, surrounding
from wintersward.analysis.randomisation import randomised
from wintersward.analysis.ranks import Ranked, rank_sum, signed_rank
from wintersward.analysis.strata import Stratum
from wintersward.errors import WinterswardError, listed
from wintersward.study import Trial

__all__ = ["by_ranks"]


def by_ranks(
    trial: Trial, made: Stratum, pair: tuple[str, str], level: float
) -> tuple[Ranked, str, str]:
    """Compare two treatments by ranks.

    Parameters
    ----------
    trial : Trial
        Its layout says what stands beside what.
    made : Stratum
        Units of the factor that the pair belongs to.
    pair : (str, str)
        Left and right.
    level : float
        Of the interval.

    Returns
    -------
    answer : Ranked
        In the unit of the measure, or in ranks in a Latin square.
    text : str
        The analysis in words.
    scale : str
        ``measure`` or ``ranks``.

    Raises
    ------
    WinterswardError
        Where a treatment has no unit, or no block holds both.

    Notes
    -----
    Where units lie within something (a block, a whole plot), the two treatments are set against
    each other within it, by signed ranks; a block that lacks one of them has nothing to say. Where
    nothing surrounds the units, by the rank sum; with a second factor on the same units its means
    are taken out first. In a Latin square nothing stands in pairs: rows and columns are
    taken out, all units are ranked, and p comes from drawing the square anew.
    """
    gone = sorted(set(pair) - set(made.data[made.factor].astype(str)))
    if gone:
        raise WinterswardError(f"no observation of {listed(gone)} can be used")
    if trial.definition.layout.kind == "latin square":
        return _square(trial, made, pair)
    data, others = made.data, others_of(made)
    if not made.around:
        values = data["value"]
        if others:
            values = values - values.groupby([data[name] for name in others]).transform("mean")
        carried = data[made.factor].astype(str)
        sides = [values[carried == name].to_numpy(dtype=float) for name in pair]
        found = rank_sum(sides[0], sides[1], level)
        return found, f"rank sum of {found.units} {made.unit_kind}s (Mann and Whitney)", "measure"
    keys = [*made.around, *others]
    named = data.astype({made.factor: str})
    wide = named.groupby([*keys, made.factor], observed=True)["value"].mean().unstack()
    differences = (wide[pair[0]] - wide[pair[1]]).dropna().to_numpy(dtype=float)
    around = made.around[-1].replace("_", " ")
    if not differences.size:
        raise WinterswardError(f"no {around} holds both {listed(pair)}")
    found = signed_rank(differences, level)
    return found, f"signed ranks of {found.units} differences, each within a {around}", "measure"


def _square(trial: Trial, made: Stratum, pair: tuple[str, str]) -> tuple[Ranked, str, str]:
    fixed = surrounding(made)
    values = made.data["value"].to_numpy(dtype=float)
    left = values - fixed @ np.linalg.lstsq(fixed, values, rcond=None)[0]
    size = max(float(np.abs(values).max()), 1e-300)
    ranks = stats.rankdata(np.rint(left / (1e-9 * size)))
    given = dealt(trial, made, [pair])
    found = randomised(
        ranks,
        fixed,
        given.arrangements,
        given.observed,
        given.contrasts,
        trial.definition.layout.seed,
        alike=given.alike,
    )
    carried = made.data[made.factor].astype(str)
    means = pd.Series(ranks).groupby(carried.to_numpy()).mean()
    nan = float("nan")
    answer = Ranked(
        float(means[pair[0]] - means[pair[1]]),
        nan,
        nan,
        float(found.p[0]),
        found.smallest_p,
        len(ranks),
    )
    text = "ranks of plots, rows and columns taken out; p by drawing the square anew"
    return answer, text, "ranks"
