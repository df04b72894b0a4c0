"""The point count of the example: people look at what was painted, and the truth comes back."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import field_model
import make_example
import point_counting
from e2e.example import EXAMPLE, copied
from kept_sheets import SHADOWED
from wintersward import records
from wintersward.analysis.point_counts import LEAST_PHOTOS, point_counts
from wintersward.records.point_counts import CROSSES, KEY, read_point_counts
from wintersward.study import Trial, open_study

POINTS = "truth/points.csv"
APART = "score less count"
CELLS = 10  # one cross in each of 10 by 10 cells


@pytest.fixture(scope="module")
def truth() -> pd.DataFrame:
    table = pd.read_csv(EXAMPLE / POINTS, dtype={"plot": str})
    covers = pd.read_csv(EXAMPLE / "truth" / "photos.csv", dtype={"plot": str})
    return table.merge(covers, on=["date", "plot"]).set_index("photo", drop=False)


@pytest.fixture(scope="module")
def slips() -> pd.DataFrame:
    return pd.read_csv(EXAMPLE / "truth" / "point_counters.csv").set_index("rater")


@pytest.fixture(scope="module")
def painted() -> dict[tuple[str, str], np.ndarray]:
    """Paint again what was counted: where each photo is living green."""
    field = field_model.draw_truth(pd.read_csv(EXAMPLE / "plan" / "plots.csv", dtype=str))
    rows = field.cover.set_index(["date", "plot"], drop=False)
    told = pd.read_csv(EXAMPLE / POINTS, dtype={"plot": str})
    places = told[["date", "plot"]].itertuples(index=False, name=None)
    return {place: make_example.map_plot(rows.loc[place])[1] for place in places}


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory, truth: pd.DataFrame) -> Trial:
    """Open the example with the photos that were counted, and no others."""
    study = copied(tmp_path_factory.mktemp("points") / "study")
    kept = {f"{row.date}/{row.plot}_1.jpg" for row in truth.itertuples()}
    kept.add("/".join(SHADOWED) + "_1.jpg")  # the diary names it
    for path in (study / "photos").glob("*/*.jpg"):
        if path.relative_to(study / "photos").as_posix() not in kept:
            path.unlink()
    return open_study(study)


@pytest.fixture(scope="module")
def tables(trial: Trial) -> dict[str, pd.DataFrame]:
    return point_counts(trial)


@pytest.fixture(scope="module")
def photos(tables: dict[str, pd.DataFrame], truth: pd.DataFrame) -> pd.DataFrame:
    """Give what was counted by whom beside what is true; photos set aside are left out."""
    found = tables["point_counts"]
    true = truth[["green", "true_cover"]].rename(columns={"green": "under"})
    return found[found["excluded"] == ""].join(true, "photo")


def called_green(green: pd.Series, slips: pd.Series) -> pd.Series:
    """Give how often such a person calls a cross green [1], of each cross the chance summed."""
    return green * (1 - slips["missed"]) + (CROSSES - green) * slips["taken"]


def found_row(tables: dict[str, pd.DataFrame], what: str, form: str) -> pd.Series:
    table = tables["point_agreement"]
    return table[(table["what"] == what) & (table["form"] == form)].iloc[0]


def test_the_files_are_what_the_generator_makes(
    tmp_path: Path, painted: dict[tuple[str, str], np.ndarray]
) -> None:
    shutil.copytree(EXAMPLE / "photos", tmp_path / "photos")
    (tmp_path / point_counting.SHEET).unlink()
    point_counting.write_counts(tmp_path, lambda date, plot: painted[date, plot])
    for name in (KEY, "truth/point_counters.csv"):
        assert (tmp_path / name).read_bytes() == (EXAMPLE / name).read_bytes(), name
    under = pd.read_csv(EXAMPLE / POINTS, dtype={"plot": str})
    again = pd.read_csv(tmp_path / POINTS, dtype={"plot": str})
    assert under.drop(columns=["under", "green"]).equals(again.drop(columns=["under", "green"]))
    # Another computer may round the edge of a leaf to the next pixel.
    letters = zip("".join(under["under"]), "".join(again["under"]), strict=True)
    assert sum(one != other for one, other in letters) <= len(under) * CROSSES / 1000
    counts = point_counting.count_table(under).to_csv(index=False, lineterminator="\n")
    assert counts.encode() == (EXAMPLE / point_counting.SHEET).read_bytes()


def test_photos_are_those_that_the_papers_would_draw() -> None:
    trial = open_study(EXAMPLE)
    index, problems = records.photo_index(trial.folder, trial.definition, trial.plots)
    assert problems == []
    drawn = point_counting.choose(index, trial.definition.layout.seed)
    key = pd.read_csv(EXAMPLE / KEY)
    assert [(one.number, one.photo, one.seed) for one in drawn] == list(
        key[["number", "photo", "seed"]].itertuples(index=False, name=None)
    )


def test_enough_was_counted_to_judge_a_calibration(truth: pd.DataFrame) -> None:
    read = read_point_counts(EXAMPLE)
    assert read.problems == []
    assert read.drawn == len(truth) >= LEAST_PHOTOS
    by_rater = read.counts.groupby("rater")[["points", "unsure"]].sum()
    assert list(by_rater.index) == ["rx", "te"]
    assert ((by_rater["points"] - by_rater["unsure"]) >= 2000).all()
    assert truth["date"].nunique() == len(field_model.DATES)


def test_crosses_lie_on_what_was_painted(
    truth: pd.DataFrame, painted: dict[tuple[str, str], np.ndarray]
) -> None:
    for row in truth.itertuples():
        assert row.under.count("g") == row.green
        assert set(row.under) <= {"g", "-"}
        assert len(row.under) == CROSSES
        assert 100 * painted[row.date, row.plot].mean() == pytest.approx(row.true_cover, abs=0.05)
    # The crosses of all photos together find the cover of them, within 3 standard errors.
    error = np.sqrt(sum(cells_variance(mask) for mask in painted.values())) / len(painted)
    assert truth["green"].mean() == pytest.approx(truth["true_cover"].mean(), abs=3 * error)


def cells_variance(mask: np.ndarray) -> float:
    """Give the variance [points squared] of a count with one cross anywhere in each cell."""
    height, width = (side // CELLS for side in mask.shape)
    share = mask.reshape(CELLS, height, CELLS, width).mean(axis=(1, 3))
    return float(100**2 * (share * (1 - share)).sum() / CROSSES**2)


def test_people_slip_as_often_as_is_stated(photos: pd.DataFrame, slips: pd.DataFrame) -> None:
    for rater, own in photos.groupby("rater"):
        stated = slips.loc[rater]
        wanted = called_green(own["under"], stated)
        told = own["points"] - own["unsure"]
        share = own["green"] / told * 100
        chance = own["under"] * stated["missed"] + (CROSSES - own["under"]) * stated["taken"]
        # Slips are independent with small chances, so that their number has about their sum for
        # its variance; what is left out as unsure adds its share of an even mix at most.
        error = np.sqrt((chance + 0.25 * CROSSES * stated["unsure"]).sum()) / len(own)
        assert (share - wanted).mean() == pytest.approx(0, abs=3 * error)
        unsure = own["unsure"].sum() / own["points"].sum()
        spread = np.sqrt(stated["unsure"] * (1 - stated["unsure"]) / own["points"].sum())
        assert unsure == pytest.approx(stated["unsure"], abs=3 * spread)


def test_the_bias_and_the_limits_of_the_scores_are_recovered(
    tables: dict[str, pd.DataFrame],
    photos: pd.DataFrame,
    slips: pd.DataFrame,
    painted: dict[tuple[str, str], np.ndarray],
) -> None:
    places = photos.assign(date=photos["date"].dt.strftime("%Y-%m-%d")).drop_duplicates("photo")
    by_people = [called_green(places["true_cover"], stated) for _, stated in slips.iterrows()]
    wanted = places["scored"] - sum(by_people) / len(by_people)
    chance = [
        row["true_cover"] * stated["missed"] + (CROSSES - row["true_cover"]) * stated["taken"]
        for _, row in places.iterrows()
        for _, stated in slips.iterrows()
    ]
    crosses = [cells_variance(painted[row.date, row.plot]) for row in places.itertuples()]
    # Two people see the same crosses; their slips are their own.
    extra = np.mean(crosses) + np.mean(chance) / len(slips)
    n, sd = len(places), np.sqrt(wanted.var(ddof=1) + extra)
    error = np.sqrt(extra / n)  # the photos stay the same, crosses and slips are drawn
    bias = found_row(tables, "bias", APART)
    assert bias["value"] == pytest.approx(wanted.mean(), abs=3 * error)
    assert bias["lower"] <= wanted.mean() <= bias["upper"]
    # A standard deviation of n values has the standard error sd / sqrt(2 (n - 1)).
    assert found_row(tables, "sd", APART)["value"] == pytest.approx(
        sd, abs=3 * sd / np.sqrt(2 * (n - 1))
    )
    reach = 3 * sd * np.sqrt(1 / n + 1.96**2 / (2 * (n - 1)))  # Bland and Altman 1986
    for form, side in (("lower", -1), ("upper", 1)):
        end = found_row(tables, "limits", form)
        assert end["value"] == pytest.approx(wanted.mean() + side * 1.96 * sd, abs=reach)


def test_the_raters_lie_apart_as_their_slips_say(
    tables: dict[str, pd.DataFrame], photos: pd.DataFrame, slips: pd.DataFrame
) -> None:
    row = found_row(tables, "bias", "rx less te")
    green = photos.drop_duplicates("photo")["under"]
    wanted = (called_green(green, slips.loc["rx"]) - called_green(green, slips.loc["te"])).mean()
    chance = sum(
        (green * one["missed"] + (CROSSES - green) * one["taken"]).sum()
        for _, one in slips.iterrows()
    )
    error = np.sqrt(chance) / len(green)
    assert row["n"] == len(green)
    assert row["value"] == pytest.approx(wanted, abs=3 * error)
    assert row["lower"] < row["upper"] < 0  # told apart: te calls more crosses green than rx


def test_a_calibration_is_judged(tables: dict[str, pd.DataFrame]) -> None:
    line = tables["calibration"].iloc[0]
    assert line["photos"] >= LEAST_PHOTOS
    assert line["points"] >= 2000
    assert np.isfinite([line["slope"], line["error_before"], line["error_after"]]).all()
    assert (line["done"] == "yes") == (line["error_after"] < line["error_before"])
