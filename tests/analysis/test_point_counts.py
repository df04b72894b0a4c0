"""Scores against counts: what was put in comes out, and nothing that judges a demonstration."""

from __future__ import annotations

import csv
import hashlib
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from e2e.example import EXAMPLE
from wintersward.analysis.calibrating import ANALYSIS
from wintersward.analysis.demonstration_tables import described
from wintersward.analysis.point_counts import point_counts
from wintersward.analysis.primary import primary
from wintersward.analysis.results import TABLES
from wintersward.errors import WinterswardError
from wintersward.papers.point_counts import choose, key_table
from wintersward.records import photo_index
from wintersward.study import Trial, open_study

MEASURES = """\
measures:
  green_cover: {from: photos, label: Green cover, dates: [baseline, visits]}
  colour: {from: photos, score: colour_index, dates: [baseline, visits]}
  colour_rating: {from: sheet, scale: 1-9, raters: [te, rx], dates: [baseline, visits]}
  pull_force: {from: sheet, unit: lbf, per_plot: 3, dates: [2026-03-24, 2026-04-17]}
analysis:
  primary: {measure: green_cover, on: 2026-03-24, compare: [fleece, open], matters_from: 8 points}
"""
Counted = Callable[..., Trial]
Count = Callable[[int, float, np.random.Generator], list[tuple[str, int, int, int]]]
Rows = Iterable[tuple[int, str, int, int, int]]


def covers(trial: Trial) -> pd.DataFrame:
    """Invent a score for every photo: fleece is 8 points ahead on the primary date."""
    rng, rows = np.random.default_rng(6), []
    fleece = trial.plots.set_index("plot")["cover"].astype(str) == "fleece"
    for at, day in enumerate(pd.to_datetime(trial.dates("green_cover"))):
        for plot in trial.plots["plot"]:
            cover = 25 + 11 * at + rng.normal(0, 5) + (8 if fleece[plot] and at else 0)
            source = f"photos/{day.date()}/{plot}_1.jpg"
            rows.append((day, plot, "green_cover", float(np.clip(cover, 1, 99)), source))
    frame = pd.DataFrame(rows, columns=["date", "plot", "measure", "value", "source"])
    told = {"sample": 1, "unit": "%", "rater": "", "flags": "", "excluded": ""}
    return frame.assign(**told)


@pytest.fixture
def counted(tmp_path: Path, rated: Callable[..., Path]) -> Counted:
    """Make a study whose photos have invented scores, and write what was counted."""

    def make(
        count: Count,
        many: int = 24,
        seed: int = 1,
    ) -> Trial:
        folder = rated(tmp_path / f"study {seed}", measures=MEASURES)
        trial = open_study(folder)
        seen = covers(trial)
        vars(trial)["_observations"] = seen
        index = seen.rename(columns={"source": "path"})
        chosen = choose(index, seed, many)
        hashes = []
        for one in chosen:
            photo = folder / one.photo
            photo.parent.mkdir(parents=True, exist_ok=True)
            photo.write_bytes(one.photo.encode())
            hashes.append(hashlib.sha256(photo.read_bytes()).hexdigest())
        place = folder / "plan" / "papers" / "point_count"
        place.mkdir(parents=True)
        (place / "key.csv").write_bytes(key_table(chosen, hashes))
        recount(trial, count, seed)
        return trial

    return make


def recount(trial: Trial, count: Count, seed: int) -> None:
    """Count the drawn photos of a study anew."""
    key = pd.read_csv(trial.folder / "plan/papers/point_count/key.csv")
    scores = trial.observations("green_cover").set_index("source")["value"]
    rng = np.random.default_rng(seed)
    rows = [
        (number, *told)
        for number, photo in zip(key["number"], key["photo"], strict=True)
        for told in count(number, float(scores[photo]), rng)
    ]
    write(trial.folder, rows)


