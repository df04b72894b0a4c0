"""Randomisation test where a treatment, or a combination of treatments, was lost altogether."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.dated import COVER, SPLIT, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.primary import primary
from wintersward.analysis.randomisation import randomisation_test
from wintersward.analysis.strata import stratum
from wintersward.study import Trial, open_study


def noisy(plot: Any, day: int) -> float:
    rng = np.random.default_rng([int(plot.plot), day])
    return float(40 + 6 * (plot.cover == "fleece") + rng.normal(0, 3))


def exchange_signs(count: int) -> np.ndarray:
    return 1 - 2 * ((np.arange(2**count) >> np.arange(count)[:, None]) & 1)


def asked_of(trial: Trial, compared: str) -> Trial:
    """Ask another primary question of a study."""
    text = (trial.folder / "trial.yaml").read_text(encoding="utf-8")
    (trial.folder / "trial.yaml").write_text(
        text.replace("[fleece, open]", compared), encoding="utf-8"
    )
    return open_study(trial.folder)


def without_woven(plot: Any, day: int) -> float | None:
    return None if plot.cover == "woven" else noisy(plot, day)


def test_subplots_of_a_trial_that_lost_all_plots_of_one_cover(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", without_woven, layout=SPLIT, treatments=COVER + TINE)
    trial = asked_of(trial, "[hollow, solid]")
    tables = randomisation_test(trial)
    row = tables["randomisation"].iloc[0]
    assert row["statistic"] == pytest.approx(primary(trial).iloc[0]["t"])
    assert row["arrangements"] == 2**12
    # Labels change places within whole plots; refits of a few arrangements count the same.
    data = stratum(model_for(trial, "cover_share", trial.primary_date), "tine").data
    turned = data.assign(tine=data["tine"].astype(str))
    wide = turned.pivot(index="whole_plot", columns="tine", values="value")
    cover = turned.drop_duplicates("whole_plot").set_index("whole_plot")["cover"].astype(str)
    gaps = (wide["hollow"] - wide["solid"])[cover.index]
    sides = exchange_signs(12).T * gaps.to_numpy()
    groups = [np.flatnonzero(cover.to_numpy() == name) for name in ("open", "fleece")]
    means = np.column_stack([sides[:, at].mean(axis=1) for at in groups])
    apart = zip(groups, means.T, strict=True)
    error = sum(((sides[:, at] - m[:, None]) ** 2).sum(axis=1) for at, m in apart)
    t = means.mean(axis=1) / np.sqrt(error / 10 / 12)
    assert row["statistic"] == pytest.approx(t[0])
    assert row["p"] == (np.abs(t) >= abs(t[0]) * (1 - 1e-9)).mean()
    assert tables["notes"].empty


@pytest.mark.parametrize(
    ("compared", "tested"), [("[fleece, open]", True), ("[hollow, solid]", False)]
)
def test_two_factors_with_a_combination_that_is_not_there(
    tmp_path: Path, compared: str, tested: bool
) -> None:
    def lossy(plot: Any, day: int) -> float | None:
        return None if (plot.cover, plot.tine) == ("woven", "hollow") else noisy(plot, day)

    both = COVER + TINE.replace("    applied: aeration\n", "")
    trial = asked_of(dated_trial(tmp_path / "study", lossy, treatments=both), compared)
    tables = randomisation_test(trial)
    assert len(tables["randomisation"]) == tested
    assert len(tables["notes"]) == (not tested)
    if tested:
        row = tables["randomisation"].iloc[0]
        assert row["statistic"] == pytest.approx(primary(trial).iloc[0]["t"])
        assert row["smallest_p"] <= row["p"] <= 1
    else:
        assert "do not determine hollow minus solid" in tables["notes"]["text"].iloc[0]


def test_of_a_family_what_is_there_is_tested(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", without_woven)
    trial = asked_of(trial, "{each: [fleece, woven], with: open}")
    row = randomisation_test(trial)["randomisation"]
    assert row["left"].tolist() == ["fleece"]
    assert row["arrangements"].tolist() == [2**6]
    assert row["statistic"].iloc[0] == pytest.approx(primary(trial).iloc[0]["t"])
