"""The primary question by other windows: each answers as if it stood in the definition."""

from __future__ import annotations

import shutil
from pathlib import Path

import pandas as pd
import pytest

from drawn_study import draw_plots
from e2e import demonstration
from e2e.example import EXAMPLE
from wintersward.analysis.demonstration_tables import DEMONSTRATION_TABLES, described
from wintersward.analysis.equivalence import equivalence
from wintersward.analysis.primary import primary
from wintersward.analysis.results import TABLES
from wintersward.analysis.thresholds import thresholds
from wintersward.photos import GreenWindow
from wintersward.study import Trial, open_study

DAY = "2026-03-24"
MEASURES = """\
measures:
  green_cover: {from: photos, dates: [2026-03-24]WINDOW}
  colour: {from: photos, score: colour_index, window: {hue: [60, 150]}, dates: [2026-03-24]}
  colour_rating: {from: sheet, scale: 1-9, raters: [te, rx], dates: [baseline, visits]}
analysis:
  primary: {measure: MEASURE, on: 2026-03-24, compare: COMPARE, matters_from: 8 points}
"""
DIARY = f"""\
exclusions:
  - {{measure: green_cover, plot: "302", date: {DAY}, reason: shadow}}
"""
NUMBERS = ["difference", "se", "df", "lower", "upper"]
Tables = dict[str, pd.DataFrame]


def write(
    folder: Path, window: str = "", measure: str = "green_cover", compare: str = "[fleece, open]"
) -> Path:
    """Write the example with the photos of one day, and a window of its own."""
    shutil.copytree(EXAMPLE / "plan", folder / "plan")
    shutil.copytree(EXAMPLE / "photos" / DAY, folder / "photos" / DAY)
    text = (EXAMPLE / "trial.yaml").read_text(encoding="utf-8")
    asked = MEASURES.replace("WINDOW", f", window: {window}" if window else "")
    asked = asked.replace("MEASURE", measure).replace("COMPARE", compare)
    if measure == "colour":
        asked = asked.replace("8 points", "0.1")
    (folder / "trial.yaml").write_text(text[: text.index("measures:")] + asked, encoding="utf-8")
    (folder / "diary.yaml").write_text(DIARY, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return open_study(write(tmp_path_factory.mktemp("thresholds") / "study"))


@pytest.fixture(scope="module")
def tables(trial: Trial) -> Tables:
    return thresholds(trial)


def test_the_tables_hold_what_they_promise(tables: Tables) -> None:
    assert list(tables) == ["green_windows", "window_covers", "window_answers"]
    for name, frame in tables.items():
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]
        assert not frame.duplicated(list(TABLES[name].key)).any()
    assert len(tables["window_covers"]) == len(tables["window_answers"]) == 100


def test_the_declared_window_gives_the_answer_itself(trial: Trial, tables: Tables) -> None:
    answers = tables["window_answers"]
    (own,) = answers[answers["declared"] == "yes"].to_dict("records")
    planned = primary(trial)
    asked = planned[planned["which"] == "as planned"].iloc[0]
    assert [own[name] for name in NUMBERS] == [asked[name] for name in NUMBERS]
    assert own["verdict"] == equivalence(trial, planned)["verdict"].iloc[0]
    assert own["window"] == GreenWindow().hash()
    assert (own["hue_low"], own["hue_high"], own["saturation_low"]) == (50, 170, 0)


def test_another_window_answers_as_if_it_were_declared(tables: Tables, tmp_path: Path) -> None:
    other = open_study(write(tmp_path / "other", "{hue: [60, 160], saturation: [0.1, 1]}"))
    planned = primary(other)
    asked = planned[planned["which"] == "as planned"].iloc[0]
    limits = "hue_low == 60 and hue_high == 160 and saturation_low == 0.1"
    (found,) = tables["window_answers"].query(limits).to_dict("records")
    assert [found[name] for name in NUMBERS] == [asked[name] for name in NUMBERS]
    assert found["verdict"] == equivalence(other, planned)["verdict"].iloc[0]
    assert found["declared"] == ""
    assert found["window"] == other.photo_scores()["window"].iloc[0]
    seen = other.observations("green_cover").query("excluded == ''")["value"]
    (covers,) = tables["window_covers"].query(limits).to_dict("records")
    assert covers["mean"] == pytest.approx(seen.mean(), rel=1e-14)
    assert (covers["lowest"], covers["highest"]) == (seen.min(), seen.max())


def test_less_is_green_by_narrower_windows(tables: Tables) -> None:
    means = tables["window_covers"].set_index(["hue_low", "hue_high", "saturation_low"])["mean"]
    for level, rising in (("hue_low", False), ("hue_high", True), ("saturation_low", False)):
        steps = means.unstack(level).diff(axis=1).iloc[:, 1:]
        assert (steps >= 0 if rising else steps <= 0).all(axis=None)
    assert means.max() - means.min() > 5


