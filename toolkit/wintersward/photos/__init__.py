"""Photographs of turf: which pixels are green, how good the picture is, and sheets to check it."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOME = {
    "GREEN": "colour",
    "GreenWindow": "colour",
    "colour_index": "colour",
    "green_mask": "colour",
    "hsb": "colour",
    "PhotoScore": "scoring",
    "score_photo": "scoring",
    "score_photos": "batch",
    "Example": "overlays",
    "contact_sheet": "overlays",
    "overlay": "overlays",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    """Import a name's module when the name is first asked for."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
