"""A list of photos is drafted from times and walking order, and is the person's to confirm."""

from __future__ import annotations

import csv
import datetime as dt
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from e2e.example import EXAMPLE
from runs.phone import shoot, walk_through
from wintersward import design, records
from wintersward.errors import WinterswardError
from wintersward.runs.checking import check
from wintersward.runs.photo_drafts import Drafted, draft_photos
from wintersward.study import open_study, record_problems
from wintersward.trial import read_definition

DAY = dt.date(2026, 3, 24)
# A walk of 36 plots, at a pace as people have it.
PACE = [20 + number % 7 for number in range(35)]
LINES = (EXAMPLE / "plan" / "plots.csv").read_text(encoding="utf-8").splitlines()
WALK = [row["plot"] for row in sorted(csv.DictReader(LINES), key=lambda row: int(row["walk"]))]


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """The example study before anybody took a photo or filled in a sheet."""
    folder = tmp_path / "ground"
    folder.mkdir()
    shutil.copy(EXAMPLE / "trial.yaml", folder)
    shutil.copytree(EXAMPLE / "plan", folder / "plan")
    (folder / "photos").mkdir()
    return folder


def drafted(study: Path) -> list[dict[str, str]]:
    with (study / "photos" / "index_draft.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def column(study: Path, name: str) -> list[str]:
    return [row[name] for row in drafted(study)]


def page(study: Path) -> str:
    return (study / "photos" / "index_draft.html").read_text(encoding="utf-8")


def test_photos_of_the_example_find_their_plots_by_their_times_alone(study: Path) -> None:
    truth = {}
    for number, plot in enumerate(WALK):
        name = f"P{number * 7 % 36 + 100}0324.jpg"  # no order in the names
        taken = dt.datetime(2026, 3, 24, 10) + dt.timedelta(seconds=40 * number + number % 5)
        with Image.open(EXAMPLE / "photos" / str(DAY) / f"{plot}_1.jpg") as painted:
            shoot(study / "photos" / name, taken, painted)
        truth[name] = plot
    assert draft_photos(study) == Drafted(36, 0, False)
    assert {row["file"]: row["plot"] for row in drafted(study)} == truth
    assert set(column(study, "sure")) == {"yes"}
    assert set(column(study, "date")) == {"2026-03-24"}
    assert column(study, "taken") == sorted(column(study, "taken"))
    assert "leece" not in page(study)
    assert "pen," not in page(study)


def test_a_draft_is_confirmed_by_its_new_name(study: Path) -> None:
    names = walk_through(study / "photos" / "phone" / "100APPLE", DAY, PACE)
    with pytest.raises(WinterswardError) as stopped:
        check(study)
    assert [str(problem) for problem in stopped.value.problems] == [
        "photos: found 36 photos whose names do not tell plot and date "
        "(photos/phone/100APPLE/IMG_2034.jpg, photos/phone/100APPLE/IMG_2035.jpg, ...); none of "
        "them is used until you look at photos/index_draft.html, correct photos/index_draft.csv "
        "and rename it to index.csv"
    ]
    assert record_problems(study) == stopped.value.problems
    place = study / "photos"
    (place / "index_draft.csv").rename(place / "index.csv")
    found = check(study)
    assert found.photos == 36
    assert sorted(path.name for path in place.iterdir()) == ["index.csv", "phone"]
    trial = open_study(study)
    index, problems = records.photo_index(study, trial.definition, trial.plots)
    assert problems == []
    assert [row.path.rsplit("/")[-1] for row in index.sort_values("path").itertuples()] == names
    assert index.sort_values("path")["plot"].tolist() == WALK


def test_before_a_draft_the_problem_says_how_to_get_one(study: Path) -> None:
    walk_through(study / "photos", DAY, [20])
    (said,) = map(str, record_problems(study))
    assert said.startswith("photos: found 2 photos whose names do not tell plot and date")
    assert "have a list of them drafted: wintersward check" in said


def test_photos_of_a_phone_are_drafted_as_it_names_them(study: Path) -> None:
    names = walk_through(study / "photos", DAY, PACE, name="IMG_{:04}.heic")
    whole = (study / "photos" / names[7]).read_bytes()
    (study / "photos" / names[7]).write_bytes(whole[:-100])
    assert draft_photos(study) == Drafted(36, 29, False)  # from the gap on a person has to tell
    assert [row["sure"] for row in drafted(study) if row["file"] == names[7]] == [
        "no: the file cannot be opened"
    ]
    (study / "photos" / names[7]).write_bytes(whole)
    assert draft_photos(study) == Drafted(36, 0, False)
    assert column(study, "file") == names
    assert column(study, "plot") == WALK
    assert column(study, "taken")[0] == "2026-03-24 11:00:00"
    assert page(study).count("data:image/jpeg") == 36


def test_photos_that_tell_their_plot_need_no_draft(study: Path) -> None:
    assert draft_photos(study) is None
    shoot(study / "photos" / str(DAY) / "101_1.jpg", None)
    assert draft_photos(study) is None
    assert [path.name for path in (study / "photos").iterdir()] == [str(DAY)]


def test_a_draft_holds_the_photos_that_their_names_tell(study: Path) -> None:
    shoot(study / "photos" / str(DAY) / f"{WALK[0]}_1.jpg", None)
    walk_through(study / "photos", DAY, PACE[1:])
    assert draft_photos(study) == Drafted(35, 0, False)
    assert drafted(study)[0]["sure"] == "yes: by its name"
    assert column(study, "plot") == WALK


def test_a_plot_that_is_declared_missing_is_passed_by(study: Path) -> None:
    walk_through(study / "photos", DAY, PACE[1:])
    assert draft_photos(study) == Drafted(35, 35, False)
    gone = WALK[4]
    for entry in (f"measure: green_cover, plot: '{gone}'", f"plots: ['{gone}']"):
        (study / "diary.yaml").write_text("")
        assert draft_photos(study) == Drafted(35, 35, False)
        (study / "diary.yaml").write_text(
            f"missing:\n  - {{{entry}, date: {DAY}, reason: flooded}}\n"
        )
        assert draft_photos(study) == Drafted(35, 0, False)
        assert column(study, "plot") == [plot for plot in WALK if plot != gone]


def test_a_draft_that_was_changed_stays_and_the_sheet_follows_it(study: Path) -> None:
    walk_through(study / "photos", DAY, [*PACE[:10], 2, *PACE[10:]])
    assert draft_photos(study) == Drafted(37, 1, False)
    path = study / "photos" / "index_draft.csv"
    assert "no: one more of plot" in page(study)
    changed = path.read_text(encoding="utf-8-sig").replace(f",{WALK[0]},1,", ",604,1,", 1)
    path.write_text(changed, encoding="utf-8")
    assert draft_photos(study) == Drafted(37, 1, True)
    assert path.read_text(encoding="utf-8") == changed
    assert f"plot {WALK[0]}, taken at 11:00:00" not in page(study)
    assert "plot 604, taken at 11:00:00" in page(study)
    shoot(study / "photos" / "IMG_3000.jpg", dt.datetime(2026, 3, 24, 15))
    assert draft_photos(study) == Drafted(38, 2, True)
    assert path.read_text(encoding="utf-8") == changed


def test_a_draft_without_its_record_counts_as_changed(study: Path) -> None:
    names = walk_through(study / "photos", DAY, PACE)
    mine = f"date,plot,sample,file\n2026-03-24,604,1,{names[0]}\n"
    path = study / "photos" / "index_draft.csv"
    path.write_text(mine, encoding="utf-8")
    (study / "photos" / "index_draft.html").write_text("mine", encoding="utf-8")
    assert draft_photos(study) == Drafted(36, 35, True)
    assert path.read_text(encoding="utf-8") == mine
    assert page(study) == "mine"
    assert record_problems(study)


def test_a_changed_draft_that_serves_nothing_is_told(study: Path) -> None:
    walk_through(study / "photos", DAY, PACE)
    path = study / "photos" / "index_draft.csv"
    path.write_text("date,plot,sample,file\n2026-03-24,604,1,old.jpg\n", encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises(WinterswardError) as stopped:
        check(study)
    assert str(stopped.value) == (
        "photos/index_draft.csv: found a draft that you changed, without any of 36 photos that "
        "lack a plot; rename it to index.csv, or delete it if index.csv is right; then check again"
    )
    assert path.read_bytes() == before


def test_a_draft_that_nobody_changed_is_made_anew(study: Path) -> None:
    names = walk_through(study / "photos", DAY, [*PACE[:10], 8, *PACE[10:]])
    assert draft_photos(study) == Drafted(37, 26, False)
    (study / "photos" / names[11]).unlink()
    assert draft_photos(study) == Drafted(36, 0, False)
    shutil.rmtree(study / "photos")
    (study / "photos").mkdir()
    assert draft_photos(study) is None


def test_nothing_is_written_twice_nor_opened_twice(
    study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    walk_through(study / "photos", DAY, PACE)
    draft_photos(study)
    before = {path: path.stat().st_mtime_ns for path in (study / "photos").iterdir()}

    def opened(*_: object) -> None:
        raise AssertionError("a photo was opened again")

    for name in ("open_photo", "camera_of", "refused_photos"):
        monkeypatch.setattr(f"wintersward.runs.photo_drafts.{name}", opened)
    draft_photos(study)
    assert {path: path.stat().st_mtime_ns for path in (study / "photos").iterdir()} == before


def test_what_a_list_lacks_is_drafted_behind_what_it_holds(study: Path) -> None:
    place = study / "photos"
    walk_through(place, dt.date(2026, 3, 10), PACE)
    draft_photos(study)
    old = [{**row, "weather": "fog"} for row in drafted(study)]
    old[0]["plot"], old[1]["plot"] = old[1]["plot"], old[0]["plot"]
    with (place / "index.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(old[0]), delimiter=";")
        writer.writeheader()
        writer.writerows(old)
    listed = (place / "index.csv").read_bytes()
    assert draft_photos(study) is None
    walk_through(place / "card", DAY, PACE, 7001)
    shoot(place / "2026-03-16" / "101_1.jpg", None)
    assert draft_photos(study) == Drafted(37, 0, False)
    rows = drafted(study)
    assert list(rows[0]) == ["date", "plot", "sample", "file", "weather", "taken", "sure"]
    assert [{k: row[k] for k in old[0]} for row in rows[:36]] == old
    assert (rows[36]["date"], rows[36]["plot"]) == ("2026-03-16", "101")
    assert [row["plot"] for row in rows[37:]] == WALK
    assert (place / "index.csv").read_bytes() == listed
    assert "10 March 2026" not in page(study)
    assert "24 March 2026" in page(study)
    (said,) = map(str, record_problems(study))
    assert said.startswith("photos: found 37 photos that photos/index.csv lacks")
    (place / "index_draft.csv").replace(place / "index.csv")
    assert check(study).photos == 73


DOUBTS: dict[str, tuple[str, dt.datetime | None, str, str]] = {
    "no time": (
        "WhatsUp.jpg",
        None,
        "",
        "no: the file does not tell when it was taken",
    ),
    "no time, folder of a day": (
        "2026-03-24/x.jpg",
        None,
        "2026-03-24",
        "no: the file does not tell when it was taken",
    ),
    "no visit": (
        "x.jpg",
        dt.datetime(2026, 3, 23, 9),
        "2026-03-23",
        "no: no photos are planned on this day; was the camera's clock wrong, put them into a "
        "folder named by the date; was the visit moved, change trial.yaml",
    ),
}


@pytest.mark.parametrize("name", DOUBTS)
def test_a_photo_without_a_sound_day_gets_no_plot(study: Path, name: str) -> None:
    file, taken, day, sure = DOUBTS[name]
    shoot(study / "photos" / file, taken)
    assert draft_photos(study) == Drafted(1, 1, False)
    (row,) = drafted(study)
    assert (row["date"], row["plot"], row["sample"], row["file"]) == (day, "", "", file)
    assert row["sure"] == sure


def test_a_file_that_is_no_photo_gets_no_plot(study: Path) -> None:
    (study / "photos" / "IMG_1.jpg").write_bytes(b"picture")
    assert draft_photos(study) == Drafted(1, 1, False)
    assert column(study, "sure") == ["no: the file cannot be opened"]
    assert "cannot be opened" in page(study)


def test_a_wrong_clock_gives_way_to_the_folder(study: Path) -> None:
    walk_through(study / "photos" / str(DAY), dt.date(2019, 1, 1), PACE)
    assert draft_photos(study) == Drafted(36, 0, False)
    assert set(column(study, "date")) == {"2026-03-24"}
    assert set(column(study, "sure")) == {
        "look: day by the folder; the camera's clock said 2019-01-01"
    }


def test_photos_of_two_days_in_the_folder_of_one_are_not_given_to_it(study: Path) -> None:
    walk_through(study / "photos" / str(DAY), DAY, PACE)
    walk_through(study / "photos" / str(DAY), dt.date(2026, 4, 4), PACE[:3], 3000)
    assert draft_photos(study) == Drafted(40, 4, False)
    assert column(study, "sure")[-1] == (
        "no: taken on 2026-04-04 by the camera's clock, but in the folder of 2026-03-24"
    )


def test_several_photos_of_a_plot_are_numbered(study: Path) -> None:
    path = study / "trial.yaml"
    path.write_text(path.read_text().replace("label: Green cover\n    per_plot: 1", "per_plot: 2"))
    gaps = [4 if number % 2 == 0 else 20 for number in range(71)]
    walk_through(study / "photos", DAY, gaps)
    assert draft_photos(study) == Drafted(72, 0, False)
    assert column(study, "sample") == ["1", "2"] * 36
    assert column(study, "plot") == [plot for plot in WALK for _ in range(2)]


def test_where_another_ground_begins_a_look_is_asked_for(
    study: Path, grounds: Callable[[Path], list[str]]
) -> None:
    walk = grounds(study)
    walk_through(study / "photos", DAY, [20] * (len(walk) - 1))
    found = draft_photos(study)
    assert found is not None
    assert found.without_plot == 0
    assert column(study, "plot") == walk
    asked = [row["plot"] for row in drafted(study) if "were the grounds walked" in row["sure"]]
    assert asked == [walk[0], walk[len(walk) // 2]]


@pytest.fixture
def grounds() -> Callable[[Path], list[str]]:
    """Lay the trial on two grounds, and give its plots as they are walked."""

    def lay(study: Path) -> list[str]:
        path = study / "trial.yaml"
        text = path.read_text()
        # A stand is told by its distance from the middle of one ground.
        text = re.sub(r"  shade:.*\n(    - .*\n)+", "", text)
        path.write_text(
            text.replace("  blocks: 6\n", "  blocks: 2\n  grounds: {upper: Upper, lower: Lower}\n")
        )
        definition, _ = read_definition(study)
        assert definition is not None
        plots = design.draw(definition)
        shutil.rmtree(study / "plan")
        design.write_plots(plots, study / "plan" / "plots.csv")
        walk = []
        for ground in ("upper", "lower"):
            here = plots[plots["ground"] == ground].sort_values("walk")
            walk += here["plot"].tolist()
        return walk

    return lay


def test_a_run_does_not_read_a_draft(study: Path) -> None:
    from wintersward.runs.provenance import input_files

    walk_through(study / "photos", DAY, [20])
    before = input_files(study)
    draft_photos(study)
    assert input_files(study) == before
