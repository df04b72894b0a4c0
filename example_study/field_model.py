"""The invented truth behind the example study: what each plot was like on each day.

Effects are round numbers, chosen once before any analysis, within what published cover trials
report: covered turf greens up 7 to 21 days earlier, is one to two rating units better in colour
early on, and the gain fades within six weeks (bounds from memory). Variation comes from the seed.
The seed is the day on which the covers went on; it was not chosen for its outcome. A stream of
its own is taken from it, so that the field has nothing to do with how the plots were drawn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

__all__ = [
    "DATES",
    "EFFECTS",
    "SEED",
    "FieldTruth",
    "draw_second_looks",
    "draw_truth",
    "effect_table",
    "rater_table",
    "tine_table",
]

SEED = 20260119
# Second looks have a stream of their own, so that the first ones do not depend on them.
_SECOND_LOOKS = 2

DATES = ("2026-01-15", "2026-03-10", "2026-03-16", "2026-03-24", "2026-04-04", "2026-04-17")

# Green cover [%] of open plots with the solid tine, in the middle of the shade gradient.
_OPEN = dict(zip(DATES, (50.0, 38.0, 43.0, 52.0, 66.0, 82.0), strict=True))

# What a cover adds [points of green cover], against open plots.
EFFECTS = {
    "fleece": dict(zip(DATES, (0.0, 10.0, 13.0, 12.0, 9.0, 5.0), strict=True)),
    "woven": dict(zip(DATES, (0.0, 12.0, 16.0, 15.0, 10.0, 5.0), strict=True)),
    "open": dict.fromkeys(DATES, 0.0),
}

# What the hollow tine takes [points of green cover], against the solid tine. Three quarter inch
# at two by two inches opens 11.04 % of the ground; covered turf has closed more of it each day.
TINE_LOSS = {
    "open": {"2026-04-04": 11.0, "2026-04-17": 7.0},
    "fleece": {"2026-04-04": 8.0, "2026-04-17": 2.0},
    "woven": {"2026-04-04": 8.0, "2026-04-17": 2.0},
}

_COLOUR = dict(zip(DATES, (4.5, 3.6, 4.0, 4.6, 5.6, 6.6), strict=True))
_COLOUR_GAIN = dict(zip(DATES, (0.0, 1.5, 1.6, 1.3, 0.8, 0.2), strict=True))
# How many marks a rater takes off, against what te would give.
_RATER_SEVERITY = {"te": 0.0, "rx": 0.5}

_PULL = {"2026-03-24": 38.0, "2026-04-17": 52.0}
_PULL_GAIN = {"open": 0.0, "fleece": 6.0, "woven": 7.0}
_PULL_TINE = -3.0

# Standard deviations: blocks follow the shade of the stand, so they are a gradient, not a draw.
_SHADE_SPAN = 12.0
_SD = {"whole plot": 2.5, "subplot": 1.5, "visit": 1.5, "photo": 1.5}
_SD_COLOUR = {"plot": 0.3, "rating": 0.45}
_CV_PULL = {"plot": 0.05, "pull": 0.12}


@dataclass(frozen=True)
class FieldTruth:
    """Everything that is true of the invented field.

    Parameters
    ----------
    cover : DataFrame
        plot, date, block, cover, aeration, wanted (green cover of the photo [%]).
    ratings : DataFrame
        date, plot, rater, rating, and seen: the mark that the rater would give on average, not
        rounded.
    pulls : DataFrame
        date, plot, pull, force [lbf].
    """

    cover: pd.DataFrame
    ratings: pd.DataFrame
    pulls: pd.DataFrame


def effect_table() -> pd.DataFrame:
    """List the true effects of the covers on green cover.

    Returns
    -------
    DataFrame
        Columns date, left, right, difference [points]: left minus right, averaged over tines
        where those are on the ground; the columns and rows are in the order of the dates.
    """
    rows = []
    for date in DATES:
        for left, right in (("fleece", "open"), ("woven", "open"), ("fleece", "woven")):
            difference = _level(left, date) - _level(right, date)
            rows.append({"date": date, "left": left, "right": right, "difference": difference})
    return pd.DataFrame(rows)


def tine_table() -> pd.DataFrame:
    """List what the hollow tine truly takes of the green cover, against the solid tine.

    Returns
    -------
    DataFrame
        Columns date, cover, loss [points].
    """
    rows = [(date, cover, loss) for cover, days in TINE_LOSS.items() for date, loss in days.items()]
    return pd.DataFrame(rows, columns=["date", "cover", "loss"])


def rater_table() -> pd.DataFrame:
    """List how the raters truly mark.

    Returns
    -------
    DataFrame
        Columns rater; severity [marks]: how many fewer than the mildest of them; repeat_sd
        [marks]: standard deviation of one rater's marks of one plot on one day, before a mark
        is rounded to a whole one.
    """
    rows = [(rater, off, _SD_COLOUR["rating"]) for rater, off in _RATER_SEVERITY.items()]
    return pd.DataFrame(rows, columns=["rater", "severity", "repeat_sd"])


def _level(cover: str, date: str) -> float:
    tines = TINE_LOSS[cover].get(date, 0.0)
    return EFFECTS[cover][date] - tines / 2


def draw_truth(plots: pd.DataFrame, seed: int = SEED) -> FieldTruth:
    """Draw the field: blocks, whole plots, subplots, visits, ratings and pulls.

    Parameters
    ----------
    plots : DataFrame
        ``plan/plots.csv`` with plot, whole_plot, block, cover, aeration.
    seed : int
        Of numpy's PCG64 generator.
    """
    rng = np.random.default_rng([seed, 1])
    plots = plots.sort_values("plot").astype({"cover": "str", "aeration": "str"})
    wholes = sorted(set(plots["whole_plot"]))
    blocks = sorted(set(plots["block"]))
    shade = dict(
        zip(blocks, np.linspace(_SHADE_SPAN / 2, -_SHADE_SPAN / 2, len(blocks)), strict=True)
    )
    whole = dict(zip(wholes, rng.normal(0, _SD["whole plot"], len(wholes)), strict=True))
    sub = dict(zip(plots["plot"], rng.normal(0, _SD["subplot"], len(plots)), strict=True))
    rows = []
    for date in DATES:
        for plot in plots.itertuples():
            wanted = _OPEN[date] + EFFECTS[plot.cover][date] + shade[plot.block]
            if plot.aeration == "hollow":
                wanted -= TINE_LOSS[plot.cover].get(date, 0.0)
            wanted += whole[plot.whole_plot] + sub[plot.plot]
            wanted += rng.normal(0, _SD["visit"]) + rng.normal(0, _SD["photo"])
            rows.append((plot.plot, date, plot.block, plot.cover, plot.aeration, wanted))
    columns = ["plot", "date", "block", "cover", "aeration", "wanted"]
    cover = pd.DataFrame(rows, columns=columns)
    cover["wanted"] = cover["wanted"].clip(0, 100)
    return FieldTruth(cover, _ratings(rng, plots, shade), _pulls(rng, plots))


def _ratings(
    rng: np.random.Generator, plots: pd.DataFrame, shade: dict[str, float]
) -> pd.DataFrame:
    own = dict(zip(plots["plot"], rng.normal(0, _SD_COLOUR["plot"], len(plots)), strict=True))
    rows = []
    for date in DATES:
        for rater, severity in _RATER_SEVERITY.items():
            for plot in plots.itertuples():
                gain = 0.0 if plot.cover == "open" else _COLOUR_GAIN[date]
                seen = _COLOUR[date] + gain + shade[plot.block] / 12 + own[plot.plot] - severity
                mark = _mark(rng, seen)
                rows.append((date, plot.plot, rater, mark, seen))
    return pd.DataFrame(rows, columns=["date", "plot", "rater", "rating", "seen"])


def _mark(rng: np.random.Generator, seen: float) -> int:
    return min(max(round(seen + rng.normal(0, _SD_COLOUR["rating"])), 1), 9)


def draw_second_looks(ratings: pd.DataFrame, again: pd.DataFrame, seed: int = SEED) -> pd.DataFrame:
    """Draw the marks that raters give when they meet a plot a second time on one day.

    Parameters
    ----------
    ratings : DataFrame
        Of a `FieldTruth`.
    again : DataFrame
        Columns date, plot, rater: what is looked at twice.
    seed : int
        Of numpy's PCG64 generator.

    Returns
    -------
    DataFrame
        Columns date, plot, rater, rating, seen; rows in the order of ``again``. The rater does
        not remember the first mark: the second one is drawn as the first one was.
    """
    rng = np.random.default_rng([seed, _SECOND_LOOKS])
    found = again[["date", "plot", "rater"]].merge(ratings, on=["date", "plot", "rater"])
    found["rating"] = [_mark(rng, seen) for seen in found["seen"]]
    return found[["date", "plot", "rater", "rating", "seen"]]


def _pulls(rng: np.random.Generator, plots: pd.DataFrame) -> pd.DataFrame:
    own = dict(zip(plots["plot"], rng.normal(0, _CV_PULL["plot"], len(plots)), strict=True))
    rows = []
    for date, base in _PULL.items():
        for plot in plots.itertuples():
            mean = base + _PULL_GAIN[plot.cover]
            if plot.aeration == "hollow" and date > "2026-03-25":
                mean += _PULL_TINE
            for pull in (1, 2, 3):
                force = mean * (1 + own[plot.plot] + rng.normal(0, _CV_PULL["pull"]))
                rows.append((date, plot.plot, pull, round(force, 1)))
    return pd.DataFrame(rows, columns=["date", "plot", "pull", "force"])
