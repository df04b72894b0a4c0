"""The closing holes of the example: what is worked out from the sheet is what was true."""

from __future__ import annotations

import shutil
from pathlib import Path

import pandas as pd
import pytest

import field_model
import hole_closing
import make_example
from e2e.example import EXAMPLE
from wintersward.decisions.recovery import recovery_tables
from wintersward.records import flag_table
from wintersward.study import Trial, open_study

SHEET, TRUTH = "sheets/closure.csv", "truth/hole_closure.csv"
# How far the mean of six plots may lie from what is true of the treatment [day]: plots differ
# with a standard deviation of one day, and days are read off lines between visits.
NEAR = 1.5
# How far a difference between two means of six plots may be misread [day]: a reading of 2 points
# on 2.7 points a day is 0.74 day a plot, 0.43 of such a difference. How often intervals hold the
# truth is simulated elsewhere (tests/validity/test_days_gained.py).
READ = 1.3
PRIMARY = """\
analysis:
  primary: {measure: colour_rating, on: 2026-03-24, compare: [fleece, open], matters_from: 1}
"""


@pytest.fixture(scope="module")
def plots() -> pd.DataFrame:
    return pd.read_csv(EXAMPLE / "plan" / "plots.csv", dtype=str)


@pytest.fixture(scope="module")
def truth() -> pd.Series:
    return pd.read_csv(EXAMPLE / TRUTH).set_index(["cover", "aeration"])["days"]


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    """Open the example without its photos and loggers; the colour rating is its question."""
    study = tmp_path_factory.mktemp("closing") / "study"
    shutil.copytree(EXAMPLE / "sheets", study / "sheets")
    papers = shutil.ignore_patterns("papers")
    shutil.copytree(EXAMPLE / "plan", study / "plan", ignore=papers)
    text = (EXAMPLE / "trial.yaml").read_text(encoding="utf-8")
    photos = text[text.index("  green_cover:\n") : text.index("  colour_rating:\n")]
    text = text[: text.index("  soil_temperature:\n")].replace(photos, "")
    (study / "trial.yaml").write_text(f"{text}{PRIMARY}", encoding="utf-8")
    diary = (EXAMPLE / "diary.yaml").read_text(encoding="utf-8")
    diary = diary[: diary.index("exclusions:")]
    (study / "diary.yaml").write_text(diary, encoding="utf-8")
    return open_study(study)


@pytest.fixture(scope="module")
def tables(trial: Trial) -> dict[str, pd.DataFrame]:
    return recovery_tables(trial, {})


def test_the_files_are_what_the_generator_makes(tmp_path: Path, plots: pd.DataFrame) -> None:
    drawn = hole_closing.draw_closure(plots, field_model.SEED)
    hole_closing.write_closure(tmp_path / "closure.csv", drawn)
    assert (tmp_path / "closure.csv").read_bytes() == (EXAMPLE / SHEET).read_bytes()
    told = hole_closing.closure_table().to_csv(index=False, lineterminator="\n")
    assert told.encode() == (EXAMPLE / TRUTH).read_bytes()


def test_every_row_is_read(trial: Trial) -> None:
    sums = trial.sheet_sums().set_index("file").loc[SHEET]
    assert sums["values_used"] == len(hole_closing.VISITS) * 36
    assert [str(day) for day in trial.dates("hole_closure")] == list(hole_closing.VISITS)
    seen = trial.observations("hole_closure")
    given = (seen, trial.definition, trial.diary, trial.plots)
    found = flag_table(*given, measures=["hole_closure"])
    assert found[found["measure"] == "hole_closure"].empty


def test_holes_are_as_wide_as_the_photos_show(truth: pd.Series) -> None:
    # Widths of the painter at 2 pixels a mm; a hole is as wide as its tine when it is made.
    whole = {"solid": 2 * 0.375 * 25.4, "hollow": 2 * 0.75 * 25.4}
    aerated = pd.Timestamp(hole_closing.AERATED)
    for (tine, side), widths in make_example._HOLES_PX.items():
        cover = "open" if side == "open" else "fleece"
        for date in ("2026-04-04", "2026-04-17"):
            shown = 100 * (1 - (widths.get(date, 0.0) / whole[tine]) ** 2)
            days = (pd.Timestamp(date) - aerated).days
            true = min(100.0, hole_closing.CLOSED * days / truth[cover, tine])
            assert true == pytest.approx(shown, abs=14)


def test_the_days_until_holes_are_closed_are_the_true_ones(
    tables: dict[str, pd.DataFrame], truth: pd.Series
) -> None:
    times = tables["closure_times"]
    assert (times["censored"] == "").all()
    found = times.groupby(["cover", "aeration"])["days"].mean()
    assert found.sub(truth).abs().max() <= NEAR


def test_of_every_plot_the_day_is_the_true_one(
    tables: dict[str, pd.DataFrame], plots: pd.DataFrame
) -> None:
    drawn = hole_closing.draw_closure(plots, field_model.SEED)
    true = drawn.drop_duplicates("plot").set_index("plot")["days"]
    off = tables["closure_times"].set_index("unit_name")["days"] - true
    # A reading of 2 points on a curve of 2.7 (hollow) to 7.3 points a day (solid), and lines
    # between visits up to a week apart, on which all that is closed comes late.
    assert abs(off.mean()) <= 0.5
    assert off.abs().quantile(0.9) <= 1.5
    assert off.abs().max() <= 4


@pytest.mark.parametrize("cover", ["fleece", "woven"])
def test_the_days_gained_are_those_of_the_plots_as_they_were(
    tables: dict[str, pd.DataFrame], plots: pd.DataFrame, cover: str
) -> None:
    drawn = hole_closing.draw_closure(plots, field_model.SEED).drop_duplicates("plot")
    own = drawn.merge(plots, on="plot").groupby(["cover", "aeration"])["days"].mean()
    rows = tables["closure_gained"].set_index(["left", "within"])
    true = {tine: own["open", tine] - own[cover, tine] for tine in ("solid", "hollow")}
    for tine, days in true.items():
        row = rows.loc[(cover, f"aeration={tine}")]
        assert row["says"] == "exactly"
        assert abs(row["days"] - days) <= READ
        assert row["df"] == pytest.approx(10)  # (6 blocks - 1)(3 covers - 1)
    crossed = rows.loc[(f"{cover}:hollow-solid", "")]
    assert abs(crossed["days"] - (true["hollow"] - true["solid"])) <= READ
    leads = {tine: rows.loc[(cover, f"aeration={tine}"), "days"] for tine in true}
    assert crossed["days"] == pytest.approx(leads["hollow"] - leads["solid"])
