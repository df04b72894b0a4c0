"""A demonstration: counted, averaged, described, and refused wherever it would be compared."""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.dated import COVER, OFF, dated_trial
from analysis.seasonal import simulated
from wintersward.analysis import analyse, model_for
from wintersward.analysis.demonstrated import demonstrated, shown_means
from wintersward.analysis.skeleton import DEMONSTRATION, skeleton_for
from wintersward.analysis.strata import compare, stratum
from wintersward.errors import WinterswardError
from wintersward.study import Trial

SHOWN = "kind: demonstration\n  plots_in_a_row: 3"


def shown(folder: Path, **other: object) -> Trial:
    """Make a study with one plot of each cover."""
    given = {"layout": SHOWN, "treatments": COVER, **other}
    return dated_trial(folder, simulated(4), **given)


def test_the_skeleton_has_terms_and_no_degrees_of_freedom(tmp_path: Path) -> None:
    trial = shown(tmp_path / "s")
    skeleton = skeleton_for(trial.definition, trial.primary_date)
    assert not skeleton.tested
    assert skeleton.treated
    assert skeleton.random == ()
    table = skeleton.table()
    assert table["term"].tolist() == ["cover", "residual"]
    assert table["df_design"].isna().all()


def test_whatever_would_compare_says_why_it_does_not(tmp_path: Path) -> None:
    trial = shown(tmp_path / "s")
    model = model_for(trial, "cover_share", trial.primary_date)
    assert model.problem == model.only_described == DEMONSTRATION
    with pytest.raises(WinterswardError, match="cannot tell the treatment from its place"):
        _ = model.fit
    with pytest.raises(WinterswardError, match="cannot tell the treatment from its place"):
        compare(model, [("fleece", "open")], 0.95)
    made = stratum(model, "cover")
    assert len(made.data) == 3
    with pytest.raises(WinterswardError, match="a valid trial needs several plots"):
        made.fit()


def test_means_are_plain_averages_in_the_order_of_the_definition(tmp_path: Path) -> None:
    trial = shown(tmp_path / "s")
    model = model_for(trial, "cover_share", trial.primary_date)
    found = shown_means(model)
    assert found["level"].tolist() == ["open", "fleece", "woven"]
    seen = model.data.astype({"cover": str}).set_index("cover")["value"]
    assert found["mean"].tolist() == [seen[level] for level in found["level"]]
    assert found[["se", "df", "lower", "upper"]].isna().all(axis=None)


def test_the_reason_is_told_once_and_nothing_is_shown_too_early(tmp_path: Path) -> None:
    trial = shown(tmp_path / "s", more="  days_gained: {measure: cover_share, level: 60 %}\n")
    said = demonstrated(trial)
    assert said["notes"]["text"].tolist().count(DEMONSTRATION) == 1
    assert len(said["arrivals"]) == 3
    assert "agreement" not in said
    sheet = trial.folder / "sheets" / "cover.csv"
    lines = sheet.read_text(encoding="utf-8").splitlines()
    day = str(trial.primary_date)
    assert trial.primary_date > OFF
    kept = [line for line in lines if not line.startswith(day)]
    sheet.write_text("\n".join(kept) + "\n", encoding="utf-8")
    early = Trial(trial.folder, trial.definition, trial.diary, trial.plots)
    assert not early.ready
    tables = analyse(early)
    assert list(tables["means"].columns) == ["measure", "date", "effect", "level", "mean", "units"]
    assert tables["means"].empty
    assert tables["arrivals"].empty
    assert (tables["plot_means"]["cover"] == "").all()
    assert DEMONSTRATION in tables["notes"]["text"].tolist()
