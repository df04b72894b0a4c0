"""From results to the choices at hand: ready or not, how to aerate, what covers cost.

Every table gives the evidence and its uncertainty; whoever answers for the field decides.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

if TYPE_CHECKING:
    from wintersward.decisions.aeration import aeration_area
    from wintersward.decisions.tables import decision_tables

_HOMES = {
    "aeration_area": "aeration",
    "decision_tables": "tables",
}

__all__ = ["aeration_area", "decision_tables"]


def __getattr__(name: str) -> Any:
    return load(__name__, _HOMES, name)


def __dir__() -> list[str]:
    return sorted(__all__)
