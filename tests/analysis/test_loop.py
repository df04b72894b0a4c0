"""One loop over all measures and dates: what it compares, and what it leaves alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from analysis.conftest import colours_alone
from wintersward.analysis import TABLES, analyse, model_for
from wintersward.analysis.results import OF_OTHER_STAGES
from wintersward.errors import WinterswardError
from wintersward.records import first_looks
from wintersward.study import Trial, open_study
from wintersward.trial.names import RESERVED

Rated = Callable[..., Path]


def test_tables_have_the_columns_that_they_promise(rated_tables: dict[str, pd.DataFrame]) -> None:
    assert set(rated_tables) == set(TABLES) - {*OF_OTHER_STAGES}
    for name, frame in rated_tables.items():
        promised = [column.name for column in TABLES[name].columns]
        assert list(frame.columns)[: len(promised)] == promised
        assert TABLES[name].open_ended or list(frame.columns) == promised
        assert not frame.duplicated(list(TABLES[name].key)).any(), name


def test_the_baseline_is_shown_and_not_compared(rated_tables: dict[str, pd.DataFrame]) -> None:
    baseline = pd.Timestamp("2026-01-15")
    assert (rated_tables["plot_means"]["date"] == baseline).any()
    for name in ("tests", "means", "differences", "variances"):
        assert not (rated_tables[name]["date"] == baseline).any()
    assert "baseline" in set(rated_tables["notes"]["code"])


def test_whole_plot_means_weigh_plots_alike(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "pull_force", rated_trial.primary_date)
    seen = rated_trial.observations("pull_force")
    seen = seen[seen["date"] == pd.Timestamp(rated_trial.primary_date)]
    by_plot = seen.groupby("plot")["value"].mean()
    first = model.data.set_index("unit_name").loc["1A"]
    assert first["value"] == pytest.approx(by_plot[["101", "102"]].mean())
    assert first["n"] == 6
    assert len(model.data) == 18


def test_balanced_answers_equal_plain_arithmetic(
    rated_trial: Trial, rated_tables: dict[str, pd.DataFrame]
) -> None:
    means = rated_tables["plot_means"]
    chosen = (means["measure"] == "colour_rating") & (means["date"] == "2026-03-24")
    wide = means[chosen].pivot(index="block", columns="cover", values="value")
    row = rated_tables["primary"].iloc[0]
    assert row["difference"] == pytest.approx((wide["fleece"] - wide["open"]).mean())
    residuals = wide.sub(wide.mean(axis=1), axis=0) - wide.mean() + wide.to_numpy().mean()
    error = (residuals**2).to_numpy().sum() / 10
    assert row["se"] == pytest.approx(np.sqrt(error * 2 / 6))
    assert row["df"] == pytest.approx(10)


def test_differences_are_treatment_minus_control(rated_tables: dict[str, pd.DataFrame]) -> None:
    found = rated_tables["differences"]
    simple = found[~found["effect"].str.contains(":")]
    pairs = set(zip(simple["left"], simple["right"], strict=True))
    assert pairs == {
        ("fleece", "open"),
        ("woven", "open"),
        ("fleece", "woven"),
        ("hollow", "solid"),
    }
    means = rated_tables["means"].set_index(["measure", "date", "effect", "level"])["mean"]
    for row in found[(found["within"] == "") & ~found["effect"].str.contains(":")].itertuples():
        key = (row.measure, row.date, row.effect)
        assert row.difference == pytest.approx(means[(*key, row.left)] - means[(*key, row.right)])
        assert row.lower < row.difference < row.upper


def test_the_primary_contrast_is_not_adjusted_and_the_rest_is(
    rated_tables: dict[str, pd.DataFrame],
) -> None:
    found = rated_tables["differences"]
    alone = found[found["role"] == "primary"]
    assert len(alone) == 1
    told = ["left", "right", "family", "comparisons"]
    assert alone.iloc[0][told].tolist() == ["fleece", "open", "the primary question", 1]
    again = found[
        (found["measure"] == "colour_rating")
        & (found["date"] == alone.iloc[0]["date"])
        & (found["left"] == "fleece")
        & (found["right"] == "open")
        & (found["role"] == "secondary")
    ]
    assert again.iloc[0]["p"] >= alone.iloc[0]["p"]
    assert again.iloc[0]["upper"] > alone.iloc[0]["upper"]


def test_a_family_is_the_comparisons_of_a_measure_over_its_dates(
    rated_tables: dict[str, pd.DataFrame],
) -> None:
    found = rated_tables["differences"].query("role == 'secondary' and measure == 'colour_rating'")
    # Five dates of three pairs of covers; on two of them also a pair of tines, two crossed
    # differences, three pairs of covers for each tine, and a pair of tines for each cover.
    assert len(found) == 5 * 3 + 2 * (1 + 2 + 6 + 3)
    assert set(found["family"]) == {"colour rating, every comparison on every planned date"}
    assert set(found["comparisons"]) == {len(found)}
    plain = 2 * stats.t.sf(found["t"].abs(), found["df"])
    np.testing.assert_allclose(found["p_alone"], plain)
    np.testing.assert_allclose(found["p"], multipletests(plain, method="holm")[1], rtol=1e-12)
    reach = stats.t.isf(0.025 / len(found), found["df"]) * found["se"]
    np.testing.assert_allclose(found["upper"], found["difference"] + reach)


def test_comparisons_to_come_count_already(
    rated_tables: dict[str, pd.DataFrame], tmp_path: Path, rated: Rated
) -> None:
    names = [f"{block}{whole}" for block in range(1, 7) for whole in "ABC"]
    entry = "  - {{plot: {}, measure: colour_rating, date: 2026-04-17, reason: flooded}}\n"
    written = "exclusions:\n" + "".join(entry.format(name) for name in names)
    study = colours_alone(rated(tmp_path, written))
    early = analyse(open_study(study))["differences"].query("measure == 'colour_rating'")
    whole = rated_tables["differences"].query("measure == 'colour_rating'")
    keys = ["date", "effect", "within", "left", "right", "role"]
    both = early.merge(whole, on=keys, suffixes=("", "_later"))
    assert len(both) == len(early) < len(whole)
    np.testing.assert_allclose(both["upper"], both["upper_later"])
    assert (both["p"] >= both["p_later"] - 1e-12).all()


def test_the_difference_of_a_difference_is_that_of_the_cells(
    rated_tables: dict[str, pd.DataFrame],
) -> None:
    found = rated_tables["differences"]
    crossed = found[found["effect"] == "cover:aeration"]
    assert set(crossed["right"]) == {"open:hollow-solid"}
    cells = rated_tables["means"].set_index(["measure", "date", "effect", "level"])["mean"]
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


def test_excluded_observations_are_put_back_beside(tmp_path: Path, rated: Rated) -> None:
    exclusion = "exclusions:\n  - {plot: 1A, measure: colour_rating, reason: flooded}\n"
    tables = analyse(open_study(colours_alone(rated(tmp_path, exclusion))))
    answers = tables["primary"].set_index("which")
    assert answers.loc["as planned", "units_left"] == 5
    assert answers.loc["with excluded observations", "units_left"] == 6
    assert answers["difference"].nunique() == 2
    told = tables["exclusions"].iloc[0]
    assert told[["plot", "reason", "observations"]].tolist() == ["1A", "flooded", 24]


def test_until_the_primary_date_nothing_is_compared(tmp_path: Path, rated: Rated) -> None:
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
    assert len(tables["observations"]) == 215  # of 216 pulls one is marked as missing


def test_data_that_cannot_bear_the_model_become_a_note(tmp_path: Path, rated: Rated) -> None:
    study = rated(tmp_path)
    pulls = pd.read_csv(study / "sheets" / "pulls.csv", na_values="-")
    pulls.loc[pulls["date"] == "2026-04-17", "peak lbf"] = 40.0
    pulls.to_csv(study / "sheets" / "pulls.csv", index=False)
    notes = analyse(open_study(study))["notes"]
    told = notes[notes["code"] == "not compared"].iloc[0]
    assert (told["measure"], str(told["date"].date())) == ("pull_force", "2026-04-17")


def test_a_model_of_the_baseline_refuses(rated_trial: Trial) -> None:
    with pytest.raises(WinterswardError, match="no treatment was on the ground yet"):
        _ = model_for(rated_trial, "colour_rating", "baseline").fit


def test_no_factor_can_take_the_name_of_a_column_beside_it(
    rated_tables: dict[str, pd.DataFrame], rated_trial: Trial
) -> None:
    fit = model_for(rated_trial, "colour_rating", rated_trial.primary_date).fit
    beside = {
        *rated_trial.plots.columns,
        *rated_tables["plot_means"].columns,
        *rated_tables["means"].columns,
    }
    beside |= {*fit.means(["cover"]).columns, *fit.pairs(["cover"]).columns, *fit.anova().columns}
    beside |= {*rated_tables["skeleton"].columns, *rated_tables["differences"].columns}
    open_ended = [table for table in TABLES.values() if table.open_ended]
    beside |= {column.name for table in open_ended for column in table.columns}
    assert beside - set(rated_trial.factors) <= RESERVED


def test_a_primary_question_without_usable_data_says_why(tmp_path: Path, rated: Rated) -> None:
    names = [f"{block}{whole}" for block in range(1, 7) for whole in "ABC"]
    entry = "  - {{plot: {}, measure: colour_rating, date: 2026-03-24, reason: flooded}}\n"
    excluded = "exclusions:\n" + "".join(entry.format(name) for name in names)
    trial = open_study(colours_alone(rated(tmp_path, excluded)))
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


def test_shares_at_the_end_of_their_scale_are_described_not_compared(
    tmp_path: Path, rated: Rated
) -> None:
    measures = """\
