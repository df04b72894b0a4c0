from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from wintersward import study as study_module
from wintersward.errors import Problem, WinterswardError
from wintersward.runs.checking import check
from wintersward.runs.planning import plan


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
    plan(study)
    with pytest.raises(WinterswardError, match="found '999'"):
        check(study)


def test_what_was_gathered_is_checked_once_the_plots_are_drawn(
    study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    problems = [Problem("sheets/a.csv", row=2, found="x")]

    def stopped(_: Path) -> list[str]:
        raise WinterswardError(problems)

    monkeypatch.setattr(study_module, "gathered", stopped)
    for name in ("sheets/a.csv", "sheets/~$b.xlsx", "photos/1/101.jpg", "photos/index.csv"):
        (study / name).parent.mkdir(parents=True, exist_ok=True)
        (study / name).write_text("")
    found = check(study)
    assert (found.sheets, found.photos) == (0, 0)
    assert found.waiting == found.plots
    plan(study)
    with pytest.raises(WinterswardError) as caught:
        check(study)
    assert caught.value.problems == problems


def test_files_are_counted_once_the_plots_are_drawn(study: Path) -> None:
    plan(study)
    (study / "sheets").mkdir()
    rows = "date,plot,rater,colour\n2026-03-24,101,rx,6\n2026-03-24,102,rx,7\n"
    (study / "sheets" / "colour.csv").write_text(rows)
    (study / "sheets" / "readme.txt").write_text("by hand")
    found = check(study)
    assert (found.sheets, found.photos, found.waiting) == (1, 0, 14)


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
    plan(study)
    (study / "plan" / "plot_values.csv").write_text("plots,sun\n101,3\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match="row 1: found no column plot"):
        check(study)
    (study / "sheets").mkdir()
    (study / "sheets" / "colour.csv").write_text("date,plot\n", encoding="utf-8")
    with pytest.raises(WinterswardError) as caught:
        check(study)
    assert {problem.path for problem in caught.value.problems} == {
        "plan/plot_values.csv",
        "sheets/colour.csv",
    }
