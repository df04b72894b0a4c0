"""The commands that come after a run: list runs, hand one in, verify what was handed in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from wintersward.cli import main
from wintersward.handin.verified import Line, Verified
from wintersward.runs.new import new_study

Call = Callable[..., Result]


@pytest.fixture
def call() -> Call:
    return lambda *args: CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return new_study(tmp_path / "my_trial")


@pytest.fixture
def here(study: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in the folder around the study."""
    monkeypatch.chdir(study.parent)
    return study


class TestBundle:
    @pytest.mark.parametrize(
        ("options", "kept"),
        [
            ([], (True, True, True)),
            (["--without-photos"], (False, True, True)),
            (["--without-people", "--rounded-place"], (True, False, False)),
        ],
    )
    def test_what_is_asked_for_is_handed_on(
        self,
        call: Call,
        here: Path,
        monkeypatch: pytest.MonkeyPatch,
        options: list[str],
        kept: tuple[bool, ...],
    ) -> None:
        asked: list[object] = []

        def bundle(study: str, *kept: bool, progress: Callable[[str], None] | None = None) -> Path:
            asked.extend([study, kept])
            return here / "bundle-003.zip"

        monkeypatch.setattr("wintersward.handin.bundle.bundle", bundle)
        said = call("bundle", "my_trial", *options)
        assert (said.exit_code, said.stderr) == (0, "")
        assert asked == ["my_trial", kept]
        assert said.stdout.splitlines()[1] == (
            f"{here / 'bundle-003.zip'} is there; whoever gets it types: "
            "wintersward verify bundle-003.zip"
        )


class TestVerify:
    @pytest.mark.parametrize(
        ("passed", "code", "last"),
        [(True, 0, "verified: all 2 lines passed"), (False, 1, "1 of 2 lines failed")],
    )
    def test_a_line_for_each_thing(
        self,
        call: Call,
        monkeypatch: pytest.MonkeyPatch,
        passed: bool,
        code: int,
        last: str,
    ) -> None:
        asked: list[bool] = []

        def verify(bundle: str, progress: Callable[[str], None], own_copies: bool) -> Verified:
            asked.append(own_copies)
            progress("[1/3] 10-photos: score the photos")
            lines = Line(True, "archive", "nine files"), Line(passed, "rerun", "as it went")
            return Verified(lines)

        monkeypatch.setattr("wintersward.handin.verifying.verify", verify)
        said = call("verify", "bundle-001.zip")
        assert said.exit_code == code
        assert said.stderr == "[1/3] 10-photos: score the photos\n"
        word = "PASS" if passed else "FAIL"
        assert said.stdout.splitlines() == [
            "PASS archive: nine files",
            f"{word} rerun: as it went",
            last,
        ]
        call("verify", "bundle-001.zip", "--with-own-copies")
        assert asked == [False, True]

    def test_no_such_bundle(self, call: Call, study: Path) -> None:
        said = call("verify", study / "bundle-001.zip")
        assert (said.exit_code, said.stdout) == (2, "")
        told = "no such file; allowed: the zip file\n"
        assert said.stderr == f"{(study / 'bundle-001.zip').as_posix()}: {told}"
        said = call("verify", study)
        assert said.exit_code == 2
        assert "a folder; allowed: the zip file as it was handed in" in said.stderr

    def test_a_bundle_must_be_named(self, call: Call) -> None:
        assert call("verify").exit_code == 2


class TestRuns:
    def test_none_yet(self, call: Call, study: Path) -> None:
        said = call("runs", study)
        assert (said.exit_code, said.stderr) == (0, "")
        assert said.stdout.splitlines()[1:] == [f"no run yet; next: wintersward run {study}"]

    def test_each_in_its_lines(self, call: Call, study: Path) -> None:
        (study / "runs" / ".unfinished-001").mkdir(parents=True)
        said = call("runs", study)
        assert said.stdout.splitlines()[1:] == [
            "001  unfinished",
            "     broken off, or still going",
        ]

    def test_two_compared(self, call: Call, study: Path) -> None:
        said = call("runs", study, "--compare", "001", "002")
        assert said.exit_code == 2
        assert said.stderr == "runs/001: no such complete run; there are: none\n"
