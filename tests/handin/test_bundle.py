"""One zip file: everything of the run, the same bytes every time, nothing that does not fit."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import time
import zipfile
from pathlib import Path
from typing import Any

import pytest

from handin.handed_in import completed, finish, gathered, read
from wintersward.errors import WinterswardError
from wintersward.handin import bundle as bundling
from wintersward.handin.bundle import bundle
from wintersward.handin.bundle_readme import readme
from wintersward.handin.discretion import NO_PLACE, PEOPLE_LEFT_OUT, PLACE_ROUNDED
from wintersward.handin.holdings import ROLES
from wintersward.handin.unpacking import unpack
from wintersward.runs.files import sha256
from wintersward.runs.stages import STAGES


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return completed(tmp_path / "our {trial} 1")


def refused(study: Path, **options: bool) -> str:
    before = {path: path.read_bytes() for path in study.rglob("*") if path.is_file()}
    with pytest.raises(WinterswardError) as caught:
        bundle(study, **options)
    assert {path: path.read_bytes() for path in study.rglob("*") if path.is_file()} == before
    return str(caught.value)


def listing(archive: Path) -> dict[str, dict[str, dict[str, str]]]:
    with zipfile.ZipFile(archive) as held:
        found: dict[str, dict[str, dict[str, str]]] = json.loads(held.read("inventory.json"))
    return found


class TestWhatIsInIt:
    def test_the_run_what_it_was_made_from_and_how_to_check(self, study: Path) -> None:
        (study / "plan" / "papers").mkdir(exist_ok=True)
        (study / "plan" / "papers" / "labels.html").write_text("no input")
        (study / "runs" / "001" / ".DS_Store").write_text("no result")
        archive = bundle(study)
        assert archive == study / "bundle-001.zip"
        with zipfile.ZipFile(archive) as held:
            names = held.namelist()
        assert names == sorted(names)
        assert names == [
            "README.txt",
            "brief.html",
            "datapackage.json",
            "inventory.json",
            "miappe.csv",
            "report.html",
            "ro-crate-metadata.json",
            "run/figures/figures.json",
            "run/figures/photo_overlay.jpg",
            "run/figures/plot_map.svg",
            "run/inputs.json",
            *(f"run/notebooks/{stage.file}" for stage in STAGES),
            "run/provenance.json",
            "run/results/counts.csv",
            "run/results/observations.csv",
            "run/results/replication.csv",
            "run/results/tables.json",
            "run/results/variances.csv",
            "run/results/weather_gaps.csv",
            "study/diary.yaml",
            "study/loggers/station.csv",
            "study/photos/2026-03-24/101_1.jpg",
            "study/photos/2026-03-24/102_1.jpg",
            "study/plan/plots.csv",
            "study/sheets/colour.csv",
            "study/trial.yaml",
        ]

    def test_the_inventory_lists_every_other_file_with_its_hash(self, study: Path) -> None:
        archive = bundle(study)
        files = listing(archive)["files"]
        with zipfile.ZipFile(archive) as held:
            assert set(files) == {*held.namelist()} - {"inventory.json"}
            for name, told in files.items():
                content = held.read(name)
                assert told["sha256"] == hashlib.sha256(content).hexdigest()
                assert told["bytes"] == len(content)
                assert told["role"] in ROLES
                assert told["about"]
        assert files["study/trial.yaml"]["role"] == "definition"
        assert files["run/results/counts.csv"]["about"].startswith("Observations planned")
        assert files["run/figures/plot_map.svg"]["about"] == "Plots as they were drawn."

    def test_it_unpacks_to_the_files_that_were_there(self, study: Path, tmp_path: Path) -> None:
        names = unpack(bundle(study), tmp_path / "unpacked")
        for name in names:
            if name.startswith("study/"):
                own = study / name.removeprefix("study/")
                assert (tmp_path / "unpacked" / name).read_bytes() == own.read_bytes()

    def test_own_copies_of_notebooks_and_templates_go_along(self, tmp_path: Path) -> None:
        study = gathered(tmp_path / "study")
        for name in ("notebooks/30-statistics.ipynb", "templates/reports/study/style.css"):
            (study / name).parent.mkdir(parents=True)
        shipped = finish(gathered(tmp_path / "other")) / "notebooks" / "30-statistics.ipynb"
        shutil.copy(shipped, study / "notebooks")
        (study / "templates/reports/study/style.css").write_text("p { color: black }")
        finish(study)
        files = listing(bundle(study))["files"]
        assert files["study/notebooks/30-statistics.ipynb"]["role"] == "notebook"
        assert files["study/templates/reports/study/style.css"]["role"] == "template"

    def test_photos_can_stay_at_home_and_are_listed(self, study: Path) -> None:
        archive = bundle(study, photos=False)
        told = listing(archive)
        photo = "study/photos/2026-03-24/101_1.jpg"
        assert photo not in told["files"]
        assert told["left_out"][photo] == {
            "bytes": (study / "photos/2026-03-24/101_1.jpg").stat().st_size,
            "sha256": sha256(study / "photos/2026-03-24/101_1.jpg"),
            "why": "photos left out on request",
        }
        with zipfile.ZipFile(archive) as held:
            page = held.read("README.txt").decode()
        assert "2 photos (0.0 MB) were left out on request" in page

    def test_the_newest_run_counts_and_a_run_without_a_brief_will_do(self, study: Path) -> None:
        (finish(study, "012") / "brief.html").unlink()
        archive = bundle(study)
        assert archive.name == "bundle-012.zip"
        assert "brief.html" not in listing(archive)["files"]
        assert "brief.html" not in zipfile.ZipFile(archive).read("README.txt").decode()


class TestTheSameBytes:
    def test_at_any_time_and_from_any_folder(
        self, study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        first = bundle(study).read_bytes()
        shutil.copytree(study, tmp_path / "elsewhere")
        other = tmp_path / "elsewhere"
        (other / "bundle-001.zip").unlink()
        for path in other.rglob("*"):
            os.utime(path, (1_000_000_000, 1_000_000_000))
            path.chmod(0o700)
        monkeypatch.setenv("TZ", "Asia/Tokyo")
        time.tzset()
        monkeypatch.setenv("WINTERSWARD_SAYS", "python3 toolkit/start.py")
        assert bundle(other).read_bytes() == first
        monkeypatch.undo()
        time.tzset()

    def test_times_and_permissions_are_fixed_and_photos_stored(self, study: Path) -> None:
        with zipfile.ZipFile(bundle(study)) as held:
            for entry in held.infolist():
                assert entry.date_time == (1980, 1, 1, 0, 0, 0)
                assert entry.external_attr >> 16 == 0o100644
                stored = entry.filename.endswith(".jpg")
                assert (entry.compress_type == zipfile.ZIP_STORED) == stored

    def test_a_second_time_finds_it_there(self, study: Path) -> None:
        said: list[str] = []
        archive = bundle(study)
        stamp = archive.stat().st_mtime_ns
        assert bundle(study, progress=said.append) == archive
        assert archive.stat().st_mtime_ns == stamp
        assert said == ["bundle-001.zip: the same bundle was there already"]

    def test_another_file_of_that_name_stays(self, study: Path) -> None:
        bundle(study)
        said = refused(study, photos=False)
        assert said.startswith("bundle-001.zip: found another file of this name")
        assert said.endswith("nothing is overwritten")

    def test_two_at_once_do_not_share_what_they_write(
        self, study: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        pack, said = bundling.pack, list[str]()

        def meanwhile(*given: Any) -> list[str]:
            monkeypatch.setattr(bundling, "pack", pack)
            wrong = pack(*given)
            bundle(study)
            return wrong

        monkeypatch.setattr(bundling, "pack", meanwhile)
        archive = bundle(study, progress=said.append)
        assert said == ["bundle-001.zip: the same bundle was there already"]
        assert [path.name for path in study.iterdir() if "bundle" in path.name] == [archive.name]
        assert len(listing(archive)["files"]) > 20

    def test_one_with_other_options_that_came_meanwhile_stays(
        self, study: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        target, link = study / "bundle-001.zip", os.link

        def meanwhile(part: Path, name: Path) -> None:
            target.write_bytes(b"the other bundle")
            link(part, name)

        monkeypatch.setattr(bundling.os, "link", meanwhile)
        with pytest.raises(WinterswardError, match="found another file of this name"):
            bundle(study)
        assert target.read_bytes() == b"the other bundle"

    def test_where_a_file_can_have_one_name_only(
        self, study: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def no_links(*_: object) -> None:
            raise OSError("no links here")

        monkeypatch.setattr(bundling.os, "link", no_links)
        assert len(listing(bundle(study))["files"]) > 20


class TestWhatDoesNotFit:
    def test_no_run_yet(self, tmp_path: Path) -> None:
        said = refused(gathered(tmp_path / "study"))
        assert said.startswith("runs: there is no complete run to bundle yet; run: ")

    def test_a_run_that_lost_a_file(self, study: Path) -> None:
        (study / "runs/001/provenance.json").unlink()
        assert "runs/001/provenance.json: found a run without this file" in refused(study)

    def test_a_later_run_that_lost_its_page_is_told(self, study: Path) -> None:
        (finish(study, "002") / "report.html").unlink()
        said: list[str] = []
        assert bundle(study, progress=said.append).name == "bundle-001.zip"
        assert said[0] == "runs/002 is damaged, it lacks report.html; run 001 is bundled"

    @pytest.mark.parametrize("photos", [True, False])
    def test_every_file_that_is_another_one_since(self, study: Path, photos: bool) -> None:
        with (study / "diary.yaml").open("a") as file:
            file.write("# later\n")
        (study / "sheets/late.csv").write_text("date,plot\n")
        (study / "loggers/station.csv").unlink()
        shutil.copy(study / "photos/2026-03-24/101_1.jpg", study / "photos/2026-03-24/102_1.jpg")
        (study / "templates/reports/study").mkdir(parents=True)
        (study / "templates/reports/study/style.css").write_text("p {}")
        *lines, last = refused(study, photos=photos).splitlines()
        assert lines == [
            "diary.yaml: found another content than in run 001",
            "loggers/station.csv: found a file of run 001 that is gone",
            "photos/2026-03-24/102_1.jpg: found another content than in run 001",
            "sheets/late.csv: found a file that came after run 001",
            "templates/reports/study/style.css: found a file that came after run 001",
        ]
        assert last.startswith("the study is not what run 001 was made from any more; run it again")

    def test_a_photo_that_changes_while_it_is_packed(
        self, study: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("wintersward.handin.bundle.unfit", lambda *_, **__: [])
        photo = study / "photos/2026-03-24/101_1.jpg"
        photo.write_bytes(photo.read_bytes()[:-1] + b"\0")
        (study / "photos/2026-03-24/102_1.jpg").unlink()
        lines = refused(study).splitlines()
        assert [line.partition(":")[0] for line in lines] == [
            "photos/2026-03-24/101_1.jpg",
            "photos/2026-03-24/102_1.jpg",
        ]
        assert "another content than the run was made from, or none" in lines[0]
        assert not [path for path in study.iterdir() if "bundle" in path.name]

    def test_names_that_cannot_be_unpacked_everywhere(self, tmp_path: Path) -> None:
        study = gathered(tmp_path / "study")
        (study / "sheets/Colour.csv").write_text("date,plot\n")
        if len(list((study / "sheets").iterdir())) < 2:
            pytest.fail("this file system cannot hold what is tested")
        finish(study)
        assert "in case or in accents only" in refused(study)


def test_the_page_for_the_reviewer_is_one_page(study: Path) -> None:
    with zipfile.ZipFile(bundle(study)) as held:
        page = held.read("README.txt").decode()
    lines = page.splitlines()
    assert max(map(len, lines)) <= 78
    assert len(lines) <= 60
    assert "  wintersward verify bundle-001.zip" in lines
    assert "  make verify BUNDLE=bundle-001.zip" in lines
    assert "ended on 25 March 2026" in page
    assert "All 2 photos" in page


@pytest.mark.parametrize(
    ("changed", "people", "place"),
    [
        ([], "stand here as the study holds them", "stands here as the study holds it"),
        ([PEOPLE_LEFT_OUT], "were left out, and so was the name of the computer", "holds it"),
        ([PLACE_ROUNDED], "stand here as the study holds them", "was rounded to 0.1 degree"),
        ([NO_PLACE], "stand here as the study holds them", "No position of the site finer than"),
    ],
)
def test_people_and_place_are_told_apart(changed: list[str], people: str, place: str) -> None:
    listing = {"files": {}, "left_out": {}, "study": "Covers", "run": "001"}
    lines = [f"study/trial.yaml: {words}" for words in changed]
    made_from = {"versions": {"wintersward": "0.1.0"}, "templates": {}}
    told = {**listing, "changed_on_request": lines}
    page = " ".join(readme("b.zip", told, made_from, "2026-03-25T08:00:00", 0).split())
    assert people in page
    assert place in page
    assert "Whether the files are those of the field it cannot tell" in page
    assert "nothing was changed" not in page


def test_the_page_tells_of_own_copies_before_they_are_executed() -> None:
    listing = {"files": {}, "left_out": {}, "study": "Covers", "run": "001"}
    own = {"from": "the study's own copy", "sha256": "0" * 64}
    made_from = {
        "versions": {"wintersward": "0.1.0"},
        "templates": {"notebooks/10-photos.ipynb": own, "notebooks/a.ipynb": {"from": "us"}},
    }
    told = {**listing, "changed_on_request": []}
    page = readme("b.zip", told, made_from, "2026-03-25T08:00:00", 0)
    assert "  wintersward verify b.zip --with-own-copies" in page.splitlines()
    assert '  make verify BUNDLE=b.zip ARGS="--with-own-copies"' in page.splitlines()
    said = "The run used 1 of its own notebooks or templates: notebooks/10-photos.ipynb. They are"
    assert said in " ".join(page.split())


def test_what_describes_the_bundle_is_json_that_a_person_can_read(study: Path) -> None:
    archive = bundle(study)
    with zipfile.ZipFile(archive) as held:
        for name in ("inventory.json", "datapackage.json", "ro-crate-metadata.json"):
            content = json.loads(held.read(name))
            text = json.dumps(content, indent=2, sort_keys=True, ensure_ascii=False)
            assert held.read(name).decode() == f"{text}\n"
    assert read(study / "runs/001/provenance.json")["run"] == "001"
