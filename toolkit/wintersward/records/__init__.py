"""What was observed: sheets and photo files become one table of observations."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

if TYPE_CHECKING:
    from wintersward.records.exclusions import excluded
    from wintersward.records.observations import (
        COLUMNS,
        REPEAT,
        counts,
        first_looks,
        joined,
        outstanding,
    )
    from wintersward.records.photo_files import photo_index, untold_photos
    from wintersward.records.sheets import read_sheets
    from wintersward.records.weather import read_weather

_HOMES = {
    "COLUMNS": "observations",
    "REPEAT": "observations",
    "counts": "observations",
    "excluded": "exclusions",
    "first_looks": "observations",
    "joined": "observations",
    "outstanding": "observations",
    "photo_index": "photo_files",
    "read_sheets": "sheets",
    "read_weather": "weather",
    "untold_photos": "photo_files",
}

__all__ = ["COLUMNS", "REPEAT", "counts", "excluded", "first_looks", "joined", "outstanding"]
__all__ += ["photo_index", "read_sheets", "untold_photos"]
__all__ += ["read_weather"]


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)
