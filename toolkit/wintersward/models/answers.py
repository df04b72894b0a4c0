"""Estimates and tests of a fitted model by one way of finding degrees of freedom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintersward.errors import listed
from wintersward.models.fixed import FixedPart
from wintersward.models.inference import Inference
from wintersward.models.notes import Note
from wintersward.models.satterthwaite import Satterthwaite, differences
from wintersward.models.scaling import Scaling

__all__ = ["METHODS", "Answers", "Estimates"]

Floats = NDArray[np.float64]
METHODS = {"kenward-roger": "Kenward-Roger", "satterthwaite": "Satterthwaite"}


@dataclass(frozen=True)
class Estimates:
    """Linear functions of the coefficients; NaN where the data do not determine one.

    Parameters
    ----------
    estimate, se : (m,) float [unit of the response]
        Values and standard errors.
    df : (m,) float
        Degrees of freedom.
    """

    estimate: Floats
    se: Floats
    df: Floats


@dataclass(frozen=True)
class Answers:
    """What a fit answers by one method.

    Parameters
    ----------
    method : str
        One of `METHODS`.
    judge : Inference or Satterthwaite
        Gives standard errors and degrees of freedom.
    part : FixedPart
        Of the model.
    scale : Scaling
        Of the response.
    """

    method: str
    judge: Inference | Satterthwaite
    part: FixedPart
    scale: Scaling

    def values(self, weights: Floats, reduced: Floats) -> Floats:
        """Give linear functions of the coefficients, (m,) [unit of the response].

        Parameters
        ----------
        weights : (m, columns) float
            One function a row, over all columns of the fixed part.
        reduced : (m, p) float
            The same on the orthonormal basis.
        """
        inside = reduced @ self.judge.coefficients * self.scale.size
        return np.asarray(inside + self.scale.centre_of(weights))

    def estimates(self, weights: Floats, said: Sequence[str]) -> tuple[Estimates, list[Note]]:
        """Estimate linear functions of the coefficients; see `MixedFit.linear`."""
        known = np.flatnonzero(self.part.estimable(weights))
        lost = tuple(said[i] for i in sorted(set(range(len(said))) - set(known.tolist())))
        notes = []
        if lost:
            text = f"these data do not determine {'; '.join(lost)}"
            notes.append(Note("non-estimable", text, lost, len(lost)))
        estimate, se, df = (np.full(len(weights), np.nan) for _ in range(3))
        if known.size:
            reduced = self.part.reduced(weights[known])
            scaled, df[known], contained = self.judge.singles(reduced)
            estimate[known] = self.values(weights[known], reduced)
            se[known] = scaled * self.scale.size
            if contained.any():
                notes.append(self._contained([said[known[i]] for i in np.flatnonzero(contained)]))
        return Estimates(estimate, se, df), notes

    def test(self, term: str) -> tuple[tuple[str, float, float, float, float], list[Note]]:
        """Test one term.

        Parameters
        ----------
        term : str
            A term of the fixed part.

        Returns
        -------
        tuple
            term, f, df_num, df_den, p; NaN where nothing of the term can be separated.
        list of Note
        """
        weights = differences(self.part, term)
        if not len(weights):
            text = f"{term}: cannot be separated from the other terms; not tested"
            note = Note("non-estimable", text, (term,), 1)
            return (term, np.nan, 0.0, np.nan, np.nan), [note]
        offset = self.scale.centre_of(weights) / self.scale.size
        found = self.judge.joint(self.part.reduced(weights), offset)
        row = (term, found.f, found.df_num, found.df_den, found.p)
        return row, [self._contained([term])] if found.contained else []

    def _contained(self, said: Sequence[str]) -> Note:
        text = (
            f"the {METHODS[self.method]} approximation does not apply; degrees of freedom taken"
            f" from the stratum for {listed(said)}"
        )
        return Note("containment-df", text, tuple(said), len(said))
