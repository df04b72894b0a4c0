"""What is handed in: a bundle of a run, and its verification by whoever receives it."""

from __future__ import annotations

from typing import Any

from wintersward.lazy import load

_HOMES = {
    "Line": "verified",
    "Verified": "verified",
    "unpack": "unpacking",
    "verify": "verifying",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
