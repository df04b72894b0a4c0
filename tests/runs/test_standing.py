"""Where a trial stands by its files and the calendar, on any day that is asked for."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from functools import lru_cache
from pathlib import Path

import pytest

from e2e.example import EXAMPLE
from wintersward import scored as scoring
from wintersward.errors import WinterswardError
from wintersward.runs.due import Known, known_of
from wintersward.runs.files import sha256, write_json
from wintersward.runs.freezing import freeze
from wintersward.runs.provenance import input_files
from wintersward.runs.standing import STAGES, Standing, standing
from wintersward.trial import read_definition

COVERED = "covers:\n  - {on: 2026-01-19}\n"
UNCOVERED = "covers:\n  - {on: 2026-01-19, off: 2026-03-09}\n"
# One pin is missing in the example's diary.
BACK, ALL_BACK = "back: 289", "back: 290"
LABELS = ("fleece", "woven", "Spun", "hollow", "solid", "Hollow", "Solid", "No cover")


def planned(folder: Path) -> Path:
    """Copy the example study as it was planned; nothing has happened yet."""
    folder.mkdir()
    shutil.copy(EXAMPLE / "trial.yaml", folder)
    shutil.copytree(EXAMPLE / "plan", folder / "plan")
    return folder


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return planned(tmp_path / "ground")


Files = frozenset[tuple[Path, int, int]]


@lru_cache(maxsize=4)
def read_as(study: Path, _: Files) -> Known:
    """Read a study, once while its files are as they are."""
    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    return known_of(study, definition)


def at(study: Path, day: str) -> Standing:
    seen = [(path, path.stat()) for path in study.rglob("*") if path.is_file()]
    files = frozenset((path, found.st_size, found.st_mtime_ns) for path, found in seen)
    return standing(study, dt.date.fromisoformat(day), read_as(study, files))


def photos(study: Path, *days: str, leave_out: str = "") -> None:
    """Bring in the photos of days; what they show is not looked at here."""
    for day in days:
        for photo in (EXAMPLE / "photos" / day).iterdir():
            if photo.stem != f"{leave_out}_1":
                target = study / "photos" / day / photo.name
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(b"picture")


def diary(study: Path, text: str) -> None:
    (study / "diary.yaml").write_text(text, encoding="utf-8")


def made(study: Path, number: str = "001") -> Path:
    """Leave what a complete run leaves: its report, and what it was made from."""
    run = study / "runs" / number
    run.mkdir(parents=True)
    files = {
        path.relative_to(study).as_posix(): {"bytes": path.stat().st_size, "sha256": sha256(path)}
        for path in input_files(study)
    }
    write_json(run / "inputs.json", {"files": files})
    (run / "report.html").write_text("report")
    return run


def dues(found: Standing) -> list[tuple[str, str, str, dict[str, int]]]:
    return [(str(one.day), one.state, one.what, dict(one.lacking)) for one in found.due]


def test_a_trial_whose_plots_are_not_drawn(study: Path) -> None:
    shutil.rmtree(study / "plan")
    found = at(study, "2026-01-10")
    assert (found.stage, found.drawn, found.frozen, found.waiting) == ("planned", False, False, 36)
    assert found.words()[0] == "10 January 2026: planned, the plots not drawn yet"
    assert found.next.startswith("draw the plots: wintersward plan")


def test_a_plan_is_frozen_before_the_covers_go_on(study: Path) -> None:
    found = at(study, "2026-01-13")
    assert found.words() == [
        "13 January 2026: planned, the plots drawn, the plan not frozen yet",
        "  15 January 2026, in 2 days: baseline visit, green cover and colour rating",
        "  19 January 2026, in 6 days: covers on",
        f"next: freeze the plan before the covers go on, 19 January 2026: "
        f"wintersward plan --freeze {study}",
    ]
    freeze(study)
    found = at(study, "2026-01-13")
    assert found.words()[0] == "13 January 2026: planned, the plots drawn, the plan frozen"
    assert found.next == (
        "nothing is to be done today; 15 January 2026, in 2 days: baseline visit, green cover "
        "and colour rating"
    )


def test_a_visit_without_observations_is_overdue_the_day_after(study: Path) -> None:
    freeze(study)
    visit = {"green_cover": 36, "colour_rating": 36}
    assert dues(at(study, "2026-01-15"))[0] == ("2026-01-15", "today", "baseline visit", visit)
    assert at(study, "2026-01-15").next == "today: baseline visit, green cover and colour rating"
    found = at(study, "2026-01-16")
    assert dues(found)[0] == ("2026-01-15", "overdue", "baseline visit", visit)
    assert found.next == (
        "bring in what was observed on 15 January 2026, green cover and colour rating: nothing "
        "is there; what was never taken belongs under 'missing' in diary.yaml"
    )
    photos(study, "2026-01-15")
    assert dues(at(study, "2026-01-16"))[0][3] == {"colour_rating": 36}


def test_a_visit_is_incomplete_until_the_rest_is_there_or_declared(study: Path) -> None:
    photos(study, "2026-01-15", leave_out="204")
    lacking = ("2026-01-15", "incomplete", "baseline visit", {"green_cover": 1})
    assert lacking in dues(at(study, "2026-01-16"))
    assert ("2026-01-15", "overdue", "baseline visit", {"colour_rating": 36}) in dues(
        at(study, "2026-01-16")
    )
    assert "green cover (of 1 plot)" in "\n".join(at(study, "2026-01-16").words())
    diary(
        study,
        "missing:\n  - {measure: green_cover, plot: '204', date: 2026-01-15, reason: flooded}\n",
    )
    assert lacking not in dues(at(study, "2026-01-16"))


def test_covers_are_overdue_until_the_diary_tells_of_them(study: Path) -> None:
    freeze(study)
    photos(study, "2026-01-15")
    assert ("2026-01-19", "today", "covers on", {}) in dues(at(study, "2026-01-19"))
    found = at(study, "2026-01-20")
    assert ("2026-01-19", "overdue", "covers on", {}) in dues(found)
    assert found.stage == "planned"
    diary(study, COVERED)
    found = at(study, "2026-01-20")
    assert "covers on" not in [what for _, _, what, _ in dues(found)]
    assert (found.stage, found.words()[0]) == (
        "covered",
        "20 January 2026: covered since 19 January 2026",
    )
    assert ("2026-03-09", "overdue", "covers off", {}) in dues(at(study, "2026-03-12"))
    diary(study, UNCOVERED)
    assert "covers off" not in [what for _, _, what, _ in dues(at(study, "2026-03-12"))]
    assert at(study, "2026-03-12").words()[0] == (
        "12 March 2026: the covers came off on 9 March 2026; nothing observed since is there yet"
    )


def test_covers_that_are_overdue_are_asked_for(study: Path) -> None:
    freeze(study)
    photos(study, "2026-01-15")
    shutil.copytree(EXAMPLE / "sheets", study / "sheets")
    shutil.copy(EXAMPLE / "diary.yaml", study)
    text = (study / "diary.yaml").read_text()
    cut = text[: text.index("exclusions:")].replace(", off: 2026-03-09", "")
    diary(study, cut)
    found = at(study, "2026-03-10")
    assert found.next.startswith("today: visit, green cover")
    photos(study, "2026-03-10")
    assert at(study, "2026-03-10").next == (
        "write into diary.yaml, under 'covers', when the covers came off; it was planned for "
        "9 March 2026"
    )


def test_work_is_told_and_never_overdue(study: Path) -> None:
    diary(study, UNCOVERED)
    assert ("2026-03-25", "coming", "aeration", {}) in dues(at(study, "2026-03-24"))
    assert ("2026-03-25", "today", "aeration", {}) in dues(at(study, "2026-03-25"))
    assert "aeration" not in [what for _, _, what, _ in dues(at(study, "2026-03-26"))]
    assert ("2026-04-18", "coming", "first event", {}) in dues(at(study, "2026-04-11"))
    assert "first event" not in [what for _, _, what, _ in dues(at(study, "2026-04-10"))]


def test_a_day_of_work_without_a_name_is_told(study: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text().replace("  aeration: 2026-03-25\n", "")
    text = text.replace("    on: aeration\n", "    on: 2026-03-25\n")
    path.write_text(text.replace("applied: aeration ", "applied: 2026-03-25 "))
    assert ("2026-03-25", "coming", "work on the plots: aeration", {}) in dues(
        at(study, "2026-03-24")
    )


def test_later_names_what_lies_beyond_a_week(study: Path) -> None:
    found = at(study, "2026-01-07")
    assert found.due == ()
    assert found.later is not None
    assert found.later.day == dt.date(2026, 1, 15)
    assert [day for day, *_ in dues(at(study, "2026-01-08"))] == ["2026-01-15"]


def test_from_collecting_to_a_report(study: Path) -> None:
    diary(study, UNCOVERED)
    photos(study, "2026-01-15")
    assert at(study, "2026-03-10").stage == "covered"
    photos(study, "2026-03-10")
    found = at(study, "2026-03-11")
    assert found.stage == "collecting"
    assert found.words()[0] == (
        "11 March 2026: collecting; the primary question waits for 36 of 36 plots"
    )
    photos(study, "2026-03-24", leave_out="302")
    assert (at(study, "2026-03-24").stage, at(study, "2026-03-24").waiting) == ("collecting", 1)
    photos(study, "2026-03-24")
    assert at(study, "2026-03-24").stage == "ready"
    run = made(study)
    found = at(study, "2026-03-24")
    assert (found.stage, found.run, found.current) == ("reported", "001", True)
    assert found.words()[0] == "24 March 2026: reported, run 001 holds everything that is there"
    (run / "report.html").unlink()
    assert (at(study, "2026-03-24").stage, at(study, "2026-03-24").run) == ("ready", "")


def test_a_report_is_old_once_anything_was_added_or_changed(study: Path) -> None:
    photos(study, "2026-03-24")
    diary(study, UNCOVERED)
    made(study)
    assert at(study, "2026-03-25").current
    diary(study, UNCOVERED.replace("01-19", "01-20"))  # as long as before
    found = at(study, "2026-03-25")
    assert (found.stage, found.current) == ("ready", False)
    assert "run 001 is older than what is there now" in found.words()[0]
    diary(study, UNCOVERED)
    assert at(study, "2026-03-25").current
    photos(study, "2026-04-04")
    assert not at(study, "2026-03-25").current


def test_a_photo_that_was_taken_from_elsewhere_makes_a_report_old(study: Path) -> None:
    photos(study, "2026-03-24")
    made(study)
    photo = study / "photos" / "2026-03-24" / "101_1.jpg"
    photo.write_bytes(b"another")
    assert photo.stat().st_size == len(b"picture")
    assert not at(study, "2026-03-25").current


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example study with everything there, not to be changed."""
    return gathered(planned(tmp_path_factory.mktemp("whole") / "ground"))


