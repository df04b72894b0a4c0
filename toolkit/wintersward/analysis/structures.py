"""How dates of one unit hang together: the structures that are tried, and the choice.

Notes
-----
The experimental unit always stays a random term: a correlation that fades with time does not stand
for what makes one plot differ from another all winter, and without that term treatments are tested
against too small an error.

References
----------
Hurvich C. M. and Tsai C.-L. (1989) Regression and time series model selection in small samples.
Biometrika 76(2), 297-307. doi:10.1093/biomet/76.2.297
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from wintersward.analysis.skeleton import Skeleton
from wintersward.analysis.units import unit_names
from wintersward.errors import WinterswardError, listed
from wintersward.models import MixedFit, Repeated, fit_mixed

__all__ = [
    "FEW",
    "Candidate",
    "candidates",
    "fit_structure",
    "fixed_terms",
    "judged",
    "random_terms",
    "unfit",
]

_LEAST_DF = 8
# How a refusal of a variance for each date begins.
FEW = f"fewer than {_LEAST_DF}"
_FALL = 2.0
# From the simplest on.
_STRUCTURES = (("cs", False), ("car1", False), ("cs", True), ("car1", True))


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
    random = random_terms(skeleton)
    spare = _spare(data, skeleton)
    short = {date: df for date, df in spare.items() if df < _LEAST_DF}
    tried = []
    for structure, by_date in _STRUCTURES:
        count = len(random) + (len(spare) if by_date else 1) + (structure == "car1")
        candidate = Candidate(structure, by_date, count)
        if by_date and short:
            said = listed(f"{date} has {df}" for date, df in short.items())
            reason = f"{FEW} residual degrees of freedom on a date: {said}"
            tried.append(replace(candidate, reason=reason))
            continue
        if structure == "car1" and len(spare) < 3:
            reason = "two dates cannot tell what fades with time from what lasts"
            tried.append(replace(candidate, reason=reason))
            continue
        try:
            fit = fit_structure(data, fixed_terms(skeleton), skeleton, structure, by_date)
        except WinterswardError as error:
            tried.append(replace(candidate, reason=f"not fitted: {error}"))
            continue
        why = unfit(fit)
        tried.append(replace(candidate, fit=None if why else fit, reason=why))
    return judged(tried)


def fixed_terms(skeleton: Skeleton) -> str:
    """Write the fixed part of the model: factors, grounds, the date, and all of them together."""
    return " * ".join([*skeleton.crossed, "date"])


def fit_structure(
    data: pd.DataFrame, fixed: str, skeleton: Skeleton, structure: str, by_date: bool
) -> MixedFit:
    """Fit one structure.

    Parameters
    ----------
    data, skeleton
        As in `candidates`.
    fixed : str
        Fixed part of the model.
    structure : str
        ``cs`` or ``car1``.
    by_date : bool
        Whether each date has its own residual variance.

    Raises
    ------
    WinterswardError
        Where the data cannot bear the model.
    """
    repeated = Repeated("unit_name", "day") if structure == "car1" else None
    by = "date" if by_date else None
    return fit_mixed(data, "value", fixed, random_terms(skeleton), repeated, variance_by=by)


def unfit(fit: MixedFit) -> str:
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
        cells = [unit_names(rows, name) for name in (":".join(skeleton.crossed), *skeleton.random)]
        columns = np.column_stack([pd.get_dummies(cell, dtype=float) for cell in cells])
        found[str(date)] = len(rows) - int(np.linalg.matrix_rank(columns))
    return found