measures:
  eye_cover: {from: sheet, unit: "%", dates: [2026-03-24, 2026-04-17]}
analysis:
  primary: {measure: eye_cover, on: 2026-03-24, compare: [fleece, open], matters_from: 8 points}
"""
    study = rated(tmp_path, measures=measures)
    (study / "diary.yaml").unlink()
    for sheet in (study / "sheets").iterdir():
        sheet.unlink()
    plots = pd.read_csv(study / "plan" / "plots.csv")["plot"]
    rows = [(day, plot, 50 + plot % 13 if day == "2026-03-24" else 99.5)
            for day in ("2026-03-24", "2026-04-17") for plot in plots]  # fmt: skip
    sheet = pd.DataFrame(rows, columns=["date", "plot", "eye_cover"])
    sheet.to_csv(study / "sheets" / "eye.csv", index=False)
    tables = analyse(open_study(study))
    assert set(tables["differences"]["date"]) == {pd.Timestamp("2026-03-24")}
    notes = tables["notes"].query("code == 'not compared'")
    assert notes["text"].tolist() == ["every plot is at 99 % or more: described, not compared"]
    assert (tables["plot_means"]["date"] == pd.Timestamp("2026-04-17")).sum() == 36


def test_second_looks_are_kept_and_counted_and_change_no_result(
    tmp_path: Path, rated: Rated, rated_trial: Trial, rated_tables: dict[str, pd.DataFrame]
) -> None:
    study = rated(tmp_path)
    seen = rated_trial.observations("colour_rating")
    first = first_looks(seen)
    twice, look = seen.drop(first.index), ["date", "plot", "rater"]
    once = ~first.set_index(look).index.isin(twice.set_index(look).index)
    again = first[once & (first["rater"] == "te") & (first["value"] < 8)].iloc[::9]
    sheet = again.assign(colour_rating=again["value"] + 1, repeat=1)
    columns = ["date", "plot", "rater", "colour_rating", "repeat"]
    sheet[columns].to_csv(study / "sheets" / "again.csv", index=False, date_format="%Y-%m-%d")
    trial = open_study(study)
    tables = analyse(trial)
    assert trial.outstanding == rated_trial.outstanding
    assert len(tables["observations"]) == len(rated_tables["observations"]) + len(again)
    assert rated_tables["counts"]["repeats"].sum() == len(twice) == 48
    assert tables["counts"]["repeats"].sum() == len(twice) + len(again)
    for name, table in rated_tables.items():
        kept = tables[name]
        if name == "observations":
            kept, table = (first_looks(one).reset_index(drop=True) for one in (kept, table))
        elif name == "counts":
            kept, table = (one.assign(repeats=0) for one in (kept, table))
        elif name == "sheet_sums":
            kept = kept[kept["file"] != "sheets/again.csv"].reset_index(drop=True)
        pd.testing.assert_frame_equal(kept, table, obj=name)