def write(folder: Path, rows: Rows) -> None:
    with (folder / "photos" / "point_count.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("photo", "rater", "points", "green", "unsure"), *rows])


def by(bias: float = 0.0, slope: float = 1.0, raters: dict[str, float] | None = None) -> Count:
    """Count on photos whose true cover is ``slope * score - bias``; raters see the same points."""

    def count(_: int, score: float, rng: np.random.Generator) -> list[tuple[str, int, int, int]]:
        true = np.clip(slope * score - bias, 0, 100) / 100
        green = rng.binomial(100, true)
        return [
            (rater, 100, int(np.clip(green + ahead, 0, 100)), 0)
            for rater, ahead in (raters or {"te": 0.0}).items()
        ]

    return count


def photo_of(trial: Trial, number: int) -> str:
    key = pd.read_csv(trial.folder / "plan/papers/point_count/key.csv", index_col="number")
    return str(key.loc[number, "photo"])


def value(tables: dict[str, pd.DataFrame], what: str, form: str) -> pd.Series:
    found = tables["point_agreement"].set_index(["what", "form"])
    return found.loc[(what, form)]


def test_the_tables_hold_what_they_promise(counted: Counted) -> None:
    tables = point_counts(counted(by(raters={"te": 1.0, "rx": -1.0})))
    assert list(tables) == ["point_counts", "point_agreement", "calibration", "sensitivity"]
    for name, frame in tables.items():
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]
        assert not frame.duplicated(list(TABLES[name].key)).any()
    assert set(tables["point_counts"]["measure"]) == {"green_cover"}
    assert len(tables["point_counts"]) == 48


def test_nothing_counted_gives_empty_tables(counted: Counted) -> None:
    trial = counted(lambda *_: [])
    for name, frame in point_counts(trial).items():
        assert frame.empty
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]


def test_a_known_bias_is_found(counted: Counted) -> None:
    """Over 25 counts of 24 photos the bias put in lies in its interval about as often as said."""
    inside, found = 0, []
    trial = counted(by(bias=6.0))
    for seed in range(25):
        recount(trial, by(bias=6.0), seed)
        row = value(point_counts(trial), "bias", "score less count")
        inside += row["lower"] <= 6 <= row["upper"]
        found.append(row["value"])
    # Of 25 at 95 %, 20 or more lie inside in 99.9 of 100 (binomial distribution).
    assert inside >= 20
    assert np.mean(found) == pytest.approx(6, abs=0.6)


def test_the_points_alone_explain_a_spread_that_is_theirs(counted: Counted) -> None:
    tables = point_counts(counted(by(), many=200))
    alone, spread = value(tables, "sd", "crosses alone"), value(tables, "sd", "score less count")
    assert spread["value"] == pytest.approx(alone["value"], rel=0.12)
    share = value(tables, "share", "crosses alone")
    assert share["value"] == pytest.approx(100 * (alone["value"] / spread["value"]) ** 2)


def test_limits_and_words_of_agreement(counted: Counted) -> None:
    tables = point_counts(counted(by(bias=6.0)))
    bias = value(tables, "bias", "score less count")
    assert bias["text"].startswith("on average the score reads higher than people count")
    low, high = (value(tables, "limits", end) for end in ("lower", "upper"))
    spread = value(tables, "sd", "score less count")["value"]
    assert high["value"] - low["value"] == pytest.approx(2 * 1.96 * spread)
    assert (bias["n"], bias["points"]) == (24, 2400)
    even = value(point_counts(counted(by(), seed=2)), "bias", "score less count")
    assert even["text"].startswith("these data cannot tell whether the score reads higher")


def test_unsure_crosses_are_left_out(counted: Counted) -> None:
    tables = point_counts(counted(lambda *_: [("te", 100, 30, 40)]))
    assert tables["point_counts"]["counted"].tolist() == [pytest.approx(50)] * 24
    assert value(tables, "photos", "counted")["points"] == 24 * 60
    assert (
        "40.0 % of the crosses looked at were unsure" in value(tables, "photos", "counted")["text"]
    )


def test_a_photo_of_which_all_is_unsure_is_told(counted: Counted) -> None:
    def count(number: int, *_: object) -> list[tuple[str, int, int, int]]:
        return [("te", 100, 0, 100) if number == 1 else ("te", 100, 30, 0)]

    told = value(point_counts(counted(count)), "photos", "counted")
    assert told["n"] == 23
    assert "1 with a count in which every cross was unsure" in told["text"]


