from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from analysis.dated import dated_trial
from wintersward import design
from wintersward.analysis import analyse
from wintersward.analysis.seasons import seasons_together
from wintersward.errors import WinterswardError
from wintersward.runs.files import sha256
from wintersward.runs.record import Record
from wintersward.runs.season import new_season
from wintersward.study import open_study
from wintersward.trial import read_definition

NEXT = dt.date(2027, 1, 18)


def test_every_date_moves_by_the_same_days(study: Path, tmp_path: Path) -> None:
    made = new_season(tmp_path / "next", study, NEXT)
    assert made.days == 364
    assert {(shift.field, str(shift.old), str(shift.new)) for shift in made.shifts} == {
        ("dates.baseline", "2026-01-15", "2027-01-14"),
        ("dates.covers_on", "2026-01-19", "2027-01-18"),
        ("dates.covers_off", "2026-03-09", "2027-03-08"),
        ("dates.visits.1", "2026-03-10", "2027-03-09"),
        ("dates.visits.2", "2026-03-24", "2027-03-23"),
        ("treatments.aeration.applied", "2026-03-12", "2027-03-11"),
        ("measures.colour.dates.3", "2026-02-28", "2027-02-27"),
        ("analysis.primary.on", "2026-03-24", "2027-03-23"),
    }
    definition, problems = read_definition(made.study)
    assert problems == []
    assert definition is not None
    assert definition.dates["covers_on"] == NEXT
    assert definition.analysis.primary.on == dt.date(2027, 3, 23)


def test_nothing_else_of_the_definition_changes(study: Path, tmp_path: Path) -> None:
    made = new_season(tmp_path / "next", study, NEXT)
    old = (study / "trial.yaml").read_text(encoding="utf-8").splitlines()
    new = (made.study / "trial.yaml").read_text(encoding="utf-8").splitlines()
    assert len(new) == len(old)
    blank = re.compile(r"\d{4}-\d{2}-\d{2}|seed: \d+")
    for before, after in zip(old, new, strict=True):
        assert blank.sub("*", after) == blank.sub("*", before)
    # What happened once stays where it was, and the title is the person's to change.
    assert "established: 2025-10-06" in "\n".join(new)
    assert made.title == "Covers on the Alder Road ground, 2026"


def test_the_seed_is_fresh(study: Path, tmp_path: Path) -> None:
    one = new_season(tmp_path / "one", study, NEXT)
    two = new_season(tmp_path / "two", study, NEXT)
    seeds = []
    for made in (one, two):
        definition, _ = read_definition(made.study)
        assert definition is not None
        seeds.append(definition.layout.seed)
    assert len({42, *seeds}) == 3


def test_what_was_gathered_is_left_behind(study: Path, tmp_path: Path) -> None:
    for name in ("diary.yaml", "plan/plots.csv", "sheets/a.csv", "photos/a.jpg", "runs/001/x"):
        (study / name).parent.mkdir(parents=True, exist_ok=True)
        (study / name).write_text("deviations: []  # of the season before")
    (study / "notebooks").mkdir()
    (study / "notebooks" / "50-report.ipynb").write_text("{}")
    before = sorted(path for path in study.rglob("*"))
    made = new_season(tmp_path / "next", study, NEXT)
    assert sorted(path.name for path in made.study.iterdir()) == [
        "diary.schema.json",
        "diary.yaml",
        "photos",
        "sheets",
        "trial.schema.json",
        "trial.yaml",
    ]
    assert "season before" not in (made.study / "diary.yaml").read_text(encoding="utf-8")
    assert json.loads((made.study / "trial.schema.json").read_text(encoding="utf-8"))
    assert made.own_notebooks == ["50-report.ipynb"]
    assert (made.earlier, made.left_behind) == ([], "it has no complete run yet")
    assert sorted(path for path in study.rglob("*")) == before


MEANS = """\
measure,date,unit_name,unit_kind,whole_plot,block,n,value,cover,aeration
colour,2026-01-15,1A,whole plot,1A,1,2,5.5,,
colour,2026-03-24,101,subplot,1A,1,1,6.5,fleece,solid
colour,2026-03-24,102,subplot,1A,1,1,6,fleece,none
"""


def put_run(study: Path, number: str, means: str = MEANS, plots: str = "plot\n101\n") -> Path:
    """Put a complete run into a study."""
    run = study / "runs" / number
    (run / "results").mkdir(parents=True)
    (run / "report.html").write_text("<html>", encoding="utf-8")
    (run / "results" / "plot_means.csv").write_text(means, encoding="utf-8")
    (study / "plan").mkdir(exist_ok=True)
    (study / "plan" / "plots.csv").write_text(plots, encoding="utf-8")
    files = {
        name: {"sha256": sha256(study / name), "bytes": 0}
        for name in ("trial.yaml", "plan/plots.csv")
    }
    (run / "inputs.json").write_text(json.dumps({"files": files}), encoding="utf-8")
    return run


