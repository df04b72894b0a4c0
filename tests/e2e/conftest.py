"""The example study, copied and run twice, once for all end-to-end tests."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import wintersward
from e2e.example import USER, ZONE, TwoRuns, copied

_RUN = "import sys, wintersward; print(wintersward.run(sys.argv[1]))"


@pytest.fixture(scope="session")
def runs(tmp_path_factory: pytest.TempPathFactory) -> TwoRuns:
    study = copied(tmp_path_factory.mktemp("e2e") / "example_study")
    first = wintersward.run(study)
    elsewhere = tmp_path_factory.mktemp("elsewhere") / "trial of {another} person"
    shutil.copytree(study, elsewhere)
    second = run_as_another(elsewhere, tmp_path_factory.mktemp("home"))
    return TwoRuns(elsewhere, first, second)


def run_as_another(study: Path, home: Path) -> Path:
    """Run a study as somebody else would: another home, name, language and time zone."""
    people = dict.fromkeys(("USER", "LOGNAME", "USERNAME"), USER)
    homes = dict.fromkeys(("HOME", "USERPROFILE"), str(home))
    tongue = {"LC_ALL": other_tongue(), "LANG": other_tongue(), "LANGUAGE": "de"}
    # Files must not be written in whatever encoding the language has, which for C is ASCII.
    tongue |= {"PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    done = subprocess.run(
        [sys.executable, "-c", _RUN, str(study)],
        env={**os.environ, **people, **homes, **tongue, "TZ": ZONE},
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
