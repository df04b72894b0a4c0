"""The recipe that compares with R. R is stood in for, so that these run where it is not there."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import start
from setup.ready import Ready

ROOT = Path(__file__).resolve().parents[2]
VERSIONS = "R 4.2.2, lme4 1.1.31"


@pytest.fixture
def machine(
    monkeypatch: pytest.MonkeyPatch, calls: list[tuple[list[str], Path | None]]
) -> set[str]:
    """Choose by a word what there is; apt-get brings R and, from sound archives, lme4."""
    here = {"apt-get", "root", "network", "sound archives"}

    def call(command: list[object], cwd: Path | None = None, **settings: str) -> int:
        calls.append(([str(part) for part in command], cwd))
        if "install" in command:
            here.update({"Rscript", "lme4"} if "sound archives" in here else {"Rscript"})
        return int("network" not in here and command[0] == "apt-get")

    def quietly(command: list[str], cwd: Path | None = None) -> tuple[int, str]:
        assert command == ["/bin/Rscript", "tests/r_reference/versions.R"]
        return (0, VERSIONS) if "lme4" in here else (1, "there is no package 'lme4'")

    monkeypatch.setattr(start, "call", call)
    monkeypatch.setattr(start, "run_quietly", quietly)
    monkeypatch.setattr(start, "count_run", lambda counts: 1)
    monkeypatch.setattr(
        start.shutil, "which", lambda name: f"/bin/{name}" if name in here else None
    )
    monkeypatch.setattr(start.os, "geteuid", lambda: 0 if "root" in here else 1000, raising=False)
    return here


def test_where_r_is_installed_nothing_else_is(
    home: Ready,
    machine: set[str],
    calls: list[tuple[list[str], Path | None]],
    capsys: pytest.CaptureFixture[str],
) -> None:
    machine.update({"Rscript", "lme4"})
    assert start.main(["r-reference", "-k", "oxide"], home) == 0
    assert home.prepared == ["dev"]
    assert capsys.readouterr().out == VERSIONS + "\n"
    ((command, cwd),) = calls
    assert command[-4:] == ["tests/r_reference", "-s", "-k", "oxide"]
    assert cwd == home.root


@pytest.mark.parametrize("there", [set(), {"Rscript"}])
def test_what_is_missing_is_installed(
    home: Ready,
    machine: set[str],
    calls: list[tuple[list[str], Path | None]],
    there: set[str],
) -> None:
    machine.update(there)
    assert start.main(["r-reference"], home) == 0
    update, install, tests = [command for command, _ in calls]
    assert update[:2] == ["apt-get", "update"]
    assert install[:2] == ["apt-get", "install"]
    assert install[-len(start.R_PACKAGES) :] == list(start.R_PACKAGES)
    assert tests[-2:] == ["tests/r_reference", "-s"]


@pytest.mark.parametrize(
    ("lost", "told", "code"),
    [
        ("apt-get", "there is no apt-get here, so install by hand R and, in it, lme4,", 2),
        ("root", "only root may install it:  sudo apt-get install r-base-core ", 2),
        ("network", "apt-get could not install R; it needs a network:", 1),
    ],
)
def test_what_cannot_be_installed_is_told_in_a_line(
    home: Ready,
    machine: set[str],
    capsys: pytest.CaptureFixture[str],
    lost: str,
    told: str,
    code: int,
) -> None:
    machine.discard(lost)
    assert start.main(["r-reference"], home) == code
    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1


def test_an_r_that_does_not_start_after_all(
    home: Ready, machine: set[str], capsys: pytest.CaptureFixture[str]
) -> None:
    machine.discard("sound archives")
    assert start.main(["r-reference"], home) == 1
    assert "Rscript tests/r_reference/versions.R" in capsys.readouterr().err


def test_every_package_that_is_loaded_is_installed() -> None:
    asked = (ROOT / start.VERSIONS).read_text(encoding="utf-8")
    (listed,) = re.findall(r"packages <- c\((.*)\)", asked)
    loaded = {name.strip('" ').lower() for name in listed.split(",")}
    assert {f"r-cran-{name}" for name in loaded} == {*start.R_PACKAGES} - {"r-base-core"}


def test_without_r_the_comparison_fails_and_says_why() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "tests/r_reference", "-k", "loglik", "-q"],
        cwd=ROOT,
        env={**os.environ, "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1, done.stdout
    assert "needs R: run make r-reference" in done.stdout
    assert "skipped" not in done.stdout
    assert "Traceback" not in done.stdout
