"""Linear mixed models by REML: means, comparisons and tests with honest degrees of freedom.

Statistics only: arrays, frames and formulas.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

if TYPE_CHECKING:
    from wintersward.models.adjust import ADJUSTMENTS
    from wintersward.models.fit import MixedFit
    from wintersward.models.fitting import fit_mixed
    from wintersward.models.notes import NOTE_CODES, Note
    from wintersward.models.repeated import STRUCTURES, Repeated

__all__ = [
    "ADJUSTMENTS",
    "NOTE_CODES",
    "STRUCTURES",
    "MixedFit",
    "Note",
    "Repeated",
    "fit_mixed",
]

_HOMES = {
    "ADJUSTMENTS": "adjust",
    "MixedFit": "fit",
    "NOTE_CODES": "notes",
    "Note": "notes",
    "Repeated": "repeated",
    "STRUCTURES": "repeated",
    "fit_mixed": "fitting",
}


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)
