"""The stages of a run, in their order."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wintersward.paths import template

__all__ = ["REPORT", "STAGES", "Stage", "own_page"]


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

    def own(self, study: Path) -> bool:
        """Tell whether a study has its own copy of what the stage is made of."""
        if self.name == REPORT.name and own_page(study):
            return True
        return self.notebook(study).is_relative_to(study / "notebooks")


def own_page(study: Path) -> bool:
    """Tell whether a study has its own copy of a template of the report's page."""
    own = study / "templates" / "reports"
    return any(path.is_file() and not path.name.startswith(".") for path in own.rglob("*"))


STAGES = (
    Stage("10-photos", "score the photos"),
    Stage("30-statistics", "analyse the observations"),
    Stage("50-report", "write the report"),
)
REPORT = STAGES[-1]
