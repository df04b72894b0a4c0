"""Linear mixed models by REML: means, comparisons and tests with honest degrees of freedom.

Statistics only: arrays, frames and formulas.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wintersward.models.adjust import ADJUSTMENTS
    from wintersward.models.fit import MixedFit
    from wintersward.models.fitting import fit_mixed
    from wintersward.models.notes import NOTE_CODES, Note

__all__ = ["ADJUSTMENTS", "NOTE_CODES", "MixedFit", "Note", "fit_mixed"]

_HOMES = {
    "ADJUSTMENTS": "adjust",
    "MixedFit": "fit",
    "NOTE_CODES": "notes",
    "Note": "notes",
    "fit_mixed": "fitting",
}


def __getattr__(name: str) -> object:
    """Load the module of a public name when it is first asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"{__name__}.{_HOMES[name]}"), name)
