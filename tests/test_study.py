"""A study folder, opened: the example study stands for a sound one."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path

import pandas as pd
import pytest

from e2e.example import EXAMPLE
from wintersward.design import redraw
from wintersward.errors import WinterswardError
from wintersward.runs.checking import check
from wintersward.study import Trial, gathered, open_study, record_problems


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy the example without its photos, but for four of one day."""
    folder = tmp_path_factory.mktemp("study") / "small"
    folder.mkdir()
    for name in ("trial.yaml", "diary.yaml"):
        shutil.copy(EXAMPLE / name, folder / name)
    for name in ("plan", "sheets", "loggers"):
        shutil.copytree(EXAMPLE / name, folder / name)
    for day, plot in (("2026-03-24", "301"), ("2026-03-24", "302"), ("2026-01-15", "101")):
        (folder / "photos" / day).mkdir(parents=True, exist_ok=True)
        shutil.copy(EXAMPLE / "photos" / day / f"{plot}_1.jpg", folder / "photos" / day)
    return folder


@pytest.fixture(scope="module")
def trial(study: Path) -> Trial:
    return open_study(study)


def test_a_study_opens_from_a_folder_inside_it(
    study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(study / "photos")
    assert open_study().folder == study
    assert open_study("").name == "small"


def test_photos_and_sheets_become_one_table(trial: Trial) -> None:
    seen = trial.observations()
    measures = ["green_cover", "colour_rating", "pull_force", "hole_closure"]
    logged = ["soil_temperature", "canopy_temperature"]
    assert list(seen["measure"].unique()) == [*measures, *logged]
    photos = trial.observations("green_cover")
    assert photos["source"].tolist() == [
        "photos/2026-01-15/101_1.jpg",
        "photos/2026-03-24/301_1.jpg",
        "photos/2026-03-24/302_1.jpg",
    ]
    assert photos["unit"].unique().tolist() == ["%"]
    assert photos["value"].between(0, 100).all()
    pulls = trial.observations("pull_force")
    assert pulls["unit"].unique().tolist() == ["N"]
    # 1 lbf = 4.4482216152605 N (NIST SP 811, appendix B.8)
    sheet = pd.read_csv(trial.folder / "sheets" / "pulls.csv", na_values="-")
    written = sheet["peak lbf"].sum()
    assert pulls["value"].sum() == pytest.approx(written * 4.4482216152605)


def test_exclusions_are_marked_and_kept(trial: Trial) -> None:
    photos = trial.observations("green_cover").set_index("plot")
    assert photos.loc["302", "excluded"].startswith("The photographer's own shadow")
    assert photos.loc["301", "excluded"] == ""


def test_what_is_handed_out_may_be_changed(trial: Trial) -> None:
    handed_out = trial.observations()
    handed_out["value"] = 0.0
    assert trial.observations()["value"].ne(0).any()


def test_dates_and_names_are_resolved(trial: Trial) -> None:
    assert trial.primary_date == dt.date(2026, 3, 24)
    assert trial.begins("cover") == dt.date(2026, 1, 19)
    assert trial.begins("aeration") == dt.date(2026, 3, 25)
    assert trial.label("pull_force") == "Pull force of the turf"
    with pytest.raises(WinterswardError, match="no measure is called 'green'"):
        trial.measure("green")


def test_a_trial_is_ready_when_its_primary_date_has_data(trial: Trial, study: Path) -> None:
    assert not trial.ready
    assert len(trial.outstanding) == 34  # two of 36 plots have their photo, one of them excluded
    told = study.parent / "told"
    shutil.copytree(study, told)
    entry = "  - {{plot: '{}', measure: green_cover, date: 2026-03-24, reason: card full}}\n"
    lost = "".join(entry.format(plot) for plot in trial.outstanding)
    text = (told / "diary.yaml").read_text(encoding="utf-8")
    (told / "diary.yaml").write_text(text.replace("missing:\n", f"missing:\n{lost}"))
    assert open_study(told).ready


def test_a_plan_that_the_seed_does_not_draw_is_refused(study: Path) -> None:
    swapped = study.parent / "swapped"
    shutil.copytree(study, swapped)
    plots = pd.read_csv(swapped / "plan" / "plots.csv", dtype=str)
    order = {"open": "fleece", "fleece": "woven", "woven": "open"}
    plots["cover"] = plots["cover"].map(order)
    plots.to_csv(swapped / "plan" / "plots.csv", index=False)
    with pytest.raises(WinterswardError, match="not the plan that trial") as caught:
        open_study(swapped)
    assert str(caught.value.problems[-1]) == redraw(swapped)
    with pytest.raises(WinterswardError) as caught:
        open_study(str(swapped))
    assert str(caught.value.problems[-1]).endswith(f"and run: wintersward plan {swapped}")


def test_a_damaged_photo_is_named_from_the_study_on(study: Path) -> None:
    damaged = study.parent / "damaged"
    shutil.copytree(study, damaged)
    (damaged / "photos" / "2026-03-24" / "301_1.jpg").write_bytes(b"not a photo")
    with pytest.raises(WinterswardError, match=r"^photos/2026-03-24/301_1\.jpg: ") as caught:
        open_study(damaged).observations()
    assert record_problems(damaged) == caught.value.problems


def test_records_are_checked_without_scoring(study: Path) -> None:
    assert record_problems(study) == []
    assert gathered(study).waiting == open_study(study).outstanding
    wrong = study.parent / "wrong"
    shutil.copytree(study, wrong, ignore=shutil.ignore_patterns(".cache"))
    (wrong / "photos" / "2026-03-24" / "302_1.jpg").unlink()
    lines = (wrong / "diary.yaml").read_text(encoding="utf-8").splitlines()
    first = lines.index("exclusions:") + 2
    assert [str(p) for p in record_problems(wrong)] == [
        f"diary.yaml:{first}:5: exclusions.1: found no observation of plot 302, green_cover, "
        "2026-03-24; correct the entry, or bring back the observation; if it was never made, it is "
        "missing by itself: remove the entry and tell why under deviations"
    ]
    assert not (wrong / ".cache").exists()


def test_files_are_counted_that_hold_observations(study: Path) -> None:
    littered = study.parent / "littered"
    shutil.copytree(study, littered, ignore=shutil.ignore_patterns(".cache"))
    for name in ("sheets/readme.txt", "sheets/.pulls.csv", "photos/2026-03-24/Thumbs.db"):
        (littered / name).write_text("no record")
    found = gathered(littered)
    assert (found.sheets, found.photos) == (3, 3)


def test_a_study_without_plots_says_what_to_do(study: Path) -> None:
    bare = study.parent / "bare"
    bare.mkdir()
    shutil.copy(study / "trial.yaml", bare)
    with pytest.raises(WinterswardError, match="plan"):
        open_study(bare)


def test_a_check_tells_nothing_of_treatments(study: Path) -> None:
    found = check(study)
    assert found.flags is not None
    assert len(found.flags)
    levels = [
        word
        for factor in found.definition.treatments.values()
        for name, level in factor.levels.items()
        for word in (name, level.label)
        if word
    ]
    told = "\n".join(found.words()) + json.dumps(found.as_dict())
    assert "sheets/pulls.csv" in told
    assert [word for word in levels if word in told] == []
