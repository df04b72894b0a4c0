"""The pages of the latest run, beside the definition, where a person looks first."""

from __future__ import annotations

import os
import re
from contextlib import suppress
from pathlib import Path

from wintersward.errors import WinterswardError

__all__ = ["hand_out", "latest_run"]

_REPORT = "report.html"
_BRIEF = "brief.html"


def hand_out(study: Path) -> None:
    """Put the pages of the complete run with the highest number beside the definition.

    Parameters
    ----------
    study : Path
        The study folder.

    Raises
    ------
    WinterswardError
        Where one of them cannot be put there.
    """
    handed = None
    # Looked for again afterwards: another run may have been completed meanwhile.
    while (latest := latest_run(study / "runs")) is not None and latest != handed:
        for page in (_REPORT, _BRIEF):
            if (latest / page).is_file():
                _put(latest, study / page)
        handed = latest


def _put(run: Path, target: Path) -> None:
    """Put one page of a run beside the definition, whole or not at all."""
    page = target.name
    part = target.with_name(f".{page}.{run.name}.part")
    try:
        part.write_bytes((run / page).read_bytes())
        os.replace(part, target)
    except OSError as error:
        with suppress(OSError):
            part.unlink()
        raise WinterswardError(
            f"{page}: the run is complete but its {target.stem} could not be put here "
            f"({error.strerror}); close it where it is open, or read runs/{run.name}/{page}"
        ) from None


def latest_run(runs: Path) -> Path | None:
    """Find the complete run with the highest number that has a report.

    Parameters
    ----------
    runs : Path
        The folder ``runs`` of a study, which need not be there.
    """
    complete = [
        folder
        for folder in (runs.iterdir() if runs.is_dir() else ())
        if re.fullmatch("[0-9]+", folder.name) and (folder / _REPORT).is_file()
    ]
    return max(complete, key=lambda folder: int(folder.name), default=None)
