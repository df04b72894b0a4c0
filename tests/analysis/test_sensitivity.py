"""The primary question by other analyses: which apply, what they say, whether they agree."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from analysis.conftest import RATED, Rated
from analysis.dated import COVER, SPLIT, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.primary import primary
from wintersward.analysis.results import empty
from wintersward.analysis.sensitivity import ANALYSES, outliers, sensitivity
from wintersward.analysis.strata import stratum
from wintersward.study import Trial, open_study

NUMBERS = ["difference", "se", "df", "lower", "upper", "p"]


def noisy(plot: Any, day: int) -> float:
    rng = np.random.default_rng([int(plot.plot), day])
    place = int(plot.block or plot.row)
    return float(50 + 12 * (plot.cover == "fleece") + 3 * place + rng.normal(0, 3))


def by_name(trial: Trial, **how: Any) -> pd.DataFrame:
    return sensitivity(trial, **how)["sensitivity"].set_index("analysis")


def test_tables_have_their_columns(tmp_path: Path) -> None:
    tables = sensitivity(dated_trial(tmp_path / "study", noisy))
    for name in ("sensitivity", "slopes", "notes"):
        assert list(tables[name].columns) == list(empty(name).columns)
    analyses = tables["sensitivity"]["analysis"].tolist()
    assert analyses == [name for name in ANALYSES if name in analyses]


def test_shares_on_other_scales(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", noisy)
    data = stratum(model_for(trial, "cover_share", trial.primary_date), "cover").data
    share = data["value"] / 100
    found = by_name(trial)
    scales = {
        "logit": np.log((share + 0.005) / (1 - share + 0.005)),
        "arcsine": np.arcsin(np.sqrt(share)),
    }
    for name, values in scales.items():
        frame = data.assign(y=values, cover=data["cover"].astype(str))
        theirs = smf.ols("y ~ C(block) + C(cover, Treatment('open'))", frame).fit()
        term = "C(cover, Treatment('open'))[T.fleece]"
        row = found.loc[name]
        assert row["difference"] == pytest.approx(theirs.params[term])
        assert row["se"] == pytest.approx(theirs.bse[term])
        assert row["p"] == pytest.approx(theirs.pvalues[term])
        assert row["df"] == theirs.df_resid
        assert row["agrees"] == "yes"
    assert found["scale"].to_dict()["logit"] == "log odds ratio"
    assert "0.5 %" in found.loc["logit", "text"]


def test_blocks_random_is_the_mixed_model(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", noisy)
    fit = model_for(trial, "cover_share", trial.primary_date).fit
    pairs = fit.pairs(["cover"], adjust="none").astype({"left": str, "right": str})
    row = pairs[(pairs["left"] == "open") & (pairs["right"] == "fleece")].iloc[0]
    found = by_name(trial).loc["blocks random"]
    assert found["difference"] == pytest.approx(-row["difference"])
    assert (found["lower"], found["upper"]) == pytest.approx((-row["upper"], -row["lower"]))
    assert found["df"] == pytest.approx(row["df"])


def test_free_plots_have_no_blocks_to_be_random(tmp_path: Path) -> None:
    layout = "kind: completely random\n  replicates: 4"
    trial = dated_trial(tmp_path / "study", noisy, layout=layout)
    assert "blocks random" not in by_name(trial).index


def test_ratings_go_by_ranks_and_not_by_shares(rated_trial: Trial) -> None:
    found = by_name(rated_trial)
    assert not {"logit", "arcsine"} & set(found.index)
    row = found.loc["ranks"]
    assert row["p"] == 2 / 64
    assert row["agrees"] == "yes"
    assert np.isnan(row["se"])
    assert row["lower"] <= row["difference"] <= row["upper"]


def test_five_blocks_agree_with_nothing_by_ranks(rated: Rated, tmp_path: Path) -> None:
    names = ("1A", "1B", "1C")
    entry = "  - {{plot: {}, measure: colour_rating, reason: flooded}}\n"
    out = "exclusions:\n" + "".join(entry.format(name) for name in names)
    row = by_name(open_study(rated(tmp_path / "study", out))).loc["ranks"]
    assert row["p"] >= 0.05
    assert row["agrees"] == ""
    assert "so few cannot give a p below 0.062" in row["text"]


def test_a_unit_far_off_is_named_and_left_out(tmp_path: Path) -> None:
    def spoilt(plot: Any, day: int) -> float:
        return noisy(plot, day) - 40 * (plot.block == "3" and plot.cover == "woven")

    trial = dated_trial(tmp_path / "study", spoilt)
    gone = trial.plots.query("block == '3' and cover == 'woven'")["plot"].iloc[0]
    row = by_name(trial).loc["without outliers"]
    assert row["text"].startswith(f"without {gone} (studentised residual -3")
    data = stratum(model_for(trial, "cover_share", trial.primary_date), "cover").data
    kept = data[data["unit"] != gone].astype({"cover": str})
    theirs = smf.ols("value ~ C(block) + C(cover, Treatment('open'))", kept).fit()
    term = "C(cover, Treatment('open'))[T.fleece]"
    assert row["difference"] == pytest.approx(theirs.params[term])
    assert row["df"] == theirs.df_resid == 9


def test_with_nothing_far_off_the_row_says_so(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", noisy)
    row, answer = by_name(trial).loc["without outliers"], primary(trial).iloc[0]
    assert row["text"] == "no plot lies far from the rest, so that none was left out"
    assert row["agrees"] == ""
    assert row[NUMBERS].astype(float).tolist() == pytest.approx(
        answer[NUMBERS].astype(float).tolist()
    )


def test_outliers_against_statsmodels() -> None:
    rng = np.random.default_rng(12)
    frame = pd.DataFrame({"x": rng.normal(size=20)})
    frame["y"] = frame["x"] + rng.normal(size=20)
    frame.loc[7, "y"] += 6
    fit = smf.ols("y ~ x", frame).fit()
    influence = fit.get_influence()
    inside = pd.Series(influence.resid_studentized_internal)
    theirs = fit.outlier_test(method="bonf")
    for alpha in (0.01, 0.05, 0.4):
        found = outliers(inside, fit.df_resid, alpha)
        wanted = (theirs["bonf(p)"] < alpha) | (inside.abs() > 3)
        assert found.index.tolist() == frame.index[wanted].tolist()
    assert found.index.tolist() == [7]
    # A residual that is all the error there is: internally it cannot be beyond sqrt(df).
    assert outliers(pd.Series([2.0, 0.1]), 4.0, 0.05).tolist() == [2.0]
    assert outliers(pd.Series([1.0, -1.0]), 1.0, 0.05).empty


def test_excluded_observations_put_back(rated: Rated, tmp_path: Path) -> None:
    out = "exclusions:\n  - {plot: 1A, measure: colour_rating, reason: flooded}\n"
    trial = open_study(rated(tmp_path / "study", out))
    row = by_name(trial).loc["excluded put back"]
    answer = primary(trial).set_index("which").loc["with excluded observations"]
    assert row["text"] == "with 4 observations that the diary excludes"
    assert row["difference"] == pytest.approx(answer["difference"])
    assert row["p"] == pytest.approx(answer["p"])


def test_without_exclusions_there_is_nothing_to_put_back(rated_trial: Trial) -> None:
    assert not {"excluded put back", "as treated", "covariate"} & set(by_name(rated_trial).index)


def test_as_treated_beside_as_randomised(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", noisy)
    covered = trial.plots[trial.plots["cover"] != "open"]
    failed = covered.loc[covered["cover"] == "fleece", "plot"].tolist()[:2]
    off = dict.fromkeys(covered["plot"], "2026-03-01")
    off |= {failed[0]: "2026-01-10", failed[1]: "2026-02-10"}
    entry = "  - {{on: 2025-12-31, off: {}, plots: ['{}']}}\n"
    text = "covers:\n" + "".join(entry.format(day, plot) for plot, day in off.items())
    (trial.folder / "diary.yaml").write_text(text, encoding="utf-8")
    trial = open_study(trial.folder)
    row = by_name(trial).loc["as treated"]
    assert f"{failed[0]} counted as open" in row["text"]
    assert f"{failed[1]} left out" in row["text"]
    data = stratum(model_for(trial, "cover_share", trial.primary_date), "cover").data
    data = data.astype({"cover": str})
    data.loc[data["unit"] == failed[0], "cover"] = "open"
    data = data[data["unit"] != failed[1]]
    theirs = smf.ols("value ~ C(block) + C(cover, Treatment('open'))", data).fit()
    term = "C(cover, Treatment('open'))[T.fleece]"
    assert row["difference"] == pytest.approx(theirs.params[term])
    assert row["se"] == pytest.approx(theirs.bse[term])


def test_all_dates_together_are_taken_from_their_table(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", noisy)
    numbers = {"se": 1.0, "df": 20.0, "lower": -14.0, "upper": -9.0, "t": -9.0, "p": 1e-6}
    named = {"measure": "cover_share", "scope": "cover", "effect": "cover", "within": ""}
    joint = pd.DataFrame(
        [
            {**named, "date": date, "left": "open", "right": "fleece", "difference": d, **numbers}
            for date, d in ((str(trial.primary_date), -11.5), ("2026-03-02", -3.0), ("all", 4.0))
        ]
    )
    row = by_name(trial, joint=joint).loc["dates together"]
    assert (row["difference"], row["lower"], row["upper"]) == (11.5, 9.0, 14.0)
    assert row["agrees"] == "yes"
    other = joint.assign(measure="another")
    assert "dates together" not in by_name(trial, joint=other).index


def starting(plot: Any, day: int) -> float:
    start = 45 + np.random.default_rng([int(plot.plot), 5]).normal(0, 6)
    late = np.random.default_rng([int(plot.plot), abs(day)]).normal(0, 1)
    return float(start if day < 0 else start + 4 * (plot.cover == "fleece") + late)


def test_a_covariate_sharpens_and_its_slope_is_told(tmp_path: Path) -> None:
    on = "  covariate: {measure: cover_share, on: 2025-12-27}\n"
    trial = dated_trial(tmp_path / "study", starting, days=(-64, 1, 8, 40), more=on)
    tables = sensitivity(trial)
    row = tables["sensitivity"].set_index("analysis").loc["covariate"]
    assert row["se"] < primary(trial).iloc[0]["se"]
    assert row["text"] == "allowing for cover share on 27 December 2025"
    slope = tables["slopes"].iloc[0]
    assert slope["covariate"] == "cover share on 27 December 2025"
    assert slope["lower"] < 1 < slope["upper"]
    assert slope["df"] == row["df"] == 9


def test_what_cannot_be_done_is_told(tmp_path: Path) -> None:
    on = "  covariate: {measure: cover_share, on: 2025-12-27}\n"

    def level(plot: Any, day: int) -> float:
        return 40.0 if day < 0 else starting(plot, day)

    trial = dated_trial(tmp_path / "study", level, days=(-64, 1, 8, 40), more=on)
    tables = sensitivity(trial)
    assert "covariate" not in set(tables["sensitivity"]["analysis"])
    assert tables["slopes"].empty
    assert tables["notes"]["text"].tolist() == [
        "not answered by 'covariate': the covariate is the same on every unit"
    ]


def test_a_family_is_answered_pair_by_pair(rated: Rated, tmp_path: Path) -> None:
    asked = RATED.replace("[fleece, open]", "{each: [fleece, woven], with: open}")
    found = sensitivity(open_study(rated(tmp_path / "study", measures=asked)))["sensitivity"]
    assert not found.duplicated(["left", "right", "analysis"]).any()
    assert set(found["left"]) == {"fleece", "woven"}
    # Six blocks: two comparisons by ranks cannot have a p below 2 x 2 / 64, and agree with nothing.
    said = found.set_index("analysis")["agrees"]
    assert set(said[["ranks", "without outliers"]]) == {""}
    assert set(said.drop(["ranks", "without outliers"])) <= {"yes", "no"}
    assert "each p times 2" in found.set_index("analysis").loc["ranks", "text"].iloc[0]


def as_family(trial: Trial) -> Trial:
    path = trial.folder / "trial.yaml"
    asked = path.read_text(encoding="utf-8")
    asked = asked.replace("[fleece, open]", "{each: [woven, fleece], with: open}")
    path.write_text(asked, encoding="utf-8")
    return open_study(trial.folder)


def test_the_analyses_of_a_family_are_adjusted_as_its_answer_is(tmp_path: Path) -> None:
    # Of four treatments two are compared with the control: Dunnett's limits, whatever the model.
    four = COVER.replace("woven: {label: woven}", "woven: {label: woven}, mesh: {label: mesh}")
    trial = as_family(dated_trial(tmp_path / "study", noisy, treatments=four))
    model = model_for(trial, "cover_share", trial.primary_date)
    table = model.fit.pairs(["cover"], adjust="none").astype({"left": str, "right": str})
    joint = table.assign(
        measure="cover_share", date=str(trial.primary_date), effect="cover", within=""
    )
    found = sensitivity(trial, joint)["sensitivity"]
    assert found["analysis"].drop_duplicates().tolist() == [
        name for name in ANALYSES if name in set(found["analysis"])
    ]
    for _, rows in found.groupby("analysis"):
        assert rows["left"].tolist() == ["woven", "fleece"]
    answer = primary(trial).query("which == 'as planned'")
    # In complete blocks the mixed model is the analysis of variance, with its p and limits.
    for name in ("blocks random", "dates together", "without outliers"):
        rows = found[found["analysis"] == name]
        for number in NUMBERS:
            assert rows[number].tolist() == pytest.approx(answer[number].tolist(), rel=1e-3), name
    # Dunnett's p by drawing: two differences from one control, in the error of four treatments.
    t = np.abs(answer["t"]).min()
    rng = np.random.default_rng(8)
    means = rng.multivariate_normal([0, 0], [[1, 0.5], [0.5, 1]], 400_000)
    spread = np.sqrt(rng.chisquare(15, 400_000) / 15)
    beyond = (np.abs(means).max(axis=1) / spread >= t).mean()
    assert answer["p"].max() == pytest.approx(beyond, abs=4 * np.sqrt(0.25 / 400_000))


def test_of_a_family_what_is_there_is_answered(tmp_path: Path) -> None:
    def lossy(plot: Any, day: int) -> float | None:
        return None if plot.cover == "woven" else noisy(plot, day)

    tables = sensitivity(as_family(dated_trial(tmp_path / "study", lossy)))
    assert set(tables["sensitivity"]["left"]) == {"fleece"}
    assert tables["notes"].empty


def test_a_question_that_the_data_cannot_answer_has_a_note(tmp_path: Path) -> None:
    def lossy(plot: Any, day: int) -> float | None:
        return None if plot.cover == "open" else noisy(plot, day)

    tables = sensitivity(dated_trial(tmp_path / "study", lossy))
    assert tables["sensitivity"].empty
    assert tables["notes"]["text"].tolist() == [
        "not answered by other analyses either: no observation of open can be used"
    ]


def test_an_analysis_that_turns_the_answer_disagrees(tmp_path: Path) -> None:
    def doubtful(plot: Any, day: int) -> float:
        return float(50 + np.random.default_rng([int(plot.plot), day, 2]).normal(0, 4))

    trial = dated_trial(tmp_path / "study", doubtful)
    answer = primary(trial).iloc[0]
    assert answer["p"] > 0.05
    joint = pd.DataFrame(
        [
            {
                "measure": "cover_share",
                "date": str(trial.primary_date),
                "effect": "cover",
                "within": "",
                "left": "fleece",
                "right": "open",
                **{name: answer[name] for name in NUMBERS},
            }
        ]
    )
    assert by_name(trial, joint=joint).loc["dates together", "agrees"] == "yes"
    surer = by_name(trial, joint=joint.assign(p=0.01)).loc["dates together"]
    turned = joint.assign(difference=-answer["difference"])
    assert surer["agrees"] == "no"
    assert by_name(trial, joint=turned).loc["dates together", "agrees"] == "no"


def test_subplots_and_every_layout_have_rows(tmp_path: Path) -> None:
    layouts = {
        "square": ("kind: latin square", COVER),
        "split": (SPLIT, COVER + TINE),
        "strip": ("kind: strip plot\n  row_strips: cover\n  column_strips: tine\n  blocks: 4", ""),
    }
    random = {
        "square": "all plots, rows and columns random",
        "split": "all subplots, blocks and whole plots random",
        "strip": "all plots, blocks, row strips and column strips random",
    }
    for name, (layout, treatments) in layouts.items():
        trial = dated_trial(
            tmp_path / name, noisy, layout=layout, treatments=treatments or COVER + TINE
        )
        tables = sensitivity(trial)
        assert {"blocks random", "logit"} <= set(tables["sensitivity"]["analysis"]), name
        assert tables["notes"].empty, name
        words = tables["sensitivity"].set_index("analysis").loc["blocks random", "text"]
        assert f"mixed model of {random[name]} (" in words


def test_before_the_question_has_data_there_is_nothing(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", lambda p, d: noisy(p, d) if d < 40 else None)
    (trial.folder / "diary.yaml").unlink()
    assert all(table.empty for table in sensitivity(open_study(trial.folder)).values())
