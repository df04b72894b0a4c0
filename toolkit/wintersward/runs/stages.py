"""The stages of a run, in their order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from wintersward.paths import template
from wintersward.trial.schema import Definition

__all__ = [
    "DEMONSTRATION_STAGES",
    "REPORT",
    "STAGES",
    "Stage",
    "own_page",
    "stages_of",
    "unused_copies",
]


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


_PHOTOS = Stage("10-photos", "score the photos")
REPORT = Stage("50-report", "write the report")
_CLIMATE = Stage("20-climate", "sum up temperature, light and risk")
_DECISIONS = Stage("40-decisions", "turn results into decisions")
STAGES = (
    _PHOTOS,
    _CLIMATE,
    Stage("30-statistics", "analyse the observations"),
    _DECISIONS,
    REPORT,
)
# Where treatments lie on one area each, nothing is analysed: there is no error to do it by.
_DESCRIPTION = Stage("30-description", "describe what was seen")
DEMONSTRATION_STAGES = (_PHOTOS, _CLIMATE, _DESCRIPTION, _DECISIONS, REPORT)


def stages_of(definition: Definition) -> tuple[Stage, ...]:
    """Give the stages of a run: those of a trial, or those of a demonstration."""
    return STAGES if definition.layout.tested else DEMONSTRATION_STAGES


def unused_copies(study: Path, stages: Iterable[Stage]) -> list[str]:
    """List the study's own copies of stages that its runs do not have.

    Parameters
    ----------
    study : Path
        The study folder.
    stages : iterable of Stage
        Those that its runs have.

    Returns
    -------
    list of str
        Relative to the study folder, such as ``notebooks/30-statistics.ipynb``.
    """
    used = {stage.file for stage in stages}
    known = dict.fromkeys(stage.file for stage in (*STAGES, *DEMONSTRATION_STAGES))
    copies = [f"notebooks/{name}" for name in known if name not in used]
    return [name for name in copies if (study / name).is_file()]