def test_excluded_photos_are_marked_and_left_out(trial: Trial, tables: Tables) -> None:
    grid = trial.window_grid()
    limits = ["window", "hue_low", "hue_high", "saturation_low"]
    assert list(grid.columns) == [*limits, "date", "plot", "sample", "cover", "excluded"]
    assert len(grid) == 100 * 36
    assert set(grid.loc[grid["excluded"] != "", "plot"]) == {"302"}
    assert set(grid.loc[grid["plot"] == "302", "excluded"]) == {"shadow"}
    assert tables["window_covers"]["plots"].eq(35).all()
    own = grid[grid["window"] == GreenWindow().hash()].set_index("plot")["cover"]
    seen = trial.observations("green_cover").set_index("plot")["value"]
    assert own.to_dict() == seen.to_dict()


def test_every_measure_from_photos_is_traced_to_its_window(trial: Trial, tables: Tables) -> None:
    found = tables["green_windows"].set_index("measure")
    assert set(found.index) == {"green_cover", "colour"}
    assert found.loc["colour", "window"] == GreenWindow((60, 150)).hash()
    assert (found.loc["colour", "hue_low"], found.loc["colour", "hue_high"]) == (60, 150)
    scores = trial.photo_scores().set_index(["window", "path"])
    for row in trial.observations().query("measure in ['green_cover', 'colour']").itertuples():
        score = "cover" if row.measure == "green_cover" else "colour_index"
        assert scores.loc[(found.loc[row.measure, "window"], row.source), score] == row.value


def test_a_declared_family_is_asked_as_one(trial: Trial, tmp_path: Path) -> None:
    compare = "{each: [fleece, woven], with: open}"
    family = open_study(write(tmp_path / "family", compare=compare))
    shutil.copytree(trial.folder / ".cache", family.folder / ".cache")
    found = thresholds(family)["window_answers"]
    assert len(found) == 200
    own = found[found["declared"] == "yes"].set_index("left")
    planned = primary(family)
    asked = planned[planned["which"] == "as planned"].set_index("left")
    assert own[NUMBERS].to_dict() == asked.loc[own.index, NUMBERS].to_dict()


def test_a_trial_that_waits_has_covers_and_no_answers(trial: Trial, tmp_path: Path) -> None:
    shutil.copytree(trial.folder, tmp_path / "waits")
    (tmp_path / "waits" / "photos" / DAY / "101_1.jpg").unlink()
    waits = open_study(tmp_path / "waits")
    assert not waits.ready
    found = thresholds(waits)
    assert found["window_answers"].empty
    assert found["window_covers"]["plots"].eq(34).all()
    levels = {*trial.factors["cover"].levels, *trial.factors["aeration"].levels}
    for frame in found.values():
        assert not frame.isin(levels).any(axis=None)
    assert not set(found["window_covers"].columns) & {*trial.factors, "left", "right", "level"}


def test_no_photo_of_the_day_gives_no_covers(trial: Trial, tmp_path: Path) -> None:
    shutil.copytree(trial.folder, tmp_path / "none")
    shutil.rmtree(tmp_path / "none" / "photos")
    (tmp_path / "none" / "diary.yaml").unlink()
    found = thresholds(open_study(tmp_path / "none"))
    assert found["window_covers"].empty
    assert found["window_answers"].empty
    assert len(found["green_windows"]) == 2


def test_another_score_is_not_asked_again(trial: Trial, tmp_path: Path) -> None:
    colour = open_study(write(tmp_path / "colour", measure="colour"))
    shutil.copytree(trial.folder / ".cache", colour.folder / ".cache")
    found = thresholds(colour)
    assert found["window_covers"].empty
    assert found["window_answers"].empty


def test_a_window_that_cannot_be_answered_is_told(
    trial: Trial, monkeypatch: pytest.MonkeyPatch
) -> None:
    grid = trial.window_grid()
    grid.loc[grid["hue_low"] == 60, "cover"] = 0.0  # every plot is bare by these
    monkeypatch.setattr(Trial, "window_grid", lambda _: grid)
    answers = thresholds(trial)["window_answers"]
    lost = answers["hue_low"] == 60
    assert answers.loc[lost, NUMBERS].isna().all(axis=None)
    assert set(answers.loc[lost, "verdict"]) == {"cannot tell"}
    assert answers.loc[~lost, NUMBERS].notna().all(axis=None)


def test_a_demonstration_shows_covers_alone(tmp_path: Path) -> None:
    folder = demonstration.write_plan(tmp_path / "shown")
    draw_plots(folder)
    demonstration.gather(folder)
    found = thresholds(open_study(folder))
    assert len(found["window_covers"]) == 100
    assert found["window_answers"].empty
    kept = described(found)
    assert list(kept) == ["green_windows", "window_covers"]
    judging = {"se", "df", "lower", "upper", "p", "t", "verdict"}
    for name in kept:
        assert not {column.name for column in DEMONSTRATION_TABLES[name].columns} & judging
