from __future__ import annotations

import hashlib
import json
import shutil
import socket
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from e2e.example import CHECKOUT
from handin.made_bundle import (
    PHOTOS,
    Laid,
    a_run,
    edit_json,
    failures,
    lay_out,
    write_json,
)
from wintersward.errors import WinterswardError
from wintersward.handin import verifying
from wintersward.handin.verifying import verify
from wintersward.paths import command
from wintersward.report.numbers import counted
from wintersward.runs.stages import STAGES

pytestmark = pytest.mark.usefixtures("anew")


def digits(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def test_an_honest_bundle(laid: Laid) -> None:
    found = verify(laid.packed())
    assert found.passed
    assert found.said == "verified: all 16 lines passed"
    assert [line.what for line in found.lines] == [
        "archive",
        "inventory",
        "ro-crate-metadata.json",
        "datapackage.json",
        "miappe.csv",
        "inputs",
        "versions",
        "descriptions",
        "rerun",
        "table means",
        "table primary",
        "numbers of report.html",
        "report.html",
        "pictures",
        "notebooks",
        "other files of the run",
    ]
    told = [str(line) for line in found.lines]
    stages = ", ".join(stage.name for stage in STAGES)
    assert f"PASS rerun: {counted(len(STAGES), 'stage')} executed: {stages}" in told
    assert "PASS table primary: two rows, the same digit for digit" in told


def test_nothing_is_fetched_and_nothing_is_left(
    laid: Laid, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise AssertionError("asked for the network")

    monkeypatch.setattr(socket, "getaddrinfo", refused)
    monkeypatch.setattr(socket.socket, "connect", refused)
    place = tmp_path / "temporary"
    place.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(place))
    bundle = laid.packed()
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    assert verify(bundle).passed
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before
    assert list(place.iterdir()) == []


class TestInventory:
    def test_a_changed_photo(self, laid: Laid) -> None:
        old, new = b"photo 0", b"photo 9"
        (laid.folder / PHOTOS[0]).write_bytes(new)
        assert failures(verify(laid.packed())) == [
            f"FAIL inventory: {PHOTOS[0]}: it was changed; it has 7 bytes with the SHA-256 "
            f"{digits(new)[:12]}..., listed are 7 with {digits(old)[:12]}...",
            f"FAIL inputs: {PHOTOS[0]}: not the file that the run was made from",
        ]

    def test_two_swapped_files(self, laid: Laid) -> None:
        one, other = (laid.folder / name for name in PHOTOS)
        first, second = one.read_bytes(), other.read_bytes()
        one.write_bytes(second)
        other.write_bytes(first)
        assert failures(verify(laid.packed()))[:2] == [
            f"FAIL inventory: {PHOTOS[0]}: it was swapped with {PHOTOS[1]}",
            f"FAIL inventory: {PHOTOS[1]}: it was swapped with {PHOTOS[0]}",
        ]

    def test_a_file_put_over_another(self, laid: Laid) -> None:
        shutil.copy(laid.folder / PHOTOS[0], laid.folder / PHOTOS[1])
        told = f"FAIL inventory: {PHOTOS[1]}: it was changed; it holds what {PHOTOS[0]} should hold"
        assert failures(verify(laid.packed()))[0] == told

    def test_a_removed_and_an_added_file(self, laid: Laid) -> None:
        (laid.folder / "study" / "sheets" / "pulls.csv").unlink()
        (laid.folder / "study" / "sheets" / "more.csv").write_text("date,plot\n1,2\n")
        (laid.folder / "letter.txt").write_text("Dear reviewer")
        assert failures(verify(laid.packed())) == [
            "FAIL inventory: letter.txt: it was added; the inventory does not list it",
            "FAIL inventory: study/sheets/more.csv: it was added; the inventory does not list it",
            "FAIL inventory: study/sheets/pulls.csv: it is missing",
            "FAIL inventory: letter.txt: no bundle holds it",
            "FAIL inputs: study/sheets/more.csv: the run knew no such file",
            "FAIL inputs: study/sheets/pulls.csv: the run was made from it, and it is missing",
        ]

    def test_a_renamed_file(self, laid: Laid) -> None:
        (laid.folder / PHOTOS[0]).rename(laid.folder / "study" / "photos" / "a.jpg")
        told = failures(verify(laid.packed()))
        assert told[0] == (
            "FAIL inventory: study/photos/a.jpg: it was added; the inventory does not list it; it "
            f"holds what {PHOTOS[0]} should hold"
        ) or told[1].startswith("FAIL inventory: study/photos/a.jpg")
        assert f"FAIL inventory: {PHOTOS[0]}: it is missing" in told

    def test_a_size_that_is_not_so(self, laid: Laid) -> None:
        def lengthen(held: dict[str, Any]) -> None:
            held["files"]["README.txt"]["bytes"] = 99

        edit_json(laid.folder / "inventory.json", lengthen)
        size = (laid.folder / "README.txt").stat().st_size
        told = f"its hash fits, but it has {size} bytes and is listed with 99"
        assert failures(verify(laid.packed()))[0] == f"FAIL inventory: README.txt: {told}"

    @pytest.mark.parametrize(
        ("content", "told"),
        [
            (None, "it is missing, or no text"),
            ("{}", "it is no inventory of a bundle (it lacks 'inventory')"),
            ('{"inventory": 2}', "it is no inventory of a bundle (version 2; allowed: 1)"),
        ],
    )
    def test_no_inventory_ends_it(self, laid: Laid, content: str | None, told: str) -> None:
        path = laid.folder / "inventory.json"
        path.unlink()
        if content is not None:
            path.write_text(content)
        found = verify(laid.packed())
        assert failures(found) == [f"FAIL inventory: inventory.json: {told}"]
        assert len(found.lines) == 2

    def test_what_was_changed_on_request_is_told(self, laid: Laid) -> None:
        asked = {"changed_on_request": ["study/trial.yaml: names of people left out"]}
        edit_json(laid.folder / "inventory.json", lambda held: held.update(asked))
        (line,) = (one for one in verify(laid.packed()).lines if one.what == "inventory")
        assert line.passed
        assert line.found.endswith("; study/trial.yaml: names of people left out")


class TestArchive:
    def test_a_path_that_climbs(self, laid: Laid) -> None:
        found = verify(laid.packed({"../evil.txt": b"x", "/evil.txt": b"x"}))
        rule = "allowed: a path below the bundle's own folder, such as study/trial.yaml"
        assert [str(line) for line in found.lines] == [
            f"FAIL archive: ../evil.txt: found a path that climbs out of its folder; {rule}",
            f"FAIL archive: /evil.txt: found an absolute path; {rule}",
        ]

    def test_no_zip_file(self, tmp_path: Path) -> None:
        path = tmp_path / "bundle-001.zip"
        path.write_bytes(b"a report")
        found = verify(path)
        assert not found.passed
        assert str(found.lines[0]).startswith("FAIL archive: bundle-001.zip: found a damaged zip")

    def test_a_folder_or_nothing(self, laid: Laid, tmp_path: Path) -> None:
        told = "a folder; allowed: the zip file as it was handed in"
        with pytest.raises(WinterswardError, match=told):
            verify(laid.folder)
        with pytest.raises(WinterswardError, match="no such file"):
            verify(tmp_path / "bundle-009.zip")


class TestStandards:
    def test_a_crate_that_tells_otherwise(self, laid: Laid) -> None:
        name = laid.folder / "ro-crate-metadata.json"
        graph = json.loads(name.read_text())["@graph"]
        graph = [one for one in graph if one["@id"] != "run/inputs.json"]
        next(one for one in graph if one["@id"] == "report.html")["contentSize"] = "1"
        next(one for one in graph if one["@id"] == "README.txt")["sha256"] = "0" * 64
        write_json(name, {"@graph": [*graph, {"@id": "a%20b.txt", "@type": ["File"]}]})
        size = (laid.folder / "report.html").stat().st_size
        assert [one for one in failures(verify(laid.packed())) if "ro-crate" in one][1:] == [
            "FAIL ro-crate-metadata.json: README.txt: another SHA-256 than in the inventory",
            f"FAIL ro-crate-metadata.json: report.html: 1 bytes; the inventory says {size}",
            "FAIL ro-crate-metadata.json: it tells of a b.txt, which the inventory does not list",
            "FAIL ro-crate-metadata.json: it does not tell of run/inputs.json",
        ]

    def test_a_data_package_that_tells_otherwise(self, laid: Laid) -> None:
        def change(held: dict[str, Any]) -> None:
            by_name = {one["name"]: one for one in held["resources"]}
            by_name["means"]["schema"]["primaryKey"] = "measure"
            by_name["means"]["schema"]["fields"].pop()
            held["resources"] = [by_name["means"]]

        edit_json(laid.folder / "datapackage.json", change)
        told = "FAIL datapackage.json: run/results/means.csv: its"
        assert [one for one in failures(verify(laid.packed())) if "datapackage" in one][1:] == [
            f"{told} fields are not the headings of the table",
            f"{told} key is not that of run/results/tables.json",
            "FAIL datapackage.json: it does not tell of run/results/primary.csv",
        ]

    def test_a_checklist(self, laid: Laid) -> None:
        text = (laid.folder / "miappe.csv").read_text(encoding="utf-8")
        row = next(one for one in text.splitlines() if one.startswith("investigation.license,"))
        line = text.splitlines().index(row) + 1
        laid.change("miappe.csv", row, row.replace(",,no,", ",,yes,"))
        assert failures(verify(laid.packed()))[1:] == [
            f"FAIL miappe.csv: line {line}: investigation.license is told as present: yes, value ''"
        ]

    @pytest.mark.parametrize(
        ("name", "before", "after"),
        [
            ("README.txt", "HOW TO VERIFY", "HOW TO BELIEVE"),
            ("miappe.csv", "Alder Road", "Elder Road"),
            ("datapackage.json", "winter-cover-trial-run-001", "winter-cover-trial-run-007"),
            ("ro-crate-metadata.json", '"version": "0.5"', '"version": "0.6"'),
        ],
    )
    def test_words_that_agree_with_the_inventory_and_were_changed(
        self, laid: Laid, name: str, before: str, after: str
    ) -> None:
        path = laid.folder / name
        text = path.read_text(encoding="utf-8")
        assert before in text
        path.write_bytes(text.replace(before, after, 1).encode("utf-8"))
        laid.hashed(name)
        found = "it is not what wintersward makes of this inventory, this study and this run"
        assert f"FAIL {name}: {found}" in failures(verify(laid.packed()))

    @pytest.mark.parametrize("name", ["ro-crate-metadata.json", "datapackage.json", "miappe.csv"])
    def test_one_that_is_missing(self, laid: Laid, name: str) -> None:
        (laid.folder / name).unlink()
        assert f"FAIL {name}: it is missing" in failures(verify(laid.packed()))


class TestInputs:
    def test_a_changed_definition(self, laid: Laid) -> None:
        laid.change("study/trial.yaml", "matters_from: 1", "matters_from: 2")
        assert failures(verify(laid.listed().packed())) == [
            "FAIL inputs: study/trial.yaml: not the file that the run was made from"
        ]

    def test_another_run(self, laid: Laid) -> None:
        edit_json(laid.folder / "run" / "provenance.json", lambda held: held.update(run="007"))
        told = "run/provenance.json is of run 007; the inventory says 001"
        assert failures(verify(laid.listed().packed())) == [f"FAIL inputs: {told}"]

    def test_a_notebook_slipped_in(self, laid: Laid) -> None:
        path = laid.folder / "study" / "notebooks" / "30-statistics.ipynb"
        path.parent.mkdir()
        path.write_text("{}")
        told = "study/notebooks/30-statistics.ipynb: a copy of the study's own that the run"
        assert failures(verify(laid.listed().packed())) == [f"FAIL inputs: {told} did not use"]

    def test_own_copies_are_executed_on_the_word_of_the_reviewer_alone(
        self, source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        own = source / "notebooks" / "10-photos.ipynb"
        own.parent.mkdir()
        shutil.copy(CHECKOUT / "templates" / "notebooks" / own.name, own)
        shutil.rmtree(source / "runs")
        laid = lay_out(source, a_run(source), tmp_path / "own")
        (laid.folder / "study" / "notebooks").mkdir()
        shutil.copy(own, laid.folder / "study" / "notebooks")
        (laid.folder / "study" / "notebooks" / "slipped.ipynb").write_text("{}")
        brought: list[list[str]] = []

        def laid_out(study: Path, _place: Path, copies: list[str]) -> Path:
            brought.append(copies)
            return study

        monkeypatch.setattr(verifying, "laid_out", laid_out)
        name, slipped = "notebooks/10-photos.ipynb", "study/notebooks/slipped.ipynb"
        archive = laid.listed().packed()
        found = verify(archive)
        assert failures(found) == [
            f"FAIL inputs: {slipped}: a copy of the study's own that the run did not use",
            f"FAIL own copies: {name}: programs of whoever made the bundle; not executed, so that "
            f"nothing was run again; read them, then: {command('verify', archive)} "
            "--with-own-copies",
        ]
        assert (brought, found.lines[-1].what) == ([], "own copies")
        # One that the run did not use is not even brought along.
        assert [line.what for line in verify(archive, own_copies=True).lines][8] == "rerun"
        assert brought == [[name]]

    def test_what_no_run_reads(self, laid: Laid) -> None:
        for name in (
            *("study/.cache/scores/a.json", "study/runs/001/notebooks/wintersward.py"),
            "home/.local/lib/usercustomize.py",
        ):
            (laid.folder / name).parent.mkdir(parents=True)
            (laid.folder / name).write_text("brought along")
        assert failures(verify(laid.listed().packed())) == [
            "FAIL inventory: home: no bundle holds it",
            "FAIL inputs: study/.cache/scores/a.json: no run reads it",
            "FAIL inputs: study/runs/001/notebooks/wintersward.py: no run reads it",
        ]

    def test_much_that_no_run_reads_is_summed_up(self, laid: Laid) -> None:
        for number in range(7):
            (laid.folder / "study" / f"{number}.py").write_text("brought along")
        told = failures(verify(laid.listed().packed()))
        assert told[0] == "FAIL inputs: study/0.py: no run reads it"
        assert told[5:] == ["FAIL inputs: and 2 more that no run reads"]

    def test_a_sheet_that_is_said_to_be_left_out(self, laid: Laid) -> None:
        path = laid.folder / "study" / "sheets" / "pulls.csv"
        told = {"bytes": path.stat().st_size, "sha256": digits(path.read_bytes()), "why": ""}
        path.unlink()
        without = replace(laid, left_out={"study/sheets/pulls.csv": told})
        assert failures(verify(without.listed().packed())) == [
            "FAIL inputs: study/sheets/pulls.csv: left out, and no photo: nothing else may be"
        ]

    def test_a_lost_list_of_inputs_ends_it(self, laid: Laid) -> None:
        (laid.folder / "run" / "inputs.json").write_text("[]")
        laid.hashed("run/inputs.json")
        found = verify(laid.packed())
        told = "run/inputs.json: it does not tell files, templates, own_copies, versions"
        assert [one for one in failures(found) if "ro-crate" not in one] == [f"FAIL inputs: {told}"]
        assert found.lines[-1].what == "inputs"

    def test_files_of_another_shape_are_told(self, laid: Laid) -> None:
        edit_json(laid.folder / "run" / "inputs.json", lambda held: held.update(files=[1]))
        laid.hashed("run/inputs.json")
        told = [one for one in failures(verify(laid.packed())) if "ro-crate" not in one]
        shape = "is of another shape (TypeError: "
        assert len(told) == 1
        assert told[0].startswith(f"FAIL inputs: run/inputs.json or run/provenance.json {shape}")
