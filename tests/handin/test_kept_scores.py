from __future__ import annotations

import csv
import hashlib
import shutil
from pathlib import Path

import pandas as pd
import pytest

from e2e.small_trial import small_trial
from wintersward.errors import WinterswardError
from wintersward.handin.kept_scores import lay_out_scores
from wintersward.records.point_counts import KEY
from wintersward.runs.record import Record
from wintersward.study import Trial, open_study


@pytest.fixture(scope="module")
def scored(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Trial]:
    """A trial with photos, and the folder of a run that scored them."""
    study = small_trial(tmp_path_factory.mktemp("kept") / "trial")
    trial = open_study(study)
    Record(study / "runs" / "001").write("photo_scores", trial.photo_scores())
    assert len(trial.observations()) == 24
    return study / "runs" / "001", trial


@pytest.fixture
def bare(scored: tuple[Path, Trial], tmp_path: Path) -> Path:
    """The same trial without its photos and without anything kept."""
    leave = shutil.ignore_patterns("photos", "runs", ".cache")
    return Path(shutil.copytree(scored[1].folder, tmp_path / "bare", ignore=leave))


def left_out(trial: Trial) -> dict[str, str]:
    scores = trial.photo_scores()
    return dict(zip(scores["path"], scores["sha256"], strict=True))


def test_observations_are_those_of_the_photos(scored: tuple[Path, Trial], bare: Path) -> None:
    run, trial = scored
    lay_out_scores(bare, trial.definition, run / "results", left_out(trial))
    anew = open_study(bare)
    pd.testing.assert_frame_equal(anew.observations(), trial.observations(), check_exact=True)
    own = trial.photo_scores()
    made = anew.photo_scores()
    for name in ("path", "cover", "pixels", "flags", "window"):
        assert made[name].tolist() == own[name].tolist()
    assert made["cover_se"].tolist() == pytest.approx(own["cover_se"].tolist(), rel=1e-9)
    # What other windows would see is not known: that of the definition stands for each.
    grid = anew.window_grid()
    assert grid.groupby(["plot", "sample"])["cover"].nunique().tolist() == [1] * 8


def test_the_key_of_a_point_count_is_told_the_stand_ins(
    scored: tuple[Path, Trial], bare: Path
) -> None:
    run, trial = scored
    photos = left_out(trial)
    name, digits = next(iter(photos.items()))
    (bare / KEY).parent.mkdir(parents=True)
    (bare / KEY).write_text(f"number,photo,sha256,seed\n1,{name},{digits},7\n", encoding="utf-8")
    lay_out_scores(bare, trial.definition, run / "results", photos)
    found = hashlib.sha256((bare / name).read_bytes()).hexdigest()
    assert (bare / KEY).read_text().splitlines()[1] == f"1,{name},{found},7"


def test_scores_that_do_not_fit(scored: tuple[Path, Trial], bare: Path, tmp_path: Path) -> None:
    run, trial = scored
    photos = left_out(trial)
    with (run / "results" / "photo_scores.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    lost, window, other, no_number = (row["path"] for row in rows[:4])
    rows[1]["window"] = "0" * 12
    rows[2]["sha256"] = "0" * 64
    rows[3]["cover"] = "much"
    with (tmp_path / "photo_scores.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows[1:])
    with pytest.raises(WinterswardError) as caught:
        lay_out_scores(bare, trial.definition, tmp_path, photos)
    table = "results/photo_scores.csv"
    assert [str(problem) for problem in caught.value.problems] == [
        *sorted(f"{name}: found no score in {table}" for name in (lost, window, other, no_number)),
        f"{table}, row 2: found the window 000000000000, which trial.yaml does not use",
        f"{table}, row 3: found the score of another photo than {other} was",
        f"{table}, row 4: found could not convert string to float: 'much'",
    ]


def test_without_the_table_nothing_can_be_laid_out(
    scored: tuple[Path, Trial], bare: Path, tmp_path: Path
) -> None:
    with pytest.raises(WinterswardError, match="photo_scores.csv: it is missing"):
        lay_out_scores(bare, scored[1].definition, tmp_path, left_out(scored[1]))
    (tmp_path / "photo_scores.csv").write_text("path,cover\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match="it lacks the columns window, sha256, larg"):
        lay_out_scores(bare, scored[1].definition, tmp_path, left_out(scored[1]))
