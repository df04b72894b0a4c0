"""Surroundings in which somebody else would work: another home, name, language and time zone."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

__all__ = ["OFFSET", "USER", "run_as_another", "surroundings"]

# A time zone that no place has, and who has it.
ZONE, OFFSET, USER = "XYZ-13:45", "+13:45", "somebody_else"
_RUN = "import sys, wintersward; print(wintersward.run(sys.argv[1]))"


def surroundings(home: Path) -> dict[str, str]:
    """Give the variables of a process that somebody else starts, with a home of their own."""
    people = dict.fromkeys(("USER", "LOGNAME", "USERNAME"), USER)
    homes = dict.fromkeys(("HOME", "USERPROFILE"), str(home))
    tongue = {"LC_ALL": other_tongue(), "LANG": other_tongue(), "LANGUAGE": "de"}
    # Files must not be written in whatever encoding the language has, which for C is ASCII.
    tongue |= {"PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    return {**os.environ, **people, **homes, **tongue, "TZ": ZONE}


def run_as_another(study: Path, home: Path) -> Path:
    """Run a study as somebody else would."""
    done = subprocess.run(
        [sys.executable, "-c", _RUN, str(study)],
        env=surroundings(home),
        cwd=home,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return Path(done.stdout.splitlines()[-1])


def other_tongue() -> str:
    """Name a language that this computer has and does not speak now; C where it has none."""
    if shutil.which("locale") is None:
        return "C"
    known = subprocess.run(["locale", "-a"], capture_output=True, text=True, check=False).stdout
    usual = ("C", "POSIX", "en", os.environ.get("LANG", "C")[:2])
    return next((one for one in known.split() if not one.startswith(usual)), "C")
