"""From a definition to a plan, and from a plan to a run: everything that touches a study folder."""

from __future__ import annotations

from typing import Any

from wintersward.lazy import load

_HOMES = {
    "Checked": "checking",
    "Drafted": "photo_drafts",
    "Failure": "failure",
    "Planned": "planning",
    "Record": "record",
    "STAGES": "stages",
    "Season": "season",
    "Stage": "stages",
    "StageFailed": "failure",
    "Standing": "standing",
    "check": "checking",
    "draft_photos": "photo_drafts",
    "freeze": "freezing",
    "new_season": "season",
    "new_study": "new",
    "open_record": "record",
    "plan": "planning",
    "run": "runner",
    "run_stages": "runner",
    "runs_of": "history",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
