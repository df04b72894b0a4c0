"""What was observed: sheets and photo files become one table of observations."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

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
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)
