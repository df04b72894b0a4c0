"""One loop over all measures and dates: what it compares, and what it leaves alone."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from e2e.example import EXAMPLE
from wintersward.analysis import TABLES, analyse, model_for
from wintersward.errors import WinterswardError
from wintersward.study import Trial, open_study
from wintersward.trial.names import RESERVED

RATED = """\
measures:
  colour_rating:
    from: sheet
    scale: 1-9
    raters: [te, rx]
    dates: [baseline, visits]
  pull_force: {from: sheet, unit: lbf, per_plot: 3, dates: [2026-03-24, 2026-04-17]}
analysis:
  primary: {measure: colour_rating, on: 2026-03-24, compare: [fleece, open], matters_from: 1}
"""


def rated(folder: Path, exclusions: str = "") -> Path:
    """Write the example without photos: its primary question is the colour rating."""
    shutil.copytree(EXAMPLE / "plan", folder / "plan")
    shutil.copytree(EXAMPLE / "sheets", folder / "sheets")
    text = (EXAMPLE / "trial.yaml").read_text(encoding="utf-8")
    (folder / "trial.yaml").write_text(text[: text.index("measures:")] + RATED, encoding="utf-8")
    diary = (EXAMPLE / "diary.yaml").read_text(encoding="utf-8")
    diary = diary[: diary.index("exclusions:")] + exclusions
    (folder / "diary.yaml").write_text(diary, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return open_study(rated(tmp_path_factory.mktemp("loop")))


@pytest.fixture(scope="module")
def tables(trial: Trial) -> dict[str, pd.DataFrame]:
    return analyse(trial)


def test_tables_have_the_columns_that_they_promise(tables: dict[str, pd.DataFrame]) -> None:
    assert set(tables) == set(TABLES) - {"photo_scores"}
    for name, frame in tables.items():
        promised = [column.name for column in TABLES[name].columns]
        assert list(frame.columns)[: len(promised)] == promised
        assert TABLES[name].open_ended or list(frame.columns) == promised
        assert not frame.duplicated(list(TABLES[name].key)).any(), name


def test_the_baseline_is_shown_and_not_compared(tables: dict[str, pd.DataFrame]) -> None:
    baseline = pd.Timestamp("2026-01-15")
    assert (tables["plot_means"]["date"] == baseline).any()
    for name in ("tests", "means", "differences", "variances"):
        assert not (tables[name]["date"] == baseline).any()
    assert "baseline" in set(tables["notes"]["code"])


def test_whole_plot_means_weigh_plots_alike(trial: Trial) -> None:
    model = model_for(trial, "pull_force", trial.primary_date)
    seen = trial.observations("pull_force")
    seen = seen[seen["date"] == pd.Timestamp(trial.primary_date)]
    by_plot = seen.groupby("plot")["value"].mean()
    first = model.data.set_index("unit_name").loc["1A"]
    assert first["value"] == pytest.approx(by_plot[["101", "102"]].mean())
    assert first["n"] == 6
    assert len(model.data) == 18


def test_balanced_answers_equal_plain_arithmetic(
    trial: Trial, tables: dict[str, pd.DataFrame]
) -> None:
    means = tables["plot_means"]
    chosen = (means["measure"] == "colour_rating") & (means["date"] == "2026-03-24")
    wide = means[chosen].pivot(index="block", columns="cover", values="value")
    row = tables["primary"].iloc[0]
    assert row["difference"] == pytest.approx((wide["fleece"] - wide["open"]).mean())
    residuals = wide.sub(wide.mean(axis=1), axis=0) - wide.mean() + wide.to_numpy().mean()
    error = (residuals**2).to_numpy().sum() / 10
    assert row["se"] == pytest.approx(np.sqrt(error * 2 / 6))
    assert row["df"] == pytest.approx(10)


def test_differences_are_treatment_minus_control(tables: dict[str, pd.DataFrame]) -> None:
    found = tables["differences"]
    simple = found[~found["effect"].str.contains(":")]
    pairs = set(zip(simple["left"], simple["right"], strict=True))
    assert pairs == {
        ("fleece", "open"),
        ("woven", "open"),
        ("fleece", "woven"),
        ("hollow", "solid"),
    }
    means = tables["means"].set_index(["measure", "date", "effect", "level"])["mean"]
    for row in found[(found["within"] == "") & ~found["effect"].str.contains(":")].itertuples():
        key = (row.measure, row.date, row.effect)
        assert row.difference == pytest.approx(means[(*key, row.left)] - means[(*key, row.right)])
        assert row.lower < row.difference < row.upper


def test_the_primary_contrast_is_not_adjusted_and_the_rest_is(
    tables: dict[str, pd.DataFrame],
) -> None:
    found = tables["differences"]
    alone = found[found["role"] == "primary"]
    assert len(alone) == 1
    assert alone.iloc[0][["left", "right", "adjust"]].tolist() == ["fleece", "open", "none"]
    again = found[
        (found["measure"] == "colour_rating")
        & (found["date"] == alone.iloc[0]["date"])
        & (found["left"] == "fleece")
        & (found["right"] == "open")
        & (found["role"] == "secondary")
    ]
    assert again.iloc[0]["adjust"] == "tukey"
    assert again.iloc[0]["p"] >= alone.iloc[0]["p"]


def test_the_difference_of_a_difference_is_that_of_the_cells(
    tables: dict[str, pd.DataFrame],
) -> None:
    found = tables["differences"]
    crossed = found[found["effect"] == "cover:aeration"]
    assert set(crossed["right"]) == {"open:hollow-solid"}
    assert set(crossed["adjust"]) == {"bonferroni"}
    cells = tables["means"].set_index(["measure", "date", "effect", "level"])["mean"]
    for row in crossed.itertuples():
        cover = row.left.split(":")[0]
        at = {
            (one, two): cells[(row.measure, row.date, "cover:aeration", f"{one}:{two}")]
            for one in (cover, "open")
            for two in ("hollow", "solid")
        }
        plain = (
            at[cover, "hollow"] - at[cover, "solid"] - at["open", "hollow"] + at["open", "solid"]
        )
        assert row.difference == pytest.approx(plain)


def test_excluded_observations_are_put_back_beside(tmp_path: Path) -> None:
    exclusion = "exclusions:\n  - {plot: 1A, measure: colour_rating, reason: flooded}\n"
    tables = analyse(open_study(rated(tmp_path, exclusion)))
    answers = tables["primary"].set_index("which")
    assert answers.loc["as planned", "units_left"] == 5
    assert answers.loc["with excluded observations", "units_left"] == 6
    assert answers["difference"].nunique() == 2
    told = tables["exclusions"].iloc[0]
    assert told[["plot", "reason", "observations"]].tolist() == ["1A", "flooded", 24]


def test_until_the_primary_date_nothing_is_compared(tmp_path: Path) -> None:
    study = rated(tmp_path)
    (study / "sheets" / "colour_ratings.xlsx").unlink()
    (study / "diary.yaml").unlink()
    pulls = pd.read_csv(study / "sheets" / "pulls.csv")
    pulls = pulls.rename(columns={"pull": "sample", "peak lbf": "pull_force"})
    pulls.to_csv(study / "sheets" / "pulls.csv", index=False)
    trial = open_study(study)
    assert not trial.ready
    tables = analyse(trial)
    for name in ("tests", "means", "differences", "variances", "primary"):
        assert tables[name].empty
    assert len(tables["observations"]) == 216


def test_data_that_cannot_bear_the_model_become_a_note(tmp_path: Path) -> None:
    study = rated(tmp_path)
    pulls = pd.read_csv(study / "sheets" / "pulls.csv")
    pulls.loc[pulls["date"] == "2026-04-17", "peak lbf"] = 40.0
    pulls.to_csv(study / "sheets" / "pulls.csv", index=False)
    notes = analyse(open_study(study))["notes"]
    told = notes[notes["code"] == "not compared"].iloc[0]
    assert (told["measure"], str(told["date"].date())) == ("pull_force", "2026-04-17")


def test_a_model_of_the_baseline_refuses(trial: Trial) -> None:
    with pytest.raises(WinterswardError, match="no treatment was on the ground yet"):
        _ = model_for(trial, "colour_rating", "baseline").fit


def test_no_factor_can_take_the_name_of_a_column_beside_it(
    tables: dict[str, pd.DataFrame], trial: Trial
) -> None:
    fit = model_for(trial, "colour_rating", trial.primary_date).fit
    beside = {*trial.plots.columns, *tables["plot_means"].columns, *tables["means"].columns}
    beside |= {*fit.means(["cover"]).columns, *fit.pairs(["cover"]).columns, *fit.anova().columns}
    beside |= {*tables["skeleton"].columns, *tables["observations"].columns}
    assert beside - set(trial.factors) <= RESERVED


def test_a_primary_question_without_usable_data_says_why(tmp_path: Path) -> None:
    names = [f"{block}{whole}" for block in range(1, 7) for whole in "ABC"]
    entry = "  - {{plot: {}, measure: colour_rating, date: 2026-03-24, reason: flooded}}\n"
    excluded = "exclusions:\n" + "".join(entry.format(name) for name in names)
    trial = open_study(rated(tmp_path, excluded))
    assert trial.ready
    assert "can be used" in model_for(trial, "colour_rating", trial.primary_date).problem
    tables = analyse(trial)
    answers = tables["primary"].set_index("which")
    assert np.isnan(answers.loc["as planned", "difference"])
    assert answers.loc["with excluded observations", "difference"] > 0
    notes = tables["notes"].query("code == 'not compared'")
    assert notes["text"].tolist() == [
        "not compared: no observation of colour_rating on 24 March 2026 can be used"
    ]
