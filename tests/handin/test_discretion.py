"""Names and the exact place, taken out of everything that was written about a study."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from PIL import ExifTags, Image

from handin.handed_in import TEXT, finish, gathered, read
from wintersward.errors import WinterswardError
from wintersward.handin.bundle import bundle
from wintersward.handin.discretion import Discretion, discretion, still_there
from wintersward.handin.named_people import StandIn, parts_left, replaced
from wintersward.handin.workbook_authors import without_author
from wintersward.papers import visit_books
from wintersward.runs import freeze
from wintersward.study import open_study
from wintersward.trial import read_definition
from wintersward.trial.frozen import read_frozen

ON_TIME = dt.datetime(2026, 1, 12, 9, 5, tzinfo=dt.UTC)


def discreet(
    study: Path, people: bool = False, exact_place: bool = False, photos: bool = True
) -> Discretion:
    made_from = read(finish(study) / "inputs.json")
    return discretion(study, made_from, people, exact_place, photos)


def refused(study: Path, **options: bool) -> list[str]:
    with pytest.raises(WinterswardError) as caught:
        discreet(study, **options)
    return str(caught.value).splitlines()


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return gathered(tmp_path / "study")


def written(study: Path, found: Discretion) -> None:
    for name, content in found.files.items():
        (study / name).write_bytes(content)


class TestPeople:
    def test_names_go_and_initials_stay(self, study: Path) -> None:
        found = discreet(study, exact_place=True)
        assert found.changed == (
            "study/diary.yaml: names of people left out",
            "study/trial.yaml: names of people left out",
        )
        before = (study / "trial.yaml").read_text(encoding="utf-8")
        text = found.files["trial.yaml"].decode()
        assert text == before.replace("R. Example", "person 1")
        written(study, found)
        definition, problems = read_definition(study)
        assert problems == []
        assert definition is not None
        assert [(one.name, one.initials) for one in definition.people] == [("person 1", "rx")]
        assert b"note: person 1; dry" in found.files["diary.yaml"]

    def test_names_beside_pins_and_established_turf_go_too(self, study: Path) -> None:
        more = """\
pins:
  - {date: 2026-03-20, what: "pins of R. Example", out: 4, back: 4, note: "by R. Example, 43.1234"}
established_turf:
  - measure: colour
    date: 2026-03-24
    where: behind the shed of R.
      Example, 43.1234 N
    values: [5, 6]
    note: asked R. Example
