"""How well raters agree, and the eye with the photo; treatments play no part in it."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from wintersward.analysis.raters import FORMS, Agreement, all_dates, complete, severity
from wintersward.analysis.raters import within_dates as forms_within_dates
from wintersward.analysis.results import empty
from wintersward.analysis.two_methods import (
    Correlation,
    Limits,
    correlation_within,
    limits_of_agreement,
)
from wintersward.analysis.units import plot_values
from wintersward.records import first_looks
from wintersward.study import Trial
from wintersward.trial.schema import PhotoMeasure, SheetMeasure

__all__ = ["agreement"]

Row = dict[str, object]

_SEVERITY = {
    True: "each rater's severity counts as disagreement",
    False: "each rater's severity is taken off first: who marks everything low does not show here",
}
_NARROW = "the same plots come back on every date, so the interval is somewhat too narrow"


def agreement(trial: Trial) -> dict[str, pd.DataFrame]:
    """Set the raters against one another, and what the eye rated against the photos.

    Parameters
    ----------
    trial : Trial
        The study. Treatments are not looked at, so nothing waits for the primary question.

    Returns
    -------
    dict of str to DataFrame
        Tables ``agreement``, ``raters`` and ``eye_and_photo``. Excluded observations are left
        out. Raters are set against one another where the definition names two or more and all
        of them rated three plots or more; a rating is set against each measure from photos that
        was taken on the same plots and dates.

    Notes
    -----
    No words for high and low: how good is good enough depends on what the ratings are for.
    """
    parts: dict[str, list[pd.DataFrame]] = {}
    rows: list[Row] = []
    for name, measure in trial.definition.measures.items():
        if not isinstance(measure, SheetMeasure) or not (measure.raters or measure.scale):
            continue
        used = _used(trial, name)
        if len(measure.raters) > 1:
            wide = complete(used[used["rater"].isin(measure.raters)])
            wide = wide[[one for one in measure.raters if one in wide]]
            if wide.shape[1] > 1 and len(wide) > 2:
                rows += [{"measure": name, **row} for row in _rater_rows(wide)]
                parts.setdefault("raters", []).append(severity(wide).assign(measure=name))
        for against, photo in trial.photo_measures.items():
            beside = _beside(used, _used(trial, against))
            if beside.empty:
                continue
            told = {"measure": name, "against": against}
            parts.setdefault("eye_and_photo", []).append(beside.assign(**told))
            rows += [{**told, **row} for row in _beside_rows(beside, measure, photo)]
    if rows:
        parts["agreement"] = [pd.DataFrame(rows)]
    return {name: _table(name, parts) for name in ("agreement", "raters", "eye_and_photo")}


def _table(name: str, parts: dict[str, list[pd.DataFrame]]) -> pd.DataFrame:
    none = empty(name)
    if name not in parts:
        return none
    return pd.concat(parts[name], ignore_index=True)[list(none.columns)].astype(none.dtypes)


def _used(trial: Trial, measure: str) -> pd.DataFrame:
    seen = first_looks(trial.observations(measure))
    return seen[(seen["excluded"] == "") & seen["value"].notna()]


def _rater_rows(wide: pd.DataFrame) -> Iterator[Row]:
    """Give one row a form, over all dates and within dates; one date has only the second."""
    dates = wide.index.get_level_values("date")
    several = dates.nunique() > 1
    found: list[tuple[str, list[Agreement]]] = [("all dates", all_dates(wide))] if several else []
    if dates.value_counts().gt(1).any():
        found.append(("within dates", forms_within_dates(wide)))
    for scope, forms in found:
        for one in forms:
            yield {
                "against": "raters",
                "statistic": "ICC",
                "form": f"{one.form}, {scope}",
                "value": one.value,
                "lower": one.lower,
                "upper": one.upper,
                "n": len(wide),
                "text": _icc_text(one, scope, several),
            }


def _icc_text(one: Agreement, scope: str, several: bool) -> str:
    what = "single ratings" if one.form in FORMS[:2] else "the mean of the raters"
    over, whose = "over all plots and dates", "plots and season"
    if scope == "within dates":
        over, whose = "on one date", "the plots"
    if one.value > 0:
        share = f"about {100 * one.value:.0f} % of the variation in {what} is that of {whose}"
        said = f"{over} {share}, the rest is rating"
    else:
        said = f"{over} {what} vary no more between plots than between raters"
    said += f"; {_SEVERITY[one.form in (FORMS[0], FORMS[2])]}"
    if scope == "within dates":
        said += "; where plots hardly differ it is low, however well the raters agree"
    return f"{said}; {_NARROW}" if several else said


def _beside(eye: pd.DataFrame, photo: pd.DataFrame) -> pd.DataFrame:
    """Join what the eye and the photos say of each plot and date."""
    columns = ["date", "plot", "value"]
    pair = []
    for seen in (eye, photo):
        days = [plot_values(one)[0].assign(date=day) for day, one in seen.groupby("date")]
        pair.append(pd.concat(days)[columns] if days else pd.DataFrame(columns=columns))
    if pair[0].empty or pair[1].empty:
        return pd.DataFrame(columns=["date", "plot", "eye", "photo"])
    joined = pair[0].merge(pair[1], on=["date", "plot"], suffixes=("_eye", "_photo"))
    joined = joined.rename(columns={"value_eye": "eye", "value_photo": "photo"})
    return joined.sort_values(["date", "plot"], kind="stable", ignore_index=True)


def _beside_rows(beside: pd.DataFrame, measure: SheetMeasure, photo: PhotoMeasure) -> Iterator[Row]:
    """Give the correlations, and bias and limits where both are in one unit."""
    several = beside["date"].nunique() > 1
    same = measure.unit == photo.unit
    unlike = "" if same else f"; no limits of agreement: '{measure.unit}' is not '{photo.unit}'"
    x, y = beside["photo"].to_numpy(dtype=float), beside["eye"].to_numpy(dtype=float)
    over = correlation_within(x, y, beside["plot"].to_numpy())
    if over is not None:
        text = (
            "how the eye follows the photo as a plot changes over the dates; both follow the "
            f"season, so it is high even where the eye tells plots of one date badly apart{unlike}"
        )
        yield _correlation_row(over, "over the dates, within plots", text)
    between = correlation_within(x, y, beside["date"].to_numpy())
    if between is not None:
        text = "how the eye follows the photo from plot to plot on one date"
        text += (f"; {_NARROW}" if several else "") + unlike
        yield _correlation_row(between, "between plots, within dates", text)
    if same:
        limits = limits_of_agreement(y - x, beside["plot"].to_numpy())
        if limits is not None:
            yield from _limit_rows(limits)


def _correlation_row(found: Correlation, form: str, text: str) -> Row:
    return {
        "statistic": "repeated-measures correlation",
        "form": form,
        "value": found.value,
        "lower": found.lower,
        "upper": found.upper,
        "n": found.n,
        "text": text,
    }


def _limit_rows(limits: Limits) -> Iterator[Row]:
    bias = limits.bias
    if bias.lower > 0 or bias.upper < 0:
        side = "higher" if bias.value > 0 else "lower"
        said = f"on average the eye reads {side} than the photo"
    else:
        said = "these data cannot tell whether the eye reads higher or lower than the photo"
    again = limits.n > limits.plots
    within = "; plots that come back are allowed for" if again else ""
    about = (
        "eye less photo, plot by plot: about 95 of 100 single differences lie between the lower "
        f"and the upper limit, if they spread alike over the range{within} ({limits.method})"
    )
    only = "; it means something only if both are to measure the same thing"
    for statistic, form, end, text in (
        ("bias", "eye less photo", bias, said + within + only),
        ("limits", "lower", limits.lower, about),
        ("limits", "upper", limits.upper, about),
    ):
        yield {
            "statistic": statistic,
            "form": form,
            "value": end.value,
            "lower": end.lower,
            "upper": end.upper,
            "n": limits.n,
            "text": text,
        }
