"""From a definition to a plan, and from a plan to a run: everything that touches a study folder."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOME = {
    "Checked": "checking",
    "Failure": "failure",
    "Planned": "planning",
    "Record": "record",
    "STAGES": "stages",
    "Season": "season",
    "Stage": "stages",
    "StageFailed": "failure",
    "check": "checking",
    "new_season": "season",
    "new_study": "new",
    "open_record": "record",
    "plan": "planning",
    "run": "runner",
    "run_stages": "runner",
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
