"""A small trial is run, handed in and verified on the way that a reviewer has; then with faults."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

import wintersward
from e2e.repacking import repacked, replaced
from e2e.small_trial import small_trial
from e2e.somebody_else import OFFSET, USER, surroundings
from wintersward.cli import main
from wintersward.handin.bundle import bundle
from wintersward.report.numbers import counted
from wintersward.runs.stages import STAGES

pytestmark = pytest.mark.e2e

# In the process that verifies any name that has to be looked up is refused, and what was run anew
# is kept, which otherwise goes with the temporary folder.
_OFFLINE = """\
import shutil, socket, sys
def refused(host, *more, **others):
    if host not in (None, "", "localhost", "127.0.0.1", "::1"):
        raise OSError(f"asked for the network: {host}")
    return known(host, *more, **others)
known, socket.getaddrinfo = socket.getaddrinfo, refused
from wintersward.handin import verifying
def kept(*given, **named):
    made = rerun(*given, **named)
    shutil.copytree(made.folder, sys.argv[1])
    return made
rerun, verifying.rerun = verifying.rerun, kept
from wintersward.cli import main
main(sys.argv[2:])
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small trial and its run."""
    folder = small_trial(tmp_path_factory.mktemp("verify") / "small trial", logged=True)
    wintersward.run(folder)
    return folder


def contents(*folders: Path) -> dict[Path, bytes]:
    return {
        path: path.read_bytes()
        for folder in folders
        for path in folder.rglob("*")
        if path.is_file()
    }


@dataclass(frozen=True)
class Verified:
    """An honest bundle that somebody else verified, offline.

    Parameters
    ----------
    done : CompletedProcess
        The command.
    anew : Path
        Folder of the run that it made.
    before, after : dict
        Files of the study and of all places it could leave something in.
    """

    done: subprocess.CompletedProcess[str]
    anew: Path
    before: dict[Path, bytes]
    after: dict[Path, bytes]


@pytest.fixture(scope="module")
def verified(study: Path, tmp_path_factory: pytest.TempPathFactory) -> Verified:
    handed = bundle(study)
    place, anew = tmp_path_factory.mktemp("somebody else"), tmp_path_factory.mktemp("kept") / "anew"
    home, temporary = place / "home", place / "temporary"
    home.mkdir()
    temporary.mkdir()
    temporaries = dict.fromkeys(("TMPDIR", "TEMP", "TMP"), str(temporary))
    before = contents(study, place)
    done = subprocess.run(
        [sys.executable, "-c", _OFFLINE, str(anew), "verify", str(handed)],
        env={**surroundings(home), **temporaries, "PYTHONDONTWRITEBYTECODE": "1"},
        cwd=home,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    left = list(temporary.iterdir())
    assert left == []
    return Verified(done, anew, before, contents(study, place))


def test_an_honest_bundle_passes_and_nothing_is_fetched_or_left(
    study: Path, verified: Verified
) -> None:
    done = verified.done
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
    assert verified.after == verified.before


def test_the_run_of_somebody_else_gives_the_same_bytes_outside_provenance(
    study: Path, verified: Verified
) -> None:
    first, second = study / "runs" / "001", verified.anew
    names = {p.relative_to(first) for p in first.rglob("*") if p.is_file()}
    assert names == {p.relative_to(second) for p in second.rglob("*") if p.is_file()}
    assert Path("provenance.json") in names
    for name in names - {Path("provenance.json")}:
        assert (first / name).read_bytes() == (second / name).read_bytes(), name
    told = [json.loads((run / "provenance.json").read_text("utf-8")) for run in (first, second)]
    assert [one["started"].endswith(OFFSET) for one in told] == [False, True]
    words = (USER, str(study), "somebody else")
    written = [path for path in second.rglob("*") if path.is_file()]
    assert not [p for p in written if any(word.encode() in p.read_bytes() for word in words)]


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
    assert "PASS table observations: 232 rows, the same digit for digit" in told