@pytest.fixture
def complete(study: Path) -> Path:
    return gathered(study)


def gathered(study: Path) -> Path:
    """Bring in all that was gathered in the example study, and every pin."""
    for name in ("diary.yaml", "sheets", "loggers"):
        source = EXAMPLE / name
        copy = shutil.copytree if source.is_dir() else shutil.copy
        copy(source, study / name)
    text = (study / "diary.yaml").read_text(encoding="utf-8")
    assert text.count(BACK) == 1
    diary(study, text.replace(BACK, ALL_BACK))
    days = [folder.name for folder in (EXAMPLE / "photos").iterdir() if folder.is_dir()]
    photos(study, *days)
    return study


def test_when_everything_is_there_a_run_is_next_and_then_nothing(complete: Path) -> None:
    found = at(complete, "2026-05-01")
    assert (found.stage, found.due, found.later) == ("ready", (), None)
    assert found.next == (
        f"the primary question has its observations; make the report: wintersward run {complete}"
    )
    made(complete)
    found = at(complete, "2026-05-01")
    assert (found.stage, found.next) == ("reported", "nothing more is planned; read report.html")
    assert at(complete, "2026-04-17").next == (
        "the report is up to date; nothing is to be done today; 18 April 2026, tomorrow: first "
        "event"
    )


