"""R, called from the tests and the bench; no part of the product needs it."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

HERE = Path(__file__).parent


def r_versions() -> str | None:
    """Name the versions of R and its packages; None where one is missing."""
    if shutil.which("Rscript") is None:
        return None
    asked = subprocess.run(
        ["Rscript", str(HERE / "versions.R")], capture_output=True, text=True, check=False
    )
    return None if asked.returncode else asked.stdout.strip()


def run_r(script: Path, *args: str | Path) -> str:
    """Run a script of R to its end and return what it printed."""
    command = ["Rscript", str(script), *map(str, args)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{script.name}: {done.stderr[-2000:]}")
    return done.stdout
