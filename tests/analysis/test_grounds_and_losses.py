"""Several grounds over seasons, and with lost subplots."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.dated import COVER, OFF, TINE, dated_trial
from analysis.grounded import ON_TWO, SPLIT, values
from wintersward.analysis import model_for
from wintersward.analysis.seasons import EARLIER, seasons_together
from wintersward.analysis.strata import compare, stratum
from wintersward.study import open_study


def test_seasons_on_the_same_grounds_keep_them_apart(tmp_path: Path) -> None:
    now = dated_trial(tmp_path / "now", values(8), layout=ON_TWO)
    off = OFF.replace(year=2025)
    before = dated_trial(tmp_path / "before", values(9), layout=ON_TWO, off=off)
    folder = now.folder / EARLIER / "2025"
    folder.mkdir(parents=True)
    for name in ("trial.yaml", "plan/plots.csv"):
        shutil.copy(before.folder / name, folder / Path(name).name)
    then = model_for(before, "cover_share", before.primary_date)
    told = then.data[["unit_name", "unit_kind", "cover", "value"]]
    told = told.assign(measure="cover_share", date=str(before.primary_date))
    told.to_csv(folder / "plot_means.csv", index=False)
    found = seasons_together(open_study(now.folder))
    rows = found["seasons_differences"]
    row = rows[(rows["season"] == "all") & (rows["left"] == "fleece") & (rows["right"] == "open")]
    both = [compare(model_for(t, "cover_share", t.primary_date), [("fleece", "open")], 0.95)
            for t in (now, before)]  # fmt: skip
    mean = np.mean([one["difference"].iloc[0] for one in both])
    assert row["difference"].iloc[0] == pytest.approx(mean)
    terms = set(found["seasons_tests"]["term"])
    assert {"cover:ground", "ground:season", "cover:ground:season"} <= terms


def test_with_lost_subplots_a_tine_may_do_more_on_one_ground(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "split", values(), layout=SPLIT, treatments=COVER + TINE)
    model = model_for(trial, "cover_share", trial.primary_date)
    kept = model.data.drop(index=model.data.index[[0, 7]]).reset_index(drop=True)
    short = replace(model, data=kept)
    assert stratum(short, "cover").plots is not None
    one = compare(short, [("fleece", "open")], 0.95).iloc[0]
    more = (kept["tine"] == "hollow") & (kept["ground"] == "lower")
    two = compare(
        replace(model, data=kept.assign(value=kept["value"] + 10.0 * more)),
        [("fleece", "open")],
        0.95,
    ).iloc[0]
    for name in ("difference", "se", "df"):
        assert two[name] == pytest.approx(one[name], rel=1e-6)
