"""Where the layout meets the models: what is tested against what, and the answers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

if TYPE_CHECKING:
    from wintersward.analysis.blocking import blocking_advice, blocking_words
    from wintersward.analysis.climate import climate_tables
    from wintersward.analysis.concerns import plan_concerns
    from wintersward.analysis.expectations import expectation_words, expected
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
    "blocking_advice",
    "blocking_words",
    "climate_tables",
    "empty",
    "expectation_words",
    "expected",
    "model_for",
    "plan_concerns",
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
    "expected": "expectations",
    "expectation_words": "expectations",
    "plan_concerns": "concerns",
    "blocking_advice": "blocking",
    "blocking_words": "blocking",
    "climate_tables": "climate",
}


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)
