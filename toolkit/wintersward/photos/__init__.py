"""Photographs of turf: which pixels are green, how good the picture is, and sheets to check it."""

from __future__ import annotations

from typing import Any

from wintersward.lazy import load

_HOMES = {
    "GREEN": "colour",
    "GreenWindow": "colour",
    "colour_index": "colour",
    "green_mask": "colour",
    "hsb": "colour",
    "PhotoScore": "scoring",
    "score_photo": "scoring",
    "score_photos": "batch",
    "Example": "sheets",
    "SheetRow": "sheets",
    "contact_sheet": "sheets",
    "overlay": "overlays",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
