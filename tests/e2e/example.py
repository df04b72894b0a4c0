"""Where the example study is, and a copy of it as a person would bring it."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
EXAMPLE = CHECKOUT / "example_study"
GIVEN = ("trial.yaml", "diary.yaml", "plan", "photos", "sheets", "loggers")


@dataclass(frozen=True)
class Ran:
    """A copy of the example study, and its run.

    Parameters
    ----------
    study : Path
        The copy.
    run : Path
        The folder of its only run.
    """

    study: Path
    run: Path


def copied(target: Path) -> Path:
    """Copy what a person would bring: no truth, no generator, no earlier run."""
    target.mkdir()
    for name in GIVEN:
        source = EXAMPLE / name
        if source.is_dir():
            shutil.copytree(source, target / name)
        else:
            shutil.copy(source, target / name)
    return target
