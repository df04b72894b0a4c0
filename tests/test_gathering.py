"""Everything that was gathered is read together, and what is wrong is told together."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import Workbook
from PIL import Image

from drawn_study import drawn_files, laid_out
from wintersward.errors import Problem, WinterswardError
from wintersward.gathering import names_in
from wintersward.study import Trial, gathered, open_study, opened, record_problems

SOUND = Path(__file__).parent / "trial" / "sound.yaml"
DAY = "2026-03-24"
PULLS = "date,plot,sample,pull_force,remarks\n"
RATINGS = "date,plot,rater,colour_rating\n"
UNMET = (
    "; correct the entry, or bring back the observation; if it was never made, it is missing by "
    "itself: remove the entry and tell why under deviations"
)
Write = Callable[[str, str], Path]


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The files of a plan, drawn once."""
    return drawn_files(SOUND, tmp_path_factory.mktemp("drawn"))


@pytest.fixture
def study(tmp_path: Path, drawn: dict[str, bytes]) -> Path:
    return laid_out(drawn, tmp_path)


@pytest.fixture
def write(study: Path) -> Write:
    def write_text(name: str, text: str) -> Path:
        path = study / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path

    return write_text


def shoot(study: Path, *names: str) -> None:
    for name in names:
        path = study / "photos" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        Image.new("RGB", (160, 120), (60, 90, 40)).save(path, "JPEG")


def told(study: Path) -> list[str]:
    return [str(problem) for problem in record_problems(study)]


def test_everything_that_is_wrong_is_told_at_once(study: Path, write: Write) -> None:
    write("sheets/pulls.csv", PULLS + f"{DAY},101,1,30,\n{DAY},102,1,thirty,wet\n,,,,\n")
    write("sheets/ratings.csv", RATINGS + f"{DAY},101,rx,6\n")
    shoot(study, f"{DAY}/101_1.jpg", f"{DAY}/999_1.jpg")
    write(
        "diary.yaml",
        "sheets:\n  - file: pull.csv\nweather: {file: w.csv, units: {temperature: degF}}\n"
        "exclusions:\n  - {plot: '102', measure: pull_force, reason: wet}\n"
        "  - {plot: '103', measure: green_cover, reason: shadow}\n",
    )
    assert told(study) == [
        "diary.yaml:2:11: sheets.1.file: found 'pull.csv'; allowed: a file in sheets (pulls.csv, "
        "ratings.csv); did you mean pulls.csv?",
        "diary.yaml:3:17: weather.file: found 'w.csv'; allowed: a file of kind .csv, .xlsx, .xlsm "
        "in the folder loggers; put it into loggers",
        f"photos/{DAY}/999_1.jpg: found plot '999'; allowed: a plot of plan/plots.csv (101, 102, "
        "103, 104, 105, 106 ...)",
        "sheets/pulls.csv, row 3, column pull_force: found 'thirty'; allowed: a number in lbf; for "
        "a value that could not be taken, write NA",
        "sheets/pulls.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 wrong; "
        "not read: remarks",
    ]
    trial = open_study(study)
    with pytest.raises(WinterswardError) as caught:
        trial.observations()
    assert [str(problem) for problem in caught.value.problems] == told(study)
    with pytest.raises(WinterswardError) as caught:
        trial.sheet_sums()
    assert [str(problem) for problem in caught.value.problems] == told(study)


@pytest.mark.parametrize(
    ("sheets_wrong", "photos_wrong", "left"),
    [
        (False, False, [1, 2, 3]),
        (True, False, [2]),
        (False, True, [1]),
        (True, True, []),
    ],
)
def test_an_exclusion_is_told_where_nothing_else_can_be_the_reason(
    study: Path, write: Write, sheets_wrong: bool, photos_wrong: bool, left: list[int]
) -> None:
    write("sheets/pulls.csv", PULLS + f"{DAY},101,1,{'x' if sheets_wrong else 30},\n")
    shoot(study, f"{DAY}/{'999' if photos_wrong else '101'}_1.jpg")
    write(
        "diary.yaml",
        "exclusions:\n  - {plot: '103', measure: pull_force, reason: r}\n"
        "  - {plot: '103', measure: green_cover, reason: r}\n  - {plot: '104', reason: r}\n",
    )
    means = {1: "plot 103, pull_force", 2: "plot 103, green_cover", 3: "plot 104"}
    assert [line for line in told(study) if line.startswith("diary")] == [
        f"diary.yaml:{n + 1}:5: exclusions.{n}: found no observation of {means[n]}{UNMET}"
        for n in left
    ]


def test_a_weather_file_is_no_reason_for_an_exclusion_without_effect(
    study: Path, write: Write
) -> None:
    write("sheets/pulls.csv", PULLS + f"{DAY},101,1,30,\n")
    write(
        "diary.yaml",
        "weather: {file: w.csv, units: {temperature: degF}}\n"
        "exclusions:\n  - {plot: '103', measure: pull_force, reason: r}\n",
    )
    assert [line.partition(" found")[0] for line in told(study)] == [
        "diary.yaml:1:17: weather.file:",
        "diary.yaml:3:5: exclusions.1:",
    ]


