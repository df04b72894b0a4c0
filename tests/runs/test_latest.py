from __future__ import annotations

import os
from pathlib import Path

import pytest

from wintersward.errors import WinterswardError
from wintersward.runs.latest import hand_out, latest_run


def completed(study: Path, *numbers: str) -> None:
    for number in numbers:
        (study / "runs" / number).mkdir(parents=True, exist_ok=True)
        (study / "runs" / number / "report.html").write_text(f"page of {number}")


def test_the_highest_complete_run_counts(study: Path) -> None:
    completed(study, "009", "1000", "999", ".unfinished-1001", "2000 copy")
    (study / "runs" / "1002").mkdir()
    hand_out(study)
    assert (study / "report.html").read_text() == "page of 1000"


def test_the_brief_goes_with_its_report(study: Path) -> None:
    completed(study, "001", "002")
    for number in ("001", "002"):
        (study / "runs" / number / "brief.html").write_text(f"brief of {number}")
    hand_out(study)
    assert (study / "report.html").read_text() == "page of 002"
    assert (study / "brief.html").read_text() == "brief of 002"


def test_a_run_without_a_brief_hands_out_its_report(study: Path) -> None:
    completed(study, "001")
    hand_out(study)
    assert (study / "report.html").read_text() == "page of 001"
    assert not (study / "brief.html").exists()


def test_a_brief_that_is_open_elsewhere(study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    completed(study, "001")
    (study / "runs" / "001" / "brief.html").write_text("brief")
    replace = os.replace

    def locked(source: Path, target: Path) -> None:
        if target.name == "brief.html":
            raise PermissionError(13, "Permission denied")
        replace(source, target)

    monkeypatch.setattr(os, "replace", locked)
    with pytest.raises(WinterswardError, match=r"^brief.html: .* its brief .*read runs/001/brief"):
        hand_out(study)
    assert sorted(path.name for path in study.iterdir()) == ["report.html", "runs", "trial.yaml"]


def test_without_a_complete_run_there_is_no_latest(study: Path) -> None:
    assert latest_run(study / "runs") is None
    (study / "runs" / "001").mkdir(parents=True)
    assert latest_run(study / "runs") is None
    completed(study, "002", "010")
    assert latest_run(study / "runs") == study / "runs" / "010"


def test_a_run_that_is_completed_meanwhile(study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    completed(study, "001")
    replace = os.replace

    def overtaken(source: Path, target: Path) -> None:
        completed(study, "002")
        replace(source, target)

    monkeypatch.setattr(os, "replace", overtaken)
    hand_out(study)
    assert (study / "report.html").read_text() == "page of 002"


def test_a_report_that_is_open_elsewhere(study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    completed(study, "001")

    def locked(_source: Path, _target: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "replace", locked)
    with pytest.raises(WinterswardError, match=r"run is complete but.*read runs/001/report"):
        hand_out(study)
    assert sorted(path.name for path in study.iterdir()) == ["runs", "trial.yaml"]
