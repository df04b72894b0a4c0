"""Where the layout meets the models: what is tested against what, and the answers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

if TYPE_CHECKING:
    from wintersward.analysis.loop import analyse
    from wintersward.analysis.model import TrialModel, model_for
    from wintersward.analysis.results import TABLES, Column, Table, empty
    from wintersward.analysis.skeleton import Skeleton, skeleton_for

__all__ = [
    "TABLES",
    "Column",
    "Skeleton",
    "Table",
    "TrialModel",
    "analyse",
    "empty",
    "model_for",
    "skeleton_for",
]

_HOMES = {
    "TABLES": "results",
    "Column": "results",
    "Table": "results",
    "empty": "results",
    "Skeleton": "skeleton",
    "skeleton_for": "skeleton",
    "TrialModel": "model",
    "model_for": "model",
    "analyse": "loop",
}


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)