def test_raters_share_the_chance_of_the_points(counted: Counted) -> None:
    tables = point_counts(counted(by(raters={"te": 2.0, "rx": -1.0})))
    between = value(tables, "bias", "rx less te")
    assert between["value"] == pytest.approx(-3, abs=0.3)
    assert value(tables, "sd", "rx less te")["value"] < 1
    assert value(tables, "ICC", "single rating, absolute agreement")["value"] > 0.95
    # Two raters of one photo are no more points.
    assert value(tables, "sd", "score less count")["points"] == 2400


def test_excluded_photos_are_shown_and_not_used(counted: Counted) -> None:
    trial = counted(by())
    path = photo_of(trial, 3)
    seen = vars(trial)["_observations"]
    seen.loc[seen["source"] == path, "excluded"] = "a shadow over half of it"
    tables = point_counts(trial)
    assert len(tables["point_counts"]) == 24
    assert set(tables["point_counts"]["excluded"]) == {"", "a shadow over half of it"}
    told = value(tables, "photos", "counted")
    assert told["n"] == 23
    assert "1 set aside in the diary" in told["text"]


def test_a_photo_that_the_trial_no_longer_uses_is_told(counted: Counted) -> None:
    trial = counted(by())
    used = photo_of(trial, 1)
    seen = vars(trial)["_observations"]
    vars(trial)["_observations"] = seen[seen["source"] != used].reset_index(drop=True)
    told = value(point_counts(trial), "photos", "counted")
    assert told["text"].startswith(
        "of 24 photos drawn, 24 were counted and 23 are used; 1 of which"
    )


class TestCalibration:
    def test_a_bent_scale_is_put_right(self, counted: Counted) -> None:
        trial = counted(by(bias=-5.0, slope=0.7))
        tables = point_counts(trial)
        (row,) = tables["calibration"].to_dict("records")
        assert row["done"] == "yes"
        assert row["slope"] == pytest.approx(0.7, abs=0.15)
        assert row["error_after"] < row["error_before"]
        (asked,) = primary(trial).query("which == 'as planned'").to_dict("records")
        (beside,) = tables["sensitivity"].to_dict("records")
        assert beside["analysis"] == ANALYSIS
        assert beside["difference"] == pytest.approx(row["slope"] * asked["difference"])
        assert (beside["p"], beside["df"]) == (asked["p"], asked["df"])
        assert beside["agrees"] == ""
        narrow = row["slope"] * (asked["upper"] - asked["lower"])
        assert narrow < beside["upper"] - beside["lower"] < 1.5 * narrow

    def test_the_answer_itself_stays(self, counted: Counted) -> None:
        trial = counted(by(bias=-5.0, slope=0.7))
        before = primary(trial)
        point_counts(trial)
        pd.testing.assert_frame_equal(primary(trial), before)

    def test_a_sound_scale_is_left_alone(self, counted: Counted) -> None:
        """A line through exact scores can only make the error of a further photo larger."""

        def exact(_: int, score: float, *__: object) -> list[tuple[str, int, int, int]]:
            return [("te", 100, round(score), 0)]

        tables = point_counts(counted(exact))
        (row,) = tables["calibration"].to_dict("records")
        assert row["done"] == "no"
        assert row["error_after"] >= row["error_before"]
        assert "would not foretell" in row["text"]
        assert tables["sensitivity"].empty

    @pytest.mark.parametrize(("many", "points"), [(19, 100), (20, 49)])
    def test_too_little_is_not_enough(self, counted: Counted, many: int, points: int) -> None:
        def count(_: int, score: float, *__: object) -> list[tuple[str, int, int, int]]:
            return [("te", points, round(0.5 * score / 100 * points), 0)]

        (row,) = point_counts(counted(count, many=many))["calibration"].to_dict("records")
        assert row["done"] == "no"
        assert "it takes 20 photos and 1000 crosses at least" in row["text"]
        assert np.isnan(row["slope"])

    def test_counts_that_fall_are_no_calibration(self, counted: Counted) -> None:
        (row,) = point_counts(counted(by(bias=-100.0, slope=-0.9)))["calibration"].to_dict(
            "records"
        )
        assert (row["done"], row["text"]) == (
            "no",
            "not calibrated: the counts do not rise with the scores",
        )