def test_the_values_of_the_newest_complete_run_are_taken_along(study: Path, tmp_path: Path) -> None:
    put_run(study, "009", "of an older run")
    run = put_run(study, "010")
    (study / "runs" / "011" / "results").mkdir(parents=True)
    (study / "runs" / ".unfinished-012").mkdir()
    made = new_season(tmp_path / "next", study, NEXT)
    assert (made.earlier, made.left_behind) == (["2026"], "")
    taken = made.study / "earlier" / "2026"
    assert sorted(path.name for path in taken.iterdir()) == [
        "plot_means.csv",
        "plots.csv",
        "trial.yaml",
    ]
    assert (taken / "trial.yaml").read_bytes() == (study / "trial.yaml").read_bytes()
    assert (taken / "plots.csv").read_text(encoding="utf-8") == "plot\n101\n"
    assert (taken / "plot_means.csv").read_bytes() == (
        run / "results" / "plot_means.csv"
    ).read_bytes()


def test_seasons_before_the_last_one_come_along_too(study: Path, tmp_path: Path) -> None:
    old = study / "earlier" / "2025"
    old.mkdir(parents=True)
    (old / "other_ground.txt").write_text("behind the school", encoding="utf-8")
    (study / "earlier" / ".hidden").mkdir()
    (study / "earlier" / "readme.txt").write_text("", encoding="utf-8")
    put_run(study, "001")
    made = new_season(tmp_path / "next", study, NEXT)
    assert made.earlier == ["2025", "2026"]
    assert (made.study / "earlier" / "2025" / "other_ground.txt").is_file()


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda study: (study / "runs" / "001" / "report.html").unlink(), "no complete run yet"),
        (lambda study: (study / "earlier" / "2026").mkdir(parents=True), "a season 2026 is in"),
        (
            lambda study: (study / "runs" / "001" / "results" / "plot_means.csv").unlink(),
            "runs/001 holds no plot means",
        ),
        (lambda study: (study / "runs" / "001" / "inputs.json").unlink(), "trial.yaml is another"),
        (
            lambda study: (study / "plan" / "plots.csv").write_text("plot\n", encoding="utf-8"),
            "plan/plots.csv is another one since runs/001; run it again",
        ),
        (lambda study: put_run(study, "002", MEANS.replace("fleece", "")), "no complete data in"),
        (lambda study: put_run(study, "002", MEANS[: MEANS.index("colour,2026-03")]), "runs/002"),
    ],
)
def test_why_the_values_of_the_old_season_stay_behind(
    study: Path, tmp_path: Path, spoil: Callable[[Path], object], why: str
) -> None:
    put_run(study, "001")
    spoil(study)
    made = new_season(tmp_path / "next", study, NEXT)
    assert why in made.left_behind
    assert not (made.study / "earlier" / "2026" / "plot_means.csv").exists()


def grown(plot: Any, day: int) -> float:
    own = int(plot.plot) % 7 + 2 * int(plot.block)
    return 40 + day / 2 + own + {"open": 0, "fleece": 6, "woven": 3}[plot.cover]


def test_two_seasons_are_analysed_together_in_the_next_study(tmp_path: Path) -> None:
    old = dated_trial(tmp_path / "old", grown)
    run = put_run(old.folder, "001", plots=(old.folder / "plan" / "plots.csv").read_text())
    Record(run).write("plot_means", analyse(old)["plot_means"])
    made = new_season(tmp_path / "next", old.folder, dt.date(2027, 1, 4))
    definition, _ = read_definition(made.study)
    assert definition is not None
    plots = design.draw(definition)
    design.write_plots(plots, made.study / "plan" / "plots.csv")
    rows = [
        (day, plot.plot, grown(plot, 10 * i) + 1.5 * (int(plot.plot) % 2))
        for i, day in enumerate(definition.dates["visits"])
        for plot in plots.itertuples()
    ]
    sheet = pd.DataFrame(rows, columns=["date", "plot", "cover_share"])
    sheet.to_csv(made.study / "sheets" / "cover.csv", index=False)
    found = seasons_together(open_study(made.study))
    assert set(found["seasons_differences"]["season"]) == {"2026", "2027", "all"}
    overall = found["seasons_differences"].set_index(["season", "left", "right"])
    assert overall.loc[("all", "fleece", "open"), "difference"] == pytest.approx(6, abs=1.5)
    assert list(found["seasons_tests"]["term"]) == ["cover", "season", "cover:season"]


def test_the_day_of_a_covariate_moves_too(study: Path, tmp_path: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "  covariate: {measure: colour, on: 2026-01-15}\n", encoding="utf-8")
    made = new_season(tmp_path / "next", study, NEXT)
    moved = {shift.field: str(shift.new) for shift in made.shifts}
    assert moved["analysis.covariate.on"] == "2027-01-14"


def test_a_folder_with_something_in_it_is_left_alone(study: Path) -> None:
    before = (study / "trial.yaml").read_bytes()
    with pytest.raises(WinterswardError, match="there is something in this folder"):
        new_season(study, study, NEXT)
    assert (study / "trial.yaml").read_bytes() == before


def test_an_old_definition_with_problems(study: Path, tmp_path: Path) -> None:
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    (study / "trial.yaml").write_text(text.replace("units: us", "units: yards"), encoding="utf-8")
    with pytest.raises(WinterswardError, match=r"trial.yaml:4:8: units: found 'yards'"):
        new_season(tmp_path / "next", study, NEXT)
    assert not (tmp_path / "next").exists()


def test_a_day_at_the_end_of_the_calendar(study: Path, tmp_path: Path) -> None:
    with pytest.raises(WinterswardError, match="cannot be shifted by"):
        new_season(tmp_path / "next", study, dt.date(9999, 12, 31))
    assert not (tmp_path / "next").exists()
