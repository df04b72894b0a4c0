"""Scores of photos against what people counted under crosses; treatments play no part in it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from wintersward.analysis.calibrating import ANALYSIS, Line, count_error, fit_line, raw_error
from wintersward.analysis.primary import primary
from wintersward.analysis.raters import FORMS, MeanSquares
from wintersward.analysis.results import empty
from wintersward.analysis.two_methods import limits_of_agreement
from wintersward.errors import WinterswardError
from wintersward.records.point_counts import PointCounts, read_point_counts
from wintersward.study import Trial

__all__ = ["LEAST_PHOTOS", "LEAST_POINTS", "point_counts"]

Row = dict[str, object]

LEAST_PHOTOS, LEAST_POINTS = 20, 1000
"""What a calibration needs at least; common practice, no source."""

_LEVEL = 0.95
_APART = "score less count"
_ONCE = "intervals are for the photos of this trial, of which these were drawn at random"


def point_counts(trial: Trial) -> dict[str, pd.DataFrame]:
    """Set the score of each photo against what people counted on it.

    Parameters
    ----------
    trial : Trial
        The study. Treatments are not looked at, so nothing waits for the primary question.

    Returns
    -------
    dict of str to DataFrame
        Tables ``point_counts``, ``point_agreement`` and ``calibration``, one set of rows for each
        measure of green cover from photos; and ``sensitivity``, with the primary comparisons on
        the scale of the count where the scores could be calibrated. A demonstration gets counts,
        mean difference and spread alone: no limits, no calibration.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the filled sheets.

    Notes
    -----
    Several raters of a photo count the same crosses: their counts are averaged, and the points
    of the photo stay those of one rater. Unsure crosses are left out of the share.

    Each photo counts as one pair: the photos were drawn at random from those of the trial, so
    that the interval of the mean difference holds for the trial's photos even where plots come
    back (Cochran 1977, chapters 2 and 8).

    References
    ----------
    Bland J. M., Altman D. G. (1986) Statistical methods for assessing agreement between two
    methods of clinical measurement. Lancet 327, 307-310. doi:10.1016/S0140-6736(86)90837-8
    Cochran W. G. (1977) Sampling Techniques, third edition. Wiley, New York (from memory).
    """
    read = read_point_counts(trial.folder)
    if read.problems:
        raise WinterswardError(read.problems)
    counted: list[pd.DataFrame] = []
    agreed: list[Row] = []
    lines: list[Row] = []
    beside: list[pd.DataFrame] = []
    for name, measure in trial.photo_measures.items():
        if measure.score != "cover" or read.counts.empty:
            continue
        rows = _counted(trial, name, read.counts)
        counted.append(rows)
        agreed += [{"measure": name, **row} for row in _agreement(trial, rows, read)]
        if not trial.definition.layout.tested:
            continue
        row, line = _calibration(_photos(rows))
        lines.append({"measure": name, **row})
        if line is not None and name == trial.definition.analysis.primary.measure:
            beside.append(_calibrated(trial, line))
    return {
        "point_counts": _table("point_counts", counted),
        "point_agreement": _table("point_agreement", [pd.DataFrame(agreed)]),
        "calibration": _table("calibration", [pd.DataFrame(lines)]),
        "sensitivity": pd.concat(beside) if beside else empty("sensitivity"),
    }


def _table(name: str, frames: list[pd.DataFrame]) -> pd.DataFrame:
    none = empty(name)
    filled = [frame for frame in frames if not frame.empty]
    if not filled:
        return none
    return pd.concat(filled, ignore_index=True)[list(none.columns)].astype(none.dtypes)


def _counted(trial: Trial, measure: str, counts: pd.DataFrame) -> pd.DataFrame:
    """Join the counts with the observations of a measure; photos that it does not use go."""
    seen = trial.observations(measure)[["date", "plot", "sample", "source", "value", "excluded"]]
    rows = counts.drop(columns="source").merge(seen, left_on="path", right_on="source")
    told = rows["points"] - rows["unsure"]
    share = 100 * rows["green"] / told.where(told > 0)
    return rows.assign(measure=measure, counted=share, scored=rows["value"])


def _photos(rows: pd.DataFrame) -> pd.DataFrame:
    """Average the raters of each photo that is used: counted, scored [%], points."""
    used = rows[(rows["excluded"] == "") & rows["counted"].notna() & rows["scored"].notna()]
    told = used.assign(points=(used["points"] - used["unsure"]).astype(float))
    return told.groupby("photo")[["counted", "scored", "points"]].mean()


def _agreement(trial: Trial, rows: pd.DataFrame, read: PointCounts) -> Iterator[Row]:
    photos, tested = _photos(rows), trial.definition.layout.tested
    points = round(float(photos["points"].sum()))
    held = {"n": len(photos), "points": points}
    blank = {"lower": math.nan, "upper": math.nan}
    used = {"what": "photos", "form": "counted", "value": float(len(photos)), **blank}
    yield {**used, **held, "text": _used_words(rows, read, len(photos))}
    if len(photos) > 1:
        apart = (photos["scored"] - photos["counted"]).to_numpy(dtype=float)
        for row in _apart(apart, tested):
            yield {**row, **held}
        if tested:
            for row in _points_alone(photos, apart):
                yield {**blank, **row, **held}
    for row in _raters(rows, tested):
        yield {**blank, "points": points, **row}


def _used_words(rows: pd.DataFrame, read: PointCounts, used: int) -> str:
    """Say what became of the photos drawn."""
    counted = read.counts["photo"].nunique()
    said = [f"of {read.drawn} photos drawn, {counted} were counted and {used} are used"]
    set_aside = rows.loc[rows["excluded"] != "", "photo"].nunique()
    said += [f"{set_aside} set aside in the diary"] if set_aside else []
    open_ = rows.loc[rows["counted"].isna(), "photo"].nunique()
    said += [f"{open_} with a count in which every cross was unsure"] if open_ else []
    other = counted - rows["photo"].nunique()
    said += [f"{other} of which the trial has no score on a date of this measure"] if other else []
    unsure = float(rows["unsure"].sum()) / float(rows["points"].sum()) if len(rows) else 0.0
    return "; ".join([*said, f"{100 * unsure:.1f} % of the crosses looked at were unsure"])


def _mean(values: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Give mean, ends of its 95 % interval by t, and standard deviation."""
    mean, sd = float(values.mean()), float(values.std(ddof=1))
    reach = float(stats.t.ppf(0.5 + _LEVEL / 2, len(values) - 1)) * sd / math.sqrt(len(values))
    return mean, mean - reach, mean + reach, sd