class TestADiaryThatDoesNotFit:
    def test_is_told_together_with_the_sheets(self, study: Path, write: Write) -> None:
        write("sheets/pulls.csv", "Day;plot;sample;pull_force\n24.03.2026;101;1;3x\n")
        write(
            "diary.yaml",
            "sheets:\n  - {file: pulls.csv, columns: {date: Day}, date_order: day first}\n"
            "exclusions:\n  - {plot: '999', reason: r}\n"
            "missing:\n  - {plot: '101', measure: pull_forse, date: 2026-03-24, reason: r}\n",
        )
        assert told(study) == [
            "diary.yaml:4:12: exclusions.1.plot: found '999'; allowed: a plot of plan/plots.csv "
            "(101, 102, 103, 104, 105, 106 ...)",
            "diary.yaml:6:28: missing.1.measure: found 'pull_forse'; allowed: green_cover, "
            "colour_rating, pull_force; did you mean pull_force?",
            "sheets/pulls.csv, row 2, column pull_force: found '3x'; allowed: a number in lbf; "
            "write one number and nothing else; remarks go into a column of their own",
            "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong",
        ]
        with pytest.raises(WinterswardError) as caught:
            open_study(study)
        assert [str(problem) for problem in caught.value.problems] == told(study)[:2]

    def test_hides_exclusions_that_its_own_slip_explains(self, study: Path, write: Write) -> None:
        write("sheets/ratings.csv", RATINGS + f"{DAY},101,rx,6\n")
        write(
            "diary.yaml",
            "sheets:\n  - {file: ratings.csv, columns: {pull_forse: Pull}}\n"
            "exclusions:\n  - {plot: '101', measure: pull_force, reason: r}\n",
        )
        said = told(study)
        assert said[0].startswith("diary.yaml:2:47: sheets.1.columns.pull_forse: found ")
        assert [line for line in said if "exclusions" in line] == []

    def test_that_cannot_be_read_leaves_the_sheets_unread(self, study: Path, write: Write) -> None:
        write("sheets/pulls.csv", PULLS + f"{DAY},101,1,x,\n")
        write("diary.yaml", "sheets: pulls.csv\n")
        shoot(study, f"{DAY}/999_1.jpg")
        (study / "photos" / DAY / "101_1.jpg").write_bytes(b"not a photo")
        said = "found a file that is no photo; allowed: a whole JPEG, HEIC, PNG or TIFF photo in "
        said += "colour"
        assert told(study) == [
            "diary.yaml:1:9: sheets: found 'pulls.csv'; allowed: a list; begin each entry on a "
            "line below, with '- ' in front",
            f"photos/{DAY}/101_1.jpg: {said}; copy it from the camera again, or leave it out",
            f"photos/{DAY}/999_1.jpg: found plot '999'; allowed: a plot of plan/plots.csv (101, "
            "102, 103, 104, 105, 106 ...)",
            "the sheets were not looked at; that is done once diary.yaml is sound",
        ]

    def test_says_nothing_of_sheets_where_there_are_none(self, study: Path, write: Write) -> None:
        write("diary.yaml", "covers: soon\n")
        assert told(study) == [
            "diary.yaml:1:9: covers: found 'soon'; allowed: a list; begin each entry on a line "
            "below, with '- ' in front"
        ]


class TestPlotsThatAreWrong:
    def test_are_told_together_with_the_diary(self, study: Path, write: Write) -> None:
        path = study / "plan" / "plots.csv"
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("\n101,", "\n1O1,", 1).replace("fleece", "fleese", 1))
        write("sheets/pulls.csv", PULLS + f"{DAY},101,1,x,\n")
        write("diary.yaml", "exclusions:\n  - {plot: '999', reason: r}\n")
        said = told(study)
        assert said[0].startswith("diary.yaml:2:12: exclusions.1.plot: found '999'; allowed: ")
        assert [line.partition(" found")[0] for line in said[1:-1]] != []
        assert all(line.startswith("plan/plots.csv") for line in said[1:-1])
        assert said[-1] == (
            "sheets and photos were not looked at; that is done once plan/plots.csv is sound"
        )
        with pytest.raises(WinterswardError) as caught:
            open_study(study)
        assert [str(problem) for problem in caught.value.problems] == said[:-1]

    def test_that_the_seed_does_not_draw_leave_the_sheets_to_be_read(
        self, study: Path, write: Write
    ) -> None:
        path = study / "plan" / "plots.csv"
        text = path.read_text(encoding="utf-8")
        swapped = text.replace("solid", "?").replace("hollow", "solid").replace("?", "hollow")
        path.write_text(swapped, encoding="utf-8")
        write("sheets/pulls.csv", PULLS + f"{DAY},101,1,x,\n")
        said = told(study)
        assert said[0].startswith("sheets/pulls.csv, row 2, column pull_force: found 'x'")
        assert said[1].startswith("plan/plots.csv is not the plan that trial.yaml draws: ")
        assert said[-1] == "sheets/pulls.csv: 2 rows = 1 of headings + 1 wrong; 1 value = 1 wrong"

    def test_that_are_not_drawn_leave_nothing_to_be_looked_at(
        self, study: Path, write: Write
    ) -> None:
        (study / "plan" / "plots.csv").unlink()
        write("sheets/pulls.csv", PULLS)
        write("diary.yaml", "covers: soon\n")
        found = opened(study)
        assert found.trial is None
        assert found.unread == ""
        assert [str(one).partition(":")[0] for one in found.problems] == [
            "plan/plots.csv",
            "diary.yaml",
        ]


