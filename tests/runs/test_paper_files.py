"""Papers of a study: all of them are written, and what a person changed there stays."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import shutil
from pathlib import Path

import pytest

from wintersward import design
from wintersward.errors import WinterswardError
from wintersward.runs.paper_files import paper_for, write_papers
from wintersward.runs.pictures import svg
from wintersward.runs.planning import plan
from wintersward.study import open_study

SOUND = Path(__file__).parents[1] / "trial" / "sound.yaml"


# A smaller trial, where its size does not matter.
FEW = (
    ("blocks: 6", "blocks: 2"),
    ("visits: [2026-03-10, 2026-03-16, 2026-03-24, 2026-04-04, 2026-04-17]",
     "visits: [2026-03-16, 2026-03-24]"),
    ("dates: [2026-03-24, 2026-04-17]", "dates: [2026-03-24]"),
)  # fmt: skip


def papers_of(folder: Path, text: str) -> list[Path]:
    """Draw the plots of a definition and write its papers."""
    folder.mkdir()
    (folder / "trial.yaml").write_text(text, encoding="utf-8", newline="")
    plan(folder)
    return write_papers(folder)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Path]]:
    """A study folder with its papers, not to be changed, and what was written."""
    folder = tmp_path_factory.mktemp("papers") / "our trial"
    return folder, papers_of(folder, SOUND.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def made_small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small study folder with its papers, not to be changed."""
    folder = tmp_path_factory.mktemp("papers") / "our trial"
    text = SOUND.read_text(encoding="utf-8")
    for old, new in FEW:
        assert text.count(old) == 1
        text = text.replace(old, new)
    papers_of(folder, text)
    return folder


@pytest.fixture
def study(made: tuple[Path, list[Path]], tmp_path: Path) -> Path:
    """A study folder with its papers."""
    return shutil.copytree(made[0], tmp_path / "our trial")


@pytest.fixture
def small(made_small: Path, tmp_path: Path) -> Path:
    """A small study folder with its papers."""
    return shutil.copytree(made_small, tmp_path / "our trial")


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (folder / "plan" / "papers").iterdir()}


def test_every_paper_is_written(made: tuple[Path, list[Path]]) -> None:
    study, written = made
    assert written == sorted(written)
    names = {path.relative_to(study / "plan" / "papers").as_posix() for path in written}
    assert {path.name for path in written} == set(contents(study)) - {".made.json"}
    assert names >= {
        "2026-03-24_te.xlsx",
        "2026-03-24_te.csv",
        "2026-03-24_te_second_round.xlsx",
        "2026-03-24_te_second_round.csv",
        "2026-03-24_photos.xlsx",
        "2026-03-24_readings.xlsx",
        "2026-03-24_reference_pull_force.xlsx",
        "crew_cover_log.xlsx",
        "crew_pin_count.xlsx",
        "calendar.ics",
        "crew_card.html",
        "labels.html",
    }
    # The rest of the study is as it was.
    assert {path.name for path in study.iterdir()} == {"trial.yaml", "plan"}


def test_the_crew_card_has_the_map_with_treatments(study: Path) -> None:
    card = contents(study)["crew_card.html"].decode("utf-8")
    (data,) = re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', card)
    drawing = base64.b64decode(data)
    assert b"<svg" in drawing
    trial = open_study(study)
    assert drawing == svg(design.plot_map(trial.plots, trial.definition))
    assert drawing != svg(design.plot_map(trial.plots, trial.definition, treatments=False))


def test_papers_that_are_made_again_are_the_same(study: Path) -> None:
    before = contents(study)
    assert {path.name for path in write_papers(study)} == set(before) - {".made.json"}
    assert contents(study) == before


def test_without_plots_there_are_no_papers(tmp_path: Path) -> None:
    (tmp_path / "trial.yaml").write_bytes(SOUND.read_bytes())
    with pytest.raises(WinterswardError, match=r"plan/plots\.csv"):
        write_papers(tmp_path)
    assert not (tmp_path / "plan").exists()


def test_a_paper_that_was_changed_by_hand_stays_and_nothing_is_written(small: Path) -> None:
    place = small / "plan" / "papers"
    (place / "2026-03-24_te.csv").write_text("filled in", encoding="utf-8")
    (place / "labels.html").write_text("mine", encoding="utf-8")
    (place / "2026-03-24_rx.csv").unlink()
    before = contents(small)
    with pytest.raises(WinterswardError) as told:
        write_papers(small)
    hint = "put it into sheets if it is filled in, or delete it; then make the papers again"
    assert str(told.value).splitlines() == [
        f"plan/papers/{name}: found a paper that was changed by hand; {hint}"
        for name in ("2026-03-24_te.csv", "labels.html")
    ]
    assert contents(small) == before


def test_papers_follow_the_definition_where_nobody_changed_them(small: Path) -> None:
    place = small / "plan" / "papers"
    mine = place / "2026-03-16_rx.csv"
    mine.write_text("filled in", encoding="utf-8")
    (place / "notes.txt").write_text("a note", encoding="utf-8")
    definition = small / "trial.yaml"
    text = definition.read_text(encoding="utf-8")
    definition.write_text(text.replace("2026-03-16", "2026-03-17"), encoding="utf-8")
    names = {path.name for path in write_papers(small)}
    assert "2026-03-17_te.xlsx" in names
    assert not (place / "2026-03-16_te.xlsx").exists()
    # What is not asked for any more, but was filled in, and what was never a paper, stay.
    assert mine.read_text(encoding="utf-8") == "filled in"
    assert (place / "notes.txt").exists()


@pytest.mark.parametrize("record", ["{", "[]", '{"labels.html": 3}', "\xff"])
def test_without_a_sound_record_a_paper_that_differs_is_a_persons(small: Path, record: str) -> None:
    place = small / "plan" / "papers"
    (place / ".made.json").write_text(record, encoding="latin-1")
    (place / "labels.html").write_text("mine", encoding="utf-8")
    with pytest.raises(WinterswardError, match=r"labels\.html: found a paper that was changed"):
        write_papers(small)


def test_nothing_outside_the_papers_is_taken_away(small: Path) -> None:
    kept = small / "notes.txt"
    kept.write_text("a note", encoding="utf-8")
    told = {"../../notes.txt": hashlib.sha256(b"a note").hexdigest()}
    (small / "plan" / "papers" / ".made.json").write_text(json.dumps(told), encoding="utf-8")
    write_papers(small)
    assert kept.read_text(encoding="utf-8") == "a note"


def test_papers_have_the_size_that_printers_of_the_country_hold() -> None:
    assert [paper_for(one) for one in ("US", "CA", "DE", "GB")] == ["letter", "letter", "a4", "a4"]
