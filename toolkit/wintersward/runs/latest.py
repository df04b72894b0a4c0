"""The report of the latest run, beside the definition, where a person looks first."""

from __future__ import annotations

import os
import re
from contextlib import suppress
from pathlib import Path

from wintersward.errors import WinterswardError

__all__ = ["hand_out", "latest_run"]

_REPORT = "report.html"


def hand_out(study: Path) -> None:
    """Put the report of the complete run with the highest number beside the definition.

    Parameters
    ----------
    study : Path
        The study folder.

    Raises
    ------
    WinterswardError
        Where it cannot be put there.
    """
    target = study / _REPORT
    handed = None
    # Looked for again afterwards: another run may have been completed meanwhile.
    while (latest := latest_run(study / "runs")) is not None and latest != handed:
        part = target.with_name(f".{_REPORT}.{latest.name}.part")
        try:
            part.write_bytes((latest / _REPORT).read_bytes())
            os.replace(part, target)
        except OSError as error:
            with suppress(OSError):
                part.unlink()
            raise WinterswardError(
                f"{_REPORT}: the run is complete but its report could not be put here "
                f"({error.strerror}); close it where it is open, or read "
                f"runs/{latest.name}/{_REPORT}"
            ) from None
        handed = latest


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
