"""The stages of a run, in their order."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wintersward.paths import template

__all__ = ["REPORT", "STAGES", "Stage"]


@dataclass(frozen=True)
class Stage:
    """One parameterised notebook of a run.

    Parameters
    ----------
    name : str
        Name of the notebook without ending; its number gives the order.
    does : str
        What it does, as shown while it runs.
    cell_limit : int
        Longest time that one cell may take [s].
    """

    name: str
    does: str
    cell_limit: int = 3600

    @property
    def file(self) -> str:
        """Name of the notebook file."""
        return f"{self.name}.ipynb"

    def notebook(self, study: Path) -> Path:
        """Find the notebook: the study's own copy, else the package's."""
        return template("notebooks", self.file, study)


STAGES = (
    Stage("10-photos", "score the photos"),
    Stage("30-statistics", "analyse the observations"),
    Stage("50-report", "write the report"),
)
REPORT = STAGES[-1]
