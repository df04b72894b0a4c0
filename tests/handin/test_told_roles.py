"""What the files of a bundle are, told by the run and not by the inventory."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from handin.handed_in import completed, read
from handin.made_bundle import Laid, edit_json, failures
from wintersward.handin.bundle import bundle
from wintersward.handin.described_check import described_lines
from wintersward.handin.unpacking import unpack
from wintersward.handin.verifying import verify


@pytest.mark.parametrize("photos", [True, False])
def test_a_bundle_as_it_is_made(tmp_path: Path, photos: bool) -> None:
    folder = tmp_path / "out"
    unpack(bundle(completed(tmp_path / "study"), photos=photos), folder)
    told = {name: read(folder / "run" / f"{name}.json") for name in ("inputs", "provenance")}
    (line,) = described_lines(folder, told, [])
    assert str(line) == "PASS descriptions: five files made anew, the same byte for byte"


@pytest.mark.usefixtures("anew")
class TestForged:
    def test_a_role_and_a_line_about_a_file(self, laid: Laid) -> None:
        def change(held: dict[str, Any]) -> None:
            held["files"]["study/trial.yaml"]["role"] = "other"
            held["files"]["run/results/means.csv"]["about"] = "signed by the university"

        edit_json(laid.folder / "inventory.json", change)
        told = [one for one in failures(verify(laid.packed())) if one.startswith("FAIL inventory")]
        decided = "'what was decided before the first observation'"
        anew = "it is not what wintersward makes of this inventory, this study and this run"
        assert told == [
            "FAIL inventory: run/results/means.csv: told as results, 'signed by the university'; "
            "it is results, 'means'",
            f"FAIL inventory: study/trial.yaml: told as other, {decided}; it is definition, "
            f"{decided}",
            f"FAIL inventory.json: {anew}",
        ]

    def test_a_caption_that_is_missing(self, laid: Laid) -> None:
        path = laid.folder / "run" / "figures" / "figures.json"
        edit_json(path, lambda held: held["answer"].pop("caption"))
        told = failures(verify(laid.packed()))
        said = "inventory.json or a file of the run is of another shape (KeyError: 'caption')"
        assert f"FAIL descriptions: {said}" in told