def test_a_pin_that_is_not_counted_out_comes_before_all_else(complete: Path) -> None:
    text, whole = (complete / "diary.yaml").read_text("utf-8"), at(complete, "2026-05-01").next
    diary(complete, text.replace(ALL_BACK, BACK))
    found = at(complete, "2026-05-01")
    lost = "1 of 292 bright steel pins not counted out of the turf"
    assert found.words()[1] == f"  overdue, 9 March 2026: {lost}"
    assert found.next.startswith(f"search where the covers lay: {lost}; nobody plays, ")
    assert found.next.endswith(f"; then: {whole}")
    assert found.as_dict()["due"][0]["kind"] == "pins"
    # While covers lie, pins belong in the turf.
    assert "pins" not in at(complete, "2026-03-08").next
    before, _, after = text.partition("  - {date: 2026-03-09, what: bright steel pins")
    diary(complete, before + after[after.index("\n\n") :])
    assert "292 of 292 bright steel pins not counted out" in at(complete, "2026-05-01").next


@pytest.mark.parametrize("day", ["2026-01-10", "2026-03-23", "2026-03-24", "2026-05-01"])
def test_no_treatment_is_named_or_compared(whole: Path, day: str) -> None:
    found = at(whole, day)
    told = json.dumps(found.as_dict()) + "\n".join(found.words())
    assert [label for label in LABELS if label in told.replace(str(whole), "")] == []


