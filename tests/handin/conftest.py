"""The small study folder of the runs, from which bundles are made."""

from __future__ import annotations

from runs.conftest import study

__all__ = ["study"]
