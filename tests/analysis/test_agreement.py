"""The tables of agreement of a study."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from wintersward.analysis.agreement import agreement
from wintersward.analysis.raters import FORMS
from wintersward.analysis.results import TABLES
from wintersward.study import Trial, open_study

MEASURES = """\
measures:
  green_cover: {from: photos, label: Green cover, dates: [baseline, visits]}
  cover_by_eye: {from: sheet, unit: "%", raters: [te, rx], dates: [baseline, visits]}
  colour_rating: {from: sheet, scale: 1-9, raters: [te, rx], dates: [baseline, visits]}
  density: {from: sheet, scale: 1-9, dates: [2026-03-24]}
  pull_force: {from: sheet, unit: lbf, per_plot: 3, dates: [2026-03-24, 2026-04-17]}
analysis:
  primary: {measure: green_cover, on: 2026-03-24, compare: [fleece, open], matters_from: 8 points}
"""
UNITS = {"green_cover": "%", "pull_force": "N", "cover_by_eye": "%"}


def observed(trial: Trial) -> pd.DataFrame:
    """Invent observations: photos exact, the eye four points high, te above rx."""
    rng = np.random.default_rng(11)
    rows = []
    for at, day in enumerate(pd.to_datetime(trial.dates("green_cover"))):
        for plot in trial.plots["plot"]:
            cover = float(np.clip(25 + 12 * at + rng.normal(0, 6), 0, 90))
            rows.append((day, plot, "green_cover", "", cover))
            for rater, ahead in (("te", 3.0), ("rx", -3.0)):
                rows += [
                    (day, plot, "cover_by_eye", rater, cover + 4 + ahead + rng.normal(0, 2)),
                    (day, plot, "colour_rating", rater, round(rng.normal(3 + cover / 25, 0.5))),
                ]
            if str(day.date()) == "2026-03-24":
                rows.append((day, plot, "density", "rx", 3 + cover / 30 + rng.normal(0, 1)))
    frame = pd.DataFrame(rows, columns=["date", "plot", "measure", "rater", "value"])
    unit = frame["measure"].map(UNITS).fillna("rating 1-9")
    return frame.assign(sample=1, unit=unit, source="", flags="", excluded="")


@pytest.fixture
def trial(tmp_path: Path, rated: object) -> Trial:
    made = open_study(rated(tmp_path, measures=MEASURES))  # type: ignore[operator]
    vars(made)["_observations"] = observed(made)
    return made


def test_a_second_look_changes_no_agreement(trial: Trial) -> None:
    before = agreement(trial)
    seen = observed(trial)
    rated = seen[(seen["measure"] == "colour_rating") & (seen["rater"] == "te")].iloc[::9]
    again = rated.assign(value=rated["value"] + 3, flags="repeat")
    vars(trial)["_observations"] = pd.concat([seen, again], ignore_index=True)
    after = agreement(trial)
    assert list(before) == list(after)
    for name, table in before.items():
        pd.testing.assert_frame_equal(after[name], table)


def rows_of(tables: dict[str, pd.DataFrame], measure: str, against: str) -> pd.DataFrame:
    found = tables["agreement"]
    kept = found[(found["measure"] == measure) & (found["against"] == against)]
    return kept.set_index(["statistic", "form"])


def test_the_tables_hold_what_they_promise(trial: Trial) -> None:
    tables = agreement(trial)
    assert list(tables) == ["agreement", "raters", "eye_and_photo"]
    for name, frame in tables.items():
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]
        assert not frame.duplicated(list(TABLES[name].key)).any()
        assert frame.notna().all(axis=None)
        levels = {level for factor in trial.factors.values() for level in factor.levels}
        words = frame.select_dtypes(exclude="number").astype(str)
        assert not words.isin(levels).any(axis=None)
    assert set(tables["raters"]["measure"]) == {"cover_by_eye", "colour_rating"}
    eyes = tables["eye_and_photo"].groupby("measure").size()
    assert eyes.to_dict() == {"cover_by_eye": 216, "colour_rating": 216, "density": 36}


def test_raters_are_told_in_every_form(trial: Trial) -> None:
    found = rows_of(agreement(trial), "cover_by_eye", "raters")
    wanted = {f"{form}, {scope}" for form in FORMS for scope in ("all dates", "within dates")}
    assert {form for _, form in found.index} == wanted
    assert (found["n"] == 216).all()
    value = found["value"].droplevel("statistic")
    name = "single rating, {}, within dates".format
    assert value[name("absolute agreement")] < value[name("consistency")] - 0.1
    assert value["single rating, consistency, all dates"] > value[name("consistency")]
    text = found["text"].droplevel("statistic")
    share = f"{100 * value[name('consistency')]:.0f} %"
    assert share in text[name("consistency")]
    assert "taken off" in text[name("consistency")]
    assert "counts as disagreement" in text[name("absolute agreement")]
    assert text.str.contains("somewhat too narrow").all()


def test_severity_is_told_by_date(trial: Trial) -> None:
    found = agreement(trial)["raters"]
    one = found[found["measure"] == "cover_by_eye"].pivot(
        index="date", columns="rater", values="severity"
    )
    assert one.index.tolist() == [pd.Timestamp(day) for day in trial.dates("cover_by_eye")]
    assert one["te"].between(2, 4).all()
    assert (one["te"] + one["rx"]).abs().max() < 1e-9


def test_limits_only_where_both_are_in_one_unit(trial: Trial) -> None:
    tables = agreement(trial)
    found = rows_of(tables, "cover_by_eye", "green_cover")
    assert found.loc[("bias", "eye less photo"), "value"] == pytest.approx(4, abs=0.4)
    assert "the eye reads higher" in found.loc[("bias", "eye less photo"), "text"]
    low, high = (found.loc[("limits", end), "value"] for end in ("lower", "upper"))
    beside = tables["eye_and_photo"]
    beside = beside[beside["measure"] == "cover_by_eye"]
    inside = (beside["eye"] - beside["photo"]).between(low, high).mean()
    assert inside == pytest.approx(0.95, abs=0.03)
    assert "Zou 2013" in found.loc[("limits", "lower"), "text"]
    other = rows_of(tables, "colour_rating", "green_cover")
    assert set(other.index.get_level_values("statistic")) == {"repeated-measures correlation"}
    assert other["text"].str.contains("no limits of agreement: 'rating 1-9' is not '%'").all()


def test_correlations_are_told_apart(trial: Trial) -> None:
    tables = agreement(trial)
    found = rows_of(tables, "colour_rating", "green_cover")["value"].droplevel("statistic")
    assert found["over the dates, within plots"] > found["between plots, within dates"]
    # Observed once, a plot has no course over the dates.
    once = rows_of(tables, "density", "green_cover")
    assert once.index.tolist() == [("repeated-measures correlation", "between plots, within dates")]
    beside = tables["eye_and_photo"].query("measure == 'density'")
    plain = np.corrcoef(beside["eye"], beside["photo"])[0, 1]
    assert once["value"].item() == pytest.approx(plain)
    assert "too narrow" not in once["text"].item()


def test_excluded_and_lost_observations_are_left_out(trial: Trial) -> None:
    before = agreement(trial)
    seen = vars(trial)["_observations"]
    spoilt = (seen["plot"] == "101") & (seen["measure"] == "cover_by_eye")
    seen.loc[spoilt & (seen["rater"] == "te"), ["value", "excluded"]] = [1e6, "wrong plot"]
    lost = (seen["plot"] == "102") & (seen["measure"] == "green_cover")
    seen.loc[lost & (seen["date"] == "2026-03-24"), "value"] = np.nan
    after = agreement(trial)
    plots = after["raters"].query("measure == 'cover_by_eye'")["plots"]
    assert set(plots) == {35}
    assert (rows_of(after, "cover_by_eye", "raters")["n"] == 210).all()
    assert after["eye_and_photo"]["eye"].max() < 200
    beside = after["eye_and_photo"].query("measure == 'cover_by_eye'")
    assert len(beside) == 215
    # The plot that te did not rate stands at the average of the raters, not at rx's own level.
    one, was = (
        t["eye_and_photo"].query("measure == 'cover_by_eye' and plot == '101'")["eye"].mean()
        for t in (after, before)
    )
    assert one == pytest.approx(was, abs=2.0)


def test_it_does_not_wait_for_the_primary_question(trial: Trial) -> None:
    seen = vars(trial)["_observations"]
    vars(trial)["_observations"] = seen[seen["date"] < pd.Timestamp("2026-03-16")]
    assert not trial.ready
    tables = agreement(trial)
    assert tables["raters"]["date"].nunique() == 2
    assert len(rows_of(tables, "cover_by_eye", "green_cover")) == 5


def test_one_date_has_no_form_over_dates(trial: Trial) -> None:
    seen = vars(trial)["_observations"]
    vars(trial)["_observations"] = seen[seen["date"] == pd.Timestamp("2026-01-15")]
    tables = agreement(trial)
    found = rows_of(tables, "cover_by_eye", "raters")
    assert {form for _, form in found.index} == {f"{form}, within dates" for form in FORMS}
    limits = rows_of(tables, "cover_by_eye", "green_cover").loc[("limits", "upper"), "text"]
    assert "Bland and Altman 1999" in limits


def test_plots_alike_are_not_called_agreement(trial: Trial) -> None:
    seen = vars(trial)["_observations"]
    rated = seen["measure"] == "colour_rating"
    # Where one rater sees more the other sees less.
    side = seen.loc[rated, "rater"].map({"te": 1.0, "rx": -1.0})
    seen.loc[rated, "value"] = 5 + side * (seen.loc[rated, "plot"].astype(int) % 3)
    found = rows_of(agreement(trial), "colour_rating", "raters")
    single = found[found.index.get_level_values("form").str.startswith("single")]
    assert (single["value"] < 0).all()
    assert found["text"].str.contains("no more between plots than between raters").all()


def test_nothing_observed_gives_empty_tables(trial: Trial) -> None:
    vars(trial)["_observations"] = vars(trial)["_observations"].iloc[:0]
    for name, frame in agreement(trial).items():
        assert frame.empty
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]