def test_the_keys_are_the_same_whatever_is_there(study: Path, complete: Path) -> None:
    made(complete)
    found = at(complete, "2026-03-24").as_dict()
    assert json.loads(json.dumps(found)) == found
    assert list(found) == [
        *("today", "stage", "plots", "covers", "primary", "due", "later", "run", "next")
    ]
    assert found["stage"] in STAGES
    assert found["covers"] == {"on": "2026-01-19", "off": "2026-03-09"}
    assert found["primary"] == {"measure": "green_cover", "on": "2026-03-24", "plots_lacking": 0}
    assert found["run"] == {"number": "001", "up_to_date": True}
    assert found["due"] == [
        {
            "day": "2026-03-25",
            "kind": "work",
            "what": "aeration",
            "state": "coming",
            "measures": [],
        }
    ]
    shutil.rmtree(study / "plan")
    shutil.rmtree(study / "sheets")
    shutil.rmtree(study / "runs")
    (study / "diary.yaml").unlink()
    bare = at(study, "2026-01-15").as_dict()
    assert list(bare) == list(found)
    assert bare["run"] is None
    assert bare["due"][0]["measures"] == [
        {"name": "green_cover", "plots_lacking": 36},
        {"name": "colour_rating", "plots_lacking": 36},
    ]


def test_what_stops_a_run_is_told(study: Path) -> None:
    day = dt.date(2026, 3, 24)
    diary(study, "covers: soon\n")
    with pytest.raises(WinterswardError, match="diary.yaml"):
        standing(study, day)
    shutil.rmtree(study / "plan")
    with pytest.raises(WinterswardError, match="diary.yaml"):
        standing(study, day)
    (study / "trial.yaml").write_text("title: x\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match="trial.yaml"):
        standing(study, day)


def test_no_photo_is_opened(study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    photos(study, "2026-03-24")

    def scored(*_: object, **__: object) -> None:
        raise AssertionError("a photo was scored")

    monkeypatch.setattr(scoring, "score_photos", scored)
    assert at(study, "2026-03-24").stage == "ready"


def test_what_was_read_before_is_not_read_again(
    complete: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    day = dt.date(2026, 5, 1)
    definition, _ = read_definition(complete)
    assert definition is not None
    known = known_of(complete, definition)
    fresh = standing(complete, day)

    def read(*_: object) -> None:
        raise AssertionError("a study was read again")

    monkeypatch.setattr("wintersward.runs.standing.read_definition", read)
    monkeypatch.setattr("wintersward.runs.standing.known_of", read)
    assert standing(complete, day, known) == fresh


def test_today_is_the_clocks_where_no_day_is_given(study: Path) -> None:
    before = dt.date.today()
    assert before <= standing(study).today <= dt.date.today()
