from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from importlib import metadata
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from wintersward.cli import main
from wintersward.errors import DISK_ADVICE, Problem, WinterswardError
from wintersward.paths import SAYS
from wintersward.runs import runner
from wintersward.runs.failure import Failure, StageFailed
from wintersward.runs.new import new_study

Call = Callable[..., Result]


@pytest.fixture
def call() -> Call:
    return lambda *args: CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return new_study(tmp_path / "my_trial")


@pytest.fixture
def running(monkeypatch: pytest.MonkeyPatch) -> Callable[[BaseException | None], None]:
    """Let a run end at once, well or with an error."""

    def set_up(error: BaseException | None) -> None:
        def run(folder: str, progress: Callable[[str], None]) -> Path:
            progress("[1/1] 10-photos: score the photos")
            if error is not None:
                raise error
            return Path(folder).resolve() / "runs" / "007"

        monkeypatch.setattr(runner, "run", run)

    return set_up


@pytest.fixture
def here(study: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in the folder around the study."""
    monkeypatch.chdir(study.parent)
    return study


def test_help_lists_every_verb(call: Call) -> None:
    for option in ("--help", "-h"):
        said = call(option)
        assert said.exit_code == 0
        for verb in ("new", "check", "plan", "run", "runs", "bundle", "verify", "season"):
            assert re.search(rf"^  {verb} +\S", said.output, re.MULTILINE)


def test_version(call: Call) -> None:
    assert metadata.version("wintersward") in call("--version").output


def test_as_a_module() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "wintersward", "--version"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert done.stdout.startswith("wintersward, version ")


@pytest.mark.parametrize(
    ("verb", "more"),
    [
        ("check", {"--json"}),
        ("plan", {"--freeze"}),
        ("papers", set()),
        ("run", set()),
        ("runs", {"--compare"}),
        ("bundle", {"--without-photos", "--without-people", "--rounded-place"}),
        ("verify", {"--with-own-copies"}),
    ],
)
def test_no_option_overrides_the_definition(verb: str, more: set[str]) -> None:
    command = main.commands[verb]
    options = {option for param in command.params for option in param.opts}
    given = "bundle" if verb == "verify" else "study"
    assert options == {given, "--debug", *more}


def test_from_new_to_plan(call: Call, tmp_path: Path) -> None:
    folder = tmp_path / "our trial"
    said = call("new", folder)
    assert (said.exit_code, said.stderr) == (0, "")
    assert f"wintersward check '{folder}'" in said.stdout

    said = call("check", folder)
    assert (said.exit_code, said.stderr) == (0, "")
    named = f"{folder}: Winter covers and first aeration on our field, "
    assert re.sub(r", \d{4}$", ", ", said.stdout.splitlines()[0]) == named
    assert said.stdout.partition("\n")[2].startswith(
        "trial.yaml and diary.yaml are sound\n"
        "  split plot: 6 blocks, 3 cover x 2 aeration, 36 plots, not drawn yet\n"
    )
    assert "what you can expect:\n  - With 6 blocks you can expect to see" in said.stdout
    assert said.stdout.endswith(f"wintersward plan '{folder}'\n")
    assert "not looked at" not in said.stdout

    (folder / "sheets").mkdir(exist_ok=True)
    (folder / "sheets" / "pulls.csv").write_text("date,plot\n")
    told = "  1 sheet was not looked at; that is done once the plots are drawn\n"
    assert told in call("check", folder).stdout
    (folder / "sheets" / "pulls.csv").unlink()

    said = call("plan", folder)
    assert (said.exit_code, said.stderr) == (0, "")
    assert said.stdout.startswith(named)
    assert re.search(r"^plan/plots.csv: 36 plots, drawn with the seed \d+$", said.stdout, re.M)
    assert (folder / "plan" / "plot_map_rater.svg").is_file()

    said = call("plan", folder)
    assert "\nplan/plots.csv agrees with trial.yaml and stays as it is: 36 plots\n" in said.stdout

    said = call("check", folder)
    assert (said.exit_code, said.stderr) == (0, "")
    assert "36 plots, drawn\n" in said.stdout
    assert "\n  0 sheets, 0 photos\n" in said.stdout
    assert said.stdout.endswith(f"wintersward plan --freeze '{folder}'\n")

    said = call("plan", folder, "--freeze")
    assert (said.exit_code, said.stderr) == (0, "")
    assert said.stdout.endswith(f"next: wintersward papers '{folder}'\n")
    assert (folder / "plan" / "frozen" / "protocol.html").is_file()

    said = call("papers", folder)
    assert (said.exit_code, said.stderr) == (0, "")
    named = re.findall("^plan/papers/([^:\n]*)$", said.stdout, re.M)
    assert {"labels.html", "calendar.ics"} <= set(named)
    assert all((folder / "plan" / "papers" / name).is_file() for name in named)


def test_where_a_trial_stands_is_told_to_programs(call: Call, study: Path) -> None:
    said = call("check", study, "--json")
    assert (said.exit_code, said.stderr) == (0, "")
    told = json.loads(said.stdout)
    assert (told["stage"], told["plots"]["drawn"]) == ("planned", False)
    assert list(told)[-6:-3] == ["sheets", "flags", "weather_gaps"]
    assert list(told)[-3:] == ["loggers", "logger_flags", "loggers_unread"]
    assert (told["sheets"], told["flags"], told["weather_gaps"]) == ([], [], [])
    (study / "trial.yaml").write_text("title: [x\nunits: us\n", encoding="utf-8")
    said = call("check", study, "--json")
    assert said.exit_code == 2
    assert said.stderr.startswith("trial.yaml:1:8: found a bracket that is not closed")
    (problem,) = json.loads(said.stdout)["problems"]
    assert problem == {
        "file": "trial.yaml",
        "line": 1,
        "column": 8,
        "row": None,
        "field": "",
        "found": "a bracket that is not closed, or a comma left out",
        "allowed": "",
        "hint": "check the brackets that are opened here",
    }


def test_one_sheet_is_one_sheet(call: Call, study: Path) -> None:
    call("plan", study)
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    day = re.search(r"visits: *\[(\S+?)[,\]]", text)[1]
    rows = f"date,plot,rater,colour_rating\n{day},101,gk,6\n{day},102,gk,7\n"
    (study / "sheets" / "colour.csv").write_text(rows)
    (study / "sheets" / "readme.txt").write_text("by hand")
    said = call("check", study)
    assert (said.exit_code, said.stderr) == (0, "")
    assert "\n  1 sheet, 0 photos\n" in said.stdout
    assert "\n  the primary question waits for 36 of 36 plots; " in said.stdout
    assert (
        "\nthe sheets:\n  - sheets/colour.csv: 3 rows = 1 of headings + 2 used; 2 values = 2 used\n"
        "look again at these; nothing was changed or left out:\n  - "
    ) in said.stdout
    told = json.loads(call("check", study, "--json").stdout)
    assert told["sheets"][0]["values_used"] == 2
    assert {flag["kind"] for flag in told["flags"]} >= {"part of a visit"}
    assert told["weather_gaps"] == []


def test_what_is_wrong_in_a_sheet_is_told_with_what_became_of_its_rows(
    call: Call, study: Path
) -> None:
    call("plan", study)
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    day = re.search(r"visits: *\[(\S+?)[,\]]", text)[1]
    rows = f"date,plot,rater,colour_rating\n{day},101,gk,6\n{day},102,gk,x\n"
    (study / "sheets" / "colour.csv").write_text(rows)
    said = call("check", study)
    assert (said.exit_code, len(said.stdout.splitlines())) == (2, 1)
    assert said.stderr.splitlines() == [
        "sheets/colour.csv, row 3, column colour_rating: found 'x'; allowed: a number on the scale "
        "1 to 9; for a value that could not be taken, write NA",
        "sheets/colour.csv: 3 rows = 1 of headings + 1 used + 1 wrong; 2 values = 1 used + 1 wrong",
    ]
    told = call("check", study, "--json")
    assert (told.exit_code, told.stderr) == (2, said.stderr)
    found = json.loads(told.stdout)
    assert [(one["file"], one["row"]) for one in found["problems"]] == [("sheets/colour.csv", 3)]
    assert [(one["file"], one["wrong"]) for one in found["sheets"]] == [("sheets/colour.csv", 1)]


def test_commands_are_told_as_they_are_typed(
    call: Call, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SAYS, "python3 toolkit/start.py")
    assert call("check", "my_trial").stdout.endswith("python3 toolkit/start.py plan my_trial\n")
    assert call("run", "my_trial").stderr == (
        "plan/plots.csv: the plots are not drawn yet; run: python3 toolkit/start.py plan my_trial\n"
    )
    assert "or start one: python3 toolkit/start.py new my_trial" in call("check", "none").stderr
    assert call("new", "another").stdout.endswith("python3 toolkit/start.py check another\n")


def test_the_current_folder_is_the_study(
    call: Call, study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(study / "sheets")
    said = call("check")
    assert said.exit_code == 0
    assert said.stdout.startswith(f"{study}: Winter covers")
    assert said.stdout.endswith("wintersward plan\n")


def test_a_study_without_a_diary(call: Call, study: Path) -> None:
    (study / "diary.yaml").unlink()
    assert "\ntrial.yaml is sound; there is no diary.yaml yet\n" in call("check", study).stdout


def test_every_problem_has_its_line(call: Call, study: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    text = text.replace("units: us", "units: yards").replace("blocks: 6", "blocks: six")
    path.write_text(text, encoding="utf-8")
    said = call("check", study)
    # No title is told where the definition cannot be read.
    assert (said.exit_code, said.stdout) == (2, f"{study}\n")
    lines = said.stderr.splitlines()
    assert len(lines) == 2
    assert re.match(r"trial\.yaml:\d+:\d+: units: found 'yards'; allowed: us, metric", lines[0])
    assert re.match(r"trial\.yaml:\d+:\d+: layout\.blocks: found 'six'; allowed: ", lines[1])


def test_a_changed_layout_stops_the_plan(call: Call, study: Path) -> None:
    call("plan", study)
    before = (study / "plan" / "plots.csv").read_bytes()
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8").replace("blocks: 6", "blocks: 7")
    path.write_text(text, encoding="utf-8")
    said = call("plan", study)
    assert said.exit_code == 2
    assert len(said.stdout.splitlines()) == 1
    assert said.stderr.endswith(f"and run: wintersward plan {study}\n")
    assert said.stderr.startswith("plan/plots.csv: The plan has 6 blocks; the definition says 7.")
    assert (study / "plan" / "plots.csv").read_bytes() == before


def test_a_run(call: Call, here: Path, running: Callable[..., None]) -> None:
    running(None)
    said = call("run", "my_trial")
    assert (said.exit_code, said.stderr) == (0, "")
    assert said.stdout.splitlines()[1:] == [
        "[1/1] 10-photos: score the photos",
        f"runs/007 is complete; read {here / 'report.html'}",
    ]


def test_a_run_without_a_plan(call: Call, study: Path) -> None:
    said = call("run", study)
    assert said.exit_code == 2
    assert said.stderr == (
        f"plan/plots.csv: the plots are not drawn yet; run: wintersward plan {study}\n"
    )


@pytest.mark.parametrize(("kind", "code"), [("study", 2), ("fault", 1), ("time", 1)])
def test_a_failed_stage(
    call: Call, study: Path, running: Callable[..., None], kind: str, code: int
) -> None:
    running(StageFailed(Failure("10-photos", kind, "no photo", 2, 9, "x"), "runs/.unfinished-001"))
    said = call("run", study)
    assert said.exit_code == code
    assert "no photo" in said.stderr
    assert "runs/.unfinished-001/failure.txt" in said.stderr
    assert "Traceback" not in said.output


@pytest.mark.parametrize("verb", ["check", "plan", "run"])
def test_what_the_disk_refuses(
    call: Call, study: Path, monkeypatch: pytest.MonkeyPatch, verb: str
) -> None:
    def denied(_: Path) -> None:
        raise PermissionError(13, "Permission denied", "my_trial/trial.yaml")

    monkeypatch.setattr("wintersward.trial.read_definition", denied)
    said = call(verb, study)
    assert (said.exit_code, said.stdout) == (1, "")
    assert said.stderr == f"my_trial/trial.yaml: permission denied; {DISK_ADVICE}\n"
    assert "PermissionError" in call("--debug", verb, study).stderr


def test_a_new_study_below_a_file(call: Call, study: Path) -> None:
    said = call("new", study / "trial.yaml" / "next")
    assert said.exit_code == 1
    assert said.stderr.startswith(f"{study / 'trial.yaml'}: ")
    assert said.stderr.endswith(f"; {DISK_ADVICE}\n")


def test_stopped_from_the_keyboard(call: Call, study: Path, running: Callable[..., None]) -> None:
    running(KeyboardInterrupt())
    said = call("run", study)
    assert said.exit_code == 130
    assert said.stderr == "stopped; what was complete before is untouched\n"


def test_what_nobody_thought_of(call: Call, study: Path, running: Callable[..., None]) -> None:
    running(ZeroDivisionError("division\nby zero"))
    said = call("run", study)
    assert said.exit_code == 1
    assert said.stderr == (
        "wintersward broke off (ZeroDivisionError: division by zero); run again with --debug\n"
    )


@pytest.mark.parametrize("order", [("--debug", "run"), ("run", "--debug")])
@pytest.mark.parametrize(
    ("error", "code"),
    [(ZeroDivisionError("zero"), 1), (WinterswardError(Problem("a.csv", hint="x")), 2)],
)
def test_a_traceback_is_there_for_the_asking(
    call: Call,
    study: Path,
    running: Callable[..., None],
    order: tuple[str, str],
    error: Exception,
    code: int,
) -> None:
    running(error)
    said = call(*order, study)
    assert said.exit_code == code
    assert "Traceback (most recent call last)" in said.stderr
    assert type(error).__name__ in said.stderr


def test_no_study(call: Call, tmp_path: Path) -> None:
    said = call("check", tmp_path / "nowhere")
    assert said.exit_code == 2
    assert "no such file or folder" in said.stderr


def test_a_new_study_where_something_is(call: Call, study: Path) -> None:
    before = (study / "trial.yaml").read_bytes()
    said = call("new", study)
    assert said.exit_code == 2
    assert "there is something in this folder; nothing was changed" in said.stderr
    assert (study / "trial.yaml").read_bytes() == before


class TestSeason:
    def test_old_and_new_dates_are_told(self, call: Call, study: Path, tmp_path: Path) -> None:
        text = (study / "trial.yaml").read_text(encoding="utf-8")
        year = int(re.search(r"covers_on: (\d{4})", text)[1])
        day = f"{year + 1}-01-18"
        said = call("season", tmp_path / "next", "--from", study, "--covers-on", day)
        assert (said.exit_code, said.stderr) == (0, "")
        assert re.search(rf"dates\.covers_on +{year}-01-19 \(\w+\) -> {day} \(\w+\)\n", said.stdout)
        assert f"the title first: Winter covers and first aeration on our field, {year}" in (
            said.stdout
        )
        assert said.stdout.endswith(f"next: wintersward check {tmp_path / 'next'}\n")
        assert call("check", tmp_path / "next").exit_code == 0

    @pytest.mark.parametrize("day", ["18 January", "2027-02-30", "01/18/2027"])
    def test_a_day_that_is_none(self, call: Call, study: Path, tmp_path: Path, day: str) -> None:
        said = call("season", tmp_path / "next", "--from", study, "--covers-on", day)
        assert said.exit_code == 2
        assert f"found '{day}'; allowed: a date such as 2027-01-18" in said.stderr
        assert not (tmp_path / "next").exists()
