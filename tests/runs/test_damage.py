"""What a run has lost is told file by file, and whatever stands in it breaks nothing off."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from handin.handed_in import completed
from handin.made_bundle import edit_json
from wintersward.errors import WinterswardError
from wintersward.handin.bundle import bundle
from wintersward.runs.damage import Fault, damage, damage_said, files_told
from wintersward.runs.files import sha256
from wintersward.runs.history import compare, runs_of

INPUTS, TABLES, FIGURES = "inputs.json", "results/tables.json", "figures/figures.json"
COUNTS, PROVENANCE = "results/counts.csv", "provenance.json"
Change = Callable[[dict[str, Any]], object]


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return completed(tmp_path / "study")


@pytest.fixture
def run(study: Path) -> Path:
    return study / "runs" / "001"


def told_everywhere(study: Path, fault: Fault) -> None:
    """See that a list, a comparison and a bundle tell of one fault, each in its way."""
    said = damage_said([fault])
    assert damage(study / "runs" / "001") == [fault]
    assert [(one.state, one.said.partition("; run again")[0]) for one in runs_of(study)] == [
        ("damaged", said)
    ]
    with pytest.raises(WinterswardError) as caught:
        compare(study, "1", "1")
    assert str(caught.value) == f"runs/001: {said}; it cannot be compared"
    with pytest.raises(WinterswardError) as caught:
        bundle(study)
    found = fault.found or "a run without this file"
    assert str(caught.value).startswith(f"runs/001/{fault.name}: found {found}; run again: ")
    assert not (study / "bundle-001.zip").exists()


def test_a_whole_run(run: Path) -> None:
    assert damage(run) == []
    (run / "brief.html").unlink()
    (run / "figures").rename(run / ".figures")
    assert damage(run) == []


@pytest.mark.parametrize(
    "name",
    [INPUTS, PROVENANCE, TABLES, COUNTS, "figures/plot_map.svg", "notebooks/10-photos.ipynb"],
)
def test_a_file_that_is_gone(study: Path, run: Path, name: str) -> None:
    (run / name).unlink()
    told_everywhere(study, Fault(name))


@pytest.mark.parametrize(
    ("name", "content", "found"),
    [
        (INPUTS, b"{", "no JSON"),
        (TABLES, b"\xff\xfe", "no JSON"),
        (FIGURES, b"[]", "what no run writes"),
        (COUNTS, b"measure,date\xff\n", "no UTF-8 text"),
        (COUNTS, b"", "other headings than results/tables.json tells, or not those of its key"),
    ],
)
def test_a_file_that_holds_something_else(
    study: Path, run: Path, name: str, content: bytes, found: str
) -> None:
    (run / name).write_bytes(content)
    told_everywhere(study, Fault(name, found))


@pytest.mark.parametrize(
    ("name", "change", "at"),
    [
        (INPUTS, lambda held: held.update(files=[]), "'files'"),
        (INPUTS, lambda held: held.pop("templates"), "'templates'"),
        (INPUTS, lambda held: held["files"].update(a={"sha256": "0"}), "'files', 'a', 'bytes'"),
        (TABLES, lambda held: held.update(counts={}), "'counts', 'description'"),
        (TABLES, lambda held: held["counts"].pop("columns"), "'counts', 'columns'"),
        (TABLES, lambda held: held["counts"].update(key="plot"), "'counts', 'key'"),
        (FIGURES, lambda held: held["plot_map"].pop("caption"), "'plot_map', 'caption'"),
        (PROVENANCE, lambda held: held.update(ended="2026-03-25T08:00:00"), "'ended'"),
        (PROVENANCE, lambda held: held.update(started=5), "'started'"),
        (PROVENANCE, lambda held: held.update(seconds={}), "'seconds'"),
        (PROVENANCE, lambda held: held["seconds"].update(a=1e308), "'seconds', 'a'"),
    ],
)
def test_json_that_no_run_writes(
    study: Path, run: Path, name: str, change: Change, at: str
) -> None:
    edit_json(run / name, change)
    told_everywhere(study, Fault(name, f"what no run writes, at {at}"))


def test_the_number_of_another_run(study: Path, run: Path) -> None:
    edit_json(run / PROVENANCE, lambda held: held.update(run="002"))
    told_everywhere(study, Fault(PROVENANCE, "the number of another run, '002'"))


def test_a_row_that_was_cut_short(study: Path, run: Path) -> None:
    text = (run / COUNTS).read_text(encoding="utf-8")
    wide = text.partition("\n")[0].count(",") + 1
    (run / COUNTS).write_text(text.rstrip("\n").rpartition(",")[0], encoding="utf-8")
    found = f"a row 3 that has not the {wide} cells of the headings"
    told_everywhere(study, Fault(COUNTS, found))


def test_a_key_that_is_no_column(study: Path, run: Path) -> None:
    edit_json(run / TABLES, lambda held: held["counts"].update(key=["elsewhere"]))
    found = "other headings than results/tables.json tells, or not those of its key"
    told_everywhere(study, Fault(COUNTS, found))


def test_the_input_files_that_a_run_tells(study: Path, run: Path) -> None:
    plan = study / "plan" / "plots.csv"
    told = {"bytes": plan.stat().st_size, "sha256": sha256(plan)}
    assert files_told(run)["plan/plots.csv"] == told
    for content in ("{", "[]", '{"files": []}', '{"files": {"trial.yaml": 1}}'):
        (run / INPUTS).write_text(content, encoding="utf-8")
        assert files_told(run) == {}
    (run / INPUTS).unlink()
    assert files_told(run) == {}


def test_all_is_told_at_once_sorted(study: Path, run: Path) -> None:
    for name in (COUNTS, "results/variances.csv", INPUTS):
        (run / name).unlink()
    with pytest.raises(WinterswardError) as caught:
        bundle(study)
    assert [line.partition(":")[0] for line in str(caught.value).splitlines()] == [
        f"runs/001/{name}" for name in (INPUTS, COUNTS, "results/variances.csv")
    ]
