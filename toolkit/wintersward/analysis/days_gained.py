"""Days gained: how many days earlier than the control a treatment reached a stated level.

Notes
-----
Each experimental unit has one day of arrival (`wintersward.analysis.arrivals`), and these days are
compared as any other value of the units is: in their own stratum, by the layout's own model.

A unit that was at the level when first seen, or not yet when last seen, enters with that day, which
is a bound. The days gained are a weighted sum of the units' days; for two treatments in complete
blocks the control's days weigh plus and the treatment's minus one over the number of blocks. With
`after` at a plus or `on or before` at a minus the true sum is higher than the one found: at least.
The other way round it is lower: at most. With both no number can be given. An interval is given
only where no bound can have entered the difference or its error.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.arrivals import AFTER, ON_OR_BEFORE, unit_arrivals
from wintersward.analysis.model import model_for
from wintersward.analysis.results import empty
from wintersward.analysis.scopes import constant_within, notes_table, only_over
from wintersward.analysis.strata import Stratum, stratum
from wintersward.analysis.units import unit_names
from wintersward.errors import WinterswardError, closest, listed
from wintersward.study import Trial
from wintersward.trial.dates import dates_meant

__all__ = ["days_gained", "gains", "notes_about"]

_ESTIMABLE = 1e-9
_WEIGHS = 1e-9
_SAYS = {
    frozenset[str](): "exactly",
    frozenset({"more"}): "at least",
    frozenset({"less"}): "at most",
}
_CANNOT = "cannot be told"


def days_gained(
    source: Trial | pd.DataFrame,
    level: float | None = None,
    control: str | None = None,
    since: float = -np.inf,
    confidence: float = 0.95,
) -> dict[str, pd.DataFrame]:
    """Tell how many days earlier each treatment reached a level than the control.

    Parameters
    ----------
    source : Trial or DataFrame
        A trial, whose definition says all the rest; or one row a unit and visit, with the columns
        unit_name, treatment, day [day] and value, and block where the units lie in blocks.
    level : float [unit of the values]
        For a frame: the level.
    control : str
        For a frame: the treatment that the others are set against.
    since : float [day]
        For a frame: the day on which the covers came off; earlier visits are left out.
    confidence : float
        For a frame: of the intervals.

    Returns
    -------
    dict of str to DataFrame
        ``arrivals``, ``days_gained`` and ``notes`` with the columns of
        `wintersward.analysis.results.TABLES`; from a frame without measure and dates. Empty where
        the definition asks for no days gained, and until its primary question has data.

    Raises
    ------
    WinterswardError
        For a frame that lacks a column, or whose treatments do not fit.

    Examples
    --------
    >>> seen = {"open": [40, 60, 90], "fleece": [50, 80, 95]}
    >>> rows = [
    ...     (f"{block}{cover}", block, cover, day, value + rise)
    ...     for block, rise in (("1", 0), ("2", 3), ("3", 4))
    ...     for cover, values in seen.items()
    ...     for day, value in zip([0, 7, 21], values)
    ... ]
    >>> frame = pd.DataFrame(rows, columns=["unit_name", "block", "treatment", "day", "value"])
    >>> found = days_gained(frame, level=70, control="open")["days_gained"]
    >>> found[["left", "right", "days", "says"]].round(2).values.tolist()
    [['fleece', 'open', 6.46, 'exactly']]
    """
    if isinstance(source, Trial):
        return _of_trial(source)
    if level is None or control is None:
        raise WinterswardError("days gained of a frame: name level= and control=")
    return _of_frame(source, level, control, since, confidence)


def gains(
    arrivals: pd.DataFrame, factor: str, control: str, fixed: str, confidence: float = 0.95
) -> tuple[pd.DataFrame, list[tuple[str, str]]]:
    """Compare days of arrival with those of the control.

    Parameters
    ----------
    arrivals : DataFrame
        One row a unit: days [day], censored, and the columns of `fixed`.
    factor : str
        Column of the treatment, categorical.
    control : str
        The treatment that the others are set against.
    fixed : str
        The layout's own model, terms joined by ``+``: the factor and what surrounds the units.
    confidence : float
        Of the intervals.

    Returns
    -------
    rows : DataFrame
        Columns left, right, days (positive where the left was earlier), se, df, lower, upper, p,
        says, left_before, left_after, right_before, right_after, units_left, units_right; one
        row a treatment with units.
    notes : list of (str, str)
        Code and text.
    """
    rows, notes = [], []
    sizes = arrivals[factor].value_counts()
    names = [name for name in arrivals[factor].cat.categories if name != control]
    for left in names:
        gone = [name for name in (left, control) if not sizes.get(name, 0)]
        if gone:
            text = f"days gained by {left}: no unit of {listed(gone)} was seen"
            notes.append(("days gained", text))
            continue
        row, said = _gain(arrivals, factor, left, control, fixed, confidence)
        rows.append(row)
        notes += said
    columns = list(empty("days_gained").columns)[2:]
    return pd.DataFrame(rows, columns=columns), notes


def notes_about(notes: Sequence[tuple[str, str]], left: str) -> str:
    """Join the notes of `gains` that are about one treatment; empty for none.

    Examples
    --------
    >>> notes = [("days gained", "days gained by fleece_double: no unit of it was seen")]
    >>> notes_about(notes, "fleece")
    ''
    """
    begins = (f"days gained by {left}: ", f"days gained by {left} have ")
    return "; ".join(text for _, text in notes if text.startswith(begins))


def _gain(
    arrivals: pd.DataFrame, factor: str, left: str, right: str, fixed: str, confidence: float
) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    """Compare one treatment with the control."""
    counted: dict[str, Any] = {"left": left, "right": right}
    for side, name in (("left", left), ("right", right)):
        own = arrivals[arrivals[factor] == name]
        counted[f"{side}_before"] = int((own["censored"] == ON_OR_BEFORE).sum())
        counted[f"{side}_after"] = int((own["censored"] == AFTER).sum())
        counted[f"units_{side}"] = len(own)
    blank = dict.fromkeys(("days", "se", "df", "lower", "upper", "p"), float("nan"))
    row = {**counted, **blank, "says": _CANNOT}
    weights = _weights(arrivals, fixed, factor, left, right)
    if weights is None:
        text = f"days gained by {left}: too many units are lost to set it against {right}"
        return row, [("days gained", text)]
    row["says"] = _direction(weights, arrivals["censored"])
    if row["says"] == _CANNOT:
        return row, []
    row["days"] = float(weights @ arrivals["days"].to_numpy(dtype=float))
    if row["says"] != "exactly":
        return row, []
    units, notes = arrivals, []
    if (arrivals["censored"] != "").any():
        units = arrivals[arrivals[factor].isin([left, right])].copy()
        units[factor] = units[factor].cat.remove_unused_categories()
        alone = _weights(units, fixed, factor, left, right)
        moved = alone is None or not np.isclose(alone @ units["days"], row["days"], atol=1e-6)
        if moved or (units["censored"] != "").any():
            return row, [_no_interval(left, "days of other treatments, which are bounds, enter it")]
        text = (
            f"days gained by {left}: the error is that of {left} and {right} alone, because days "
            "of other treatments are bounds"
        )
        notes.append(("days gained", text))
    try:
        made = Stratum(factor, units.assign(value=units["days"]), (), fixed, "").fit()
        pair = made.pairs([factor], adjust="none", level=confidence, control=right)
    except WinterswardError as error:
        few = "the units of two treatments alone leave no error to judge it by"
        return row, [_no_interval(left, few if notes else str(error))]
    found = pair[pair["left"].astype(str) == left].iloc[0]
    low, high = sorted((-float(found["lower"]), -float(found["upper"])))
    row |= {name: float(found[name]) for name in ("se", "df", "p")}
    return row | {"lower": low, "upper": high}, notes


def _no_interval(left: str, why: str) -> tuple[str, str]:
    return "days gained", f"days gained by {left} have no interval: {why}"


def _direction(weights: NDArray[np.float64], censored: pd.Series) -> str:
    """Tell which way the true sum can lie, seen from the one found."""
    ways = set()
    for weight, said in zip(weights, censored, strict=True):
        if said and abs(weight) > _WEIGHS:
            ways.add("more" if (said == AFTER) == (weight > 0) else "less")
    return _SAYS.get(frozenset(ways), _CANNOT)


def _weights(
    units: pd.DataFrame, fixed: str, factor: str, left: str, right: str
) -> NDArray[np.float64] | None:
    """Write the mean day of the right less that of the left as a weighted sum of the units' days.

    Notes
    -----
    With X the zeros and ones of the terms and c the average of its rows over a full grid of
    levels at the right treatment, less the same at the left, the least-squares estimate is
    c X+ y, and exists just where c X+ X = c.
    """
    terms = [term.strip().split(":") for term in fixed.split("+")]
    columns = list(dict.fromkeys(column for term in terms for column in term))
    present = {c: sorted(set(units[c].astype(str))) for c in columns}
    own = {c: units[c].astype(str).to_numpy() for c in columns}
    cells = list(itertools.product(*present.values()))
    grid = {c: np.array([cell[i] for cell in cells]) for i, c in enumerate(columns)}
    x, everywhere = (_coded(frame, terms, present) for frame in (own, grid))
    at = {name: everywhere[grid[factor] == name].mean(axis=0) for name in (left, right)}
    c = at[right] - at[left]
    weights = c @ np.linalg.pinv(x)
    return weights if np.allclose(weights @ x, c, atol=_ESTIMABLE) else None


def _coded(
    frame: dict[str, NDArray[Any]], terms: Sequence[Sequence[str]], levels: dict[str, list[str]]
) -> NDArray[np.float64]:
    """Give a column of ones, and one column of zeros and ones for each cell of each term."""
    rows = len(next(iter(frame.values())))
    found = [np.ones(rows)]
    for term in terms:
        for cell in itertools.product(*(levels[column] for column in term)):
            inside = [frame[column] == level for column, level in zip(term, cell, strict=True)]
            found.append(np.logical_and.reduce(inside).astype(float))
    return np.column_stack(found)


def _of_frame(
    source: pd.DataFrame, level: float, control: str, since: float, confidence: float
) -> dict[str, pd.DataFrame]:
    around = ("block",) if "block" in source.columns else ()
    keep = [*around, "treatment"]
    data = source.assign(**{c: source[c].astype(str) for c in keep if c in source.columns})
    arrivals, unseen = unit_arrivals(data, level, since, keep)
    names = list(dict.fromkeys(data["treatment"]))
    if control not in names:
        raise WinterswardError(
            f"control: found '{control}'; allowed: {listed(names)}; {closest(control, names)}"
        )
    arrivals["treatment"] = pd.Categorical(arrivals["treatment"], names)
    fixed = " + ".join(["treatment", *around])
    found, notes = gains(arrivals, "treatment", control, fixed, confidence)
    notes += _unseen_note(unseen)
    said = notes_table("", dt.date.min, notes)
    undated = pd.Series(dtype="datetime64[us]")
    shown = arrivals.assign(
        level=float(level),
        measure="",
        day=undated.reindex(arrivals.index),
        block=arrivals["block"] if around else "",
        treatment=arrivals["treatment"].astype(str),
        dipped=np.where(arrivals["dipped"], "yes", ""),
    )
    return {
        "arrivals": shown[list(empty("arrivals").columns)],
        "days_gained": _named(found, "", float(level)),
        "notes": said.assign(date=undated.reindex(said.index)),
    }


def _of_trial(trial: Trial) -> dict[str, pd.DataFrame]:
    made = {name: empty(name) for name in ("arrivals", "days_gained", "notes")}
    asked = trial.definition.analysis.days_gained
    if asked is None or not trial.ready:
        return made
    tested = trial.definition.layout.tested
    primary = trial.definition.analysis.primary
    factor = trial.definition.factor_of(primary.levels[0])
    off = dates_meant(trial.definition.dates, "covers_off")[0]
    visits, last, notes = _visits(trial, asked.measure, factor, off)
    if last is None:
        return made | {"notes": notes_table(asked.measure, off, notes)}
    keep = [str(column) for column in visits if column not in ("unit_name", "day", "value")]
    arrivals, unseen = unit_arrivals(visits, asked.level.value, 0.0, keep)
    arrivals[factor] = pd.Categorical(arrivals[factor], list(trial.factors[factor].levels))
    control, confidence = trial.factors[factor].control, 1 - trial.definition.analysis.alpha
    notes += _unseen_note(unseen)
    found, said = empty("days_gained").iloc[:, 2:], list[tuple[str, str]]()
    if tested:
        found, said = gains(arrivals, factor, control, last.fixed, confidence)
    notes += said
    return {
        "arrivals": _arrivals(trial, asked.measure, asked.level.value, arrivals, off),
        "days_gained": _named(found, asked.measure, asked.level.value),
        "notes": notes_table(asked.measure, off, notes),
    }


def _visits(
    trial: Trial, measure: str, factor: str, off: dt.date
) -> tuple[pd.DataFrame, Stratum | None, list[tuple[str, str]]]:
    """Give the value of every unit of a factor on every visit from covers off on.

    Returns
    -------
    visits : DataFrame
        Columns unit_name, block, day (from covers off) [day], value, and what is the same on all
        visits of a unit: what surrounds it and its treatments.
    last : Stratum or None
        The stratum of the last visit; none where there is no visit.
    notes : list of (str, str)
        Visits that could not be used, and why.
    """
    frames, last = [], None
    notes: list[tuple[str, str]] = []
    for date in trial.dates(measure):
        model = model_for(trial, measure, date)
        skeleton = model.skeleton
        there = skeleton.treated and factor in skeleton.factors
        if date < off or not there or model.data.empty:
            continue
        try:
            last = stratum(model, factor)
        except WinterswardError as error:
            text = f"the visit of {date} is left out of days gained: {error}"
            notes.append(("days gained", text))
            continue
        text = only_over(model, factor)
        notes += [("days gained", f"on {date} {text}")] if text else []
        frames.append(last.data.assign(day=float((date - off).days)))
    if last is None:
        notes.append(("days gained", f"{measure} was not seen from covers off on"))
        return pd.DataFrame(), None, notes
    # A visit that saw one treatment alone inside the units has a column for it: no place of a unit.
    others = [o for o in skeleton.factors if o != factor and constant_within(skeleton, o, factor)]
    grounds = ["ground"] if skeleton.grounds else []
    places = list(dict.fromkeys([*last.around, factor, *others, *grounds]))
    fixed = [term for term in last.fixed.split(" + ") if set(term.split(":")) <= set(places)]
    visits = pd.concat([frame.astype({factor: str}) for frame in frames], ignore_index=True)
    visits = visits[["unit", *places, "day", "value"]].astype(dict.fromkeys(places, str))
    units = unit_names(trial.plots, skeleton.unit(factor))
    blocks = pd.Series(trial.plots["block"].to_numpy(), units)
    blocks = blocks[~blocks.index.duplicated()]
    visits = visits.rename(columns={"unit": "unit_name"})
    visits["block"] = visits["unit_name"].map(blocks)
    return visits, replace(last, fixed=" + ".join(fixed)), notes


def _arrivals(
    trial: Trial, measure: str, level: float, arrivals: pd.DataFrame, off: dt.date
) -> pd.DataFrame:
    lies_on = [name for name in trial.factors if name in arrivals]
    days = np.floor(arrivals["days"] + 0.5)
    shown = arrivals.assign(
        measure=measure,
        level=level,
        treatment=unit_names(arrivals, ":".join(lies_on)),
        day=pd.Timestamp(off) + pd.to_timedelta(days, unit="D"),
        dipped=np.where(arrivals["dipped"], "yes", ""),
    )
    return shown[list(empty("arrivals").columns)]


def _named(found: pd.DataFrame, measure: str, level: float) -> pd.DataFrame:
    return found.assign(measure=measure, level=level)[list(empty("days_gained").columns)]


def _unseen_note(unseen: Sequence[str]) -> list[tuple[str, str]]:
    if not unseen:
        return []
    return [("days gained", f"never seen from covers off on, and left out: {listed(unseen)}")]