def _apart(apart: NDArray[np.float64], tested: bool) -> Iterator[Row]:
    """Give bias, spread and limits of agreement."""
    mean, lower, upper, sd = _mean(apart)
    bias: Row = {"what": "bias", "form": _APART, "value": mean}
    side = "higher" if mean > 0 else "lower"
    if not tested:
        said = f"on average over these photos the score reads {side} than the count"
        yield {**bias, "lower": math.nan, "upper": math.nan, "text": said}
    elif lower > 0 or upper < 0:
        said = f"on average the score reads {side} than people count"
        yield {**bias, "lower": lower, "upper": upper, "text": f"{said}; {_ONCE}"}
    else:
        said = "these data cannot tell whether the score reads higher or lower than people count"
        yield {**bias, "lower": lower, "upper": upper, "text": f"{said}; {_ONCE}"}
    said = "standard deviation of the differences between photos, the chance of the crosses in it"
    spread: Row = {"what": "sd", "form": _APART, "value": sd, "text": said}
    yield {**spread, "lower": math.nan, "upper": math.nan}
    limits = limits_of_agreement(apart, np.arange(len(apart))) if tested else None
    if limits is None:
        return
    about = (
        "about 95 of 100 photos lie between the lower and the upper limit, if differences spread "
        f"alike over the range; the chance of the crosses is in it ({limits.method})"
    )
    for form, end in (("lower", limits.lower), ("upper", limits.upper)):
        row: Row = {"what": "limits", "form": form, "value": end.value, "text": about}
        yield {**row, "lower": end.lower, "upper": end.upper}


def _points_alone(photos: pd.DataFrame, apart: NDArray[np.float64]) -> Iterator[Row]:
    """Tell how much of the spread so few points bring about by themselves."""
    counted, points = (photos[name].to_numpy(dtype=float) for name in ("counted", "points"))
    alone, sd = count_error(counted, points), float(apart.std(ddof=1))
    said = "what the chance of the crosses alone would give, at most: they are one in each cell"
    yield {"what": "sd", "form": "crosses alone", "value": alone, "text": said}
    if sd > 0:
        share = 100 * (alone / sd) ** 2
        said = f"of the variance of the differences the crosses alone explain {share:.0f} % at most"
        if share >= 100:
            said = "the chance of the crosses alone could explain all of the spread"
        row: Row = {"what": "share", "form": "crosses alone", "value": share, "text": said}
        yield row


