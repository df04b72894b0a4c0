"""All dates of a measure in one model: how dates of one unit hang together, tests, differences.

Notes
-----
Fixed are the treatment factors, the date (as a factor) and their interactions. Random are the terms
of the layout, each of them again within every date, and the experimental unit, which always stays:
a correlation that fades with time does not stand for what makes one plot differ from another all
winter, and without that term treatments are tested against too small an error.

References
----------
Hurvich C. M. and Tsai C.-L. (1989) Regression and time series model selection in small samples.
Biometrika 76(2), 297-307. doi:10.1093/biomet/76.2.297
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from wintersward.analysis.results import empty
from wintersward.analysis.scopes import Scope, control_last, notes_table, scopes_of
from wintersward.analysis.skeleton import Skeleton
from wintersward.analysis.units import Notes
from wintersward.errors import WinterswardError, listed
from wintersward.models import MixedFit, Repeated, fit_mixed
from wintersward.study import Trial

__all__ = [
    "Candidate",
    "candidates",
    "dates_together",
    "joint_terms",
    "judged",
    "pair_rows",
    "random_terms",
]

_LEAST_DF = 8
_FALL = 2.0
# From the simplest on.
_STRUCTURES = (("cs", False), ("car1", False), ("cs", True), ("car1", True))
_TABLES = ("structures", "joint_tests", "joint_differences", "notes")
_ABOVE = 1e-6


@dataclass(frozen=True)
class Candidate:
    """One way in which the dates of a unit may hang together.

    Parameters
    ----------
    structure : str
        ``cs``: alike however far apart; ``car1``: besides, residuals that fade with the days.
    by_date : bool
        Whether each date has its own residual variance.
    parameters : int
        Covariance parameters, those estimated as zero too.
    fit : MixedFit or None
        The model; none where refused.
    verdict : str
        chosen, runner-up, considered, or refused.
    reason : str
        Why.
    """

    structure: str
    by_date: bool
    parameters: int
    fit: MixedFit | None = None
    verdict: str = "refused"
    reason: str = ""

    @property
    def aicc(self) -> float:
        """REML AICc of the model; NaN where refused."""
        return self.fit.aicc if self.fit is not None else math.nan

    def row(self) -> dict[str, object]:
        """Give the row of the table ``structures``, but for measure and scope."""
        fades = self.fit is not None and self.structure == "car1"
        return {
            "structure": self.structure,
            "by_date": "yes" if self.by_date else "no",
            "loglik": self.fit.loglik if self.fit else math.nan,
            "parameters": self.parameters,
            "m": self.fit.rows - self.fit.columns if self.fit else 0,
            "aicc": self.aicc,
            "correlation": self.fit.correlation if self.fit and fades else math.nan,
            "verdict": self.verdict,
            "reason": self.reason,
        }


def dates_together(trial: Trial) -> dict[str, pd.DataFrame]:
    """Analyse all dates of every measure together.

    Returns
    -------
    dict of str to DataFrame
        ``structures``, ``joint_tests``, ``joint_differences`` and ``notes``, with the columns of
        `wintersward.analysis.results.TABLES`; empty until the primary question has data.
    """
    parts: dict[str, list[pd.DataFrame]] = {name: [] for name in _TABLES}
    if trial.ready:
        for measure in trial.definition.measures:
            scopes, said = scopes_of(trial, measure)
            last = trial.dates(measure)[-1]
            parts["notes"].append(notes_table(measure, last, said))
            for scope in scopes:
                for name, frame in _one(trial, scope).items():
                    parts[name].append(frame)
    found = {}
    for name, frames in parts.items():
        filled = [frame for frame in frames if not frame.empty]
        found[name] = pd.concat(filled, ignore_index=True) if filled else empty(name)
    return found


def _one(trial: Trial, scope: Scope) -> dict[str, pd.DataFrame]:
    data = control_last(trial, scope.data, scope.skeleton.factors)
    tried = candidates(data, scope.skeleton)
    rows = pd.DataFrame([candidate.row() for candidate in tried])
    rows.insert(0, "measure", scope.measure)
    rows.insert(1, "scope", scope.name)
    rows["m"] = rows["m"].max()  # one fixed part: a refused structure has it too
    made = {"structures": rows}
    fit = next((c.fit for c in tried if c.verdict == "chosen"), None)
    notes: Notes = []
    if fit is None:
        notes.append(("dates together", f"not analysed: {tried[0].reason}"))
        return {**made, "notes": _notes(scope, notes)}
    made["joint_differences"] = _differences(scope, fit)
    try:
        made["joint_tests"], said = _tests(scope, fit)
        notes += said
    except WinterswardError as error:
        notes.append(("no tests", f"terms not tested: {error}"))
    notes += [(note.code, note.text) for note in fit.notes]
    return {**made, "notes": _notes(scope, notes)}


def _notes(scope: Scope, said: Notes) -> pd.DataFrame:
    prefix = f"dates together ({scope.name}): "
    return notes_table(scope.measure, scope.dates[-1], [(code, prefix + t) for code, t in said])


def random_terms(skeleton: Skeleton) -> list[str]:
    """List the random terms of the model of all dates together, besides the residual.

    Returns
    -------
    list of str
        Those of the layout, the same within each date, and the experimental unit.
    """
    around = list(skeleton.random)
    return [*around, *(f"{term}:date" for term in around), skeleton.unit_column]


def candidates(data: pd.DataFrame, skeleton: Skeleton) -> list[Candidate]:
    """Fit every structure to the same fixed part, and choose one.

    Parameters
    ----------
    data : DataFrame
        Columns unit_name, date, day [day], value, the factors and the columns of random terms.
    skeleton : Skeleton
        Of the dates.

    Returns
    -------
    list of Candidate
        From the simplest on: compound symmetry, continuous first-order correlation, and both with
        a variance for each date. Going from the simplest on, a structure is taken only where its
        AICc lies more than 2 below that of the one taken before.
    """
    fixed = " * ".join([*skeleton.factors, "date"])
    random = random_terms(skeleton)
    spare = _spare(data, skeleton)
    short = {date: df for date, df in spare.items() if df < _LEAST_DF}
    tried = []
    for structure, by_date in _STRUCTURES:
        count = len(random) + (len(spare) if by_date else 1) + (structure == "car1")
        candidate = Candidate(structure, by_date, count)
        if by_date and short:
            said = listed(f"{date} has {df}" for date, df in short.items())
            reason = f"fewer than {_LEAST_DF} residual degrees of freedom on a date: {said}"
            tried.append(replace(candidate, reason=reason))
            continue
        if structure == "car1" and len(spare) < 3:
            reason = "two dates cannot tell what fades with time from what lasts"
            tried.append(replace(candidate, reason=reason))
            continue
        repeated = Repeated("unit_name", "day") if structure == "car1" else None
        try:
            fit = fit_mixed(
                data, "value", fixed, random, repeated, variance_by="date" if by_date else None
            )
        except WinterswardError as error:
            tried.append(replace(candidate, reason=f"not fitted: {error}"))
            continue
        unfit = _unfit(fit)
        tried.append(replace(candidate, fit=None if unfit else fit, reason=unfit))
    return judged(tried)


def _unfit(fit: MixedFit) -> str:
    """Say why a fit cannot be compared with the others; empty where it can."""
    if any(note.code == "not-converged" for note in fit.notes):
        return "not fitted: the search for the variances did not settle"
    if not math.isfinite(fit.aicc):
        return f"too few rows ({fit.rows}) for {fit.parameters} covariance parameters"
    return ""


def judged(tried: Sequence[Candidate]) -> list[Candidate]:
    """Choose among the fitted candidates, and name the runner-up.

    Parameters
    ----------
    tried : sequence of Candidate
        From the simplest on.

    Returns
    -------
    list of Candidate
        The same with their verdicts. Going from the simplest on, one takes the place of the one
        chosen so far only where its AICc is lower by more than 2. The runner-up is the one with
        the lowest AICc among the others.
    """
    fitted = [candidate for candidate in tried if candidate.fit is not None]
    if not fitted:
        return list(tried)
    chosen, before = fitted[0], None
    for candidate in fitted[1:]:
        if candidate.aicc < chosen.aicc - _FALL:
            chosen, before = candidate, chosen
    others = [candidate for candidate in fitted if candidate is not chosen]
    second = min(others, key=lambda candidate: candidate.aicc, default=None)
    judged = []
    for candidate in tried:
        if candidate is chosen:
            candidate = replace(candidate, verdict="chosen", reason=_chosen(chosen, before, others))
        elif candidate.fit is not None:
            verdict = "runner-up" if candidate is second else "considered"
            reason = f"AICc {candidate.aicc - chosen.aicc:+.1f} against the chosen one"
            candidate = replace(candidate, verdict=verdict, reason=reason)
        judged.append(candidate)
    return judged


def _chosen(chosen: Candidate, before: Candidate | None, others: Sequence[Candidate]) -> str:
    if before is not None:
        return f"AICc lower by {before.aicc - chosen.aicc:.1f} than with the simpler one before it"
    if others:
        return f"the simplest; no other lowers AICc by more than {_FALL:g}"
    return "the only one that could be fitted"


def _spare(data: pd.DataFrame, skeleton: Skeleton) -> dict[str, int]:
    """Give the residual degrees of freedom of each date by itself."""
    found = {}
    for date, rows in data.dropna(subset=["value"]).groupby("date", observed=True):
        named = [list(skeleton.factors), *(term.split(":") for term in skeleton.random)]
        cells = [rows[columns].astype(str).agg(":".join, axis=1) for columns in named]
        columns = np.column_stack([pd.get_dummies(cell, dtype=float) for cell in cells])
        found[str(date)] = len(rows) - int(np.linalg.matrix_rank(columns))
    return found


def _tests(scope: Scope, fit: MixedFit) -> tuple[pd.DataFrame, Notes]:
    """Test the terms, with their experimental units and design degrees of freedom beside."""
    tests = fit.anova()[["term", "f", "df_num", "df_den", "p"]].copy()
    design = joint_terms(scope.skeleton, scope.data)
    tests["unit_kind"] = [design[term][0] for term in tests["term"]]
    tests["df_design"] = [design[term][1] for term in tests["term"]]
    contained = {term for n in fit.notes if n.code == "containment-df" for term in n.about}
    method = f"Kenward-Roger, {fit.information} information"
    tests["method"] = ["containment" if t in contained else method for t in tests["term"]]
    above = tests[tests["df_den"] > tests["df_design"] * (1 + _ABOVE)]
    said = [f"{r.term} with {r.df_den:.1f} of {r.df_design:.0f}" for r in above.itertuples()]
    text = "more degrees of freedom than the layout has, so that it may look surer than it is"
    notes = [("df-above-design", f"{text}: {listed(said)}")] if said else []
    return scope.put("joint_tests", tests), notes


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
        rows or columns, whichever are fewer; with neither the units), less one, times the same.
    """
    dates = data["date"].nunique()
    found: dict[str, tuple[str, float]] = {}
    for term in skeleton.terms:
        if term.role != "treatment":
            continue
        df = math.nan if term.df_design is None else float(term.df_design)
        found[term.name] = (term.unit_kind, df)
        found[f"{term.name}:date"] = (f"{term.unit_kind} on each date", df * (dates - 1))
    kinds = {term.name: term.unit_kind for term in skeleton.terms if term.role == "random"}
    sizes = {term: _levels(data, term) for term in _outermost(data, skeleton.random)}
    if sizes:
        fewest = min(sizes, key=lambda term: sizes[term])
        found["date"] = (f"{kinds[fewest]} on each date", float((sizes[fewest] - 1) * (dates - 1)))
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