def test_a_wrong_definition_is_told_alone(study: Path, write: Write) -> None:
    write("trial.yaml", "title: [")
    write("diary.yaml", "covers: soon\n")
    assert [line.partition(":")[0] for line in told(study)] == ["trial.yaml"]


def test_no_study_is_told(tmp_path: Path) -> None:
    (said,) = told(tmp_path / "nowhere")
    assert "no such file or folder" in said


@pytest.fixture
def sound(study: Path, write: Write) -> Trial:
    write("sheets/pulls.csv", PULLS + f"{DAY},101,1,30,wet\n{DAY},102,1,31,\n{DAY},103,1,NA,\n")
    write("loggers/w.csv", "date,low,high\n2026-01-01,20,30\n2026-01-04,21,31\n")
    write(
        "diary.yaml",
        "weather: {file: w.csv, units: {temperature: degF}}\n"
        "exclusions:\n  - {plot: '102', measure: pull_force, reason: wet}\n",
    )
    shoot(study, f"{DAY}/101_1.jpg", f"{DAY}/102_1.jpg")
    return open_study(study)


def test_what_became_of_every_row_is_settled_with_the_exclusions(sound: Trial) -> None:
    assert sound.sheet_sums().to_dict("records") == [
        {
            "file": "sheets/pulls.csv",
            "rows": 4,
            "headings": 1,
            "used": 1,
            "excluded": 1,
            "empty": 1,
            "wrong": 0,
            "values": 3,
            "values_used": 1,
            "values_excluded": 1,
            "values_repeated": 0,
            "values_missing": 1,
            "values_wrong": 0,
            "unread": "remarks",
        }
    ]


def test_a_flag_names_photos_from_the_study_folder_on(sound: Trial) -> None:
    assert sound.photo_scores()["flags"].str.contains(f"same picture as photos/{DAY}/10").all()
    assert not sound.photo_scores()["flags"].str.contains(str(sound.folder), regex=False).any()


def test_what_was_gathered_is_counted_with_sums_and_gaps(sound: Trial) -> None:
    found = gathered(sound.folder)
    assert (found.sheets, found.photos, len(found.waiting)) == (1, 2, 34)
    assert [one.words() for one in found.sums] == [
        "sheets/pulls.csv: 4 rows = 1 of headings + 1 used + 1 excluded + 1 without values; "
        "3 values = 1 used + 1 excluded + 1 marked missing; not read: remarks"
    ]
    assert [str(one) for one in found.gaps] == [
        "loggers/w.csv, row 2, column date: found 2026-01-04 as the day after 2026-01-01; allowed: "
        "a row for every day; 2 days are missing"
    ]


def test_brackets_in_the_name_of_a_file_are_no_tab(study: Path) -> None:
    for number, plot in enumerate(("101", "102"), 1):
        book = Workbook()
        book.active.append(["date", "plot", "sample", "pull_force"])
        book.active.append([DAY, plot, 1, 40])
        book.create_sheet("About").append(["pulled with the blue frame"])
        (study / "sheets").mkdir(exist_ok=True)
        book.save(study / "sheets" / f"pulls[{number}].xlsx")
    assert gathered(study).sheets == 2


def test_flags_look_at_all_observations(sound: Trial) -> None:
    seen = sound.observations()
    assert seen.groupby("measure")["excluded"].agg(lambda some: (some != "").sum()).to_dict() == {
        "green_cover": 0,
        "pull_force": 1,
    }
    found = sound.flags()
    assert {"green_cover", "pull_force"} <= set(found["measure"])
    assert (found["kind"] == "part of a visit").any()


def test_names_of_plots_are_found_in_a_table_that_is_wrong(tmp_path: Path) -> None:
    path = tmp_path / "plots.csv"
    assert names_in(path) is None
    path.write_bytes(b"\xff\xfe")
    assert names_in(path) is None
    path.write_text("plot,whole_plot\n101,1A\n ,1A\n102\n", encoding="utf-8-sig")
    assert names_in(path) == ["101", "1A", "102"]
    path.write_text("a,b\n", encoding="utf-8")
    assert names_in(path) is None


def test_problems_are_of_one_kind(study: Path, write: Write) -> None:
    write("sheets/pulls.csv", PULLS + f"{DAY},101,1,x,\n")
    assert isinstance(record_problems(study)[0], Problem)
    assert isinstance(record_problems(study)[-1], str)