def _raters(rows: pd.DataFrame, tested: bool) -> Iterator[Row]:
    """Set raters against one another, who counted the same crosses."""
    used = rows[(rows["excluded"] == "") & rows["counted"].notna()]
    wide = used.pivot(index="photo", columns="rater", values="counted")
    same = "the same crosses, so that the chance of the crosses is not in it"
    for one, other in combinations(map(str, wide.columns), 2):
        both = wide[[one, other]].dropna()
        if len(both) < 2:
            continue
        form, n = f"{one} less {other}", len(both)
        mean, lower, upper, sd = _mean((both[one] - both[other]).to_numpy(dtype=float))
        bias: Row = {"what": "bias", "form": form, "value": mean, "n": n}
        bias["text"] = f"what {one} counted less what {other} counted: {same}"
        yield {**bias, "lower": lower, "upper": upper} if tested else bias
        spread: Row = {"what": "sd", "form": form, "value": sd, "n": n}
        yield {**spread, "text": f"standard deviation between photos: {same}"}
    complete = wide.dropna()
    if tested and wide.shape[1] > 1 and len(complete) > 2:
        found = MeanSquares.of(complete, np.zeros(len(complete), dtype=int)).forms()[0]
        share = f"about {100 * found.value:.0f} % of the variation in counts is that of the photos"
        said = f"{share}, the rest is counting" if found.value > 0 else "raters do not agree at all"
        row: Row = {"what": "ICC", "form": FORMS[0], "value": found.value, "text": said}
        yield {**row, "lower": found.lower, "upper": found.upper, "n": len(complete)}


def _calibration(photos: pd.DataFrame) -> tuple[Row, Line | None]:
    """Fit the line, and tell whether it may be used."""
    scored, counted, points = (
        photos[name].to_numpy(dtype=float) for name in ("scored", "counted", "points")
    )
    n, many = len(photos), round(float(points.sum()))
    row: Row = {"done": "no", "photos": n, "points": many}
    row |= dict.fromkeys(("intercept", "slope", "slope_se", "low", "high"), math.nan)
    row |= dict.fromkeys(("error_before", "error_after"), math.nan)
    if n < LEAST_PHOTOS or many < LEAST_POINTS:
        need = f"it takes {LEAST_PHOTOS} photos and {LEAST_POINTS} crosses at least"
        return {**row, "text": f"not calibrated: {need}, and there are {n} and {many}"}, None
    line, before = fit_line(scored, counted, points), raw_error(scored, counted, points)
    row |= {"low": float(scored.min()), "high": float(scored.max()), "error_before": before}
    if line is None:
        return {**row, "text": "not calibrated: the scores of these photos hardly differ"}, None
    row |= {"intercept": line.intercept, "slope": line.slope, "slope_se": line.slope_se}
    row |= {"error_after": line.left_out}
    if not line.left_out < before:
        said = "not calibrated: a line would not foretell the count of a further photo better"
        return {**row, "text": said}, None
    if line.slope <= 0:
        return {**row, "text": "not calibrated: the counts do not rise with the scores"}, None
    said = "calibrated as a supporting look: a line foretells the count of a further photo better"
    return {**row, "done": "yes", "text": said}, line


def _calibrated(trial: Trial, line: Line) -> pd.DataFrame:
    """Give the primary comparisons on the scale of the count.

    Notes
    -----
    A straight line multiplies every difference by its slope b, and so the standard error; p and
    degrees of freedom stay those of the answer. That the slope is itself estimated widens the
    interval: its variance is ``b^2 se^2 + d^2 se(b)^2``, with the answer's own multiple of the
    standard error (propagation of error; JCGM 100:2008, section 5.1.2, from memory).
    """
    rows = primary(trial)
    rows = rows[(rows["which"] == "as planned") & rows["difference"].notna()]
    start = f"{line.intercept:.1f}".replace("-", "\N{MINUS SIGN}")
    text = (
        "scores put on the scale of the point count, which is the count = "
        f"{start} % + {line.slope:.2f} × the score; a line cannot change p"
    )
    scale = (rows["upper"] - rows["difference"]) / rows["se"]
    se = np.hypot(line.slope * rows["se"], rows["difference"] * line.slope_se)
    moved = line.slope * rows["difference"]
    # Whether it agrees is left open: with the p of the answer it could not do otherwise.
    told = {"analysis": ANALYSIS, "text": text, "scale": "measure", "agrees": ""}
    made = rows.assign(
        **told, difference=moved, se=se, lower=moved - scale * se, upper=moved + scale * se
    )
    return made[list(empty("sensitivity").columns)].reset_index(drop=True)
