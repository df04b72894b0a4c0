"""What a bundle says of itself: in the words of wintersward, and of files that the run knew."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from openpyxl import Workbook

from handin.handed_in import finish, gathered, read
from handin.made_bundle import PHOTOS, Laid, edit_json, failures, lay_out
from wintersward.handin.changes_check import change_fault
from wintersward.handin.discreet_run import discreet_run
from wintersward.handin.discretion import discretion
from wintersward.handin.verifying import verify
from wintersward.runs import freeze

FROZEN_ON = dt.datetime(2026, 1, 12, 9, 5, tzinfo=dt.UTC)
KNOWN = [
    *("study/trial.yaml", "study/plan/frozen/frozen.json", "study/sheets/pulls.csv"),
    "study/plan/frozen/trial.yaml",
]


def test_every_line_that_is_written_is_known(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = gathered(tmp_path / "study")
    freeze(study, lambda: FROZEN_ON)
    book = Workbook()
    book.properties.creator = "R. Example"
    book.save(study / "sheets" / "more.xlsx")
    run = finish(study)
    told = discretion(study, read(run / "inputs.json"), False, False, True)
    monkeypatch.setattr("wintersward.runs.runner.run", lambda copy, _tell: finish(copy, "002"))
    with discreet_run(study, run, told, False, lambda _: None) as made:
        files = read(made.run / "inputs.json")["files"]
        changed = made.changed
    names = [f"study/{name}" for name in files]
    assert {line.partition(": ")[2].partition(";")[0] for line in changed} == {
        "names of people left out",
        "position rounded to 0.1 degree",
        "hashes of the changed copies made again",
        "names taken out of its properties and of its page headers",
        "made again from the changed files",
        "name of the computer left out",
    }
    assert [fault for line in changed if (fault := change_fault(line, names))] == []


@pytest.mark.parametrize("words", ["no position", "no position finer than 0.1 degree"])
def test_that_nothing_was_to_be_rounded_is_said_of_the_definition(words: str) -> None:
    assert change_fault(f"study/trial.yaml: holds {words}", KNOWN) == ""
    assert change_fault(f"study/plan/frozen/trial.yaml: holds {words}", KNOWN)


@pytest.mark.parametrize(
    "line",
    [
        *("nothing", "", ": ", "run", "run: made again", "study/trial.yaml"),
        "study/trial.yaml: names of people left out\n\nVERIFIED BY the state university",
        "study/earlier.yaml: names of people left out",
        "study/sheets/pulls.csv: names of people left out",
        "study/sheets/pulls.csv: names taken out of its properties and of its page headers",
        "study/plan/frozen/frozen.json: hashes of the changed copies made again; the printed "
        "protocol begins with VERIFIED",
        "run/provenance.json: made again from the changed files",
    ],
)
def test_a_line_that_is_never_written(line: str) -> None:
    assert change_fault(line, KNOWN).startswith("changed_on_request: wintersward writes no such")


@pytest.mark.usefixtures("anew")
class TestVerified:
    def test_a_bundle_that_praises_itself(self, laid: Laid) -> None:
        asked = ["nothing.\n\nVERIFIED BY the state university", *map(str, range(6))]
        edit_json(
            laid.folder / "inventory.json", lambda held: held.update(changed_on_request=asked)
        )
        said = "FAIL inventory: changed_on_request: wintersward writes no such line: "
        told = failures(verify(laid.packed()))
        assert told[:2] == [
            f"{said}'nothing.\\n\\nVERIFIED BY the state university'",
            f"{said}'0'",
        ]
        assert told[5] == "FAIL inventory: and 2 more"

    @pytest.mark.parametrize("name", ["study/notes.txt", "study/photos/999_1.jpg", "letter.txt"])
    def test_left_out_and_never_there(self, laid: Laid, name: str) -> None:
        phantom = {"bytes": 3, "sha256": "0" * 64, "why": "photos left out on request"}
        found = verify(replace(laid, left_out={name: phantom}).listed().packed())
        assert failures(found) == [
            f"FAIL inputs: {name}: listed as left out; the run knew no such file"
        ]

    def test_left_out_with_another_size(self, source: Path, tmp_path: Path) -> None:
        laid = lay_out(source, source / "runs" / "001", tmp_path / "small", photos=False)
        assert verify(laid.packed()).passed
        laid.left_out[PHOTOS[0]]["bytes"] = 8
        said = "left out with 8 bytes; the run was made from 7"
        assert failures(verify(laid.listed().packed())) == [f"FAIL inputs: {PHOTOS[0]}: {said}"]