def test_it_does_not_wait_for_the_primary_question(counted: Counted) -> None:
    trial = counted(by(bias=-5.0, slope=0.7))
    seen = vars(trial)["_observations"]
    gone = (seen["date"] == pd.Timestamp("2026-03-24")) & (seen["plot"] == "101")
    vars(trial)["_observations"] = seen[~gone].reset_index(drop=True)
    assert not trial.ready
    tables = point_counts(trial)
    assert len(tables["point_agreement"]) > 5
    assert tables["sensitivity"].empty


def test_no_treatment_is_told(counted: Counted) -> None:
    trial = counted(by(raters={"te": 1.0, "rx": -1.0}))
    levels = {level for factor in trial.factors.values() for level in factor.levels}
    tables = point_counts(trial)
    for name in ("point_counts", "point_agreement", "calibration"):
        assert not tables[name].astype(str).isin(levels).any(axis=None)


def test_a_demonstration_is_described_alone(counted: Counted) -> None:
    trial = counted(by(bias=6.0, raters={"te": 1.0, "rx": -1.0}))
    layout = trial.definition.layout.model_copy(update={"kind": "demonstration"})
    changed = trial.definition.model_copy(update={"layout": layout})
    shown = Trial(trial.folder, changed, trial.diary, trial.plots)
    vars(shown)["_observations"] = vars(trial)["_observations"]
    assert not shown.definition.layout.tested
    tables = point_counts(shown)
    agreed = tables["point_agreement"]
    assert agreed[["lower", "upper"]].isna().all(axis=None)
    assert list(zip(agreed["what"], agreed["form"], strict=True)) == [
        ("photos", "counted"),
        ("bias", "score less count"),
        ("sd", "score less count"),
        ("bias", "rx less te"),
        ("sd", "rx less te"),
    ]
    assert not agreed["text"].str.contains("interval|cannot tell|limit").any()
    assert tables["calibration"].empty
    kept = described(tables)
    assert "lower" not in kept["point_agreement"]
    assert len(kept["point_counts"]) == 48


def test_what_is_wrong_on_the_sheet_is_told(counted: Counted) -> None:
    trial = counted(by())
    write(trial.folder, [(1, "te", 100, 101, 0)])
    with pytest.raises(WinterswardError, match="row 2, column green: found '101'"):
        point_counts(trial)


@pytest.mark.e2e
def test_counts_from_the_painted_truth_give_the_bias_of_the_scores(tmp_path: Path) -> None:
    """The painter knows how much it painted green: people who count that find how scores lie."""
    folder = tmp_path / "example"
    # Without the diary, which sets single photos aside.
    kept = ("runs", "truth", "*.py", "papers", ".cache", "__pycache__", "diary.yaml", "sheets")
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns(*kept))
    trial = open_study(folder)
    truth = pd.read_csv(EXAMPLE / "truth" / "photos.csv", dtype={"plot": str})
    truth.index = pd.Index("photos/" + truth["date"] + "/" + truth["plot"] + "_1.jpg")
    index, _ = photo_index(folder, trial.definition, trial.plots)
    chosen = choose(index, 3, 60)
    for path in set(index["path"]) - {one.photo for one in chosen}:
        (folder / path).unlink()
    hashes = [hashlib.sha256((folder / one.photo).read_bytes()).hexdigest() for one in chosen]
    (folder / "plan" / "papers" / "point_count").mkdir(parents=True)
    (folder / "plan/papers/point_count/key.csv").write_bytes(key_table(chosen, hashes))
    rng = np.random.default_rng(12)
    shares = truth["true_cover"].loc[[one.photo for one in chosen]] / 100
    greens = rng.binomial(100, shares)
    write(
        folder, [(one.number, "te", 100, int(g), 0) for one, g in zip(chosen, greens, strict=True)]
    )
    tables = point_counts(trial)
    scores = trial.photo_scores().set_index("path")["cover"]
    used = [one.photo for one in chosen]
    actual = float((scores.loc[used] - truth["true_cover"].loc[used]).mean())
    row = value(tables, "bias", "score less count")
    assert row["n"] == 60
    assert row["lower"] <= actual <= row["upper"]
    assert row["value"] == pytest.approx(actual, abs=1.5)
