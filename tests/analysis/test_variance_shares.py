"""Where variation comes from: known variances come back, and the advice follows by hand."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.dated import BLOCKS, COVER, OFF, SPLIT, TINE, dated_trial
from analysis.sampled import sampled_trial
from wintersward.analysis import variance_parts as parts_module
from wintersward.analysis.model import model_for
from wintersward.analysis.power import power
from wintersward.analysis.power_formulas import pair_power
from wintersward.analysis.variance_parts import Parts, Source, variance_parts
from wintersward.analysis.variance_shares import variance_shares
from wintersward.study import Trial, open_study
from wintersward.trial.schema import PhotoMeasure


def drawn(*key: object, sd: float) -> float:
    """Draw a deviation that is the same for the same key."""
    words = [sum(map(ord, str(part))) + 1009 * at for at, part in enumerate(key)]
    numbers = [int("".join(c for c in str(part) if c.isdigit()) or 0) for part in key]
    return float(np.random.default_rng([*words, *numbers]).normal(0, sd))


def nested(plot: Any, day: int, sample: int, rater: str) -> float:
    """Blocks with a standard deviation of 4, plots of 3, readings of 5; covers differ."""
    mean = 45 + 8 * (plot.cover == "fleece") + drawn("block", plot.block, sd=4)
    return (
        mean
        + drawn("plot", plot.plot, day, sd=3)
        + drawn("reading", plot.plot, day, sample, rater, sd=5)
    )


def test_known_variances_come_back(tmp_path: Path) -> None:
    blocks, covers, samples = 40, 3, 3
    trial = sampled_trial(
        tmp_path / "study", nested, layout=f"kind: randomised blocks\n  blocks: {blocks}"
    )
    found = variance_shares(trial)["variance_shares"].set_index("source")
    true = {"block": 16.0, "plot": 9.0, "reading": 25.0}
    # Mean squares have the variance 2 E^2 / df; components are their differences.
    free = {
        "block": blocks - 1,
        "plot": (blocks - 1) * (covers - 1),
        "reading": blocks * covers * (samples - 1),
    }
    square = {
        "reading": 25.0,
        "plot": 25.0 + samples * 9.0,
        "block": 25.0 + samples * 9.0 + samples * covers * 16.0,
    }
    off = {name: 2 * square[name] ** 2 / free[name] for name in true}
    se = {
        "reading": off["reading"] ** 0.5,
        "plot": (off["plot"] + off["reading"]) ** 0.5 / samples,
        "block": (off["block"] + off["plot"]) ** 0.5 / (samples * covers),
    }
    for name, value in true.items():
        assert abs(found.loc[name, "variance"] - value) < 3 * se[name], name
    assert found["share"].sum() == pytest.approx(100)
    assert found["n"].to_dict() == {"block": 40, "plot": 120, "reading": 360}


def by_mean_squares(data: pd.DataFrame) -> dict[str, float]:
    """Components of balanced blocks by their mean squares, as a hand would find them."""
    blocks, covers = data["block"].nunique(), data["cover"].nunique()
    plots = data.groupby(["block", "cover"], observed=True)["value"]
    samples = int(plots.size().iloc[0])
    means = plots.mean().unstack()
    reading = float(((data["value"] - plots.transform("mean")) ** 2).sum())
    reading /= blocks * covers * (samples - 1)
    left = means.sub(means.mean(axis=1), axis=0).sub(means.mean(axis=0)) + means.to_numpy().mean()
    plot = samples * float((left.to_numpy() ** 2).sum()) / ((blocks - 1) * (covers - 1))
    block = samples * covers * float(means.mean(axis=1).var(ddof=1))
    return {
        "block": (block - plot) / (samples * covers),
        "plot": (plot - reading) / samples,
        "reading": reading,
    }


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return sampled_trial(tmp_path_factory.mktemp("sampled") / "study", nested)


@pytest.fixture(scope="module")
def tables(trial: Trial) -> dict[str, pd.DataFrame]:
    return variance_shares(trial)


def test_balanced_blocks_by_hand(trial: Trial, tables: dict[str, pd.DataFrame]) -> None:
    data = trial.observations("cover_share").merge(trial.plots, on="plot")
    by_hand = by_mean_squares(data)
    assert min(by_hand.values()) > 0
    found = tables["variance_shares"].set_index("source")["variance"]
    assert found.to_dict() == pytest.approx(by_hand, rel=1e-5)


def test_the_advice_by_hand(trial: Trial, tables: dict[str, pd.DataFrame]) -> None:
    variance = tables["variance_shares"].set_index("source")["variance"]
    plans = tables["variance_plans"].set_index("plan")
    unit, reading = variance["plot"], variance["reading"]
    for plan, samples, blocks in (
        ("as now", 3, 6),
        ("twice the readings", 6, 6),
        ("more blocks", 3, 8),
    ):
        row = plans.loc[plan]
        sd = (unit + reading / samples) ** 0.5
        assert row["se"] == pytest.approx(sd * (2 / blocks) ** 0.5)
        assert row["df"] == (blocks - 1) * 2
        assert (row["blocks"], row["readings"]) == (blocks, samples)
        assert pair_power(row["smallest"], row["se"], row["df"]) == pytest.approx(0.8, abs=1e-6)
        table = power(treatments=3, blocks=blocks, sd=sd, difference=row["smallest"])
        assert table["power"].iloc[0] == pytest.approx(0.8, abs=1e-6)
    share = 100 * (reading / 3) / (unit + reading / 3)
    assert plans.loc["as now", "reading_share"] == pytest.approx(share)
    assert np.isnan(plans.loc["more blocks", "reading_share"])
    assert (plans["bound"] == "").all()


def test_the_severity_of_a_rater_is_no_source(tmp_path: Path) -> None:
    def rated(severity: float) -> Any:
        def reading(plot: Any, day: int, sample: int, rater: str) -> float:
            return nested(plot, day, sample, rater) + severity * (rater == "bb")

        return reading

    told = [
        variance_shares(
            sampled_trial(tmp_path / f"s{at}", rated(severity), samples=1, raters=("aa", "bb"))
        )["variance_shares"].set_index("source")
        for at, severity in enumerate((0.0, 12.0))
    ]
    assert list(told[0].index) == ["block", "plot", "reading"]
    assert told[0]["n"]["reading"] == 36
    assert told[1]["variance"].tolist() == pytest.approx(told[0]["variance"].tolist(), rel=1e-6)


def test_raters_who_read_a_plot_several_times(tmp_path: Path) -> None:
    def reading(plot: Any, day: int, sample: int, rater: str) -> float:
        return nested(plot, day, sample, rater) + drawn("rater", plot.plot, rater, sd=4)

    made = sampled_trial(tmp_path / "study", reading, samples=2, raters=("aa", "bb"))
    tables = variance_shares(made)
    found = tables["variance_shares"].set_index("source")
    assert list(found.index) == ["block", "plot", "plot:rater", "reading"]
    variance, plans = found["variance"], tables["variance_plans"].set_index("plan")
    for plan, times in (("as now", 1), ("twice the readings", 2)):
        of_unit = variance["plot"] + variance["plot:rater"] / 2 + variance["reading"] / (4 * times)
        assert plans.loc[plan, "se"] == pytest.approx((2 * of_unit / 6) ** 0.5)


def test_one_reading_a_plot_gives_bounds(tmp_path: Path) -> None:
    trial = sampled_trial(tmp_path / "study", nested, samples=1)
    tables = variance_shares(trial)
    found = tables["variance_shares"].set_index("source")
    assert list(found.index) == ["block", "plot and reading"]
    both = found["variance"]["plot and reading"]
    plans = tables["variance_plans"].set_index(["plan", "bound"])
    now, twice = plans.loc[("as now", "")], plans.loc["twice the readings"]
    assert now["se"] == pytest.approx((2 * both / 6) ** 0.5)
    # Nothing bounds what readings of a sheet make up: none of it, or all.
    assert twice.loc["at least", "se"] == pytest.approx(now["se"])
    assert twice.loc["at most", "se"] == pytest.approx((2 * both / 2 / 6) ** 0.5)
    assert twice["reading_share"].tolist() == pytest.approx([0, 100])


def test_whole_plots_before_and_after_the_second_treatment(tmp_path: Path) -> None:
    trial = sampled_trial(
        tmp_path / "study", nested, layout=SPLIT, treatments=COVER + TINE, samples=2, days=(8, 40)
    )
    tables = variance_shares(trial)
    shares = tables["variance_shares"]
    for day in (8, 40):
        rows = shares[shares["date"] == pd.Timestamp(OFF) + pd.Timedelta(days=day)]
        assert rows["source"].tolist() == ["block", "whole_plot", "plot", "reading"]
        assert rows["n"].tolist() == [6, 18, 36, 72]
    last = shares[shares["date"] == shares["date"].max()].set_index("source")["variance"]
    now = tables["variance_plans"].set_index("plan").loc["as now"]
    of_unit = last["whole_plot"] + last["plot"] / 2 + last["reading"] / 4
    assert now["se"] == pytest.approx((2 * of_unit / 6) ** 0.5)
    assert now["df"] == 10


@pytest.mark.parametrize(
    ("layout", "treatments", "sources", "blocks"),
    [
        ("kind: completely random\n  replicates: 5", COVER, ["plot"], (5, 7)),
        ("kind: latin square", COVER, ["row", "column", "plot"], (3, 6)),
        (
            "kind: strip plot\n  row_strips: cover\n  column_strips: tine\n  blocks: 4",
            COVER + TINE,
            ["block", "block:row", "block:column", "plot"],
            (4, 6),
        ),
    ],
)
def test_other_layouts(
    tmp_path: Path, layout: str, treatments: str, sources: list[str], blocks: tuple[int, int]
) -> None:
    trial = sampled_trial(tmp_path / "study", nested, layout=layout, treatments=treatments)
    tables = variance_shares(trial)
    shares = tables["variance_shares"].set_index("source")["variance"]
    assert list(shares.index) == [*sources, "reading"]
    plans = tables["variance_plans"].set_index("plan")
    assert (plans["blocks"]["as now"], plans["blocks"]["more blocks"]) == blocks
    own = sources[1] if "strip" in layout else "plot"
    inner = shares["plot"] / 2 if "strip" in layout else 0.0
    per_unit = 6 if "strip" in layout else 3
    of_unit = shares[own] + inner + shares["reading"] / per_unit
    assert plans["se"]["as now"] == pytest.approx((2 * of_unit / blocks[0]) ** 0.5)
    assert plans["smallest"]["more blocks"] < plans["smallest"]["as now"]


def test_nothing_is_told_before_the_question_has_data(tmp_path: Path) -> None:
    made = dated_trial(
        tmp_path / "study", lambda p, d: nested(p, d, 1, "") if d < 40 else None, layout=BLOCKS
    )
    (made.folder / "diary.yaml").unlink()
    waiting = open_study(made.folder)
    assert not waiting.ready
    assert all(table.empty for table in variance_shares(waiting).values())


def test_dates_without_anything_to_tell_have_a_note(tmp_path: Path) -> None:
    full = dated_trial(tmp_path / "full", lambda plot, day: 99.5)
    tables = variance_shares(full)
    assert tables["variance_shares"].empty
    assert tables["variance_plans"].empty
    assert len(tables["notes"]) == 4
    assert "cannot be told apart: every plot is at 99 %" in tables["notes"]["text"].iloc[0]


class TestPhotos:
    """What varies within the photos is a part of what plots and photos make up together."""

    def parts(self, within: float | None, df: int = 10) -> Parts:
        sources = (Source("block", 9.0, 6), Source("plot and reading", 16.0, 18))
        held = None if within is None else Source("within photo", within, 18)
        return Parts(cast(Any, None), sources, held, 1.0, df)

    def test_it_is_the_least_that_photos_make_up(self) -> None:
        assert self.parts(None).least == 0
        assert self.parts(5.0).least == 5
        assert not self.parts(5.0).contradicted
        # A little more than all of it: all of it.
        assert self.parts(20.0).least == 16

    def test_more_than_all_of_it_can_be_is_no_bound(self) -> None:
        # Upper limit 16 * 10 / 3.940, the 5 % point of chi-squared with 10 degrees of freedom
        # (printed tables: 3.940).
        assert not self.parts(40.5).contradicted
        assert self.parts(40.7).contradicted
        assert self.parts(40.7).least == 0

    def test_it_is_the_mean_of_the_squares_of_the_photos_used(
        self, trial: Trial, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        photo = PhotoMeasure.model_validate(
            {"from": "photos", "dates": ["visits"], "quadrat": ["1 m", "1 m"]}
        )
        window = parts_module.window_of(photo).hash()
        model = model_for(trial, "cover_share", OFF + pd.Timedelta(days=40))
        rows = parts_module.readings(trial, model)
        errors = pd.DataFrame(
            {"path": rows["source"], "cover_se": np.linspace(1, 3, len(rows)), "window": window}
        )
        other = errors.assign(window="another", cover_se=9.0)
        unused = errors.iloc[:1].assign(path="photos/elsewhere.jpg", cover_se=50.0)
        stub = SimpleNamespace(
            measure=lambda name: photo,
            photo_scores=lambda: pd.concat([other, errors, unused], ignore_index=True),
        )
        found = parts_module._within_photos(cast(Trial, stub), model, rows)
        assert found is not None
        assert found.variance == pytest.approx((np.linspace(1, 3, len(rows)) ** 2).mean())
        assert found.n == len(rows)

    def test_sheets_have_none(self, trial: Trial) -> None:
        model = model_for(trial, "cover_share", OFF + pd.Timedelta(days=40))
        assert variance_parts(trial, model).within is None
