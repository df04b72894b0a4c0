"""Ratings compared by ranks beside their means: which pairs, in which stratum, in which family."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.conftest import Rated, colours_alone
from analysis.dated import dated_trial
from wintersward.analysis import analyse, model_for
from wintersward.analysis.rating_ranks import rating_ranks
from wintersward.analysis.results import empty
from wintersward.analysis.strata import stratum
from wintersward.study import Trial, open_study

Tables = dict[str, pd.DataFrame]
KEY = ["date", "effect", "left", "right"]


def test_every_compared_pair_of_a_rating_is_ranked(rated_tables: Tables) -> None:
    found, differences = rated_tables["rank_differences"], rated_tables["differences"]
    asked = differences[(differences["role"] == "secondary") & (differences["within"] == "")]
    asked = asked[(asked["measure"] == "colour_rating") & ~asked["effect"].str.contains(":")]
    assert set(found["measure"]) == {"colour_rating"}
    beside = found.merge(asked, on=KEY, suffixes=("", "_of_means"), validate="one_to_one")
    assert len(beside) == len(found) == len(asked) == 17
    assert beside["mean_difference"].tolist() == beside["difference_of_means"].tolist()
    assert beside["mean_p"].tolist() == beside["p_alone_of_means"].tolist()
    assert list(found.columns) == list(empty("rank_differences").columns)


def test_covers_are_ranked_on_whole_plots_and_tines_inside_them(
    rated_trial: Trial, rated_tables: Tables
) -> None:
    found = rated_tables["rank_differences"].set_index(["date", "left", "right"])
    day = pd.Timestamp("2026-04-04")
    for pair, factor, around in (
        (("woven", "open"), "cover", "block"),
        (("hollow", "solid"), "aeration", "whole_plot"),
    ):
        made = stratum(model_for(rated_trial, "colour_rating", day.date()), factor)
        wide = made.data.astype({factor: str}).pivot_table(
            index=around, columns=factor, values="value", observed=True
        )
        gaps = (wide[pair[0]] - wide[pair[1]]).to_numpy(dtype=float)
        row = found.loc[(day, *pair)]
        exact = len(gaps) <= 12
        method = stats.PermutationMethod() if exact else "asymptotic"
        theirs = stats.wilcoxon(gaps, method=method, zero_method="wilcox")
        assert row["p_alone"] == pytest.approx(theirs.pvalue, abs=1e-9 if exact else 0.02)
        first, second = np.triu_indices(len(gaps))
        assert row["difference"] == pytest.approx(np.median((gaps[first] + gaps[second]) / 2))
        assert row["scale"] == "measure"
        assert around.replace("_", " ") in row["text"]


def test_ranks_are_one_family_over_all_planned_dates(rated_tables: Tables) -> None:
    found = rated_tables["rank_differences"]
    # Three pairs of covers on five dates, one pair of tines on the two after the aeration.
    assert set(found["comparisons"]) == {3 * 5 + 2}
    ordered = found.sort_values("p_alone", kind="stable")
    steps = ordered["p_alone"].to_numpy() * (17 - np.arange(17))
    assert ordered["p"].to_numpy() == pytest.approx(
        np.minimum(1.0, np.maximum.accumulate(steps)).tolist()
    )


def test_ranks_and_means_agree_by_the_single_comparison(rated_tables: Tables) -> None:
    for row in rated_tables["rank_differences"].to_dict("records"):
        if row["smallest_p"] >= 0.05:
            assert row["agrees"] == ""
            continue
        clear = (row["p_alone"] < 0.05, row["mean_p"] < 0.05)
        same = clear[0] == clear[1]
        if all(clear):
            same = row["difference"] * row["mean_difference"] > 0
        assert row["agrees"] == ("yes" if same else "no")
    assert {"yes", "no"} <= set(rated_tables["rank_differences"]["agrees"])


def test_five_blocks_cannot_tell_by_ranks(rated: Rated, tmp_path: Path) -> None:
    out = "".join(
        f'exclusions:\n  - {{plot: "{plot}", measure: colour_rating, reason: trampled}}\n'
        if i == 0
        else f'  - {{plot: "{plot}", measure: colour_rating, reason: trampled}}\n'
        for i, plot in enumerate(range(101, 107))
    )
    trial = open_study(colours_alone(rated(tmp_path / "study", out)))
    found = analyse(trial)["rank_differences"]
    covers = found[found["effect"] == "cover"]
    assert (covers["smallest_p"] >= 2 / 2**5).all()
    assert set(covers["agrees"]) == {""}
    assert covers["text"].str.contains("5 differences").all()


def test_no_rating_no_ranks(tmp_path: Path) -> None:
    def shares(plot: Any, day: int) -> float:
        rng = np.random.default_rng([int(plot.plot), day])
        return float(50 + 12 * (plot.cover == "fleece") + rng.normal(0, 3))

    tables = analyse(dated_trial(tmp_path / "study", shares))
    assert not tables["differences"].empty
    assert tables["rank_differences"].empty


def test_what_was_not_compared_by_means_is_not_by_ranks(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", rated_trial.primary_date)
    made = rating_ranks(rated_trial, [model], empty("differences"))
    assert made["rank_differences"].empty
    assert made["notes"].empty


def test_a_treatment_without_plots_is_told(rated_trial: Trial, rated_tables: Tables) -> None:
    model = model_for(rated_trial, "colour_rating", rated_trial.primary_date)
    lost = rated_tables["differences"].replace({"left": {"woven": "gone"}})
    made = rating_ranks(rated_trial, [model], lost)
    assert len(made["rank_differences"]) == 2
    assert made["notes"]["code"].tolist() == ["ranks"]
    assert "no observation of gone can be used" in made["notes"]["text"].iloc[0]
