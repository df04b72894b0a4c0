"""Where the example study is, and a copy of it as a person would bring it."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
EXAMPLE = CHECKOUT / "example_study"
GIVEN = ("trial.yaml", "diary.yaml", "plan", "photos", "sheets", "loggers")


# Of the second run: a time zone that no place has, and who has it.
ZONE, OFFSET, USER = "XYZ-13:45", "+13:45", "somebody_else"


@dataclass(frozen=True)
class TwoRuns:
    """A run of a copy of the example study, and a second run of that copy, moved elsewhere.

    Parameters
    ----------
    study : Path
        The moved copy, which holds both runs.
    first : Path
        The first run, where it was made.
    second : Path
        The second, made by another user in another language and time zone.
    """

    study: Path
    first: Path
    second: Path


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
