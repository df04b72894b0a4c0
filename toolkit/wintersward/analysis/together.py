"""All dates of a measure in one model: how dates of one unit hang together, tests, differences.

Notes
-----
Fixed are the treatment factors, the date (as a factor), the ground where there are several, and
their interactions. Random are the terms of the layout, each of them again within every date, and
the experimental unit (`wintersward.analysis.structures`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import pandas as pd

from wintersward.analysis.covariates import (
    covariate_asked,
    covariate_name,
    covariate_values,
    dated_slopes,
    slopes_of,
)
from wintersward.analysis.results import empty
from wintersward.analysis.scopes import Scope, control_last, notes_table, scopes_of
from wintersward.analysis.skeleton import Skeleton
from wintersward.analysis.structures import (
    FEW,
    Candidate,
    candidates,
    fit_structure,
    fixed_terms,
    unfit,
)
from wintersward.analysis.units import Notes
from wintersward.errors import WinterswardError, listed
from wintersward.models import MixedFit
from wintersward.study import Trial

__all__ = [
    "above_design",
    "dates_together",
    "joint_terms",
    "pair_rows",
]

_TABLES = ("structures", "joint_tests", "joint_differences", "slopes", "notes")
# Share by which degrees of freedom must lie above those of the layout to be worth a note.
_ABOVE = 0.02


def dates_together(trial: Trial) -> dict[str, pd.DataFrame]:
    """Analyse all dates of every measure together.

    Returns
    -------
    dict of str to DataFrame
        ``structures``, ``joint_tests``, ``joint_differences``, ``slopes`` (of the covariate, on
        all dates but the primary one) and ``notes``, with the columns of
        `wintersward.analysis.results.TABLES`; empty until the primary question has data. Dates on
        which all units lie at one end of the scale do not enter.
    """
    parts: dict[str, list[pd.DataFrame]] = {name: [] for name in _TABLES}
    if trial.ready:
        for measure in trial.definition.measures:
            scopes, said = scopes_of(trial, measure)
            last = trial.dates(measure)[-1]
            parts["notes"].append(notes_table(measure, last, said))
            own = next((s for s in scopes if _primary_factor(trial) in s.skeleton.factors), None)
            for scope in scopes:
                for name, frame in _one(trial, scope, scope is own).items():
                    parts[name].append(frame)
    found = {}
    for name, frames in parts.items():
        filled = [frame for frame in frames if not frame.empty]
        found[name] = pd.concat(filled, ignore_index=True) if filled else empty(name)
    return found


def _primary_factor(trial: Trial) -> str:
    return trial.definition.factor_of(trial.definition.analysis.primary.levels[0])


def _one(trial: Trial, whole: Scope, own: bool) -> dict[str, pd.DataFrame]:
    """Analyse one scope; `own` where it is the one of the primary factor."""
    scope = whole.compared()
    notes: Notes = [
        ("dates together", f"{date} does not enter: {why}") for date, why in whole.described.items()
    ]
    if len(scope.dates) < 2:
        notes.append(("dates together", "not analysed: fewer than two dates can be compared"))
        return {"notes": _notes(whole, notes)}
    data = control_last(trial, scope.data, scope.skeleton.factors)
    tried = candidates(data, scope.skeleton)
    rows = pd.DataFrame([candidate.row() for candidate in tried])
    rows.insert(0, "measure", scope.measure)
    rows.insert(1, "scope", scope.name)
    rows["m"] = rows["m"].max()  # one fixed part: a refused structure has it too
    made = {"structures": rows}
    chosen = next((c for c in tried if c.verdict == "chosen"), None)
    if chosen is None or chosen.fit is None:
        notes.append(("dates together", f"not analysed: {tried[0].reason}"))
        return {**made, "notes": _notes(whole, notes)}
    fit = chosen.fit
    if any(c.by_date and c.reason.startswith(FEW) for c in tried):
        text = (
            "a date by itself leaves too few degrees of freedom for a variance of its own, so the "
            "differences of all dates share one pooled variance"
        )
        notes.append(("pooled-variance", text))
    made["joint_differences"] = _differences(scope, fit)
    if own and scope.measure == trial.definition.analysis.primary.measure:
        made["slopes"], said = _slopes(trial, scope, data, chosen)
        notes += said
    try:
        made["joint_tests"], said = _tests(scope, fit)
        notes += said
    except WinterswardError as error:
        notes.append(("no tests", f"terms not tested: {error}"))
    notes += [(note.code, note.text) for note in fit.notes]
    return {**made, "notes": _notes(whole, notes)}


def _slopes(
    trial: Trial, scope: Scope, data: pd.DataFrame, chosen: Candidate
) -> tuple[pd.DataFrame, Notes]:
    """Give the covariate a slope of its own on each date, in the structure that was chosen."""
    none = empty("slopes")
    if covariate_asked(trial) is None:
        return none, []
    values = data["unit_name"].map(covariate_values(trial, scope.unit)).astype(float)
    lacking = sorted(set(data.loc[values.isna(), "unit_name"]))
    notes: Notes = []
    if lacking:
        notes.append(("covariate", f"its slopes are without {listed(lacking)}: not observed there"))
    try:
        with_slopes, names = dated_slopes(data.assign(covariate=values).dropna(subset="covariate"))
        fixed = " + ".join([fixed_terms(scope.skeleton), *names.values()])
        fit = fit_structure(with_slopes, fixed, scope.skeleton, chosen.structure, chosen.by_date)
        if unfit(fit):
            raise WinterswardError(unfit(fit))
        rows = slopes_of(fit, names, scope.level)
    except WinterswardError as error:
        return none, [*notes, ("covariate", f"no slopes of the covariate: {error}")]
    rows = rows.dropna(subset=["slope", "se"])
    rows["date"] = pd.to_datetime(rows["name"]).astype("datetime64[us]")
    rows = rows[rows["date"] != pd.Timestamp(trial.primary_date)]  # its own analysis gives it
    rows = rows.assign(measure=scope.measure, covariate=covariate_name(trial))
    return rows[list(none.columns)], notes


def _notes(scope: Scope, said: Notes) -> pd.DataFrame:
    prefix = f"dates together ({scope.name}): "
    return notes_table(scope.measure, scope.dates[-1], [(code, prefix + t) for code, t in said])


def _tests(scope: Scope, fit: MixedFit) -> tuple[pd.DataFrame, Notes]:
    """Test the terms, with their experimental units and design degrees of freedom beside."""
    tests = fit.anova()[["term", "f", "df_num", "df_den", "p"]].copy()
    design = joint_terms(scope.skeleton, scope.data)
    tests["unit_kind"] = [design[term][0] for term in tests["term"]]
    tests["df_design"] = [design[term][1] for term in tests["term"]]
    contained = {term for n in fit.notes if n.code == "containment-df" for term in n.about}
    method = f"Kenward-Roger, {fit.information} information"
    tests["method"] = ["containment" if t in contained else method for t in tests["term"]]
    return scope.put("joint_tests", tests), above_design(tests)


def above_design(tests: pd.DataFrame) -> Notes:
    """Tell of terms that were given more degrees of freedom than the layout has.

    Parameters
    ----------
    tests : DataFrame
        Columns term, df_den, df_design.

    Returns
    -------
    list of (str, str)
        A note, or none where nothing lies more than 2 % above, or what does rounds away.

    Examples
    --------
    >>> columns = ["term", "df_den", "df_design"]
    >>> above_design(pd.DataFrame([("cover", 6.04, 6.0)], columns=columns))
    []
    """
    least = tests["df_design"] * (1 + _ABOVE)
    above = tests[(tests["df_den"] > least) & (tests["df_den"].round(1) > tests["df_design"])]
    if above.empty:
        return []
    said = [f"{r.term} with {r.df_den:.1f} of {r.df_design:.0f}" for r in above.itertuples()]
    text = "more degrees of freedom than the layout has, so that it may look surer than it is"
    return [("df-above-design", f"{text}: {listed(said)}")]


def joint_terms(skeleton: Skeleton, data: pd.DataFrame) -> dict[str, tuple[str, float]]:
    """Give the experimental unit and the design degrees of freedom of every joint term.

    Parameters
    ----------
    skeleton : Skeleton
        Of the dates.
    data : DataFrame
        As in `candidates`.

    Returns
    -------
    dict of str to (str, float)
        For a treatment term those of the layout; for the same with the date, those times the
        number of dates less one; for the date, what surrounds everything else on a date (blocks;
        rows or columns, whichever are fewer; with neither the units), less one on each ground,
        times the same.
    """
    dates = data["date"].nunique()
    found: dict[str, tuple[str, float]] = {}
    for term in skeleton.terms:
        if term.role not in ("treatment", "ground"):
            continue
        df = math.nan if term.df_design is None else float(term.df_design)
        found[term.name] = (term.unit_kind, df)
        found[f"{term.name}:date"] = (f"{term.unit_kind} on each date", df * (dates - 1))
    kinds = {term.name: term.unit_kind for term in skeleton.terms if term.role == "random"}
    sizes = {term: _levels(data, term) for term in _outermost(data, skeleton.random)}
    if sizes:
        fewest = min(sizes, key=lambda term: sizes[term])
        free = sizes[fewest] - max(1, len(skeleton.grounds))
        found["date"] = (f"{kinds[fewest]} on each date", float(free * (dates - 1)))
    else:
        finest = max((t for t in found if not t.endswith(":date")), key=lambda t: t.count(":"))
        found["date"] = found[f"{finest}:date"]
    return found


def _levels(data: pd.DataFrame, term: str) -> int:
    return len(data[term.split(":")].drop_duplicates())


def _outermost(data: pd.DataFrame, random: Sequence[str]) -> list[str]:
    """Find the random terms that lie within no other."""

    def within(inner: str, outer: str) -> bool:
        both = list(dict.fromkeys([*inner.split(":"), *outer.split(":")]))
        return len(data[both].drop_duplicates()) == _levels(data, inner)

    return [t for t in random if not any(within(t, other) for other in random if other != t)]


def _differences(scope: Scope, fit: MixedFit) -> pd.DataFrame:
    on_dates = pair_rows(fit, scope.skeleton.factors, scope.level, by="date")
    overall = pair_rows(fit, scope.skeleton.factors, scope.level).assign(date="all")
    return scope.put("joint_differences", pd.concat([on_dates, overall], ignore_index=True))


def pair_rows(
    fit: MixedFit, factors: Iterable[str], level: float, by: str | None = None
) -> pd.DataFrame:
    """Compare the levels of each factor, overall and within each level of the other factors.

    Parameters
    ----------
    fit : MixedFit
        A model whose factors have their control last.
    factors : iterable of str
        The treatment factors.
    level : float
        Of the intervals; nothing is adjusted.
    by : str, optional
        A further factor, such as the date, within whose levels all is compared.

    Returns
    -------
    DataFrame
        Columns effect, within, `by`, left, right, difference, se, df, lower, upper, t, p; pairs
        that the data do not determine are absent.
    """
    factors, frames = list(factors), []
    for factor in factors:
        for other in [None, *(name for name in factors if name != factor)]:
            inside = [name for name in (by, other) if name is not None]
            pairs = fit.pairs([factor], by=inside, adjust="none", level=level)
            pairs = pairs.dropna(subset=["difference"]).assign(effect=factor, within="")
            if other is not None:
                pairs["within"] = other + "=" + pairs[other].astype(str)
            frames.append(pairs.drop(columns=[other] if other else []))
    found = pd.concat(frames, ignore_index=True)
    text = ["left", "right", *([by] if by else [])]
    return found.astype({name: str for name in text})
