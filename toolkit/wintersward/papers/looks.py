"""Who looks at which plot on a visit, in which order, and which plots are looked at twice."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from math import ceil

import numpy as np
import pandas as pd

from wintersward.design.shuffling import chooser, shuffled
from wintersward.trial import Definition
from wintersward.trial.schema import SheetMeasure

__all__ = ["looks", "second_looks", "walks"]

# Tells the stream of second looks from that of the plan, which starts from the seed alone.
_STREAM = 2


def walks(plots: pd.DataFrame) -> list[pd.DataFrame]:
    """Order the plots as they are walked.

    Parameters
    ----------
    plots : DataFrame
        ``plan/plots.csv``: plot, walk and, with several grounds, ground.

    Returns
    -------
    list of DataFrame
        One walk for each ground, in the order in which the grounds first appear.
    """
    if "ground" not in plots:
        return [plots.sort_values("walk", kind="stable")]
    grounds = dict.fromkeys(plots["ground"])
    return [plots[plots["ground"] == one].sort_values("walk", kind="stable") for one in grounds]


def second_looks(
    seed: int, day: dt.date, rater: str, walked: list[list[str]], share: float
) -> list[list[str]]:
    """Draw the plots that a rater meets a second time.

    Parameters
    ----------
    seed : int
        ``layout.seed`` of the definition.
    day : date
        Day of the visit.
    rater : str
        Initials; empty where nobody is named.
    walked : list of list of str
        The plots of each ground in walking order.
    share : float
        Of the plots of a ground [%]; as many plots as that or the next more, so that a share
        above 0 is one plot at least.

    Returns
    -------
    list of list of str
        For each ground the plots in the order drawn: fewer of them, for a smaller share, are
        the first of these.

    Notes
    -----
    They are drawn from the first two thirds of the walk and are walked to after its end, so that
    at least a third of the walk lies between the first look and the second. The random numbers
    are those of PCG64 started from the seed, a 2, the day's number in the proleptic Gregorian
    calendar and the bytes of the initials: streams of their own, which do not depend on how the
    plan was drawn, nor on who else rates.
    """
    words = [seed, _STREAM, day.toordinal(), *rater.encode("utf-8")]
    below = chooser(np.random.PCG64(np.random.SeedSequence(words)))
    drawn = []
    for plots in walked:
        early = plots[: len(plots) - len(plots) // 3]
        # The small number keeps 10 % of 30, as the computer has it, from becoming 4.
        many = ceil(len(plots) * share / 100 - 1e-9)
        drawn.append(shuffled(early, below)[:many])
    return drawn


def looks(
    definition: Definition,
    plots: pd.DataFrame,
    day: dt.date,
    rater: str,
    measures: Mapping[str, SheetMeasure],
) -> pd.DataFrame:
    """List what one rater fills in on one visit.

    Parameters
    ----------
    definition : Definition
        Gives the seed.
    plots : DataFrame
        ``plan/plots.csv``.
    day : date
        Day of the visit.
    rater : str
        Initials; empty for measures that anyone may take.
    measures : mapping of str to SheetMeasure
        What is due.

    Returns
    -------
    DataFrame
        In walking order, one row a plot and sample, second looks after the end of each walk:
        plot, ground (only with several grounds), sample, repeat (bool), and for each measure
        whether it is to be filled in here.
    """
    shares = {name: measure.repeat_share for name, measure in measures.items()}
    ordered = walks(plots)
    walked = [list(one["plot"].astype(str)) for one in ordered]
    again = {
        name: second_looks(definition.layout.seed, day, rater, walked, share)
        for name, share in shares.items()
    }
    none: list[list[str]] = [[] for _ in walked]
    most = max(again.values(), key=lambda drawn: sum(map(len, drawn)), default=none)
    rows: list[dict[str, object]] = []
    for number, names in enumerate(walked):
        ground = ordered[number]["ground"].iloc[0] if "ground" in plots else None
        twice = [name for name in names if name in most[number]]
        for plot, repeat in [(n, False) for n in names] + [(n, True) for n in twice]:
            here = [n for n in measures if not repeat or plot in again[n][number]]
            for sample in range(1, max(measures[n].per_plot for n in here) + 1):
                told: dict[str, object] = {"plot": plot}
                told |= {} if ground is None else {"ground": str(ground)}
                told |= {"sample": sample, "repeat": repeat}
                rows.append(
                    told | {n: n in here and sample <= measures[n].per_plot for n in measures}
                )
    return pd.DataFrame(rows)