"""
        path = study / "diary.yaml"
        path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
        found = discreet(study)
        text = found.files["diary.yaml"].decode()
        assert "Example" not in text
        assert "43.1234" not in text
        assert 'what: "pins of person 1"' in text
        assert "where: behind the shed of person 1, 43.1 N" in text

    def test_a_definition_that_is_not_sound_is_told(self, study: Path) -> None:
        finish(study)
        (study / "trial.yaml").write_text("title: Half a trial\n")
        made_from = read(study / "runs/001/inputs.json")
        with pytest.raises(WinterswardError, match="trial.yaml"):
            discretion(study, made_from, False, False, True)

    def test_people_of_an_earlier_season_go_too(self, study: Path) -> None:
        (study / "earlier/2025").mkdir(parents=True)
        text = TEXT.replace("R. Example", "Ann Berg").replace(
            "latitude: 43.1234", "latitude: 43.22"
        )
        (study / "earlier/2025/trial.yaml").write_text(text, encoding="utf-8")
        found = discreet(study)
        earlier = found.files["earlier/2025/trial.yaml"].decode()
        assert "name: person 2" in earlier
        assert "latitude: 43.2  # 43.1 N" in earlier

    def test_initials_that_are_a_name_are_refused(self, tmp_path: Path) -> None:
        text = TEXT.replace("initials: rx", "initials: Ex").replace("[rx]", "[Ex]")
        study = gathered(tmp_path / "study", text.replace("R. Example", "R. Ex"))
        (line,) = refused(study, exact_place=True)
        assert line.startswith("trial.yaml: people.1.initials: found 'Ex', which is a name;")

    def test_a_record_that_names_a_person_is_told_line_by_line(self, study: Path) -> None:
        with (study / "sheets/colour.csv").open("a") as file:
            file.write("2026-03-24,102,rx,6,by r.  example\n")
        (study / "loggers/station.csv").write_text("kept by R. Example\n")
        assert refused(study, exact_place=True) == [
            "loggers/station.csv:1:9: found 'R. Example'; take it out there, run again, and "
            "bundle then",
            "sheets/colour.csv:3:24: found 'R. Example'; take it out there, run again, and "
            "bundle then",
        ]

    def test_a_workbook_that_names_a_person(self, study: Path) -> None:
        book = openpyxl.Workbook()
        book.active["A1"] = "Rated by R. Example"
        book.save(study / "sheets" / "more.xlsx")
        (line,) = refused(study, exact_place=True)
        assert re.match(r"sheets/more\.xlsx: xl/[\w/]+\.xml: found 'R\. Example';", line)

    def test_the_author_of_a_workbook_is_taken_out(self, study: Path) -> None:
        book = openpyxl.Workbook()
        book.active["A1"] = "date"
        book.properties.creator, book.properties.lastModifiedBy = "R. Example", "Somebody Else"
        book.save(study / "sheets" / "more.xlsx")
        found = discreet(study, exact_place=True)
        assert (
            "study/sheets/more.xlsx: names taken out of its properties and of its page headers"
            in found.changed
        )
        made = openpyxl.load_workbook(io.BytesIO(found.files["sheets/more.xlsx"]))
        assert not made.properties.creator
        assert not made.properties.lastModifiedBy
        assert made.active["A1"].value == "date"
        # The same bytes again, and none where nobody is named.
        before = (study / "sheets/more.xlsx").read_bytes()
        assert without_author(before) == found.files["sheets/more.xlsx"]
        assert without_author(found.files["sheets/more.xlsx"]) == found.files["sheets/more.xlsx"]
        assert without_author(b"date,plot\n") == b"date,plot\n"

    def test_a_sheet_that_was_handed_out_says_who_rates(self, study: Path) -> None:
        trial = open_study(study)
        name, given = next(
            (name, book)
            for name, book in visit_books(trial.definition, trial.plots, "letter").items()
            if name.endswith("_rx.xlsx")
        )
        (study / "sheets" / name).write_bytes(given)
        before = openpyxl.load_workbook(io.BytesIO(given))
        assert before.active.oddHeader.center.text == "Rater: rx R. Example"
        made = openpyxl.load_workbook(io.BytesIO(discreet(study).files[f"sheets/{name}"]))
        assert {tab.oddHeader.center.text for tab in made} == {"Rater: rx person 1"}
        assert {tab.oddHeader.left.text for tab in made} == {before.active.oddHeader.left.text}
        cells = [
            [cell.value for row in tab for cell in row] for tab in (before.active, made.active)
        ]
        assert cells[0] == cells[1]

    def test_a_photo_that_names_a_person(self, study: Path) -> None:
        exif = Image.Exif()
        exif[ExifTags.Base.Artist] = "R. Example"
        picture = Image.new("RGB", (64, 48), (60, 90, 40))
        picture.save(study / "photos/2026-03-24/103_1.jpg", exif=exif)
        (line,) = refused(study, exact_place=True)
        assert line.startswith("photos: found 1 photo that carries the name of a person, such as ")
        assert line.endswith("--without-people --without-photos")
        assert discreet(gathered(study.with_name("other")), exact_place=True).files

    def test_a_name_in_a_form_that_cannot_be_changed(self, study: Path) -> None:
        text = (study / "diary.yaml").read_text().replace("R. Example; dry", '"R.\\x20Example"')
        (study / "diary.yaml").write_text(text)
        found = discreet(study, exact_place=True)
        assert list(found.files) == ["trial.yaml"]
        (problem,) = still_there(study, ["diary.yaml"], found.people)
        assert str(problem).startswith("diary.yaml:2:")
        assert "management.1.note: found a name in a form that cannot be changed" in str(problem)

    def test_parts_of_a_name_are_left_and_told(self, study: Path) -> None:
        text = (study / "diary.yaml").read_text().replace("; dry", " and Mrs. Example, for example")
        (study / "diary.yaml").write_text(text)
        found = discreet(study, exact_place=True)
        assert found.look == (
            "diary.yaml:2: 'Example' may be a part of a name; it was left as it is",
        )

    @pytest.mark.parametrize(
        ("name", "text", "after"),
        [
            ("May", "in May or may", "in person 1 or may"),
            ("Ann Berg", "ANN  BERG, Ann\n  Berg", "person 1, person 1"),
            ("Ann Berg", "Hanna Bergson, Ann Bergson", "Hanna Bergson, Ann Bergson"),
            ("A. (Bo) Li", "by A. (Bo) Li.", "by person 1."),
        ],
    )
    def test_a_name_is_words_of_its_own(self, name: str, text: str, after: str) -> None:
        assert replaced(text, [StandIn(name, "person 1")]) == after

    def test_the_longer_name_goes_first(self) -> None:
        people = [StandIn("Ann Berg", "person 1"), StandIn("Ann Berg Moe", "person 2")]
        assert replaced("Ann Berg Moe and Ann Berg", people) == "person 2 and person 1"
        before, after = "<b>O&#39;Neil &amp; Co</b>", "<b>O&#39;Neil &amp; x</b>"
        assert replaced(before, [StandIn("Co", "x")], markup=True) == after
        assert parts_left("Ann came", "diary.yaml", people) == [
            "diary.yaml:1: 'Ann' may be a part of a name; it was left as it is"
        ]


class TestPlace:
    def test_the_position_is_rounded_wherever_it_is_written(self, study: Path) -> None:
        found = discreet(study, people=True)
        assert found.changed == ("study/trial.yaml: position rounded to 0.1 degree",)
        before = (study / "trial.yaml").read_text(encoding="utf-8")
        rounded = before.replace("43.1234", "43.1").replace("-77.5678", "-77.6")
        assert found.files["trial.yaml"].decode() == rounded
        assert found.people == ()

    def test_a_position_that_is_rough_already_changes_nothing(self, tmp_path: Path) -> None:
        text = TEXT.replace("43.1234", "43.1").replace("-77.5678", "-77.6")
        study = gathered(tmp_path / "study", text)
        found = discreet(study, people=True)
        assert dict(found.files) == {}
        assert found.changed == ("study/trial.yaml: holds no position finer than 0.1 degree",)
        # Nothing has to be run again for it.
        with zipfile.ZipFile(bundle(study, exact_place=False)) as held:
            assert b"no position finer than" in held.read("inventory.json")

    def test_a_record_that_tells_the_position(self, study: Path) -> None:
        (study / "loggers/station.csv").write_text("at 77.5678 W\n")
        (line,) = refused(study, people=True)
        assert line.startswith("loggers/station.csv:1:4: found '77.5678'")

    @pytest.mark.parametrize("kind", ["exif", "xmp"])
    def test_photos_that_carry_a_position_are_one_line(self, study: Path, kind: str) -> None:
        exif, more = Image.Exif(), dict[str, Any]()
        if kind == "exif":
            place = exif.get_ifd(ExifTags.IFD.GPSInfo)
            place[ExifTags.GPS.GPSLatitude] = (43.0, 7.0, 24.2)
        else:
            more["xmp"] = b'<rdf:Description exif:GPSLatitude="43,7.4N"/>'
        for number in (103, 104):
            picture = Image.new("RGB", (64, 48), (60, number, 40))
            picture.save(study / f"photos/2026-03-24/{number}_1.jpg", exif=exif, **more)
        (line,) = refused(study, people=True)
        assert line.startswith(
            "photos: found 2 photos that carry a position, such as photos/2026-03-24/103_1.jpg; "
        )
        assert line.endswith("--rounded-place --without-photos")

    def test_without_photos_their_notes_do_not_matter(self, study: Path) -> None:
        (study / "photos/2026-03-24/103_1.jpg").write_bytes(b"no photo at all")
        assert discreet(study, people=True, photos=False).files
        study = gathered(study.with_name("other"))
        (study / "photos/2026-03-24/103_1.jpg").write_bytes(b"no photo at all")
        assert len(refused(study)) == 2


def test_a_frozen_plan_is_changed_and_sealed_again(study: Path) -> None:
    frozen = freeze(study, lambda: ON_TIME)
    found = discreet(study)
    assert set(found.files) == {
        "diary.yaml",
        "plan/frozen/frozen.json",
        "plan/frozen/protocol.html",
        "plan/frozen/trial.yaml",
        "trial.yaml",
    }
    assert found.changed[-1].endswith(f"the printed protocol begins with {frozen.short}")
    for content in found.files.values():
        assert b"R. Example" not in content
        assert b"43.1234" not in content
        assert b"77.5678" not in content
    assert "43.1° N, 77.6° W" in found.files["plan/frozen/protocol.html"].decode()
    written(study, found)
    again, problems = read_frozen(study)
    assert problems == []
    assert again is not None
    assert again.definition.people[0].name == "person 1"
    assert again.files["plots.csv"] == frozen.files["plots.csv"]
