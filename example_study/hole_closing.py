"""How the aeration holes of the example close, and the sheet on which somebody wrote it down.

Everything here is invented. Each plot closes its holes at an even pace, so that the share of their
area that turf has closed grows by the same amount each day until all are closed; the widths of
holes that the photos show (`make_example.py`) lie near these shares. A hollow tine of half an inch
closes in 10 to 14 days of good growth (a course note of 2013); the wider one here takes longer,
and in March longer still. Round numbers; how plots differ comes from the seed, whose next free
stream was taken as it fell.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pandas as pd

__all__ = ["AERATED", "CLOSED", "CLOSED_AFTER", "VISITS", "closure_table", "draw_closure"]
__all__ += ["write_closure"]

AERATED = "2026-03-25"
VISITS = (
    "2026-04-04",
    "2026-04-07",
    "2026-04-10",
    "2026-04-17",
    "2026-04-24",
    "2026-05-01",
)
# The share of their area that counts as closed [%].
CLOSED = 95.0
# Days after aeration on which it is reached: cover, tine.
CLOSED_AFTER = {
    ("open", "solid"): 15.0,
    ("open", "hollow"): 35.0,
    ("fleece", "solid"): 13.0,
    ("fleece", "hollow"): 28.0,
    ("woven", "solid"): 13.0,
    ("woven", "hollow"): 28.0,
}

# A stream of its own: the field, second looks and loggers have others.
_STREAM = 9
_SD_DAYS = {"whole plot": 0.7, "subplot": 0.7}
_SD_READING = 2.0  # of the mean of ten holes [points]


def closure_table() -> pd.DataFrame:
    """List after how many days holes are truly closed, treatment by treatment.

    Returns
    -------
    DataFrame
        Columns cover, aeration, days (from aeration until 95 % of the holes' area is closed).
    """
    rows = [(cover, tine, days) for (cover, tine), days in CLOSED_AFTER.items()]
    return pd.DataFrame(rows, columns=["cover", "aeration", "days"])


def draw_closure(plots: pd.DataFrame, seed: int) -> pd.DataFrame:
    """Draw what was read on every plot and visit.

    Parameters
    ----------
    plots : DataFrame
        ``plan/plots.csv`` with plot, whole_plot, cover, aeration.
    seed : int
        Of numpy's PCG64 generator.

    Returns
    -------
    DataFrame
        Columns date, plot, days (the plot's own, true), closed (as read, whole percent); in the
        order of dates and plots.
    """
    rng = np.random.default_rng([seed, _STREAM])
    plots = plots.sort_values("plot")
    wholes = sorted(set(plots["whole_plot"]))
    whole = dict(zip(wholes, rng.normal(0, _SD_DAYS["whole plot"], len(wholes)), strict=True))
    sub = rng.normal(0, _SD_DAYS["subplot"], len(plots))
    own = {
        plot.plot: CLOSED_AFTER[plot.cover, plot.aeration] + whole[plot.whole_plot] + more
        for plot, more in zip(plots.itertuples(), sub, strict=True)
    }
    rows = []
    for date in VISITS:
        since = (dt.date.fromisoformat(date) - dt.date.fromisoformat(AERATED)).days
        for plot, days in own.items():
            true = min(100.0, CLOSED * since / days)
            # Of holes that are all closed nobody misreads a width.
            seen = true + (rng.normal(0, _SD_READING) if true < 100 else 0.0)
            rows.append((date, plot, days, round(min(max(seen, 0.0), 100.0))))
    return pd.DataFrame(rows, columns=["date", "plot", "days", "closed"])


def write_closure(path: Path, closure: pd.DataFrame) -> None:
    """Write the sheet: one reading a plot and visit.

    Parameters
    ----------
    path : Path
        Of the CSV file.
    closure : DataFrame
        As `draw_closure` gives it.
    """
    lines = ["date,plot,closed %"]
    lines += [f"{row.date},{row.plot},{row.closed}" for row in closure.itertuples()]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(("\n".join(lines) + "\n").encode("utf-8"))
