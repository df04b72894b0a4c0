from __future__ import annotations

import datetime as dt
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from drawn_study import draw_plots
from runs.phone import shoot
from wintersward.errors import Problem, WinterswardError
from wintersward.runs.checking import check
from wintersward.runs.standing import standing


def test_a_definition_alone(study: Path) -> None:
    found = check(study)
    assert (found.study, found.plots) == (study, 16)
    assert not found.diary
    assert not found.planned
    assert (found.sheets, found.photos) == (0, 0)


def test_everything_wrong_in_the_definition(study: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    text = text.replace("units: us", "units: yards").replace("blocks: 4", "blocks: four")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(WinterswardError) as caught:
        check(study)
    assert len(caught.value.problems) == 2


def test_everything_wrong_in_the_diary(study: Path) -> None:
    (study / "diary.yaml").write_text("covers:\n  - {on: soon}\n  - {off: late}\n")
    with pytest.raises(WinterswardError, match=r"diary.yaml:2:10: covers.1.on: found 'soon'"):
        check(study)


def test_the_diary_may_name_only_plots_of_the_plan(study: Path) -> None:
    (study / "diary.yaml").write_text("exclusions:\n  - {plot: 999, reason: flooded}\n")
    assert check(study).diary
    draw_plots(study)
    with pytest.raises(WinterswardError, match="found '999'"):
        check(study)


def test_what_was_gathered_is_checked_once_the_plots_are_drawn(study: Path) -> None:
    for name in ("sheets/a.csv", "sheets/~$b.xlsx", "photos/1/101.jpg", "photos/index.csv"):
        (study / name).parent.mkdir(parents=True, exist_ok=True)
        (study / name).write_text("")
    found = check(study)
    assert (found.sheets, found.photos) == (0, 0)
    assert found.waiting == found.plots
    assert (found.sums, found.flags, found.gaps, found.words()) == ((), None, (), [])
    draw_plots(study)
    with pytest.raises(WinterswardError) as caught:
        check(study)
    assert [problem.path for problem in caught.value.problems[:1]] == ["sheets/a.csv"]


def test_files_are_counted_once_the_plots_are_drawn(study: Path) -> None:
    draw_plots(study)
    (study / "sheets").mkdir()
    rows = "date,plot,rater,colour\n2026-03-24,101,rx,6\n2026-03-24,102,rx,7\n"
    (study / "sheets" / "colour.csv").write_text(rows)
    (study / "sheets" / "readme.txt").write_text("by hand")
    found = check(study)
    assert (found.sheets, found.photos, found.waiting) == (1, 0, 14)
    assert [one.words() for one in found.sums] == [
        "sheets/colour.csv: 3 rows = 1 of headings + 2 used; 2 values = 2 used"
    ]
    assert found.flags is not None
    assert "part of a visit" in set(found.flags["kind"])
    assert found.words()[:2] == [
        "the sheets:",
        "  - sheets/colour.csv: 3 rows = 1 of headings + 2 used; 2 values = 2 used",
    ]
    assert list(found.as_dict())[:3] == ["sheets", "flags", "weather_gaps"]


def test_diary_plots_and_sheets_are_told_together(study: Path) -> None:
    draw_plots(study)
    (study / "sheets").mkdir()
    rows = "date,plot,rater,colour\n2026-03-24,101,rx,six\n"
    (study / "sheets" / "colour.csv").write_text(rows)
    (study / "plan" / "plot_values.csv").write_text("plots,sun\n101,3\n", encoding="utf-8")
    (study / "diary.yaml").write_text("exclusions:\n  - {plot: 999, reason: flooded}\n")
    with pytest.raises(WinterswardError) as caught:
        check(study)
    said = [str(problem) for problem in caught.value.problems]
    assert [line.partition(" found")[0] for line in said[:3]] == [
        "diary.yaml:2:12: exclusions.1.plot:",
        "plan/plot_values.csv, row 1:",
        "sheets/colour.csv, row 2, column colour:",
    ]
    assert said[3:] == ["sheets/colour.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong"]


def test_what_was_read_is_handed_on(study: Path) -> None:
    assert check(study).known.trial is None
    draw_plots(study)
    found = check(study)
    told = standing(study, dt.date(2026, 1, 10), found.known)
    assert told == standing(study, dt.date(2026, 1, 10))


PHOTOS = """\
  green_cover: {from: photos, dates: [baseline, visits]}
analysis:
"""


class TestPhotos:
    @pytest.fixture
    def photos(self, study: Path) -> Path:
        text = (study / "trial.yaml").read_text(encoding="utf-8")
        (study / "trial.yaml").write_text(text.replace("analysis:\n", PHOTOS), encoding="utf-8")
        draw_plots(study)
        place = study / "photos" / "2026-03-24"
        place.mkdir(parents=True)
        for plot in (101, 102, 103):
            Image.new("RGB", (16, 12), (60, 90, 40)).save(place / f"{plot}_1.jpg")
        return place

    def test_that_cannot_be_opened_or_end_early_are_told(self, study: Path, photos: Path) -> None:
        assert check(study).photos == 3
        (photos / "101_1.jpg").write_bytes((photos / "101_1.jpg").read_bytes()[:-2])
        (photos / "103_1.jpg").write_bytes(b"")
        with pytest.raises(WinterswardError) as caught:
            check(study)
        rest = "; allowed: a whole JPEG, HEIC, PNG or TIFF photo in colour; copy it from the "
        rest += "camera "
        assert [str(problem) for problem in caught.value.problems] == [
            "photos/2026-03-24/101_1.jpg: found a photo that is cut short or damaged"
            f"{rest}again, or leave it out",
            f"photos/2026-03-24/103_1.jpg: found an empty file{rest}again, or leave it out",
        ]
        assert not (study / ".cache").exists()

    def test_of_a_phone_are_checked_alike(self, study: Path, photos: Path) -> None:
        (photos / "101_1.jpg").unlink()
        path = shoot(photos / "101_1.heic", None)
        assert check(study).photos == 3
        path.write_bytes(path.read_bytes()[:-30])
        with pytest.raises(WinterswardError) as caught:
            check(study)
        (said,) = map(str, caught.value.problems)
        assert said.startswith("photos/2026-03-24/101_1.heic: found a photo that is cut short")

    def test_their_values_are_not_looked_at(self, study: Path, photos: Path) -> None:
        flags = check(study).flags
        assert flags is not None
        assert set(flags["measure"]) >= {"green_cover"}
        assert flags.loc[flags["measure"] == "green_cover", "value"].isna().all()

    def test_without_a_list_are_drafted_and_told_with_the_sheets(
        self, study: Path, photos: Path
    ) -> None:
        (photos / "101_1.jpg").rename(photos / "IMG_2034.jpg")
        (study / "sheets").mkdir()
        (study / "sheets" / "colour.csv").write_text("date,plot\n", encoding="utf-8")
        for _ in range(2):
            with pytest.raises(WinterswardError) as caught:
                check(study)
            assert [problem.path for problem in caught.value.problems[:2]] == [
                "photos",
                "sheets/colour.csv",
            ]
            assert "look at photos/index_draft.html" in str(caught.value.problems[0])
        path = study / "photos" / "index_draft.csv"
        path.write_text("date,plot,sample,file\n2026-03-24,101,1,old.jpg\n", encoding="utf-8")
        with pytest.raises(WinterswardError) as caught:
            check(study)
        assert [problem.path for problem in caught.value.problems[:2]] == [
            "photos/index_draft.csv",
            "sheets/colour.csv",
        ]
        path.unlink()
        (photos / "IMG_2034.jpg").rename(photos / "101_1.jpg")
        (study / "sheets" / "colour.csv").unlink()
        assert check(study).photos == 3
        assert [one.name for one in (study / "photos").iterdir()] == ["2026-03-24"]

    def test_without_a_list_wait_for_a_sound_diary(self, study: Path, photos: Path) -> None:
        (photos / "101_1.jpg").rename(photos / "IMG_2034.jpg")
        (study / "diary.yaml").write_text("covers: soon\n")
        with pytest.raises(WinterswardError) as caught:
            check(study)
        assert [problem.path for problem in caught.value.problems] == ["diary.yaml", "photos"]
        assert not (study / "photos" / "index_draft.csv").exists()


def test_what_is_wrong_is_told_before_any_library_of_tables_is_loaded(study: Path) -> None:
    code = (
        "import sys; from wintersward.runs import check; check(sys.argv[1]); "
        "sys.exit(sorted({'pandas', 'numpy', 'matplotlib', 'papermill', "
        "'nbformat'} & set(sys.modules)) or None)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(study)], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")


def test_faulty_values_of_plots_are_told_with_the_other_problems(study: Path) -> None:
    draw_plots(study)
    (study / "plan" / "plot_values.csv").write_text("plots,sun\n101,3\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match="row 1: found no column plot"):
        check(study)
    (study / "sheets").mkdir()
    (study / "sheets" / "colour.csv").write_text("date,plot\n", encoding="utf-8")
    with pytest.raises(WinterswardError) as caught:
        check(study)
    placed = [problem for problem in caught.value.problems if isinstance(problem, Problem)]
    assert {problem.path for problem in placed} == {
        "plan/plot_values.csv",
        "sheets/colour.csv",
    }
