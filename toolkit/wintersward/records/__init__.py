"""What was observed: sheets and photo files become one table of observations."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wintersward.records.exclusions import excluded
    from wintersward.records.observations import COLUMNS, counts, joined, outstanding
    from wintersward.records.photo_files import photo_index
    from wintersward.records.sheets import read_sheets

_HOMES = {
    "COLUMNS": "observations",
    "counts": "observations",
    "excluded": "exclusions",
    "joined": "observations",
    "outstanding": "observations",
    "photo_index": "photo_files",
    "read_sheets": "sheets",
}

__all__ = ["COLUMNS", "counts", "excluded", "joined", "outstanding", "photo_index"]
__all__ += ["read_sheets"]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
