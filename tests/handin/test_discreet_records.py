"""Names in records of any encoding, in workbooks, and in what a run wrote."""

from __future__ import annotations

import io
import unicodedata
import zipfile
from pathlib import Path

import openpyxl
import pytest
from openpyxl.comments import Comment

from handin.handed_in import TEXT, finish, gathered, read
from wintersward.errors import WinterswardError
from wintersward.handin.discreet_run import discreet_run
from wintersward.handin.discretion import Discretion, discretion
from wintersward.handin.workbook_authors import without_author

RENE = TEXT.replace("R. Example", "René Dubois")
SHEET = "date,plot,rater,colour,note\n2026-03-24,101,rx,6,{}\n"
HINT = "take it out there, run again, and bundle then"


def found_in(study: Path) -> Discretion:
    made_from = read(finish(study) / "inputs.json")
    return discretion(study, made_from, people=False, exact_place=True, photos=True)


def refused(study: Path) -> list[str]:
    with pytest.raises(WinterswardError) as caught:
        found_in(study)
    return str(caught.value).splitlines()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_a_name_in_any_encoding(tmp_path: Path, encoding: str) -> None:
    study = gathered(tmp_path / "study", RENE)
    text = SHEET.format("René Dubois was away")
    (study / "sheets" / "colour.csv").write_bytes(text.encode(encoding))
    assert refused(study) == [f"sheets/colour.csv:2:21: found 'René Dubois'; {HINT}"]


@pytest.mark.parametrize("other", ["NFC", "NFD"])
@pytest.mark.parametrize("form", ["NFC", "NFD"])
def test_a_name_whose_letters_are_composed_or_not(tmp_path: Path, form: str, other: str) -> None:
    def written(text: str, form: str) -> str:
        return unicodedata.normalize(form, text)  # type: ignore[arg-type]

    study = gathered(tmp_path / "study", written(RENE, form))
    text = written(SHEET.format("RENÉ  dubois"), other)
    (study / "sheets" / "colour.csv").write_text(text, encoding="utf-8")
    (line,) = refused(study)
    assert line.startswith("sheets/colour.csv:2:21: found ")


def test_the_surname_first(tmp_path: Path) -> None:
    study = gathered(tmp_path / "study", RENE)
    (study / "sheets" / "colour.csv").write_text(SHEET.format('"Dubois, René, late"'))
    assert refused(study) == [f"sheets/colour.csv:2:22: found 'René Dubois'; {HINT}"]


def test_parts_of_a_name_in_a_sheet_are_told(tmp_path: Path) -> None:
    study = gathered(tmp_path / "study", RENE)
    (study / "sheets" / "colour.csv").write_text(SHEET.format("Mr. Dubois") * 12)
    look = found_in(study).look
    assert look[0] == (
        "sheets/colour.csv:2: 'Dubois' may be a part of a name; it was left as it is"
    )
    assert look[10:] == ("sheets/colour.csv: and 2 more such words",)


def parts_of(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        return {name: book.read(name) for name in book.namelist()}


def test_what_spreadsheet_programs_note_of_a_person_goes() -> None:
    book, made = openpyxl.Workbook(), io.BytesIO()
    book.active["A1"] = "date"
    book.active["A1"].comment = Comment("late", "Rosa Example")
    book.save(made)
    parts = parts_of(made.getvalue())
    place = b'<x15ac:absPath url="C:\\Users\\Rosa Example\\turf\\" xmlns:x15ac="y"/>'
    choice = b'<mc:AlternateContent xmlns:mc="x"><mc:Choice>' + place
    choice += b"</mc:Choice></mc:AlternateContent><sheets>"
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(b"<sheets>", choice)
    parts["docProps/custom.xml"] = b"<p><vt:lpwstr>Rosa Example</vt:lpwstr></p>"
    parts["xl/persons/person.xml"] = b'<p displayName="Rosa Example" userId="rosa.example"/>'
    with zipfile.ZipFile(changed := io.BytesIO(), "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    after = parts_of(without_author(changed.getvalue()))
    assert [*after] == [*parts]
    assert not [name for name, content in after.items() if b"osa" in content]
    assert b"late" in b"".join(after.values())
    assert b"<mc:Choice></mc:Choice>" in after["xl/workbook.xml"]


@pytest.mark.parametrize(
    ("said", "column"), [("by R. Example", 9), ("{home}", 6), ("{study}", 6), ("R. Ex&ample", 6)]
)
def test_what_the_new_run_wrote_is_looked_through(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: str, column: int
) -> None:
    name = "R. Ex&ample" if "&" in said else "R. Example"
    study = gathered(tmp_path / "study", TEXT.replace("R. Example", name))
    found = found_in(study)
    home = tmp_path / "homes" / "rosa"
    monkeypatch.setattr(Path, "home", lambda: home)
    said = said.format(home=home, study=study)

    def run_study(copy: Path, _tell: object) -> Path:
        made = finish(copy, "002")
        written = said.replace("&", "&amp;")
        (made / "warnings.txt").write_text(f"one line\nfrom {written}/notes\n")
        return made

    monkeypatch.setattr("wintersward.runs.runner.run", run_study)
    with (
        pytest.raises(WinterswardError) as caught,
        discreet_run(study, study / "runs" / "001", found, False, print),
    ):
        pass
    (line,) = str(caught.value).splitlines()
    shown = said.removeprefix("by ").replace("&", "&amp;")
    assert line == f"run/warnings.txt:2:{column}: found '{shown}'; {HINT}"
    # With names left as they are, nothing is looked for.
    with discreet_run(study, study / "runs" / "001", found, True, print) as made:
        assert made.run.name == "002"
