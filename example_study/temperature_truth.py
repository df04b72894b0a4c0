"""What is true of the invented temperatures by day, by cover and by arrival, for ``truth/``.

They are made of every ten minutes of `heat_balance`, without loggers, noise or gaps.
"""

from __future__ import annotations

import pandas as pd

from heat_balance import COVERED, MEASURES, ZONE, Temperatures

__all__ = ["BASE", "DAYS", "FACTS", "LAID", "OVER", "REACHES", "TOTAL", "by_local_time"]
__all__ += ["daily_table", "gain_table", "reached_table"]

# Days that loggers saw from beginning to end, and those on which covers lay: that of laying is one
# of them, that of lifting is none.
DAYS = ("2026-01-16", "2026-04-17")
LAID = (COVERED[0][:10], "2026-03-08")
FACTS = ["minimum", "mean", "maximum"]
# Of soil: mean over so many days [degC, d]; degree days above a base [degC d, degC].
REACHES, OVER = 10.0, 5
TOTAL, BASE = 100.0, 0.0
_DECIMALS = 3


def daily_table(truth: Temperatures) -> pd.DataFrame:
    """Give what was true of each local day.

    Parameters
    ----------
    truth : Temperatures
        What is true.

    Returns
    -------
    DataFrame
        Columns date, plot (whole plot), block, cover, measure, minimum, mean, maximum [degC]; one
        row for each of `DAYS`, whole plot and measure, sorted by these.
    """
    parts = []
    for measure in MEASURES:
        table = by_local_time(truth, measure)
        days = table.groupby(table.index.normalize())
        facts = {"minimum": days.min(), "mean": days.mean(), "maximum": days.max()}
        long = pd.concat({fact: facts[fact].stack() for fact in FACTS}, axis=1)
        long.index.names = ["date", "plot"]
        parts.append(long.reset_index().assign(measure=measure))
    found = pd.concat(parts).merge(truth.wholes[["plot", "block", "cover"]], on="plot")
    found = found[found["date"].between(*map(pd.Timestamp, DAYS))]
    found[FACTS] = found[FACTS].round(_DECIMALS)
    columns = ["date", "plot", "block", "cover", "measure", *FACTS]
    return found.sort_values(["date", "plot", "measure"], ignore_index=True)[columns]


def gain_table(daily: pd.DataFrame) -> pd.DataFrame:
    """Give how much warmer it was under covers than on open plots, while they lay.

    Parameters
    ----------
    daily : DataFrame
        As `daily_table` gives it.

    Returns
    -------
    DataFrame
        Columns measure, left, right, minimum, mean, maximum [degC]: of the daily facts, left less
        right, each the mean over all plots and days under covers.
    """
    under = daily[daily["date"].between(*map(pd.Timestamp, LAID))]
    means = under.groupby(["measure", "cover"])[FACTS].mean()
    rows = [
        (measure, cover, "open", *(means.loc[(measure, cover)] - means.loc[(measure, "open")]))
        for measure in MEASURES
        for cover in ("fleece", "woven")
    ]
    found = pd.DataFrame(rows, columns=["measure", "left", "right", *FACTS])
    found[FACTS] = found[FACTS].round(_DECIMALS)
    return found


def reached_table(truth: Temperatures, daily: pd.DataFrame) -> pd.DataFrame:
    """Tell when the soil of each whole plot had warmed.

    Parameters
    ----------
    truth : Temperatures
        What is true.
    daily : DataFrame
        As `daily_table` gives it.

    Returns
    -------
    DataFrame
        Columns plot, block, cover; mean_reached: the last of the first `OVER` days whose mean was
        `REACHES` or more; sum_reached: the local day on which the degree days above `BASE` since
        covers were laid came to `TOTAL`. Empty where the last of `DAYS` did not see it.
    """
    soil = daily[daily["measure"] == MEASURES[0]].pivot(index="date", columns="plot", values="mean")
    ten_minutes = by_local_time(truth, MEASURES[0]).loc[LAID[0] : DAYS[1]]
    warmth = (ten_minutes - BASE).clip(lower=0) / 144  # there are so many in a day
    sums = warmth.groupby(ten_minutes.index.normalize()).sum().cumsum()
    found = truth.wholes[["plot", "block", "cover"]].copy()
    for name, there in (
        ("mean_reached", soil.rolling(OVER).mean() >= REACHES),
        ("sum_reached", sums >= TOTAL),
    ):
        first = there.idxmax().dt.strftime("%Y-%m-%d").where(there.any(), "")
        found[name] = found["plot"].map(first)
    return found


def by_local_time(truth: Temperatures, measure: str) -> pd.DataFrame:
    """Put a measure into a table: one row each ten minutes of the local clock, a whole plot each.

    Parameters
    ----------
    truth : Temperatures
        What is true.
    measure : str
        Of `heat_balance.MEASURES`.

    Returns
    -------
    DataFrame
        Index the local time, without its zone, columns the whole plots, values [degC].
    """
    local = truth.times.tz_convert(ZONE).tz_localize(None)
    return pd.DataFrame(truth.measures[measure], index=local, columns=truth.wholes["plot"])
