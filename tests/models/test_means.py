from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, fit_mixed
from wintersward.models.means import cells_of


@pytest.fixture
def fit(trial: pd.DataFrame) -> MixedFit:
    return fit_mixed(trial, "green", "cover * tine", ["block", "block:cover"])


def test_balanced_means_are_averages(fit: MixedFit, trial: pd.DataFrame) -> None:
    found = fit.means(["cover"], by=["tine"])
    assert list(found.columns) == ["tine", "cover", "mean", "se", "df", "lower", "upper"]
    assert found["tine"].tolist() == ["hollow"] * 3 + ["solid"] * 3
    expected = trial.groupby(["tine", "cover"])["green"].mean()
    np.testing.assert_allclose(found["mean"], expected, rtol=1e-12)
    half = found["upper"] - found["mean"]
    np.testing.assert_allclose(half, found["mean"] - found["lower"])


def test_other_factors_weigh_equally_whatever_their_rows(trial: pd.DataFrame) -> None:
    lost = trial.drop(index=trial.index[(trial["tine"] == "solid")][:5])
    fit = fit_mixed(lost, "green", "cover * tine")
    cells = lost.groupby(["cover", "tine"])["green"].mean()
    np.testing.assert_allclose(fit.means("cover")["mean"], cells.groupby("cover").mean())
    assert not np.allclose(fit.means("cover")["mean"], lost.groupby("cover")["green"].mean())


def test_covariates_stand_at_their_mean(trial: pd.DataFrame) -> None:
    fit = fit_mixed(trial, "green", "cover * sun")
    b = fit.coefficients
    at = trial["sun"].mean()
    expected = b["Intercept"] + b["cover[open]"] + at * (b["sun"] + b["cover[open]:sun"])
    assert fit.means("cover").set_index("cover")["mean"]["open"] == pytest.approx(expected)


def test_no_factor_is_the_overall_mean(fit: MixedFit, trial: pd.DataFrame) -> None:
    found = fit.means([])
    assert list(found.columns) == ["mean", "se", "df", "lower", "upper"]
    assert found["mean"].item() == pytest.approx(trial["green"].mean())


def test_level_of_the_intervals(fit: MixedFit) -> None:
    wide, narrow = fit.means("cover", level=0.99), fit.means("cover", level=0.5)
    assert (wide["lower"] < narrow["lower"]).all()


def test_dates_come_back_as_dates(trial: pd.DataFrame) -> None:
    trial["date"] = pd.to_datetime(["2026-03-24", "2026-03-10"] * 12)
    found = fit_mixed(trial, "green", "date").means("date")
    assert found["date"].tolist() == [pd.Timestamp("2026-03-10"), pd.Timestamp("2026-03-24")]


def test_cells_may_hold_factors_at_a_level(fit: MixedFit, trial: pd.DataFrame) -> None:
    cells = cells_of(fit.fixed_part, ["cover"], {"tine": "solid"})
    values = cells.weights @ fit.coefficients
    expected = trial[trial["tine"] == "solid"].groupby("cover")["green"].mean()
    np.testing.assert_allclose(values, expected)
    assert cells.said(1) == "cover=open"


class TestEmptyCells:
    @pytest.fixture
    def holed(self, make_trial: Callable[..., pd.DataFrame]) -> MixedFit:
        data = make_trial()
        gone = (data["cover"] == "woven") & (data["tine"] == "solid")
        return fit_mixed(data[~gone], "green", "cover * tine", ["block", "block:cover"])

    def test_cells_that_were_seen_have_means(self, holed: MixedFit) -> None:
        found = holed.means("tine", by="cover").set_index(["cover", "tine"])["mean"]
        assert np.isnan(found["woven", "solid"])
        assert found.notna().sum() == 5

    def test_averages_over_the_hole_do_not(self, holed: MixedFit) -> None:
        found = holed.means("cover").set_index("cover")
        assert found.loc["woven"].isna().all()
        assert found.loc[["fleece", "open"]].notna().all(axis=None)
        (note,) = [note for note in holed.notes if note.code == "non-estimable"]
        assert note.about == ("cover=woven",)

    def test_a_note_is_not_repeated(self, holed: MixedFit) -> None:
        holed.means("cover")
        before = holed.notes
        holed.means("cover")
        assert holed.notes == before


@pytest.mark.parametrize(
    ("factors", "said"),
    [
        ("covr", "did you mean cover"),
        (["cover", "cover"], "each once"),
        ("sun", r"write C\(sun\)"),
        ("block", "not a factor of this model; allowed: cover"),
    ],
)
def test_what_has_no_means(trial: pd.DataFrame, factors: str | list[str], said: str) -> None:
    fit = fit_mixed(trial, "green", "cover + sun", ["block"])
    with pytest.raises(WinterswardError, match=said):
        fit.means(factors)


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0])
def test_a_level_is_a_proportion(fit: MixedFit, level: float) -> None:
    with pytest.raises(WinterswardError, match="over 0 and under 1"):
        fit.means("cover", level=level)
