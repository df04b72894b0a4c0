"""A small trial is run, handed in and verified on the way that a reviewer has; then with faults."""

from __future__ import annotations

import csv
import os
import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest
from click.testing import CliRunner

import wintersward
from e2e.repacking import repacked, replaced
from e2e.small_trial import small_trial
from wintersward.cli import main
from wintersward.handin.bundle import bundle
from wintersward.report.numbers import counted
from wintersward.runs.stages import STAGES

pytestmark = pytest.mark.e2e

# Any name that has to be looked up is refused in the process that verifies.
_OFFLINE = """\
import socket, sys
def refused(host, *more, **others):
    if host not in (None, "", "localhost", "127.0.0.1", "::1"):
        raise OSError(f"asked for the network: {host}")
    return known(host, *more, **others)
known, socket.getaddrinfo = socket.getaddrinfo, refused
from wintersward.cli import main
main(sys.argv[1:])
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small trial and its run."""
    folder = small_trial(tmp_path_factory.mktemp("verify") / "small trial")
    wintersward.run(folder)
    return folder


def contents(*folders: Path) -> dict[Path, bytes]:
    return {
        path: path.read_bytes()
        for folder in folders
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_an_honest_bundle_passes_and_nothing_is_fetched_or_left(
    study: Path, tmp_path: Path
) -> None:
    handed = bundle(study)
    home, temporary = tmp_path / "home", tmp_path / "temporary"
    home.mkdir()
    temporary.mkdir()
    places = dict.fromkeys(("HOME", "USERPROFILE"), str(home))
    places |= dict.fromkeys(("TMPDIR", "TEMP", "TMP"), str(temporary))
    environment: Mapping[str, str] = {**os.environ, **places, "PYTHONDONTWRITEBYTECODE": "1"}
    before = contents(study, tmp_path)
    done = subprocess.run(
        [sys.executable, "-c", _OFFLINE, "verify", str(handed)],
        env=environment,
        cwd=home,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    told = done.stdout.splitlines()
    assert done.returncode == 0, done.stdout + done.stderr
    assert [line for line in told[:-1] if not line.startswith("PASS ")] == []
    assert told[-1] == f"verified: all {len(told) - 1} lines passed"
    count = len(STAGES)
    assert f"[{count}/{count}] 50-report: write the report" in done.stderr
    tables = {path.stem for path in (study / "runs" / "001" / "results").glob("*.csv")}
    assert {
        line.split()[2].rstrip(":") for line in told if line.startswith("PASS table ")
    } == tables
    for said in (
        "PASS report.html: the same bytes as made anew",
        "PASS brief.html: the same bytes as made anew",
        "PASS table photo_scores: 16 rows, the same digit for digit",
    ):
        assert said in told
    assert contents(study, tmp_path) == before
    assert list(temporary.iterdir()) == []


def test_without_photos_what_was_forged_is_found_by_running_it_again(
    study: Path, tmp_path: Path
) -> None:
    # Another bundle of this run may lie there, and is not overwritten.
    (study / "bundle-001.zip").unlink(missing_ok=True)
    handed = bundle(study, photos=False)
    with (study / "runs" / "001" / "results" / "primary.csv").open(encoding="utf-8") as stream:
        value = next(csv.DictReader(stream))["difference"]
    more = f"{2 * float(value):.10g}"

    def forge(files: dict[str, bytes]) -> None:
        replaced(files, "run/results/primary.csv", f",{value},", f",{more},")
        for page in ("report.html", "brief.html"):
            tied = re.compile(rb'<data [^>]*"primary\.csv:2"[^>]*>')
            files[page] = tied.sub(lambda tag: told_otherwise(tag[0]), files[page])
        replaced(files, "brief.html", "fleece", "felt")

    def told_otherwise(tag: bytes) -> bytes:
        return tag.replace(f'value="{value}"'.encode(), f'value="{more}"'.encode())

    said = CliRunner().invoke(main, ["verify", str(repacked(handed, tmp_path / "b.zip", forge))])
    told = said.stdout.splitlines()
    failed = [line for line in told if line.startswith("FAIL ")]
    assert said.exit_code == 1
    assert told[-1] == f"{len(failed)} of {len(told) - 1} lines failed"
    # The forger thought of the raw values in the pages, but not of what comes out anew.
    assert [line.partition(": ")[0] for line in failed] == ["FAIL table primary", "FAIL brief.html"]
    assert failed[0].startswith("FAIL table primary: 1 of ")
    assert f"column difference: {more} in the bundle, {value} made anew, apart by 0.5" in failed[0]
    assert "felt" in failed[1]
    (line,) = (line for line in told if line.startswith("PASS rerun: "))
    assert line.startswith(
        f"PASS rerun: {counted(len(STAGES) - 1, 'stage')} executed: "
        f"{', '.join(stage.name for stage in STAGES[1:])}; 16 photos left out, so that "
        "photos were not scored again and these were taken from the bundle: photo_scores, "
        "window_covers, window_answers, "
    )
    assert "PASS table observations: 24 rows, the same digit for digit" in told
